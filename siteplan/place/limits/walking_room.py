"""Can a path be walked, wheeled, or is it a ramp?

Slopes as angles, and the classes of the accessibility standard.
It leaves out landings, handrails and cross slopes; a path that people depend on is for a licensed designer.
"""

from __future__ import annotations

import math
from typing import Literal

PathClass = Literal["route", "ramp", "too steep"]

#: ADA Standards sections 403 and 405, seen second-hand: a walking surface to 1:20, a ramp to 1:12 [rise / run]
ROUTE_SLOPE, RAMP_SLOPE = 1 / 20, 1 / 12
#: ADA section 403, seen second-hand: clear width of a route. [m]
ROUTE_WIDTH = 0.9144


def slope_angle(slope: float) -> float:
    """Return the angle of a slope given as rise by run. [degrees]

    Examples
    --------
    >>> round(slope_angle(1 / 12), 2), slope_angle(0)
    (4.76, 0.0)
    """
    return math.degrees(math.atan(slope))


def path_class(slope: float) -> PathClass:
    """Return whether a path of that slope is a route, a ramp, or neither by the accessibility standard.

    References
    ----------
    ADA Standards for Accessible Design, sections 403 and 405 (seen second-hand).

    Examples
    --------
    >>> path_class(0.05), path_class(0.06), path_class(0.09)
    ('route', 'ramp', 'too steep')
    """
    steep = abs(slope)
    if steep <= ROUTE_SLOPE + 1e-12:
        return "route"
    return "ramp" if steep <= RAMP_SLOPE + 1e-12 else "too steep"
