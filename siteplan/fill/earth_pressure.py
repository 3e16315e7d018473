"""What does the fill weigh on the ground, and how hard does it push on the walls?

Mass over area, and Rankine's active pressure of a level, drained fill.
It leaves out the strength of boards, posts and decks: that is a builder's judgement and the local code's.

References
----------
Rankine's coefficient and thrust: soil-mechanics texts, seen. Coefficient at rest: Jaky, memory.
Brace spacing: common practice, no source.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

GRAVITY = 9.81  # m/s2
WATER_WEIGHT = 9810.0  # N/m3
FRICTION_ANGLE = 30.0  # degrees, of a loose moist mix; 28 to 30 is common practice, no source


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
class WallLoad:
    """How the fill pushes on one metre of wall.

    Attributes
    ----------
    base_pressure : float
        At the foot, rising evenly from nothing at the top. [Pa]
    thrust : float
        In all. [N per m of wall]
    arm : float
        Height of the thrust above the foot. [m]
    """

    base_pressure: float
    thrust: float
    arm: float


def wall_load(
    height: float, density: float, *, friction_angle: float = FRICTION_ANGLE, drained: bool = True
) -> WallLoad:
    """Return how a level fill pushes on its wall.

    Parameters
    ----------
    height : float
        Of the fill. [m]
    density : float
        Of the fill; take it wet. [kg/m3]
    friction_angle : float
        [degrees]
    drained : bool
        Where it is not, the pressure of standing water is added.

    Returns
    -------
    WallLoad

    Notes
    -----
    p = Ka rho g H (+ 9.81 kPa/m H undrained), P = p H / 2, at H / 3.

    Examples
    --------
    >>> load = wall_load(0.6, 1600)
    >>> round(load.base_pressure), round(load.thrust), round(load.arm, 3)
    (3139, 942, 0.2)
    """
    pressure = active_coefficient(friction_angle) * density * GRAVITY * height
    if not drained:
        pressure += WATER_WEIGHT * height
    return WallLoad(base_pressure=pressure, thrust=pressure * height / 2, arm=height / 3)


def ground_pressure(mass: float, area: float) -> float:
    """Return the pressure of a mass on level ground. [Pa]

    Examples
    --------
    >>> ground_pressure(1000, 2)
    4905.0
    """
    return mass * GRAVITY / area


def brace_spacing(height: float) -> float:
    """Return how far apart walls of 38 mm boards are commonly braced. [m]

    Common practice, no source: 1.2 m up to 0.3 m high, 0.9 m from 0.45 m; closer above 0.6 m is a builder's to say.

    Examples
    --------
    >>> brace_spacing(0.25), brace_spacing(0.4572), round(brace_spacing(0.375), 3)
    (1.2, 0.9, 1.05)
    """
    if height <= 0.30:
        return 1.2
    return 0.9 if height >= 0.45 else 1.2 - (height - 0.30) / 0.15 * 0.3
