"""Which way does an upright stick's shadow point, and how surely does that tell where north is?

It points opposite to the sun, whose azimuth is known at any moment. It is surer the more slowly the sun turns and the
longer the shadow is. The ground is taken as level. A moment is given in seconds since 1970, not as local time.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np

from siteplan.sun.path.solar_path import apparent_position

CLOCK_OFF = 60.0  # s; error of a noted time
LEAN = 1.0  # degrees; lean of an upright stick; common practice, no source
LAID = 0.5  # degrees; error of a line laid along a shadow; common practice, no source
LOW, HIGH = 5.0, 75.0  # degrees; sun's elevation outside which a shadow is a poor pointer
_STEP = 30.0  # s before and after the moment, between which the sun's motion is measured


@dataclass(frozen=True)
class Shadow:
    """The shadow of an upright stick.

    Attributes
    ----------
    azimuth : float
        Direction in which it points, clockwise from true north. [degrees]
    elevation : float
        Elevation of the sun, with refraction. [degrees]
    turn_rate, rise_rate : float
        How fast the shadow turns (clockwise positive) and the sun rises. [degrees/minute]
    doubt : float
        Error of the azimuth of a line laid along it, from the clock, the stick's lean and the laying. [degrees]
    state : str
        ``sound``, ``low`` (the sun below 5 degrees), ``high`` (above 75), or ``down`` where there is no shadow.
    """

    azimuth: float
    elevation: float
    turn_rate: float
    rise_rate: float
    doubt: float
    state: Literal["sound", "low", "high", "down"]


def stick_shadow(
    latitude: float, longitude: float, seconds: float, *, clock_off: float = CLOCK_OFF, lean: float = LEAN
) -> Shadow:
    """Return the shadow of an upright stick at a moment.

    Parameters
    ----------
    latitude, longitude : float
        [degrees]
    seconds : float
        Since 1970-01-01 00:00 UTC. [s]
    clock_off : float
        By how much the moment may be off. [s]
    lean : float
        By how much the stick may lean, sideways to the sun. [degrees]

    Returns
    -------
    Shadow
        Its doubt is the root of the sum of squares of: the turning in `clock_off`; atan(tan(lean) tan(elevation)),
        since the stick's tip is off by its height times tan(lean) and the shadow as long as its height over
        tan(elevation); and half a degree for the line.

    Examples
    --------
    At local noon in Greenwich in June the shadow points north and turns by half a degree a minute.

    >>> noon = stick_shadow(51.48, 0.0, 1782043320.0)  # 2026-06-21 12:02 UTC
    >>> round(noon.azimuth) % 360, round(noon.elevation), round(noon.turn_rate, 2), noon.state
    (0, 62, 0.49, 'sound')
    """
    moments = np.array([seconds - _STEP, seconds, seconds + _STEP])
    azimuth, elevation = apparent_position(latitude, longitude, moments)
    height = float(elevation[1])
    turning = ((azimuth[2] - azimuth[0] + 180) % 360 - 180) / (2 * _STEP / 60)
    by_clock = turning * clock_off / 60
    by_lean = math.degrees(math.atan(math.tan(math.radians(lean)) * math.tan(math.radians(min(height, 89.9)))))
    return Shadow(
        azimuth=float((azimuth[1] + 180) % 360),
        elevation=height,
        turn_rate=float(turning),
        rise_rate=float((elevation[2] - elevation[0]) / (2 * _STEP / 60)),
        doubt=float(min(math.hypot(by_clock, by_lean, LAID), 180.0)),
        state=_state(height),
    )


def _state(elevation: float) -> Literal["sound", "low", "high", "down"]:
    if elevation <= 0:
        return "down"
    if elevation < LOW:
        return "low"
    return "high" if elevation > HIGH else "sound"
