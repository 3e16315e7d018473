"""What does one table of keys say, and is each value of the right type, dimension and size?

Every getter returns the value or None, and notes its fault itself; what was not asked for is unknown.
It leaves out what the values mean together.
"""

from __future__ import annotations

import datetime as dt
import math
import re
from collections.abc import Collection, Mapping
from dataclasses import dataclass

from siteplan.files.remarks import Remarks, clean, shown
from siteplan.land.features import MonthDay
from siteplan.land.units import Dimension, si_value
from siteplan.land.values import nearest, number_within, one_of

UNITS: dict[Dimension, str] = {
    "length": "m", "angle": "degrees", "mass": "kg", "volume": "m3", "time": "h", "fraction": "",
    "density": "kg/m3", "rate": "m3/h", "speed": "m/s",
}  # fmt: skip
_PLAIN_MEANS: dict[Dimension, str] = {
    "length": 'a plain number is metres; give the unit, as in "18 in"',
    "volume": 'a plain number is litres; give the unit, as in "6 ft^3"',
    "mass": 'a plain number is kilograms; give the unit, as in "90 lb"',
    "time": 'a plain number is hours; give the unit, as in "10 min"',
    "fraction": 'a share runs from 0 to 1; or write "20 %"',
    "speed": 'a plain number is km/h; give the unit, as in "2 mph"',
    "rate": 'a plain number is m3/h; give the unit, as in "9 L/min"',
}
LONGEST_TEXT = 200  # characters of a name, an id or a reason
FIRST_YEAR, LAST_YEAR = 1950, 2100
_MONTH_DAY = re.compile(r"(\d{1,2})-(\d{1,2})")
_DAYS = (31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)


@dataclass(frozen=True)
class Quantity:
    """What a key's quantity may be, in the kernels' units."""

    dimension: Dimension
    low: float
    high: float
    above: bool = False


