"""What the page gets to know of the property, of proposals and of a bed's tiers; by hand."""

from __future__ import annotations

from types import SimpleNamespace

import pytest
from shapely import Point

from siteplan.draw import proposal_answers as module
from siteplan.draw.page_features import _with_outlines, feature_fault, plain, to_file, to_page
from siteplan.draw.plane import Plane
from siteplan.draw.property_view import Reading, _fault, _is_about, _missing, _settings, property_view
from siteplan.draw.proposal_answers import Proposals, _proposal, _require_shapes
from siteplan.files.drawing.naming import NamedFeature
from siteplan.files.drawing.vector import Drawing, RawFeature
from siteplan.files.survey.proposals_file import StoredProposal
from siteplan.land.errors import Fault, InputError
from siteplan.land.units import length_unit

FEET = Plane(metres_per_unit=0.3048, place=(45.0, 8.0), bearing=30.0)


@pytest.mark.parametrize(("where", "about"), [
    ('bed "a"', True), ('bed "a", tier 2', True), ('bed "a" (and so on)', True), ('bed "ab"', False), ('bed "a" x', False), ("", False),
])  # fmt: skip
def test_what_a_fault_is_about(where, about):
    assert _is_about(where, 'bed "a"') is about


def reading(*, settings=True, plane=FEET, faults=(), site=None):
    features = (RawFeature(1, "a", {"kind": "bed"}, Point(10, 0)), RawFeature(2, None, {"kind": "dor"}, None))
    named = {"a": NamedFeature("a", "bed", {}, None, number=1)}
    known = SimpleNamespace(name="Yard", units="imperial", renaming=SimpleNamespace(keys={"hoehe": "height"}))
    read = SimpleNamespace(
        settings=known if settings else None, drawing=Drawing("f", features), values={"sun": {"need": 5}} if settings else None,
        unit=length_unit("ft"),
    )  # fmt: skip
    checked = SimpleNamespace(
        site=site, faults=faults, cautions=[SimpleNamespace(code="c", feature="a", text="t")], read=read
    )
    state = SimpleNamespace(version="v1", undo="moved a", redo=None)
    return Reading(state, checked, plane, {"a": 1, "feature 2": 2}, named)


def test_the_property_for_the_page():
    view = property_view(reading(), "yard")
    settings, features = view.pop("settings"), view.pop("features")
    assert view == {
        "version": "v1", "name": "Yard", "folder": "yard", "units": "imperial", "unit": "ft", "unit_metres": 0.3048,
        "place": {"latitude": 45.0, "longitude": 8.0, "bearing": 30.0}, "renaming": {"hoehe": "height"}, "sound": False,
        "missing": [{"what": "boundary", "says": "Draw the outline of the property: a boundary."}], "faults": [],
        "cautions": [{"code": "c", "feature": "a", "text": "t"}], "undo": "moved a", "redo": None,
    }  # fmt: skip
    assert (settings["sun.need"]["given"], settings["sun.cell"]["given"], settings["name"]["given"]) == (
        5,
        None,
        None,
    )
    assert [(one["id"], one["kind"]) for one in features] == [("a", "bed"), ("feature 2", None)]
    assert features[0]["geometry"]["coordinates"] == [3.048, 0.0]
    assert property_view(reading(site="sound"), "yard")["sound"] is True


def test_a_property_whose_settings_cannot_be_read():
    view = property_view(reading(settings=False, plane=Plane()), "yard")
    assert (view["name"], view["units"], view["place"], view["missing"], view["renaming"]) == (
        "yard",
        "metric",
        None,
        [],
        {},
    )


def test_what_is_still_missing():
    both = list(_missing(reading(plane=Plane())))
    assert [one["what"] for one in both] == ["place", "boundary"]
    whole = reading()
    whole.named["lot"] = NamedFeature("lot", "boundary", {}, None)
    assert list(_missing(whole)) == []


def test_settings_as_they_are_given():
    found = _settings({"name": "a", "sun": 5, "season": {"last_frost": "04-15"}})
    assert (found["name"]["given"], found["sun.need"]["given"], found["season.last_frost"]["given"]) == (
        "a",
        None,
        "04-15",
    )


@pytest.mark.parametrize(
    ("where", "feature"),
    [('bed "a", tier 1', "a"), ("feature 2 ('x')", ""), ("feature 2", "feature 2"), ("[sun]", "")],
)
def test_a_fault_names_its_feature(where, feature):
    found = _fault(Fault("f", where, "is wrong"), reading())
    expected = "feature 2" if where.startswith("feature 2") else feature
    assert found == {
        "file": "f",
        "where": expected or where,
        "text": "is wrong",
        "feature": expected,
        "said": f"f: {where}: is wrong",
    }


# ---- features of the page


def tiers(value, change=lambda shape: shape):
    return _with_outlines("tiers", value, change, 3)


