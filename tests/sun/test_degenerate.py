"""Do repeated points, specks, slivers, pinholes and crossings leave the sun as it is?"""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from shapely import LineString, MultiPolygon, Point, Polygon, box, contains_xy, get_parts, make_valid

from siteplan.land.features import Bed, Building, Fence, Hedge, Tree
from siteplan.sun.obstacles.outline_repair import sound_prisms
from siteplan.sun.obstacles.packed_prisms import pack
from siteplan.sun.obstacles.prisms import Prism, bed_prisms, obstacle_prisms

CORNERS = ((0.0, 0.0), (3.0, 0.0), (3.0, 2.0), (0.0, 2.0))
BOX = Polygon(CORNERS)
# off every edge, for on one a point may count to either side
POINTS = np.array([(x + 0.013, y + 0.017, z) for x in range(-6, 7, 2) for y in range(-6, 7, 2) for z in (0.0, 2.2)])
FEW = POINTS[::3]  # around it, low and high: for the rays, which take the longer the more there are


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


def off(found, expected):
    """Return by how much hours differ at most. [h a day]"""
    return np.abs(found - expected).max()


@pytest.fixture(scope="module")
def hours(tiny_yard, engine_of):
    """Return what makes the hours of all points where one kind stands on an outline, kind by kind."""
    bare = {"buildings": (), "trees": (), "hedges": (), "fences": (), "gates": (), "beds": ()}

    @cache
    def ask(outline, *, exact=False):
        engines = [engine_of(*obstacle_prisms(replace(tiny_yard, **(bare | kind)))) for kind in as_kinds(outline)]
        return [(one.exact_hours(FEW) if exact else one.hours(POINTS)).month_h for one in engines]

    return ask


@pytest.mark.parametrize("apart", [0.0, 1e-200, 1e-16, 1e-12, 1e-9, 1e-7])
def test_repeated_points_change_nothing(hours, apart):
    for clean, found in zip(hours(BOX), hours(doubled(apart)), strict=True):
        # a table's bin (a quarter of a degree) where a corner moves by less than a micrometre
        assert off(found, clean) <= 0.05


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
        assert off(found, free) <= 1e-9
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
        assert off(found, clean) <= 0.05  # as above


NEEDLE = Polygon([*CORNERS[:3], (1 + 1e-9, 2), (1, 6), (1 - 1e-9, 2), CORNERS[3]])  # a wall as thin as can be
CROSSED = Polygon([(0, 0), (3, 2), (3, 0), (0, 2)])


@pytest.mark.parametrize(
    "outline", [CROSSED, NEEDLE, doubled(1e-5), doubled(1e-3)], ids=["crossed", "needle", "near", "less near"]
)
def test_whatever_is_drawn_has_finite_hours_like_the_exact_ones(hours, outline):
    outside = ~contains_xy(outline.buffer(0.0), FEW[:, 0], FEW[:, 1])
    for found, exact in zip(hours(outline), hours(outline, exact=True), strict=True):
        assert np.isfinite(found).all()
        # half a bin of azimuth, and a step of half an hour
        assert off(found[:, ::3][:, outside], exact[:, outside]) <= 0.6


# from here on prisms as they are given to the engine, without obstacle_prisms in between
IN_LEAF = {"transmittance_leafy": 0.2, "transmittance_bare": 0.6, "leaf_out": 105, "leaf_fall": 300}
RAW = {
    "wall": {"bottom": 0.0, "top": 3.0},
    "raised": {"bottom": 2.5, "top": 3.0},
    "veil": {"bottom": 0.0, "top": 3.0, "transmittance_leafy": 0.3},
    "slanted": {"bottom": 0.0, "top": 3.5, "top_plane": (0.5, 0.0, 2.0)},
    "crown": {"bottom": 1.0, "top": 3.0, **IN_LEAF},
}
PINHOLE = BOX.difference(box(1, 1, 1 + 1e-9, 1 + 1e-9))
ELL = Polygon([(0, 0), (3, 0), (3, 1), (1, 1), (1, 2), (0, 2)])
SLIT = Polygon([(0, 0), (3, 0), (3, 2), (2 + 1e-9, 2), (2, 1), (2 - 1e-9, 2), (0, 2)])
# along the lines on which corners, holes and flat sides lie
ALONG = np.array(
    [(t, y, 0.0) for y in (0.0, 1.0, 2.0) for t in (-5.0, -1.5, 4.25, 6.0)]
    + [(x, t, 0.0) for x in (0.0, 1.0, 2.0, 3.0) for t in (-5.0, -1.5, 4.25, 6.0)]
    + [(1 + t, 1 + t * s, 0.0) for s in (-2.0, -1.0, -0.5, 0.5, 1.0, 2.0) for t in (-5.0, 5.0)]
)
EVERYWHERE = np.concatenate([POINTS, ALONG])


