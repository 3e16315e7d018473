"""Is a real block, drawn by others in their words, read through [rename]?

Delft: 152 buildings with lidar heights, 140 trees, walls, yards, paths and the terrain (Dutch base map and AHN3,
government open data, by way of tudelft3d/3dfier). Two beds are added in one of its gardens.
"""

from __future__ import annotations

import json

import pytest
import rasterio
from pyproj import Geod, Transformer
from shapely import Point, Polygon

from siteplan.files.reader import check_site


@pytest.fixture(scope="module")
def block(real_block):
    """Return the block's features as they came, and the site with two beds added."""
    features = json.loads((real_block / "block.geojson").read_text())["features"]
    return [feature for feature in features if feature["properties"]["kind"] != "bed"], check_site(real_block)


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
