"""Which moment do a day and a clock time mean, as people write them?

Days as 2026-06-21, times as 15:30, 3:30 pm or 15.30. The clock is that of a time zone, summer time included; times
that the clocks skipped or showed twice are refused. `files/timezone.py` finds the zone of a place.
"""

from __future__ import annotations

import datetime as dt
import re
from zoneinfo import ZoneInfo

from siteplan.land.values import Day, shown

_CLOCK = re.compile(r"(\d{1,2})(?:[:.h](\d{2})(?:[:.](\d{2}))?)?\s*(?:([ap])\.?\s?m\.?)?", re.IGNORECASE | re.ASCII)


def read_day(text: str) -> dt.date:
    """Return a day that is written as year, month and day.

    Examples
    --------
    >>> read_day("2026-06-21")
    datetime.date(2026, 6, 21)
    """
    try:
        day: dt.date | None = dt.date.fromisoformat(text.strip())
    except ValueError:
        day = None
    if day is None or Day().fault(day, ""):
        raise ValueError(f"the day is {shown(text)}, must be a day such as 2026-06-21: year, month, day")
    return day


def read_clock(text: str) -> dt.time:
    """Return a clock time.

    Examples
    --------
    >>> read_clock("3:30 pm"), read_clock("15:30"), read_clock("12:05 am")
    (datetime.time(15, 30), datetime.time(15, 30), datetime.time(0, 5))
    """
    match = _CLOCK.fullmatch(text.strip())
    if match is not None and (match[2] or match[4]):  # a lone number is no time: it needs minutes, or am or pm
        hour, minute, second = int(match[1]), int(match[2] or 0), int(match[3] or 0)
        half_of_day = (match[4] or "").lower()  # a, p or none
        hour_is_sound = 1 <= hour <= 12 if half_of_day else hour <= 23
        if hour_is_sound and minute <= 59 and second <= 59:
            if half_of_day:
                hour = hour % 12 + (12 if half_of_day == "p" else 0)
            return dt.time(hour, minute, second)
    raise ValueError(f"the time is {shown(text)}, must be a time such as 15:30 or 3:30 pm")


def utc_seconds(day: dt.date, clock: dt.time, zone: str) -> float:
    """Return a moment as seconds since 1970-01-01 00:00 UTC.

    Parameters
    ----------
    day, clock : date, time
        As the clocks of the place showed them.
    zone : str
        IANA name.

    Raises
    ------
    ValueError
        Where the clocks skipped that time, or showed it twice.

    Examples
    --------
    >>> utc_seconds(dt.date(2026, 6, 21), dt.time(12, 2), "Europe/London")  # an hour before 12:02 UTC
    1782039720.0
    """
    local = dt.datetime.combine(day, clock, ZoneInfo(zone))
    earlier, later = (local.replace(fold=fold) for fold in (0, 1))
    if earlier.utcoffset() != later.utcoffset():
        skipped = earlier.astimezone(dt.UTC).astimezone(ZoneInfo(zone)).time() != clock
        reason = "were put forward and never showed it" if skipped else "were put back and showed it twice"
        raise ValueError(f"on {day} the clocks of {zone} {reason}: {clock:%H:%M}; note another time")
    return earlier.timestamp()
