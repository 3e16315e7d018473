"""How hard does the fill press on the ground, and how hard does it push on the walls?

Weight over area, and Rankine's active earth pressure of a level, drained fill. Standing water is not considered. The
strength of boards, posts and decks is for a builder and the local code to judge.

References
----------
Rankine's coefficient and thrust: soil-mechanics texts, seen. Friction angle of 28 to 30 degrees for a loose moist
mix, and the spacing of braces: common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from siteplan.land.unit_sizes import GRAVITY

FRICTION_ANGLE = 30.0  # degrees
_ABOUT = 1.05  # a span may be longer than the spacing by this factor, since the spacing is a rule of thumb


def active_coefficient(friction_angle: float) -> float:
    """Return Rankine's coefficient of active earth pressure.

    Parameters
    ----------
    friction_angle : float
        Of the fill, 0 <= phi < 90. [degrees]

    Returns
    -------
    float
        Sideways pressure as a share of the weight above.

    Raises
    ------
    ValueError
        Where the angle is outside that range.

    Examples
    --------
    >>> round(active_coefficient(30), 4), active_coefficient(0)
    (0.3333, 1.0)
    """
    if not 0 <= friction_angle < 90:
        raise ValueError(f"friction angle is {friction_angle:g} degrees, must be at least 0 and below 90")
    sine = math.sin(math.radians(friction_angle))
    return (1 - sine) / (1 + sine)


@dataclass(frozen=True, kw_only=True)
class Surcharge:
    """A level load on the fill behind a wall.

    Attributes
    ----------
    pressure : float
        [Pa]
    distance : float
        From the wall to where it begins. [m]
    """

    pressure: float
    distance: float

    @property
    def depth(self) -> float:
        """How far below the top of the fill it begins to press on the wall. [m]"""
        return self.distance * math.tan(math.radians(45 + FRICTION_ANGLE / 2))

    def reaches(self, height: float) -> bool:
        """Return whether it presses on a wall of that height. [m]"""
        return self.depth < height


@dataclass(frozen=True, kw_only=True)
class WallLoad:
    """How the fill pushes on one metre of wall.

    Attributes
    ----------
    base_pressure : float
        At the foot. It rises evenly from 0 at the top, with a step where a load behind begins to press. [Pa]
    thrust : float
        Total force; without a load behind, at a third of the height. [N per m of wall]
    """

    base_pressure: float
    thrust: float


def wall_load(height: float, density: float, *, above: Sequence[Surcharge] = ()) -> WallLoad:
    """Return how a level, drained fill pushes on its wall.

    Parameters
    ----------
    height : float
        Of the fill. [m]
    density : float
        Of the fill on a wet day. [kg/m3]
    above : sequence of Surcharge
        What stands on the fill behind the wall: the frames above it.

    Returns
    -------
    WallLoad

    Notes
    -----
    p = Ka rho g H at the foot, P = p H / 2 in all, with Ka at a friction angle of 30 degrees. A load q that begins at
    a distance d adds Ka q to the wall below the depth z at which the plane of failure, 45 + phi / 2 = 60 degrees
    steep, comes from its edge to the wall: z = d tan 60, and nothing where z is not above the foot.

    References
    ----------
    A surcharge that begins behind the wall: soil-mechanics texts, memory.

    Examples
    --------
    >>> load = wall_load(0.6, 1600)
    >>> round(load.base_pressure), round(load.thrust)
    (3138, 941)
    >>> flush = wall_load(0.3, 1600, above=[Surcharge(pressure=1600 * 9.80665 * 0.3, distance=0.0)])
    >>> round(flush.base_pressure), round(flush.thrust)
    (3138, 706)
    """
    coefficient = active_coefficient(FRICTION_ANGLE)
    pressure = coefficient * density * GRAVITY * height
    thrust = pressure * height / 2
    for load in above:
        if load.reaches(height):
            pressure += coefficient * load.pressure
            thrust += coefficient * load.pressure * (height - load.depth)
    return WallLoad(base_pressure=pressure, thrust=thrust)


def ground_pressure(mass: float, area: float) -> float:
    """Return the pressure of a mass on level ground. [Pa]

    Examples
    --------
    >>> ground_pressure(1000, 2)
    4903.325
    """
    return mass * GRAVITY / area


def brace_spacing(height: float) -> float:
    """Return the usual spacing of braces of walls of 38 mm boards. [m]

    Up to 0.3 m of height 1.2 m, from 0.45 m on 0.9 m, linear in between (common practice, no source). Whether higher
    walls need closer braces is for a builder to judge.

    Examples
    --------
    >>> brace_spacing(0.25), brace_spacing(0.4572), round(brace_spacing(0.375), 3)
    (1.2, 0.9, 1.05)
    """
    if height <= 0.30:
        return 1.2
    return 0.9 if height >= 0.45 else 1.2 - (height - 0.30) / 0.15 * 0.3


def even_spans(length: float, height: float) -> int:
    """Return the number of equal spans into which braces or posts divide a side; each at most 1.05 spacings long.

    Examples
    --------
    >>> even_spans(2.4384, 0.4572), even_spans(1.2192, 0.3048), even_spans(0.9, 0.6)
    (3, 1, 1)
    """
    return max(1, math.ceil(length / (brace_spacing(height) * _ABOUT) - 1e-6))
