"""How proposals are merged into what is drawn: which are new, which take figures, which no longer fit. By hand."""

from __future__ import annotations

import json
import math
from types import SimpleNamespace

import numpy as np
import pytest
from shapely import Point, box

from siteplan.files.drawing.vector import Drawing, RawFeature
from siteplan.files.remarks import Remarks
from siteplan.files.site_toml.renaming import Renaming
from siteplan.files.survey import pair, place
from siteplan.files.survey.accepting import Merging, wanted_proposals
from siteplan.files.survey.place import _meet, check_cover
from siteplan.files.survey.proposals_file import StoredProposal, _count, _rounded, read_proposals, written
from siteplan.land.errors import InputError
from siteplan.land.proposals import Figure
from siteplan.land.units import METRE

SOURCE = "laser survey of 2024"
SHAPE = {"type": "Point", "coordinates": [1, 2]}


def proposal(name="elm", kind="tree", *, drawn=True, **properties):
    return StoredProposal(name, kind, drawn, {"height_from": SOURCE, **properties}, SHAPE, points=None, trees=None)


def elm(**properties):
    return RawFeature(1, "elm", {"kind": "tree", **properties}, Point(0, 0).buffer(2))


def merging(*features, renaming=None, file="f.geojson", whole=True):
    settings = SimpleNamespace(features=file, renaming=renaming or Renaming())
    read = SimpleNamespace(settings=settings, drawing=Drawing(file, features, whole=whole), unit=METRE)
    return Merging(SimpleNamespace(read=read, faults=()))


def merged(one, feature, *, replace=False, renaming=None):
    """Return the feature's properties after a proposal, None if it stays; its conflicts; and which list it is in."""
    done, put = merging(feature, renaming=renaming).merge([one], replace=replace)
    lists = [name for name in ("added", "changed", "same") if getattr(done, name)]
    return (
        (put[0]["properties"] if put else None),
        [(c.key, c.own, c.found, c.taken) for c in done.conflicts],
        lists[0],
    )


def test_a_thing_that_is_not_drawn_is_added():
    done, put = merging(elm()).merge([proposal("new", "fence", drawn=False, height="2 m")], replace=False)
    assert (done.file, done.added, done.changed, done.same) == ("f.geojson", ["new"], [], [])
    assert put == [
        {
            "type": "Feature",
            "id": "new",
            "properties": {"kind": "fence", "height_from": SOURCE, "height": "2 m"},
            "geometry": SHAPE,
        }
    ]


def test_a_figure_that_is_missing_is_taken():
    got, conflicts, where = merged(proposal(height="8 m", crown_base="2 m"), elm(note="x"))
    assert got == {"kind": "tree", "note": "x", "height": "8 m", "crown_base": "2 m", "height_from": SOURCE}
    assert (conflicts, where) == ([], "changed")
    got, *_ = merged(
        proposal(height="8 m", crown_base="2 m", transmittance_path=3.0, transmittance_leafy=0.2), elm(height="8 m")
    )
    assert got["height_from"] == f"crown base, transmittance leafy by {SOURCE}"
    assert (got["height"], got["crown_base"]) == ("8 m", "2 m")


def test_a_figure_that_agrees_stays():
    assert merged(proposal(height="8.2 m"), elm(height="8 m")) == (None, [], "same")
    got, conflicts, _ = merged(proposal(height="8.2 m"), elm(height="8 m", measured="guess"))
    assert (got["height"], conflicts) == ("8.2 m", [])  # a guess makes room
    got, *_ = merged(proposal(height="8.2 m"), elm(height="8 m", height_from="laser survey of 2014"))
    assert (got["height"], got["height_from"]) == ("8.2 m", SOURCE)  # so does an older survey
    assert merged(proposal(height="8 m"), elm(height="8 m", height_from="laser survey of 2014"))[0] is None


def test_a_figure_that_does_not_agree():
    got, conflicts, where = merged(proposal(height="12 m", crown_base="2 m"), elm(height="8 m"))
    assert (got, where) == (None, "same")  # nor is the rest of another height taken
    assert conflicts == [("height", "8 m", "12 m", False)]
    got, conflicts, where = merged(proposal(height="12 m", crown_base="2 m"), elm(height="8 m"), replace=True)
    assert (got["height"], got["crown_base"], got["height_from"], where) == ("12 m", "2 m", SOURCE, "changed")
    assert conflicts == [("height", "8 m", "12 m", True)]
    got, conflicts, _ = merged(
        proposal(height="8 m", crown_base="4 m", transmittance_leafy=0.2), elm(height="8 m", crown_base="1 m")
    )
    assert conflicts == [("crown_base", "1 m", "4 m", False)]
    assert (got["crown_base"], got["transmittance_leafy"]) == ("1 m", 0.2)


