"""Do the maps, the live figures and a search see the columns of a surface, and those of now?"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely import Point, box

from siteplan.draw.live_bed import LiveSite
from siteplan.land.features import Building, Tree
from siteplan.land.surface_model import SurfaceLayer, SurfaceModel
from siteplan.sun.engine import sun_engine
from siteplan.sun.lookup.surface_horizon import DARK, surface_slopes
from siteplan.sun.obstacles.surface_columns import surface_columns
from siteplan.sun.sun_maps import maps_after, sun_maps


@pytest.fixture(scope="module")
def walled(tiny_yard):
    """Return the tiny yard with a wall of the surface 5 m high, from 8 to 10 m south of its middle."""
    tops = np.full((60, 60), np.nan, dtype=np.float32)
    tops[46:50, 10:50] = 5.0
    layer = SurfaceLayer(tops, np.array([[2.0, 0, 30], [0, -2.0, 30]]), 0.5)
    quick = replace(tiny_yard.sun, cell=1.0, step=0.5)
    return replace(tiny_yard, sun=quick, surface_model=SurfaceModel((layer,), "tops.tif"))


def test_the_wall_hides_the_sun(walled):
    engine = sun_engine(walled)
    points = np.array([[4.5, -2.9, 0.0], [4.5, 1, 0], [4.5, -2.9, 6]])
    slopes = engine.ground_slopes(points, np.array([180.0, 0.0]))
    assert slopes == pytest.approx(np.array([[5 / 5.1, 0], [5 / 9, 0], [0, 0]]), rel=1e-6)
    bare = replace(engine, columns=())
    assert (bare.hours(points[:2]).month_h[10] > engine.hours(points[:2]).month_h[10] + 0.5).all()


def test_within_a_column_it_is_dark(walled):
    (column,) = surface_columns(walled)
    slopes = surface_slopes(np.array([[0.1, -9.0, 1.0], [0.1, -9.0, 5.0]]), [column], np.array([10.0, 200.0]))
    assert slopes[0].tolist() == [DARK, DARK]
    assert slopes[1].tolist() == [0, 0]  # on top of it


def test_a_drawn_house_takes_the_place_of_its_columns(walled):
    house = Building(id="annex", outline=box(-10, -10, 0, -8), height=3.0)
    (before,), (after,) = surface_columns(walled), surface_columns(replace(walled, buildings=(house,)))
    gone = np.isfinite(before.tops) & ~np.isfinite(after.tops)
    # cells from 10 to 20 west of the middle, the last of them half a metre past the house
    assert np.argwhere(gone)[:, 1].tolist() == 4 * list(range(10, 31))
    tree = Tree(id="ash", outline=Point(8, -9).buffer(1.5), trunk=Point(8, -9), height=6.0, crown_base=1.0)
    (felled,) = sun_engine(replace(walled, trees=(*walled.trees, tree)), without=("ash",)).columns
    assert np.isfinite(felled.tops).sum() < np.isfinite(before.tops).sum()  # where it stood nothing does


def test_maps_are_swept_anew_where_a_surface_shades(walled):
    moved = replace(walled, buildings=(replace(walled.buildings[0], outline=box(-5, -8, 5, -6)),))
    before = walled, sun_engine(walled)
    engine = replace(before[1], prisms=sun_engine(moved).prisms, columns=surface_columns(moved))
    swept = maps_after(sun_maps(*before), before, (moved, engine))
    assert np.array_equal(swept.month_h, sun_maps(moved, engine).month_h, equal_nan=True)


def test_live_figures_follow_what_is_drawn(walled):
    house = Building(id="annex", outline=box(-10, -10, 10, -8), height=0.3)
    old, new = LiveSite("old", walled), LiveSite("new", replace(walled, buildings=(*walled.buildings, house)))
    assert np.isfinite(old.engine.columns[0].highest)
    new.take_over(old)
    assert not np.isfinite(new.engine.columns[0].highest)
