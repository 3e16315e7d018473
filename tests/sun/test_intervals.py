"""Screens and leaves in each direction, as the interpreter runs the loops: by each ray's crossings with an outline."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from shapely import Point, Polygon, box

from siteplan.sun.lookup import intervals, leaves
from siteplan.sun.obstacles.packed_prisms import pack
from siteplan.sun.obstacles.prisms import Prism
from siteplan.sun.path.sky_table import sky_table

STEEP = 1e9  # straight up
EXTINCTION = [[0.6, 0.0, 0.6, 0.1], [0.2, 0.4, 0.2, 0.2], [0.5, 0.5, 0.5, 0.5]]  # of three bodies in four states


def thing(outline, bottom, top, owner="it", through=0.5, **more):
    return Prism(outline=outline, bottom=bottom, top=top, owner=owner, transmittance_leafy=through, **more)


def crown(outline, bottom, top, owner="crown", way=2.0, **more):
    return thing(outline, bottom, top, owner, 0.3, part="crown", transmittance_path=way, **more)


def crossings(point, piece, first, bins):
    """Return the distances at which the ray in each bin's middle enters and leaves an outline; NaN where it misses.

    Entering is 0 from within. A circle stands for what is nearly one.
    """
    middle = np.radians(first + 0.25 + 0.5 * np.arange(bins))
    east, north = np.sin(middle), np.cos(middle)
    x, y, radius, ring = piece
    if radius:
        along = (x - point[0]) * east + (y - point[1]) * north
        aside = (x - point[0]) * north - (y - point[1]) * east
        with np.errstate(invalid="ignore"):
            half = np.sqrt(radius**2 - aside**2)
        near, far = along - half, along + half
        hit = far > 0
        return np.where(hit, np.maximum(near, 0), np.nan), np.where(hit, far, np.nan)
    nearest, farthest, count = np.full(bins, np.inf), np.zeros(bins), np.zeros(bins)
    corners = [corner - point[:2] for corner in ring]
    for (ax, ay), (bx, by) in itertools.pairwise([*corners, corners[0]]):
        across = (bx - ax) * north - (by - ay) * east
        with np.errstate(divide="ignore", invalid="ignore"):
            share, distance = (east * ay - north * ax) / across, ((bx - ax) * ay - (by - ay) * ax) / across
        met = (share >= 0) & (share <= 1) & (distance > 0)
        nearest, farthest = (
            np.where(met, np.minimum(nearest, distance), nearest),
            np.where(met, np.maximum(farthest, distance), farthest),
        )
        count += met
    return np.where(count > 1, nearest, np.where(count == 1, 0.0, np.nan)), np.where(count > 0, farthest, np.nan)


def pieces_of(prisms):
    """Return the packed pieces, and for each its circle, its corners and its prism."""
    pieces, _ = pack(prisms)
    shapes = []
    for k in range(len(pieces.top)):
        corners = np.column_stack([pieces.x, pieces.y])[pieces.start[k] : pieces.start[k + 1]]
        shapes.append((pieces.centre_x[k], pieces.centre_y[k], pieces.round[k], corners))
    return pieces, shapes


def seen(point, prisms, *, first=0.0, bins=720, horizon=0.0, highest=np.inf, capacity=6):
    """Return the view after all pieces are added, the leaves, and whether the point is within something opaque."""
    pieces, _ = pieces_of(prisms)
    most = int(np.diff(pieces.start).max())
    table = sky_table(np.zeros((bins, 2, 8), dtype=np.float32), first)
    view = intervals.empty_view(table, np.full(bins, highest, dtype=np.float32), capacity=capacity, sides=most)
    view.horizon[:] = horizon
    light = leaves.no_leaves(table, np.array(EXTINCTION, dtype=np.float32), np.zeros(8, dtype=np.int64))
    inside = intervals.add_pieces(np.array(point), pieces, np.arange(len(pieces.top)), view, light)
    return view, light, inside


def expected(point, prisms, *, first=0.0, bins=720, horizon=0.0, highest=np.inf):
    """Return the horizon and the list of intervals in each bin."""
    pieces, shapes = pieces_of(prisms)
    level, found = np.full(bins, horizon), [[] for _ in range(bins)]
    for k, shape in enumerate(shapes):
        a, b, c = pieces.plane[k]
        near, far = crossings(point, shape, first, bins)
        if pieces.top[k] - point[2] <= 1e-6:
            continue
        middle = np.radians(first + 0.25 + 0.5 * np.arange(bins))
        for n in np.flatnonzero(~np.isnan(far)):
            slopes = []
            for distance in (near[n], far[n]):
                x, y = point[0] + distance * math.sin(middle[n]), point[1] + distance * math.cos(middle[n])
                rise = a * x + b * y + c - point[2]
                slopes.append(rise / distance if distance > 0 else STEEP if rise > 1e-6 else -1.0)
            low, high = max(pieces.bottom[k] - point[2], 0.0) / far[n], max(slopes)
            if high <= level[n] or low >= highest:
                continue
            if pieces.opaque[k] and low <= level[n]:
                level[n] = high
                continue
            last = found[n][-1] if found[n] else None
            if last and last[2] == pieces.body[k] and low <= last[1] and last[0] <= high:
                found[n][-1] = (min(last[0], low), max(last[1], high), last[2])
            else:
                found[n].append((low, high, pieces.body[k]))
    return level, found


ROOF = {"top_plane": (0.1, 0.3, 0.2)}  # 0.2 + 0.1 x + 0.3 y
SCENES = {
    "sail": [thing(box(1, 4, 3, 6), 1.0, 2.0)],
    "sail to the north": [thing(box(-2, 4, 3, 6), 1.0, 2.0)],
    "screen on the ground": [thing(Polygon([(-5, -2), (-3, -4), (-3, -1)]), -1.0, 2.0)],
    "slanted": [thing(box(1, 4, 3, 6), 0.5, 2.3, **ROOF), thing(box(-5, 4, -3, 7), 0.2, 2.2, "other", **ROOF)],
    "slanted about the north": [thing(box(-1, 5, 2, 6), 0.5, 2.2, **ROOF)],
    "around": [thing(box(-1, -2, 3, 2), 1.0, 2.0), thing(box(-1, -2, 3, 2), 1.5, 3.0, "above", 0.0)],
    "under a slanted sail": [thing(box(-4, -2, 4, 2), 0.05, 1.2, **ROOF)],
    "above a slanted sail": [thing(box(-4, -2, 4, 2), 0.05, 0.8, top_plane=(0.1, 0.3, -0.2))],
    "opaque": [thing(box(1, 4, 3, 6), 1.0, 2.0, "sail", 0.0), thing(box(2, 2, 3, 3), 0.0, 1.0, "post", 0.0),
               thing(box(1, 5, 4, 6), 0.5, 3.0, "wall", 0.0)],
    "one body": [thing(box(1, 4, 3, 6), 1.0, 2.0), thing(box(1, 7, 3, 8), 2.5, 4.0), thing(box(0, 9, 3, 10), 0.0, 1.0),
                 thing(box(0, 11, 3, 12), 0.5, 9.0)],
    "two bodies": [thing(box(1, 4, 3, 6), 1.0, 2.0), thing(box(1, 7, 3, 8), 1.0, 4.0, "other"),
                   thing(box(1, 9, 3, 10), 1.0, 4.0, "third")],
    "round": [thing(Point(3, 4).buffer(1.2), 0.5, 2.0), thing(Point(-1, 5).buffer(0.7), 0.0, 2.0, "post", 0.0),
              thing(Point(0.5, 6).buffer(1.2), 0.5, 2.0, "north")],
    "under a round sail": [thing(Point(0.3, 0.4).buffer(2.0), 0.7, 2.0), thing(Point(0.3, 0.4).buffer(2.0), 0.9, 2.0, "a", 0.0)],
}  # fmt: skip


@pytest.mark.parametrize(("first", "bins"), [(0.0, 720), (300.0, 200), (20.3, 60)])
@pytest.mark.parametrize("scene", SCENES.values(), ids=SCENES)
@pytest.mark.parametrize("limits", [{}, {"horizon": 0.15, "highest": 0.3}])
def test_intervals_are_those_between_the_crossings(plain_loops, scene, first, bins, limits):
    compare((0.1, 0.2, 0.11), scene, first, bins, limits)


@pytest.mark.parametrize("outline", [
    box(-1, 0.25, 1, 0.5),  # the triangle of its far side has twice the area 1
    box(0, 1, 1, 2), box(-1, 1, 0, 2), box(-2, 0, -1, 1), box(1, -1, 2, 0),  # one side is seen end on
    *(Point(0.6 * x, 0.6 * y).buffer(0.2, quad_segs=1) for x, y in ((0, 1), (1, 0), (0, -1), (-1, 0))),  # small ones
])  # fmt: skip
def test_sides_end_on_and_of_a_unit(plain_loops, outline):
    compare((0.0, 0.0, 0.0), [thing(outline, 0.05, 0.4)], 0.0, 720, {})


def compare(point, scene, first, bins, limits):
    view, _, inside = seen(point, scene, first=first, bins=bins, **limits)
    level, found = expected(point, scene, first=first, bins=bins, **limits)
    assert inside is False
    assert view.horizon == pytest.approx(level, rel=1e-4, abs=1e-6)
    assert view.size.tolist() == [len(some) for some in found]
    for b, some in enumerate(found):
        if some:
            assert view.interval[b, : len(some)] == pytest.approx(np.array(some), rel=1e-3, abs=1e-5), b


def test_what_a_point_may_lie_within(plain_loops):
    solid, glass = thing(box(-1, -1, 1, 1), 0, 2, through=0.0), thing(box(-1, -1, 1, 1), 0, 2)
    for prism in (solid, thing(Point(0, 0).buffer(1), 0, 2, through=0.0)):
        assert seen((0.1, 0.1, 1.0), [prism])[2] is True
        assert seen((0.1, 0.1, 2.0 - 2e-6), [prism])[2] is True
        assert seen((0.1, 0.1, 2.0 - 5e-7), [prism])[2] is False
        assert seen((1.5, 0.1, 1.0), [prism])[2] is False
    assert seen((0.1, 0.1, 1.0), [glass])[2] is False
    assert seen((0.1, 0.1, 0.0), [thing(box(-1, -1, 1, 1), 5e-7, 2, through=0.0)])[2] is True
    floating = seen((0.1, 0.1, 0.0), [thing(box(-1, -1, 1, 1), 2e-6, 2, through=0.0)])
    assert floating[2] is False
    assert (floating[0].size == 1).all()
    roof = thing(box(-4, -2, 4, 2), 0.0, 1.2, through=0.0, **ROOF)  # 0.2 + 0.1 x + 0.3 y: 0.71 over (1.5, 1.2)
    assert seen((1.5, 1.2, 0.70), [roof])[2] is True
    assert seen((1.5, 1.2, 0.72), [roof])[2] is False
    assert seen((0.1, 0.1, 1.0), [thing(box(3, 3, 4, 4), 0, 2, "far"), solid])[2] is True


def test_more_than_there_is_room_for_is_counted(plain_loops):
    sails = [thing(box(-1, 4 + n, 1, 4.5 + n), 1.0 + n, 1.1 + n, f"{n}") for n in range(4)]
    view, *_ = seen((0.0, 0.0, 0.0), sails, capacity=2)
    north = view.size.max()
    assert north == 4
    due = int(view.size.argmax())
    assert view.interval[due, :, 2].tolist() == [0, 1]
    assert view.interval.shape[1] == 2


def cells_through(point, prisms, *, first, bins, horizon=0.0, highest=np.inf):
    """Return the transmittance in each cell, shape (4, spans, 64), of crowns of several bodies."""
    pieces, shapes = pieces_of(prisms)
    met = [crossings(point, shape, first, bins) for shape in shapes]
    spans = -(-bins // 2)
    light = np.ones((4, spans, 64))
    end_level = 384 * highest / (1 + highest) if np.isfinite(highest) else 384.0
    floor = 6.0 * np.arange(64)
    for body, span in itertools.product(range(int(pieces.body.max()) + 1), range(spans)):
        way, lowest, most, share = np.zeros(64), 384.0, 0.0, 0.0
        for k in np.flatnonzero(pieces.body == body):
            bottom, top = max(pieces.bottom[k] - point[2], 0.0), pieces.top[k] - point[2]
            near, far = (one[2 * span : 2 * span + 2] for one in met[k])
            hit = ~np.isnan(far)
            if not hit.any() or top <= 0:
                continue
            with np.errstate(divide="ignore", invalid="ignore"):
                near, far = 1 / (1 / near[hit]).mean(), 1 / (1 / far[hit]).mean()  # the mean slopes to the edges
                low, high = 384 * bottom / (bottom + far), 384 * top / (top + near)
                if min(high, end_level) <= max(low, 384 * horizon / (1 + horizon)):
                    continue
                lowest, most = min(lowest, low), max(most, high)
                share = max(share, hit.sum() / min(2, bins - 2 * span))
                start, stop = np.maximum(low, floor), np.minimum(high, floor + 6)
                elevation = np.arctan((start + stop) / (768 - start - stop))
                across = np.minimum(far, top / np.tan(elevation)) - np.maximum(near, bottom / np.tan(elevation))
                way += np.where(stop > start, (stop - start) / 6 * np.maximum(across, 0) / np.cos(elevation), 0)
        covered = np.maximum(np.minimum(most, floor + 6) - np.maximum(lowest, floor), 0) / 6
        for state in range(4):
            taken = 1 - np.exp(-EXTINCTION[body][state] * way / np.maximum(covered, 1e-9))
            light[state, span] *= 1 - share * covered * taken
    return light


CROWNS = {
    "close by": [crown(Point(1.3, 0.2).buffer(1.0), 1.0, 2.0), crown(Point(-1.1, 0.2).buffer(1.1), 1.0, 2.0, "b")],
    "a twig": [crown(box(0.05, 8, 0.08, 9), 1.0, 2.0), crown(box(0.03, 12, 0.06, 13), 1.0, 2.0, "b")],
    "a box": [crown(box(1, 4, 3, 6), 1.0, 2.0)],
    "to the ground": [crown(box(-2, 2, -1, 3), -1.0, 2.0), crown(box(-4, -3, -2, -1), 2.0, 2.5, "other")],
    "round slices": [crown(Point(3, 4).buffer(1.0), 1.0, 2.0), crown(Point(3, 4).buffer(0.7), 2.0, 3.0)],
    "one behind the other": [crown(box(1, 4, 3, 5), 1.0, 2.0), crown(box(1, 7, 4, 8), 1.0, 3.0),
                             crown(box(2, 3, 3, 9), 0.0, 5.0, "b", 3.0), crown(Point(1, 9).buffer(2), 3, 6, "c", 4.0)],
    "around": [crown(box(-1, -2, 3, 2), 0.5, 3.0), crown(Point(0.3, 0.4).buffer(2.0), 0.0, 2.0, "b", 3.0)],
    "overhead": [crown(box(-1, -2, 3, 2), 0.02, 300.0)],
    "beneath": [crown(box(1, 4, 3, 6), -3.0, 0.1), crown(box(1, 4, 3, 6), -3.0, 0.5)],
}  # fmt: skip


@pytest.mark.parametrize(("first", "bins"), [(0.0, 61), (330.0, 81), (200.0, 90)])
@pytest.mark.parametrize("scene", CROWNS.values(), ids=CROWNS)
@pytest.mark.parametrize("limits", [{}, {"horizon": 0.2, "highest": 0.45}])
def test_leaves_take_their_share_along_the_way(plain_loops, scene, first, bins, limits):
    point = (0.1, 0.2, 0.11)
    view, light, inside = seen(point, scene, first=first, bins=bins, **limits)
    assert inside is False
    assert not view.size.any()
    through = cells_through(point, scene, first=first, bins=bins, **limits)
    cell, some = np.arange(64), light.begin < light.end
    assert np.abs(light.transmittance[:, some] - through[:, some]).max(initial=0) < 5e-4  # the power of e to 1e-4
    assert through[:, ~some].min(initial=1) == 1
    outside = (cell < light.begin[:, None]) | (cell >= light.end[:, None])
    assert through[:, outside].min(initial=1) == 1
    # the work arrays are clear for the next point
    assert not light.path.any()
    assert (light.low > light.high).all()
    assert not light.share.any()


def test_the_power_of_e(plain_loops):
    for x in (0.0, -0.01, -0.5, -1.0, -3.0, -7.0, -12.0, -15.9):
        assert leaves._exp(np.float32(x)) == pytest.approx(math.exp(x), abs=1e-4)
    assert leaves._exp(np.float32(-1.0)) == pytest.approx(math.exp(-1), rel=2e-5)
    assert 0 < leaves._exp(np.float32(-1e9)) < 1e-6


@pytest.mark.parametrize(("low", "high", "runs"), [
    (0, 5, (0, 8)), (47.9, 48.0, (0, 16)), (48.0, 60, (8, 16)), (100, 383.9, (16, 64)), (0, 384, (0, 64)), (380, 500, (56, 64)),
])  # fmt: skip
def test_runs_of_eight_cells(plain_loops, low, high, runs):
    assert leaves._whole_runs(np.float32(low), np.float32(high)) == runs
