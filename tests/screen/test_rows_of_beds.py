"""How many beds fit in rows: counted by hand, and against every way to place them on a coarse grid."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from shapely import Polygon, affinity, box, union_all

from siteplan.place.search.rows_of_beds import beds_in_rows

BED = {"length": 2.4, "width": 1.2, "aisle": 0.6}


@pytest.mark.parametrize(
    ("ground", "count"),
    [
        (box(0, 0, 2.4, 1.2), 1),  # just one
        (box(0, 0, 2.39, 1.2), 0),  # and not quite; across, 1.2 is less than 2.4
        (box(0, 0, 5.4, 1.2), 2),  # 2.4 + 0.6 + 2.4
        (box(0, 0, 5.39, 1.2), 1),
        (box(0, 0, 5.4, 4.8), 6),  # three rows of 1.2 with aisles of 0.6 between: 3 * 1.2 + 2 * 0.6 = 4.8
        (box(0, 0, 1.2, 5.4), 2),  # the same turned
        (union_all([box(0, 0, 2.4, 1.2), box(9, 9, 11.4, 10.2)]), 2),  # two plots
        (box(0, 0, 8.4, 1.2).difference(box(2.4, 0, 6.0, 1.2)), 2),  # a path between
        (Polygon(), 0),
    ],
)
def test_beds_counted_by_hand(ground, count):
    assert beds_in_rows(ground, heading=90, **BED) == count


@pytest.mark.parametrize("heading", [0, 17, 45, 90, 133])
def test_turning_ground_and_beds_alike_changes_nothing(heading):
    ground = box(0, 0, 12, 9).difference(box(4, 3, 6, 5))
    turned = affinity.rotate(ground, 90 - heading, origin=(0, 0))
    assert beds_in_rows(turned, heading=heading, **BED) == beds_in_rows(ground, heading=90, **BED)


def test_no_other_rows_hold_more():
    """Against trying every set of rows: as many as any of them holds."""
    chance = np.random.default_rng(1)
    for _ in range(4):
        holes = [box(x, y, x + 1.5, y + 1.5) for x, y in chance.uniform(0, 6, size=(3, 2))]
        ground = box(0, 0, 8, 6).difference(union_all(holes))
        most = 0
        pitch = 1.2 + 0.6
        starts = np.arange(0, 6 - 1.2 + 1e-9, pitch / 8)  # steps of 0.225 m, as the search takes them
        held = [_in_row(ground, south) for south in starts]
        for rows in itertools.combinations(range(len(starts)), 2):
            if rows[1] - rows[0] >= 8:
                most = max(most, sum(held[row] for row in rows))
        assert beds_in_rows(ground, heading=90, **BED) >= most


def _in_row(ground, south):
    count, x = 0, 0.0
    while x <= 8 - 2.4 + 1e-9:
        if ground.buffer(0.001).contains(box(x, south, x + 2.4, south + 1.2)):
            count, x = count + 1, x + 3.0
        else:
            x += 0.25
    return count
