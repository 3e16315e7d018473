"""How are directions and distances put into words?

As compass points, and as distances rounded to the foot or the metre.
Lengths to build or cut by are in `siteplan.land.units`.
"""

from __future__ import annotations

import math

from siteplan.land.outline import nearest_compass_point
from siteplan.land.unit_sizes import FOOT
from siteplan.land.units import System

_AXES = ("north to south", "northeast to southwest", "east to west", "southeast to northwest")


def compass_point(east: float, north: float) -> str:
    """Return the nearest of eight compass points.

    Examples
    --------
    >>> compass_point(1, 0), compass_point(-3, -2.5)
    ('east', 'southwest')
    """
    return nearest_compass_point(math.degrees(math.atan2(east, north)))


def axis_text(heading: float) -> str:
    """Return the direction of a bed's long side, in words.

    Examples
    --------
    >>> axis_text(0), axis_text(100), axis_text(170)
    ('north to south', 'east to west', 'north to south')
    """
    return _AXES[round(heading / 45) % 4]


def distance_text(metres: float, units: System) -> str:
    """Return a distance to walk, rounded more than a length to build by.

    Examples
    --------
    >>> distance_text(12.34, "metric"), distance_text(0.84, "metric"), distance_text(12.34, "imperial")
    ('12 m', '0.8 m', '40 ft')
    >>> distance_text(1143.2, "metric")
    '1,143 m'
    """
    if units == "imperial":
        return f"{metres / FOOT:,.0f} ft"
    return f"{metres:,.0f} m" if metres >= 3 else f"{metres:.1f} m"
