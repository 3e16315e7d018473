"""Do single shadows agree with printed figures?"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely import Point, box

from siteplan.land.features import Building
from siteplan.land.grid import Grid
from siteplan.land.terrain import Terrain
from siteplan.sun.engine import SunEngine
from siteplan.sun.obstacles.prisms import Prism, obstacle_prisms

from ..skies import sun_at


def lit(sun, points, *prisms, **more):
    """Return the share of the sun that reaches points, by the lookup and by the exact ray, shape (2, n)."""
    engine = SunEngine(path=sun, prisms=prisms, season=np.ones(1, dtype=bool), **more)
    return np.array([answer(np.array(points)).month_h[0] for answer in (engine.hours, engine.exact_hours)])


@pytest.mark.parametrize(
    ("height", "elevation", "azimuth", "tip"),
    [
        # a teaching page on solar layout (seen): 3 m, sun at 28 degrees in 142: 3.5 m west and 4.5 m north, of which
        # 4.446 was rounded twice
        (3.0, 28.0, 142.0, (-3.47, 4.45)),
        (2.0, 48.82, 99.83, (-1.724, 0.299)),  # geometry
        (2.0, 75.0, 180.0, (0.0, 0.536)),  # a slide on building shade (seen): 2 ft throw 0.5 ft; 0.536 by geometry
    ],
)
def test_the_engine_throws_the_shadow_of_a_post_as_far(height, elevation, azimuth, tip):
    post = Prism(outline=Point(0, 0).buffer(0.05), bottom=0, top=height, owner="post")
    reach = np.hypot(*tip)
    # the post's far side throws its shadow 5 cm farther, its near side hides 5 cm less of the way: 6 cm on either side;
    # the lookup's levels are half a degree, by which the edge moves by L / (sin e cos e) for each radian
    away = 0.06 + np.radians(0.6) * reach / np.sin(np.radians(elevation)) / np.cos(np.radians(elevation))
    within, beyond = (np.append(np.array(tip) * (reach + off) / reach, 0.0) for off in (-away, away))
    aside = np.array([-tip[1], tip[0], 0.0]) / reach * 0.15  # past the post, and past half a bin's width beside it
    got = lit(sun_at(azimuth, elevation), [within, beyond, within + aside, within - aside], post)
    assert got.tolist() == [[0, 1, 1, 1]] * 2
    exact = SunEngine(path=sun_at(azimuth, elevation), prisms=(post,), season=np.ones(1, dtype=bool)).exact_hours
    near, far = (np.append(np.array(tip) * (reach + off) / reach, 0.0) for off in (0.04, 0.06))
    assert exact(np.array([near, far])).month_h[0].tolist() == [0, 1]  # its round far side, and 1 cm of rounding


@pytest.mark.parametrize(("latitude", "ratio"), [(25, 1.13), (30, 1.35), (40, 2.00), (50, 3.36), (60, 8.70)])
def test_midwinter_noon_shadows(latitude, ratio):
    # elevation 66.56 - latitude: geometry; the shadow of a wall of 1 m ends so many metres north of it
    wall = Prism(outline=box(-90, -0.1, 90, 0), bottom=0, top=1.0, owner="wall")
    points = [[0, ratio - 0.006, 0], [0, ratio + 0.006, 0]]  # two decimals
    assert lit(sun_at(180, 66.56 - latitude), points, wall)[1].tolist() == [0, 1]


def test_the_edge_of_a_long_wall_stands_at_the_profile_angle():
    # Sun at 30 degrees, 30 degrees off a wall that faces south: tan P = tan 30 / cos 30 = 2 / 3, P = 33.69 degrees,
    # ASHRAE Handbook: Fundamentals (formula from memory); its edge is seen from H / tan P = 1.5 H behind it
    wall = Prism(outline=box(-500, -0.1, 500, 0), bottom=0, top=2.0, owner="wall")
    assert lit(sun_at(150, 30), [[0, 2.9995, 0], [0, 3.0005, 0]], wall)[1].tolist() == [0, 1]
    # 5 cm are 0.44 degrees of the profile angle: a level of the lookup
    assert lit(sun_at(150, 30), [[0, 2.95, 0], [0, 3.05, 0]], wall)[0] == pytest.approx([0, 1], abs=1e-6)


@pytest.mark.parametrize("azimuth", [180.0, 135.0, 90.0])
@pytest.mark.parametrize("slope", [-0.3, -0.1, 0.0, 0.2])
def test_shadow_of_a_house_on_a_hillside_ends_where_the_formula_says(tiny_yard, slope, azimuth):
    # L = H / (tan e + g), g the ground's rise along the shadow: geometry. A plane that rises by `slope` towards the
    # north, drawn as a terrain; the house stands on it, and its height counts from the ground at its middle.
    grid = Grid(west=-60, north=60, cell=1, rows=120, columns=120)
    hill = Terrain(grid, 100 + slope * np.repeat(grid.y[:, None], 120, axis=1))
    house = Building(id="h", outline=Point(0, 0).buffer(0.3, quad_segs=32), height=4.0)
    site = replace(tiny_yard, terrain=hill, buildings=(house,), trees=(), fences=(), gates=(), beds=())
    east, north = -np.sin(np.radians(azimuth)), -np.cos(np.radians(azimuth))  # the way of the shadow
    sun, ground_rise = sun_at(azimuth, 35), slope * north
    # the far edge of the round house lies 0.3 m along the way, where its flat top is 0.3 g lower above the ground
    length = 0.3 + (4.0 - 0.3 * ground_rise) / (np.tan(np.radians(35)) + ground_rise)
    # the lookup's level of half a degree, by which the edge moves by L / (cos2 e (tan e + g)) for each radian
    level = np.radians(0.5) * length / np.cos(np.radians(35)) ** 2 / (np.tan(np.radians(35)) + ground_rise)
    for method, off in ((1, 0.002), (0, level)):  # 2 mm: a circle of 128 sides
        away = np.array([length - off, length + off])
        points = np.column_stack([east * away, north * away, hill.height_at(east * away, north * away)])
        got = lit(sun, points, *obstacle_prisms(site), terrain=hill)
        assert got[method] == pytest.approx([0, 1], abs=1e-6)


@pytest.mark.parametrize("slope", [-0.2, 0.0, 0.3])
def test_shadow_on_sloping_ground_ends_where_the_exact_ray_does(slope):
    # L = H / (tan e + g): geometry, against our own ray test of a wall on a slope
    length = 2.0 / (np.tan(np.radians(35)) + slope)
    wall = Prism(outline=box(-5, -0.01, 5, 0), bottom=-5, top=2.0, owner="wall")
    engine = SunEngine(path=sun_at(180, 35), prisms=(wall,), season=np.ones(1, dtype=bool))
    reach = np.array([length - 0.001, length + 0.001])
    points = np.column_stack([np.zeros(2), reach, slope * reach])
    assert engine.exact_hours(points).month_h[0] == pytest.approx([0, 1])


@pytest.mark.parametrize(("shade", "light"), [(21, 0.79), (75, 0.25), (80, 0.20)])
def test_a_crown_lets_through_what_its_shade_leaves(shade, light):
    crown = Prism(outline=box(-1, -2, 1, -1), bottom=0, top=9, owner="t", transmittance_leafy=1 - shade / 100)
    engine = SunEngine(path=sun_at(180, 30), prisms=(crown,), season=np.ones(1, dtype=bool))
    point = np.zeros((1, 3))
    assert engine.exact_hours(point).month_h[0, 0] == pytest.approx(light, abs=1e-12)
    assert engine.hours(point).month_h[0, 0] == pytest.approx(light, abs=1e-6)  # single precision
