"""What becomes of a lot of a town: its id, its neighbours, the layers that it is read from; by hand."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
from shapely import Point, Polygon, box

from siteplan.files.drawing.large_layers import HeldLayer, Layer, _first_value, near_layers
from siteplan.files.drawing.town import (
    Town,
    TownFiles,
    _check_file,
    _check_lots,
    _check_names,
    _frame,
    _id,
    _ids,
    _layer_names,
    _lots_layer,
    _renumbered,
    with_plurals,
)
from siteplan.files.drawing.vector import RawFeature
from siteplan.files.remarks import Remarks
from siteplan.files.site_toml.renaming import Renaming

UTM = "EPSG:32632"
#: in the middle of the zone, whose north is true there
X, Y = 500_000.0, 5_000_000.0
PLAIN = SimpleNamespace(renaming=Renaming(), has_origin=False, origin=None)


def at(x, y):
    return Point(X + x, Y + y)


def lots(*shapes, crs=UTM, **columns):
    return gpd.GeoDataFrame({name: list(column) for name, column in columns.items()}, geometry=list(shapes), crs=crs)


def layer(name, *rows, crs=UTM):
    """Return a layer of shapes with their properties."""
    frame = gpd.GeoDataFrame([properties for _, properties in rows], geometry=[shape for shape, _ in rows], crs=crs)
    return HeldLayer(Path(f"{name}.geojson"), name, PLAIN, frame)


LOT = box(X, Y, X + 20, Y + 20)


def said(remarks):
    return [f"{one.file}: {one.where}: {one.text}" for one in remarks.faults]


def test_what_belongs_to_a_lot():
    """Taps, beds and gates within a metre; trees within reach of their shadows, and ground out to 150 m."""
    things = layer(
        "things",
        *((at(x, 10), {"kind": "tap", "id": x}) for x in (-1.2, -0.9, 10.0, 20.9, 21.1)),
        (at(-700, 10), {"kind": "tree", "id": "far", "height": 5.0}), (at(-600, 10), {"kind": "tree", "id": "near", "height": 5.0}),
        (at(10, 160), {"kind": "surface", "id": "lawn"}), (at(10, 175), {"kind": "surface", "id": "field"}),
        (box(X + 100, Y, X + 120, Y + 20), {"kind": "boundary", "id": "other"}), (at(10, 10), {"kind": None, "id": "what"}),
    )  # fmt: skip
    town = Town(lots(LOT, id=["a"]), [things], PLAIN)
    drawing = town.drawing(0)
    found = [one.properties["id"] for one in drawing.features]
    # of 5 m: 5 / tan(0.5 degrees) and 50 m for a crown are 623 m
    assert found == ["lot a", -0.9, 10.0, 20.9, "near", "lawn", "what"]
    assert [one.number for one in drawing.features] == [1, 2, 3, 4, 5, 6, 7]
    assert (drawing.whole, drawing.geographic_by_default, drawing.crs.to_epsg()) == (False, False, 32632)
    assert drawing.features[0].properties["kind"] == "boundary"
    assert drawing.features[6].properties["kind"] == "things"  # the layer's name


def test_a_lot_without_a_shape():
    town = Town(lots(None, Polygon(), id=["a", "b"]), [], PLAIN)
    for number in (0, 1):
        (only,) = town.drawing(number).features
        assert (only.shape, only.trouble) == (None, "has no geometry")
    assert Town(lots(LOT), [], PLAIN).drawing(0).features[0].trouble == ""


def test_lots_in_degrees():
    (degrees,) = Town(lots(LOT), [], PLAIN).degrees
    assert (degrees.centroid.x, degrees.centroid.y) == pytest.approx((9.0, 45.15), abs=0.01)
    assert Town(lots(LOT, crs=None), [], PLAIN).degrees == [None]
    plan = SimpleNamespace(**vars(PLAIN) | {"has_origin": True})
    assert Town(lots(LOT), [], plan).degrees == [None]


@pytest.mark.parametrize(("value", "name"), [
    ("a ", "a"), (7, "7"), (7.0, "7"), (7.5, "7.5"), (None, ""), (np.nan, ""), (pd.NA, ""), (pd.NaT, ""), ("x" * 300, "x" * 200), (0, "0"),
])  # fmt: skip
def test_the_id_of_a_lot(value, name):
    assert _id(value) == name


def test_lots_are_counted_where_they_have_no_id():
    assert _ids(lots(LOT, LOT, LOT, id=["a", None, "c"]), PLAIN) == ["a", "2", "c"]
    assert _ids(lots(LOT, LOT), PLAIN) == ["1", "2"]
    renamed = SimpleNamespace(renaming=Renaming({"parcel": "id", "other": "id"}))
    assert _ids(lots(LOT, parcel=["p"], id=["a"]), renamed) == ["p"]
    assert _ids(lots(LOT, id=["a"]), renamed) == ["a"]


def test_ids_of_shared_features_are_unique_by_their_kind():
    def name(**properties):
        return _renumbered(RawFeature(1, None, properties, None), 9).properties

    assert name(kind="trees", id=7) == {"kind": "trees", "id": "tree 7"}
    assert name(kind="tree", fid="12") == {"kind": "tree", "fid": "tree 12"}
    assert name(kind="tree", id="oak") == {"kind": "tree", "id": "oak"}
    assert name(id=7) == {"id": 7}
    assert _renumbered(RawFeature(1, "o", {}, LOT, "t"), 9) == RawFeature(9, "o", {}, LOT, "t")


def test_layers_may_be_named_in_the_plural():
    kinds = with_plurals({})["rename"]["kinds"]
    assert (kinds["boundaries"], kinds["trees"], kinds["fences"]) == ("boundary", "tree", "fence")
    assert "boundarys" not in kinds
    own = with_plurals({"a": 1, "rename": {"keys": {"x": "id"}, "kinds": {"trees": "ignore"}}})
    assert (own["a"], own["rename"]["keys"], own["rename"]["kinds"]["trees"]) == (1, {"x": "id"}, "ignore")
    for wrong in ({"rename": 5}, {"rename": {"kinds": 5}}):
        assert with_plurals(wrong) == wrong


@pytest.mark.parametrize(("names", "asked", "layer"), [
    (["a"], None, "a"), (["a", "Lots"], None, "Lots"), (["parcels", "b"], None, "parcels"), (["a", "b"], "b", "b"), (["lots", "b"], "b", "b"),
])  # fmt: skip
def test_the_layer_that_holds_the_lots(names, asked, layer):
    assert _lots_layer(TownFiles(Path("t.gpkg"), lots_layer=asked), names, remarks := Remarks()) == layer
    assert said(remarks) == []


@pytest.mark.parametrize(("names", "asked", "words"), [
    (["a", "b"], None, ["t.gpkg: : has several layers (a, b); say which one holds the lots, as --lots 'a'"]),
    (["lots", "parcels"], None, ["t.gpkg: : has several layers (lots, parcels); say which one holds the lots, as --lots 'lots'"]),
    (["a", "b"], "c", ["t.gpkg: --lots: has no layer 'c' (layers: a, b)"]), ([], "c", ["t.gpkg: --lots: has no layer 'c' (layers: none)"]), ([], None, []),
])  # fmt: skip
def test_no_layer_of_lots(names, asked, words):
    assert _lots_layer(TownFiles(Path("t.gpkg"), lots_layer=asked), names, remarks := Remarks()) is None
    assert said(remarks) == words


def test_files_that_will_not_do(tmp_path):
    remarks = Remarks()
    (tmp_path / "a.GPKG").write_bytes(b"SQLite format 3\0")
    (tmp_path / "b.gpkg").write_bytes(b"SQLite format 2\0")
    (tmp_path / "c.geojson").write_text("x")
    for name in ("a.GPKG", "b.gpkg", "c.geojson", "d.fgb", "e.shp"):
        _check_file(tmp_path / name, remarks)
    assert said(remarks) == [
        "b.gpkg: : is not what its name says: it begins otherwise; export the layer anew", "d.fgb: : is not there",
        "e.shp: : must be a file of .gpkg, .fgb, .parquet, .geojson; export the layer as one of them",
    ]  # fmt: skip
    assert _layer_names(tmp_path / "c.geojson", remarks) == ["c"]
    assert _layer_names(tmp_path / "a.GPKG", remarks) == []
    assert _frame(tmp_path / "c.geojson", "c", remarks) is None
    assert [one.text.startswith("cannot be read: ") for one in list(remarks.faults)[3:]] == [True, True]


def test_what_is_wrong_with_a_towns_layers():
    one, two, other = (
        layer("trees", (at(0, 0), {})),
        layer("trees", (at(0, 0), {})),
        layer("taps", (at(0, 0), {}), crs="EPSG:3857"),
    )
    _check_names([one, two, other], remarks := Remarks())
    assert said(remarks) == ["trees: : is the name of 2 layers; give each a name of its own"]
    _check_lots(Town(lots(LOT, LOT, id=["a", "a"]), [one, other], PLAIN), "t.gpkg", remarks := Remarks())
    assert said(remarks) == [
        "t.gpkg: lot 'a': is the id of 2 lots; each must have an id of its own",
        "taps.geojson: taps: is in another coordinate system than the lots (WGS 84 / Pseudo-Mercator and WGS 84 / UTM zone 32N); save both in one",
    ]
    _check_lots(Town(lots(), [], PLAIN), "t.gpkg", remarks := Remarks())
    assert said(remarks) == ["t.gpkg: : holds no lots"]
    _check_lots(Town(lots(LOT, crs=None), [one], PLAIN), "t.gpkg", remarks := Remarks())
    assert said(remarks)[0].startswith(
        "t.gpkg: : does not say in which coordinate system it is; save it in one, or give [origin]"
    )
    assert said(remarks)[1].endswith("than the lots (WGS 84 / UTM zone 32N and none); save both in one")
    plan = SimpleNamespace(**vars(PLAIN) | {"has_origin": True})
    _check_lots(Town(lots(LOT, crs=None), [], plan), "t.gpkg", remarks := Remarks())
    assert said(remarks) == []


def test_the_first_value_that_is_there():
    table = pd.DataFrame({"a": [1, None, None], "b": ["x", "y", None]})
    assert _first_value(table, ["a", "z", "b"]) == [1, "y", None]
    assert _first_value(table, ["b", "a"]) == ["x", "y", None]
    assert _first_value(table, []) == [None] * 3


def test_features_of_some_roles_and_the_nearest():
    things = layer(
        "things", (LOT, {"kind": "boundary"}), (at(900, 0), {"kind": "tree", "height": 5}), (at(9, 9), {"kind": "tree", "height": 5}),
        (at(9999, 0), {"kind": "bed"}),
    )  # fmt: skip
    assert things.role.tolist() == [0, 1, 1, 3]
    assert things.height.tolist() == [20, 5, 5, 20]
    assert list(things.of_role({3, 0}).index) == [0, 3]
    assert list(things.near(np.array(LOT.bounds)).index) == [0, 2, 3]
    assert list(things.beside(np.array(LOT.bounds), 1.0).index) == [2]


def test_a_layer_with_an_index_of_its_own(tmp_path):
    """In a GeoPackage features are counted from 1, and the nearest are read by its index."""
    rows = [
        (LOT, "boundary", 0.0), (at(900, 0), "tree", 5.0), (at(9, 9), "tree", 5.0), (at(9999, 0), "bed", 0.0), (at(-300, 0), "tree", 2.0),
        (at(-100, 0), "tree", 2.0), (at(700, 0), "tree", 9.0),
    ]  # fmt: skip
    shapes, kinds, heights = zip(*rows, strict=True)
    lots(*shapes, kind=kinds, height=heights).to_file(tmp_path / "t.gpkg", layer="things")
    things = Layer(tmp_path / "t.gpkg", "things", PLAIN)
    assert things.fids.tolist() == [1, 2, 3, 4, 5, 6, 7]
    assert things.role.tolist() == [0, 1, 1, 3, 1, 1, 1]
    about = np.array(LOT.bounds)
    assert things.near(about).kind.tolist() == ["boundary", "tree", "bed", "tree", "tree"]
    assert list(things.near(about).index) == [1, 3, 4, 6, 7]
    assert list(things.beside(about, 1.0).index) == [3, 6, 7]
    assert list(things.of_role({3}).index) == [4]
    assert len(things.of_role({2})) == 0
    found = near_layers(tmp_path / "t.gpkg", ["things"], PLAIN)
    assert list(found["things"].index) == [1, 3, 4, 6, 7]
    assert (things.name, things.crs.to_epsg()) == ("things", 32632)
