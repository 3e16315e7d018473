"""Do GeoJSON, GeoPackage, another projection and a measured plan in feet give one and the same site?

The yard is drawn in metres; each form is made from it by pyproj and geopandas, not by the code under test.
"""

from __future__ import annotations

import dataclasses
import json
import math
from pathlib import Path
from typing import Any

import geopandas
import numpy as np
import pytest
import shapely
from pyproj import CRS, Transformer
from shapely import Point, Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.files.drawing.vector import drawing_of_frames
from siteplan.files.reader import check_site
from siteplan.files.remarks import Remarks
from siteplan.land.frame import projected
from siteplan.land.site import Site

from .conftest import DRAWN, Yard

CENTRE = (8.0, 45.0)
#: a transverse Mercator at the lot's middle, written here anew
LOCAL = CRS.from_proj4(f"+proj=tmerc +lat_0={CENTRE[1]} +lon_0={CENTRE[0]} +k=1 +datum=WGS84 +units=m")
CLOSE = 1e-3  # m; the forms must agree to a millimetre


def frame_in(system: str) -> geopandas.GeoDataFrame:
    """Return the yard as a table in a coordinate system."""
    rows = [{"id": feature_id, **properties} for feature_id, (_, properties) in DRAWN.items()]
    for row in rows:  # a column holds one type: quantities go in as text, as a column of them would
        for key, value in row.items():
            if not isinstance(value, (str, bool)):
                row[key] = str(value)
    shapes = [shape for shape, _ in DRAWN.values()]
    return geopandas.GeoDataFrame(rows, geometry=shapes, crs=LOCAL).to_crs(system)


def sound_site(yard: Yard, codes: list[str]) -> Site:
    checked = check_site(yard.folder)
    assert checked.faults == ()
    assert [caution.code for caution in checked.cautions] == codes
    assert checked.site is not None
    return checked.site


def assert_same(one: Any, other: Any, where: str = "site") -> None:
    """Assert that two records are the same, shapes and lengths to a millimetre."""
    if isinstance(one, BaseGeometry):
        assert shapely.hausdorff_distance(one, other) < CLOSE, where
        assert one.geom_type == other.geom_type, where
    elif dataclasses.is_dataclass(one):
        for field in dataclasses.fields(one):
            if field.name not in {"cautions", "drawing_unit", "drawn"}:  # each form has coordinates of its own
                assert_same(getattr(one, field.name), getattr(other, field.name), f"{where}.{field.name}")
    elif isinstance(one, tuple) and not isinstance(one, str):
        assert len(one) == len(other), where
        for at, (left, right) in enumerate(zip(one, other, strict=True)):
            assert_same(left, right, f"{where}[{at}]")
    elif isinstance(one, float):
        assert one == pytest.approx(other, abs=CLOSE if "frame" not in where else 1e-8), where  # 1e-8 degrees: 1 mm
    else:
        assert one == other, where


@pytest.fixture
def expected(another_yard) -> Site:
    """Return the yard as it is read from GeoJSON in longitude and latitude."""
    yard = another_yard("expected")
    yard.write()
    return sound_site(yard, [])


@pytest.mark.parametrize(
    ("system", "codes"),
    [("EPSG:4326", []), ("EPSG:32632", ["converted"]), ("EPSG:3035", ["converted"])],
    ids=["degrees", "utm", "equal-area"],
)
def test_geopackage_of_one_layer(yard, expected, system, codes):
    yard.change("features.geojson", "yard.gpkg")
    yard.write_features = False
    frame_in(system).to_file(yard.write() / "yard.gpkg", layer="drawn")
    assert_same(sound_site(yard, codes), expected)


def test_geopackage_of_a_layer_for_each_kind(yard, expected):
    yard.change("features.geojson", "yard.gpkg")
    yard.write_features = False
    folder = yard.write()
    table = frame_in("EPSG:4326")
    order = list(dict.fromkeys(table["kind"]))
    for kind in order:
        rows = table[table["kind"] == kind].drop(columns="kind").dropna(axis="columns", how="all")
        rows.to_file(folder / "yard.gpkg", layer=kind)
    assert_same(sound_site(yard, []), expected)


