"""What must hold whatever stands there, of the lookup and of the exact rays alike."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Point, box

from siteplan.land.grid import Grid
from siteplan.land.terrain import Skyline, Terrain
from siteplan.sun.obstacles.prisms import Prism

POINTS = np.column_stack(
    [*(axis.ravel() for axis in np.meshgrid(np.linspace(-6, 6, 5), np.linspace(-6, 6, 5))), np.zeros(25)]
)
SAME = 2e-4  # h: single precision


def metres(low, high):
    """Sevenths of a metre, a little aside: no point lies on a wall's own line, where it is neither in nor out."""
    return st.integers(low * 7, high * 7).map(lambda n: n / 7 + 0.0137)


prisms = st.builds(
    lambda x, y, wide, deep, bottom, thick, light: Prism(
        outline=box(x, y, x + wide, y + deep), bottom=bottom, top=bottom + thick, owner="it", transmittance_leafy=light
    ),
    metres(-8, 8), metres(-8, 8), metres(0, 6), metres(0, 6), st.sampled_from([0.0, 1.0, 2.5]),
    metres(0, 8), st.sampled_from([0.0, 0.3, 0.8]),
)  # fmt: skip
crowns = st.builds(
    lambda x, y, radius, bottom, thick, light: Prism(
        outline=Point(x, y).buffer(radius, quad_segs=4), bottom=bottom, top=bottom + thick, owner="it", part="crown",
        transmittance_leafy=light, transmittance_bare=min(1.0, 2 * light + 0.2), leaf_out=105, leaf_fall=300,
    ),
    metres(-8, 8), metres(-8, 8), metres(1, 3), st.sampled_from([0.0, 1.0, 2.5]), metres(1, 8),
    st.sampled_from([0.0, 0.3]),
)  # fmt: skip
roofs = st.builds(
    lambda x, y, wide, eaves, pitch: Prism(  # the half of a gable that falls towards the west
        outline=box(x, y, x + wide, y + 4), bottom=0, top=eaves + pitch * wide, owner="it",
        top_plane=(pitch, 0.0, eaves - pitch * x),
    ),
    metres(-8, 8), metres(-8, 8), metres(1, 5), metres(1, 4), st.sampled_from([0.2, 1.0]),
)  # fmt: skip
solids = st.one_of(prisms, crowns, roofs)


def hours(engine_of, *standing):
    """Return hours by the lookup and by the exact rays, those of some days, shape (2, 12, points)."""
    looked = empty_engine(engine_of).hours(POINTS, extra=standing)
    return np.stack([looked.month_h, some_days(engine_of).exact_hours(POINTS, extra=standing).month_h])


def among(engine_of, clutter, *standing):
    """Return hours by the lookup where much else stands."""
    return cluttered_engine(engine_of, clutter).hours(POINTS, extra=standing).month_h


@cache
def empty_engine(engine_of):
    return engine_of()


@cache
def some_days(engine_of):
    """Return an engine of the solstices, the equinoxes, and days on which leaves come and go."""
    path = empty_engine(engine_of).path
    held = np.isin(path.day, [20, 80, 104, 105, 172, 266, 300, 301, 355])
    arrays = ("azimuth", "elevation", "hours", "time", "clock", "day", "month")
    return engine_of(path=replace(path, **{name: getattr(path, name)[held] for name in arrays}))


@cache
def cluttered_engine(engine_of, clutter):
    return engine_of(*clutter)


def raised(prism, more):
    plane = prism.top_plane
    return replace(
        prism, top=prism.top + more, top_plane=None if plane is None else (plane[0], plane[1], plane[2] + more)
    )


@settings(deadline=None, max_examples=20)
@given(prism=solids, more=st.floats(0, 5))
def test_raising_never_lights(engine_of, clutter, prism, more):
    assert (hours(engine_of, raised(prism, more)) <= hours(engine_of, prism) + SAME).all()
    assert (among(engine_of, clutter, raised(prism, more)) <= among(engine_of, clutter, prism) + SAME).all()


