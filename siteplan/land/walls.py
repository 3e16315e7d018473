"""What are walls built of, and what can be bought for them?

Settings of [walls] in site.toml, and offers by the piece. The folder `walls` counts the pieces.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated, Literal, get_args

from siteplan.land.record import Record
from siteplan.land.unit_sizes import FOOT
from siteplan.land.values import Lengths, Money, Quantity, Text, Whole

WallKind = Literal["timber", "masonry", "metal", "none"]
PieceKind = Literal["board", "post", "screws", "block"]
#: what is sold by the piece
PIECES: tuple[str, ...] = get_args(PieceKind)
#: m; usual lengths of boards in each system of units (common practice, no source)
COMMON_LENGTHS = {"imperial": (8 * FOOT, 10 * FOOT, 12 * FOOT, 16 * FOOT), "metric": (2.4, 3.0, 3.6, 4.8)}
STOCK_LENGTH = Quantity("length", above=0, most=20)
WIDTH = Quantity("length", above=0.01, most=1)


@dataclass(frozen=True, kw_only=True)
class WallSettings(Record):
    """What walls are built of, and the sizes of boards and blocks.

    A saw cut is 3 mm (an eighth of an inch) wide and a mortar joint 10 mm: common practice, no source.
    """

    kind: Annotated[WallKind, "of beds that do not say what theirs are built of; none: nothing is to be built"] = (
        "timber"
    )
    board_lengths: Annotated[
        tuple[float, ...], Lengths(STOCK_LENGTH), "in which boards are sold; common ones where left out"
    ] = ()
    board_widths: Annotated[
        tuple[float, ...], Lengths(WIDTH), "of boards as they measure; common ones where left out"
    ] = ()
    kerf: Annotated[float, Quantity("length", least=0, most=0.02), "what a saw cut takes"] = 0.003
    block_length: Annotated[
        float | None, Quantity("length", above=0.02, most=3), "of a block or brick, for walls of masonry"
    ] = None
    block_height: Annotated[float | None, Quantity("length", above=0.02, most=1), "of a block or brick"] = None
    joint: Annotated[float, Quantity("length", least=0, most=0.05), "of mortar between blocks"] = 0.01

    def _conflicts(self) -> Iterator[str]:
        if (self.block_length is None) != (self.block_height is None):
            yield "give both block_length and block_height, or neither"


@dataclass(frozen=True, kw_only=True)
class PieceOffer(Record):
    """What can be bought by the piece: boards and posts by their length, screws by the box, blocks."""

    material: Annotated[PieceKind, "what it is"]
    price: Annotated[float, Money(each="one piece or box"), "of one piece, or of one box"]
    length: Annotated[float | None, STOCK_LENGTH, "of a board or a post"] = None
    width: Annotated[float | None, WIDTH, "of a board, as it measures"] = None
    pieces: Annotated[int, Whole(1, 100_000), "screws in a box"] = 1
    name: Annotated[str, Text(), "what the offer is called"] = ""

    def _conflicts(self) -> Iterator[str]:
        wants = {"board": ("length", "width"), "post": ("length",)}.get(self.material, ())
        for key in wants:
            if getattr(self, key) is None:
                yield f"{key} is missing; a {self.material} is sold by it"
        for key in {"length", "width"} - set(wants):
            if getattr(self, key) is not None:
                yield f"{key} says nothing of {self.material}; leave it out"
