"""What are the walls of all beds built of, how is the timber cut, and what does it cost?

It uses the other modules of this folder. Beds that are full already have their walls. Delivery of timber is not
included.

References
----------
Boards of 8, 10, 12 and 16 ft, widths of dressed softwood (3 1/2 to 11 1/4 in) and posts of 8 and 10 ft where a site
is in feet, else 2.4, 3.0, 3.6 and 4.8 m, 100 to 225 mm and posts of 2.4 and 3.0 m: common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from siteplan.fill.bed_tiers import wall_height
from siteplan.land.features import Bed
from siteplan.land.site import Site
from siteplan.land.unit_sizes import INCH
from siteplan.land.walls import COMMON_LENGTHS, PieceKind, PieceOffer
from siteplan.walls.cutting import Cut, Plank, cutting
from siteplan.walls.framing import blocks, framing
from siteplan.walls.walls_results import FrameWalls, Sawn, TooLong, WallPlan, WallPurchase

_POSTS = {system: lengths[:2] for system, lengths in COMMON_LENGTHS.items()}
_WIDTHS = {
    "imperial": tuple(inches * INCH for inches in (3.5, 5.5, 7.25, 9.25, 11.25)),
    "metric": (0.1, 0.125, 0.15, 0.175, 0.2, 0.225),
}
_STEP = {"imperial": INCH / 8, "metric": 0.001}
SPARE = 1.1  # a tenth more screws, since some break or are lost. Common practice, no source
_SAME = 1e-4  # m


@dataclass(frozen=True)
class _Shop:
    """The timber that can be had: what the site offers, else the sizes that are commonly sold."""

    site: Site

    def offers(self, material: PieceKind, width: float = 0.0) -> list[PieceOffer]:
        """Return the offers of boards of a width, or of another kind of piece."""
        return [
            offer
            for offer in self.site.piece_offers
            if offer.material == material and abs((offer.width or 0.0) - width) < _SAME
        ]

    @property
    def widths(self) -> tuple[float, ...]:
        """Widths of boards that can be had. [m]"""
        offered = {offer.width for offer in self.site.piece_offers if offer.width}  # other pieces have none
        return tuple(sorted(offered)) or self.site.walls.board_widths or _WIDTHS[self.site.units]

    def planks(self, material: PieceKind, width: float) -> list[Plank]:
        """Return the stock lengths of boards of a width, or of posts; without an offer, the cost is the length."""
        if offered := self.offers(material, width):
            return [Plank(offer.length or 0.0, offer.price) for offer in offered]
        usual = _POSTS[self.site.units] if material == "post" else COMMON_LENGTHS[self.site.units]
        lengths = self.site.walls.board_lengths if material == "board" else ()
        return [Plank(length, length) for length in lengths or usual]


def plan_walls(site: Site) -> WallPlan:
    """Return what the walls of all beds that are to be filled are built of.

    Parameters
    ----------
    site : Site
        Its beds, settings for walls, and offers by the piece are used.
    """
    shop = _Shop(site)
    frames = tuple(walls for bed in site.beds if not bed.filled for walls in _frames(site, bed, shop))
    timber = _sawn_timber(shop, frames)
    sizes_offered = any(offer.material == "board" for offer in site.piece_offers)
    sizes_set = bool(site.walls.board_lengths and site.walls.board_widths)
    return WallPlan(
        frames=frames,
        cuts=tuple(timber.cuts),
        purchase=(*timber.lines, *_loose_pieces(shop, frames)),
        proven=timber.proven,
        could_save=timber.could_save,
        used=math.fsum(_used(cut) * cut.count for cut in timber.cuts),
        bought=math.fsum(cut.stock * cut.count for cut in timber.cuts),
        too_long=tuple(timber.too_long),
        assumed=not (sizes_offered or sizes_set),
    )


@dataclass
class _SawnTimber:
    """The cut list and what is bought for it; the fields are those of `walls_results.WallPlan`."""

    cuts: list[Sawn] = field(default_factory=list)
    lines: list[WallPurchase] = field(default_factory=list)
    too_long: list[TooLong] = field(default_factory=list)
    proven: bool = True
    could_save: float = 0.0


def _sawn_timber(shop: _Shop, frames: Sequence[FrameWalls]) -> _SawnTimber:
    """Return how the boards of each width, and the posts, are sawn at the least cost."""
    timber, kerf = _SawnTimber(), shop.site.walls.kerf
    for material, width, pieces in _needed_pieces(frames):
        planks = shop.planks(material, width)
        plan = cutting(pieces, planks, kerf=kerf)
        timber.too_long += _too_long(frames, width, plan.too_long)
        if not plan.proven:
            timber.proven = False
            timber.could_save = max(timber.could_save, 1 - plan.least / plan.cost)
        timber.cuts += [_sawn(material, width, planks[cut.plank].length, cut, kerf) for cut in plan.cuts]
        counts = [0] * len(planks)
        for cut in plan.cuts:
            counts[cut.plank] += cut.count
        timber.lines += _bought(shop, material, width, planks, counts)
    return timber


def _frames(site: Site, bed: Bed, shop: _Shop) -> Iterator[FrameWalls]:
    """Yield the walls of each frame of a bed; none if it has no walls, or if they are built already."""
    kind = bed.walls or site.walls.kind
    if kind == "none" or bed.wall_thickness == 0:
        return
    for frame in bed.frames:
        number, outline, height = frame.number, frame.outline, frame.height
        middle = outline.buffer(-bed.wall_thickness / 2, join_style="mitre")
        around = float(middle.length)
        common = {"bed": bed.id, "number": number, "kind": kind, "height": height, "around": around}
        if kind == "timber":
            widths = shop.widths
            longest = max(plank.length for width in widths for plank in shop.planks("board", width))
            timber = framing(
                outline,
                height,
                bed.wall_thickness,
                widths=widths,
                longest=longest,
                step=_STEP[site.units],
                loaded_height=wall_height(bed, frame),
            )
            yield FrameWalls(**common, **vars(timber))  # type: ignore[arg-type]
        elif kind == "masonry":
            walls, count = site.walls, 0
            if walls.block_length is not None and walls.block_height is not None:
                count = blocks(
                    around, height, length=walls.block_length, course=walls.block_height, joint=walls.joint
                )
            yield FrameWalls(**common, built=height, blocks=count)  # type: ignore[arg-type]
        else:
            yield FrameWalls(**common, built=height, sheet=float(outline.length) * height)  # type: ignore[arg-type]


def _needed_pieces(frames: Sequence[FrameWalls]) -> Iterator[tuple[PieceKind, float, dict[float, int]]]:
    """Yield the lengths needed, and how many of each, for boards of each width and for posts."""
    by_width: dict[float, dict[float, int]] = {}  # posts have no width: 0
    for walls in frames:
        for piece in walls.pieces:
            counts = by_width.setdefault(piece.width, {})
            counts[piece.length] = counts.get(piece.length, 0) + piece.count
    for width in sorted(by_width, reverse=True):
        yield "board" if width else "post", width, by_width[width]


def _sawn(material: PieceKind, width: float, stock: float, cut: Cut, kerf: float) -> Sawn:
    """Return a line of the cut list, with the length that is left of each board."""
    cuts = sum(count for _, count in cut.pieces) - 1
    sawn_length = sum(length * count for length, count in cut.pieces) + kerf * cuts
    offcut = max(0.0, stock - sawn_length)
    return Sawn(material=material, width=width, stock=stock, count=cut.count, pieces=cut.pieces, rest=offcut)


def _used(cut: Sawn) -> float:
    """Return the length of all pieces of one board; a piece that takes a whole board is as long as the board. [m]"""
    return min(cut.stock, math.fsum(length * count for length, count in cut.pieces))


def _too_long(frames: Sequence[FrameWalls], width: float, lengths: Sequence[float]) -> Iterator[TooLong]:
    """Yield the pieces of a width, or the posts, that have one of some lengths, frame by frame."""
    for walls in frames:
        for piece in walls.pieces:
            if piece.width == width and piece.length in lengths:
                yield TooLong(bed=walls.bed, number=walls.number, piece=piece)


def _bought(
    shop: _Shop, material: PieceKind, width: float, planks: Sequence[Plank], counts: Sequence[int]
) -> Iterator[WallPurchase]:
    """Yield a line of the shopping list for each stock length that is bought."""
    offers = shop.offers(material, width)
    for number, (plank, count) in enumerate(zip(planks, counts, strict=True)):
        if count:
            yield WallPurchase(
                material=material,
                count=count,
                wanted=count,
                cost=offers[number].price * count if offers else None,
                length=plank.length,
                width=width,
                name=offers[number].name if offers else "",
            )


def _loose_pieces(shop: _Shop, frames: Sequence[FrameWalls]) -> Iterator[WallPurchase]:
    """Yield the lines of the shopping list for screws and blocks, from the cheapest offer."""
    screws = math.ceil(sum(walls.screws for walls in frames) * SPARE - 1e-9)
    blocks_needed = sum(walls.blocks for walls in frames)
    needs: tuple[tuple[PieceKind, int], ...] = (("screws", screws), ("block", blocks_needed))
    for kind, needed in needs:
        if not needed:
            continue
        boxes = [(offer, math.ceil(needed / offer.pieces)) for offer in shop.offers(kind)]
        if not boxes:
            yield WallPurchase(material=kind, count=needed, wanted=needed, cost=None)
            continue
        offer, count = min(boxes, key=lambda box: (box[0].price * box[1], box[1]))
        cost = offer.price * count
        yield WallPurchase(material=kind, count=count, wanted=needed, cost=cost, name=offer.name, each=offer.pieces)
