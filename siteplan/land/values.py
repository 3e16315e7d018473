"""Which values may a field have?

Markers for the type of a record's field, as in ``Annotated[float, Quantity("length", above=0, most=3)]``. A range is
written once, there: the record, the readers of files, the command line, the schemas and the README take it from the
marker. The caller adds file, feature and key to the messages.
"""

from __future__ import annotations

import datetime as dt
import math
import re
from abc import ABC, abstractmethod
from collections.abc import Collection
from dataclasses import KW_ONLY, dataclass
from difflib import get_close_matches
from numbers import Integral, Real

from siteplan.land.units import MEASURES, Dimension, System
from siteplan.land.written import round_text, written

LONGEST_SHOWN = 60  # characters of a person's text in a message
LONGEST_TEXT = 200  # characters of a name, an id or a reason
FIRST_YEAR, LAST_YEAR = 1950, 2100


class Rule(ABC):
    """A rule for the values of a field: the base class of all markers."""

    @property
    @abstractmethod
    def span(self) -> str:
        """What it allows, as the README's tables print it."""

    @abstractmethod
    def fault(self, value: object, name: str) -> str:
        """Return what is wrong with a value, which the message calls `name`; empty if nothing is."""


@dataclass(frozen=True)
class Quantity(Rule):
    """A quantity within a range, in the kernels' unit.

    Attributes
    ----------
    dimension : str
        As in `units.si_value`.
    least, most : float
        Ends of the range, both included.
    above : float or None
        Exclusive lower end of the range, in place of `least`.
    usual : (float, float) or None
        Usual range, both ends included: common practice, no source. A value outside is used, with a caution.
    spread : bool
        Whether a spread may follow the value: ``24 ft +- 2 ft``.

    Examples
    --------
    >>> Quantity("length", above=0, most=3).fault(18.0, "height")
    'height is 18 m, must be above 0 and at most 3 m'
    >>> Quantity("length", above=0, most=3).span
    'above 0, to 3 m'
    >>> Quantity("length", above=0, most=500, usual=(0.3, 15)).unusual(24.0, "metric")
    '30 cm to 15 m'
    """

    dimension: Dimension
    _: KW_ONLY
    least: float = -math.inf
    most: float = math.inf
    above: float | None = None
    usual: tuple[float, float] | None = None
    spread: bool = False

    @property
    def low(self) -> float:
        """Lower end of the range."""
        return self.least if self.above is None else self.above

    @property
    def unit(self) -> str:
        """Symbol of the kernels' unit."""
        return MEASURES[self.dimension].sign

    @property
    def span(self) -> str:
        """The range as the README's tables print it, in the units that people write."""
        lower_end = "0" if self.low == 0 else written(self.low, self.dimension)
        start = lower_end if self.above is None else f"above {lower_end}"
        sign = " ±" if self.spread else ""
        if math.isinf(self.most):
            return f"{start}{sign}"
        number, _, unit = (upper_end := written(self.most, self.dimension)).partition(" ")
        upper_end = f"{float(number):,.10g} {unit}".strip()
        start = start.removesuffix(f" {unit}") if unit else start  # the unit is written once, after the upper end
        return f"{start}{'' if self.above is None else ','} to {upper_end}{sign}"

    def fault(self, value: object, name: str) -> str:
        """Return what is wrong with a value."""
        return _outside(value, name, self, self.unit)

    def is_usual(self, value: float) -> bool:
        """Return whether a value lies in the usual range; true if there is none."""
        return self.usual is None or self.usual[0] * 0.999 <= value <= self.usual[1] * 1.001

    def unusual(self, value: float, system: System) -> str:
        """Return the usual range as text if a value lies outside it, else an empty text."""
        if self.usual is None or self.is_usual(value):
            return ""
        return " to ".join(round_text(end, self.dimension, system) for end in self.usual)


@dataclass(frozen=True, kw_only=True)
class Money(Rule):
    """An amount in the site's currency.

    Attributes
    ----------
    most : float
        The largest amount that is accepted.
    each : str
        What it is paid for, as in ``one bag``; empty if it may also be a price by volume.
    """

    most: float = 1e9
    each: str = ""
    least: float = 0.0
    above: float | None = None

    @property
    def span(self) -> str:
        """The range as a reference lists it."""
        return f"0 to {figure(self.most)}, in the currency"

    def fault(self, value: object, name: str) -> str:
        """Return what is wrong with a value."""
        if not _outside(value, name, self, ""):
            return ""
        amount = figure(value) if isinstance(value, float | int) and not isinstance(value, bool) else shown(value)
        range_text = f"at least 0 and at most {figure(self.most)}, for {self.each or 'one'}"
        return f"{name} is {amount}, must be a plain number such as 5.50, {range_text}, in the site's currency"


