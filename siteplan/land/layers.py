"""Of which layers is a bed's fill made?

A layer is given by its share of the depth or by its thickness. The recipe of a property, or a usual one by the bed's
height, lists them. `fill` works out how thick each is in a bed.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Annotated, ClassVar

from siteplan.land.record import Record
from siteplan.land.values import Mix, Quantity, Text

SHARE = Quantity("fraction", above=0, most=1)
SHARES_TOLERANCE = 1e-3  # thirds and eighths are written to three or four decimals
#: the name under which logs, branches, leaves, straw and the like go in together
COARSE = "coarse organic"
#: m, about 18 in (a bed of 45 cm is not low): roots want 8 to 12 in of soil, so a lower bed has no depth to spare for
#: a base, which sinks for years. Common practice, no source
LOW_BELOW = 0.449


@dataclass(frozen=True, kw_only=True)
class LayerSpec(Record):
    """One layer of the recipe: a share of the inside depth, or a thickness. [m]

    A blended layer names its parts in `mix`, materials with their shares by volume; `material` is then its name.
    """

    exactly_one: ClassVar = ("fraction", "thickness")

    material: Annotated[str, Text(), "of the layer; the name of a blend where mix is given"]
    fraction: Annotated[float | None, SHARE, "share of the bed's inside depth"] = None
    thickness: Annotated[float | None, Quantity("length", above=0, most=3), "of the layer, in place of a share"] = (
        None
    )
    mix: Annotated[tuple[tuple[str, float], ...], Mix(), "a blend: its materials with their shares by volume"] = ()

    @property
    def parts(self) -> tuple[tuple[str, float], ...]:
        """The materials of the layer with their shares by volume, which sum to 1.

        Examples
        --------
        >>> LayerSpec(material="topsoil", fraction=1.0).parts
        (('topsoil', 1.0),)
        >>> LayerSpec(material="upper mix", fraction=1.0, mix=(("topsoil", 3), ("compost", 1))).parts
        (('topsoil', 0.75), ('compost', 0.25))
        """
        total = sum(share for _, share in self.mix)
        return tuple((name, share / total) for name, share in self.mix) if self.mix else ((self.material, 1.0),)


# common practice of the trade, no source: coarse to three eighths, topsoil to three quarters, then compost, castings
USUAL_SHARES = {COARSE: 0.375, "topsoil": 0.375, "compost": 0.2083, "worm castings": 0.0417}
USUAL_LAYERS = tuple(LayerSpec(material=name, fraction=share) for name, share in USUAL_SHARES.items())
#: the same without the coarse base, in the same proportion
LOW_SHARES = {"topsoil": 0.6, "compost": 0.3333, "worm castings": 0.0667}
LOW_LAYERS = tuple(LayerSpec(material=name, fraction=share) for name, share in LOW_SHARES.items())


def shares_faults(layers: Sequence[LayerSpec]) -> Iterator[str]:
    """Yield a fault if the fractions do not sum to 1, or to at most 1 where a layer has a thickness instead."""
    total = math.fsum(layer.fraction or 0.0 for layer in layers)
    by_thickness = any(layer.thickness is not None for layer in layers)
    if total > 1 + SHARES_TOLERANCE or (layers and not by_thickness and total < 1 - SHARES_TOLERANCE):
        rule = "must sum to at most 1 beside a thickness" if by_thickness else "must sum to 1"
        shares = " + ".join(f"{layer.fraction:g}" for layer in layers if layer.fraction is not None)
        yield f"layers: the fractions {shares} sum to {total:g}, {rule}"


@dataclass(frozen=True, kw_only=True)
class Recipe(Record):
    """What goes into every bed that has no layers of its own, bottom to top."""

    layers: Annotated[
        tuple[LayerSpec, ...],
        "of beds without their own; left out: topsoil, compost and castings, from 45 cm (18 in) over a coarse base",
    ] = ()
    lining: Annotated[str, Text(), "sheet on the ground below the fill, such as cardboard, or none"] = "none"

    def _conflicts(self) -> Iterator[str]:
        yield from shares_faults(self.layers)

    def layers_at(self, height: float) -> tuple[LayerSpec, ...]:
        """Return the layers of a bed of that height [m]: the recipe's own, or the usual ones.

        Examples
        --------
        >>> [layer.material for layer in Recipe().layers_at(0.3048)]
        ['topsoil', 'compost', 'worm castings']
        >>> Recipe().layers_at(0.45)[0].material
        'coarse organic'
        """
        return self.layers or (LOW_LAYERS if height < LOW_BELOW else USUAL_LAYERS)


@dataclass(frozen=True, kw_only=True)
class NamedRecipe(Record):
    """A recipe with a name that beds can refer to."""

    name: Annotated[str, Text(), "by which a bed's layers ask for it"]
    layers: Annotated[tuple[LayerSpec, ...], "bottom to top, as of [fill]"]

    def _conflicts(self) -> Iterator[str]:
        yield from shares_faults(self.layers)