class Keys:
    """The keys of one table, or of one feature.

    Parameters
    ----------
    values : mapping
        As the file says; a null counts as absent.
    remarks : Remarks
        Where faults go.
    file, where : str
        Name of the file, and the table or the feature, for the messages.
    """

    def __init__(self, values: Mapping[str, object], remarks: Remarks, *, file: str, where: str) -> None:
        self.values = {key: value for key, value in values.items() if value is not None}
        self.remarks = remarks
        self.file = file
        self.where = where
        self._asked: list[str] = []

    def fault(self, text: str) -> None:
        """Note a fault of this table."""
        self.remarks.fault(self.file, self.where, text)

    def has(self, key: str) -> bool:
        """Return whether the key is there at all."""
        self._ask(key)
        return key in self.values

    def _ask(self, key: str) -> None:
        if key not in self._asked:
            self._asked.append(key)

    def require(self, key: str, advice: str) -> bool:
        """Return whether the key is there; note a fault where it is not."""
        if self.has(key):
            return True
        others = [name for name in self.values if name not in self._asked]
        hint = nearest(key, others)
        meant = f"; is {shown(hint)} meant for it?" if hint else ""
        self.fault(f"{key} is missing; {advice}{meant}")
        return False

    def quantity(self, key: str, rule: Quantity) -> float | None:
        """Return a quantity in the kernels' units."""
        if not self.has(key):
            return None
        value = self.values[key]
        try:
            number = si_value(value, rule.dimension)
        except ValueError as error:
            self.fault(f"{key}: {error}")
            return None
        try:
            return number_within(number, rule.low, rule.high, above=rule.above, what=key, unit=UNITS[rule.dimension])
        except ValueError as error:
            plain = not isinstance(value, str) and rule.dimension in _PLAIN_MEANS
            hint = f"; {_PLAIN_MEANS[rule.dimension]}" if plain and number > rule.high else ""
            self.fault(f"{error}{hint}")
            return None

    def quantities(self, rules: Mapping[str, Quantity]) -> dict[str, float]:
        """Return those quantities that are there and sound."""
        found = {key: self.quantity(key, rule) for key, rule in rules.items()}
        return {key: value for key, value in found.items() if value is not None}

    def money(self, key: str) -> float | None:
        """Return a price: a plain number, not negative."""
        if not self.has(key):
            return None
        value = self.values[key]
        if isinstance(value, (int, float)) and not isinstance(value, bool) and 0 <= value <= 1e9:
            return float(value)
        self.fault(
            f"{key} is {shown(value)}, must be a plain number such as 5.50, at least 0, in the site's currency"
        )
        return None

    def whole(self, key: str, low: int, high: int) -> int | None:
        """Return a whole number."""
        if not self.has(key):
            return None
        value = self.values[key]
        if isinstance(value, float) and math.isfinite(value) and value == int(value):
            value = int(value)
        if isinstance(value, int) and not isinstance(value, bool) and low <= value <= high:
            return value
        self.fault(f"{key} is {shown(value)}, must be a whole number from {low} to {high}")
        return None

    def flag(self, key: str) -> bool | None:
        """Return true or false; 1 and 0 come from files that know no better."""
        if not self.has(key):
            return None
        value = self.values[key]
        written = value.strip().lower() if isinstance(value, str) else value
        if isinstance(written, (bool, int, float, str)) and written in {True, "true", "1"}:
            return True
        if isinstance(written, (bool, int, float, str)) and written in {False, "false", "0"}:
            return False
        self.fault(f"{key} is {shown(value)}, must be true or false")
        return None

    def text(self, key: str, *, longest: int = LONGEST_TEXT) -> str | None:
        """Return a text that is not empty, without control characters."""
        if not self.has(key):
            return None
        value = self.values[key]
        if not isinstance(value, str):
            self.fault(f"{key} is {shown(value)}, must be a text in quotes")
            return None
        cleaned = clean(value)
        if not cleaned:
            self.fault(f"{key} is empty; say something or leave it out")
            return None
        if len(cleaned) > longest:
            self.fault(f"{key} is {len(cleaned)} characters long, must be at most {longest}")
            return None
        return cleaned

    def word(self, key: str, allowed: Collection[str]) -> str | None:
        """Return one of the allowed words."""
        value = self.text(key)
        if value is None:
            return None
        try:
            return one_of(value, allowed, what=key)
        except ValueError as error:
            self.fault(str(error))
            return None

    def month_day(self, key: str) -> MonthDay | None:
        """Return a day of the year, written month-day."""
        if not self.has(key):
            return None
        value = self.values[key]
        match = _MONTH_DAY.fullmatch(value.strip()) if isinstance(value, str) else None
        month, day = (int(match[1]), int(match[2])) if match else (0, 0)
        if 1 <= month <= 12 and 1 <= day <= _DAYS[month - 1]:
            return MonthDay(month, day)
        swapped = 1 <= day <= 12 and 1 <= month <= _DAYS[day - 1]
        hint = f'; the month comes first: "{day:02d}-{month:02d}"?' if swapped else ""
        self.fault(f'{key} is {shown(value)}, must be a month and a day of it, such as "05-10"{hint}')
        return None

    def date(self, key: str) -> dt.date | None:
        """Return a day of a year, written as TOML has it or as a text of the same form."""
        if not self.has(key):
            return None
        value = self.values[key]
        if isinstance(value, str):
            try:
                value = dt.date.fromisoformat(value.strip())
            except ValueError:
                value = None
        if isinstance(value, dt.datetime):
            value = value.date()
        if isinstance(value, dt.date) and FIRST_YEAR <= value.year <= LAST_YEAR:
            return value
        came = self.values[key]
        self.fault(f"{key} is {shown(came)}, must be a day such as 2026-03-01, year, month, day")
        return None

    def table(self, key: str) -> dict[str, object] | None:
        """Return a table within this one."""
        if not self.has(key):
            return None
        value = self.values[key]
        if isinstance(value, dict):
            return value
        self.fault(f"{key} is {shown(value)}, must be a table that starts with the line [{key}]")
        return None

    def tables(self, key: str, example: str) -> list[dict[str, object]]:
        """Return a list of tables; empty where there is none."""
        if not self.has(key):
            return []
        value = self.values[key]
        if isinstance(value, list) and all(isinstance(entry, dict) for entry in value):
            return value
        self.fault(f"{key} must be {example}")
        return []

    def no_others(self) -> None:
        """Note a fault for every key that was not asked for."""
        for key in self.values:
            if key not in self._asked:
                hint = nearest(key, self._asked)
                meant = f"did you mean {hint!r}? " if hint else ""
                self.fault(f"{shown(key)} is not known; {meant}(known here: {', '.join(sorted(self._asked))})")
