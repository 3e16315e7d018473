"""What stands on a property: combinations that cannot be, and a bed's height and tiers, by hand."""

from __future__ import annotations

import math

import pytest
from shapely import Point, box

from siteplan.land.features import Bed, MonthDay, Tree

OUTLINE = box(0, 0, 4, 2)


@pytest.mark.parametrize(("month", "day", "words"), [
    (2, 29, ""), (2, 30, "February has no day 30"), (4, 30, ""), (4, 31, "April has no day 31"), (12, 31, ""),
])  # fmt: skip
def test_the_days_of_a_month(month, day, words):
    if words:
        with pytest.raises(ValueError, match=f"^{words}$"):
            MonthDay(month, day)
    else:
        assert MonthDay(month, day).day == day


@pytest.mark.parametrize(("month", "day", "year", "number"), [
    (1, 1, 2026, 1), (2, 1, 2026, 32), (2, 29, 2026, 59), (2, 29, 2028, 60), (3, 1, 2028, 61), (12, 31, 2026, 365), (12, 31, 2028, 366),
])  # fmt: skip
def test_the_number_of_a_day(month, day, year, number):
    assert MonthDay(month, day).day_of_year(year) == number


def tree(**given):
    return Tree(id="t", outline=Point(0, 0).buffer(2), trunk=Point(0, 0), height=8.0, **given)


def test_leaves_come_and_fall_on_two_days():
    day = MonthDay(5, 1)
    with pytest.raises(ValueError, match=r"leaf_out and leaf_fall are both .*; they must differ"):
        tree(crown_base=2.0, leaf_out=day, leaf_fall=day)
    assert tree(crown_base=2.0, leaf_out=day, leaf_fall=MonthDay(5, 2)).leaf_out == day
    assert tree(crown_base=2.0, leaf_out=None, leaf_fall=None).leaf_out is None


TIERS = (Bed.Tier(height=0.4), Bed.Tier(height=0.3, inset=0.5))


def test_the_height_of_a_bed_is_that_of_its_tiers():
    assert Bed(id="b", outline=OUTLINE, tiers=TIERS).height == pytest.approx(0.7)
    # a centimetre is what a tape tells
    assert Bed(id="b", outline=OUTLINE, tiers=TIERS, height=0.709).height == pytest.approx(0.7)
    for height in (0.711, 0.689):
        with pytest.raises(ValueError, match=rf"^height is {height} m, but its tiers are 0\.4 \+ 0\.3 m high; leave"):
            Bed(id="b", outline=OUTLINE, tiers=TIERS, height=height)
    for given in ({}, {"height": math.nan}):
        with pytest.raises(ValueError, match=r"^height is missing; measure it from the ground, or give tiers$"):
            Bed(id="b", outline=OUTLINE, **given)
    assert Bed(id="b", outline=OUTLINE, height=0.4).frames[0].top == 0.4


def test_a_bed_on_another_outline():
    """Insets are kept where they fit; an outline of a tier belongs to the old place."""
    other = box(10, 10, 13, 12)
    own = Bed.Tier(height=0.3, outline=box(1, 0, 2, 1))
    assert len(Bed(id="b", outline=OUTLINE, tiers=TIERS).on(other).frames) == 2
    assert len(Bed(id="b", outline=OUTLINE, tiers=TIERS).on(box(0, 0, 3, 1)).frames) == 1  # narrower than two insets
    for outline in (other, box(0, 0, 5, 3)):  # in the second it would find room
        moved = Bed(id="b", outline=OUTLINE, tiers=(TIERS[0], own)).on(outline)
        assert (moved.tiers, moved.outline, len(moved.frames)) == ((), outline, 1)
        assert moved.height == pytest.approx(0.7)
    bare = Bed(id="b", outline=OUTLINE, height=0.4).on(other)
    assert (bare.tiers, bare.outline, bare.height) == ((), other, 0.4)