def test_measured_plan_in_feet_turned_by_a_bearing(yard, expected):
    # The plan's zero point is the lot's south-west corner, its +y axis points 12 degrees east of north. By hand:
    # a point e metres east and n north of zero lies x = e cos b - n sin b to the right and y = e sin b + n cos b up.
    bearing = math.radians(12)
    zero = Transformer.from_crs(LOCAL, "EPSG:4326", always_xy=True).transform(-15, -10)
    origin = CRS.from_proj4(f"+proj=tmerc +lat_0={zero[1]!r} +lon_0={zero[0]!r} +k=1 +datum=WGS84 +units=m")
    around_zero = Transformer.from_crs(LOCAL, origin, always_xy=True)

    def in_feet(points: np.ndarray) -> np.ndarray:
        east, north = projected(around_zero, points).T
        right = east * math.cos(bearing) - north * math.sin(bearing)
        up = east * math.sin(bearing) + north * math.cos(bearing)
        return np.column_stack([right, up]) / 0.3048

    for feature_id, (shape, _) in DRAWN.items():
        yard.features[feature_id]["geometry"] = json.loads(shapely.to_geojson(shapely.transform(shape, in_feet)))
    yard.toml += f'[origin]\nlatitude = {zero[1]!r}\nlongitude = {zero[0]!r}\nbearing = 12.0\nunit = "ft"\n'
    yard.say_metres()
    yard.write()
    assert_same(sound_site(yard, []), expected)


def test_plan_in_metres_needs_neither_bearing_nor_unit(yard, expected):
    for feature_id, (shape, _) in DRAWN.items():
        yard.features[feature_id]["geometry"] = json.loads(shapely.to_geojson(shape))
    yard.toml += "[origin]\nlatitude = 45.0\nlongitude = 8.0\n"
    yard.write()
    assert_same(sound_site(yard, []), expected)


@pytest.mark.filterwarnings("ignore:'crs' was not provided")  # that is what is tested
def test_geopackage_of_a_plan_without_a_system(yard, expected):
    yard.change("features.geojson", "yard.gpkg")
    yard.write_features = False
    yard.toml += "[origin]\nlatitude = 45.0\nlongitude = 8.0\n"
    plan = frame_in("EPSG:4326").to_crs(LOCAL)
    plan.set_crs(None, allow_override=True).to_file(yard.write() / "yard.gpkg", layer="drawn")
    assert_same(sound_site(yard, []), expected)


@pytest.mark.filterwarnings("ignore:'crs' was not provided")  # that is what is tested
def test_geopackage_in_no_system_is_a_fault_that_names_the_origin(yard):
    yard.change("features.geojson", "yard.gpkg")
    yard.write_features = False
    plan = frame_in("EPSG:4326").to_crs(LOCAL)
    plan.set_crs(None, allow_override=True).to_file(yard.write() / "yard.gpkg", layer="drawn")
    lines = yard.faults()
    assert len(lines) == 1
    assert "does not say in which coordinate system it is" in lines[0]
    assert "[origin]" in lines[0]


def test_origin_goes_before_a_system_with_a_word(yard):
    yard.change("features.geojson", "yard.gpkg")
    yard.write_features = False
    yard.toml += "[origin]\nlatitude = 45.0\nlongitude = 8.0\n"
    frame_in("EPSG:4326").to_crs(LOCAL).set_crs("EPSG:32632", allow_override=True).to_file(
        yard.write() / "yard.gpkg", layer="drawn"
    )
    sound_site(yard, ["origin-over-crs"])


def test_files_that_are_no_geopackage(yard):
    yard.change("features.geojson", "yard.gpkg")
    yard.write_features = False
    assert "yard.gpkg: is not there" in yard.faults()[0]
    (yard.folder / "yard.gpkg").write_bytes(b"not a database")
    assert "cannot be read as a GeoPackage" in yard.faults()[0]


