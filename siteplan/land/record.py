"""What are the fields of a record, and are its values sound?

A record is a frozen dataclass whose fields carry markers (land/values.py) and a few words on what they mean, as in
``Annotated[float, Quantity("length", above=0, most=3), "of its walls"]``. It is checked when it is made, from files
or in Python. `files/crosscheck.py` checks records against one another.
"""

from __future__ import annotations

import dataclasses
import datetime as dt
from collections.abc import Hashable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType, NoneType, UnionType
from typing import Annotated, Any, ClassVar, Literal, Union, cast, get_args, get_origin, get_type_hints

from siteplan.land.values import Day, Flag, OneOf, Rule


@dataclass(frozen=True, kw_only=True)
class Record:
    """A record that is checked when it is made.

    Attributes
    ----------
    exactly_one : tuple of str
        Fields of which one must be given, and no more; empty where there is no such choice.

    Raises
    ------
    ValueError
        With a line for each value that is not allowed; if there is none, for each combination that is not allowed.
    """

    exactly_one: ClassVar[tuple[str, ...]] = ()

    def __post_init__(self) -> None:
        messages = (field.fault(getattr(self, name)) for name, field in fields_of(type(self)).items())
        faults = [message for message in messages if message]
        names = [name for name in self.exactly_one if getattr(self, name) is not None]
        faults += not_exactly_one(type(self), names)
        faults = faults or [*self._conflicts()]
        if faults:
            raise ValueError("\n".join(faults))

    def _conflicts(self) -> Iterator[str]:
        """Yield a fault for each combination of values that is not allowed, though each value alone is."""
        yield from ()


@dataclass(frozen=True)
class Field:
    """One field of a record.

    Attributes
    ----------
    name : str
    rule : Rule or None
        What its value may be; None if a file does not give it as one value (a shape, an id, another record).
    meaning : str
        In a few words, as the README's tables print it.
    default : object
        `dataclasses.MISSING` where it must be given.
    optional : bool
        Whether None is allowed.
    kind : type
        Without None.
    """

    name: str
    rule: Rule | None
    meaning: str
    default: Any
    optional: bool
    kind: Any

    @property
    def required(self) -> bool:
        """Whether it must be given."""
        return self.default is dataclasses.MISSING

    def fault(self, value: object) -> str:
        """Return what is wrong with a value, empty if nothing is; the default is always allowed."""
        if self.rule is None or (value is None and self.optional):
            return ""
        if type(value) is type(self.default) and value == self.default:
            return ""
        return self.rule.fault(value, self.name)


def not_exactly_one(record: type[Record], names: list[str]) -> list[str]:
    """Return a fault if none, or several, of the fields in `exactly_one` are given."""
    choice = record.exactly_one
    if not choice or len(names) == 1:
        return []
    fields = f"both {' and '.join(names)}" if names else f"neither {' nor '.join(choice)}"
    return [f"has {fields}; give one of them"]


def fields_of(record: type) -> Mapping[str, Field]:
    """Return the fields of a record by name, in its order.

    Examples
    --------
    >>> from siteplan.land.features import Keepout
    >>> setback = fields_of(Keepout)["setback"]
    >>> setback.default, setback.meaning, setback.fault(-1.0)
    (0.0, 'how far a bed keeps from it', 'setback is -1 m, must be at least 0 and at most 100 m')
    """
    return _fields_of(cast("Hashable", record))


@cache
def _fields_of(record: Any) -> Mapping[str, Field]:
    hints = get_type_hints(record, include_extras=True)
    return MappingProxyType({field.name: _field(field, hints[field.name]) for field in dataclasses.fields(record)})


def _field(field: dataclasses.Field[Any], hint: Any) -> Field:
    """Read one field of a record off its type hint: type, rule and meaning."""
    kind, *extras = get_args(hint) if get_origin(hint) is Annotated else (hint,)
    members = get_args(kind) if get_origin(kind) in {Union, UnionType} else (kind,)
    types = [member for member in members if member is not NoneType]
    only_type = types[0] if len(types) == 1 else None
    rule = next((extra for extra in extras if isinstance(extra, Rule)), None) or _rule_of(only_type)
    return Field(
        name=field.name,
        rule=rule,
        meaning=next((extra for extra in extras if isinstance(extra, str)), ""),
        default=field.default if field.default_factory is dataclasses.MISSING else None,
        optional=NoneType in members,
        kind=only_type,
    )


def _rule_of(kind: Any) -> Rule | None:
    """Return the rule of a type that needs no marker: a Literal, a bool, a date."""
    if get_origin(kind) is Literal:
        return OneOf(get_args(kind))
    return Flag() if kind is bool else Day() if kind is dt.date else None
