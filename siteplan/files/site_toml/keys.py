"""What are the values of one table or feature, and has each the right type, dimension and size?

Each key is read by the marker of its record's field (land/values.py). A getter returns the value, or None and notes
the fault itself. A key that no getter has read is unknown.
"""

from __future__ import annotations

import contextlib
import datetime as dt
import json
import math
import re
from collections.abc import Callable, Collection, Mapping
from typing import Any, TypeVar

from shapely import Polygon

from siteplan.files.constant_tables import read_crops
from siteplan.files.remarks import Remarks, clean
from siteplan.files.site_toml.price import price
from siteplan.files.site_toml.unusual import unusual_text
from siteplan.land.features import MonthDay, day_of_a_year
from siteplan.land.nested import Ring, Several
from siteplan.land.outline import COMPASS
from siteplan.land.record import Field, Record, fields_of, not_exactly_one
from siteplan.land.spread import split_spread, spread_days, spread_size
from siteplan.land.units import MEASURES, is_plain, plain_length_means, si_value
from siteplan.land.values import (
    Day,
    Flag,
    Layers,
    Lengths,
    Mix,
    Money,
    Names,
    OneOf,
    Quantity,
    Side,
    Text,
    Whole,
    nearest,
    shown,
)

_MONTH_DAY = re.compile(r"(\d{1,2})-(\d{1,2})")
_SHORT = {"n": "north", "ne": "northeast", "e": "east", "se": "southeast"}
_SHORT |= {"s": "south", "sw": "southwest", "w": "west", "nw": "northwest"}

Made = TypeVar("Made", bound=Record)


def is_read(field: Field) -> bool:
    """Return whether a field's value is read from a file, under its name."""
    return field.rule is not None or field.kind is MonthDay


