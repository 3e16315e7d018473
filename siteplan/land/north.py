"""Which way is the plan turned?

A line on the plan whose true bearing is known says it. It leaves out how that bearing was found: by a compass
(declination.py), by a shadow (sun/shadows.py), or from a street.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from siteplan.land.declination import Declination

HAND_COMPASS = 2.0  # degrees that a compass in the hand is read to; common practice, no source


@dataclass(frozen=True)
class North:
    """How the plan is turned.

    Attributes
    ----------
    bearing : float
        Of the plan's +y axis, clockwise from true north, 0 to below 360. [degrees]
    doubt : float
        By how much it may be off: one standard deviation, all that is known of taken together. [degrees]
    """

    bearing: float
    doubt: float


def north_by_line(azimuth: float, *, on_plan: float, doubt: float) -> North:
    """Return how a plan is turned on which a line of known bearing is drawn.

    Parameters
    ----------
    azimuth : float
        Of the line, clockwise from true north. [degrees]
    on_plan : float
        Of the same line, clockwise from the plan's +y axis. [degrees]
    doubt : float
        Of the bearing. [degrees]

    Examples
    --------
    A street that runs due east and goes straight up the plan: up is east.

    >>> north_by_line(90.0, on_plan=0.0, doubt=1.0)
    North(bearing=90.0, doubt=1.0)
    """
    return North(bearing=turned(azimuth - on_plan), doubt=min(doubt, 180.0))


def north_by_compass(
    reading: float, *, on_plan: float, magnetic: Declination, reading_doubt: float = HAND_COMPASS
) -> North:
    """Return how a plan is turned along one of whose lines a compass was read.

    Parameters
    ----------
    reading : float
        Of the compass along the line, clockwise from magnetic north. [degrees]
    on_plan : float
        Of the line, clockwise from the plan's +y axis. [degrees]
    magnetic : Declination
        Of the place and the day.
    reading_doubt : float
        Of the reading. [degrees]

    Examples
    --------
    >>> iowa = Declination(east=-1.0, error=0.4, zone="sound", year=2026.9)
    >>> found = north_by_compass(91.0, on_plan=0.0, magnetic=iowa, reading_doubt=0.3)
    >>> found.bearing, round(found.doubt, 3)
    (90.0, 0.5)
    """
    doubt = math.hypot(reading_doubt, magnetic.error)
    return north_by_line(reading + magnetic.east, on_plan=on_plan, doubt=doubt)


def direction_on_plan(start: tuple[float, float], end: tuple[float, float]) -> float:
    """Return the direction from one point of the plan to another, clockwise from its +y axis. [degrees]

    Examples
    --------
    >>> direction_on_plan((0, 0), (0, 5)), direction_on_plan((1, 1), (-3, 1))
    (0.0, 270.0)
    """
    return turned(math.degrees(math.atan2(end[0] - start[0], end[1] - start[1])))


def turned(angle: float) -> float:
    """Return an angle between 0 and below 360. [degrees]

    Examples
    --------
    >>> turned(-90.0), turned(-1e-20)
    (270.0, 0.0)
    """
    return angle % 360 % 360  # the first of a tiny negative angle is 360 itself
