"""Are outlines those of the cells, cut where a roof steps? By hand, on a grid of half metres away from the origin."""

from __future__ import annotations

import numpy as np
import pytest
from shapely import MultiPolygon, affinity, box

from siteplan.heights.buildings import _squared, find_outlines
from siteplan.land.grid import Grid

GRID = Grid(west=100.0, north=60.0, cell=0.5, rows=60, columns=80)


def roofs(*blocks):
    """Return heights in cells: each block a shape with its height, a later one over an earlier one."""
    height = np.full(GRID.shape, np.nan)
    for shape, tall in blocks:
        height[GRID.inside(shape)] = tall
    return height


def outlines(*blocks, drawn=()):
    cells = np.zeros(GRID.shape, dtype=bool)
    for shape in drawn:
        cells |= GRID.inside(shape)
    return find_outlines(roofs(*blocks), GRID, drawn=cells)


def test_a_house_is_where_its_cells_are():
    (house,) = outlines((box(105, 40, 115, 46), 6.0))
    assert house.symmetric_difference(box(105, 40, 115, 46)).area < 1e-9


def test_a_turned_house_is_a_rectangle_as_large():
    own = affinity.rotate(box(110, 40, 122, 48), 25)
    (house,) = outlines((own, 6.0))
    assert len(house.exterior.coords) == 5
    assert house.area == pytest.approx(own.area, rel=0.03)
    assert house.symmetric_difference(own).area < 0.06 * own.area


def test_an_angle_of_two_wings_stays_one():
    """It fills 0.51 of its rectangle, so that it is none; its walls waver by the cells."""
    own = box(105, 35, 120, 40) | box(105, 40, 110, 50)
    (house,) = outlines((own, 6.0))
    assert house.symmetric_difference(own).area < 1e-9
    turned = affinity.rotate(own, 20)
    (house,) = outlines((turned, 6.0))
    assert house.symmetric_difference(turned).area < 0.12 * own.area
    assert len(house.exterior.coords) < 12


@pytest.mark.parametrize(("cut", "is_rectangle"), [(3.0, True), (3.5, False)])
def test_what_nearly_fills_its_rectangle_is_one(cut, is_rectangle):
    """Of 60 m2 without a corner of 9 m2 are left 0.85, without one of 12.25 m2 0.796; four fifths are the bound."""
    own = box(105, 40, 115, 46).difference(box(115 - cut, 46 - cut, 115, 46))
    (house,) = outlines((own, 6.0))
    assert house.area == pytest.approx(own.area)  # the rectangle is as large
    assert (len(house.exterior.coords) == 5) == is_rectangle
    if is_rectangle:
        assert house.centroid.distance(box(105, 40, 115, 46).centroid) < 1e-6


@pytest.mark.parametrize(("lower", "count"), [(0.9, 1), (1.1, 2), (-0.9, 1), (-1.1, 2)])
def test_a_step_of_more_than_a_metre_parts_two(lower, count):
    found = outlines((box(105, 40, 115, 46), 6.0), (box(115, 40, 120, 46), 6.0 - lower))
    assert len(found) == count
    assert sum(one.area for one in found) == pytest.approx(90, rel=0.01)
    if count == 2:
        assert found[0].symmetric_difference(box(105, 40, 115, 46)).area < 0.5
        assert found[1].symmetric_difference(box(115, 40, 120, 46)).area < 0.5


def test_a_step_from_north_to_south_parts_two_as_well():
    found = outlines((box(105, 40, 115, 46), 6.0), (box(105, 46, 115, 50), 3.0))
    assert [round(one.area) for one in found] == [60, 40]


def test_the_wall_between_two_goes_to_the_nearest():
    """Cells within 2 m of a step go to one of the two; a platform 5 m wide, all of it steps, does not all."""
    stairs = [(box(115 + 0.5 * k, 40, 115.5 + 0.5 * k, 46), 6.0 + 1.5 * k) for k in range(12)]
    (house,) = outlines((box(105, 40, 115, 46), 6.0), *stairs)
    assert house.bounds[0] == pytest.approx(105, abs=0.01)
    assert house.bounds[2] == pytest.approx(116.5)  # three cells are nearer than 2 m, the fourth is as far


@pytest.mark.parametrize(("wide", "tall", "found"), [
    (2.0, 5.0, 0),  # 4 m2
    (2.5, 5.0, 1),  # 6.25 m2
    (4.0, 2.1, 0),
    (4.0, 2.3, 1),
])  # fmt: skip
def test_what_is_small_or_low_is_no_building(wide, tall, found):
    assert len(outlines((box(105, 40, 105 + wide, 40 + wide), tall))) == found


def test_a_hole_that_no_point_fell_into_is_closed():
    (house,) = outlines((box(105, 40, 115, 46), 6.0), (box(108, 42, 109, 43), np.nan))
    assert house.area == pytest.approx(60)
    assert not house.interiors


def test_what_is_drawn_is_not_found_again():
    house, shed = box(105, 40, 115, 46), box(125, 40, 130, 46)
    (left,) = outlines((house, 6.0), (shed, 3.0), drawn=[house.buffer(1)])
    assert left.symmetric_difference(shed).area < 1e-9
    assert outlines((house, 6.0), drawn=[box(100, 30, 140, 60)]) == []


def test_the_largest_comes_first():
    found = outlines((box(105, 40, 110, 46), 6.0), (box(118, 40, 135, 46), 3.0), (box(105, 50, 112, 56), 4.0))
    assert [round(one.area) for one in found] == [102, 42, 30]


def test_of_several_parts_the_largest_is_the_building():
    house, shed = box(105, 40, 115, 46), box(120, 40, 121, 41)
    for parts in ([house, shed], [shed, house]):
        assert _squared(MultiPolygon(parts)).symmetric_difference(house).area < 1e-9
    courtyard = house.difference(box(108, 42, 110, 44))
    assert not _squared(courtyard).interiors
