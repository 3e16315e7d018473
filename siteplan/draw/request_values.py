"""Which values does a request hold, and are they sound?

Each value is read by its name and checked by a rule of `land/values.py`; all faults are reported at once. `bodies`
limits the size and depth of a request.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from siteplan.land.errors import Fault, InputError
from siteplan.land.units import METRE, LengthUnit, System, si_value
from siteplan.land.values import Flag, OneOf, Quantity, Text, shown
from siteplan.land.written import in_units


class RequestValues:
    """The values of one request.

    A missing or wrong value is noted as a fault, and a harmless value stands in for it until `check` raises.

    Parameters
    ----------
    values : mapping
        The request's JSON object.
    plain : LengthUnit
        The unit of a length that is written without one.
    units : str
        ``metric`` or ``imperial``: in which a range is told.
    """

    def __init__(self, values: Mapping[str, Any], *, plain: LengthUnit = METRE, units: System = "metric") -> None:
        self.values = values
        self.plain = plain
        self.units = units
        self.faults: list[Fault] = []

    def fault(self, name: str, text: str) -> None:
        """Note what is wrong with a value."""
        self.faults.append(Fault("", name, text))

    def range_fault(self, name: str, text: str) -> None:
        """Note that a value lies outside of its range; the lengths of the text, in metres, are written in `units`."""
        self.fault(name, in_units(text, self.units))

    def has(self, name: str) -> bool:
        """Return whether a value is given; null and an empty text do not count."""
        value = self.values.get(name)
        return isinstance(value, list | dict) or value not in {None, ""}

    def quantity(self, name: str, rule: Quantity, *, default: float | None = None) -> float:
        """Return a quantity in the kernels' unit."""
        if not self.has(name):
            if default is None:
                self.range_fault(name, f"is missing, must be {rule.span}")
            return math.nan if default is None else default
        try:
            value = si_value(self.values[name], rule.dimension, plain=self.plain)
        except ValueError as error:
            self.fault(name, str(error))
            return math.nan
        if trouble := rule.fault(value, "it"):
            self.range_fault(name, trouble)
            return math.nan
        return value

    def word(self, name: str, *words: str, default: str | None = None) -> str:
        """Return one of a few words."""
        value = self.values.get(name) if self.has(name) else default
        if trouble := OneOf(words).fault(value, "it"):
            self.fault(name, trouble if value is not None else f"is missing, must be {OneOf(words).span}")
            return words[0]
        return str(value)

    def text(self, name: str, *, longest: int = 200) -> str:
        """Return a text that is not empty."""
        value = self.values.get(name, "")
        if trouble := Text(longest=longest).fault(value, "it"):
            self.fault(name, trouble)
            return ""
        return str(value)

    def flag(self, name: str, *, default: bool = False) -> bool:
        """Return true or false."""
        value = self.values.get(name, default)
        if trouble := Flag().fault(value, "it"):
            self.fault(name, trouble)
            return default
        return bool(value)

    def points(self, name: str, count: int, *, most: float) -> list[tuple[float, float]]:
        """Return `count` points, each of two numbers from -`most` to `most`."""
        value = self.values.get(name)
        if not isinstance(value, list) or len(value) != count or not all(_is_point(point, most) for point in value):
            allowed = f"{count} points, each [x, y] with numbers from {-most:,.0f} to {most:,.0f}"
            self.fault(name, f"is {shown(value)}, must be {allowed}")
            return [(math.nan, math.nan)] * count
        return [(float(x), float(y)) for x, y in value]

    def check(self) -> None:
        """Raise InputError with all faults noted so far, if there are any."""
        if self.faults:
            raise InputError(self.faults)


def _is_point(value: object, most: float) -> bool:
    if not isinstance(value, list) or len(value) != 2:
        return False
    are_numbers = all(isinstance(number, int | float) and not isinstance(number, bool) for number in value)
    return are_numbers and all(abs(number) <= most for number in value)
