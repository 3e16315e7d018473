"""A bed that moves: which outlines it may have, what a newer version takes over, and how turning it is told."""

from __future__ import annotations

from dataclasses import dataclass, replace
from types import SimpleNamespace

import numpy as np
import pytest
from shapely import Polygon, box

from siteplan.draw import live_bed
from siteplan.draw.live_bed import LiveSite, heading_figures
from siteplan.land.errors import InputError
from siteplan.land.features import Bed, Building, MonthDay
from siteplan.land.frame import LocalFrame
from siteplan.land.site import Season
from tests.place.conftest import bare_yard

BED = Bed(id="bed", outline=box(2, 2, 4, 3), height=0.3)
SITE = bare_yard(beds=(BED,))


@dataclass(frozen=True)
class Engine:
    """Stands in for the sun engine: what is taken over is kept, the rest is new."""

    path: str = "old"
    prisms: object = None
    skyline: object = None
    terrain: object = None
    columns: object = None


def taken_over(new, *, engine=True):
    before, after = LiveSite("1", SITE), LiveSite("2", new)
    before._engine = Engine() if engine else None
    after.take_over(before)
    return after._engine


def test_the_path_of_the_sun_is_taken_over_where_it_is_the_same():
    shed = Building(id="shed", outline=box(6, 6, 8, 7), height=2.5)
    found = taken_over(replace(SITE, buildings=(shed,)))
    assert found.path == "old"
    assert {one.owner for one in found.prisms} == {"shed", "bed"}
    assert found.skyline is SITE.skyline
    assert found.terrain is SITE.terrain
    assert taken_over(SITE, engine=False) is None


@pytest.mark.parametrize("change", [
    {"frame": LocalFrame(longitude=8.0, latitude=45.1)}, {"sun": replace(SITE.sun, year=2027)}, {"timezone": "Europe/Paris"},
    {"season": Season(last_frost=MonthDay(4, 16), first_frost=MonthDay(10, 20))},
])  # fmt: skip
def test_nothing_is_taken_over_where_the_sun_may_go_otherwise(change):
    assert taken_over(replace(SITE, **change)) is None


def test_a_bed_at_another_spot():
    found = LiveSite("1", SITE).bed("bed", Polygon([(5, 5), (5, 6), (7, 6), (7, 5)]))
    assert found.outline.equals(box(5, 5, 7, 6))
    assert found.outline.exterior.is_ccw
    assert (found.id, found.height) == ("bed", 0.3)


@pytest.mark.parametrize(("name", "outline", "words"), [
    ("other", box(5, 5, 7, 6), "other: there is no such bed in the property as it is saved"),
    ("bed", Polygon(), "bed: its outline crosses itself, or holds no ground"),
    ("bed", Polygon([(5, 5), (7, 6), (7, 5), (5, 6)]), "bed: its outline crosses itself, or holds no ground"),
    ("bed", Polygon([(5, 5), (6, 5), (7, 5)]), "bed: its outline crosses itself, or holds no ground"),
    ("bed", box(20, 20, 22, 21), "bed: lies outside the boundary"),
])  # fmt: skip
def test_where_a_bed_cannot_be(name, outline, words):
    with pytest.raises(InputError, match=words):
        LiveSite("1", SITE).bed(name, outline)


def test_beds_that_are_proposed_are_made_ready_first(monkeypatch):
    new = replace(BED, id="new", proposed=True, outline=box(6, 2, 8, 3))
    live, done = LiveSite("1", replace(SITE, beds=(BED, new))), []
    monkeypatch.setattr(live, "at", lambda bed: done.append(bed.id))
    monkeypatch.setattr(live, "count_minutes", lambda name: done.append(f"ways of {name}"))
    live.warm(lambda: True)
    assert done == ["new", "ways of new", "bed", "ways of bed"]
    done.clear()
    live.warm(lambda: not done)
    assert done == ["new", "ways of new"]


def test_the_ways_to_a_bed_are_found_once(monkeypatch):
    from siteplan.haul import access_maps

    asked = []
    monkeypatch.setattr(
        access_maps, "minutes_field", lambda _, grid, **more: asked.append((grid.cell, more)) or "ways"
    )
    live = LiveSite("1", SITE)
    live.count_minutes("bed")
    live.count_minutes("bed")
    assert asked == [(0.5, {"sources": (), "without": ("bed",)})]
    assert live._minutes["bed"][1] == "ways"
    assert live._minutes["bed"][0].shape == (16, 20)


def test_the_engine_is_made_once(monkeypatch):
    made = []
    monkeypatch.setattr(live_bed, "sun_engine", lambda site: made.append(site) or object())
    live = LiveSite("1", SITE)
    assert live.engine is live.engine
    assert made == [SITE]


@pytest.mark.parametrize(("score", "told"), [(81.26, 81.3), (None, None), (0.0, 0.0)])
def test_turning_a_bed_as_the_page_shows_it(monkeypatch, score, told):
    monkeypatch.setattr(live_bed, "heading_sentence", lambda _: "Turn it.")
    found = SimpleNamespace(orientation_score=score, heading=np.array([0.0, 45.04, 92.26]), best=2, current=1)
    assert heading_figures(found) == {
        "orientation_score": told, "best_heading": 92.3, "heading": 45.0, "said": ["Turn it."],
    }  # fmt: skip
