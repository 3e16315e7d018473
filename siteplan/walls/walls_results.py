"""What do the walls of all beds come to?

Records of plain figures, in SI units and in the site's currency. The modules beside this one compute them.
Rounding, people's units and words are left out: `siteplan.say` has those.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated, Literal

from siteplan.land.document import Hidden, Metres, Named, SquareMetres, Unit
from siteplan.land.walls import PieceKind, WallKind

Role = Literal["side", "post", "brace"]


@dataclass(frozen=True, kw_only=True)
class Piece:
    """So many equal pieces of timber of one frame.

    Attributes
    ----------
    role : str
        ``side`` (a board of the walls), ``post`` or ``brace`` (a board across).
    length, width : float
        As sawn; the width is that of the board, 0 of a post. [m]
    count : int
    """

    role: Role
    length: Metres
    width: Metres
    count: int


@dataclass(frozen=True, kw_only=True)
class FrameWalls:
    """The walls of one frame of a bed.

    Attributes
    ----------
    bed : str
    number : int
        Of the frame, 1 for the lowest.
    kind : str
    height, built : float
        As drawn; and as the boards' widths come to. [m]
    around : float
        Length of the walls along their middle. [m]
    courses : tuple of float
        Widths of the boards on each other, bottom to top; empty where it is not built of boards. [m]
    pieces : tuple of Piece
    posts_at, braces_at : tuple of float
        Of the posts between two corners of a long side, and of the braces across: from its end. [m]
    corners, side_posts : int
    screws : int
    blocks : int
        0 where it is not of masonry, or where nobody says how large a block is.
    sheet : float
        Of a metal wall: its outer length times its height. [m2]
    shaped : bool
        Whether it is no rectangle, so that braces across are not reckoned.
    """

    bed: str
    number: int
    kind: WallKind
    height: Metres
    built: Annotated[float, Named("built_height"), Unit("m")]
    around: Annotated[float, Named("length_around"), Unit("m")]
    courses: tuple[Metres, ...] = ()
    pieces: tuple[Piece, ...] = ()
    posts_at: tuple[Metres, ...] = ()
    braces_at: tuple[Metres, ...] = ()
    corners: int = 0
    side_posts: int = 0
    screws: int = 0
    blocks: int = 0
    sheet: SquareMetres = 0.0
    shaped: bool = False


@dataclass(frozen=True, kw_only=True)
class Sawn:
    """So many boards or posts of one stock length that are sawn alike.

    Attributes
    ----------
    material : str
    width, stock : float
        Of the board, 0 of a post; and its stock length. [m]
    count : int
    pieces : tuple of (float, int)
        Lengths with their number, longest first. [m]
    rest : float
        What stays of one, after all cuts. [m]
    """

    material: PieceKind
    width: Metres
    stock: Annotated[float, Named("stock_length"), Unit("m")]
    count: int
    pieces: Hidden[tuple[tuple[float, int], ...]]
    rest: Metres


@dataclass(frozen=True, kw_only=True)
class WallPurchase:
    """One line of what is bought for the walls.

    Attributes
    ----------
    material : str
    count : int
        Pieces, or boxes of screws.
    wanted : int
        Of single pieces; of screws, those in all boxes may be more.
    cost : float or None
        None where nobody offers it.
    length, width : float
        Of a board or a post; 0 where there is none. [m]
    name : str
        Of the offer.
    each : int
        Pieces in a box.
    """

    material: PieceKind
    count: int
    wanted: int
    cost: float | None
    length: Metres = 0.0
    width: Metres = 0.0
    name: str = ""
    each: int = 1


@dataclass(frozen=True, kw_only=True)
class WallPlan:
    """The walls of all beds of a property.

    Attributes
    ----------
    frames : tuple of FrameWalls
        Bed by bed, bottom to top.
    cuts : tuple of Sawn
    purchase : tuple of WallPurchase
    proven : bool
        Whether no other way of cutting costs less (or, without prices, takes less length).
    used, bought : float
        Length of all pieces, and of all boards and posts bought. [m]
    too_long : tuple of (str, float)
        Beds of which a piece is longer than every board that is offered in its width, and that length. [m]
    assumed : bool
        Whether stock lengths or widths are those of common practice, since nobody gave them.
    """

    frames: tuple[FrameWalls, ...] = ()
    cuts: tuple[Sawn, ...] = ()
    purchase: tuple[WallPurchase, ...] = ()
    proven: bool = True
    used: Annotated[float, Named("timber_used"), Unit("m")] = 0.0
    bought: Annotated[float, Named("timber_bought"), Unit("m")] = 0.0
    too_long: Hidden[tuple[tuple[str, float], ...]] = ()
    assumed: bool = True

    @property
    def lacking(self) -> tuple[str, ...]:
        """What nobody offers."""
        return tuple(dict.fromkeys(line.material for line in self.purchase if line.cost is None))

    @property
    def price(self) -> float | None:
        """Of all that is offered; None where nothing is."""
        costs = [line.cost for line in self.purchase if line.cost is not None]
        return math.fsum(costs) if costs else None