@pytest.mark.parametrize(("diameter", "radius"), [
    # half of it, with half its spread, in its own unit
    ("8.2 m +- 1 m", "4.1 m +- 0.5 m"), ("24 ft +- 2 ft", "12 ft +- 1 ft"), ("8 m", "4 m"), (8, "4 m"),
    ("8 m +- 10 %", "4 m +- 0.4 m"), ("wide", "wide"),
])  # fmt: skip
def test_a_crown_that_is_drawn_by_its_radius_keeps_a_radius(diameter, radius):
    drawn = RawFeature(1, "elm", {"kind": "tree", "height": "8 m", "crown_radius": "1 m"}, Point(0, 0))
    found = proposal(height="8 m", crown_diameter=diameter)
    assert merged(found, drawn) == (None, [("crown_radius", "1 m", radius, False)], "same")
    got, *_ = merged(found, drawn, replace=True)
    assert got == {
        "kind": "tree", "height": "8 m", "crown_radius": radius, "height_from": f"crown radius by {SOURCE}",
    }  # fmt: skip


def test_a_radius_that_agrees_with_the_diameter_stays():
    drawn = RawFeature(1, "elm", {"kind": "tree", "height": "8 m", "crown_radius": "4 m"}, Point(0, 0))
    assert merged(proposal(height="8 m", crown_diameter="8.2 m +- 1 m"), drawn) == (None, [], "same")


def test_the_files_own_names_are_kept():
    renaming = Renaming({"hoehe": "height"})
    assert merged(proposal(height="9 m"), elm(hoehe="5 m"), replace=True, renaming=renaming)[0]["hoehe"] == "9 m"
    assert "height" not in merged(proposal(height="9 m"), elm(hoehe="5 m"), replace=True, renaming=renaming)[0]
    assert merged(proposal(height="9 m"), elm(), renaming=renaming)[0]["height"] == "9 m"


def test_all_that_no_longer_fits_comes_at_once():
    with pytest.raises(InputError) as caught:
        merging(elm()).merge([proposal("oak"), proposal(kind="building")], replace=False)
    assert [(one.where, one.text) for one in caught.value.faults] == [
        ("oak", "is not drawn any more in f.geojson; ask the survey again: siteplan heights SITE TILE"),
        ("elm", "is a tree in f.geojson and a building here; ask the survey again"),
    ]


@pytest.mark.parametrize(("file", "whole"), [("f.gpkg", True), ("f.geojson", False)])
def test_a_file_that_cannot_be_edited(file, whole):
    with pytest.raises(InputError, match="is no GeoJSON that can be edited here; save it as features"):
        merging(elm(), file=file, whole=whole)
    assert merging(elm(), file="F.JSON").numbers == {"elm": 1}


def test_which_proposals_are_wanted():
    every = [proposal("elm"), proposal("oak")]
    assert wanted_proposals(every, None) == every
    assert wanted_proposals(every, ["oak", "elm", "oak"]) == every[::-1]
    with pytest.raises(InputError) as caught:
        wanted_proposals(every, ["elmm", "oak", "xyzzy"])
    assert [one.text for one in caught.value.faults] == [
        "'elmm' is no proposal; did you mean 'elm'? proposals.geojson lists them, and all takes them all",
        "'xyzzy' is no proposal; proposals.geojson lists them, and all takes them all",
    ]


# ---- their file


@pytest.mark.parametrize(("figure", "units", "text"), [
    (Figure("height", 7.0, 0.0), "metric", "7 m"), (Figure("height", 7.006, 0.255), "metric", "7.01 m +- 0.26 m"),
    (Figure("height", 0.2, 0.5), "metric", "0.2 m +- 0.2 m"), (Figure("height", 3.048, 0.3048), "imperial", "10 ft +- 1 ft"),
    (Figure("ridge_heading", 190.04, 5.0, "angle"), "metric", 10.0), (Figure("ridge_heading", 179.96, 5.0, "angle"), "metric", 0.0),
    (Figure("transmittance_bare", 0.4567, 0.1234, "fraction"), "imperial", "0.457 +- 0.12"),
])  # fmt: skip
def test_a_figure_as_a_file_has_it(figure, units, text):
    assert written(figure, units) == text


def test_shapes_are_rounded_and_turned_as_the_standard_wants():
    """RFC 7946: exterior rings run counterclockwise."""
    clockwise = box(0, 0, 1.23456, 1).reverse() if box(0, 0, 1, 1).exterior.is_ccw else box(0, 0, 1.23456, 1)
    found = _rounded(clockwise, 3)
    assert found["type"] == "Polygon"
    assert sorted(map(tuple, found["coordinates"][0][:4])) == [(0, 0), (0, 1), (1.235, 0), (1.235, 1)]
    (ax, ay), (bx, by), (cx, cy) = found["coordinates"][0][:3]
    assert (bx - ax) * (cy - ay) - (by - ay) * (cx - ax) > 0
    assert json.dumps(_rounded(Point(-0.0001, 2), 3)) == '{"type": "Point", "coordinates": [0.0, 2.0]}'


FEATURE = {
    "id": "elm", "properties": {"kind": "tree", "drawn": True, "height": "8 m", "height_from": "x", "points": 7, "trees": 2, "says": "s",
                                "pulses": 9, "pulses_to_ground": 0.5}, "geometry": SHAPE,
}  # fmt: skip


def stored(tmp_path, *features):
    (tmp_path / "proposals.geojson").write_text(json.dumps({"features": list(features)}))
    return read_proposals(tmp_path)


