"""How heavy may a bag be that is lifted by hand?

The revised NIOSH lifting equation, in metric or in US units; their constants are rounded differently. The equation is
not valid for shovelling, pushing and carrying.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

# One lift a minute for up to an hour; a bag without handles. NIOSH 94-110, tables 5 and 7 (from memory).
ONE_A_MINUTE, FAIR_GRIP = 0.94, 0.95


@dataclass(frozen=True)
class _Constants:
    load: float
    near: float
    farthest: float
    knuckles: float
    per_height: float
    per_travel: float
    least_travel: float


_CONSTANTS = {
    "metric": _Constants(23.0, 25.0, 63.0, 75.0, 0.003, 4.5, 25.0),  # kg, cm
    "us": _Constants(51.0, 10.0, 25.0, 30.0, 0.0075, 1.8, 10.0),  # lb, in
}


def recommended_weight(
    *,
    horizontal: float,
    vertical: float,
    travel: float,
    asymmetry: float = 0.0,
    frequency: float = 1.0,
    coupling: float = 1.0,
    units: Literal["metric", "us"] = "metric",
) -> float:
    """Return the recommended weight limit of a lift. [kg, or lb]

    Parameters
    ----------
    horizontal : float
        Horizontal distance from the ankles to the hands. [cm, or in]
    vertical : float
        Height of the hands above the floor at the start. [cm, or in]
    travel : float
        Vertical distance of the lift. [cm, or in]
    asymmetry : float
        Turn of the trunk. [degrees]
    frequency, coupling : float
        Multipliers from the tables, for lifts a minute and for the grip. [0 to 1]
    units : str
        ``metric`` or ``us``.

    Notes
    -----
    RWL = LC HM VM DM AM FM CM. It is 0 beyond the reach of the hands and when turned by more than 135 degrees.

    References
    ----------
    Waters et al. 1993; NIOSH publication 94-110, revised 9/2021 (seen; the asymmetry multiplier from memory).

    Examples
    --------
    >>> round(recommended_weight(horizontal=25, vertical=75, travel=25), 1)
    23.0
    >>> recommended_weight(horizontal=26, vertical=30, travel=10, units="us")
    0.0
    """
    constants = _CONSTANTS[units]
    if horizontal > constants.farthest or asymmetry > 135:
        return 0.0
    hm = min(1.0, constants.near / horizontal)
    vm = max(1.0 - constants.per_height * abs(vertical - constants.knuckles), 0.0)
    dm = min(0.82 + constants.per_travel / max(travel, constants.least_travel), 1.0)
    am = 1.0 - 0.0032 * asymmetry
    return constants.load * hm * vm * dm * am * frequency * coupling


def bag_weight_limit() -> float:
    """Return the recommended weight limit of a bag lifted from the ground into the barrow, once a minute. [kg]

    Notes
    -----
    Hands 38 cm ahead of the ankles and 20 cm up, raised by 40 cm: common practice, no source.

    Examples
    --------
    >>> round(bag_weight_limit(), 1)
    10.5
    """
    return recommended_weight(horizontal=38, vertical=20, travel=40, frequency=ONE_A_MINUTE, coupling=FAIR_GRIP)
