"""Do repeated points, specks, slivers, pinholes and crossings leave the sun as it is?"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely import LineString, Point, Polygon, box, contains_xy

from siteplan.land.features import Bed, Building, Fence, Hedge, Tree
from siteplan.sun.obstacles import bed_prisms, what_stands

CORNERS = ((0.0, 0.0), (3.0, 0.0), (3.0, 2.0), (0.0, 2.0))
BOX = Polygon(CORNERS)
# off every edge, for on one a point may count to either side
POINTS = np.array([(x + 0.013, y + 0.017, z) for x in range(-6, 7, 2) for y in range(-6, 7, 2) for z in (0.0, 2.2)])


def doubled(apart):
    return Polygon([point for x, y in CORNERS for point in ((x, y), (x + apart, y + apart / 2))])


def as_kinds(outline):
    yield {"buildings": (Building(id="x", outline=outline, height=3),)}
    yield {"buildings": (Building(id="x", outline=outline, height=3, base=2.5),)}
    yield {"buildings": (Building(id="x", outline=outline, height=3, eaves=2),)}
    yield {"buildings": (Building(id="x", outline=outline, height=3, transmittance=0.3),)}
    yield {"hedges": (Hedge(id="x", outline=outline, height=3),)}
    yield {"fences": (Fence(id="x", line=LineString(CORNERS), outline=outline, height=3),)}
    for form in ("cylinder", "cone", "ellipsoid"):
        tree = Tree(id="x", outline=outline, trunk=Point(1.5, 1), height=3, crown_base=1, crown_form=form)
        yield {"trees": (tree,)}


@pytest.fixture
def hours(tiny_yard, engine_of):
    """Return what makes the hours of all points where one kind stands on an outline, kind by kind."""
    bare = {"buildings": (), "trees": (), "hedges": (), "fences": (), "gates": (), "beds": ()}

    def ask(outline, *, exact=False):
        for kind in as_kinds(outline):
            engine = engine_of(*what_stands(replace(tiny_yard, **(bare | kind))))
            yield (engine.exact_hours if exact else engine.hours)(POINTS).month_h

    return ask


@pytest.mark.parametrize("apart", [0.0, 1e-200, 1e-16, 1e-12, 1e-9, 1e-7])
def test_repeated_points_change_nothing(hours, apart):
    for clean, found in zip(hours(BOX), hours(doubled(apart)), strict=True):
        # a table's bin (a quarter of a degree) where a corner moves by less than a micrometre
        assert found == pytest.approx(clean, abs=0.05)


@pytest.mark.parametrize(
    "outline",
    [
        box(1, 1, 1 + 1e-200, 1 + 1e-200),
        box(1, 1, 1 + 1e-9, 1 + 1e-9),
        box(0, 0, 1e-12, 1e-12),
        box(0, 0, 5, 1e-9),
        Polygon([(0, 0), (2, 0), (1, 0)]),
        Polygon([(0, 0), (2, 0), (2, 1e-7)]),
    ],
    ids=["point", "nanometre", "at the origin", "sliver", "flat", "needle"],
)
def test_specks_shade_nothing(tiny_yard, hours, engine_of, outline):
    free = engine_of().hours(POINTS).month_h
    for found in hours(outline):
        assert found == pytest.approx(free)
    bed = Bed(id="b", outline=outline, height=0.4, trellis_height=2.0, crop_height=1.0)
    assert bed_prisms(tiny_yard, bed) == ()


@pytest.mark.parametrize(
    "outline",
    [
        BOX.difference(box(1, 1, 1 + 1e-9, 1 + 1e-9)),
        Polygon([*CORNERS[:3], (1, 2), (1, 6), (1, 2), CORNERS[3]]),
    ],
    ids=["pinhole", "spike"],
)
def test_pinholes_and_spikes_change_nothing(hours, outline):
    for clean, found in zip(hours(BOX), hours(outline), strict=True):
        assert found == pytest.approx(clean, abs=0.05)  # as above


NEEDLE = Polygon([*CORNERS[:3], (1 + 1e-9, 2), (1, 6), (1 - 1e-9, 2), CORNERS[3]])  # a wall as thin as can be
CROSSED = Polygon([(0, 0), (3, 2), (3, 0), (0, 2)])


@pytest.mark.parametrize(
    "outline", [CROSSED, NEEDLE, doubled(1e-5), doubled(1e-3)], ids=["crossed", "needle", "near", "less near"]
)
def test_whatever_is_drawn_has_finite_hours_like_the_exact_ones(hours, outline):
    outside = ~contains_xy(outline.buffer(0.0), POINTS[:, 0], POINTS[:, 1])
    for found, exact in zip(hours(outline), hours(outline, exact=True), strict=True):
        assert np.isfinite(found).all()
        # half a bin of azimuth, and a step of half an hour
        assert found[:, outside] == pytest.approx(exact[:, outside], abs=0.6)