@pytest.mark.parametrize(
    ("origin", "words"),
    [
        ("latitude = 45.0\n", "longitude is missing"),
        ("latitude = 95.0\nlongitude = 8.0\n", "latitude is 95 degrees"),
        ('latitude = 45.0\nlongitude = 8.0\nunit = "kg"\n', "must be a unit of length"),
        ('latitude = 45.0\nlongitude = 8.0\nbearing = "12 ft"\n', "'12 ft' is a length"),
        ("latitude = 45.0\nlongitude = 8.0\nbaering = 1\n", "did you mean 'bearing'?"),
        ('latitude = 45.0\nlongitude = 8.0\nunit = "mile"\n', "from the plan's zero point"),
    ],
)
def test_faults_of_an_origin(yard, origin, words):
    yard.say_metres()
    for feature_id, (shape, _) in DRAWN.items():
        yard.features[feature_id]["geometry"] = json.loads(shapely.to_geojson(shape))
    yard.toml += "[origin]\n" + origin
    lines = yard.faults()
    assert len(lines) == 1
    assert words in lines[0]


def swap_all(yard: Yard) -> None:
    for feature in yard.features.values():
        swapped = shapely.transform(shapely.from_geojson(json.dumps(feature["geometry"])), lambda p: p[:, ::-1])
        feature["geometry"] = json.loads(shapely.to_geojson(swapped))


def test_all_axes_swapped_is_seen_by_the_time_zone(yard):
    swap_all(yard)
    lines = yard.faults()
    assert [
        line for line in lines if "outside Europe/Rome; are longitude and latitude" in line and "swapped?" in line
    ]


def test_all_axes_swapped_is_seen_by_the_sea(yard):
    from siteplan.land.frame import LocalFrame

    delft = LocalFrame(longitude=4.37, latitude=52.01)
    for feature_id, (shape, _) in DRAWN.items():
        yard.features[feature_id]["geometry"] = json.loads(shapely.to_geojson(delft.to_lonlat(shape)))
    yard.change('timezone = "Europe/Rome"\n', "")
    assert yard.faults() == []
    swap_all(yard)
    assert [line for line in yard.faults() if "which is at sea; are longitude and latitude" in line]


def test_all_axes_swapped_is_seen_beyond_the_pole(yard):
    from siteplan.land.frame import LocalFrame

    denver = LocalFrame(longitude=-105.18, latitude=39.74)
    for feature_id, (shape, _) in DRAWN.items():
        yard.features[feature_id]["geometry"] = json.loads(shapely.to_geojson(denver.to_lonlat(shape)))
    yard.change('timezone = "Europe/Rome"\n', "")
    assert yard.faults() == []
    swap_all(yard)
    lines = yard.faults()
    assert len(lines) == 1
    assert "(so has 16 more); longitude and latitude are swapped: longitude comes first" in lines[0]


def test_too_fine_for_too_large(yard):
    yard.draw("lot", shapely.box(-1000, -1000, 1000, 1000))
    yard.change('"50 cm"', '"25 cm"')
    assert [
        line for line in yard.faults() if "64 million cells; over this property it must be at least 0.64 m" in line
    ]
    yard.draw("lot", shapely.box(-2000, -2000, 2000, 2000))
    assert [line for line in yard.faults() if "is 4 km across, must be at most 3 km" in line]


def test_boundary_in_another_unit(yard):
    yard.features = {"lot": yard.features["lot"]}
    yard.draw("lot", shapely.box(0, 0, 0.3, 0.2))
    yard.toml = yard.toml.split("[[stock]]", maxsplit=1)[0]
    assert [line for line in yard.faults() if "encloses 0.06 m2; is it drawn in the right unit?" in line]


def test_folder_of_another_name(yard, tmp_path: Path):
    (tmp_path / "drawings").mkdir()
    folder = yard.write()
    (folder / "features.geojson").rename(tmp_path / "drawings" / "yard.json")
    yard.change("features.geojson", "../drawings/yard.json")
    yard.write_features = False
    yard.write()
    sound_site(yard, [])


