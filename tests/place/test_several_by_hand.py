"""Beds of several sizes: the order of the searches and what is made of them, each search stood in for."""

from __future__ import annotations

from dataclasses import dataclass, replace
from types import SimpleNamespace

import pytest
from shapely import box

from siteplan.land.features import Bed
from siteplan.place.search import several_sizes
from siteplan.place.search.several_sizes import _cached, _free_id, find_several, places_of_sizes


@dataclass(frozen=True)
class Spot:
    """A place with its merit."""

    merit: float
    outline: object
    rank: int = 1


@dataclass(frozen=True)
class Choice:
    """A row of the trade-off."""

    name: str
    first: bool
    rank: int = 1


@dataclass(frozen=True)
class Answer:
    """What one search finds."""

    places: tuple
    trade_off: tuple = ()
    scanned: int = 10
    free: int = 5
    computed: int = 2
    gap: float = 0.5
    search_gap: float = 0.0
    findings: tuple = ()


@pytest.fixture
def searches(monkeypatch):
    """Return a list of the searches done; `merits` holds the merit by size and number of beds, None without a place."""
    done = SimpleNamespace(asked=[], merits={}, gaps={})

    def find(site, maps, *, length, width, count, exact, ignore=None, **options):
        done.asked.append((length, width, count, [bed.id for bed in site.beds], ignore, options, exact))
        merit = done.merits.get((length, width, len(site.beds)), 0.5)
        spot = () if merit is None else (Spot(merit, box(0, 0, length, width)),)
        rows = (Choice(f"{length:g} x {width:g}", first=True), Choice("other", first=False, rank=3)) if spot else ()
        return Answer(spot, rows, search_gap=done.gaps.get((length, width), 0.0))

    monkeypatch.setattr(several_sizes, "find_places", find)
    return done


def test_the_largest_is_sought_first_and_of_equal_ones_the_first(tiny_yard, searches):
    site = replace(tiny_yard, beds=(Bed(id="old", outline=box(8, 8, 9, 9), height=0.3, proposed=True),))
    sizes = [(1.0, 1.0), (3.0, 1.0), (2.0, 1.5), (1.0, 3.0)]
    searches.merits[2.0, 1.5, 2] = None
    found = find_several(site, "maps", sizes, months=(4,))
    assert [(one[0], one[1]) for one in searches.asked] == [(3.0, 1.0), (2.0, 1.5), (1.0, 3.0), (1.0, 1.0)]
    assert [one[3] for one in searches.asked] == [
        ["old"], ["old", "new bed 2"], ["old", "new bed 2"], ["old", "new bed 2", "new bed 4"],
    ]  # fmt: skip
    assert all(one[2:3] + one[4:6] == (1, {"old"}, {"months": (4,)}) for one in searches.asked)
    assert [len(answer.places) for answer in found] == [1, 1, 0, 1]
    assert [answer.places[0].outline.bounds[2:] for answer in found if answer.places] == [
        (1.0, 1.0), (3.0, 1.0), (1.0, 3.0),
    ]  # fmt: skip
    searches.asked.clear()
    find_several(site, "maps", sizes[:1], ignore=["x"])
    assert searches.asked[0][4] == {"x"}


def test_the_gap_is_the_mean_of_what_each_loses_against_its_best(tiny_yard, searches):
    # 2.5 x 1 is longer, 2 x 1.5 larger. The small ones would have 0.85 each alone and get 0.80 and 0.60
    site = replace(tiny_yard, beds=())
    searches.merits |= {(2.0, 1.5, 0): 0.9, (2.5, 1.0, 1): 0.80, (2.5, 1.0, 2): 0.60, (2.5, 1.0, 0): 0.85}
    searches.gaps |= {(2.0, 1.5): 0.01, (2.5, 1.0): 0.02}
    found = places_of_sizes(site, "maps", [(2.5, 1.0), (2.5, 1.0), (2.0, 1.5)])
    assert found.gap == pytest.approx((0.05 + 0.25 + 0.0) / 3)
    assert [(one[0], one[2], len(one[3])) for one in searches.asked] == [
        (2.0, 1, 0),
        (2.5, 1, 1),
        (2.5, 1, 2),
        (2.5, 1, 0),
    ]
    assert [(place.merit, place.rank) for place in found.places] == [(0.80, 1), (0.60, 2), (0.9, 3)]
    assert [(row.name, row.rank) for row in found.trade_off] == [("2 x 1.5", 3), ("other", 0)]
    assert (found.scanned, found.free, found.computed, found.search_gap) == (30, 15, 6, 0.02)


def test_a_bed_without_a_place_has_no_rank_and_loses_nothing(tiny_yard, searches):
    site = replace(tiny_yard, beds=())
    searches.merits |= {(9.0, 9.0, 0): None, (2.0, 1.0, 0): 0.7, (2.0, 1.0, 1): 0.6}
    found = places_of_sizes(site, "maps", [(9.0, 9.0), (2.0, 1.0), (2.0, 1.0)])
    assert [(place.merit, place.rank) for place in found.places] == [(0.7, 1), (0.6, 2)]
    assert found.gap == pytest.approx(0.05)
    assert found.trade_off == ()
    searches.merits[2.0, 1.0, 0] = None
    nothing = places_of_sizes(site, "maps", [(9.0, 9.0), (2.0, 1.0)])
    assert (nothing.places, nothing.gap) == ((), 0.0)


def test_of_two_equal_sizes_the_first_has_the_table(tiny_yard, searches):
    searches.merits |= {(2.0, 1.0, 0): 0.7, (2.0, 1.0, 1): 0.6}
    found = places_of_sizes(replace(tiny_yard, beds=()), "maps", [(2.0, 1.0), (2.0, 1.0)])
    assert [(row.name, row.rank) for row in found.trade_off] == [("2 x 1", 1), ("other", 0)]
    assert found.gap == pytest.approx(0.05)
    assert len(searches.asked) == 2


def test_the_sun_of_an_outline_is_computed_once(tiny_yard, searches):
    asked = []
    beds = [Bed(id=str(k), outline=box(0, 0, 1 + k % 2, 1), height=0.3) for k in range(4)]
    sun = _cached(lambda bed: asked.append(bed.id) or f"sun of {bed.id}")
    assert [sun(bed) for bed in beds] == ["sun of 0", "sun of 1", "sun of 0", "sun of 1"]
    assert asked == ["0", "1"]
    places_of_sizes(replace(tiny_yard, beds=()), "maps", [(2.0, 1.0)], exact=len)
    assert callable(searches.asked[-1][6])
    places_of_sizes(replace(tiny_yard, beds=()), "maps", [(2.0, 1.0)])
    assert searches.asked[-1][6] is None


def test_a_new_bed_has_a_name_of_its_own(tiny_yard):
    beds = tuple(Bed(id=name, outline=box(0, 0, 1, 1), height=0.3) for name in ("new bed 1", "new bed 1+"))
    site = replace(tiny_yard, beds=beds)
    assert _free_id(site, "new bed 1") == "new bed 1++"
    assert _free_id(site, "new bed 2") == "new bed 2"
