"""The loops that draw a horizon, one after the other, as the interpreter runs them: by hand."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from shapely import Polygon, box

from siteplan.sun.lookup import horizon
from siteplan.sun.obstacles.packed_prisms import pack
from siteplan.sun.obstacles.prisms import Prism

SHED = Prism(outline=box(2, 1, 5, 3), bottom=0, top=2.0, owner="shed")
#: a triangle under a roof of 0.5 + 0.25 x + 0.5 y
LEAN_TO = Prism(
    outline=Polygon([(-4, 6), (-2, 6), (-2, 8)]), bottom=0, top=4.0, owner="lean-to", top_plane=(0.25, 0.5, 0.5)
)
#: half a metre deep, under a roof that rises by 2 m for each metre north
DORMER = Prism(outline=box(0.8, 3, 1.2, 3.5), bottom=0, top=2.0, owner="dormer", top_plane=(0.0, 2.0, -5.0))


def directions(first, bins):
    """Return east and north of the middle of each bin."""
    middle = np.radians(first + 0.25 + 0.5 * np.arange(bins))
    return np.sin(middle).astype(np.float32), np.cos(middle).astype(np.float32)


def test_walls_close_their_rings_and_know_their_tops():
    pieces, _ = pack((SHED, LEAN_TO))
    walls = horizon.walls_of(pieces, np.array([1, 0]))
    assert walls.start.tolist() == [0, 4, 9]
    for begin, corners in ((0, LEAN_TO.outline), (4, SHED.outline)):
        ring = [(x, y) for x, y in zip(walls.x[begin:], walls.y[begin:], strict=True)][: len(corners.exterior.coords)]
        assert ring[0] == ring[-1]
        assert set(ring) == set(corners.exterior.coords)
        assert Polygon(ring).exterior.is_ccw
    assert walls.top[:4].tolist() == [0.5 + 0.25 * x + 0.5 * y for x, y in zip(walls.x[:4], walls.y[:4], strict=True)]
    assert walls.top[4:].tolist() == [2.0] * 5
    assert walls.plane.tolist() == [[0.25, 0.5, 0.5], [0, 0, 2]]
    assert walls.slanted.tolist() == [True, False]


@pytest.mark.parametrize(("begin", "end", "bins"), [
    (10, 10, 0), (10, 11, 1), (10, 370, 360), (10, 371, 361), (10, 372, 0), (11, 10, 0),
    (719, 1, 2), (700, 340, 360), (700, 341, 361), (700, 342, 0), (1, 0, 0),
])  # fmt: skip
def test_bins_from_one_corner_to_the_next(plain_loops, begin, end, bins):
    # a side seen from half a bin beside it covers 361 bins, rounded; more than that only corners that have been swapped
    assert horizon.span(begin, end) == bins


def test_the_bearing_of_every_direction(plain_loops):
    # Hastings' series is out by at most 1.2e-6 radians, 1.4e-4 bins; a single float by 3e-5 of 720
    for first in (0.0, 100.0, 719.5):
        for azimuth in (*np.arange(0.0, 360.0, 7.3), 44.99, 45.0, 45.01, 89.99, 90.0, 134.9, 179.9, 225.0, 315.0):
            east, north = np.float32(7 * np.sin(np.radians(azimuth))), np.float32(7 * np.cos(np.radians(azimuth)))
            expected = (2 * azimuth - first) % 720
            assert horizon.bearing(east, north, np.float32(first)) == pytest.approx(expected, abs=4e-4), azimuth
    for east, north, bins in ((0.0, 2.0, 0.0), (2.0, 0.0, 180.0), (0.0, -2.0, 360.0), (-2.0, 0.0, 540.0)):
        found = horizon.bearing(np.float32(east), np.float32(north), np.float32(0))
        assert found == pytest.approx(bins, abs=4e-4)
    assert horizon.bearing(np.float32(1e-6), np.float32(1e-6), np.float32(0)) == pytest.approx(90, abs=4e-4)
    assert horizon.bearing(np.float32(0), np.float32(0), np.float32(0)) == 0


def test_corners_as_seen_from_a_point(plain_loops):
    # from (1, 2) at a height of 0.5; the ring begins in the south-east and runs counterclockwise
    walls = horizon.walls_of(pack((SHED,))[0], np.array([0]))
    corners = horizon.corner_arrays(5)
    horizon._see_corners(np.array([1.0, 2.0, 0.5]), walls, np.float32(87.6), corners)
    seen = {(x, y): k for k, (x, y) in enumerate(zip(walls.x[:4].tolist(), walls.y[:4].tolist(), strict=True))}
    assert [key for key, _ in sorted(seen.items(), key=lambda item: item[1])] == [(5, 1), (5, 3), (2, 3), (2, 1)]
    assert corners.east.tolist() == [4, 4, 1, 1, 4]
    assert corners.north.tolist() == [-1, 1, 1, -1, -1]
    assert corners.rise.tolist() == [1.5] * 5
    # azimuths of 104.04, 75.96, 45 and 135 degrees: bins from 43.8 degrees on, rounded: 120.47, 64.33, 2.4, 182.4
    assert corners.first.tolist() == [120, 64, 2, 182, 120]
    assert corners.turn[:4].tolist() == [8.0, 3.0, -2.0, 3.0]  # the third is near
    # the near side, 1 m off in the east, rises by 1.5 m: a slope of 1.5 d_east
    assert (corners.to_east[2], corners.to_north[2]) == pytest.approx((1.5, 0.0))
    assert (corners.to_east[0], corners.to_north[0]) == pytest.approx((1.5 / 4, 0.0))
    assert (corners.to_east[1], corners.to_north[1]) == pytest.approx((0.0, 1.5))
    assert (corners.to_east[3], corners.to_north[3]) == pytest.approx((0.0, -1.5))


def test_the_slope_to_an_edge_that_falls(plain_loops):
    # an edge from 3 m up at (2, 0) to 1 m up at (0, 2), ahead of the origin: due east 1.5, due north 0.5, and halfway
    # 2 m up at 1.414 m
    walls = horizon.Walls(
        np.array([0, 2]), np.array([2.0, 0.0]), np.array([0.0, 2.0]), np.array([3.0, 1.0]), np.zeros((1, 3)),
        np.array([True]),
    )  # fmt: skip
    corners = horizon.corner_arrays(2)
    horizon._see_corners(np.zeros(3), walls, np.float32(0), corners)
    assert (corners.to_east[0], corners.to_north[0]) == pytest.approx((1.5, 0.5))
    half = math.sqrt(0.5)
    assert corners.to_east[0] * half + corners.to_north[0] * half == pytest.approx(2 / math.sqrt(2))


def raised(point, *prisms, first=0.0, bins=720, before=0.0):
    """Return the horizon of a point, and whether the point lies within a wall."""
    pieces, _ = pack(prisms)
    walls = horizon.walls_of(pieces, np.arange(len(pieces.top)))
    slopes = np.full(bins, before, np.float32)
    inside = horizon.raise_horizon(
        np.array(point), walls, first, *directions(first, bins), horizon.corner_arrays(len(walls.x)), slopes
    )
    return slopes, inside


def sides_of(point, outline, height, first, bins):
    """Return the slopes to the upper edge of a convex outline, by the nearest crossing of each ray with it."""
    east, north = (axis.astype(float) for axis in directions(first, bins))
    slopes = np.zeros(bins)
    corners = np.array(outline.exterior.coords) - point[:2]
    for (ax, ay), (bx, by) in itertools.pairwise(corners):
        sx, sy = bx - ax, by - ay
        for b in range(bins):
            across = sx * north[b] - sy * east[b]
            if across == 0:
                continue
            distance, share = (sx * ay - sy * ax) / across, (east[b] * ay - north[b] * ax) / across
            if distance > 0 and 0 <= share <= 1:
                x, y = distance * east[b] + point[0], distance * north[b] + point[1]
                slopes[b] = max(slopes[b], (height(x, y) - point[2]) / distance)
    return slopes


@pytest.mark.parametrize(("first", "bins"), [(0.0, 720), (20.0, 100), (100.0, 600)])
@pytest.mark.parametrize("point", [
    (1.0, 2.0, 0.5), (3.5, -4.0, 0.0), (3.0, 8.0, 0.0), (-1.0, 0.0, 0.0), (1.0, 2.5, 0.5), (1.0, 4.5, 0.3), (-8.0, 6.5, 3.5),
    (-3.0, 12.0, 3.5), (2.0, 7.0, 3.5), (-3.0, 0.0, 3.5),
])  # fmt: skip
def test_the_horizon_is_the_highest_edge_that_each_ray_crosses(plain_loops, point, first, bins):
    # level, and slanted tops that rise away from the point, fall, or rise across it; some corners lie below the last
    slopes, inside = raised(point, SHED, LEAN_TO, DORMER, first=first, bins=bins)
    tops = (lambda _x, _y: 2.0, lambda x, y: 0.5 + 0.25 * x + 0.5 * y, lambda _x, y: 2 * y - 5)
    expected = np.maximum.reduce(
        [
            sides_of(point, one.outline, top, first, bins)
            for one, top in zip((SHED, LEAN_TO, DORMER), tops, strict=True)
        ]
    )
    assert not inside
    assert slopes == pytest.approx(expected, rel=1e-4, abs=1e-6)
    assert bins < 720 or (expected > 0).sum() > 10


def test_a_horizon_is_raised_and_never_lowered(plain_loops):
    slopes, _ = raised((1.0, 2.0, 0.5), SHED, before=1.0)
    low = raised((1.0, 2.0, 0.5), SHED)[0]
    assert slopes.tolist() == np.maximum(low, 1.0).tolist()
    assert low.max() == pytest.approx(1.5, abs=1e-4)


def test_within_a_wall_up_to_its_top(plain_loops):
    assert raised((3.0, 2.0, 1.9), SHED)[1] is True
    assert raised((3.0, 2.0, 2.0), SHED)[1] is False
    assert raised((3.0, 2.0, 2.0 - 2e-6), SHED)[1] is True
    assert raised((3.0, 2.0, 2.0 - 5e-7), SHED)[1] is False  # a thousandth of a millimetre is nothing
    assert raised((5.0, 2.0, 1.0), SHED)[1] is True  # on its edge
    assert raised((5.001, 2.0, 1.0), SHED)[1] is False
    assert raised((3.0, 2.0, 2.0), SHED)[0].max() == 0
    # under the roof of 0.5 + 0.25 (-2.5) + 0.5 (7) = 3.375
    assert raised((-2.5, 7.0, 3.37), LEAN_TO)[1] is True
    assert raised((-2.5, 7.0, 3.38), LEAN_TO)[1] is False
    assert raised((-2.5, 7.0, 3.37), SHED, LEAN_TO)[1] is True


def test_a_wall_as_high_as_the_point_hides_nothing(plain_loops):
    assert raised((1.0, 2.0, 2.0 - 5e-7), SHED)[0].max() == 0
    assert raised((1.0, 2.0, 2.0 - 2e-6), SHED)[0].max() > 0
    # from (-8, 6.5) at 2.6 m the roof is 2.5 m up at its first corner and rises to 4 m: it still shows
    assert raised((-8.0, 6.5, 2.6), LEAN_TO)[0].max() > 0.1


def test_a_side_that_passes_the_first_bin_is_drawn_in_two_parts(plain_loops):
    east, north = directions(90.0, 720)  # bin 0 begins in the east
    slopes = np.zeros(720, np.float32)
    horizon._draw_side(slopes, east, north, np.float32(2), np.float32(0.5), 716, 3)
    drawn = [716, 717, 718, 719, 0, 1, 2]
    assert np.flatnonzero(slopes).tolist() == sorted(drawn)
    azimuth = np.radians(90 + 0.25 + 0.5 * np.array(drawn))
    assert slopes[drawn] == pytest.approx(2 * np.sin(azimuth) + 0.5 * np.cos(azimuth), rel=1e-5)
    few = np.zeros(5, np.float32)
    horizon._draw_side(few, east[:5], north[:5], np.float32(2), np.float32(0), 716, 3)
    assert np.flatnonzero(few).tolist() == [0, 1, 2]
    horizon._draw_side(few, east[:5], north[:5], np.float32(9), np.float32(0), 3, 300)
    assert few.round().tolist() == [2, 2, 2, 9, 9]
