"""How are figures put into a sentence?

A phrase is a text with named gaps, such as ``"{soil:length} of soil"``. The word after the colon says how the figure
is written, here as a length in the gardener's units. The phrases are in the modules of cautions.
"""

from __future__ import annotations

import string
from collections.abc import Callable, Mapping
from typing import Any

from siteplan.land.units import (
    System,
    force_text,
    length_text,
    mass_text,
    pressure_text,
    tape_mark,
    volume_text,
    water_text,
)
from siteplan.say.directions import distance_text
from siteplan.say.figures import hours_text, share_text, time_text

#: a text with gaps, or a function that takes the figures and the units and returns such a text
Phrase = str | Callable[[Mapping[str, Any], System], str]

_IN_UNITS: dict[str, Callable[[float, System], str]] = {
    "length": length_text,
    "tape": tape_mark,
    "distance": distance_text,
    "volume": volume_text,
    "mass": mass_text,
    "force": force_text,
    "pressure": pressure_text,
    "water": water_text,
}
#: the plural of each quantity: for several names, each with its figure
_SEVERAL_IN_UNITS = {f"{name}es" if name.endswith("s") else f"{name}s": text for name, text in _IN_UNITS.items()}


class _Gaps(string.Formatter):
    def __init__(self, units: System) -> None:
        self.units = units

    def format_field(self, value: Any, format_spec: str) -> Any:
        if format_spec in _IN_UNITS:
            return _IN_UNITS[format_spec](value, self.units)
        if format_spec in _SEVERAL_IN_UNITS:
            figure = _SEVERAL_IN_UNITS[format_spec]
            return ", ".join(f"{name} ({figure(number, self.units)})" for name, number in value)
        return _PLAIN[format_spec](value) if format_spec in _PLAIN else super().format_field(value, format_spec)


def fill_phrase(phrase: Phrase, figures: Mapping[str, Any], units: System) -> str:
    """Return a phrase with its gaps filled.

    Parameters
    ----------
    phrase : str, or callable of figures and units
        A callable returns a text with gaps too. Names from a site file go into the gaps, never into that text.
    figures : mapping of str to value
        In SI units. After the colon of a gap comes the quantity (``length``, ``volume``, ``mass`` ...), its plural
        for pairs of a name and a figure (``lengths``), ``share``, ``minutes``, ``list`` for names, ``sentence`` to
        begin with a capital letter, or a Python number format.
    units : str
        ``metric`` or ``imperial``.

    Examples
    --------
    >>> fill_phrase("{soil:length} of soil in {beds:list}", {"soil": 0.2, "beds": ("north", "south")}, "metric")
    '20 cm of soil in north and south'
    >>> fill_phrase("{wanted:lengths}", {"wanted": (("carrot", 0.3), ("parsnip", 0.45))}, "metric")
    'carrot (30 cm), parsnip (45 cm)'
    >>> fill_phrase(lambda figures, units: "{n} trips" if figures["n"] > 1 else "one trip", {"n": 1}, "metric")
    'one trip'
    """
    text = phrase if isinstance(phrase, str) else phrase(figures, units)
    return _Gaps(units).vformat(text, (), figures)


def finished(text: str) -> str:
    """Return a finished text as a phrase without gaps: its braces are escaped.

    Examples
    --------
    >>> fill_phrase(finished("the bed {{7*7}}"), {}, "metric")
    'the bed {{7*7}}'
    """
    return text.replace("{", "{{").replace("}", "}}")


def listed(words: tuple[str, ...] | list[str], *, most: int = 0) -> str:
    """Return words as a list for a sentence.

    Examples
    --------
    >>> listed(("oak", "elm")), listed(("a", "b", "c", "d", "e"), most=3), listed(["oak"]), listed([])
    ('oak and elm', 'a, b, c and 2 more', 'oak', '')
    """
    if most and len(words) > most:
        return f"{', '.join(words[:most])} and {len(words) - most} more"
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else list(words))


def with_capital(text: str) -> str:
    """Return a text that begins with a capital letter; its other letters stay, as in a name.

    Examples
    --------
    >>> with_capital("worm castings of NPK 5-1-1")
    'Worm castings of NPK 5-1-1'
    """
    return f"{text[:1].upper()}{text[1:]}"


#: formats that do not depend on units
_PLAIN: dict[str, Callable[[Any], str]] = {
    "share": share_text,
    "hours": hours_text,
    "minutes": time_text,
    "list": listed,
    "sentence": with_capital,
}
