"""Which parts of an answer are worked out side by side, and what the last of them make of the rest."""

from __future__ import annotations

import contextlib
from dataclasses import dataclass, replace
from types import SimpleNamespace

import numpy as np
import pytest

from siteplan import answers
from siteplan.land.features import Bed
from siteplan.land.outline import rectangle
from siteplan.question import NewBed, Question

OUTLINE = rectangle(1, 3, length=2.4, width=1.4, heading=90)
SHELF = Bed(
    id="a", outline=OUTLINE, wall_thickness=0.05, tiers=(Bed.Tier(height=0.25), Bed.Tier(height=0.15, inset=0.3))
)


@pytest.fixture
def alone(monkeypatch):
    """Return a list of whether each part was worked out alone; all of it in this process."""
    seen = []

    @contextlib.contextmanager
    def beside(act, *, tell, alone):
        seen.append(alone)
        yield lambda: act(tell)

    monkeypatch.setattr(answers, "in_second_process", beside)
    return seen


def question(*ask, **more):
    return Question(ask=frozenset(ask), bed_ids=None, new_bed=NewBed(), **more)


@pytest.mark.parametrize(("ask", "expected"), [
    (("sun",), True), (("fill",), True), (("sun", "fill"), False), (("place", "haul"), False), (("fill", "haul"), True),
])  # fmt: skip
def test_fill_and_haul_are_planned_beside_the_sun(tiny_yard, monkeypatch, alone, ask, expected):
    told = []
    monkeypatch.setattr(
        answers,
        "_sun_and_places",
        lambda _site, _beds, _question, tell: tell("sun", 0.5) or (None, None, (), None, None),
    )
    for name in ("_fill_and_haul", "_fill_and_haul_beside_the_sun"):
        monkeypatch.setattr(answers, name, lambda _site, _ask, tell: tell("fill", 1.0) or (None, None))
    monkeypatch.setattr("siteplan.walls.walls_plan.plan_walls", lambda _: None)
    site = replace(tiny_yard, beds=())
    answers.answers(site, question(*ask), progress=lambda *step: told.append(step))
    assert alone == [expected]
    assert told == [("sun", 0.5), ("fill", 1.0)]
    answers.answers(site, question(*ask))  # nobody listens


@pytest.mark.parametrize(("ask", "expected", "turned"), [
    (("sun",), True, [False]), (("place",), True, []), (("sun", "place"), False, [False]),
    (("turn", "place"), False, [True]), (("turn",), True, [True]),
])  # fmt: skip
def test_light_and_beds_are_computed_beside_the_search_for_places(monkeypatch, alone, ask, expected, turned):
    told, turns = [], []
    for name, value in {
        "sun_engine": lambda _: "engine", "sun_maps": lambda *_, **__: "maps", "_places": lambda *_, **__: "places",
        "_bed_reports": lambda *_, turn, **__: turns.append(turn) or (), "with_doubts": lambda *_, **__: ((), "ranged"),
        "_lights": lambda *_: None, "light_maps": lambda *_: None,
    }.items():  # fmt: skip
        monkeypatch.setattr(answers, name, value)
    answers._sun_and_places(SimpleNamespace(), (), question(*ask), lambda *step: told.append(step))
    assert alone == [expected]
    assert turns == turned
    assert told == ([("place", 0.0), ("place", 1.0)] if "place" in ask else [])


@pytest.mark.parametrize(("ask", "first", "compiled"), [
    (["sun", "fill"], True, ["sums"]), (["place", "fill"], True, ["sums", "search"]),
    (["turn", "haul"], True, ["sums", "steps"]), (["place", "turn", "haul"], True, ["sums", "search", "steps"]),
    (["place", "turn", "haul"], False, []),
])  # fmt: skip
def test_what_is_needed_later_is_compiled_beside_the_sun_on_the_first_run(monkeypatch, ask, first, compiled):
    done = []
    monkeypatch.setattr(answers, "is_first_run", lambda: first)
    for name, part in (("hidden_sums", "sums"), ("search", "search"), ("steps", "steps")):
        monkeypatch.setattr(answers, f"compile_{name}", lambda part=part: done.append(part))
    monkeypatch.setattr(answers, "_fill_and_haul", lambda *_: ("fill", "haul"))
    assert answers._fill_and_haul_beside_the_sun("site", frozenset(ask), None) == ("fill", "haul")
    assert done == compiled


