"""Crowns against published figures: mean light over the shadow of a sphere, and losses of beam and sky together."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely import Point

from siteplan.files.constant_tables import read_crowns
from siteplan.sun.engine import SunEngine
from siteplan.sun.obstacles.crowns import crown_slices
from siteplan.sun.obstacles.prisms import Prism
from siteplan.sun.path.solar_path import sun_path

from ..skies import sky_share


def crown(radius, base, *, share, way):
    ring = Point(0, 0).buffer(radius, quad_segs=16)
    return tuple(
        Prism(
            outline=outline, bottom=low, top=high, owner="tree", part="crown", transmittance_leafy=share, through=way
        )
        for outline, low, high in crown_slices(ring, base, base + 2 * radius, "ellipsoid")
    )


def noon():
    path = sun_path(45.0, 8.0, year=2026, timezone="Europe/Rome", step=0.5)
    held = (path.day == 172) & (path.elevation > 55)
    arrays = ("azimuth", "elevation", "hours", "time", "clock", "day", "month")
    return replace(path, **{name: getattr(path, name)[held] for name in arrays})


def engine(prisms):
    return SunEngine(path=noon(), prisms=prisms, season=np.ones(365, dtype=bool))


@pytest.mark.parametrize("density", [0.2, 0.6, 1.5])
def test_mean_light_over_the_shadow_of_a_sphere_of_known_leaf_area(density):
    """With leaves at random, half of whose area faces any ray, a metre of way weakens by exp(-density / 2).

    Over the shadow of a sphere, t being its diameter times that, the mean is 2 (1 - (1 + t) exp(-t)) / t2: the chords
    of a circle's disc, integrated. Campbell and Norman 1998, An introduction to environmental biophysics, ch. 15, have
    leaves in crowns so (memory).
    """
    radius, base = 3.0, 2.0
    grid = engine(crown(radius, base, share=float(np.exp(-density / 2)), way=1.0))
    east, north = (axis.ravel() for axis in np.meshgrid(np.arange(-9, 9, 0.2), np.arange(-9, 9, 0.2)))
    light = grid.exact_light(np.column_stack([east, north, np.zeros(len(east))]))
    deep = density / 2 * 2 * radius
    expected = 2 * (1 - (1 + deep) * np.exp(-deep)) / deep**2
    azimuth, elevation = np.radians(grid.path.azimuth), np.radians(grid.path.elevation)
    for step in range(len(azimuth)):
        # a point is in the shadow where its ray passes the middle nearer than the radius
        toward = np.array(
            [
                np.sin(azimuth[step]) * np.cos(elevation[step]),
                np.cos(azimuth[step]) * np.cos(elevation[step]),
                np.sin(elevation[step]),
            ]
        )
        middle = np.column_stack([-east, -north, np.full(len(east), base + radius)])
        shadow = np.linalg.norm(np.cross(middle, toward), axis=1) < radius
        assert light[shadow, step].mean() == pytest.approx(expected, abs=0.015)  # slices in place of a sphere


def test_losses_of_beam_and_sky_together_on_the_ground():
    """Three street species on clear days within the shadow: 65 to 75 % in leaf (Heisler 1985, abstract, seen)."""
    losses = {}
    for density in ("open", "medium", "dense"):
        share = read_crowns()["deciduous", density].transmittance_leafy
        shade = engine(crown(4.0, 3.0, share=share, way=6.0))
        at = np.array([[0.0, 2.0, 0.0]])
        beam, sky = shade.exact_light(at)[0].mean(), float(sky_share(shade, at)[12, 0])
        losses[density] = 1 - (0.85 * beam + 0.15 * sky)  # 15 % of a clear noon's light is the sky's, common practice
    assert 0.65 <= losses["open"] <= 0.75
    # in the middle of the shadow, where it is deepest: up to ten hundredths more than the mean of whole shadows
    assert 0.75 < losses["medium"] < losses["dense"] <= 0.85
