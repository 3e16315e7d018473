"""Limits of place against the standards that they come from."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from shapely import Point, box

from siteplan.files.drawing.feature_records import made_feature
from siteplan.files.drawing.naming import NamedFeature
from siteplan.files.remarks import Remarks
from siteplan.land.grid import grid_over
from siteplan.land.root_protection import root_protection_area, root_protection_radius
from siteplan.land.terrain import Terrain
from siteplan.place.limits.limits import limits
from siteplan.place.merit.levelling import prismoidal_volume


# BS 5837:2012 clause 4.6 (seen second-hand): radius 12 stem diameters at 1.5 m, area capped at 707 m2 (15 m radius),
# several stems as the root of their summed squares; the values follow by arithmetic.
@pytest.mark.parametrize(
    ("stems", "radius", "area"),
    [([0.300], 3.60, 40.7), ([1.5], 15.0, 707), ([0.200, 0.250, 0.150], 4.24, math.pi * 4.2426**2)],
)
def test_root_protection_of_the_british_standard(stems, radius, area):
    oak = made_feature(
        NamedFeature("oak", "tree", {}, None), Point(0, 0),
        {"height": 9.0, "crown_diameter": 4.0, "crown_base": 2.0, "trunk_diameters": stems},
        southern=False, remarks=Remarks(),
    )  # fmt: skip
    found = root_protection_radius(oak.trunk_diameter)
    assert found == pytest.approx(radius, abs=0.01)  # a centimetre: diameters are taped to one
    assert math.pi * found**2 == pytest.approx(area, rel=2e-3)  # the standard prints three digits
    # a polygon of 128 corners inside the circle lacks 0.04 % of its area
    assert root_protection_area(oak).area == pytest.approx(math.pi * found**2, rel=5e-4)


def test_root_protection_of_two_american_towns():
    # Vancouver (Washington) municipal code 20.170.100, seen: one foot of radius for each inch of stem diameter.
    # Edina (Minnesota), city page, seen: one and a half.
    inch, foot = 0.0254, 0.3048
    assert root_protection_radius(10 * inch) == pytest.approx(10 * foot, rel=1e-12)  # exact by definition of the foot
    assert root_protection_radius(10 * inch, diameters=18) == pytest.approx(15 * foot, rel=1e-12)


@pytest.mark.parametrize(("slope", "route"), [(1 / 21, True), (1 / 19, False), (1 / 12, False)])
def test_slopes_of_the_accessibility_standard(tiny_yard, slope, route):
    # ADA Standards, section 403 (seen second-hand): to 1:20 a route, steeper a ramp. A bed that all can get at stands
    # where the ground is a route.
    grid = grid_over(box(-20, -20, 20, 20), 1.0)
    hill = Terrain(grid, slope * np.meshgrid(grid.x, grid.y)[1])
    site = replace(tiny_yard, terrain=hill, place=replace(tiny_yard.place, accessible=True, max_slope=0.15))
    steep = [limit for limit in limits(site, grid_over(site.boundary, 0.5)) if limit.kind == "slope"]
    assert bool(steep) is not route


def test_frustum_by_the_prismoidal_formula():
    # squares of 2 m and 4 m, 3 m apart: 28 m3 by V = h (A1 + A2 + sqrt(A1 A2)) / 3, where mean areas give 30
    exact = 3 * (4 + 16 + math.sqrt(4 * 16)) / 3
    assert prismoidal_volume(3, 4, 9, 16) == exact == 28.0
    assert exact < 3 * (4 + 16) / 2  # by the mean of its ends
