"""How is a place on earth described, so that the person who typed it can check it?

By its degrees with letters for the direction, the nearest larger town, and the time zone there.
"""

from __future__ import annotations

from siteplan.land.units import System
from siteplan.land.whereabouts import Whereabouts
from siteplan.say.directions import compass_point

KILOMETRES_PER_MILE = 1.609344
#: how well a place must be known: the sun's day changes by a minute over 15 km, and its height by a tenth of a degree
COARSE = 15_000.0  # m


def place_text(latitude: float, longitude: float) -> str:
    """Return a place in degrees with letters, in as few decimals as it has.

    Examples
    --------
    >>> place_text(41.352, -92.204), place_text(-33.9, 18.4)
    ('41.352° N, 92.204° W', '33.9° S, 18.4° E')
    """
    north, east = "S" if latitude < 0 else "N", "W" if longitude < 0 else "E"
    return f"{_degrees(latitude)}° {north}, {_degrees(longitude)}° {east}"


def _degrees(angle: float) -> str:
    return f"{abs(angle):.6f}".rstrip("0").rstrip(".")


def whereabouts_sentences(where: Whereabouts) -> list[str]:
    """Return how a typed place was read, and what of that may be wrong.

    Examples
    --------
    >>> from siteplan.land.whereabouts import read_whereabouts
    >>> whereabouts_sentences(read_whereabouts("48.5, 9.05"))
    ['Read as 48.5° N, 9.05° E: the latitude is taken to come first.']
    >>> whereabouts_sentences(read_whereabouts("9°E 48°30'N"))
    ['Read as 48.5° N, 9° E.', 'It is known to 74 km only: give it to a hundredth of a degree.']
    """
    order = {
        "written": "",
        "range": "",
        "assumed": ": the latitude is taken to come first",
    }[where.order]
    sentences = [f"Read as {place_text(where.latitude, where.longitude)}{order}."]
    if where.step_m > COARSE:
        sentences.append(f"It is known to {where.step_m / 1000:.0f} km only: give it to a hundredth of a degree.")
    if abs(where.latitude) < 0.01 and abs(where.longitude) < 0.01:
        sentences.append(
            "That is open sea, where the equator meets the meridian of Greenwich; was a number left out?"
        )
    return sentences


def near_town_sentence(label: str, *, distance: float, east: float, north: float, units: System) -> str:
    """Return which town lies next to a place.

    Parameters
    ----------
    label : str
        Of the town.
    distance, east, north : float
        From the place to the town. [km]
    units : str

    Examples
    --------
    >>> near_town_sentence("Ottumwa, IA, United States", distance=40.7, east=-17.3, north=-36.9, units="imperial")
    'The next larger town is Ottumwa, IA, United States, 25 miles to the southwest.'
    >>> near_town_sentence("Paris, France", distance=1.2, east=1, north=0, units="metric")
    'It is in or beside Paris, France.'
    """
    if distance < 3:
        return f"It is in or beside {label}."
    far = f"{distance / KILOMETRES_PER_MILE:,.0f} miles" if units == "imperial" else f"{distance:,.0f} km"
    return f"The next larger town is {label}, {far} to the {compass_point(east, north)}."


def clock_sentence(zone: str) -> str:
    """Return which clock holds at a place.

    Examples
    --------
    >>> clock_sentence("America/Chicago")
    'Its clocks are those of America/Chicago.'
    """
    return f"Its clocks are those of {zone}."


def no_town_sentence() -> str:
    """Return what to do where no town is found."""
    return (
        "No town of 15,000 people or more begins so. A larger one nearby will do: over 15 km (10 miles) the sun's "
        "day changes by a minute or so. Or type latitude and longitude."
    )
