"""Does an independent ray caster find the same shadows over a raster of the surface?

trimesh with embreex (Intel Embree) over the boxes that the cells are, on a seeded raster that lies askew.
"""

from __future__ import annotations

import numpy as np
import pytest
import trimesh

from siteplan.land.surface_model import SurfaceLayer
from siteplan.sun.engine import SunEngine
from siteplan.sun.lookup.surface_horizon import surface_slopes
from siteplan.sun.obstacles.surface_columns import columns_of_layer
from siteplan.sun.path.solar_path import sun_path

FLOOR = -20.0  # m; where the boxes end below


def askew(turn=0.3, side=0.8, count=120):
    """Return houses and rough crowns around an open yard, on a raster that is turned against the local frame."""
    rng = np.random.default_rng(11)
    row, column = np.mgrid[:count, :count] + 0.5
    tops = np.full((count, count), np.nan)
    for _ in range(45):
        x, y = rng.uniform(0, count, 2)
        if np.hypot(x - count / 2, y - count / 2) < 16:
            continue
        if rng.random() < 0.5:
            there = (abs(column - x) < rng.uniform(3, 7)) & (abs(row - y) < rng.uniform(3, 7))
            tops[there] = rng.uniform(3, 9)
        else:
            there = np.hypot(column - x, row - y) < rng.uniform(2, 6)
            tops[there] = rng.uniform(4, 12) + rng.normal(0, 0.7, there.sum())
    cosine, sine = np.cos(turn) / side, np.sin(turn) / side
    place = np.array([[cosine, -sine, count / 2], [-sine, -cosine, count / 2]])
    return SurfaceLayer(tops=tops.astype(np.float32), place=place, cell=side)


def boxes(layer):
    """Return the cells that stand as a mesh of boxes, corner by corner through the layer's place."""
    rows, columns = np.nonzero(np.isfinite(layer.tops))
    corner = np.array([[0, 0], [1, 0], [1, 1], [0, 1]])
    index = np.column_stack([columns, rows])[:, None, :] + corner
    back = np.linalg.inv(layer.place[:, :2])
    xy = (index - layer.place[:, 2]) @ back.T
    top = layer.tops[rows, columns].astype(float)
    upper = np.concatenate([xy, np.repeat(top[:, None, None], 4, axis=1)], axis=2)
    lower = np.concatenate([xy, np.full((len(xy), 4, 1), FLOOR)], axis=2)
    corners = np.concatenate([upper, lower], axis=1).reshape(-1, 3)
    faces = np.array([[0, 1, 2], [0, 2, 3]] + [[a, b, c] for i in range(4) for j in [(i + 1) % 4]
                     for a, b, c in ((i, j, j + 4), (i, j + 4, i + 4))])  # fmt: skip
    return trimesh.Trimesh(corners, (8 * np.arange(len(rows))[:, None, None] + faces).reshape(-1, 3), process=False)


def seen(mesh, points, path, steps):
    """Return which suns reach which points past a mesh, shape (n, steps)."""
    up, bearing = np.radians(path.elevation[steps]), np.radians(path.azimuth[steps])
    suns = np.column_stack([np.cos(up) * np.sin(bearing), np.cos(up) * np.cos(bearing), np.sin(up)])
    met = mesh.ray.intersects_any(np.repeat(points, len(suns), axis=0), np.tile(suns, (len(points), 1)))
    return ~met.reshape(len(points), -1)


def test_the_exact_test_sees_what_the_ray_caster_sees():
    layer = askew()
    path = sun_path(45.0, 8.0, year=2026, timezone="Europe/Rome", step=0.5)
    rng = np.random.default_rng(5)
    points = np.column_stack([rng.uniform(-30, 30, (40, 2)), np.full(40, 0.013)])  # some of them within columns
    engine = SunEngine(path=path, prisms=(), season=np.ones(365, dtype=bool), columns=(columns_of_layer(layer),))
    some = np.isin(path.day, [1, 80, 172, 300]) & (path.elevation > 0.5)
    ours, theirs = engine.exact_light(points)[:, some] > 0.5, seen(boxes(layer), points, path, some)
    # the caster reckons in single precision: a ray within a hundredth of a millimetre of an edge may go either way
    assert (ours != theirs).mean() < 1e-3
    assert 0.1 < ours.mean() < 0.9


def test_the_lookup_keeps_to_the_exact_test():
    path = sun_path(45.0, 8.0, year=2026, timezone="Europe/Rome", step=1 / 6)
    engine = SunEngine(path=path, prisms=(), season=np.ones(365, dtype=bool), columns=(columns_of_layer(askew()),))
    rng = np.random.default_rng(6)
    points = np.column_stack([rng.uniform(-12, 12, (40, 2)), np.zeros(40)])
    off = engine.hours(points).month_h - engine.exact_hours(points).month_h
    # steps of ten minutes are cut off at edges: with steps of five both are half as large
    assert np.abs(off).mean() < 0.03, np.abs(off).mean()
    assert np.abs(off.mean(axis=1)).max() < 0.02, off.mean(axis=1)


def test_layers_are_seen_past_their_holes():
    # one raster in one piece, and the same parted: within a rectangle, and around it
    whole = askew()
    hole = (40.0, 30.0, 90.0, 85.0)
    within = np.zeros(whole.tops.shape, dtype=bool)
    within[30:85, 40:90] = True
    inner = SurfaceLayer(np.where(within, whole.tops, np.nan).astype(np.float32), whole.place, whole.cell)
    outer = SurfaceLayer(np.where(within, np.nan, whole.tops).astype(np.float32), whole.place, whole.cell, hole)
    points = np.array([[0.0, 0, 0], [3, -5, 1], [-20, 20, 0.5], [200, 30, 0], [0, 0, 8]])
    azimuth = np.arange(0.0, 360.0, 1.5)
    expected = surface_slopes(points, [columns_of_layer(whole)], azimuth)
    assert surface_slopes(points, [columns_of_layer(inner), columns_of_layer(outer)], azimuth) == pytest.approx(
        expected, rel=1e-9
    )
    assert (expected > 0).any(axis=1).all()
