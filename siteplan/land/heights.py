"""How high is a tree or a roof that no tape reaches?

From the distance and the angle at which its top is seen, or from its shadow. Each height comes with the heights that
it would be if the least certain measurement were a little off. `sun/shadows.py` knows where the sun stands.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

EYE = 1.6  # m; eye height of a standing person; common practice, no source
ANGLE_OFF = 1.0  # degrees; error of a phone or a folded protractor; common practice, no source
SUN_RADIUS = 0.267  # degrees, of the sun's disc: half a shadow's soft edge; the year's mean
TAPE_OFF = 0.1  # m; how closely the end of a tall feature's shadow is measured; common practice, no source
STICK_OFF = 0.01  # m; how closely the shadow of a stick is measured; common practice, no source


@dataclass(frozen=True)
class MeasuredHeight:
    """A height above the ground at the foot, with its range.

    Attributes
    ----------
    height, low, high : float
        The height, and its lowest and highest value if a measurement is a little off. [m]
    """

    height: float
    low: float
    high: float


def height_by_angle(
    distance: float, angle: float, *, eye: float = EYE, foot_angle: float | None = None, off: float = ANGLE_OFF
) -> MeasuredHeight:
    """Return the height of something whose top is seen at an angle.

    Parameters
    ----------
    distance : float
        Horizontal distance from the eye to the trunk or the wall below the top. [m]
    angle : float
        Of the line from the eye to the top, above the horizontal. [degrees]
    eye : float
        Height of the eye above the ground; used on level ground only. [m]
    foot_angle : float, optional
        On a slope: of the line from the eye to the foot, negative below the horizontal. [degrees]
    off : float
        By how much `angle` may be off. [degrees]

    Returns
    -------
    MeasuredHeight
        d tan(angle) + eye, or d (tan(angle) - tan(foot_angle)); `low` and `high` with `angle` off by `off`;
        `high` is infinite if that angle reaches 90 degrees.

    Examples
    --------
    >>> measured = height_by_angle(10.0, 45.0)
    >>> round(measured.height, 3), round(measured.low, 2), round(measured.high, 2)
    (11.6, 11.26, 11.96)
    """
    below = eye if foot_angle is None else -distance * math.tan(math.radians(foot_angle))
    height, low, high = (distance * _slope(angle + change) + below for change in (0.0, -off, off))
    return MeasuredHeight(height, max(low, 0.0), high)


def _slope(angle: float) -> float:
    """Return the rise over the run of a line; infinite from 90 degrees on."""
    return math.tan(math.radians(angle)) if angle < 90 else math.inf


def height_by_shadow(
    length: float, elevation: float, *, elevation_off: float = SUN_RADIUS, length_off: float = TAPE_OFF
) -> MeasuredHeight:
    """Return the height of something from the shadow that it casts on level ground.

    Parameters
    ----------
    length : float
        From the point below the top to the shadow of the top. [m]
    elevation : float
        Of the sun, above 0 and below 90. [degrees]
    elevation_off, length_off : float
        By how much they may be off; both at once. [degrees], [m]

    Examples
    --------
    >>> measured = height_by_shadow(10.0, 45.0)
    >>> round(measured.height, 3), round(measured.low, 2), round(measured.high, 2)
    (10.0, 9.81, 10.19)
    """
    slopes = [
        math.tan(math.radians(min(max(elevation + change, 0.0), 89.9)))
        for change in (0.0, -elevation_off, elevation_off)
    ]
    return MeasuredHeight(
        length * slopes[0], max(length - length_off, 0.0) * slopes[1], (length + length_off) * slopes[2]
    )


def height_by_stick(
    length: float, *, stick: float, stick_shadow: float, length_off: float = TAPE_OFF, stick_off: float = STICK_OFF
) -> MeasuredHeight:
    """Return the height of something from its shadow and that of an upright stick at the same moment.

    Parameters
    ----------
    length, stick_shadow : float
        Of the two shadows, both on level ground. [m]
    stick : float
        Height of the stick. [m]
    length_off, stick_off : float
        By how much the shadows may be off; both at once. [m]

    Examples
    --------
    >>> measured = height_by_stick(12.0, stick=1.0, stick_shadow=1.5)
    >>> round(measured.height, 3), round(measured.low, 2), round(measured.high, 2)
    (8.0, 7.88, 8.12)
    """
    shortest = max(stick_shadow - stick_off, stick_off / 10)
    return MeasuredHeight(
        length * stick / stick_shadow,
        max(length - length_off, 0.0) * stick / (stick_shadow + stick_off),
        (length + length_off) * stick / shortest,
    )
