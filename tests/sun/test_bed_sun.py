"""Where the points on a turned bed lie, and how hours and shares are put together: by hand, without a lookup."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from shapely import Polygon, box

from siteplan.land.features import Bed
from siteplan.land.grid import Grid
from siteplan.land.outline import rectangle
from siteplan.land.site import SunSettings
from siteplan.land.terrain import Terrain
from siteplan.sun.bed_sun import _cells_on, _hours_of_sets, _middles, lit_share, sun_score, tier_cells
from siteplan.sun.engine import SunHours
from siteplan.sun.obstacles.prisms import Prism


@pytest.fixture(scope="module")
def lot(tiny_yard):
    nothing = dict.fromkeys(("buildings", "trees", "hedges", "fences", "gates", "beds", "surfaces"), ())
    return replace(tiny_yard, **nothing, terrain=None, sun=SunSettings(year=2026, cell=0.5))


@pytest.mark.parametrize(("heading", "along", "aside"), [
    (30.0, (0.5, 0.8660254), (0.8660254, -0.5)), (150.0, (0.5, -0.8660254), (-0.8660254, -0.5)),
])  # fmt: skip
def test_the_points_of_a_turned_bed(lot, heading, along, aside):
    """3 m by 1 m about (10, -4): two across its width, half a metre apart, and so six along it."""
    bed = Bed(id="b", outline=rectangle(10, -4, length=3, width=1, heading=heading), height=0.4, wall_thickness=0.0)
    hill = Terrain(Grid(west=0, north=10, cell=20, rows=1, columns=1), np.array([[70.0]]))
    ((tier, found),) = tier_cells(replace(lot, terrain=hill), bed, across=2)
    by_hand = np.array([
        (10 + u * along[0] + v * aside[0], -4 + u * along[1] + v * aside[1], 70.4)
        for v in (-0.25, 0.25) for u in (-1.25, -0.75, -0.25, 0.25, 0.75, 1.25)
    ])  # fmt: skip
    assert tier == 1
    assert found[np.lexsort(found.T)] == pytest.approx(by_hand[np.lexsort(by_hand.T)])


@pytest.mark.parametrize(("extent", "spacing", "middles"), [
    (1.0, 0.25, [-0.375, -0.125, 0.125, 0.375]), (1.0, 0.3, [-0.375, -0.125, 0.125, 0.375]),
    (0.9, 0.3, [-0.3, 0.0, 0.3]), (0.3, 2.0, [0.0]), (0.0, 0.5, [0.0]),
])  # fmt: skip
def test_the_middles_of_equal_parts(extent, spacing, middles):
    assert _middles(extent, spacing) == pytest.approx(middles)


def test_points_on_the_soil_or_one():
    x, y = np.array([0.5, 1.5, 2.5]), np.array([0.5, 0.5, 3.0])
    assert _cells_on(box(0, 0, 2, 1), x, y, 0.4).tolist() == [[0.5, 0.5, 0.4], [1.5, 0.5, 0.4]]
    assert _cells_on(box(8, 6, 10, 8), x, y, 0.4).tolist() == [[9.0, 7.0, 0.4]]


class Engine:
    """An engine that gives each point as many hours as it lies east, and half of them behind an obstacle."""

    def hours(self, points, *, without):
        self.left_out = without
        return SunHours(month_h=np.outer(np.arange(1, 13), points[:, 0]), season_h=points[:, 0].copy())

    def hours_of_each(self, sets):
        return [SunHours(month_h=np.outer(np.arange(1, 13), one.points[:, 0] / 2), season_h=one.points[:, 0] / 2)
                for one in sets]  # fmt: skip


def test_sets_of_points_come_back_in_their_order():
    wall = Prism(outline=box(0, 0, 1, 1), bottom=0, top=1, owner="w")

    def set_of(*east, extra=()):
        return np.array([[x, 0.0, 0.0] for x in east]), extra

    sets = [set_of(1, 2), set_of(8, extra=(wall,)), set_of(3, 4, 5), set_of(6, 10, extra=(wall,)), set_of(7)]
    engine = Engine()
    found = _hours_of_sets(engine, sets, without=("b",))
    assert [one.season_h.tolist() for one in found] == [[1, 2], [4], [3, 4, 5], [3, 5], [7]]
    assert [one.month_h[11].tolist() for one in found] == [[12, 24], [48], [36, 48, 60], [36, 60], [84]]
    assert engine.left_out == ("b",)
    assert [one.season_h.tolist() for one in _hours_of_sets(engine, sets[1:2], without=())] == [[4]]


def test_the_share_that_is_lit_by_the_half_hours_of_the_clock(lot):
    """In January of two days: a quarter of an hour at 12:06 and 12:24, half of it lit, all of it at 12:36; in June noon."""
    path = SimpleNamespace(
        hours=np.array([0.25, 0.25, 0.25, 0.5, 0.5]), clock=np.array([12.1, 12.4, 12.6, 23.99, 12.0]),
        month=np.array([1, 1, 1, 1, 6]), month_days=np.array([2, 0, 0, 0, 0, 1, 0, 0, 0, 0, 0, 0]),
    )  # fmt: skip
    light = np.array([0.5, 0.5, 1.0, 1.0, 1.2])
    engine = SimpleNamespace(path=path, mean_light=lambda cells, *, extra, without: light)  # noqa: ARG005
    share = lit_share(lot, Bed(id="b", outline=box(0, 0, 2, 1), height=0.4), engine)
    by_hand = np.zeros((12, 48))
    by_hand[0, 24], by_hand[0, 25], by_hand[0, 47], by_hand[5, 24] = 0.25, 0.25, 0.5, 1.0  # no more than all
    assert share == pytest.approx(by_hand)


def test_each_ledge_counts_by_its_share_of_the_soil(lot):
    """Of an upper frame of 1 m2 in 4 m2: a quarter and three quarters."""
    path = SimpleNamespace(
        hours=np.array([0.5]), clock=np.array([9.0]), month=np.array([3]), month_days=np.full(12, 1)
    )
    tiers = (Bed.Tier(height=0.3), Bed.Tier(height=0.2, inset=0.5))
    bed = Bed(id="b", outline=Polygon([(0, 0), (2, 0), (2, 2), (0, 2)]), wall_thickness=0.0, tiers=tiers)
    engine = SimpleNamespace(
        path=path,
        mean_light=lambda cells, *, extra, without: np.array([cells[0, 2]]),  # noqa: ARG005
    )
    assert lit_share(lot, bed, engine)[2, 18] == pytest.approx(0.75 * 0.3 + 0.25 * 0.5)


def test_two_frames_whose_walls_leave_no_soil_have_points_at_the_top(lot):
    tiers = (Bed.Tier(height=0.3), Bed.Tier(height=0.2))
    ((tier, found),) = tier_cells(lot, Bed(id="b", outline=box(0, 0, 2, 0.2), wall_thickness=0.1, tiers=tiers))
    assert tier == 2
    assert (found[:, 2] == 0.5).all()


def test_a_crop_that_wants_little_has_plenty_early():
    assert sun_score(np.array([0.25, 0.75]), plenty=0.5) == 75.0
