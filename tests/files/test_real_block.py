"""Is a real block, drawn by others in their words, read through [rename]?

Delft: 152 buildings with lidar heights, 140 trees, walls, yards, paths and the terrain (Dutch base map and AHN3,
government open data, by way of tudelft3d/3dfier). Two beds are added in one of its gardens.
"""

from __future__ import annotations

import json
import shutil

import pytest
import rasterio
import shapely
from pyproj import Geod, Transformer
from shapely import Point, Polygon

from siteplan.files.reader import check_site
from siteplan.land.frame import LocalFrame

TOML = """\
name = "A block in Delft"
features = "block.geojson"
terrain = "ground.tif"
currency = "EUR"
[season]
last_frost = "04-20"
first_frost = "10-31"
[rename.keys]
height_m = "height"
crown_radius_m = "crown_radius"
[rename.kinds]
property_boundary = "boundary"
wall = "fence"
yard = "surface:grass"
green = "surface:grass"
grass = "surface:grass"
paved = "surface:paved"
road = "surface:paved"
path = "surface:paved"
bare = "surface:soil"
shrubs = "surface:mulch"
water = "keepout:water"
"""


@pytest.fixture(scope="module")
def block(shared, tmp_path_factory):
    """Return the block's features as they came, and the site with two beds in its largest free yard."""
    folder = tmp_path_factory.mktemp("delft")
    shutil.copyfile(shared / "properties" / "delft_nl_dtm_0p5m.tif", folder / "ground.tif")
    document = json.loads((shared / "properties" / "delft_nl_property.geojson").read_text())
    came = list(document["features"])
    for number, corners in enumerate(_beds(came), 1):
        document["features"].append(
            {
                "type": "Feature",
                "id": f"bed-{number}",
                "properties": {"kind": "bed", "height_m": 0.45},
                "geometry": {"type": "Polygon", "coordinates": [corners]},
            },
        )
    (folder / "block.geojson").write_text(json.dumps(document))
    (folder / "site.toml").write_text(TOML)
    return came, check_site(folder)


def _beds(features):
    """Return two beds of 2.4 m by 1.2 m, 1 m apart, at the roomiest spot of the yards, in degrees."""
    frame = LocalFrame(longitude=4.36664, latitude=52.01177)
    shapes = [
        (f["properties"]["kind"], frame.to_local(shapely.from_geojson(json.dumps(f["geometry"])))) for f in features
    ]
    built = shapely.union_all([shape for kind, shape in shapes if kind in {"building", "wall", "water"}])
    boundary = next(shape for kind, shape in shapes if kind == "property_boundary")
    free = (
        shapely.union_all([shape for kind, shape in shapes if kind == "yard"])
        .intersection(boundary)
        .difference(built)
    )
    largest = max(shapely.get_parts(free), key=lambda part: shapely.maximum_inscribed_circle(part).length)
    middle = Point(shapely.maximum_inscribed_circle(largest).coords[0])
    for south in (-1.7, 0.5):
        west = middle.x - 1.2
        bed = shapely.box(west, middle.y + south, west + 2.4, middle.y + south + 1.2)
        yield frame.to_lonlat(bed).exterior.coords[:]


def test_block_is_sound(block):
    _, checked = block
    assert checked.faults == ()
    assert {caution.code for caution in checked.cautions} <= {"extra-columns", "nothing-on-offer", "elevation-beyond"}
    site = checked.site
    assert site.timezone == "Europe/Amsterdam"
    counts = (
        len(site.buildings),
        len(site.trees),
        len(site.fences),
        len(site.surfaces),
        len(site.keepouts),
        len(site.beds),
    )
    assert counts == (152, 140, 43, 25 + 24 + 16 + 15 + 12 + 9 + 8 + 1, 2, 2)


def test_heights_crowns_and_reasons_arrive(block):
    came, checked = block
    heights = {feature["id"]: feature["properties"].get("height_m") for feature in came}
    site = checked.site
    for feature in (*site.buildings, *site.trees, *site.fences):
        assert feature.height == heights[feature.id]
    radii = {feature["id"]: feature["properties"].get("crown_radius_m") for feature in came}
    for tree in site.trees:
        assert max(Point(corner).distance(tree.trunk) for corner in tree.outline.exterior.coords) == pytest.approx(
            radii[tree.id], abs=1e-6
        )
    assert {keepout.reason for keepout in site.keepouts} == {"water"}
    assert {surface.surface for surface in site.surfaces} == {
        "grass",
        "paved",
        "soil",
        "mulch",
    }  # not their own words


def test_walls_stand_on_their_outlines(block):
    came, checked = block
    geod = Geod(ellps="WGS84")
    outlines = {f["id"]: f["geometry"]["coordinates"][0] for f in came if f["properties"]["kind"] == "wall"}
    for fence in checked.site.fences:
        area, _ = geod.polygon_area_perimeter(*zip(*outlines[fence.id], strict=True))
        assert fence.footprint.area == pytest.approx(abs(area), rel=1e-3, abs=1e-3)  # 1e-8 degrees is a millimetre
        assert isinstance(fence.outline, Polygon)


def test_lengths_agree_with_the_geodesic(block):
    came, checked = block
    ring = next(f for f in came if f["properties"]["kind"] == "property_boundary")["geometry"]["coordinates"][0]
    geodesic = Geod(ellps="WGS84").line_length(*zip(*ring, strict=True))
    assert checked.site.boundary.length == pytest.approx(geodesic, abs=0.01)


def test_ground_is_that_of_the_raster(block, shared):
    _, checked = block
    site = checked.site
    there = Transformer.from_crs("EPSG:4326", "EPSG:28992", always_xy=True)
    with rasterio.open(shared / "properties" / "delft_nl_dtm_0p5m.tif") as raster:
        for bed in site.beds:
            middle = site.frame.to_lonlat(bed.outline.centroid)
            direct = next(raster.sample([there.transform(middle.x, middle.y)]))[0]
            assert site.ground_at(bed.outline) == pytest.approx(direct, abs=0.10)  # half a cell on a garden's slope
    assert -0.5 < site.ground_at(site.boundary) < 2.3  # the raster's lowest and highest


def test_beds_have_their_size(block):
    _, checked = block
    for bed in checked.site.beds:
        assert bed.outline.area == pytest.approx(2.88, abs=1e-4)
        assert bed.height == 0.45