@dataclass(frozen=True)
class Whole(Rule):
    """A whole number from `least` to `most`, both included."""

    least: int
    most: int

    @property
    def span(self) -> str:
        """The range as a reference lists it."""
        return f"whole, {self.least} to {self.most}"

    def fault(self, value: object, name: str) -> str:
        """Return what is wrong with a value."""
        if isinstance(value, Integral) and not isinstance(value, bool) and self.least <= int(value) <= self.most:
            return ""
        return f"{name} is {shown(value)}, must be a whole number from {self.least} to {self.most}"


@dataclass(frozen=True)
class OneOf(Rule):
    """One of a few words; the marker of a ``Literal``."""

    words: tuple[str, ...]

    @property
    def span(self) -> str:
        """The words as a reference lists them."""
        return f"{', '.join(self.words[:-1])} or {self.words[-1]}"

    def fault(self, value: object, name: str) -> str:
        """Return what is wrong with a value."""
        if not isinstance(value, str):
            return f"{name} is {shown(value)}, must be a text: {self.span}"
        if value in self.words:
            return ""
        hint = nearest(value, self.words)
        suggestion = f"; did you mean {hint!r}?" if hint else ";"
        return f"{name} {value[:60]!r} is not known{suggestion} (allowed: {', '.join(sorted(self.words))})"


@dataclass(frozen=True)
class Flag(Rule):
    """True or false; the marker of a ``bool``."""

    span = "true or false"

    def fault(self, value: object, name: str) -> str:
        """Return what is wrong with a value."""
        sound = isinstance(value, bool) or type(value).__name__ == "bool"  # numpy has a type of its own
        return "" if sound else f"{name} is {shown(value)}, must be true or false"


@dataclass(frozen=True, kw_only=True)
class Text(Rule):
    """A text that is not empty.

    Attributes
    ----------
    longest : int
        Characters.
    pattern, wanted : str
        A regular expression that the whole text must match, and the same in words.
    """

    longest: int = LONGEST_TEXT
    pattern: str = ""
    wanted: str = ""

    @property
    def span(self) -> str:
        """What it may be, as a reference lists it."""
        return self.wanted or "text"

    def fault(self, value: object, name: str) -> str:
        """Return what is wrong with a value."""
        if not isinstance(value, str):
            return f"{name} is {shown(value)}, must be a text in quotes"
        if not value:
            return f"{name} is empty; say something or leave it out"
        if len(value) > self.longest:
            return f"{name} is {len(value)} characters long, must be at most {self.longest}"
        if self.pattern and not re.fullmatch(self.pattern, value):
            return f"{name} is {shown(value)}, must be {self.wanted}"
        return ""


@dataclass(frozen=True)
class Day(Rule):
    """A day of a certain year; the marker of a ``date``."""

    span = "a day, as 2026-03-01"

    def fault(self, value: object, name: str) -> str:
        """Return what is wrong with a value."""
        if isinstance(value, dt.date) and FIRST_YEAR <= value.year <= LAST_YEAR:
            return ""
        text = value.isoformat() if isinstance(value, dt.date) else shown(value)
        return f"{name} is {text}, must be a day such as 2026-03-01: year, month, day"


@dataclass(frozen=True)
class Mix(Rule):
    """Materials with their shares, each above 0; a file gives them as a table."""

    span = "a table such as { topsoil = 0.7, compost = 0.3 }; the shares sum to 1"

    def fault(self, value: object, name: str) -> str:
        """Return what is wrong with a value."""
        if not isinstance(value, tuple):
            return f"{name} is {shown(value)}, must be pairs of a material and its share"
        share = Quantity("fraction", above=0)
        faults = (share.fault(part, f"share of {material}") for material, part in value)
        return next((fault for fault in faults if fault), "")


@dataclass(frozen=True)
class Names(Rule):
    """Names of rows of a table of constants; a file gives them as a list, or in a text with commas."""

    table: str

    @property
    def span(self) -> str:
        """What it may be, as a reference lists it."""
        return f"names of {self.table}, with commas between"

    def fault(self, value: object, name: str) -> str:
        """Return what is wrong with a value."""
        sound = isinstance(value, tuple) and all(isinstance(word, str) and word for word in value)
        return "" if sound else f"{name} is {shown(value)}, must be names of {self.table}"