class Keys:
    """The keys of one table, or of one feature.

    Parameters
    ----------
    values : mapping
        As in the file; a null counts as absent.
    remarks : Remarks
        Collects the faults.
    file, where : str
        Name of the file, and the table or the feature, for the messages.
    feature : str
        Id of the feature whose properties they are; empty for a table.
    currency : str, optional
        Of the prices; if left out, the value of the key currency.
    """

    def __init__(
        self,
        values: Mapping[str, object],
        remarks: Remarks,
        *,
        file: str,
        where: str,
        feature: str = "",
        currency: str | None = None,
    ) -> None:
        self.values = {key: value for key, value in values.items() if value is not None}
        self.remarks = remarks
        self.file = file
        self.where = where
        self.feature = feature
        in_file = self.values.get("currency")
        self.currency = currency or (in_file if isinstance(in_file, str) else "USD")
        self.spreads: dict[str, float] = {}  # of the values that have one: kernels' unit, or days
        self._known: list[str] = []

    def fault(self, text: str) -> None:
        """Note a fault of this table, or one for each line of the text."""
        for line in text.splitlines():
            self.remarks.fault(self.file, self.where, line)

    def has(self, key: str) -> bool:
        """Return whether the key is given; it is known from now on."""
        if key not in self._known:
            self._known.append(key)
        return key in self.values

    def require(self, key: str, advice: str) -> bool:
        """Return whether the key is given; note a fault if it is not."""
        if self.has(key):
            return True
        others = [name for name in self.values if name not in self._known]
        hint = nearest(key, others)
        meant = f"; is {shown(hint)} meant for it?" if hint else ""
        self.fault(f"{key} is missing; {advice}{meant}")
        return False

    def no_others(self) -> None:
        """Note a fault for every key that is not known."""
        for key in self.values:
            if key not in self._known:
                hint = nearest(key, self._known)
                meant = f"did you mean {hint!r}? " if hint else ""
                self.fault(f"{shown(key)} is not known; {meant}(known here: {', '.join(sorted(self._known))})")

    # records

    def field_values(self, record: type[Record], *, but: Collection[str] = ()) -> dict[str, Any]:
        """Return the sound values of a record's fields by name, without those in `but`."""
        fields = {name: field for name, field in fields_of(record).items() if is_read(field) and name not in but}
        for name in (*fields, *but):
            self.has(name)
        values = {name: self.value(field) for name, field in fields.items()}
        return {name: value for name, value in values.items() if value is not None}

    def make(self, record: type[Made], values: Mapping[str, Any]) -> Made | None:
        """Return a record of values that were read; None if a fault is noted, now or before."""
        missing = {name for name, field in fields_of(record).items() if field.required and name not in values}
        choices = [name for name in record.exactly_one if name in self.values]
        if trouble := not_exactly_one(record, choices):
            self.fault("\n".join(trouble))
        if trouble or missing or any(name not in values for name in choices):
            return None
        try:
            return record(**values)
        except ValueError as error:
            self.fault(self.remarks.in_site_units(str(error)))
        return None

    def read(self, record: type[Made], **settled: Any) -> Made | None:
        """Return the record that a whole table describes; `settled` has values that do not come from it."""
        values = self.field_values(record) | settled
        self.no_others()
        return self.make(record, values)

    def value(self, field: Field) -> object:
        """Return one value, read by its field's rule; None if it is absent or wrong."""
        if not self.has(field.name):
            return None
        read: Callable[[Keys, str, Any], object] = _READERS[MonthDay if field.rule is None else type(field.rule)]
        return read(self, field.name, field.rule)

    # values

    def quantity(self, key: str, rule: Quantity) -> float | None:
        """Return a quantity in the kernels' unit."""
        if not self.has(key):
            return None
        unit = self.remarks.unit
        value, spread = split_spread(self.values[key])
        try:
            number = si_value(value, rule.dimension, plain=unit)
            size = spread_size(spread, value, number, rule.dimension, plain=unit)
        except ValueError as error:
            self.fault(f"{key}: {error}")
            return None
        is_length, has_no_unit = rule.dimension == "length", is_plain(value)
        means = plain_length_means(unit) if is_length else MEASURES[rule.dimension].plain_means
        if trouble := rule.fault(number, key):
            trouble = self.remarks.in_site_units(trouble) if is_length else trouble
            self.fault(f"{trouble}; {means}" if has_no_unit and number > rule.most else trouble)
            return None
        self._spread(key, size, counts=rule.spread)
        if is_length and has_no_unit and number:
            self.remarks.plain_length(self.feature, self._full_name(key), value)
        if text := unusual_text(value, number, rule, self.remarks):
            group = f"{self.where.partition(' ')[0]} {key}"
            self.remarks.caution_once("unusual-size", group, self.feature, f"{self._full_name(key)} is {text}")
        return number

    def _spread(self, key: str, size: float | None, *, counts: bool) -> None:
        """Keep the spread of a value, or note that a spread is not used here."""
        if size is not None and counts:
            self.spreads[key] = size
        elif size is not None:
            text = f"{self._full_name(key)} is {shown(self.values[key])}. Its spread changes nothing here."
            self.remarks.caution("spread-unused", self.feature, text)

    def _full_name(self, key: str) -> str:
        """Return a key with its table in front; for a feature the key alone, since the caution has the id."""
        return key if self.feature else f"{self.where} {key}"

    def money(self, key: str, rule: Money, *, size: float | None = None) -> float | None:
        """Return the price of one bag, step or piece; a price by volume needs the size of one. [m3]"""
        if not self.has(key):
            return None
        try:
            return price(self.values[key], key, rule, size=size, currency=self.currency)
        except ValueError as error:
            self.fault(str(error))
            return None

    def text(self, key: str, rule: Text | OneOf | None = None) -> str | None:
        """Return a text that is not empty, without control characters."""
        if not self.has(key):
            return None
        value = self.values[key]
        value = clean(value) if isinstance(value, str) else value
        blank = Text().fault(value, key) if isinstance(rule, OneOf) else ""
        if trouble := blank or (rule or Text()).fault(value, key):
            self.fault(trouble)
            return None
        return str(value)

    def whole(self, key: str, rule: Whole) -> int | None:
        """Return a whole number; 3.0 is one."""
        value = self.values[key]
        if isinstance(value, float) and math.isfinite(value) and value == int(value):
            value = int(value)
        if trouble := rule.fault(value, key):
            self.fault(trouble)
            return None
        return int(str(value))

    def flag(self, key: str, rule: Flag) -> bool | None:
        """Return true or false; some formats have no booleans and hold 1 and 0, or texts."""
        value = self.values[key]
        written = value.strip().lower() if isinstance(value, str) else value
        if isinstance(written, (bool, int, float, str)) and written in {True, "true", "1"}:
            return True
        if isinstance(written, (bool, int, float, str)) and written in {False, "false", "0"}:
            return False
        self.fault(rule.fault(value, key))
        return None

    def month_day(self, key: str, _: None) -> MonthDay | None:
        """Return a day of the year, written month-day."""
        value, spread = split_spread(self.values[key])
        match = _MONTH_DAY.fullmatch(value.strip()) if isinstance(value, str) else None
        month, day = (int(match[1]), int(match[2])) if match else (0, 0)
        day_of_year = day_of_a_year(month, day)
        if day_of_year is None:
            hint = f'; the month comes first: "{day:02d}-{month:02d}"?' if day_of_a_year(day, month) else ""
            self.fault(f'{key} is {shown(value)}, must be a month and a day of it, such as "05-10"{hint}')
            return None
        try:
            self._spread(key, spread_days(spread), counts=bool(self.feature))
        except ValueError as error:
            self.fault(f"{key}: {error}")
        return day_of_year

    def date(self, key: str, rule: Day) -> dt.date | None:
        """Return a date, written as a TOML date or as a text of the same form."""
        value = self.values[key]
        if isinstance(value, str):
            with contextlib.suppress(ValueError):
                value = dt.date.fromisoformat(value.strip())
        if isinstance(value, dt.datetime):
            value = value.date()
        if trouble := rule.fault(value, key):
            self.fault(trouble)
            return None
        return value if isinstance(value, dt.date) else None

    def names(self, key: str, _: Names) -> tuple[str, ...] | None:
        """Return names of crops, from a list or from a text with commas; None if one is not known."""
        value = self.values[key]
        names = value.split(",") if isinstance(value, str) else value
        if not isinstance(names, list) or not all(isinstance(name, str) for name in names):
            self.fault(f'{key} is {shown(value)}, must be names with commas, such as "tomato, lettuce"')
            return None
        crops = list(read_crops())
        chosen = tuple(dict.fromkeys(name.strip().lower() for name in names if name.strip()))
        for name in chosen:
            if name not in crops:
                hint = nearest(name, crops)
                meant = f"did you mean {hint!r}?" if hint else f"known are {', '.join(crops)}"
                self.fault(f"{key}: {shown(name)} is not known; {meant}")
        return chosen if set(chosen) <= set(crops) else None

    def lengths(self, key: str, rule: Lengths) -> tuple[float, ...] | None:
        """Return lengths, from a list or from a text with commas."""
        value = self.values[key]
        value = value.split(",") if isinstance(value, str) else value
        entries = value if isinstance(value, list) else [value]
        # read as a table whose keys are the numbers of the entries, for the messages
        numbered = self.nested({str(number): entry for number, entry in enumerate(entries, 1)}, f"{self.where} {key}")
        lengths = [numbered.quantity(number, rule.each) for number in numbered.values]
        if not lengths:
            self.fault(f'{key} is empty; give lengths, such as ["8 ft", "12 ft"]')
        sound = tuple(sorted(length for length in lengths if length is not None))
        return sound if sound and len(sound) == len(lengths) else None

    def raw(self, key: str, _: Layers) -> object:
        """Return a value as it is in the file; the names of recipes in it are resolved later."""
        return self.values[key]

    def side(self, key: str, rule: Side) -> float | None:
        """Return a side as an azimuth: a compass point or an angle; None for poleward. [degrees]"""
        value = self.values[key]
        word = value.strip().lower().replace("-", "").replace(" ", "") if isinstance(value, str) else ""
        if word == "poleward" and rule.poleward:
            return None
        if (point := _SHORT.get(word, word)) in COMPASS:
            return COMPASS[point]
        if isinstance(value, str) and not any(letter.isdigit() for letter in value):
            allowed = [*COMPASS, "poleward"] if rule.poleward else list(COMPASS)
            hint = nearest(word, allowed)
            meant = f"; did you mean {hint!r}?" if hint else ""
            self.fault(f"{key} {shown(value)} is not a compass point{meant} (allowed: {', '.join(allowed)})")
            return None
        angle = self.quantity(key, rule.angle)
        return None if angle is None else angle % 360

    def ring(self, key: str, _: Ring) -> Polygon | None:
        """Return an outline from its corners, in the coordinates of the file."""
        corners = self.values[key]
        try:
            return Polygon([(float(x), float(y)) for x, y in corners])  # type: ignore[attr-defined]
        except (TypeError, ValueError, OverflowError):
            self.fault(f"{key} is {shown(corners)}, must be three corners or more, such as [[0, 0], [4, 0], [4, 2]]")
        return None

    def several(self, key: str, rule: Several) -> tuple[Record, ...] | None:
        """Return records from a list of tables, or from a text of JSON; None if one of them is wrong."""
        entries = self.values[key]
        if isinstance(entries, str):
            with contextlib.suppress(ValueError, RecursionError):
                entries = json.loads(entries)
        if not isinstance(entries, list) or not entries or not all(isinstance(entry, dict) for entry in entries):
            self.fault(f"{key} is {shown(self.values[key])}, must be {rule.span}, such as {rule.example}")
            return None
        before = len(self.remarks.faults)
        records: list[Record | None] = []
        for number, entry in enumerate(entries, 1):
            keys = self.nested(entry, f"{self.where}, {rule.one} {number}")
            for name in [name for name, field in fields_of(rule.record).items() if field.required]:
                keys.require(name, f"each {rule.one} has one, as in {rule.example}")
            records.append(keys.read(rule.record))
        sound = tuple(record for record in records if record is not None)
        return sound if len(self.remarks.faults) == before else None

    # tables

    def table(self, key: str, _: Mix | None = None) -> dict[str, object] | None:
        """Return a table within this one."""
        if not self.has(key):
            return None
        value = self.values[key]
        if isinstance(value, dict):
            return value
        self.fault(f"{key} is {shown(value)}, must be a table that starts with the line [{key}]")
        return None

    def nested(self, values: Mapping[str, object], where: str) -> Keys:
        """Return the keys of a table within this one."""
        return Keys(values, self.remarks, file=self.file, where=where, currency=self.currency)

    def table_keys(self, key: str) -> Keys:
        """Return the keys of the table [key]; empty if it is absent."""
        return self.nested(self.table(key) or {}, f"[{key}]")

    def tables(self, key: str, example: str) -> list[dict[str, object]]:
        """Return a list of tables; empty if there is none."""
        if not self.has(key):
            return []
        value = self.values[key]
        if isinstance(value, list) and all(isinstance(entry, dict) for entry in value):
            return value
        self.fault(f"{key} must be {example}")
        return []


#: the getter for values of each rule
_READERS: dict[type, Callable[..., object]] = {
    Quantity: Keys.quantity,
    Money: Keys.money,
    Whole: Keys.whole,
    Text: Keys.text,
    OneOf: Keys.text,
    Flag: Keys.flag,
    Day: Keys.date,
    Names: Keys.names,
    Side: Keys.side,
    Ring: Keys.ring,
    Several: Keys.several,
    Mix: Keys.table,
    Layers: Keys.raw,
    Lengths: Keys.lengths,
    MonthDay: Keys.month_day,
}
