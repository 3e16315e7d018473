"""Files as councils, surveyors and telephones give them: what is used, what is left out and why is said."""

from __future__ import annotations

import json
import sqlite3
import struct

import geopandas as gpd
import pandas as pd
import pyogrio
import pytest
import shapely
from shapely import GeometryCollection, LineString, MultiLineString, MultiPoint, MultiPolygon, Point, box

from siteplan.cli import main
from siteplan.files.reader import check_site, read_site
from siteplan.land.frame import LocalFrame

from .conftest import DRAWN, FRAME

NAMED = {feature_id: shape for feature_id, (shape, _) in DRAWN.items()}


def solid(geometry, height=112.4):
    """Return GeoJSON coordinates with a height each, as a GPS or a laser gives them."""
    if isinstance(geometry[0], float | int):
        return [*geometry, height]
    return [solid(part, height) for part in geometry]


def frame(*rows, crs="EPSG:4326"):
    """Return a frame of (id, shape in metres around the yard's middle, properties)."""
    records = [{"id": name, **properties} for name, _, properties in rows]
    shapes = [FRAME.to_lonlat(shape) for _, shape, _ in rows]
    return gpd.GeoDataFrame(pd.DataFrame(records), geometry=shapes, crs="EPSG:4326").to_crs(crs)


def geopackage(yard, **layers):
    """Put the yard's features into a GeoPackage, one layer a type of geometry, and further layers beside them."""
    yard.change('features = "features.geojson"', 'features = "yard.gpkg"')
    yard.write_features = False
    path = yard.write() / "yard.gpkg"
    for sort in ("Polygon", "LineString", "Point"):
        rows = [(name, shape, values) for name, (shape, values) in DRAWN.items() if shape.geom_type == sort]
        rows = [(name, shape, {key: str(value) for key, value in values.items()}) for name, shape, values in rows]
        pyogrio.write_dataframe(frame(*rows), path, layer=f"drawn {sort}")
    for name, more in layers.items():
        pyogrio.write_dataframe(more, path, layer=name)
    return path


def said(yard, capsys):
    """Return what `check` says of a sound site, as one line."""
    assert main(["check", str(yard.write())]) == 0
    return " ".join(capsys.readouterr().out.split())


def test_heights_in_coordinates_are_not_used_and_that_is_said(yard, capsys):
    flat = read_site(yard.write())
    for one in yard.features.values():
        one["geometry"]["coordinates"] = solid(one["geometry"]["coordinates"])
    words = said(yard, capsys)
    assert "Its coordinates have heights, which are not used" in words
    assert "So are those of 16 more." in words
    assert read_site(yard.folder).beds == flat.beds


def test_shapes_of_several_parts(yard):
    yard.draw("lot", MultiPolygon([NAMED["lot"]]))  # of one part: what exporters make of every polygon
    yard.draw("tap", MultiPoint([NAMED["tap"]]))
    yard.draw("lawn", MultiPolygon([box(-12, 1, -1, 9), box(6, 1, 13, 9)]))
    yard.draw("fence", MultiLineString([[(-2, -8), (5, -8)], [(8, -8), (14, -8)]]))
    site = read_site(yard.write())
    assert site.boundary.geom_type == "Polygon"
    assert next(one for one in site.surfaces if one.id == "lawn").outline.area == pytest.approx(88 + 56, rel=1e-4)


@pytest.mark.parametrize(
    ("feature_id", "shape", "words"),
    [
        ("north", MultiPolygon([box(0, 4, 1, 6), box(2, 4, 3, 6)]), "has 2 parts, must be in one piece; give each part"),
        ("tap", MultiPoint([(0, 0), (1, 1)]), "has 2 parts, must be in one piece; give each part its own feature"),
        ("house", GeometryCollection([Point(0, 0), box(0, 0, 1, 1)]), "is drawn as a GeometryCollection, must be one point, line or area"),
        ("fence", Point(0, 0), "is drawn as a Point, must be a LineString or a Polygon"),
        ("lot", LineString([(-15, -10), (15, -10), (15, 10), (-15, 10), (-15, -10)]), "is drawn as a LineString, must be a Polygon"),
    ],
)  # fmt: skip
def test_shapes_that_cannot_be_are_refused_by_feature(yard, feature_id, shape, words):
    yard.draw(feature_id, shape)
    faults = [fault for fault in yard.faults() if f'"{feature_id}"' in fault]
    assert len(faults) == 1
    assert words in faults[0]


def wkb(code, body):
    return struct.pack("<BI", 1, code) + body


def string(code, points):
    return wkb(code, struct.pack("<I", len(points)) + b"".join(struct.pack("<dd", *point) for point in points))


def put_blob(path, feature_id, body):
    """Put another geometry in the row of a feature: a header of GeoPackage's own, then WKB."""
    base = sqlite3.connect(path, isolation_level=None)
    for (name,) in base.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
        base.execute(f'DROP TRIGGER "{name}"')
    base.execute(
        'UPDATE "drawn Polygon" SET geom = ? WHERE id = ?',
        (b"GP\x00\x01" + struct.pack("<i", 4326) + body, feature_id),
    )
    base.execute(
        "UPDATE gpkg_geometry_columns SET geometry_type_name = 'CURVEPOLYGON' WHERE table_name = 'drawn Polygon'"
    )
    base.close()