@dataclass(frozen=True)
class Lengths(Rule):
    """Lengths, each within the range of `each`; a file gives them as a list, or in a text with commas."""

    each: Quantity

    @property
    def span(self) -> str:
        """What it may be, as a reference lists it."""
        return f"a list of lengths, each {self.each.span}"

    def fault(self, value: object, name: str) -> str:
        """Return what is wrong with a value."""
        if not isinstance(value, tuple):
            return f"{name} is {shown(value)}, must be lengths"
        faults = (self.each.fault(length, name) for length in value)
        return next((fault for fault in faults if fault), "")


@dataclass(frozen=True)
class Layers(Rule):
    """The layers of a fill; a file gives them as a list, or by the name of a recipe."""

    span = "a list of layers, or the name of a [[recipe]]"

    def fault(self, value: object, name: str) -> str:
        """Return what is wrong with a value."""
        return "" if isinstance(value, tuple) else f"{name} is {shown(value)}, must be layers"


@dataclass(frozen=True)
class Side(Rule):
    """A side as an azimuth [degrees]; a file may give a compass point, or ``poleward`` for None, where allowed."""

    angle = Quantity("angle", least=-360, most=360)
    poleward: bool = False

    @property
    def span(self) -> str:
        """What it may be, as a reference lists it."""
        return f"a compass point, {'degrees from north, or poleward' if self.poleward else 'or degrees from north'}"

    def fault(self, value: object, name: str) -> str:
        """Return what is wrong with a value."""
        return self.angle.fault(value, name)


def _outside(value: object, name: str, rule: Quantity | Money, unit: str) -> str:
    """Return what is wrong with a number that must lie in a range."""
    if isinstance(value, bool) or not isinstance(value, Real):
        return f"{name} is {shown(value)}, must be a number"
    low = rule.least if rule.above is None else rule.above
    start = figure(low)
    if isinstance(rule, Quantity) and math.isfinite(low) and float(f"{low:g}") != low:
        start = written(low, rule.dimension)  # a time of 1/120 h is 30 s
    return _beyond(float(value), low, rule.most, above=rule.above is not None, name=name, unit=unit, start=start)


def _beyond(value: float, low: float, high: float, *, above: bool, name: str, unit: str, start: str = "") -> str:
    """Return what is wrong with a number outside a range; empty if it lies within."""
    start = start or figure(low)
    if value <= high and (value > low if above else value >= low):
        return ""
    space = f" {unit}" if unit else ""
    ends = [f"above {start}" if above else f"at least {start}"] if low > -math.inf else []
    ends += [f"at most {figure(high)}"] if high < math.inf else []
    return f"{name} is {figure(value)}{space}, must be {' and '.join(ends) or 'a number'}{space}"


def figure(value: float) -> str:
    """Return a number as messages print it: at most three digits, or thousands with commas.

    Examples
    --------
    >>> figure(0.125), figure(1e6), figure(1 / 120)
    ('0.125', '1,000,000', '0.00833')
    """
    if math.isfinite(value) and 1e6 <= abs(value) < 1e15:
        return f"{value:,.0f}"
    short = f"{value:g}"
    return short if len(short) <= 7 else f"{value:.3g}"


def nearest(value: str, words: Collection[str], *, likeness: float = 0.6) -> str | None:
    """Return the known word most similar to `value`, or None if none is as similar as `likeness` (0 to 1).

    Examples
    --------
    >>> nearest("hieght", ["height", "width"]), nearest("colour", ["height"])
    ('height', None)
    """
    close = get_close_matches(value.lower().replace("-", "_")[:200], list(words), n=1, cutoff=likeness)
    return close[0] if close else None


def shown(value: object) -> str:
    r"""Return a value as a message quotes it: short, with control characters written out.

    Examples
    --------
    >>> shown("a\x1b[31m"), shown("x" * 100) == repr("x" * 57)[:-1] + "...'"
    ("'a\\x1b[31m'", True)
    """
    if isinstance(value, str) and len(value) > LONGEST_SHOWN:
        value = value[: LONGEST_SHOWN - 3] + "..."
    try:
        text = repr(value)
    except ValueError:  # Python writes no whole number of more than 4,300 digits
        text = "a whole number of thousands of digits" if isinstance(value, int) else f"a {type(value).__name__}"
    except RecursionError:
        text = f"a {type(value).__name__} nested too deeply"
    return text if len(text) <= 3 * LONGEST_SHOWN else text[: 3 * LONGEST_SHOWN - 3] + "..."


def printable(text: str, longest: int = 60) -> str:
    r"""Return a name in at most `longest` characters, with control characters replaced by a question mark.

    Examples
    --------
    >>> printable("north\x1b[2J bed"), len(printable("a" * 100))
    ('north?[2J bed', 60)
    """
    safe = "".join(letter if letter.isprintable() else "?" for letter in text)
    return safe if len(safe) <= longest else safe[: longest - 3] + "..."