@pytest.mark.parametrize(
    ("bed", "tiers"), [(SHELF, [(1, "crops of 1"), (2, "crops of 2")]), (replace(SHELF, tiers=()), [])]
)
def test_each_tier_has_its_crops(tiny_yard, monkeypatch, bed, tiers):
    sun = SimpleNamespace(month_sun_h="sun", tiers=[SimpleNamespace(tier=k, month_sun_h=f"sun {k}") for k in (1, 2)])
    monkeypatch.setattr(answers, "bed_sun", lambda *_: sun)
    monkeypatch.setattr(answers, "bed_light", lambda _site, _bed, lights: f"light of {lights}")
    monkeypatch.setattr(answers, "_crops", lambda _site, _bed, _sun, tier="all": f"crops of {tier}")
    report = answers._bed_report(tiny_yard, bed, "engine", "lights")
    assert (report.bed, report.sun, report.crops, report.light) == (bed, sun, "crops of all", "light of lights")
    assert list(report.tier_crops) == tiers
    assert answers._bed_report(tiny_yard, bed, "engine", None).light is None


def test_a_bed_in_tiers_reaches_down_to_its_lowest_soil(tiny_yard):
    assert answers.bed_reach(replace(tiny_yard, terrain=None), SHELF)[:, 2] == pytest.approx([0.25] * 4)


@dataclass(frozen=True)
class Found:
    """A place, or the answer of a search."""

    places: tuple = ()
    rank: int = 0
    outline: object = None
    month_sun_h: object = None
    crops: object = None


@dataclass(frozen=True)
class Engine:
    """An engine with its obstacles."""

    prisms: object = "as drawn"


@pytest.mark.parametrize("proposed", [None, replace(SHELF, tiers=(), crops=("x",), id="like")])
def test_new_beds_shade_each_other_and_have_their_crops(tiny_yard, monkeypatch, proposed):
    other = rectangle(9, 3, length=2.4, width=1.4, heading=0)
    search = Found(
        places=(Found(rank=1, outline=OUTLINE, month_sun_h=1), Found(rank=2, outline=other, month_sun_h=2))
    )
    seen = {}

    def together(found, beds, beside, month_share):
        seen.update(beds=beds, share=month_share, sun=beside(beds[0], beds[1:]))
        return found

    monkeypatch.setattr("siteplan.place.search.mutual_shade.shaded_together", together)
    monkeypatch.setattr(answers, "obstacle_prisms", lambda site: [one.id for one in site.beds])
    monkeypatch.setattr(answers, "bed_sun", lambda _site, bed, engine: (bed.id, engine.prisms))
    monkeypatch.setattr(answers, "_crops", lambda _site, bed, sun: f"crops of {bed.id} with {sun}")
    site = replace(tiny_yard, beds=(replace(SHELF, id="old"),))
    found = answers._finished(site, search, proposed, Engine(), NewBed(months=(4, 5)))
    assert [(bed.id, bed.outline, bed.crops) for bed in seen["beds"]] == [
        ("place 1", OUTLINE, proposed.crops if proposed else ()), ("place 2", other, proposed.crops if proposed else ()),
    ]  # fmt: skip
    assert {bed.height for bed in seen["beds"]} == {proposed.height if proposed else site.place.height}
    assert seen["sun"] == ("place 1", ["old", "place 2"])
    assert np.flatnonzero(seen["share"]).tolist() == [3, 4]
    assert [place.crops for place in found.places] == ["crops of place 1 with 1", "crops of place 2 with 2"]
