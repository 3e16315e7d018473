"""How is a quantity written, so that a person could have written it?

For reference tables and messages: exactly, so that reading it gives the same value, or in round figures for a usual
range. Results are written to the accuracy of a tape, by `land/units.py`.
"""

from __future__ import annotations

import math
import re

from siteplan.land.unit_sizes import CUBIC_FOOT, CUBIC_YARD, FOOT, INCH, POUND
from siteplan.land.units import Dimension, System, length_text, si_value

#: units in which a quantity may be written; the first that gives a short number is taken
_WRITTEN: dict[Dimension, tuple[str, ...]] = {
    "length": ("m", "cm", "mm", "ft", "in"),
    "angle": ("degrees",),
    "mass": ("kg", "g"),
    "volume": ("m^3", "L", "mL"),
    "time": ("h", "min", "s"),
    "fraction": ("",),
    "density": ("kg/m^3",),
    "rate": ("m^3/h", "L/min"),
    "speed": ("km/h",),
    "concentration": ("ppm",),
}


def written(value: float, dimension: Dimension) -> str:
    """Return a quantity as a person writes it in a site's files; reading the text gives the same value.

    Parameters
    ----------
    value : float
        In the kernels' unit.
    dimension : str
        As in `si_value`.

    Examples
    --------
    >>> [written(value, "length") for value in (500, 0.04, 2.4384, 0.0254)]
    ['500 m', '4 cm', '8 ft', '2.54 cm']
    >>> written(1 / 120, "time"), written(0.085, "volume"), written(3 / 3.6, "speed"), written(0.15, "fraction")
    ('30 s', '85 L', '3 km/h', '0.15')
    """
    shortest: str | None = None
    for unit in _WRITTEN[dimension]:
        number = float(f"{value / si_value(f'1 {unit}', dimension):.10g}")
        text = f"{number:.10g} {unit}".strip()
        if value == 0 or (abs(number) >= 1 and float(f"{number:.3g}") == number):
            return text
        if shortest is None or len(text) < len(shortest):
            shortest = text
    return shortest or f"{value:g}"


#: size and symbol of the coarse unit, the value from which it is used, then size and symbol of the fine unit
_COARSE: dict[str, tuple[float, str, float, float, str]] = {
    "length metric": (1.0, "m", 1.0, 0.01, "cm"), "length imperial": (FOOT, "ft", 0.3, INCH, "in"),
    "volume metric": (1.0, "m³", 1.0, 0.001, "L"),
    "volume imperial": (CUBIC_YARD, "yd³", 0.7, CUBIC_FOOT, "ft³"),
    "mass imperial": (POUND, "lb", 0.0, POUND, "lb"),
}  # fmt: skip


def round_text(value: float, dimension: Dimension, system: System) -> str:
    """Return a quantity in round figures, for usual ranges.

    Examples
    --------
    >>> round_text(15, "length", "metric"), round_text(15, "length", "imperial"), round_text(20, "mass", "metric")
    ('15 m', '49 ft', '20 kg')
    >>> round_text(0.03, "volume", "metric"), round_text(0.03, "volume", "imperial")
    ('30 L', '1.1 ft³')
    """
    if (units := _COARSE.get(f"{dimension} {system}")) is None:
        return written(value, dimension)
    coarse, sign, start, fine, fine_sign = units
    size, unit = (value / coarse, sign) if value >= start else (value / fine, fine_sign)
    is_whole = size >= (3 if system == "imperial" else 10) or math.isclose(size, round(size), abs_tol=0.05)
    return f"{size:.0f} {unit}" if is_whole else f"{size:.1f} {unit}"


_METRES = re.compile(r"\d m\b")
_FIGURE = r"(?<![\w.+-])(?<!\d,)(-?(?:\d{1,3}(?:,\d{3})+|\d+)(?:\.\d+)?(?:e[+-]?\d+)?)"
_LENGTH = re.compile(
    rf"{_FIGURE} m\b|(?:(?<=at least )|(?<=above )){_FIGURE}(?= and at most)|{_FIGURE}(?=,? to [\d.,]+ m\b)"
)
_AREA = re.compile(rf"{_FIGURE} m2\b")
_FAR = 1e5  # m; beyond it a length is written in four digits


def in_units(text: str, system: System) -> str:
    """Return a message about lengths in metres in the units of a system."""
    return in_feet(text) if system == "imperial" else text


def in_feet(text: str) -> str:
    """Return a message about lengths in metres with the lengths in feet and inches, as on a tape.

    The lower end of a range may stand without its unit, as in ``at least 0.1 and at most 3 m`` or ``0.1 to 3 m``.
    Areas in ``m2`` become ``ft2``. If two different lengths would look the same, all are written in feet with four
    digits.

    Examples
    --------
    >>> in_feet("height is 18 m, must be above 0 and at most 3 m")
    'height is 59 ft, must be above 0 and at most 9 ft 10 in'
    >>> in_feet("it is 3.001 m, must be at least 0.1 and at most 3 m")
    'it is 9.846 ft, must be at least 0.3281 ft and at most 9.843 ft'
    >>> in_feet("is missing, must be above 0, to 1,000 m")
    'is missing, must be above 0, to 3281 ft'
    >>> in_feet("tier 2 is larger than the frame below, 4 m2 on 2 m2")
    'tier 2 is larger than the frame below, 43.1 ft2 on 21.5 ft2'
    >>> in_feet("need is 9 h, more than plenty (8 h); swap them?")
    'need is 9 h, more than plenty (8 h); swap them?'
    """
    text = _AREA.sub(lambda match: f"{_number(match) / FOOT**2:.3g} ft2", text)
    if not _METRES.search(text):
        return text
    lengths = {_number(match) for match in _LENGTH.finditer(text)}
    look_alike = len({_on_tape(length) for length in lengths}) < len(lengths)

    def feet(match: re.Match[str]) -> str:
        length = _number(match)
        if not length:
            return "0 ft" if match[1] else "0"
        return f"{length / FOOT:.4g} ft" if look_alike else _on_tape(length)

    return _LENGTH.sub(feet, text)


def _number(match: re.Match[str]) -> float:
    return float(next(figure for figure in match.groups() if figure).replace(",", ""))


def _on_tape(metres: float) -> str:
    return length_text(metres, "imperial") if abs(metres) < _FAR else f"{metres / FOOT:.4g} ft"
