"""Which kinds of feature are there, how are they drawn, and which properties do they take?

One table for all kinds, as site-format describes them, with the range of each quantity.
It leaves out how a feature is made of them.
"""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType

from siteplan.files.site_toml.keys import Quantity
from siteplan.land.features import CROWN_FORMS, FOLIAGE, ROWS, SURFACES, TALLEST

POLYGON, LINE, POINT = "Polygon", "LineString", "Point"


@dataclass(frozen=True)
class Kind:
    """How one kind is drawn and described.

    Attributes
    ----------
    shapes : tuple of str
        Geometry types, the usual one first.
    parts : bool
        Whether it may have several parts (a MultiPolygon, a MultiLineString).
    required, optional : tuple of str
        Keys; a key that only one geometry type requires is listed in `by_shape`.
    by_shape : tuple of (str, str)
        Geometry type, and a key that it requires.
    """

    shapes: tuple[str, ...]
    parts: bool = False
    required: tuple[str, ...] = ()
    optional: tuple[str, ...] = ()
    by_shape: tuple[tuple[str, str], ...] = ()

    @property
    def keys(self) -> tuple[str, ...]:
        """All keys that it takes."""
        return (*self.required, *self.optional, *(key for _, key in self.by_shape))


_TREE_KEYS = (
    "crown_base", "foliage", "leaf_out", "leaf_fall", "transmittance_leafy", "transmittance_bare",
    "trunk_diameter", "crown_form", "crown_radius",
)  # fmt: skip
_BED_KEYS = (
    "wall_thickness", "proposed", "trellis_height", "trellis_side", "crop_height", "need", "filled", "crops", "rows",
    "row_spacing",
)  # fmt: skip

KINDS = MappingProxyType(
    {
        "boundary": Kind((POLYGON,)),
        "building": Kind(
            (POLYGON,), True, ("height",), ("base", "transmittance", "eaves", "ridge_heading"),
        ),
        "tree": Kind((POLYGON, POINT), True, ("height",), _TREE_KEYS, ((POINT, "crown_diameter"),)),
        "hedge": Kind((POLYGON, LINE), True, ("height",), ("transmittance",), ((LINE, "width"),)),
        "fence": Kind((LINE, POLYGON), True, ("height",), ("thickness", "transmittance", "base")),
        "surface": Kind((POLYGON,), True, ("surface",)),
        "gate": Kind((POINT, LINE), by_shape=((POINT, "width"),)),
        "tap": Kind((POINT,), optional=("hose_length",)),
        "pile": Kind((POINT, POLYGON), True, optional=("drop",)),
        "door": Kind((POINT,)),
        "bed": Kind((POLYGON,), False, ("height",), _BED_KEYS),
        "keepout": Kind((POLYGON,), True, ("reason",), ("setback",)),
    },
)  # fmt: skip

_HEIGHT = Quantity("length", 0, TALLEST, above=True)
_SHARE = Quantity("fraction", 0, 1)
QUANTITIES = MappingProxyType(
    {
        "height": _HEIGHT,
        "base": Quantity("length", 0, TALLEST),
        "eaves": Quantity("length", 0, TALLEST),
        "ridge_heading": Quantity("angle", -360, 360),
        "transmittance": _SHARE,
        "transmittance_leafy": _SHARE,
        "transmittance_bare": _SHARE,
        "crown_diameter": Quantity("length", 0, 60, above=True),
        "crown_radius": Quantity("length", 0, 30, above=True),
        "crown_base": Quantity("length", 0, TALLEST),
        "trunk_diameter": Quantity("length", 0, 15, above=True),
        "width": Quantity("length", 0, 50, above=True),
        "thickness": Quantity("length", 0, 10, above=True),
        "hose_length": Quantity("length", 0, 1000, above=True),
        "wall_thickness": Quantity("length", 0, 1),
        "trellis_height": Quantity("length", 0, 10, above=True),
        "crop_height": Quantity("length", 0, 10, above=True),
        "row_spacing": Quantity("length", 0.1, 10),
        "need": Quantity("time", 0, 16),
        "setback": Quantity("length", 0, 100),
    },
)
#: quantities that one kind ranges more narrowly
BY_KIND = MappingProxyType({("bed", "height"): Quantity("length", 0, 3, above=True)})
WORDS = MappingProxyType({"foliage": FOLIAGE, "crown_form": CROWN_FORMS, "surface": SURFACES, "rows": ROWS})
FLAGS = ("proposed", "drop", "filled")
MONTH_DAYS = ("leaf_out", "leaf_fall")
TEXTS = ("reason",)

#: keys that a feature's property may carry, whatever its kind
PROPERTY_KEYS = frozenset({"id", "kind"}.union(*(kind.keys for kind in KINDS.values())))

#: what to do where a required key is missing
ADVICE = MappingProxyType(
    {
        "height": "measure it from the ground",
        "width": "give the width of the gap, or of the hedge, across",
        "crown_diameter": "a tree drawn as a point needs it; measure the crown from side to side",
        "surface": f"one of {', '.join(SURFACES)}",
        "reason": "say why the ground must stay free",
    },
)
