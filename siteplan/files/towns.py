"""Which towns have names that begin with some letters, and which town is nearest to a place?

From a table of all places with at least 15,000 people, from GeoNames (CC BY 4.0), largest first. Accents, capitals
and hyphens do not matter; some forty towns have a second name (München).
"""

from __future__ import annotations

import csv
import gzip
import io
import itertools
import math
import re
import unicodedata
from dataclasses import dataclass
from functools import cache

import numpy as np

from siteplan.files.constant_tables import data_folder
from siteplan.files.timezone import country_name

CREDIT = "Towns: GeoNames (geonames.org), CC BY 4.0"
LONGEST = 80  # characters of a query; the longest name has sixty
MOST = 10
EARTH_RADIUS = 6371.0088  # km, the mean of the ellipsoid's semi-axes (IUGG)
_PLAIN = str.maketrans({
    "ł": "l", "ø": "o", "đ": "d", "ð": "d", "ß": "ss", "æ": "ae", "œ": "oe", "ı": "i", "ħ": "h", "ə": "e", "þ": "th",
    "|": " ", "-": " ", "–": " ", "/": " ", ",": " ", "(": " ", ")": " ", "‘": "", "’": "", "ʻ": "", "'": "", "`": "",
    ".": "",
})  # fmt: skip
_SHORT = re.compile(r" (st|ste|ft|mt) ")  # with a space after it: the last word of a query may be unfinished
_IN_FULL = {"st": "saint", "ste": "sainte", "ft": "fort", "mt": "mount"}


@dataclass(frozen=True)
class Town:
    """A place of at least 15,000 people.

    Attributes
    ----------
    name : str
    region : str
        State of the United States, by its two letters; empty elsewhere.
    country : str
        Two letters of ISO 3166.
    latitude, longitude : float
        To a hundredth of a degree, which is a kilometre. [degrees]
    """

    name: str
    region: str
    country: str
    latitude: float
    longitude: float

    @property
    def label(self) -> str:
        """Name, state and country, as in ``Des Moines, IA, United States``."""
        return ", ".join(part for part in (self.name, self.region, country_name(self.country)) if part)


@dataclass(frozen=True)
class NearTown:
    """The town nearest to a place: how far off it is [km], and in which direction it lies, as east and north [km]."""

    town: Town
    distance: float
    east: float
    north: float


@cache
def _rows() -> tuple[tuple[str, ...], ...]:
    """Return the table's rows, the largest town first."""
    text = gzip.decompress((data_folder() / "towns.csv.gz").read_bytes()).decode("utf-8")
    return tuple(map(tuple, itertools.islice(csv.reader(io.StringIO(text)), 1, None)))


def _town(row: int) -> Town:
    name, _, region, country, latitude, longitude = _rows()[row]
    return Town(name, region, country, int(latitude) / 100, int(longitude) / 100)


@cache
def _names() -> tuple[str, ...]:
    """Return the names of all towns as `_folded`; a second name follows after a bar."""
    names, others = (_folded("\n".join(row[column] for row in _rows())).split("\n") for column in (0, 1))
    return tuple(f"{name}|{other}" if other.strip() else name for name, other in zip(names, others, strict=True))


@cache
def _folded_region(region: str, country: str) -> str:
    """Return region and country of a town, in the form in which a query's part after the comma is compared."""
    return f"|{region.lower()}|{country.lower()}|{_folded(country_name(country)).strip()}"


def _folded(text: str) -> str:
    """Return text in the form in which it is compared: lower case, no accents, a space before each word."""
    letters = unicodedata.normalize("NFKD", text.lower().translate(_PLAIN)).translate(_PLAIN)
    plain = re.sub(r"^ *|  +", " ", letters.encode("ascii", "ignore").decode(), flags=re.MULTILINE)
    return _SHORT.sub(lambda match: f" {_IN_FULL[match[1]]} ", plain)


def found_towns(query: str, *, most: int = MOST) -> tuple[Town, ...]:
    """Return the towns whose name, or a later word of it, begins with a query.

    Parameters
    ----------
    query : str
        The beginning of a name; after a comma, a state's two letters or the beginning of a country may follow.
    most : int
        How many at most.

    Returns
    -------
    tuple of Town
        Towns whose name begins with the query come before those with a later word that does; larger ones first.
        Empty for a query without letters.

    Examples
    --------
    >>> [town.label for town in found_towns("Sao P", most=1)]
    ['São Paulo, Brazil']
    >>> [town.label for town in found_towns("springfield, il")]
    ['Springfield, IL, United States']
    """
    name, _, rest = query[:LONGEST].partition(",")
    word, region_and_country = _folded(name).rstrip(), f"|{_folded(rest).strip()}"
    first_word: list[int] = []
    later_word: list[int] = []
    for row, town_name in enumerate(_names() if word else ()):
        if word in town_name and region_and_country in _folded_region(*_rows()[row][2:4]):
            (first_word if town_name.startswith(word) or f"|{word}" in town_name else later_word).append(row)
            if len(first_word) >= most:
                break
    return tuple(_town(row) for row in (first_word + later_word)[:most])


def nearest_town(latitude: float, longitude: float) -> NearTown:
    """Return the town nearest to a place, over the sphere.

    Parameters
    ----------
    latitude, longitude : float
        [degrees]

    Examples
    --------
    >>> near = nearest_town(48.8577, 2.295)
    >>> near.town.country, near.distance < 5
    ('FR', True)
    """
    north, east = _angles()
    own_latitude, turn = math.radians(latitude), east - math.radians(longitude)
    half = np.sin((north - own_latitude) / 2) ** 2 + math.cos(own_latitude) * np.cos(north) * np.sin(turn / 2) ** 2
    row = int(np.argmin(half))
    distance = 2 * EARTH_RADIUS * math.asin(math.sqrt(min(float(half[row]), 1.0)))
    town_latitude = float(north[row])
    eastward = math.sin(turn[row]) * math.cos(town_latitude)
    northward = math.cos(own_latitude) * math.sin(town_latitude)
    northward -= math.sin(own_latitude) * math.cos(town_latitude) * math.cos(turn[row])
    length = math.hypot(eastward, northward) or 1.0
    return NearTown(_town(row), distance, distance * eastward / length, distance * northward / length)


@cache
def _angles() -> tuple[np.ndarray, np.ndarray]:
    """Return latitude and longitude of all towns, shape (n,). [radians]"""
    places = np.radians(np.array([row[4:] for row in _rows()], dtype=np.float64) / 100)
    return places[:, 0], places[:, 1]
