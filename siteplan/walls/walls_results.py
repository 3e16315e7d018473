"""Which results are there for the walls of all beds?

Records of plain figures, in SI units and in the site's currency. The other modules of this folder compute them.
Rounding, other units and texts are in `siteplan.say`.
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
    """A number of equal pieces of timber in one frame.

    Attributes
    ----------
    role : str
        ``side`` (a board of the walls), ``post`` or ``brace`` (a board across).
    length, width : float
        Length when cut, and width of the board; 0 for a post. [m]
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
        Number of the frame, 1 for the lowest.
    kind : str
    height, built : float
        Height as drawn, and height as built: the sum of the boards' widths, or the height drawn if the uppermost
        board is ripped (cut lengthwise). [m]
    around : float
        Length of the walls along their middle. [m]
    courses : tuple of float
        Widths of the boards laid on each other, as they are bought, bottom to top; empty if the wall is not built of
        boards. [m]
    ripped : bool
        Whether the uppermost board is ripped, so that the wall is as high as it is drawn.
    pieces : tuple of Piece
    posts_at, braces_at : tuple of float
        Distance from the end of a long side of each post between its corners, and of each brace across. [m]
    corners, side_posts : int
    screws : int
    blocks : int
        0 if the wall is not masonry, or if the size of a block is not given.
    sheet : float
        Area of a metal wall: its outer length times its height. [m2]
    shaped : bool
        Whether the frame is not a rectangle; braces are then not computed.
    """

    bed: str
    number: int
    kind: WallKind
    height: Metres
    built: Annotated[float, Named("built_height"), Unit("m")]
    around: Annotated[float, Named("length_around"), Unit("m")]
    courses: tuple[Metres, ...] = ()
    ripped: bool = False
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
    """A number of boards or posts of one stock length that are cut in the same way.

    Attributes
    ----------
    material : str
    width, stock : float
        Width of the board (0 for a post), and stock length. [m]
    count : int
    pieces : tuple of (float, int)
        Length of each piece and how many of it, longest first. [m]
    rest : float
        Offcut: what is left of one board after all cuts. [m]
    """

    material: PieceKind
    width: Metres
    stock: Annotated[float, Named("stock_length"), Unit("m")]
    count: int
    pieces: Hidden[tuple[tuple[float, int], ...]]
    rest: Metres


@dataclass(frozen=True, kw_only=True)
class WallPurchase:
    """One line of the shopping list for the walls.

    Attributes
    ----------
    material : str
    count : int
        Pieces, or boxes of screws.
    wanted : int
        Single pieces that are needed; boxes may hold more screws than that.
    cost : float or None
        None if nobody offers it.
    length, width : float
        Of a board or a post; 0 if it has none. [m]
    name : str
        Name of the offer.
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
class TooLong:
    """Pieces of one frame that are longer than every board or post that can be had; they are not sawn, nor bought.

    Attributes
    ----------
    bed : str
    number : int
        Number of the frame, 1 for the lowest.
    piece : Piece
    """

    bed: str
    number: int
    piece: Piece


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
    could_save : float
        Share of that cost which another way might save at the most; 0 where `proven`. [1]
    used, bought : float
        Total length of all pieces that are sawn, and of all boards and posts bought. [m]
    too_long : tuple of TooLong
        Pieces longer than every post, or every board of their width, that can be had.
    assumed : bool
        Whether stock lengths or widths are assumed from common practice, since the site gives none.
    """

    frames: tuple[FrameWalls, ...] = ()
    cuts: tuple[Sawn, ...] = ()
    purchase: tuple[WallPurchase, ...] = ()
    proven: bool = True
    could_save: float = 0.0
    used: Annotated[float, Named("timber_used"), Unit("m")] = 0.0
    bought: Annotated[float, Named("timber_bought"), Unit("m")] = 0.0
    too_long: tuple[TooLong, ...] = ()
    assumed: bool = True

    @property
    def lacking(self) -> tuple[str, ...]:
        """Materials that nobody offers."""
        return tuple(dict.fromkeys(line.material for line in self.purchase if line.cost is None))

    @property
    def price(self) -> float | None:
        """Price of all that is bought and on offer; None if nothing is."""
        costs = [line.cost for line in self.purchase if line.cost is not None]
        return math.fsum(costs) if costs else None
