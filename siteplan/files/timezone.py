"""Which time zone and country is a place in?

Zones are looked up offline in their outlines; a name in site.toml must be an IANA name.
Daylight saving time is handled by zoneinfo, where clock times are converted.
"""

from __future__ import annotations

from datetime import UTC, datetime
from functools import cache
from importlib.resources import files
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError, available_timezones

import tzfpy

from siteplan.land.values import nearest, shown


def zone_at(longitude: float, latitude: float) -> str:
    """Return the IANA name of the zone at a place; one of `Etc` at sea, empty if there is none.

    Examples
    --------
    >>> zone_at(-105.18, 39.74), zone_at(-30.0, 40.0)
    ('America/Denver', 'Etc/GMT+2')
    """
    return str(tzfpy.get_tz(longitude, latitude))


def country_of(zone: str) -> str:
    """Return the two letters of ISO 3166 of a zone's country; empty if it has none.

    Examples
    --------
    >>> country_of("America/Chicago"), country_of("Etc/GMT+2")
    ('US', '')
    """
    return _table("zone.tab", key=2, value=0).get(zone, "")


def country_name(letters: str) -> str:
    """Return the name of a country by its two letters of ISO 3166."""
    return _table("iso3166.tab", key=0, value=1).get(letters, letters)


@cache
def _table(name: str, *, key: int, value: int) -> dict[str, str]:
    """Return two columns of a table of the package tzdata, as keys and values."""
    text = files("tzdata").joinpath("zoneinfo", name).read_text(encoding="utf-8")
    rows = [line.split("\t") for line in text.splitlines() if not line.startswith("#")]
    return {row[key]: row[value] for row in rows}


def at_sea(zone: str) -> bool:
    """Return whether a zone is one of open water."""
    return zone.startswith("Etc/") or not zone


def same_clock(zone_name: str, other_name: str) -> bool:
    """Return whether two zones show the same time in winter and in summer; true if one is not known.

    Examples
    --------
    >>> same_clock("Europe/Rome", "Europe/Paris"), same_clock("Europe/Rome", "America/Denver")
    (True, False)
    """
    try:
        zones = ZoneInfo(zone_name), ZoneInfo(other_name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        return True
    days = (datetime(2026, 1, 1, tzinfo=UTC), datetime(2026, 7, 1, tzinfo=UTC))
    return all(len({day.astimezone(zone).utcoffset() for zone in zones}) == 1 for day in days)


@cache
def _names() -> dict[str, str]:
    return {name.lower(): name for name in available_timezones()}


def sound_zone(name: str) -> str:
    """Return a zone's name; ValueError if it is no IANA name.

    Examples
    --------
    >>> sound_zone("Europe/Rome")
    'Europe/Rome'
    >>> sound_zone("America/Denvr")
    Traceback (most recent call last):
    ...
    ValueError: timezone 'America/Denvr' is not known; did you mean 'America/Denver'?
    """
    try:
        return ZoneInfo(name).key
    except (ZoneInfoNotFoundError, ValueError, OSError) as error:
        similar = _names().get(name.lower()) or _names().get(nearest(name, _names()) or "")
        meant = f"did you mean {similar!r}?" if similar else 'it must be an IANA name such as "America/Denver"'
        raise ValueError(f"timezone {shown(name)} is not known; {meant}") from error
