"""Cells of a surface, however they lie in the local frame."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from shapely import LineString, Point, box

from siteplan.land.features import Building, Fence, Surface
from siteplan.land.surface_model import SurfaceLayer, SurfaceModel, footprints


def turned(heading, *, east=40.0, north=-25.0, cell=0.5, shape=(30, 44)):
    """Return a layer of equal tops whose rows are turned about, its first cell somewhere east and north."""
    angle = np.radians(heading)
    across, down = np.array([np.cos(angle), np.sin(angle)]) / cell, np.array([np.sin(angle), -np.cos(angle)]) / cell
    corner = np.array([east, north])
    place = np.array([[*across, -across @ corner], [*down, -down @ corner]])
    return SurfaceLayer(tops=np.full(shape, 7.0, dtype=np.float32), place=place, cell=cell)


@pytest.mark.parametrize("east", [40.0, -60.0])
@pytest.mark.parametrize("heading", [0, 17, 90, 133, 180, 251, 310])
def test_the_cells_of_a_shape_are_those_whose_middles_lie_in_it(heading, east):
    layer = turned(heading, east=east)
    everywhere = layer.middles(slice(0, 30), slice(0, 44))
    middle = everywhere[0][14, 20], everywhere[1][14, 20]
    for shape in (Point(middle).buffer(2.2), box(middle[0] - 1, middle[1] - 3, middle[0] + 30, middle[1] + 0.7)):
        inside = shapely.intersects_xy(shape, *everywhere)
        (rows, columns), there = layer.part(shape)
        found = np.zeros_like(inside)
        found[rows, columns] = there
        assert inside.any()
        assert (found == inside).all()
        assert (np.isnan(layer.without([shape]).tops) == inside).all()


def strip(cell, count):
    """Return a layer of one row of columns from x = 0, with y from 0 to a cell."""
    place = np.array([[1 / cell, 0, 0], [0, -1 / cell, 1]])
    return SurfaceLayer(tops=np.full((1, count), 7.0, dtype=np.float32), place=place, cell=cell)


def left_out(model, boundary, features=()):
    return [np.flatnonzero(np.isnan(layer.tops[0])).tolist() for layer in model.counted(boundary, features)]


@pytest.mark.parametrize(("begins", "near", "far"), [
    (0.0, 6, 3),  # middles up to 5.71 m, and in cells of 2 m up to 6.41 m
    (2.75, 8, 5), (2.85, 9, 5), (2.55, 8, 4), (2.6, 8, 5),  # 8.46 and 9.16 m, 8.56 m; 8.96 and 9.01 m
])  # fmt: skip
def test_no_cell_that_reaches_over_the_boundary_counts(begins, near, far):
    """A boundary 5 m to the east, and half a cell's diagonal, 0.71 of its side."""
    model = SurfaceModel((strip(1.0, 20), strip(2.0, 10)), "a.tif", begins=begins)
    assert left_out(model, box(0, -50, 5, 50)) == [[*range(near)], [*range(far)]]


def test_what_is_drawn_counts_once():
    """Cells up to their own side from a feature are its; within the boundary all others count if it is asked for."""
    layers = (strip(1.0, 20), strip(2.0, 10))
    house = Building(id="h", outline=box(12, -1, 13, 2), height=4.0)
    lawn = Surface(id="s", outline=box(1, -1, 4, 2), surface="grass")
    boundary = box(0, -50, 5, 50)
    drawn = left_out(SurfaceModel(layers, "a.tif", within=True), boundary, [lawn, house])
    assert drawn == [[11, 12, 13], [5, 6, 7]]  # middles at 11.5 to 13.5 m; at 11 to 15 m, on the edges too
    assert left_out(SurfaceModel(layers, "a.tif"), boundary, [house])[0] == [0, 1, 2, 3, 4, 5, 11, 12, 13]
    fence = Fence(id="f", line=LineString([(8, -1), (8, 2)]), height=1.5, thickness=0.2)
    assert left_out(SurfaceModel(layers, "a.tif", within=True), boundary, [fence])[0] == [7, 8]
    assert footprints([lawn, fence, house]) == [fence.footprint, house.outline]


def test_the_middles_of_cells():
    x, y = strip(2.0, 4).middles(slice(0, 1), slice(1, 3))
    assert (x.tolist(), y.tolist()) == ([[3.0, 5.0]], [[1.0, 1.0]])
    # turned a quarter: the first row runs north from (40, -25), and rows follow each other to the east
    x, y = turned(90).middles(slice(1, 3), slice(0, 2))
    assert x == pytest.approx(np.array([[40.75, 40.75], [41.25, 41.25]]))
    assert y == pytest.approx(np.array([[-24.75, -24.25], [-24.75, -24.25]]))
