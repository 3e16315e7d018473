"""Which kinds of feature are there, how are they drawn, and which properties do they take?

The properties are the fields of the kind's record (land/features.py), and a few that only a file has.
`feature_records.py` makes features of them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from types import MappingProxyType
from typing import Annotated, Literal

from siteplan.files.site_toml.keys import is_read
from siteplan.land.features import (
    SURFACES,
    Bed,
    Building,
    Door,
    Fence,
    Gate,
    Hedge,
    Keepout,
    Level,
    Pile,
    Surface,
    Tap,
    Tree,
)
from siteplan.land.record import Field, Record, fields_of
from siteplan.land.spread import Measured
from siteplan.land.values import Lengths, Quantity

POLYGON, LINE, POINT = "Polygon", "LineString", "Point"


@dataclass(frozen=True, kw_only=True)
class _Growth(Record):
    """Properties of a tree that only a file has: crown of a tree drawn as a point, its density, several stems."""

    crown_diameter: Annotated[
        float | None,
        Quantity("length", above=0, most=60, usual=(0.5, 25), spread=True),
        "of the crown from side to side; wanted for a point",
    ] = None
    crown_radius: Annotated[
        float | None,
        Quantity("length", above=0, most=30, usual=(0.25, 12.5), spread=True),
        "in place of crown_diameter",
    ] = None
    crown_density: Annotated[
        Literal["open", "medium", "dense"], "of its leaves: open as honey locust or birch, dense as lime or beech"
    ] = "medium"
    trunk_diameters: Annotated[
        tuple[float, ...],
        Lengths(Quantity("length", above=0, most=15, usual=(0.01, 1.5))),
        "of each stem at breast height, where it has several: in place of trunk_diameter",
    ] = ()


@dataclass(frozen=True, kw_only=True)
class _Band(Record):
    """The width of a hedge drawn as a line: a property that only a file has."""

    width: Annotated[
        float | None, Quantity("length", above=0, most=50, usual=(0.2, 4)), "across; wanted for a line"
    ] = None


@dataclass(frozen=True)
class Kind:
    """How one kind of feature is drawn and described.

    Attributes
    ----------
    record : type or None
        The record of the feature; its fields are the properties. None for the boundary.
    shapes : tuple of str
        Geometry types, the usual one first.
    parts : bool
        Whether it may have several parts (a MultiPolygon, a MultiLineString).
    by_shape : tuple of (str, str)
        Geometry type, and a property that is required for this type only.
    may_lack : tuple of str
        Properties that the record must have, but that the reader can work out if a file leaves them out.
    or_else : tuple of (str, str)
        A required property, and another that may be given in its place.
    beside : type or None
        A record of the properties that a file may have in addition to the record's fields.
    """

    record: type[Record] | None
    shapes: tuple[str, ...]
    parts: bool = False
    by_shape: tuple[tuple[str, str], ...] = ()
    may_lack: tuple[str, ...] = ()
    or_else: tuple[tuple[str, str], ...] = ()
    beside: type | None = None

    @cached_property
    def fields(self) -> Mapping[str, Field]:
        """All properties that it takes, required ones first."""
        fields: dict[str, Field] = {}
        for record in (self.record, self.beside):
            if record is not None:
                fields |= {name: field for name, field in fields_of(record).items() if is_read(field)}
        first, last = (*self.required, *(name for name, _ in self.or_else)), fields_of(Measured)

        def rank(name: str) -> int:
            """Rank required properties first, those of every measured feature last."""
            return (name not in first) + 2 * (name in last)

        return {name: fields[name] for name in sorted(fields, key=rank)}

    @property
    def required(self) -> tuple[str, ...]:
        """Properties that it must have, whatever its geometry type."""
        record = {} if self.record is None else fields_of(self.record)
        return tuple(
            name for name, field in record.items() if field.required and is_read(field) and name not in self.may_lack
        )


KINDS = MappingProxyType(
    {
        "boundary": Kind(None, (POLYGON,)),
        "building": Kind(Building, (POLYGON,), parts=True),
        "tree": Kind(
            Tree, (POLYGON, POINT), parts=True, by_shape=((POINT, "crown_diameter"),), may_lack=("crown_base",),
            beside=_Growth,
        ),
        "hedge": Kind(Hedge, (POLYGON, LINE), parts=True, by_shape=((LINE, "width"),), beside=_Band),
        "fence": Kind(Fence, (LINE, POLYGON), parts=True),
        "surface": Kind(Surface, (POLYGON,), parts=True),
        "gate": Kind(Gate, (POINT, LINE), by_shape=((POINT, "width"),), may_lack=("width",)),
        "tap": Kind(Tap, (POINT,)),
        "pile": Kind(Pile, (POINT, POLYGON), parts=True),
        "door": Kind(Door, (POINT,)),
        "bed": Kind(Bed, (POLYGON,), or_else=(("height", "tiers"),)),
        "keepout": Kind(Keepout, (POLYGON,), parts=True),
        "level": Kind(Level, (POINT,)),
    },
)  # fmt: skip

#: keys that a feature's property may carry, whatever its kind
PROPERTY_KEYS = frozenset({"id", "kind"}.union(*(kind.fields for kind in KINDS.values())))

#: how to mend a missing required key
ADVICE = MappingProxyType(
    {
        "height": "measure it from the ground",
        "width": "give the width of the gap, or of the hedge, across",
        "crown_diameter": "a tree drawn as a point needs it; measure the crown from side to side",
        "surface": f"one of {', '.join(SURFACES)}",
        "reason": "say why the ground must stay free",
        "elevation": "give the height of the ground there above a zero that all levels share",
    },
)
