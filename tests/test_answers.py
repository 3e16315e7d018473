"""Which parts of an answer are worked out for which questions: each part is stood in for."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from siteplan import answers, doubts
from siteplan.land.site import SunSettings
from siteplan.place.merit.merit import Weights
from siteplan.question import NewBed, Question


@pytest.fixture
def done(monkeypatch):
    """Return what is worked out, in order, all of it in this process."""
    monkeypatch.setenv("SITEPLAN_CORES", "1")
    done = []

    def stand_in(name, value):
        def act(*given, **_):
            done.append(name if name != "ranges" else f"ranges of {len(given[2])} beds")
            return (("ranged",) if given[2] else (), "ranged places") if name == "ranges" else value

        return act

    for name, part, value in (
        ("engine", "sun_engine", "engine"), ("maps", "sun_maps", "maps"), ("lights", "_lights", "lights"),
        ("light", "light_maps", "light"), ("reports", "_bed_reports", ("report",)), ("places", "_places", "places"),
        ("ranges", "with_doubts", None), ("sure", "sure_ground", "sure"),
    ):  # fmt: skip
        monkeypatch.setattr(answers, part, stand_in(name, value))
    return done


def asked(*ask, **more):
    question = Question(ask=frozenset(ask), bed_ids=None, new_bed=NewBed(), **more)
    return answers._sun_and_places(SimpleNamespace(), ("bed",), question, lambda *_: None)


@pytest.mark.parametrize(("ask", "more", "parts"), [
    (["sun"], {}, ["engine", "maps", "lights", "light", "reports", "ranges of 1 beds"]),
    (["sun"], {"sure": True}, ["engine", "maps", "lights", "light", "reports", "ranges of 1 beds", "sure"]),
    (["sun"], {"hours_alone": True}, ["engine", "maps", "reports"]),
    (["sun", "place"], {"hours_alone": True}, ["engine", "maps", "places", "reports"]),
    (["place"], {}, ["engine", "places", "ranges of 0 beds"]), (["place"], {"sure": True}, ["engine", "places", "ranges of 0 beds"]),
    (["turn"], {}, ["engine", "reports"]), (["fill", "haul"], {}, []),
    (["turn", "place"], {}, ["engine", "places", "reports", "ranges of 0 beds"]),
])  # fmt: skip
def test_each_question_has_its_parts(done, ask, more, parts):
    found = asked(*ask, **more)
    assert done == parts
    ranged = any(part.startswith("ranges") for part in parts)
    maps, light, reports, places, sure = found
    assert maps == ("maps" if "maps" in parts else None)
    assert light == ("light" if "light" in parts else None)
    assert sure == ("sure" if "sure" in parts else None)
    assert places == (
        ("ranged places" if ranged else "places") if "place" in ask else "ranged places" if ranged else None
    )
    assert reports == (("ranged",) if "sun" in ask and ranged else ("report",) if {"sun", "turn"} & {*ask} else ())


@pytest.fixture
def doubted(monkeypatch):
    """Return what was asked of the ranges, each of which is its spot's number."""
    seen = {}

    def stand_in(site, engine, spots, given, needs, *, progress):
        seen.update(spots=list(spots), given=given, needs=list(needs))
        return SimpleNamespace(figures=("one",)), "drawn", tuple(range(len(spots)))

    monkeypatch.setattr(doubts, "spot_of", lambda site, bed, **more: (bed, more))  # noqa: ARG005
    monkeypatch.setattr(doubts, "_spot_doubts", stand_in)
    monkeypatch.setattr(doubts, "month_share", lambda months, year: (months, year))
    monkeypatch.setattr(doubts, "first_stays", lambda places, drawn, start: (drawn, start))  # noqa: ARG005
    return seen


def report(drawn_bed, hours):
    from siteplan.records import BedReport

    sun = SimpleNamespace(month_sun_h=np.full(12, hours), season_sun_h=hours + 1, tiers=())
    return BedReport(bed=drawn_bed, sun=sun)