@settings(deadline=None, max_examples=20)
@given(prism=solids, margin=st.integers(0, 14))
def test_widening_never_lights(engine_of, clutter, prism, margin):
    wider = replace(prism, outline=prism.outline.buffer(margin / 7, join_style="mitre"))
    # the lookup answers at the middles of its bins, where the wider one hides all that the narrower does
    assert (hours(engine_of, wider) <= hours(engine_of, prism) + SAME).all()
    assert (among(engine_of, clutter, wider) <= among(engine_of, clutter, prism) + SAME).all()


@settings(deadline=None, max_examples=20)
@given(first=solids, second=solids)
def test_adding_never_lights(engine_of, clutter, first, second):
    another = replace(second, owner="other")
    assert (hours(engine_of, first, another) <= hours(engine_of, first) + SAME).all()
    assert (among(engine_of, clutter, first) <= among(engine_of, clutter) + SAME).all()


@settings(deadline=None, max_examples=20)
@given(prism=st.one_of(prisms, crowns), more=st.floats(0, 1))
def test_opening_a_crown_never_darkens(engine_of, clutter, prism, more):
    leafy, bare = (min(1.0, light + more) for light in (prism.transmittance_leafy, prism.transmittance_bare))
    opened = replace(prism, transmittance_leafy=leafy, transmittance_bare=bare)
    assert (hours(engine_of, opened) >= hours(engine_of, prism) - SAME).all()
    assert (among(engine_of, clutter, opened) >= among(engine_of, clutter, prism) - SAME).all()


hills = st.lists(
    st.tuples(metres(-20, 20), metres(-20, 20), st.floats(1, 12), st.floats(-3, 6)), min_size=1, max_size=4
)


@settings(deadline=None, max_examples=8)
@given(hills=hills, slope=st.floats(-0.3, 0.3), prism=solids)
def test_removing_the_ground_never_darkens(engine_of, hills, slope, prism):
    grid = Grid(west=-30, north=30, cell=1, rows=60, columns=60)
    x, y = np.meshgrid(grid.x, grid.y)
    ground = slope * x + sum(
        high * np.exp(-((x - east) ** 2 + (y - north) ** 2) / wide**2) for east, north, wide, high in hills
    )
    terrain = Terrain(grid, np.asarray(ground))
    points = POINTS.copy()
    points[:, 2] = terrain.height_at(points[:, 0], points[:, 1])
    for bare, name in ((empty_engine(engine_of), "hours"), (some_days(engine_of), "exact_hours")):
        on, off = (getattr(engine, name)(points, extra=[prism]) for engine in (replace(bare, terrain=terrain), bare))
        assert (off.month_h >= on.month_h - SAME).all()
        assert (off.season_h >= on.season_h - SAME).all()


@settings(deadline=None, max_examples=8)
@given(
    low=st.lists(st.floats(0, 30), min_size=4, max_size=4), more=st.lists(st.floats(0, 20), min_size=4, max_size=4)
)
def test_higher_hills_never_light(engine_of, low, more):
    bearing = np.array([0.0, 90.0, 180.0, 270.0])
    for bare, name in ((empty_engine(engine_of), "hours"), (some_days(engine_of), "exact_hours")):
        before, after = (
            getattr(replace(bare, skyline=Skyline(bearing, np.array(high))), name)(POINTS[:1]).month_h
            for high in (low, np.add(low, more))
        )
        assert (after <= before + SAME).all()


@settings(deadline=None, max_examples=8)
@given(prism=solids)
def test_all_lies_between_night_and_day(engine_of, prism, middle_path):
    lit = hours(engine_of, prism)
    assert (lit >= 0).all()
    assert (lit <= hours(engine_of) + SAME).all()


@settings(deadline=None, max_examples=8)
@given(standing=st.lists(solids, min_size=1, max_size=4))
def test_the_order_of_what_stands_does_not_matter(engine_of, standing):
    named = [replace(prism, owner=str(n)) for n, prism in enumerate(standing)]
    assert hours(engine_of, *named) == pytest.approx(hours(engine_of, *reversed(named)), abs=1e-3)
