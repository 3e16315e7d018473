"""What is asked of a survey's files, what is wrong with what they show, and what the terminal says. By hand."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from pyproj import CRS
from shapely import Point, box

from siteplan import survey
from siteplan.files.drawing.feature_records import LEAVES_NORTH, LEAVES_SOUTH
from siteplan.files.outputs.output_folder import Written
from siteplan.files.remarks import Remarks
from siteplan.land.errors import InputError
from siteplan.land.features import Building
from siteplan.land.grid import Grid
from siteplan.land.proposals import Figure, Proposal
from siteplan.land.returns import Flight, Returns
from siteplan.sun.obstacles import bodies
from siteplan.survey import (
    HeightsFound,
    _check_features,
    _check_heights,
    _find_features,
    _Request,
    _seen_from,
    in_leaf,
)
from tests.place.conftest import bare_yard

YARD = bare_yard(box(-10, -10, 10, 10))


def asked(*names, crs=None, z_unit=None):
    """Return a request for files, or the lines of its refusal."""
    try:
        return _Request([Path(name) for name in names], crs, z_unit, Remarks())
    except InputError as error:
        return [str(fault) for fault in error.faults]


def test_what_is_asked_of_tiles():
    one = asked("w/a.laz", "w/b.LAS", "w/a.laz", z_unit=" Feet ", crs="EPSG:28992")
    assert one.paths == (Path("w/a.laz"), Path("w/b.LAS"))  # the same file twice is one
    assert (one.names, one.unit, one.metres, one.unit_given, one.pair) == ("a.laz, b.LAS", "ft", 0.3048, True, False)
    assert one.system == CRS("EPSG:28992")
    assert asked("a.laz", "b.laz", "c.laz").names == "a.laz, b.laz, c.laz"
    four = asked("a.laz", "b.laz", "c.laz", "d.laz")
    assert (four.names, four.unit, four.metres, four.unit_given) == ("a.laz, b.laz, c.laz ...", None, None, False)
    assert four.system is None


def test_what_is_asked_of_rasters():
    pair = asked("s.tif", "g.TIFF", z_unit="metre")
    assert (pair.pair, pair.unit, pair.metres) == (True, "m", 1.0)
    assert asked("s.tif", "g.tif", z_unit="us-ft").metres == 1200 / 3937
    assert asked("s.tif") == [
        "s.tif: a pair of rasters is wanted, 1 came; give two, of the surface with trees and roofs, and of the ground"
    ]
    assert asked("s.tif", "g.tif", "h.tif") == [
        (
            "s.tif, g.tif, h.tif: a pair of rasters is wanted, 3 came; give two, of the surface with trees and roofs, "
            "and of the ground"
        )
    ]


def test_files_that_will_not_do():
    assert asked() == ["TILE: is missing; give a .las or .laz tile, or a pair of .tif rasters"]
    both = "are tiles and rasters; give tiles alone, or a pair of rasters"
    assert asked("a.laz", "s.tif") == [f"a.laz, s.tif: {both}"]
    assert asked("a.laz", "s.tif", "g.tif") == [f"a.laz, s.tif, g.tif: {both}"]
    other = "must be a .las or .laz tile, or one of a pair of .tif rasters"
    assert asked("a.txt") == [f"a.txt: {other}"]
    assert asked("a.laz", "b.xyz") == [f"b.xyz: {other}"]
    assert asked("a.laz", z_unit="e" * 50, crs="c" * 70) == [
        f"--z-unit: is {'e' * 40!r}, must be m, ft or us-ft",
        f"--crs: is {'c' * 60!r}, which is no coordinate system; write it as EPSG:28992",
    ]


GRID = Grid(-20, 20, 10.0, 4, 4)  # the four cells in its middle lie on the yard
INSIDE = np.zeros((4, 4), dtype=bool)
INSIDE[1:3, 1:3] = True


def shown(*, lone=0, seen=INSIDE, ground=100.0, grid=GRID):
    return SimpleNamespace(
        lone=lone, has_ground_points=np.asarray(seen), ground=np.broadcast_to(ground, (4, 4)), grid=grid
    )


def request(metres=None, *, told=False):
    return SimpleNamespace(names="a.laz", metres=metres, unit_given=told)


@pytest.fixture
def ground_asked(monkeypatch):
    """Return a list that keeps the level, the unit, and whether it was given, for each check of the ground."""
    seen = []

    def keep(level, names, frame, metres, remarks, *, unit_given):
        assert (names, frame) == ("a.laz", YARD.frame)
        seen.append((level, metres, unit_given))

    monkeypatch.setattr(survey, "check_ground", keep)
    return seen


def test_one_point_in_twenty_may_hang_in_the_air(ground_asked):
    _check_features(shown(lone=5), 100, YARD, request(), Remarks())
    with pytest.raises(InputError) as caught:
        _check_features(shown(lone=1051), 20_000, YARD, request(), Remarks())
    assert str(caught.value) == (
        "a.laz: has 1,051 of 20,000 points alone in the air; it is damaged, or no survey of land"
    )
    assert len(ground_asked) == 1


def test_a_survey_needs_ground_somewhere(ground_asked):
    corner = np.zeros((4, 4), dtype=bool)
    corner[0, 0] = True
    for seen in (corner, INSIDE, corner | INSIDE, np.ones((4, 4), dtype=bool)):
        _check_features(shown(seen=seen), 100, YARD, request(), Remarks())
    assert len(ground_asked) == 4
    with pytest.raises(InputError, match=r"^a\.laz: shows no ground on the property; take another survey$"):
        _check_features(shown(seen=np.zeros((4, 4), dtype=bool)), 100, YARD, request(), Remarks())


def test_the_level_is_the_middle_of_the_ground_on_the_property(ground_asked):
    """Four cells of 7, 8, 10 and 11 m in a land of 50 m; a property between the middles of cells takes all sixteen."""
    ground = np.full((4, 4), 50.0)
    ground[1:3, 1:3] = [[7, 8], [10, 11]]
    _check_features(shown(ground=ground), 100, YARD, request(), Remarks())
    _check_features(shown(ground=ground), 100, YARD, request(0.3048, told=True), Remarks())
    small = bare_yard(box(-1, -1, 1, 1))
    _check_features(shown(ground=ground), 100, small, request(1.0), Remarks())
    assert ground_asked == [(9.0, 1.0, False), (9.0, 0.3048, True), (50.0, 1.0, False)]


def points(*kinds, thinned=1):
    no = np.zeros(len(kinds), dtype=bool)
    returns = Returns(*np.zeros((3, len(kinds))), np.array(kinds, dtype=np.uint8), ~no, no)
    return SimpleNamespace(returns=returns, thinned=thinned)


@pytest.fixture
def looked(monkeypatch, ground_asked):
    """Return a finder of features that only notes what it is asked for."""
    calls = []

    def look(found, *, lone=0, unclassified=False, site=YARD):
        def find(returns, **more):
            calls.append((returns.kind.tolist(), more))
            return shown(lone=lone)

        monkeypatch.setattr("siteplan.heights.survey_features.find_features", find)
        remarks = Remarks()
        features = _find_features(found, site, 5.0, request(), remarks, unclassified=unclassified)
        assert features.lone == lone
        return calls[-1], [f"{one.code}: {one.text}" for one in remarks.cautions]

    return look


def test_classes_are_taken_where_there_are_any(looked):
    (kinds, more), said = looked(points(2, 5))
    assert (kinds, more["by_filter"], more["lowest"], said) == ([2, 5], False, 5.0, [])
    assert (more["boundary"], more["built"], more["grown"]) == (YARD.boundary, [], [])
    assert looked(points(1, 1))[0][1]["by_filter"] is True
    (kinds, more), _ = looked(points(2, 5), unclassified=True)
    assert (set(kinds), more["by_filter"]) == ({1}, True)
    with pytest.raises(InputError) as caught:
        looked(points(5, 6))
    assert str(caught.value) == (
        "a.laz: tells what its points are, and none of them is ground (class 2) about the property; with "
        "--unclassified the ground is found by its shape"
    )
    assert looked(points(5, 6), unclassified=True)[0][1]["by_filter"] is True


def test_points_that_were_left_out_are_told(looked):
    many = points(*[2] * 100_000, thinned=2)
    assert looked(many, lone=1234)[1] == [
        "survey-lone: 1,234 points that hang alone in the air (birds, noise) are left out.",
        "survey-thinned: Of the points far from the property one in 2 is taken: there are very many.",
    ]
    assert looked(points(2, thinned=1))[1] == []


def proposal(name, kind="building", *figures, drawn=True):
    return Proposal(name, kind, drawn, Point(0, 0), figures or (Figure("height", 5.0),), 9)


def result(proposals, site=YARD, **more):
    return HeightsFound(site, None, tuple(proposals), (), Flight(), None, (), **more)


def test_the_terminal_lists_twelve_proposals():
    def listed(count):
        found = result([proposal(f"h{n}" if n else "h" * 50, drawn=n != 1) for n in range(count)])
        lines = found.lines(Written(Path("out"), (), ()), "yard")
        first = len(found.sentences())
        return lines[first : len(lines) - 3]

    high = ": 5.00 m high; 9 points."
    assert listed(2) == [f"{'h' * 39}…{high}", f"h1 (new){high}"]
    assert len(listed(12)) == 12
    assert listed(12)[-1] == f"h11{high}"
    assert listed(13)[11:] == [f"h11{high}", "1 more proposal in proposals.geojson."]
    assert listed(15)[12:] == ["3 more proposals in proposals.geojson."]


def test_where_the_output_lies_as_site_toml_names_it(tmp_path):
    assert _seen_from(str(tmp_path / "yard"), tmp_path / "yard" / "heights") == "heights"
    assert _seen_from(str(tmp_path / "yard"), tmp_path / "out" / "one") == "../out/one"


@pytest.mark.parametrize(("day", "southern", "leafy"), [
    ("2021-04-27", True, True), ("2021-04-28", True, False), ("2020-10-08", True, False), ("2020-10-09", True, True),
])  # fmt: skip
def test_the_first_and_the_last_day_with_leaves_in_the_south(day, southern, leafy):
    flown = dt.date.fromisoformat(day)
    assert in_leaf(Flight(flown, flown), southern=southern) is leafy


def test_days_from_leaf_to_leaf_over_a_winter_tell_nothing():
    """From the last leafy day of a year to the first of the next are 165 days, from the last bare one 202."""
    last_leafy, first_leafy = dt.date(2020, 10, 27), dt.date(2021, 4, 10)
    assert in_leaf(Flight(last_leafy, first_leafy), southern=False) is None
    last_bare = dt.date(2020, 4, 9)
    assert in_leaf(Flight(last_bare, dt.date(2020, 10, 28)), southern=False) is None
    assert in_leaf(Flight(last_bare, last_leafy), southern=False) is None
    assert in_leaf(Flight(dt.date(2020, 10, 28), dt.date(2021, 4, 9)), southern=False) is False
    assert in_leaf(Flight(None, last_bare), southern=False) is None
    assert in_leaf(Flight(last_bare, None), southern=False) is None


@pytest.mark.parametrize(("southern", "leaves"), [(False, LEAVES_NORTH), (True, LEAVES_SOUTH)])
def test_trees_are_in_leaf_on_the_days_on_which_they_shade_as_in_leaf(southern, leaves):
    """On each day of a common and of a leap year, as the engine of the sun has it."""
    for year in (2023, 2024):
        calendar = tuple(one.day_of_year(year) for one in leaves)
        for number in range(366 if year == 2024 else 365):
            day = dt.date(year, 1, 1) + dt.timedelta(days=number)
            in_the_sun = bool(bodies.in_leaf(calendar, number + 1))
            assert in_leaf(Flight(day, day), southern=southern) is in_the_sun, day


def said(heights, drawn, *, metres=None, told=False, kind="building", more=()):
    figures = [proposal(name, kind, Figure("height", height)) for name, height in heights.items()]
    remarks = Remarks()
    _check_heights(result([*figures, *more]), drawn, request(metres, told=told), remarks)
    return [fault.text for fault in remarks.faults]


def test_heights_in_another_unit_in_whole_sentences():
    feet = "are its heights in feet? Say --z-unit ft"
    metres = "are its heights in metres? Say --z-unit m"
    assert said({"b": 20.0, "a": 21.0}, {"a": 7.0, "b": 7.0}) == [
        f'makes the building "a" 21.0 m high, which is drawn 7.00 m high; {feet}, or mend the drawing'
    ]
    assert said({"b" * 70: 21.0}, {"b" * 70: 7.0})[0].startswith(f'makes the building "{"b" * 60}" 21.0 m high')
    assert said({"a": 2.0}, {"a": 7.0}, metres=0.3048) == [
        f'makes the building "a" 2.00 m high, which is drawn 7.00 m high; {metres}, or mend the drawing'
    ]
    assert said({"a": 2.0, "new": 30.0}, {"a": 7.0, "unseen": 9.0}, metres=1.0) == []
    # heights that the other unit would make still worse: too low in metres, too high in feet
    assert said({"a": 2.0, "b": 2.1}, {"a": 7.0, "b": 7.0}, metres=1.0) == [
        'makes the building "a" 2.00 m high, which is drawn 7.00 m high; mend the drawing'
    ]
    assert said({"a": 7.0}, {"a": 2.1}, metres=0.3048) == [
        'makes the building "a" 7.00 m high, which is drawn 2.10 m high; mend the drawing'
    ]
    assert said({"a": 25.0}, {}, metres=0.3048) == []
    assert said({"a": 24.0, "b": 26.0, "c": 3.0}, {}) == [
        f"makes half of 3 buildings more than 24.0 m high; {feet}, if not --z-unit m"
    ]
    assert said({"a": 1.2, "b": 0.9, "c": 9.0}, {}, metres=0.3048) == [
        f"makes half of 3 buildings less than 1.20 m high; {metres}"
    ]
    assert said({"a": 1.2}, {}, metres=1.0) == []
    assert said({"a": 40.0}, {}, kind="tree") == []
    # what matters of a building is its height, the first of its figures; a tree's counts for nothing
    tall = proposal("t", "building", Figure("height", 30.0), Figure("eaves", 2.0))
    assert said({}, {}, more=[tall, proposal("oak", "tree", Figure("height", 3.0))]) == [
        f"makes half of 1 buildings more than 30.0 m high; {feet}, if not --z-unit m"
    ]


def test_how_much_is_done_is_told_to_the_end(monkeypatch):
    """Reading takes 0.7 of it. Only houses whose height was measured are compared with the survey."""
    houses = tuple(
        Building(id=name, outline=box(0, 0, 3, 3), height=height) for name, height in (("a", 7.0), ("b", 3.0))
    )
    site = bare_yard(box(-10, -10, 10, 10), buildings=houses)
    told, compared = [], []

    def read(asked, where, lowest, remarks, tell):
        tell(0.0)
        tell(0.5)
        tell(1.0)
        return SimpleNamespace(covered=1.0, flight=Flight())

    monkeypatch.setattr(survey, "read_unfinished", lambda _: SimpleNamespace(site=site, lacking=frozenset({"b"})))
    monkeypatch.setattr(survey, "_lowest_sun", lambda _: 5.0)
    monkeypatch.setattr(survey, "_relevant_points", read)
    monkeypatch.setattr(survey, "_find_features", lambda *_, unclassified: SimpleNamespace(unclassified=unclassified))
    monkeypatch.setattr(survey, "_match", lambda features, *_: features)
    monkeypatch.setattr(survey, "_check_heights", lambda _, drawn, *_more: compared.append(drawn))
    found = survey.find_heights("yard", ["a.laz"], progress=lambda question, share: told.append((question, share)))
    assert [question for question, _ in told] == ["survey"] * 5
    assert [share for _, share in told] == pytest.approx([0.0, 0.35, 0.7, 0.9, 1.0])
    assert (found.unclassified, compared) == (False, [{"a": 7.0}])
    assert survey.find_heights("yard", ["a.laz"], unclassified=True).unclassified is True  # nobody listens