def raw(outline, kind):
    return Prism(outline=outline, owner="x", **RAW[kind])


def assert_like_the_clean_one(engine_of, clean, drawn, kind):
    outside = ~contains_xy(clean.buffer(1e-3), EVERYWHERE[:, 0], EVERYWHERE[:, 1])
    free, engine = engine_of(), engine_of(raw(drawn, kind))
    expected = engine_of(raw(clean, kind)).hours(EVERYWHERE).month_h
    found = engine.hours(EVERYWHERE).month_h
    assert np.isfinite(found).all()
    # as above; on a line with a side, that side may turn up in the next bin of azimuth: up to two steps of half an hour
    assert off(found[:, : len(POINTS)], expected[:, : len(POINTS)]) <= 0.05
    assert off(found[:, outside], expected[:, outside]) <= 1.0
    exact = engine.exact_hours(FEW).month_h
    beside = outside[: len(POINTS) : 3]
    assert off(found[:, : len(POINTS) : 3][:, beside], exact[:, beside]) <= 0.6  # as above
    assert off(free.hours(POINTS, extra=(raw(drawn, kind),)).month_h, found[:, : len(POINTS)]) <= 1e-6


@pytest.mark.parametrize("kind", ["raised", "crown"])
@pytest.mark.parametrize("apart", [0.0, 1e-200, 1e-9, 1e-7])
def test_raw_repeated_points_change_nothing(engine_of, kind, apart):
    assert_like_the_clean_one(engine_of, BOX, doubled(apart), kind)


@pytest.mark.parametrize("kind", ["wall", "veil"])
@pytest.mark.parametrize(
    ("clean", "drawn"),
    [
        (BOX, PINHOLE),
        (BOX, Polygon([*CORNERS[:3], (1, 2), (1, 6), (1, 2), CORNERS[3]])),
        (BOX, NEEDLE),
        (BOX, SLIT),
        (BOX, Polygon([*CORNERS[:2], (3 + 1e-9, 1), *CORNERS[2:]])),
        (ELL, Polygon([(0, 0), (3, 0), (3, 1), (1, 1), (1, 1), (1, 1 + 1e-9), (1, 2), (0, 2), (0, 2)])),
    ],
    ids=["pinhole", "spike", "needle", "slit", "flat corner", "bent"],
)
def test_raw_pinholes_spikes_and_slits_change_nothing(engine_of, kind, clean, drawn):
    assert_like_the_clean_one(engine_of, clean, drawn, kind)


@pytest.mark.parametrize(
    "outline",
    [
        Polygon(),
        *(box(1, 1, 1 + size, 1 + size) for size in (1e-200, 1e-12, 1e-9, 1e-7, 1e-4)),
        box(0, 0, 5, 1e-9),
        Polygon([(0, 0), (2, 0), (1, 0)]),
        Polygon([(0, 0), (0, 0), (0, 0)]),
        Polygon([(0, 0), (2, 0), (2, 1e-7)]),
    ],
)
def test_raw_specks_and_paint_shade_nothing(engine_of, outline):
    free = engine_of()
    lookup, exact = free.hours(EVERYWHERE).month_h, free.exact_hours(ALONG[::3]).month_h
    for kind in RAW:
        engine = engine_of(raw(outline, kind))
        assert off(engine.hours(EVERYWHERE).month_h, lookup) <= 1e-9
        assert off(engine.exact_hours(ALONG[::3]).month_h, exact) <= 1e-9


@pytest.mark.parametrize("kind", ["slanted", "veil"])
@pytest.mark.parametrize("outline", [CROSSED, doubled(1e-5), doubled(1e-3)], ids=["crossed", "near", "less near"])
def test_raw_crossings_are_mended(engine_of, kind, outline):
    engine = engine_of(raw(outline, kind))
    outside = ~contains_xy(make_valid(outline).buffer(1e-3), FEW[:, 0], FEW[:, 1])
    found, exact = engine.hours(FEW).month_h, engine.exact_hours(FEW).month_h
    assert off(found[:, outside], exact[:, outside]) <= 0.6  # as above


def test_sound_prisms_are_handed_on_as_they_are(clutter):
    assert all(one is other for one, other in zip(sound_prisms(clutter), clutter, strict=True))
    assert sound_prisms([]) == []
    assert pack([])[1] == ()
    mended = MultiPolygon([prism.outline for prism in sound_prisms([raw(CROSSED, "wall")])])
    assert len(get_parts(mended)) == 2
    assert mended.area == pytest.approx(3.0)  # two triangles of 2 m by 1.5 m