def test_outlines_of_tiers_are_converted():
    def twice(shape):
        return type(shape)([(2 * one.x + 1e-9, 2 * one.y) for one in shape.geoms])

    value = [{"height": 1}, {"height": 2, "outline": [[1, 2.5], [3, 4], [5, 6]]}]
    assert tiers(value, twice) == [{"height": 1}, {"height": 2, "outline": [[2, 5], [6, 8], [10, 12]]}]
    text = '[{"outline": [[0.12345, 0], [1, 1], [2, 0]]}]'
    assert tiers(text) == [{"outline": [[0.123, 0], [1, 1], [2, 0]]}]
    for same in ([{"height": 1}], '[{"height": 1}]', "no JSON", [5], 5, None, [{"outline": "x"}]):
        assert tiers(same, twice) == same
    assert _with_outlines("layers", value, twice, 3) is value


def test_tiers_go_to_the_file_and_back():
    page = to_page(RawFeature(1, "a", {"tiers": [{"outline": [[10, 0], [20, 0], [20, 10]]}]}, None), "a", FEET)
    assert page["properties"]["tiers"] == [{"outline": [[3.048, 0], [6.096, 0], [6.096, 3.048]]}]
    new = page | {"properties": {"tiers": [{"outline": [[3.048, 0], [6.096, 0], [6.096, 6.096]]}]}}
    assert to_file(new, None, FEET)["properties"]["tiers"] == [{"outline": [[10, 0], [20, 0], [20, 20]]}]


def test_values_that_did_not_change_stay_as_they_are_written():
    before = RawFeature(1, "a", {"height": 2.50, "tall": float("nan"), "day": 5}, Point(10, 0))
    page = to_page(before, "a", FEET)
    page["properties"] |= {"day": 6, "new": "x"}
    written = to_file(page, before, FEET)
    assert written["properties"]["height"] is before.properties["height"]
    assert written["properties"]["tall"] is before.properties["tall"]
    assert (written["properties"]["day"], written["properties"]["new"], "geometry" in written) == (6, "x", False)
    page["geometry"] = None
    assert to_file(page, before, FEET)["geometry"] is None
    base = RawFeature(1, "a", {}, Point(10.0001, 5))
    moved = page | {"geometry": {"type": "Point", "coordinates": [3.04803048, 1.524]}}
    assert to_file(moved, before, FEET, base)["geometry"]["coordinates"] == [
        10.0001,
        5,
    ]  # a variant takes the property's digits


@pytest.mark.parametrize(("feature", "words"), [
    (5, "5 is no feature; it must be a GeoJSON Feature"), ({"type": "Point"}, "is no feature; it must be"),
    ({"type": "Feature", "id": "a" * 201}, "must be a text of 1 to 200 letters"), ({"type": "Feature", "id": "a" * 200}, "must have properties and a geometry"),
    ({"type": "Feature", "id": "a", "properties": [], "geometry": None}, "must have properties and a geometry"),
    ({"type": "Feature", "id": "a", "properties": {}, "geometry": 5}, "its geometry is 5, must be one of Point, LineString, MultiPoint, Polygon"),
    ({"type": "Feature", "id": "a", "properties": {}, "geometry": {"type": "Dot"}}, "its geometry is 'Dot', must be one of"),
    ({"type": "Feature", "id": "a", "properties": {}, "geometry": {"type": "Polygon"}}, "its coordinates are no Polygon: they must be numbers, two to a"),
    ({"type": "Feature", "id": "a", "properties": {}, "geometry": {"type": "Point", "coordinates": [10**400, 0]}}, "its coordinates are no Point"),
    ({"type": "Feature", "id": "\ud800", "properties": {}, "geometry": None}, "holds half of a letter; write it anew"),
])  # fmt: skip
def test_features_that_cannot_be_written(feature, words):
    found = feature_fault(feature)
    assert words in found.text
    assert found.where == (feature["id"][:200] if isinstance(feature, dict) and "id" in feature else "")


def test_days_and_numbers_are_plain():
    import datetime as dt

    assert plain([dt.date(2024, 5, 6), True, None, 3, "a"]) == ["2024-05-06", True, None, 3, "a"]


# ---- proposals


def stored(name="elm", *, geometry=None, **properties):
    shape = {"type": "Point", "coordinates": [10, 0]} if geometry is None else geometry
    return StoredProposal(name, "tree", False, properties, shape, points=7, trees=2)


class Merging:
    """Stands in for the merging of one proposal."""

    def __init__(self, put=(), fault=None):
        self.put, self.fault = list(put), fault

    def merge(self, _, *, replace):
        assert replace is False
        if self.fault:
            raise InputError([self.fault])
        return "done", self.put


