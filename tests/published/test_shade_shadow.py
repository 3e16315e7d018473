"""Do single shadows agree with printed figures?"""

from __future__ import annotations

import numpy as np
import pytest
from pvlib.shading import projected_solar_zenith_angle
from shapely import Point, box

from siteplan.land.features import Tree
from siteplan.sun.engine import SunEngine
from siteplan.sun.obstacles import Prism
from siteplan.sun.path import SunPath
from siteplan.sun.shadow import profile_angle, shadow_length, shadow_tip


def sun_at(azimuth, elevation):
    """One hour of one sun, in January."""
    one = np.ones(1, dtype=np.int64)
    return SunPath(
        azimuth=np.array([float(azimuth)]), elevation=np.array([float(elevation)]), hours=np.ones(1),
        time=np.array([12.0]), clock=np.array([12.0]), day=one, month=one, day_month=one,
    )  # fmt: skip


def test_parts_of_a_shadow_on_a_plan():
    # a teaching page on solar layout (seen): 3 m, sun at 28 degrees in 142: 3.5 m west and 4.5 m north
    east, north = shadow_tip(3.0, 28.0, 142.0)
    assert -east == pytest.approx(3.5, abs=0.05)  # printed to a tenth
    assert north == pytest.approx(4.5, abs=0.06)  # 4.446, rounded twice on the page
    assert (-east, north) == pytest.approx((3.47, 4.45), abs=0.01)


def test_shadow_of_a_projection_under_a_high_sun():
    # a slide on building shade (seen): 2 ft under a sun of 75 degrees throw 0.5 ft
    assert shadow_length(2.0, 75.0) == pytest.approx(0.5, abs=0.05)


def test_shadow_of_a_post_by_geometry():
    assert shadow_length(2.0, 48.82) == pytest.approx(1.750, abs=0.005)
    assert shadow_tip(2.0, 48.82, 99.83) == pytest.approx((-1.724, 0.299), abs=0.005)


@pytest.mark.parametrize(("latitude", "ratio"), [(25, 1.13), (30, 1.35), (40, 2.00), (50, 3.36), (60, 8.70)])
def test_midwinter_noon_shadows(latitude, ratio):
    # elevation 66.56 - latitude: geometry
    assert shadow_length(1.0, 66.56 - latitude) == pytest.approx(ratio, abs=0.005)  # two decimals


def test_profile_angle_of_the_handbook():
    # ASHRAE Handbook: Fundamentals (formula from memory); value calculated
    assert profile_angle(30.0, 150.0, 180.0) == pytest.approx(33.69, abs=0.005)


def test_profile_angle_agrees_with_projected_zenith():
    # pvlib projects the zenith onto the plane square to an axis: Anderson and Mikofski (2020), NREL/TP-5K00-76626
    elevation = np.array([5.0, 30.0, 60.0, 85.0])
    azimuth = np.array([100.0, 170.0, 200.0, 259.0])
    projected = projected_solar_zenith_angle(90 - elevation, azimuth, axis_tilt=0, axis_azimuth=90)
    assert profile_angle(elevation, azimuth, 180.0) == pytest.approx(90 - projected, abs=1e-9)  # the same formula


@pytest.mark.parametrize("slope", [-0.2, 0.0, 0.3])
def test_shadow_on_sloping_ground_ends_where_the_exact_ray_does(slope):
    # L = H / (tan e + g): geometry, against our own ray test of a wall on a slope
    length = shadow_length(2.0, 35.0, ground_rise=slope)
    wall = Prism(outline=box(-5, -0.01, 5, 0), bottom=-5, top=2.0, owner="wall")
    engine = SunEngine(path=sun_at(180, 35), prisms=(wall,), season=np.ones(1, dtype=bool))
    reach = np.array([length - 0.001, length + 0.001])
    points = np.column_stack([np.zeros(2), reach, slope * reach])
    assert engine.exact_hours(points).month_h[0] == pytest.approx([0, 1])


def test_tree_defaults_lie_within_what_was_measured():
    # Heisler (1986), Urban Ecology 9:337-359 (seen): sugar maple in leaf takes 80 %, leafless nearly 40 %;
    # Gardner and Sydnor, J. Am. Soc. Hort. Sci. (seen): leafless honeylocust takes 21 %, leafy callery pear 75 %
    tree = Tree(id="a", outline=Point(0, 0).buffer(2), trunk=Point(0, 0), height=6, crown_base=2)
    assert tree.transmittance_leafy == pytest.approx(0.20)
    assert tree.transmittance_bare == pytest.approx(0.60)
    assert 0.03 <= tree.transmittance_leafy <= 0.45
    assert 0.40 <= tree.transmittance_bare <= 0.85


@pytest.mark.parametrize(("shade", "light"), [(21, 0.79), (75, 0.25), (80, 0.20)])
def test_a_crown_lets_through_what_its_shade_leaves(shade, light):
    crown = Prism(outline=box(-1, -2, 1, -1), bottom=0, top=9, owner="t", transmittance_leafy=1 - shade / 100)
    engine = SunEngine(path=sun_at(180, 30), prisms=(crown,), season=np.ones(1, dtype=bool))
    point = np.zeros((1, 3))
    assert engine.exact_hours(point).month_h[0, 0] == pytest.approx(light, abs=1e-12)
    assert engine.hours(point).month_h[0, 0] == pytest.approx(light, abs=1e-6)  # single precision