def test_proposals_are_read_again(tmp_path):
    (found,) = stored(tmp_path, FEATURE)
    assert found == StoredProposal(
        "elm", "tree", True, {"height": "8 m", "height_from": "x"}, SHAPE, points=7, trees=2
    )
    assert [_count(value) for value in (5, 0, True, 5.0, "5", None)] == [5, 0, None, None, None, None]


@pytest.mark.parametrize("change", [
    {"id": 5}, {"geometry": None}, {"properties": {"kind": "tree"}}, {"properties": FEATURE["properties"] | {"kind": 5}},
    {"properties": FEATURE["properties"] | {"drawn": "yes"}}, {"properties": FEATURE["properties"] | {"height": [5]}},
    {"properties": FEATURE["properties"] | {"height": math.nan}}, {"properties": FEATURE["properties"] | {"height": -math.inf}},
    {"properties": FEATURE["properties"] | {"height": None}}, {"properties": None},
    {"properties": FEATURE["properties"] | {"height": 10**400}},
])  # fmt: skip
def test_what_is_no_proposal_any_more(tmp_path, change):
    with pytest.raises(
        InputError, match="holds no proposals any more; ask a survey first: siteplan heights SITE TILE"
    ):
        stored(tmp_path, FEATURE, FEATURE | change)


# ---- where tiles lie


@pytest.mark.parametrize(("other", "meets"), [
    ((10, 0, 20, 10), True), ((10.1, 0, 20, 10), False), ((0, 10, 5, 20), True), ((0, 10.1, 5, 20), False), ((-9, -9, 0, 0), True),
    ((-9, -9, -0.1, 0), False), ((-9, -9, 0, -0.1), False), ((2, 2, 3, 3), True), ((-9, -9, 99, 99), True),
])  # fmt: skip
def test_bounds_that_meet(other, meets):
    assert _meet((0, 0, 10, 10), other) is meets
    assert _meet(other, (0, 0, 10, 10)) is meets


@pytest.mark.parametrize(("covered", "words"), [
    (1.0, []), (0.97, []), (0.96, ["survey-part: a has points on 96% of the property; give the tiles beside it as well."]),
    (0.5, ["survey-part: a has points on 50% of the property; give the tiles beside it as well."]),
    (0.49, ["a: has no points on more than 49% of the property; give the tiles beside it as well"]),
    (0.0, ["a: has no points on the property; give the tiles beside it as well"]),
])  # fmt: skip
def test_how_much_is_covered(covered, words):
    check_cover(covered, "a", remarks := Remarks())
    assert [str(one) for one in remarks.faults] + [f"{one.code}: {one.text}" for one in remarks.cautions] == words


def test_the_pair_by_which_is_higher(monkeypatch, tmp_path):
    """Two rasters of half-metre cells: of the surface what stands 30 cm and more above the ground becomes points."""
    from siteplan.land.frame import LocalFrame

    for name in ("a.tif", "b.tif"):
        (tmp_path / name).touch()
    yard, frame = box(0, 0, 2, 1), LocalFrame(longitude=8.0, latitude=45.0)
    ground = np.tile([100.0, 100.0, 100.0, np.nan], (2, 1))
    surface = ground + np.array([[0, 0.3, 0.31, 0], [5.0, 0, 0, 0]])
    known = {"a.tif": surface, "b.tif": ground}
    monkeypatch.setattr(pair, "no_file", lambda _: "")
    monkeypatch.setattr(pair, "_ground_of", lambda *_: yard)
    monkeypatch.setattr(pair, "_read", lambda path, *_: known[path.name])
    monkeypatch.setattr(pair, "relevant_points", lambda returns, *_: returns)
    for paths in (("a.tif", "b.tif"), ("b.tif", "a.tif")):
        remarks = Remarks()
        found = pair.read_pair(
            tuple(tmp_path / name for name in paths),
            frame,
            yard,
            remarks,
            unit=None,
            farthest=0.0,
            reach=lambda height: height,
        )
        assert not remarks.faults
        assert (found.covered, found.thinned, found.flight.source) == (0.75, 1, "rasters")
        returns = found.returns
        assert returns.z.tolist() == pytest.approx([100] * 6 + [100.31, 105])
        assert returns.kind.tolist() == [2] * 6 + [1] * 2
        assert returns.x.tolist() == pytest.approx([0.25, 0.75, 1.25] * 2 + [1.25, 0.25])
        assert returns.y.tolist() == pytest.approx([0.75] * 3 + [0.25] * 3 + [0.75, 0.25])
        assert returns.last.all()
        assert not returns.several.any()
    known["a.tif"] = ground
    remarks = Remarks()
    assert (
        pair.read_pair(
            (tmp_path / "a.tif", tmp_path / "b.tif"),
            frame,
            yard,
            remarks,
            unit=None,
            farthest=0.0,
            reach=None,
        )
        is None
    )
    assert [str(one) for one in remarks.faults] == [
        "a.tif: and b.tif are the same: one must be the surface with trees and roofs, the other the ground without"
    ]
    assert place.FAR == 100_000