def places(found, bed, **more):
    from siteplan.place.search.search_results import Place, PlaceResult

    rows = tuple(
        Place(
            rank=n, outline=bed.outline, x=0.0, y=0.0, heading=0.0, length=2.4, width=1.2, season_sun_h=7.0, worst_cell_sun_h=6.0,
            sun_h=6.5, merit=0.5, exact=True, minutes=1.0, trips=1, water_m=1.0, door_m=1.0, month_sun_h=months, levelling=None,
            where=None,
        )
        for n, months in enumerate(found, 1)
    )  # fmt: skip
    blank = np.zeros((1, 1))
    return PlaceResult(
        places=rows, limits=(), ruled_out=(), grid=None, merit_map=blank, heading_map=blank, scanned=1, free=1, computed=1, gap=0.0,
        search_gap=0.0, bed=bed, weights=Weights(), need=5.0, plenty=8.0, loads_from=(), southern=False, walked=False,
        door_walked=False, hose=1.0, trade_off=(), sensitivity=None, findings=(), months=(4, 5), **more,
    )  # fmt: skip


def test_beds_come_first_and_then_places_each_with_its_need(tiny_yard, doubted):
    first, second = tiny_yard.beds
    beds = (report(first, 3.0), report(replace(second, need=4.5), 4.0))
    site = replace(tiny_yard, sun=SunSettings(year=2026, need=6.5))
    told, found = doubts.with_doubts(site, "engine", beds, places([np.full(12, 2.0)] * 2, first))
    assert [one.doubt for one in told] == [0, 1]
    assert [one.doubt for one in found.places] == [2, 3]
    assert doubted["needs"] == [6.5, 4.5, 5.0, 5.0]
    assert doubted["given"].tolist() == [
        [3.0] * 12 + [4.0],
        [4.0] * 12 + [5.0],
        [2.0] * 12 + [7.0],
        [2.0] * 12 + [7.0],
    ]
    assert [more for _, more in doubted["spots"]] == [{}, {}] + [
        {"without": ["new bed"], "month_share": ((4, 5), 2026)}
    ] * 2
    assert (found.first_stays, found.draws) == (("drawn", 2), 32)


def test_what_has_no_range(tiny_yard, doubted):
    bed = tiny_yard.beds[0]
    few, many = (tuple(report(bed, 3.0) for _ in range(count)) for count in (12, 13))
    assert [one.doubt for one in doubts.with_doubts(tiny_yard, "engine", few, None)[0]] == list(range(12))
    assert doubts.with_doubts(tiny_yard, "engine", many, None) == (many, None)
    # places of which one was read off the map have none
    read = places([np.full(12, 2.0), None], bed)
    assert doubts.with_doubts(tiny_yard, "engine", (), read) == ((), read)
    told, found = doubts.with_doubts(tiny_yard, "engine", few[:1], read)
    assert (told[0].doubt, found) == (0, read)
    told, found = doubts.with_doubts(tiny_yard, "engine", many, places([np.full(12, 2.0)], bed))
    assert told == many
    assert [one.doubt for one in found.places] == [0]


def draws_of(*draws):
    """Return the draws of two places with two cells each, whose sun as given is 6 h."""
    return SimpleNamespace(
        cells=[[np.array(one) for one in draw] for draw in draws], cells_given=[np.full(2, 6.0), np.full(2, 6.0)]
    )


def test_in_how_many_draws_the_first_place_stays_the_best(tiny_yard):
    two = places([None, None], tiny_yard.beds[0])
    first, second = two.places
    two = replace(two, places=(replace(first, merit=0.6), replace(second, merit=0.5)))
    # merits differ by 0.1: 0.8 h of 8 h
    told = draws_of(
        [[6.0, 6.0], [6.7, 6.7]],
        [[6.0, 6.0], [6.9, 6.9]],
        [[5.0, 5.0], [6.0, 6.0]],
        [[9.0, 9.0], [9.9, 9.9]],
        [[6.0, 6.0], [6.0, 6.0]],
    )
    assert doubts.first_stays(two, told, 0) == 3  # beyond plenty more adds nothing
    assert doubts.first_stays(replace(two, places=two.places[:1]), told, 0) is None
    other = replace(two, places=(two.places[0], replace(two.places[1], length=2.0)))
    assert doubts.first_stays(other, told, 0) is None


def test_draws_are_even_and_seeded():
    assert (doubts.DRAWS, doubts.GROUND_DRAWS, doubts.MOST_BEDS, doubts.SEED) == (32, 16, 12, 1)
    assert doubts.seeded_draws(0).shape == (32, 0)
    points = doubts.seeded_draws(2, draws=16)
    assert points.shape == (16, 2)
    assert (np.sort(points, axis=0) // (1 / 16) == np.arange(16.0)[:, None]).all()
    assert (points == doubts.seeded_draws(2, draws=16)).all()
