"""Which way is the plan turned?

A line on the plan whose true bearing is known tells. The bearing comes from a compass (declination.py), a shadow
(sun/shadows.py) or a street.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from siteplan.land.declination import Declination

HAND_COMPASS = 2.0  # degrees; how closely a hand compass is read; common practice, no source


@dataclass(frozen=True)
class North:
    """How the plan is turned.

    Attributes
    ----------
    bearing : float
        Of the plan's +y axis, clockwise from true north, 0 to below 360. [degrees]
    doubt : float
        By how much it may be off: one standard deviation, of all known causes together. [degrees]
    """

    bearing: float
    doubt: float


def north_by_line(azimuth: float, *, on_plan: float, doubt: float) -> North:
    """Return how a plan is turned, from a line on it whose true bearing is known.

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
    return North(bearing=full_circle(azimuth - on_plan), doubt=min(doubt, 180.0))


def north_by_compass(
    reading: float, *, on_plan: float, magnetic: Declination, reading_doubt: float = HAND_COMPASS
) -> North:
    """Return how a plan is turned, from a compass reading along one of its lines.

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
    >>> plan = north_by_compass(91.0, on_plan=0.0, magnetic=iowa, reading_doubt=0.3)
    >>> plan.bearing, round(plan.doubt, 3)
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
    return full_circle(math.degrees(math.atan2(end[0] - start[0], end[1] - start[1])))


def full_circle(angle: float) -> float:
    """Return an angle brought into the range from 0 to below 360. [degrees]

    Examples
    --------
    >>> full_circle(-90.0), full_circle(-1e-20)
    (270.0, 0.0)
    """
    return angle % 360 % 360  # twice: a tiny negative angle % 360 rounds to 360 itself