def test_a_round_bed_drawn_as_a_curve_is_read_in_straight_pieces_and_that_is_said(yard, capsys):
    path = geopackage(yard)
    corners = [(-0.6, 0), (0, 0.6), (0.6, 0), (0, -0.6), (-0.6, 0)]  # two arcs: a circle of 0.6 m
    circle = shapely.get_coordinates(FRAME.to_lonlat(LineString([(0.6 + x, 5 + y) for x, y in corners])))
    put_blob(path, "north", wkb(10, struct.pack("<I", 1) + string(8, circle)))
    yard.write_features = False
    words = said(yard, capsys)
    assert (
        "The layer 'drawn Polygon' of yard.gpkg may hold curves; each is read as a chain of straight pieces." in words
    )
    bed = next(one for one in read_site(yard.folder).beds if one.id == "north")
    # in degrees the circle is an ellipse, of which three points of an arc make a circle that bulges: GDAL's pieces of
    # 4 degrees lose a thousandth of a circle's area
    assert len(bed.outline.exterior.coords) > 40


def test_a_triangle_of_a_3d_model_is_refused_with_a_word(yard):
    path = geopackage(yard)
    triangle = wkb(
        17, struct.pack("<I", 1) + struct.pack("<I", 4) + struct.pack("<8d", 8, 45, 8.1, 45, 8, 45.1, 8, 45)
    )
    put_blob(path, "north", wkb(16, struct.pack("<I", 1) + triangle))
    (fault,) = check_site(yard.folder).faults
    assert str(fault).startswith("yard.gpkg: holds a geometry that is no point, line or area")


def test_a_table_without_geometries_is_left_out_and_that_is_said(yard, capsys):
    path = geopackage(yard)
    pyogrio.write_dataframe(pd.DataFrame({"species": ["Pyrus"], "planted": [1998]}), path, layer="species list")
    assert "The layer 'species list' of yard.gpkg has no geometries and is left out." in said(yard, capsys)


def test_layers_of_mixed_types_and_kinds(yard):
    mixed = frame(("oak", Point(-8, 6), {"kind": "tree", "height": 5.0, "crown_diameter": 2.0}),
                  ("ash", Point(-10, 6).buffer(1), {"kind": "tree", "height": 5.0, "crown_diameter": None}))  # fmt: skip
    geopackage(yard, everything=mixed)
    site = read_site(yard.folder)
    assert {one.id for one in site.trees} == {"pear", "yew", "oak", "ash"}


def test_codes_for_kinds_as_numbers_and_texts(yard, capsys):
    codes = {"house": 31001, "lawn": 54001.0, "heap": "9-13", "back": 7}
    for feature_id, code in codes.items():
        yard.features[feature_id]["properties"]["kind"] = code
    yard.toml += '[rename.kinds]\n31001 = "building"\n54001 = "surface:grass"\n"9-13" = "pile"\n7 = "ignore"\n'
    del yard.features["lawn"]["properties"]["surface"]
    assert "One feature of kind '7' is left out, as [rename.kinds] says." in said(yard, capsys)
    site = read_site(yard.folder)
    assert {one.id for one in site.buildings} == {"house", "porch"}
    assert [one.surface for one in site.surfaces] == ["grass"]
    assert site.doors == ()


def test_a_code_that_is_not_renamed_is_a_fault_that_says_where_it_goes(yard):
    yard.features["house"]["properties"]["kind"] = 31001
    (fault,) = yard.faults()
    assert "kind 31001 is not known" in fault
    assert "[rename.kinds]" in fault


def test_an_inventory_of_trees_as_points(yard, capsys):
    """Species, girth and crown in columns of their own, as street tree inventories have them."""
    inventory = frame(
        (
            "T-1042",
            Point(-8, 6),
            {"type": "TREE", "species": "Acer campestre", "h_m": 7.5, "dbh": "31 cm", "crown": 5.0},
        ),
        ("T-1043", Point(-10, 6), {"type": "TREE", "species": "Tilia", "h_m": 9.0, "dbh": "12 in", "crown": 6.5}),
        ("T-1044", Point(-12, 6), {"type": "STUMP", "species": None, "h_m": None, "dbh": None, "crown": None}),
    )
    geopackage(yard, trees=inventory.rename(columns={"type": "kind"}))
    yard.toml += (
        '[rename.keys]\nh_m = "height"\ndbh = "trunk_diameter"\ncrown = "crown_diameter"\n'
        '[rename.kinds]\nTREE = "tree"\nSTUMP = "ignore"\n'
    )
    words = said(yard, capsys)
    assert "One feature of kind 'STUMP' is left out" in words
    assert "These properties mean nothing here and are ignored: 'species'." in words
    trees = {one.id: one for one in read_site(yard.folder).trees}
    assert trees["T-1043"].trunk_diameter == pytest.approx(12 * 0.0254)
    assert trees["T-1042"].outline.area == pytest.approx(3.14159 * 2.5**2, rel=0.02)  # a circle of 32 corners


