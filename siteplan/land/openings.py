"""Where does a gate leave a fence, a wall or a hedge open?

A gate is a gap over the whole height and thickness of its barrier, since the files describe no door leaf: both sun
and barrow pass. Whether a barrow fits through is decided in `barriers`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np
import shapely
from shapely import LineString, MultiPolygon
from shapely.geometry.base import BaseGeometry

from siteplan.land.features import Fence, Gate, Hedge
from siteplan.land.outline import solid_parts

BESIDE = 0.3  # m; a gate opens every barrier nearer than this, such as a hedge that grows along its fence
PAST = 0.01  # m that a gap is cut beyond the barrier's edges
LEAST = 0.05  # m; the fence is cut at least this far to either side of the gate's line, however thin it is


def open_line(fence: Fence, gates: Sequence[Gate]) -> BaseGeometry:
    """Return a fence's line without its gates.

    Examples
    --------
    >>> from shapely import Point
    >>> fence = Fence(id="f", line=LineString([(0, 0), (10, 0)]), height=1.8)
    >>> wicket = Gate(id="g", place=Point(5, 0), line=LineString([(4, 0), (6, 0)]), width=2.0)
    >>> open_line(fence, [wicket]).length
    8.0
    """
    line: BaseGeometry = fence.line
    for gate in gates:
        distance = float(gate.line.distance(fence.line))
        if distance <= BESIDE:
            gap = gate.line.buffer(max(fence.thickness, LEAST) + distance, cap_style="flat")
            line = shapely.difference(line, gap)
    return line


def open_area(area: BaseGeometry, gates: Sequence[Gate]) -> BaseGeometry:
    """Return the ground of a hedge, or of a wall drawn as an area, without its gates.

    A gap goes all the way through at right angles to its gate, but not into another part that stands behind.

    Examples
    --------
    >>> from shapely import Point, box
    >>> wicket = Gate(id="g", place=Point(5, 0), line=LineString([(4, 0), (6, 0)]), width=2.0)
    >>> open_area(box(0, 0, 10, 1), [wicket]).area
    8.0
    """
    ground = area
    for gate in gates:
        if gate.line.distance(area) > BESIDE:
            continue
        band = gate.line.buffer(_deepest(area), cap_style="flat", join_style="mitre")
        pieces = shapely.get_parts(shapely.intersection(band, area))
        opened = shapely.union_all(pieces[shapely.distance(pieces, gate.line) <= BESIDE])
        # cut a little beyond the edges: with nearly coincident edges, shapely may not subtract the gap
        ground = shapely.difference(ground, shapely.intersection(band, opened.buffer(PAST, join_style="mitre")))
    return ground


def open_ground(barrier: Fence | Hedge, gates: Sequence[Gate]) -> BaseGeometry:
    """Return the ground that a fence, a wall or a hedge stands on, without its gates.

    Examples
    --------
    >>> from shapely import Point
    >>> fence = Fence(id="f", line=LineString([(0, 0), (10, 0)]), height=1.8, thickness=0.5)
    >>> wicket = Gate(id="g", place=Point(5, 0), line=LineString([(4, 0), (6, 0)]), width=2.0)
    >>> open_ground(fence, [wicket]).area, open_ground(fence, []).area
    (4.0, 5.0)
    """
    if barrier.outline is not None:
        return open_area(MultiPolygon(solid_parts(barrier.outline)), gates)
    line = shapely.line_merge(open_line(barrier, gates))
    return line.buffer(barrier.thickness / 2, cap_style="flat", join_style="mitre")


def way_through(gate: Gate, barriers: Sequence[Fence | Hedge], *, beyond: float) -> LineString:
    """Return the line through the middle of a gate, at right angles to it, through all barriers that it opens.

    Parameters
    ----------
    gate : Gate
    barriers : sequence of Fence or Hedge
        Barriers in which the gate does not stand are ignored.
    beyond : float
        How much farther the line goes at either end. [m]

    Examples
    --------
    >>> from shapely import Point, box
    >>> wicket = Gate(id="g", place=Point(5, 0), line=LineString([(4, 0), (6, 0)]), width=2.0)
    >>> way_through(wicket, [Hedge(id="h", outline=box(0, 0, 10, 1), height=2.0)], beyond=0.5).bounds
    (5.0, -0.5, 5.0, 1.5)
    """
    start, end = np.asarray(gate.line.coords[0]), np.asarray(gate.line.coords[-1])
    middle, along = (start + end) / 2, (end - start) / np.hypot(*(end - start))
    across = np.array([-along[1], along[0]])
    crossings = [0.0]
    for barrier in barriers:
        crossings += _crossings(gate, barrier, middle, across)
    ends = [middle + across * (min(crossings) - beyond), middle + across * (max(crossings) + beyond)]
    return LineString(np.round(ends, 9) + 0.0)  # + 0.0 turns -0.0 into 0.0


def _crossings(gate: Gate, barrier: Fence | Hedge, middle: np.ndarray, across: np.ndarray) -> Iterator[float]:
    """Yield how far from the middle of a gate the line across it enters and leaves a barrier. [m]"""
    shape = barrier.outline if barrier.outline is not None else barrier.line
    if gate.line.distance(shape) > BESIDE:
        return
    if barrier.outline is None:
        yield from (-barrier.thickness / 2, barrier.thickness / 2)  # also where the gate hangs at the fence's end
        return
    reach = across * _deepest(shape)
    for part in shapely.get_parts(shapely.intersection(LineString([middle - reach, middle + reach]), shape)):
        if part.distance(gate.line) <= BESIDE:
            yield from (shapely.get_coordinates(part) - middle) @ across


def _deepest(area: BaseGeometry) -> float:
    """Return how far a gap reaches to either side of its gate at most. [m]"""
    return 2 * BESIDE + math.sqrt(area.area)