def test_property_on_both_sides_of_the_date_line(yard):
    from siteplan.land.frame import LocalFrame

    taveuni = LocalFrame(longitude=-179.99995, latitude=-16.8)  # 5 m east of it
    for feature_id, (shape, _) in DRAWN.items():
        there = shapely.transform(
            taveuni.to_lonlat(shape), lambda p: np.column_stack([(p[:, 0] + 180) % 360 - 180, p[:, 1]])
        )
        yard.features[feature_id]["geometry"] = json.loads(shapely.to_geojson(there))
    yard.change('timezone = "Europe/Rome"', 'timezone = "Pacific/Fiji"')
    yard.write()
    site = sound_site(yard, [])
    assert site.boundary.area == pytest.approx(600, abs=0.01)
    assert site.frame.longitude == pytest.approx(-179.99995, abs=1e-6)  # 0.1 m


def test_how_wide_a_shape_in_degrees_is(yard):
    # Near the pole of cold, 60 N, a degree of longitude is half of one on the equator: 1/2 of 111.2 km (the meridian's
    # 40,007 km by 360 are 111.1). A bed with one corner 2 degrees off is 111 km across.
    from siteplan.land.frame import LocalFrame

    helsinki = LocalFrame(longitude=25.0, latitude=60.0)
    for feature_id, (shape, _) in DRAWN.items():
        yard.features[feature_id]["geometry"] = json.loads(shapely.to_geojson(helsinki.to_lonlat(shape)))
    west, south = 25.0, 60.0
    corners = [[west, south], [west + 2.0, south], [west + 2.0, south + 1e-5], [west, south + 1e-5], [west, south]]
    yard.features["south"]["geometry"] = {"type": "Polygon", "coordinates": [corners]}
    yard.change("Europe/Rome", "Europe/Helsinki")
    (line,) = [line for line in yard.faults() if "km across" in line]
    assert "is 111 km across, must be at most 50 km; one of its coordinates is wrong" in line


def test_plan_without_an_origin_is_one_fault(yard):
    for feature_id, (shape, _) in DRAWN.items():
        yard.features[feature_id]["geometry"] = json.loads(shapely.to_geojson(shape))
    lines = yard.faults()
    assert len(lines) == 1
    assert "km when read as longitude and latitude; if this is a measured plan, give [origin]" in lines[0]


def test_degrees_with_an_origin_are_one_fault(yard):
    yard.toml += '[origin]\nlatitude = 45.0\nlongitude = 8.0\nunit = "ft"\n'
    lines = yard.faults()
    assert len(lines) == 1
    assert "less than a metre; if its coordinates are longitude and latitude, leave [origin] out" in lines[0]


def test_geopackage_as_desktop_programs_write_it(yard, expected):
    """All shapes as multi-parts with heights, whole numbers for quantities, a table without shapes beside them."""
    import pyogrio

    yard.change("features.geojson", "yard.gpkg")
    yard.write_features = False
    folder = yard.write()
    table = frame_in("EPSG:4326")
    table["geometry"] = shapely.force_3d(table.geometry.to_numpy(), 12.5)
    for family in ("Polygon", "LineString", "Point"):
        rows = table[table.geometry.geom_type == family]
        pyogrio.write_dataframe(rows, folder / "yard.gpkg", layer=family, promote_to_multi=True)
    pyogrio.write_dataframe(table.drop(columns="geometry")[["id"]], folder / "yard.gpkg", layer="notes")
    site = sound_site(yard, ["left-out", "heights-not-used"])
    assert {bed.id for bed in site.beds} == {bed.id for bed in expected.beds}
    by_id = {feature.id: feature for feature in expected.features()}
    for feature in site.features():
        assert_same(feature, by_id[feature.id], feature.id)
    assert not site.boundary.has_z


