"""How are times, money and hours of sun written?

Short, and the same on the map, the work sheet and the terminal.
Lengths, volumes and masses are in `siteplan.land.units`.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

from siteplan.land.features import MonthDay
from siteplan.land.outline import COMPASS
from siteplan.land.unit_sizes import CUBIC_FOOT, CUBIC_YARD, FOOT, GRAVITY, POUND_FORCE
from siteplan.land.units import System

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
MONTH_NAMES = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip
_SIGNS = {"USD": "$", "CAD": "$", "AUD": "$", "NZD": "$", "EUR": "€", "GBP": "£"}


def time_text(minutes: float) -> str:
    """Return minutes as text in hours and minutes.

    Examples
    --------
    >>> time_text(52.4), time_text(130), time_text(float("nan"))
    ('52 min', '2 h 10 min', 'no way in')
    """
    if not math.isfinite(minutes):
        return "no way in"
    total = round(minutes)
    hours, remainder = divmod(total, 60)
    if not hours:
        return f"{total} min"
    return f"{hours} h {remainder} min" if remainder else f"{hours} h"


def money_text(amount: float | None, currency: str) -> str:
    """Return an amount of money with the currency's sign or its ISO 4217 code.

    Examples
    --------
    >>> money_text(1234.5, "USD"), money_text(80, "CHF"), money_text(None, "USD")
    ('$1,234.50', '80.00 CHF', '—')
    """
    if amount is None or not math.isfinite(amount):
        return "—"
    sign = _SIGNS.get(currency)
    return f"{sign}{amount:,.2f}" if sign else f"{amount:,.2f} {currency}"


def hours_text(hours: float | None) -> str:
    """Return hours of direct sun a day.

    Examples
    --------
    >>> hours_text(6.25), hours_text(float("nan"))
    ('6.2 h', '—')
    """
    return "—" if hours is None or not math.isfinite(hours) else f"{hours:.1f} h"


def is_enough(hours: float, need: float) -> bool:
    """Return whether hours of sun meet a need, both rounded as they are shown.

    Examples
    --------
    >>> is_enough(5.96, 6.0), is_enough(5.94, 6.0), is_enough(6.4, 6.44)
    (True, False, True)
    """
    return round(hours, 1) >= round(need, 1)


def heading_text(degrees: float) -> str:
    """Return the heading of a long axis in words and degrees.

    Examples
    --------
    >>> heading_text(90), heading_text(40), heading_text(179)
    ('east–west (90°)', 'northeast–southwest (40°)', 'north–south (179°)')
    """
    points, nearest = tuple(COMPASS), round(degrees / 45) % 4
    return f"{points[nearest]}–{points[nearest + 4]} ({degrees:.0f}°)"


def day_text(month_day: MonthDay) -> str:
    """Return a day of the year.

    Examples
    --------
    >>> day_text(MonthDay(5, 10))
    '10 May'
    """
    return f"{month_day.day} {MONTHS[month_day.month - 1]}"


def share_text(share: float) -> str:
    """Return a share in whole per cent; a small share that is not zero is "under 1 %".

    Examples
    --------
    >>> share_text(0.123), share_text(0.002), share_text(0)
    ('12 %', 'under 1 %', '0 %')
    """
    return "under 1 %" if 0 < share <= 0.005 else f"{share:.0%}".replace("%", " %")


def plural(count: int, word: str, plural_word: str = "") -> str:
    """Return a count and its noun, in the singular or the plural.

    Examples
    --------
    >>> plural(1, "trip"), plural(8, "trip"), plural(2, "delivery", "deliveries")
    ('1 trip', '8 trips', '2 deliveries')
    """
    return f"{count:,} {word if count == 1 else plural_word or word + 's'}"


def volume_among(volume: float, among: Iterable[float], units: System) -> str:
    """Return one of the volumes of a table or a sentence; all of them have one unit.

    That is the cubic yard where the largest is one or more, else the cubic foot; in metric sites the cubic metre
    where the largest is half of one or more, else the litre. Offers keep the unit in which they are sold. [m3]

    Examples
    --------
    >>> volume_among(0.2, [0.2, 0.8], "imperial"), volume_among(0.2, [0.2, 0.7], "imperial")
    ('0.26 yd³', '7.1 ft³')
    >>> volume_among(0.2, [0.2, 0.5], "metric"), volume_among(0.2, [0.2, 0.4], "metric")
    ('0.20 m³', '200 L')
    """
    large_unit, large_from = (CUBIC_YARD, CUBIC_YARD) if units == "imperial" else (1.0, 0.5)
    if max((volume, *among)) >= large_from * (1 - 1e-6):
        return f"{volume / large_unit:.2f} {'yd³' if units == 'imperial' else 'm³'}"
    return f"{volume / CUBIC_FOOT:.1f} ft³" if units == "imperial" else f"{volume * 1000:.0f} L"


def push_text(newtons: float, units: System) -> str:
    """Return the force on a length of wall as text, from N/m; the sentence continues with ``of wall``.

    Examples
    --------
    >>> push_text(948, "metric"), push_text(948, "imperial")
    ('as hard as the weight of 100 kg on each metre', 'with about 65 lb on each foot')
    """
    if units == "imperial":
        return f"with about {newtons * FOOT / POUND_FORCE:.0f} lb on each foot"
    return f"as hard as the weight of {round(newtons / GRAVITY, -1):,.0f} kg on each metre"
