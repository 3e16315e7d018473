"""Which stretch of its fence or hedge does a gate open?

The gap lies along the nearest fence, around the drawn point or between the drawn ends.
A gate that is near no fence opens nothing: it is left out, with a caution.
Whether a barrow fits through is decided in `haul`.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import substring

from siteplan.files.remarks import Remarks, label
from siteplan.land.features import Fence, Gate, Hedge
from siteplan.land.units import length_text

REACH = 2.0  # m from a gate to its fence
_END = 1e-6  # m; a point this near to a fence's end is at the end


def laid_gate(
    gate_id: str, shape: BaseGeometry, width: float | None, barriers: Sequence[Fence | Hedge]
) -> Gate | None:
    """Return a gate as a gap in the nearest fence or hedge, or None if none is within 2 m.

    Parameters
    ----------
    shape : Point or LineString
        Where it is drawn. [m]
    width : float or None
        Of the gap; None for a line: its length is the width. [m]
    barriers : sequence of Fence or Hedge
        In which it may stand; a fence is preferred to a hedge.

    Raises
    ------
    ValueError
        If the fence is shorter than the gate.

    Examples
    --------
    >>> fence = Fence(id="f", line=LineString([(0, 0), (10, 0)]), height=1.8)
    >>> laid_gate("g", Point(4, 0.5), 1.0, [fence]).line.bounds
    (3.5, 0.0, 4.5, 0.0)
    """
    lines = [(barrier, part) for barrier in barriers for part in _lines(barrier)]
    lines = [pair for pair in lines if pair[1].distance(shape) <= REACH]
    candidates = [pair for pair in lines if isinstance(pair[0], Fence)] or lines
    if not candidates:
        return None
    fence, line = min(candidates, key=lambda pair: float(pair[1].distance(shape)))
    if isinstance(shape, LineString):
        gap = _along(line, shape)
        return Gate(id=gate_id, place=Point(shape.interpolate(0.5, normalized=True)), line=gap, width=shape.length)
    place = shape.centroid
    assert width is not None  # noqa: S101  # a point's width is required
    if line.length < width:
        raise ValueError(
            f'is {width:.2f} m wide, wider than its fence "{fence.id[:60]}" ({line.length:.2f} m); '
            "draw the fence through the gate",
        )
    return Gate(id=gate_id, place=place, line=_around(line, place, width), width=width)


def note_off_fence(gate_id: str, shape: BaseGeometry, barriers: Sequence[Fence | Hedge], remarks: Remarks) -> None:
    """Note that a gate is near no fence and left out, and which fence is the nearest."""
    which = "none is drawn"
    if barriers:
        nearest = min(barriers, key=lambda barrier: min(float(line.distance(shape)) for line in _lines(barrier)))
        distance = min(float(line.distance(shape)) for line in _lines(nearest))
        name = label(type(nearest).__name__.lower(), nearest.id)
        which = f"the nearest, {name}, is {length_text(distance, remarks.system)} away"
    text = f"It is on no fence or hedge ({which}), so it is left out and opens nothing. Draw it on its fence."
    remarks.caution("gate-off-fence", gate_id, text)


def _lines(barrier: Fence | Hedge) -> list[LineString]:
    """Return the lines along which a gate may be laid: a fence's own, or the edge of a hedge."""
    if isinstance(barrier, Fence):
        return [part for part in shapely.get_parts(barrier.line) if isinstance(part, LineString)]
    return [LineString(part.exterior) for part in shapely.get_parts(barrier.outline) if isinstance(part, Polygon)]


def _around(line: LineString, place: Point, width: float) -> LineString:
    """Return the gap of that width around a point, along the line; beyond the line's end if the point lies there."""
    position = float(line.project(place))
    beyond = float(line.distance(place))
    if not line.is_closed and (position < _END or position > line.length - _END) and beyond > width / 4:
        end = np.array(line.interpolate(position).coords[0][:2])
        middle = np.array([place.x, place.y])
        half = (middle - end) / beyond * width / 2
        return LineString([middle - half, middle + half])
    if line.is_closed:
        return _part_of_ring(line, position - width / 2, width)
    start = min(max(position - width / 2, 0.0), line.length - width)
    return _straight(substring(line, start, start + width))


def _along(line: LineString, drawn: LineString) -> LineString:
    """Return the stretch of the fence that a drawn gate covers; the gate as drawn if it bridges a gap."""
    ends = [float(line.project(Point(end))) for end in (drawn.coords[0], drawn.coords[-1])]
    start, stop = min(ends), max(ends)
    if line.is_closed and stop - start > line.length / 2:
        start, stop = stop, start + line.length
    covered = stop - start
    if covered < 0.8 * drawn.length:
        return drawn
    return _part_of_ring(line, start, covered) if line.is_closed else _straight(substring(line, start, stop))


def _part_of_ring(ring: LineString, start: float, length: float) -> LineString:
    """Return a stretch of a closed line, past its seam where need be."""
    twice = LineString([*ring.coords, *ring.coords[1:]])
    begin = start % ring.length
    return _straight(substring(twice, begin, begin + min(length, ring.length)))


def _straight(part: BaseGeometry) -> LineString:
    assert isinstance(part, LineString)  # noqa: S101  # a stretch with a length is a line
    return part
