"""How strong is the solar radiation of a typical year, and how turbid is the clear sky?

Hourly irradiance from a weather file, and the Linke turbidity by day of the year. Temperature, wind and rain are not
read.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from siteplan.land.document import Hidden, Metres

Floats = NDArray[np.float64]

HOURS = 8760  # of a year without its 29 February


@dataclass(frozen=True, eq=False, kw_only=True)
class Weather:
    """A typical year of radiation, one row an hour, without a 29 February.

    Attributes
    ----------
    total, direct, diffuse : ndarray, shape (8760,)
        Global horizontal, direct normal and diffuse horizontal irradiance (GHI, DNI, DHI). [W/m2]
    middle : float
        Middle of the hour of the first row, counted from 1 January 00:00 UTC. [h]
    latitude, longitude : float
        Of the station. [degrees]
    elevation : float or None
        Of the station above the sea. [m]
    name : str
        Of the station, or of the file.
    file : str
        Name of the file.
    """

    total: Hidden[Floats]
    direct: Hidden[Floats]
    diffuse: Hidden[Floats]
    middle: Hidden[float]
    latitude: float
    longitude: float
    elevation: Metres | None
    name: str
    file: str

    def __post_init__(self) -> None:
        for key in ("total", "direct", "diffuse"):
            values = getattr(self, key)
            if values.shape != (HOURS,):
                raise ValueError(f"{key} has the shape {values.shape}, must be ({HOURS},)")
            if not (np.isfinite(values).all() and (values >= 0).all()):
                raise ValueError(f"{key} must be finite and at least 0 W/m2")


@dataclass(frozen=True, eq=False, kw_only=True)
class Air:
    """The clear atmosphere over a place.

    Attributes
    ----------
    turbidity : ndarray, shape (366,)
        Linke turbidity by day of the year: how many clean dry atmospheres dim the sun as much. [1]
    altitude : float
        Of the place above the sea. [m]
    """

    turbidity: Floats
    altitude: float

    def __post_init__(self) -> None:
        if self.turbidity.shape != (366,) or not (self.turbidity >= 1).all():
            raise ValueError("turbidity must be 366 values of at least 1")
