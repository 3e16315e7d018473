"""Where does a gate leave a fence or a hedge open?

A gate is a gap over its whole height, as the site's files know no leaf: the sun goes through where the barrow does.
It leaves out whether anything fits through.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import shapely
from shapely.geometry.base import BaseGeometry

from siteplan.land.features import Fence, Gate

BESIDE = 0.3  # m; what a gate stands nearer to than this is open there, as a hedge that grows along its fence
LEAST = 0.05  # m to either side of a gate that is free of its fence, however thin that is


def open_line(fence: Fence, gates: Sequence[Gate]) -> BaseGeometry:
    """Return a fence's line without its gates.

    Examples
    --------
    >>> from shapely import LineString, Point
    >>> fence = Fence(id="f", line=LineString([(0, 0), (10, 0)]), height=1.8)
    >>> wicket = Gate(id="g", place=Point(5, 0), line=LineString([(4, 0), (6, 0)]), width=2.0)
    >>> open_line(fence, [wicket]).length
    8.0
    """
    line: BaseGeometry = fence.line
    for gate in gates:
        aside = float(gate.line.distance(fence.line))
        if aside <= BESIDE:
            line = shapely.difference(line, gate.line.buffer(max(fence.thickness, LEAST) + aside, cap_style="flat"))
    return line


def open_area(area: BaseGeometry, gates: Sequence[Gate]) -> BaseGeometry:
    """Return the ground of a hedge, or of a wall drawn as an area, without its gates.

    A gap goes all the way through at right angles to its gate, and not into what stands behind.

    Examples
    --------
    >>> from shapely import LineString, Point, box
    >>> wicket = Gate(id="g", place=Point(5, 0), line=LineString([(4, 0), (6, 0)]), width=2.0)
    >>> open_area(box(0, 0, 10, 1), [wicket]).area
    8.0
    """
    left = area
    for gate in gates:
        if gate.line.distance(area) > BESIDE:
            continue
        band = gate.line.buffer(2 * BESIDE + math.sqrt(area.area), cap_style="flat", join_style="mitre")
        met = shapely.get_parts(shapely.intersection(band, area))
        left = shapely.difference(left, shapely.union_all(met[shapely.distance(met, gate.line) <= BESIDE]))
    return left
