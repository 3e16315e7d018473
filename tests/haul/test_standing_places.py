"""Where the barrow stands beside a bed or a pile, counted by hand."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from shapely import Point, box

from siteplan.haul.ground.cost_field import cost_field
from siteplan.haul.ground.standing_places import at_pile, cells_beside, centres_of
from siteplan.land.features import Bed, Building, Pile
from siteplan.land.grid import Grid, grid_over


def test_middles_of_cells_are_told_as_x_and_y():
    middles = centres_of(Grid(10, 5, 1, 3, 4), np.array([[0, 3], [2, 0]]))
    assert middles.tolist() == [[13.5, 4.5], [10.5, 2.5]]


def test_a_barrow_stands_beside_a_bed_within_a_cell_and_a_half_of_its_reach(bare_yard):
    # reach 0.425 m: of cells of 10 cm those whose middles are 0.45 and 0.55 m off, and none at 0.65 m
    bed = Bed(id="bed", outline=box(-1, -1, 1, 1), height=0.4)
    site = dataclasses.replace(bare_yard, beds=(bed,))
    ground = cost_field(site, grid_over(site.boundary, 0.1))
    middles = centres_of(ground.grid, cells_beside(ground, bed))
    east = middles[(middles[:, 0] > 1) & (np.abs(middles[:, 1]) < 1)]
    assert sorted(set(np.round(east[:, 0] - 1, 6))) == [0.45, 0.55]
    assert len(east) == 2 * 20
    far = np.hypot(*(np.maximum(np.abs(middles) - 1, 0)).T)
    assert far.max() <= 0.575


@pytest.mark.parametrize(("away", "found"), [(1.12, True), (1.22, False)])
def test_a_pile_is_shovelled_from_a_metre_and_a_half(bare_yard, away, found):
    # beyond the east edge: the barrow's last column of cells has its middle 0.35 m inside of it
    ground = cost_field(bare_yard, grid_over(bare_yard.boundary, 0.1))
    cells = at_pile(ground, Pile(id="heap", shape=Point(6 + away, 0.05)))
    # 1.47 m to the nearest cell, and at most a quarter of a cell more to the two on either side of it
    east, north = centres_of(ground.grid, cells).T
    assert sorted(north) == pytest.approx([-0.15, -0.05, 0.05, 0.15, 0.25] if found else [])
    assert east == pytest.approx([5.65] * len(cells))


def test_on_a_small_pile_the_barrow_stands_on_its_own_cells(bare_yard):
    # 0.66 m wide: cells with their middles at 5, 15 and 25 cm to either side; the next, at 35 cm, are not on it
    ground = cost_field(bare_yard, grid_over(bare_yard.boundary, 0.1))
    cells = at_pile(ground, Pile(id="heap", shape=box(-0.33, -0.33, 0.33, 0.33)))
    assert len(cells) == 36


def test_behind_a_wall_there_is_nowhere_to_stand(bare_yard):
    shed = Building(id="shed", outline=box(-1, -1, 1, 1), height=3)
    ground = cost_field(dataclasses.replace(bare_yard, buildings=(shed,)), grid_over(bare_yard.boundary, 0.1))
    assert at_pile(ground, Pile(id="heap", shape=Point(0.8, 0))).shape == (0, 2)
