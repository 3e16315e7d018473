"""Is a weather station near enough to stand for the property?

Distance along the earth's surface, and hemisphere. It leaves out what lies between: a ridge or a shore can
part two climates within a few kilometres.
"""

from __future__ import annotations

from pyproj import Geod

from siteplan.files.findings import Findings
from siteplan.land.frame import LocalFrame

FAR = 50e3  # m; common practice, no source


def say_how_far(
    latitude: float, longitude: float, elevation: float | None, *, frame: LocalFrame, file: str, findings: Findings
) -> None:
    """Note a caution where the station is far, in the other hemisphere, or at a height that is none.

    Parameters
    ----------
    latitude, longitude : float
        Of the station. [degrees]
    elevation : float or None
        Of the station above the sea. [m]
    frame : LocalFrame
        Of the site.
    """
    _, _, away = Geod(ellps="WGS84").inv(frame.longitude, frame.latitude, longitude, latitude)
    if latitude * frame.latitude < 0 and away > FAR:
        words = (
            f"{file} is from the other hemisphere, {away / 1000:,.0f} km away: its summer is the property's winter, "
            "so that the light in a typical year is wrong. Take a file from nearby."
        )
        findings.caution("weather-hemisphere", "", words)
    elif away > FAR:
        words = f"{file} is from a station {away / 1000:,.0f} km away; its clouds may not be the property's."
        findings.caution("weather-far", "", words)
    if elevation is not None and not -500 <= elevation <= 9000:
        findings.caution("weather-height", "", f"{file} has its station at {elevation:,.0f} m, which is no height.")