def test_a_proposal_for_the_page(monkeypatch):
    monkeypatch.setattr(module, "conflict_sentences", lambda _: ["Yours stays."])
    assert _proposal(stored(height="8 m", odd=float("nan")), Merging(["x"]), FEET) == {
        "type": "Feature", "id": "elm", "drawn": False, "properties": {"kind": "tree", "height": "8 m", "odd": None},
        "geometry": {"type": "Point", "coordinates": [3.048, 0.0]}, "points": 7, "trees": 2, "waits": True, "wrong": "", "said": ["Yours stays."],
    }  # fmt: skip
    assert _proposal(stored(), Merging(), FEET)["waits"] is False  # it only says what differs
    wrong = _proposal(stored(), Merging(fault=Fault("f", "elm", "is gone")), FEET)
    assert (wrong["wrong"], wrong["waits"], wrong["said"]) == ("is gone", False, [])
    monkeypatch.setattr(module, "conflict_sentences", lambda _: [])
    assert _proposal(stored(), Merging(), FEET) is None  # all of it is drawn


def test_proposals_that_cannot_be_drawn():
    _require_shapes([stored(), stored("oak")])
    with pytest.raises(InputError) as caught:
        _require_shapes(
            [stored(), stored(" "), stored("oak", geometry={"type": "Polygon", "coordinates": [[[0, 0], [1, 1]]]})]
        )
    first, second = caught.value.faults
    assert first.text.endswith("; ask the survey again: siteplan heights SITE TILE")
    assert second.text.startswith("has a shape that cannot be drawn (")


def test_the_stamp_of_their_file(tmp_path):
    found = Proposals(tmp_path)
    assert found.stamp() is None
    path = tmp_path / "heights" / "proposals.geojson"
    path.parent.mkdir()
    path.write_text("abc")
    assert found.stamp() == f"3 {path.stat().st_mtime_ns} "
    path.unlink()
    path.mkdir()
    assert found.stamp().endswith(" is a folder, must be a file")


def test_a_file_whose_state_cannot_be_told(monkeypatch, tmp_path):
    monkeypatch.setattr(module, "no_file", lambda _: "cannot be read: no leave")
    assert Proposals(tmp_path).stamp() == "cannot be read: no leave"


def test_no_more_than_2000_are_shown(monkeypatch, tmp_path):
    found = Proposals(tmp_path)
    monkeypatch.setattr(found, "stamp", lambda: "s")
    monkeypatch.setattr(module, "Merging", lambda _: None)
    monkeypatch.setattr(module, "_proposal", lambda one, *_: one or None)
    for count, shown, more in ((2000, 2000, 0), (2001, 2000, 1)):
        monkeypatch.setattr(found, "stored", lambda count=count: [0, *range(1, count + 1)])
        view = found.view(SimpleNamespace(checked=None, plane=None))
        assert (len(view["proposals"]), view["more"], view["faults"]) == (shown, more, [])

    def faulty():
        raise InputError([Fault("f", str(number), "bad") for number in range(5)])

    monkeypatch.setattr(found, "stored", faulty)
    view = found.view(SimpleNamespace(checked=None, plane=None))
    assert view["faults"] == [{"file": "f", "where": str(number), "text": "bad"} for number in range(3)]
    monkeypatch.setattr(found, "stamp", lambda: None)
    assert found.view(None) == {"proposals": [], "more": 0, "faults": []}


def test_they_are_read_again_when_the_file_has_changed(monkeypatch, tmp_path):
    found, stamps, read = Proposals(tmp_path), ["a"], []
    monkeypatch.setattr(found, "stamp", lambda: stamps[-1])
    monkeypatch.setattr(module, "read_proposals", lambda folder: read.append(folder) or [stored()])
    assert found.stored() == found.stored() == [stored()]
    stamps.append("b")
    found.stored()
    assert read == [tmp_path / "heights"] * 2


@pytest.mark.parametrize(("request_", "words"), [
    ({"ids": [], "version": "v"}, "ids: must be a list of names of proposals, one at least"), ({"ids": "elm", "version": "v"}, "ids: must be a list"),
    ({"ids": ["elm", 5], "version": "v"}, "ids: must be a list"), ({"ids": ["elm"]}, "version must be a text, and replace true or false"),
    ({"ids": ["elm"], "version": "v", "replace": "yes"}, "version must be a text, and replace true or false"),
])  # fmt: skip
def test_requests_that_take_none(tmp_path, request_, words):
    with pytest.raises(InputError, match=words):
        Proposals(tmp_path).take(None, request_)


@pytest.mark.parametrize(("added", "changed", "told"), [
    (1, 0, "1 proposal is taken."), (1, 1, "2 proposals are taken."), (0, 0, "Nothing was new; the drawing is as it was."), (0, 3, "3 proposals are taken."),
])  # fmt: skip
def test_how_many_were_taken(monkeypatch, tmp_path, added, changed, told):
    found = Proposals(tmp_path)
    monkeypatch.setattr(found, "stored", lambda: [stored()])
    monkeypatch.setattr(module, "conflict_sentences", lambda _: ["and so on"])
    done, asked = SimpleNamespace(added=["x"] * added, changed=["y"] * changed), []
    held = SimpleNamespace(accept=lambda *parts, **more: asked.append((parts, more)) or done)
    assert found.take(held, {"ids": ["elm"], "version": "v", "replace": True}) == [told, "and so on"]
    assert asked == [(("v", [stored()]), {"replace": True})]
