"""How far does an upright edge throw its shadow?

Plane geometry of one edge and one sun: length, tip and profile angle.
It leaves out what else stands there: whole properties are the engine's task.
"""

from __future__ import annotations

from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Number = TypeVar("Number", float, Floats)


def shadow_length(height: Number, sun_elevation: Number, *, ground_rise: float = 0.0) -> Number:
    """Return how far an upright edge throws its shadow.

    Parameters
    ----------
    height, sun_elevation : float or ndarray, shape (n,)
        Edge above the ground at its foot. [m]  Sun above the horizon, 0 < e <= 90. [degrees]
    ground_rise : float
        Rise of the ground per metre along the shadow; negative where it falls away. [m/m]

    Returns
    -------
    float or ndarray, shape (n,)
        Foot to shadow tip, level distance; infinite where the ground falls away as steeply as the ray. [m]

    Raises
    ------
    ValueError
        If the sun is not above the horizon, or the height is negative.

    Notes
    -----
    L = H / (tan e + g); on level ground H / tan e.

    Examples
    --------
    >>> round(shadow_length(2.0, 45.0), 6)
    2.0
    >>> round(shadow_length(2.0, 45.0, ground_rise=1.0), 6)
    1.0
    >>> shadow_length(2.0, 45.0, ground_rise=-1.0)
    inf
    >>> shadow_length(np.array([0.0, 1.0]), np.array([30.0, 90.0])).round(6)
    array([0., 0.])
    """
    edge, sun = np.asarray(height, dtype=np.float64), np.asarray(sun_elevation, dtype=np.float64)
    _check_up(sun)
    if np.any(edge < 0):
        raise ValueError(f"height is {edge.min():g} m, must be at least 0")
    fall = np.tan(np.radians(sun)) + ground_rise
    meets = fall > 1e-12
    length = np.where(meets, edge / np.where(meets, fall, 1.0), np.inf)
    return _like(length, height)


def shadow_tip(height: float, sun_elevation: float, sun_azimuth: float) -> tuple[float, float]:
    """Return how far east and north of its foot an upright edge's shadow ends on level ground. [m]

    Examples
    --------
    >>> east, north = shadow_tip(1.0, 45.0, 135.0)
    >>> round(east, 4), round(north, 4)  # the sun in the southeast throws it northwest
    (-0.7071, 0.7071)
    """
    length, bearing = shadow_length(height, sun_elevation), np.radians(sun_azimuth)
    return float(-length * np.sin(bearing)), float(-length * np.cos(bearing))


def profile_angle(sun_elevation: Number, sun_azimuth: Number, normal_azimuth: float) -> Number:
    """Return the sun's elevation as seen in the upright plane square to a wall.

    Parameters
    ----------
    sun_elevation, sun_azimuth : float or ndarray, shape (n,)
        [degrees]
    normal_azimuth : float
        The way the wall faces. [degrees]

    Returns
    -------
    float or ndarray, shape (n,)
        Above 90 where the sun stands behind the wall. [degrees]

    Notes
    -----
    tan P = tan e / cos(sun azimuth - wall's azimuth).

    References
    ----------
    ASHRAE Handbook: Fundamentals, chapter on fenestration (from memory).

    Examples
    --------
    >>> round(profile_angle(30.0, 150.0, 180.0), 2)
    33.69
    >>> round(profile_angle(30.0, 0.0, 180.0), 2)
    150.0
    """
    sun = np.radians(np.asarray(sun_elevation, dtype=np.float64))
    aside = np.radians(np.asarray(sun_azimuth, dtype=np.float64) - normal_azimuth)
    return _like(np.degrees(np.arctan2(np.sin(sun), np.cos(sun) * np.cos(aside))), sun_elevation)


def _check_up(sun: Floats) -> None:
    if np.any(~((sun > 0) & (sun <= 90))):
        raise ValueError(f"sun_elevation is {np.min(sun):g} degrees, must be above 0 and at most 90")


def _like(value: Floats, asked: Number) -> Number:
    """Return a float for a float, an array for an array."""
    return value if isinstance(asked, np.ndarray) else float(value)
