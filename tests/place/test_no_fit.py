"""What forbids the ground, and what is told where nothing fits: by hand, without a search."""

from __future__ import annotations

import numpy as np
import pytest
from shapely import box

from siteplan.land.grid import Grid
from siteplan.place.limits.limits import Limit
from siteplan.place.search.footprint_scan import Scan
from siteplan.place.search.no_fit import NO_WAY, RuledOut, _smaller, nothing_fits, ruled_out

GRID = Grid(west=0, north=4, cell=1, rows=4, columns=5)


def limit(kind, feature, shape):
    return Limit(kind=kind, feature=feature, ground=shape, bare=shape, grid=GRID)


def scan_of(scanned, blocked, alone):
    nothing = {name: np.array([]) for name in ("row", "column", "heading", "mean", "worst", "minutes", "headings")}
    return Scan(**nothing, scanned=scanned, blocked=np.array(blocked), alone=np.array(alone))


INSIDE = np.ones((4, 5), dtype=bool)
INSIDE[:, 4] = False  # 16 cells are the property
LIMITS = (
    limit("building", "small", box(0, 0, 1, 1)), limit("building", "large", box(0, 2, 5, 4)),
    limit("tap", "t", box(0, 2, 1, 3)), limit("building", "outside", box(4, 0, 5, 4)),
)  # fmt: skip


def test_what_each_kind_forbids_by_hand():
    reach = np.ones((4, 5), dtype=bool)
    reach[0, :2] = False
    kinds = ("building", "tap", NO_WAY)
    wall, tap, way = ruled_out(LIMITS, scan_of(40, [30, 4, 4], [10, 0, 1]), kinds, INSIDE, reach)
    assert (wall.kind, wall.share, wall.spots, wall.alone) == ("building", 9 / 16, 0.75, 0.25)
    assert wall.features == ("large", "small", "outside")  # by their cells on the property: 8, 1 and 0
    assert wall.largest is LIMITS[1]
    # as many spots: the one with more ground first
    assert (tap.kind, tap.share, tap.spots, tap.alone) == (NO_WAY, 2 / 16, 0.1, 0.025)
    assert (tap.largest, tap.features) == (None, ())
    assert (way.kind, way.share, way.features) == ("tap", 1 / 16, ("t",))


def test_of_equal_kinds_the_first_by_name():
    boundary = (limit("b", "", box(0, 0, 1, 1)), limit("a", "x", box(0, 0, 1, 1)))
    found = ruled_out(boundary, scan_of(0, [0, 0], [0, 0]), ("b", "a"), INSIDE, INSIDE)
    assert [(one.kind, one.features, one.spots) for one in found] == [("a", ("x",), 0), ("b", (), 0)]
    nowhere = np.zeros((4, 5), dtype=bool)
    assert {one.share for one in ruled_out(boundary, scan_of(0, [0, 0], [0, 0]), ("b", "a"), nowhere, nowhere)} == {0}


def part(kind, spots, alone):
    return RuledOut(kind=kind, largest=None, features=(), share=0.0, spots=spots, alone=alone)


WALL, TAP, GATE, NONE = (
    part("building", 0.8, 0.0),
    part("tap", 0.3, 0.2),
    part("gate", 0.1, 0.1),
    part("door", 0.0, 0.0),
)


@pytest.mark.parametrize(("parts", "codes"), [
    ((WALL, TAP, GATE), [("most-in-the-way", "building"), ("next-in-the-way", "tap"), ("would-open", "tap")]),
    ((WALL, NONE), [("most-in-the-way", "building"), ("no-single-change", None)]),
    ((NONE,), [("no-single-change", None)]),
    ((), []),
])  # fmt: skip
def test_what_is_told_where_nothing_fits(parts, codes):
    first, *told = nothing_fits(parts, length=2.0, width=1.0, fits=lambda length, width: False)  # noqa: ARG005
    assert (first.code, dict(first.figures)) == ("nothing-fits", {"length": 2.0, "width": 1.0})
    assert [(one.code, one.figures[0][1].kind if one.figures else None) for one in told] == codes


def test_smaller_beds_are_tried_the_largest_first():
    """Of 4 m by 1.2 m: also half as wide as one reaches across from one side, 0.61 m; then shorter."""
    sizes = [(3.0, 1.2), (4.0, 0.61), (2.0, 1.2), (3.0, 0.61), (2.0, 0.61)]
    assert _smaller(4.0, 1.2) == sizes
    assert _smaller(2.0, 0.5) == [(1.5, 0.5), (1.0, 0.5)]
    assert _smaller(1.0, 1.2) == [(1.2, 0.75), (1.0, 0.61), (1.2, 0.5), (0.75, 0.61), (0.61, 0.5)]
    asked = []

    def fits(length, width):
        asked.append((length, width))
        return length < 3.0

    *_, last = nothing_fits((), length=4.0, width=1.2, fits=fits)
    assert asked == sizes[:3]
    assert (last.code, dict(last.figures)) == ("smaller-fits", {"length": 2.0, "width": 1.2})
