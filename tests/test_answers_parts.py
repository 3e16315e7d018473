"""What each part of an answer is given: everything it calls is stood in for."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from types import SimpleNamespace

import numpy as np
import pytest

from siteplan import answers
from siteplan.land.features import Bed, Door, Pile, Tap
from siteplan.land.grid import Grid
from siteplan.land.layers import LayerSpec
from siteplan.land.outline import rectangle
from siteplan.land.terrain import Terrain
from siteplan.question import NewBed, Question


def bed(name="a", **given):
    outline = rectangle(1, 3, length=2.4, width=1.0, heading=90)
    return Bed(id=name, outline=outline, height=0.4, wall_thickness=0.05, **given)


@pytest.mark.parametrize(("hilly", "height"), [(False, 0.4), (True, 7.4 - 1.0)])
def test_a_bed_reaches_its_half_diagonal_and_two_metres(tiny_yard, hilly, height):
    # hypot(1.2, 0.5) is 1.3 m. On a terrain, 7 m above the frame here, the ground may be a metre lower
    grid = Grid(-20, 20, 1, 40, 40)
    site = replace(tiny_yard, terrain=Terrain(grid, np.full((40, 40), 7.0)) if hilly else None)
    expected = [[-2.3, -0.3], [4.3, -0.3], [4.3, 6.3], [-2.3, 6.3]]
    np.testing.assert_allclose(answers.bed_reach(site, bed()), [[*corner, height] for corner in expected], atol=1e-6)


def test_positions_are_computed_together_and_others_when_they_are_asked_for(tiny_yard, monkeypatch):
    asked = []
    monkeypatch.setattr(answers, "bed_suns", lambda _site, beds, _engine, across: [(one.id, across) for one in beds])
    monkeypatch.setattr(
        answers, "bed_sun", lambda _site, one, _engine, across: asked.append(one.id) or ("later", one.id, across)
    )
    first = bed("first")
    second = replace(bed("second"), outline=rectangle(5, 3, length=2.4, width=1.0, heading=0))
    third = replace(bed("third"), outline=rectangle(9, 3, length=2.4, width=1.0, heading=0))
    sun_at = answers.sun_in_positions(tiny_yard, "engine", [first, second], across=3)
    assert sun_at(first) == ("first", 3)
    assert sun_at(replace(second, id="renamed")) == ("second", 3)
    assert sun_at(third) == ("later", "third", 3)
    assert asked == ["third"]


@pytest.mark.parametrize(("drops", "loads_from"), [((True, False), ["p0"]), ((False, False), ["p0", "p1"]), ((), [])])
@pytest.mark.parametrize("fitted", [True, False])
def test_ways_to_water_and_door_are_weighed_where_there_are_any(tiny_yard, monkeypatch, drops, loads_from, fitted):
    from shapely import Point

    taps, doors = (Tap(id="t", place=Point(1, 2)),), (Door(id="d", place=Point(3, 4)),)
    monkeypatch.setattr(
        "siteplan.haul.access_maps.walking_distances",
        lambda _site, _grid, goals: [[point.coords[0] for point in goal] for goal in goals],
    )
    monkeypatch.setattr("siteplan.haul.access_maps.minutes_field", lambda _site, _grid, sources: ("minutes", sources))
    piles = tuple(Pile(id=f"p{k}", shape=Point(k, 0), drop=drop) for k, drop in enumerate(drops))
    site = replace(tiny_yard, taps=taps if fitted else (), doors=doors if fitted else (), piles=piles)
    assert answers._ways(site, "grid") == {
        "minutes": ("minutes", ()), "water": [(1.0, 2.0)] if fitted else None, "door": [(3.0, 4.0)] if fitted else None,
        "loads_from": loads_from,
    }  # fmt: skip


@pytest.fixture
def crops_of(monkeypatch):
    """Return what the crops are compared with."""
    monkeypatch.setattr(answers, "suiting_crops", lambda crops, **given: {"crops": [*crops], **given})
    return answers._crops


def test_crops_are_compared_with_the_soil_above_the_base(tiny_yard, crops_of):
    sun = np.full(12, 6.0)
    site = replace(tiny_yard, crops={"x": "crop x"}, surfaces=())
    # the recipe of the yard: a coarse base and 0.7 of the height above it, if so
    coarse = sum(one.fraction for one in site.recipe.layers if one.material == "coarse organic")
    found = crops_of(site, bed(), sun)
    assert found["depth"] == pytest.approx(0.4 * (1 - coarse))
    assert (found["crops"], found["ground"], found["on_paving"]) == (["crop x"], 0.2032, False)
    assert found["season"] == site.season
    assert crops_of(site, bed(filled=True), sun)["depth"] == 0.4  # soil to its whole depth
    logs = (LayerSpec(material="coarse organic", fraction=1.0),)
    assert crops_of(site, bed(layers=logs), sun)["depth"] == 0  # no soil at all
    assert crops_of(site, bed(), None) == ()
    assert crops_of(replace(site, crops={}), bed(), sun) == ()


def test_of_tiers_the_deepest_counts_or_the_one_asked_about(tiny_yard, crops_of):
    sun, site = np.full(12, 6.0), replace(tiny_yard, crops={"x": "crop x"}, surfaces=())
    share = 1 - sum(one.fraction for one in site.recipe.layers if one.material == "coarse organic")
    outline = rectangle(1, 3, length=2.4, width=1.4, heading=90)
    tiers = (Bed.Tier(height=0.25), Bed.Tier(height=0.15, inset=0.3))
    shelf = Bed(id="a", outline=outline, wall_thickness=0.05, tiers=tiers)
    depths = [crops_of(site, shelf, sun, tier)["depth"] for tier in (None, 1, 2)]
    assert depths == pytest.approx([0.4 * share, 0.25 * share, 0.4 * share])
    full = replace(shelf, filled=True)
    assert [crops_of(site, full, sun, tier)["depth"] for tier in (None, 1, 2)] == pytest.approx([0.4, 0.25, 0.4])


@dataclass(frozen=True)
class Report:
    """What is told of one bed here."""

    bed: str
    lit: str | None = None
    headings: object = None
    shifts: object = None


@pytest.mark.parametrize(("count", "turn", "lit", "step", "across"), [
    (1, False, True, None, None), (2, False, False, None, None), (12, True, True, 5.0, answers.ACROSS),
    (13, True, False, 5.0, answers.ACROSS), (60, True, False, 5.0, answers.ACROSS), (61, True, False, 10.0, 3),
])  # fmt: skip
def test_many_beds_are_compared_more_coarsely(tiny_yard, monkeypatch, count, turn, lit, step, across):
    seen, told = [], []
    stand_ins = {
        "limits_by_width": lambda _: lambda one: SimpleNamespace(near=lambda ground, ignore: (one.id, ground, ignore)),
        "bed_reach": lambda _site, one: f"ground of {one.id}", "fit_check": lambda near, **_: near,
        "turned_beds": lambda one, step: [f"{one.id} turned by {step:g}"],
        "moved": lambda one, point: f"{one.id} to {point}",
        "sun_in_positions": lambda _site, _engine, positions, across: seen.append(across) or len(positions),
        "compare_headings": lambda _site, one, sun_at, fits, step: (one.id, sun_at, fits, step),
        "compare_shifts": lambda one, sun_at, fits: (one.id, sun_at, fits),
        "_bed_report": lambda _site, one, _engine, _lights: Report(one.id),
        "lit_share": lambda _site, one, _engine: f"lit share of {one.id}",
    }  # fmt: skip
    for name, value in stand_ins.items():
        monkeypatch.setattr(answers, name, value)
    beds = tuple(bed(str(k)) for k in range(count))
    engine = SimpleNamespace(around=lambda ground: ground)
    found = answers._bed_reports(
        tiny_yard, beds, engine, None, turn=turn, tell=lambda name, share: told.append((name, share))
    )
    assert [one.bed for one in found] == [str(k) for k in range(count)]
    assert [one.lit for one in found] == [f"lit share of {k}" if lit else None for k in range(count)]
    assert told == [("turn", k / count) for k in range(count)] + [("turn", 1.0)]
    assert seen == ([across] * count if turn else [])
    for k, one in enumerate(found):
        fits = (str(k), f"ground of {k}", str(k))
        assert one.headings == (
            (str(k), 9, fits, step) if turn else None
        )  # one turned and eight points of the compass
        assert one.shifts == ((str(k), 9, fits) if turn else None)


@pytest.mark.parametrize(("ask", "told", "fill", "haul"), [
    (["sun"], [], None, None), (["fill"], [("fill", 0.0)], ("assigned", "bought"), None),
    (["haul"], [("haul", 0.0)], "as hauled", "the haul"), (["fill", "haul"], [("haul", 0.0)], "as hauled", "the haul"),
])  # fmt: skip
def test_fill_and_haul_name_the_same_piles(tiny_yard, monkeypatch, ask, told, fill, haul):
    @dataclass(frozen=True)
    class Fill:
        supplies: object = "as filled"
        purchase: str = "bought"

    best = SimpleNamespace(supplies="as hauled")
    monkeypatch.setattr("siteplan.fill.fill_plan.plan_fill", lambda _: Fill())
    monkeypatch.setattr(
        "siteplan.haul.loads.pile_service.assign_piles", lambda _site, _supplies, purchase: ("assigned", purchase)
    )
    monkeypatch.setattr("siteplan.haul.haul_plan.best_haul", lambda _site, _supplies, purchase: best)  # noqa: ARG005
    progress = []
    filled, hauled = answers._fill_and_haul(tiny_yard, frozenset(ask), lambda *step: progress.append(step))
    assert progress == told
    assert (filled and filled.supplies) == fill
    assert hauled is (best if haul else None)


@pytest.mark.parametrize(("height", "altitude"), [(None, None), (431.0, 431.0), (math.nan, None)])
def test_the_air_is_that_of_the_ground_if_its_height_is_known(tiny_yard, monkeypatch, height, altitude):
    seen = {}
    monkeypatch.setattr("siteplan.files.weather.weather_file.clear_air", lambda *place, **more: (place, more))
    monkeypatch.setattr(answers, "light_engine", lambda _site, engine, **given: seen.update(engine=engine, **given))
    grid = Grid(-20, 20, 1, 40, 40)
    terrain = None if height is None else Terrain(grid, np.full((40, 40), height))
    answers._lights(replace(tiny_yard, terrain=terrain), "engine")
    (latitude, longitude), more = seen["air"]
    assert (latitude, longitude) == (tiny_yard.frame.latitude, tiny_yard.frame.longitude)
    assert more == {"altitude": pytest.approx(altitude) if altitude else None}
    assert seen["engine"] == "engine"


@pytest.fixture
def cautions_of(monkeypatch):
    """Return the codes of the cautions of some findings."""
    monkeypatch.setattr(answers, "in_words", lambda findings, _units: list(findings))
    monkeypatch.setattr(answers, "by_weight", list)
    monkeypatch.setattr(
        answers, "limits_by_width", lambda _: lambda _bed: SimpleNamespace(near=lambda _ground, ignore: ignore)
    )
    monkeypatch.setattr(
        answers, "fit_check", lambda ignore: lambda _outline: f"limit of {ignore}" if ignore == "bad" else None
    )
    monkeypatch.setattr(answers, "finding", lambda code, feature, **more: Coded(code, feature, *more.values()))

    def codes(site, beds, fill=None, haul=None):
        given = [some and SimpleNamespace(findings=[Coded(code) for code in some]) for some in (fill, haul)]
        return [(one.code, one.feature, one.limit) for one in answers._cautions(site, beds, *given)]

    return codes


@dataclass(frozen=True)
class Coded:
    """A caution without words."""

    code: str
    feature: str = ""
    limit: str = ""


def test_cautions_are_told_once_and_lifting_not_twice(tiny_yard, cautions_of):
    site = replace(tiny_yard, cautions=(Coded("drawn"), Coded("drawn")))
    beds = (bed("good", proposed=True), bed("bad", proposed=True), bed("stands"))
    assert cautions_of(site, beds) == [("drawn", "", ""), ("bed-spot", "bad", "limit of bad")]
    assert cautions_of(site, beds[2:], ["dust"], ["dust", "steep"]) == [
        ("drawn", "", ""), ("dust", "", ""), ("steep", "", ""),
    ]  # fmt: skip
    lifting = ["heavy-lifting"]
    for work, told in ((["heavy-work"], True), (["heavy-bag"], True), (["heavy-work", "heavy-bag"], False)):
        assert (("heavy-lifting", "", "") in cautions_of(site, (), lifting, work)) is told


@pytest.fixture
def searched(monkeypatch):
    """Return what a search for places is given."""
    seen = {}

    def note(name, answer):
        def act(*given, **options):
            seen[name] = (given, options)
            return answer

        return act

    monkeypatch.setattr("siteplan.place.search.search.find_places", note("one", "found"))
    monkeypatch.setattr("siteplan.place.search.several_sizes.places_of_sizes", note("sizes", "found sizes"))
    monkeypatch.setattr(answers, "obstacle_prisms", lambda site: [one.id for one in site.beds])
    monkeypatch.setattr(answers, "sun_maps", note("maps", SimpleNamespace(grid="new grid")))
    monkeypatch.setattr(answers, "maps_without", note("without", SimpleNamespace(grid="grid without")))
    monkeypatch.setattr(answers, "_ways", lambda _site, grid: {"ways": grid})
    monkeypatch.setattr(answers, "_finished", lambda *given: given)
    return seen


@dataclass(frozen=True)
class Engine:
    """An engine with its obstacles."""

    prisms: object = "as drawn"


def placed(site, maps, new_bed, told=None):
    tell = (lambda *step: None) if told is None else lambda *step: told.append(step)  # noqa: ARG005
    return answers._places(site, maps, new_bed, Engine(), tell=tell)


def test_a_search_takes_what_it_is_not_told_from_the_site(tiny_yard, searched):
    site = replace(tiny_yard, beds=(bed("stands"),))
    maps = SimpleNamespace(grid="grid")
    cleared, found, like, engine, new_bed = placed(site, maps, NewBed(count=3, months=(4, 5)))
    (_, used), options = searched["one"]
    assert (found, like, used, engine.prisms) == ("found", None, maps, "as drawn")
    assert [one.id for one in cleared.beds] == ["stands"]
    assert new_bed.count == options["count"] == 3
    assert (options["length"], options["width"]) == (site.place.length, site.place.width)
    assert (options["like"], options["months"], options["shape"], options["ways"]) == (None, (4, 5), None, "grid")
    assert "maps" not in searched
    assert "without" not in searched
    placed(site, maps, NewBed(length=3.0, width=0.9))
    assert (searched["one"][1]["length"], searched["one"][1]["width"]) == (3.0, 0.9)


def test_a_proposed_bed_is_searched_for_without_itself(tiny_yard, searched):
    site = replace(tiny_yard, beds=(bed("first", proposed=True), bed("stands"), bed("second", proposed=True)))
    cleared, _, like, engine, _ = placed(site, SimpleNamespace(grid="grid"), NewBed(width=0.9))
    assert like.id == "first"
    assert [one.id for one in cleared.beds] == engine.prisms == ["stands"]
    assert searched["without"][0][3] == {"first", "second"}
    options = searched["one"][1]
    assert (options["length"], options["width"], options["ways"]) == (pytest.approx(2.4), 0.9, "grid without")
    assert options["like"].id == "first"
    placed(site, SimpleNamespace(grid="grid"), NewBed(sizes=[(2, 1)]))
    (_, _, sizes), options = searched["sizes"]
    assert sizes == [(2, 1)]
    assert "length" not in options


def test_without_maps_they_are_half_of_the_searchs_work(tiny_yard, searched):
    told = []
    placed(replace(tiny_yard, beds=()), None, NewBed(), told)
    assert searched["one"][1]["ways"] == "new grid"
    searched["maps"][1]["progress"](0.5)
    assert told == [("place", 0.25)]


@pytest.mark.parametrize(("ask", "bed_ids", "beds", "walls"), [
    (["sun"], None, ["a", "b"], None), (["fill"], {"b"}, ["b"], "walls"), (["sun", "haul"], {"a"}, ["a"], None),
    (["sun", "fill"], set(), [], "walls"),
])  # fmt: skip
def test_all_parts_come_together(tiny_yard, monkeypatch, ask, bed_ids, beds, walls):
    monkeypatch.setenv("SITEPLAN_CORES", "1")
    monkeypatch.setattr(answers, "_sun_and_places", lambda *given: ("maps", "light", given[1], "places", "sure"))
    for name in ("_fill_and_haul", "_fill_and_haul_beside_the_sun"):
        monkeypatch.setattr(answers, name, lambda *_, name=name: (name, "haul"))
    monkeypatch.setattr("siteplan.walls.walls_plan.plan_walls", lambda _: "walls")
    monkeypatch.setattr(answers, "_cautions", lambda _site, some, fill, haul: (len(some), fill, haul))
    site = replace(tiny_yard, beds=(bed("a"), bed("b")))
    question = Question(ask=frozenset(ask), bed_ids=None if bed_ids is None else frozenset(bed_ids), new_bed=NewBed())
    found = answers.answers(site, question)
    assert [one.id for one in found.beds] == beds
    fill = "_fill_and_haul_beside_the_sun" if len(ask) > 1 else "_fill_and_haul"
    assert (found.fill, found.haul, found.walls) == (fill, "haul", walls)
    assert (found.maps, found.light_maps, found.places, found.sure_map) == ("maps", "light", "places", "sure")
    assert found.cautions == (len(beds), fill, "haul")
