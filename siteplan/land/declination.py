"""How far from true north does a compass needle point?

The World Magnetic Model 2025 of NOAA and the British Geological Survey, valid from 2025 to the end of 2029, with its
own estimate of its error. Iron, cables and cars near the compass are not counted.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

FIRST_YEAR, LAST_YEAR = 2025.0, 2030.0
BLACKOUT, CAUTION = 2000.0, 6000.0  # nT, horizontal intensity: WMM2025 report, section on blackout zones
MODEL = "World Magnetic Model 2025"


@dataclass(frozen=True)
class Declination:
    """The magnetic declination at a place in a year, by the model.

    Attributes
    ----------
    east : float
        From true north to magnetic north; west negative. [degrees]
    error : float
        Its standard deviation, by the model's own error model, which covers local rock and daily changes. [degrees]
    zone : str
        ``sound``; ``caution`` if the horizontal intensity is below 6,000 nT, where compasses are sluggish;
        ``blackout`` if it is below 2,000 nT, where they are useless.
    year : float
        For which it holds, as 2026.5.
    """

    east: float
    error: float
    zone: Literal["sound", "caution", "blackout"]
    year: float


def declination(latitude: float, longitude: float, *, year: float, altitude: float = 0.0) -> Declination:
    """Return the magnetic declination.

    Parameters
    ----------
    latitude, longitude : float
        [degrees]
    year : float
        With its fraction, 2025 to below 2030.
    altitude : float
        Above the ellipsoid; a kilometre changes it by less than 0.01 degrees at the published test places. [m]

    Raises
    ------
    ValueError
        For a year in which the model does not hold.

    Examples
    --------
    >>> there = declination(80.0, 0.0, year=2025.0)
    >>> round(there.east, 2), round(there.error, 2), there.zone
    (1.28, 0.87, 'sound')

    References
    ----------
    Chulliat et al. (2025), The US/UK World Magnetic Model for 2025-2030: Technical Report, NOAA; by the package
    pygeomag. Error of the declination: sqrt(0.26^2 + (5417 / H)^2) degrees, H in nT.
    """
    if not FIRST_YEAR <= year < LAST_YEAR:
        raise ValueError(f"the {MODEL} holds from 2025 to the end of 2029, not in {year:.1f}")
    from pygeomag import GeoMag
    from pygeomag.wmm.wmm_2025 import WMM_2025

    # a new model for each call: pygeomag keeps intermediate results in the object
    field = GeoMag(coefficients_data=WMM_2025).calculate(latitude, longitude, altitude / 1000, year)
    zone: Literal["sound", "caution", "blackout"] = "sound"
    if field.h < CAUTION:
        zone = "blackout" if field.h < BLACKOUT else "caution"
    error = min(float(field.calculate_uncertainty().d), 180.0)
    return Declination(east=float(field.d), error=error, zone=zone, year=year)