@pytest.mark.parametrize(
    ("latitude", "longitude", "timezone", "words"),
    [
        (39.74, 90.5, "America/Chicago", "has longitude lost its sign? West is negative"),  # 90.5 is no latitude
        (39.74, 105.18, "America/Denver", "has longitude lost its sign? West is negative"),
        (43.5, 172.6, "Pacific/Auckland", "has latitude lost its sign? South is negative"),
        (-105.18 / 2, 39.74, "America/Denver", None),
        (8.0, 45.0, "Europe/Rome", "are longitude and latitude swapped?"),
    ],
)
def test_origin_that_lost_a_sign(yard, latitude, longitude, timezone, words):
    for feature_id, (shape, _) in DRAWN.items():
        yard.features[feature_id]["geometry"] = json.loads(shapely.to_geojson(shape))
    yard.toml += f"[origin]\nlatitude = {latitude}\nlongitude = {longitude}\n"
    yard.change("Europe/Rome", timezone)
    yard.change('[season]\nlast_frost = "04-15"\nfirst_frost = "10-20"\n', "")
    lines = yard.faults()
    assert [words in line and line.startswith("site.toml: [origin]: lies at") for line in lines] == (
        [True] if words else []
    )


def test_time_zone_of_another_clock_gets_a_word(yard):
    yard.change("Europe/Rome", "Europe/Paris")  # the same clock
    assert yard.cautions() == {}
    yard.change("Europe/Paris", "America/Denver")
    assert list(yard.cautions()) == ["timezone-elsewhere"]


@pytest.mark.parametrize(
    ("name", "may"),
    [("house", True), ("yew", True), ("wall", True), ("lawn", True), ("kerb", True), ("gas", True),
     ("box", True), ("fence", True), ("lot", False), ("south", False), ("gate", False)],
)  # fmt: skip
def test_who_may_have_several_parts(yard, name, may):
    # what may stand in several pieces under one name; a bed, a gate and the boundary are one piece each
    shape = DRAWN[name][0]
    parts = [shapely.affinity.scale(shape, 0.3, 0.3, origin=end) for end in (shape.bounds[:2], shape.bounds[2:])]
    if name == "gate":
        parts = [shapely.LineString([(x, -8), (x + 1, -8)]) for x in (2.5, 6)]
    yard.draw(name, shapely.union_all(parts))
    lines = [line for line in yard.faults() if "has 2 parts, must be in one piece" in line]
    assert bool(lines) is not may


def test_room_in_inches_is_taken_as_it_is(yard):
    # by definition of the inch; all of these are usual in small gardens
    room = {"aisle": 18, "barrow_aisle": 30, "wall_setback": 6, "boundary_setback": 12, "width": 30, "length": 48}
    yard.toml += "[place]\n" + "".join(f'{key} = "{inches} in"\n' for key, inches in room.items())
    place = check_site(yard.write()).site.place
    for key, inches in room.items():
        assert getattr(place, key) == pytest.approx(inches * 0.0254, rel=1e-12), key


def test_rows_are_numbered_on_from_layer_to_layer():
    """As messages call a feature without an id: by its place among all, from 1."""
    tables = {
        kind: geopandas.GeoDataFrame(
            {"height": [1.0] * count}, geometry=[Point(n, 0) for n in range(count)], crs=LOCAL
        )
        for kind, count in (("tap", 2), ("door", 1), ("pile", 3))
    }
    drawing = drawing_of_frames(tables, Remarks(), file="yard.gpkg")
    assert [(one.number, one.properties["kind"]) for one in drawing.features] == [
        (1, "tap"), (2, "tap"), (3, "door"), (4, "pile"), (5, "pile"), (6, "pile"),
    ]  # fmt: skip
    assert drawing.layers == ("tap", "door", "pile")


def test_a_wall_around_a_court_has_both_of_its_rings(yard):
    court = Polygon([(0, 3), (4, 3), (4, 7), (0, 7)], [[(0.3, 3.3), (3.7, 3.3), (3.7, 6.7), (0.3, 6.7)]])
    yard.draw("court", court, kind="fence", height="2 m")
    yard.draw("wall", Polygon([(-4, 3), (-2, 3), (-2, 3.3), (-4, 3.3)]), kind="fence", height="2 m")
    site = check_site(yard.write()).site
    both, one = (next(fence for fence in site.fences if fence.id == name) for name in ("court", "wall"))
    assert both.line.length == pytest.approx(4 * 4 + 4 * 3.4, abs=CLOSE)
    assert both.footprint.area == pytest.approx(4**2 - 3.4**2, abs=CLOSE)
    assert one.line.length == pytest.approx(2 * 2.3, abs=CLOSE)
