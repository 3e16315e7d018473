"""How draws on coarse cells become a map of what is sure: by hand, without a lookup."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from shapely import Polygon, box

from siteplan.land.features import Bed, Building
from siteplan.land.grid import Grid
from siteplan.land.site import SunSettings
from siteplan.land.terrain import Terrain
from siteplan.sun.doubt.sure_map import CoarseGround, SureMap, _interpolator, coarse_ground, sure_map
from siteplan.sun.doubt.uncertain_scene import (
    Ledge,
    Spot,
    UncertainScene,
    _evenly_chosen,
    _with_counted_hours,
    mean_hours,
)
from siteplan.sun.engine import SunEngine
from siteplan.sun.sun_maps import SunMaps

COARSE = Grid(west=70, north=-16, cell=2, rows=2, columns=3)  # centres 1, 3, 5 m east and 3, 1 m north of (70, -20)
FINE = Grid(west=70, north=-16, cell=1, rows=4, columns=6)


def at(interpolate, values):
    return interpolate(np.array(values, dtype=float))


def test_between_coarse_cells_by_hand():
    every = _interpolator(CoarseGround(COARSE, np.ones((2, 3), dtype=bool), None), FINE)
    found = at(every, [0.0, 4.0, 8.0, 2.0, 6.0, 10.0])  # 2 higher a metre to the east, 1 higher a metre to the south
    # the outermost half cells are as their coarse cells: x = 0.5 as 1, x = 5.5 as 5
    assert found == pytest.approx(np.array([[0, 1, 3, 5, 7, 8], [0.5, 1.5, 3.5, 5.5, 7.5, 8.5],
                                            [1.5, 2.5, 4.5, 6.5, 8.5, 9.5], [2, 3, 5, 7, 9, 10]]))  # fmt: skip


def test_what_is_not_used_is_as_its_nearest():
    used = np.array([[True, True, False], [True, False, False]])
    found = at(_interpolator(CoarseGround(COARSE, used, None), FINE), [1.0, 3.0, 7.0])
    assert found[0].tolist() == pytest.approx([1, 1.5, 2.5, 3, 3, 3])
    assert found[3, 0] == 7.0
    none = _interpolator(CoarseGround(COARSE, np.zeros((2, 3), dtype=bool), None), FINE)
    assert (at(none, []) == 0).all()
    assert at(none, []).shape == (4, 6)


class Scene:
    """One figure that darkens all ground by its value."""

    given_values = np.array([1.0])

    def values_in_draws(self, shares):
        return shares

    def cell_hours(self, values):
        hours = np.full((13, 6), np.nan)
        hours[12] = 9.0 - values[0]
        return [[hours]]


def test_in_how_many_draws_it_is_enough():
    season = np.full((4, 6), 6.0)
    season[0, 0], season[1, 1], season[2, 2] = np.nan, 6.6, 5.0
    maps = SunMaps(FINE, np.zeros((12, 4, 6)), season)
    ground = CoarseGround(COARSE, np.ones((2, 3), dtype=bool), Scene())
    told = []
    found = sure_map(maps, ground, np.array([[0.5], [1.0], [1.5], [2.0]]), need=6.0, progress=told.append)
    # the sun is 0.5 h more, as given, and 0.5 and 1 h less
    assert (found.share[3, 3], found.share[1, 1], found.share[2, 2]) == (0.5, 0.75, 0.0)
    assert np.isnan(found.share[0, 0])
    assert (found.draws, found.need, found.grid) == (4, 6.0, FINE)
    assert told == [0.25, 0.5, 0.75, 1.0]
    assert sure_map(maps, ground, np.array([[0.5], [1.0]]), need=5.5).share[3, 3] == 1.0


@pytest.mark.parametrize(
    ("share", "verdict"), [(0.9, 1), (0.89, 0), (0.1, -1), (0.11, 0), (0.0, -1), (1.0, 1), (0.5, 0)]
)
def test_sure_is_nine_tenths(share, verdict):
    grid = Grid(west=0, north=1, cell=1, rows=1, columns=2)
    found = SureMap(grid, 6.0, 16, np.array([[share, np.nan]])).verdict()
    assert found[0, 0] == verdict
    assert np.isnan(found[0, 1])


def test_shares_of_the_ground():
    grid = Grid(west=0, north=1, cell=1, rows=1, columns=6)
    found = SureMap(grid, 6.0, 16, np.array([[0.95, 1.0, 0.05, 0.5, 0.9, np.nan]]))
    assert found.parts() == (0.6, 0.2, 0.2)
    assert SureMap(grid, 6.0, 16, np.full((1, 6), np.nan)).parts() is None


@pytest.mark.parametrize(("count", "chosen"), [(1, [0]), (5, [0, 1, 2, 3, 4]), (6, [0, 1, 2, 3, 4, 5]), (11, [0, 2, 4, 6, 8, 10]), (12, [1, 3, 5, 7, 9, 11]),
                                               (30, [2, 7, 12, 17, 22, 27])])  # fmt: skip
def test_six_cells_of_a_ledge_are_enough(count, chosen):
    cells = np.column_stack([np.arange(count), np.zeros((count, 2))]).astype(float)
    assert _evenly_chosen(cells)[:, 0].tolist() == chosen


def test_the_mean_of_ledges_and_months():
    ledges = tuple(Ledge(np.zeros((2, 3)), None, share) for share in (0.25, 0.75))
    spot = Spot("b", ledges, ())
    parts = [np.full((13, 2), 4.0), np.tile([6.0, 10.0], (13, 1))]
    assert mean_hours(spot, parts).tolist() == [0.25 * 4 + 0.75 * 8] * 13
    months = np.zeros(12)
    months[5], months[6] = 0.25, 0.75
    hours = np.zeros((13, 1))
    hours[5], hours[6], hours[12] = 4.0, 8.0, 1.0
    assert _with_counted_hours(spot, hours.copy())[12] == 1.0
    assert _with_counted_hours(Spot("b", ledges, (), months), hours)[12] == 7.0


def test_draws_without_figures_have_no_values():
    scene = UncertainScene(SimpleNamespace(), SimpleNamespace(), (), ())
    assert scene.values_in_draws(np.empty((4, 0))).shape == (4, 0)
    assert scene.given_values.shape == (0,)


@pytest.fixture(scope="module")
def lot(tiny_yard):
    nothing = dict.fromkeys(("buildings", "trees", "hedges", "fences", "gates", "beds", "surfaces"), ())
    return replace(tiny_yard, **nothing, terrain=None, boundary=box(0, 0, 6, 3))


def ground_of(site):
    return coarse_ground(site, SunEngine(path=None, prisms=(), season=None))


@pytest.mark.parametrize(("boundary", "cell", "coarse"), [
    (box(0, 0, 6, 3), 0.25, 1.5), (box(0, 0, 6, 3), 2.0, 2.0),
    (box(0, 0, 60, 75), 0.25, 1.5), (box(0, 0, 60, 80), 0.25, 1.549193),  # 4,500 m2 are 2,000 cells; the root of 2.4
])  # fmt: skip
def test_how_large_a_coarse_cell_is(lot, boundary, cell, coarse):
    found = ground_of(replace(lot, boundary=boundary, sun=SunSettings(year=2026, cell=cell)))
    assert found.grid.cell == pytest.approx(coarse)


def test_which_coarse_cells_are_looked_up(lot):
    """Four by two; a house takes the western four, a roof on posts none; where the ground is not known, none is."""
    house, roof = (
        Building(id="h", outline=box(0, 0, 3, 3), height=4.0),
        Building(id="r", outline=box(3, 0, 6, 3), height=4.0, base=3.0),
    )
    bed = Bed(id="b", outline=box(4, 1, 5, 2), height=0.4)
    height = np.array([[50.0, 51.0, 52.0, np.nan], [60.0, 61.0, 62.0, 63.0]])
    hill = Terrain(Grid(west=0, north=3, cell=1.5, rows=2, columns=4), height)
    found = ground_of(replace(lot, buildings=(house, roof), beds=(bed,), terrain=hill))
    assert found.used.tolist() == [[False, False, True, False], [False, False, True, True]]
    (spot,) = found.scene.spots
    (ledge,) = spot.ledges
    assert ledge.cells.tolist() == [[3.75, 2.25, 52.0], [3.75, 0.75, 62.0], [5.25, 0.75, 63.0]]
    assert (spot.name, spot.without, ledge.share) == ("ground", ("b",), 1.0)
    level = ground_of(replace(lot, buildings=(roof,)))
    assert level.used.all()
    assert (level.scene.spots[0].ledges[0].cells[:, 2] == 0).all()


def test_coarse_cells_reach_a_cell_beyond_the_boundary(lot):
    """Of a triangle: middles up to 1.5 m off its long side, x + y up to 30 m and 1.5 times the root of 2."""
    found = ground_of(replace(lot, boundary=Polygon([(0, 0), (30, 0), (0, 30)])))
    x, y = np.meshgrid(found.grid.x, found.grid.y)
    assert found.grid.cell == 1.5
    assert np.array_equal(found.used, x + y < 32.12)
