"""Under which key is a field written in plan.json?

Markers for the type of a result's field, as in ``Annotated[float, Unit("m3")]``, and short names for the usual ones:
``volume: CubicMetres`` is written as ``volume_m3``. A field without a marker is written under its own name.
`show/tables/document_records.py` does the writing.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, TypeVar


@dataclass(frozen=True)
class Unit:
    """The unit that is appended to a field's name."""

    unit: str


@dataclass(frozen=True)
class Named:
    """The name under which a field is written; empty if the field is not written."""

    name: str


_Kind = TypeVar("_Kind")

#: a field that is not written
Hidden = Annotated[_Kind, Named("")]
Metres = Annotated[float, Unit("m")]
SquareMetres = Annotated[float, Unit("m2")]
CubicMetres = Annotated[float, Unit("m3")]
Kilograms = Annotated[float, Unit("kg")]
Degrees = Annotated[float, Unit("deg")]
Newtons = Annotated[float, Unit("n")]
Pascals = Annotated[float, Unit("pa")]
Hours = Annotated[float, Unit("h")]
