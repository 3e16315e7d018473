"""Limits of place against the standards that they come from."""

from __future__ import annotations

import math

import pytest
from shapely import Point

from siteplan.land.features import Tree
from siteplan.place.roots import combined_diameter, root_protection_area, root_protection_radius


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
