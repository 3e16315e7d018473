"""Cells of a surface, however they lie in the local frame."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from shapely import Point, box

from siteplan.land.surface_model import SurfaceLayer


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
