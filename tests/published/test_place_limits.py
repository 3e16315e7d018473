"""Limits of place against the standards that they come from."""

from __future__ import annotations

import math

import pytest
from shapely import Point

from siteplan.land.features import Tree
from siteplan.place.limits.root_protection import combined_diameter, root_protection_area, root_protection_radius
from siteplan.place.limits.walking_room import path_class, slope_angle
from siteplan.place.merit.levelling import end_area_volume, prismoidal_volume


# BS 5837:2012 clause 4.6 (seen second-hand): radius 12 stem diameters at 1.5 m, area capped at 707 m2 (15 m radius),
# several stems as the root of their summed squares; the values follow by arithmetic.
@pytest.mark.parametrize(
    ("stems", "radius", "area"),
    [([0.300], 3.60, 40.7), ([1.5], 15.0, 707), ([0.200, 0.250, 0.150], 4.24, math.pi * 4.2426**2)],
)
def test_root_protection_of_the_british_standard(stems, radius, area):
    found = root_protection_radius(combined_diameter(stems))
    assert found == pytest.approx(radius, abs=0.01)  # a centimetre: diameters are taped to one
    assert math.pi * found**2 == pytest.approx(area, rel=2e-3)  # the standard prints three digits
    tree = Tree(
        id="oak", outline=Point(0, 0).buffer(2), trunk=Point(0, 0), height=9, crown_base=2,
        trunk_diameter=combined_diameter(stems),
    )  # fmt: skip
    # a polygon of 128 corners inside the circle lacks 0.04 % of its area
    assert root_protection_area(tree).area == pytest.approx(math.pi * found**2, rel=5e-4)


def test_three_stems_as_one():
    # the same clause: 200, 250 and 150 mm count as 354 mm
    assert combined_diameter([0.200, 0.250, 0.150]) == pytest.approx(0.354, abs=5e-4)  # printed to the millimetre


def test_root_protection_of_two_american_towns():
    # Vancouver (Washington) municipal code 20.170.100, seen: one foot of radius for each inch of stem diameter.
    # Edina (Minnesota), city page, seen: one and a half.
    inch, foot = 0.0254, 0.3048
    assert root_protection_radius(10 * inch) == pytest.approx(10 * foot, rel=1e-12)  # exact by definition of the foot
    assert root_protection_radius(10 * inch, diameters=18) == pytest.approx(15 * foot, rel=1e-12)


# ADA Standards, sections 403 and 405 (seen second-hand): to 1:20 a route, steeper a ramp, over 1:12 neither.
# The angles are arithmetic; 8.3 in 100 is how 1:12 is usually written.
@pytest.mark.parametrize(
    ("slope", "angle", "kind"),
    [(8.3 / 100, 4.75, "ramp"), (1 / 20, 2.86, "route"), (1 / 12, 4.76, "ramp"), (1 / 8, 7.13, "too steep")],
)
def test_slopes_of_the_accessibility_standard(slope, angle, kind):
    assert slope_angle(slope) == pytest.approx(angle, abs=0.01)  # printed to a hundredth
    assert path_class(slope) == kind


def test_just_over_a_class_is_the_next():
    assert path_class(1 / 20 + 1e-6) == "ramp"
    assert path_class(1 / 12 + 1e-6) == "too steep"


def test_earthwork_problem_of_fundamentals_of_transportation():
    # Fundamentals of Transportation (open text), earthwork problem, seen: areas in m2 at stations in m, fill 4087.5 m3
    # and cut 1058.3 m3; its pyramids stand where a section starts or ends at zero
    fill = end_area_volume([0, 50, 75, 100, 115], [60, 50, 25, 5, 0])
    cut = end_area_volume([75, 100, 115, 150], [0, 10, 15, 30])
    assert fill == pytest.approx(4087.5, abs=0.1)  # printed to a tenth
    assert cut == pytest.approx(1058.3, abs=0.1)
    assert fill - cut == pytest.approx(3029.2, abs=0.1)


def test_frustum_by_the_prismoidal_formula():
    # squares of 2 m and 4 m, 3 m apart: 28 m3 by V = h (A1 + A2 + sqrt(A1 A2)) / 3, where mean areas give 30
    exact = 3 * (4 + 16 + math.sqrt(4 * 16)) / 3
    assert prismoidal_volume(3, 4, 9, 16) == exact == 28.0
    assert end_area_volume([0, 3], [4, 16]) == 30.0
