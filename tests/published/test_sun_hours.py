"""Do hours of sun agree with closed forms and with the trade's classes?"""

from __future__ import annotations

import numpy as np
import pytest
from shapely import box

from siteplan.sun.bed_sun import light_class
from siteplan.sun.engine import SunEngine
from siteplan.sun.obstacles.prisms import Prism

from ..skies import declination_path


def engine_of(path, *prisms):
    return SunEngine(path=path, prisms=prisms, season=np.ones(len(path.day_month), dtype=bool))


@pytest.mark.parametrize(("declination", "hours"), [(23.44, 14.845), (0.0, 12.000), (-23.44, 9.155)])
def test_day_length_on_an_open_flat_site_at_40_north(declination, hours):
    # cos H = -tan(latitude) tan(declination): geometry
    path = declination_path(40.0, declination)
    lit = engine_of(path).hours(np.zeros((1, 3)))
    assert lit.month_h[0, 0] == pytest.approx(hours, abs=1e-3)  # three decimals are given
    assert engine_of(path).exact_hours(np.zeros((1, 3))).month_h[0, 0] == pytest.approx(hours, abs=1e-3)


def test_shadow_edge_of_a_long_wall_stands_still_at_the_equinox():
    # At the equinox the sun's path is a plane tilted to the equator's height: the shadow edge of a wall that runs east
    # and west stays at H tan(latitude) north of it all day, 0.839 H at 40 N. Geometry.
    height = 3.0
    wall = Prism(outline=box(-2000, -0.1, 2000, 0), bottom=0, top=height, owner="wall")
    engine = engine_of(declination_path(40.0, 0.0, day_length=11.8), wall)  # the last sun passes the wall's ends
    points = np.array([[0, 0.80 * height, 0], [0, 0.88 * height, 0]])
    looked, exact = engine.hours(points).month_h[0], engine.exact_hours(points).month_h[0]
    assert exact == pytest.approx([0.0, 11.8], abs=1e-9)
    assert looked == pytest.approx([0.0, 11.8], abs=0.05)  # two levels, a minute each
    edge = height * np.tan(np.radians(40))
    near = np.array([[0, 0.98 * edge, 0], [0, 1.02 * edge, 0]])
    # 2 % are 0.56 degrees of elevation at the edge, hardly more than the level in which the lookup blurs it: of this
    # edge, along which the sun runs all day, a fiftieth of the day is left within it
    assert engine.hours(near).month_h[0] == pytest.approx([0.0, 11.8], abs=11.8 / 50)
    near = np.array([[0, edge - 0.001, 0], [0, edge + 0.001, 0]])
    assert engine.exact_hours(near).month_h[0] == pytest.approx([0.0, 11.8], abs=1e-9)


def test_wall_in_the_southern_hemisphere_shades_the_south():
    wall = Prism(outline=box(-2000, 0, 2000, 0.1), bottom=0, top=3.0, owner="wall")
    engine = engine_of(declination_path(-40.0, 0.0, day_length=11.8), wall)
    lit = engine.hours(np.array([[0, -0.80 * 3, 0], [0, -0.88 * 3, 0]])).month_h[0]
    assert lit == pytest.approx([0.0, 11.8], abs=0.05)


def test_light_classes_of_the_extension_service():
    # Penn State Extension (seen second-hand); the lower end of each class is in it
    names = [light_class(hours) for hours in (6.0, 5.9, 4.0, 3.9, 2.0, 1.9, 0.0)]
    assert names == ["full sun", "part sun", "part sun", "part shade", "part shade", "shade", "shade"]