@pytest.mark.filterwarnings("ignore:'crs' was not provided")  # that is what is tested
def test_a_file_without_a_system_says_how_to_mend_it(yard):
    yard.change('features = "features.geojson"', 'features = "yard.gpkg"')
    yard.write_features = False
    rows = [
        (name, shape, {key: str(value) for key, value in values.items()}) for name, (shape, values) in DRAWN.items()
    ]
    drawn = frame(*rows, crs="EPSG:32632").set_crs(None, allow_override=True)
    pyogrio.write_dataframe(drawn, yard.write() / "yard.gpkg", layer="all")
    (fault,) = check_site(yard.folder).faults
    assert "does not say in which coordinate system it is; save it in one, or give [origin]" in str(fault)


def in_metres(values):
    """Return properties as texts, lengths with their unit: a bare number beside coordinates in feet could be either."""
    lengths = {"height", "base", "eaves", "crown_base", "crown_diameter", "trellis_height", "setback"}
    given = {
        key: f"{value} m" if key in lengths and isinstance(value, float | int) else value
        for key, value in values.items()
    }
    return {key: str(value) for key, value in given.items()}


@pytest.mark.parametrize("crs", ["EPSG:2227", "EPSG:25832", "EPSG:31467", "EPSG:27700", "EPSG:28992"])
def test_other_systems_in_feet_or_metres_are_converted_and_named(yard, crs, capsys):
    place = {"EPSG:2227": (-122.3, 37.8), "EPSG:27700": (-1.5, 52.5), "EPSG:28992": (5.2, 52.1)}.get(crs, (9.0, 48.0))
    here = LocalFrame(longitude=place[0], latitude=place[1])
    rows = [{"id": name, **in_metres(values)} for name, (_, values) in DRAWN.items()]
    drawn = gpd.GeoDataFrame(
        pd.DataFrame(rows), geometry=[here.to_lonlat(shape) for shape, _ in DRAWN.values()], crs="EPSG:4326"
    )
    document = json.loads(drawn.to_crs(crs).to_json(drop_id=True))
    document["crs"] = {"type": "name", "properties": {"name": f"urn:ogc:def:crs:EPSG::{crs.removeprefix('EPSG:')}"}}
    yard.change('timezone = "Europe/Rome"\n', "")
    yard.write_features = False
    (yard.write() / "features.geojson").write_text(json.dumps(document))
    assert "it was converted to longitude and latitude" in said(yard, capsys)
    bed = next(one for one in read_site(yard.folder).beds if one.id == "north")
    # a metre stays a metre wherever it is drawn; changes of datum keep it to a part in ten thousand
    assert bed.outline.area == pytest.approx(1.2 * 2.4, rel=2e-4)
    assert bed.outline.length == pytest.approx(2 * (1.2 + 2.4), rel=1e-4)


def test_a_council_with_shapes_in_one_county_over_is_asked_back(yard):
    yard.draw("shop", box(40_000, 0, 40_010, 10), kind="building", height=5)
    (fault,) = yard.faults()
    assert 'building "shop": lies 40 km from the boundary, must be within 5 km' in fault


def test_published_buildings_in_a_projection(shared, yard, capsys):
    """Four real buildings in UTM 36 north (R package shadow, MIT), their own column of heights, beside a drawn lot."""
    real = gpd.read_file(shared / "shadow" / "rishon_4_buildings_utm36.gpkg")
    column = next(name for name in real.columns if "height" in name.lower() or name.upper().startswith("BLDG"))
    rows = real.rename(columns={column: "storey_top"}).assign(kind="BUILDING", id=[f"b{k}" for k in range(len(real))])
    lot = gpd.GeoDataFrame(
        {"kind": ["LOT"], "id": ["lot"]}, geometry=[real.union_all().convex_hull.buffer(3)], crs=real.crs
    )
    path = yard.folder / "town.gpkg"
    pyogrio.write_dataframe(rows, path, layer="buildings")
    pyogrio.write_dataframe(lot, path, layer="lots")
    yard.toml = (
        'name = "Rishon"\nfeatures = "town.gpkg"\n[season]\nlast_frost = "03-01"\nfirst_frost = "11-30"\n'
        '[rename.keys]\nstorey_top = "height"\n[rename.kinds]\nBUILDING = "building"\nLOT = "boundary"\n'
    )
    yard.write_features = False
    assert "is sound: 4 buildings." in said(yard, capsys)
    site = read_site(yard.folder)
    # the scale of UTM is 0.9996 to 1.0004 within its zone
    assert sum(one.outline.area for one in site.buildings) == pytest.approx(real.area.sum(), rel=1.2e-3)
    assert sorted(one.height for one in site.buildings) == pytest.approx(sorted(real[column]))
