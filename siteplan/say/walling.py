"""What is said about the walls: boards, posts, braces, the cut list and the cost?

Text for the terminal and the work sheet, in sizes to read off a tape; exact values are in plan.json.
Cautions come with the fill.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from siteplan.land.unit_sizes import FOOT, INCH
from siteplan.land.units import EIGHTHS, System, length_text, tape_mark
from siteplan.say.figures import money_text, plural
from siteplan.say.phrases import listed, with_capital
from siteplan.say.safe_text import plain_text
from siteplan.walls.walls_results import FrameWalls, Piece, Role, Sawn, TooLong, WallPlan, WallPurchase

if TYPE_CHECKING:
    from siteplan.records import Answers

_NEAR = 0.003  # m; a smaller difference from the height drawn is not mentioned
_ROLES: dict[Role, str] = {"side": "side board", "post": "post", "brace": "brace"}


def sawn_text(metres: float, units: System) -> str:
    """Return a length to cut a piece to: in millimetres, or in inches and eighths.

    Examples
    --------
    >>> sawn_text(1.143, "imperial"), sawn_text(0.4731, "imperial"), sawn_text(1.1238, "metric")
    ('45 in', '18 5/8 in', '1124 mm')
    >>> sawn_text(0.0127, "imperial"), sawn_text(0, "imperial")
    ('1/2 in', '0 in')
    """
    if units == "metric":
        return f"{metres * 1000:.0f} mm"
    inches, part = divmod(round(metres / INCH * 8), 8)
    return f"{inches or ''}{EIGHTHS[part]}".strip() + " in" if inches or part else "0 in"


def frame_rows(plan: Answers) -> list[dict[str, str]]:
    """Return the name of each frame, and a sentence or two on what it is built of."""
    walls = plan.walls
    if walls is None:
        return []
    tiered_beds = {frame.bed for frame in walls.frames if frame.number > 1}
    return [
        {
            "bed": plain_text(frame.bed, longest=60)
            + (f", frame {frame.number}" if frame.bed in tiered_beds else ""),
            "what": _frame_text(frame, plan.site.units),
        }
        for frame in walls.frames
    ]


def _frame_text(walls: FrameWalls, units: System) -> str:
    """Return what one frame is built of, in sentences."""
    if walls.kind == "masonry":
        around, high = _along_text(walls.around, units), length_text(walls.height, units)
        count = f"about {walls.blocks} blocks, breakage not counted" if walls.blocks else "give the size of a block"
        return f"Masonry, {around} along its middle and {high} high: {count}."
    if walls.kind == "metal":
        sheet_length = _along_text(walls.sheet / walls.height, units)
        return (
            f"Metal: {sheet_length} of sheet {length_text(walls.height, units)} high, laps and corners not counted."
        )
    parts = [_courses_text(walls, units), *_pieces_texts(walls, units)]
    if walls.posts_at:
        marks = listed([_mark_text(mark, walls.posts_at, units) for mark in walls.posts_at])
        parts.append(f"posts{' and braces' if walls.braces_at else ''} of a long side at {marks} from its end")
    parts.append(plural(walls.screws, "screw"))
    text = "; ".join(parts)
    shaped = " It is no rectangle: where it wants braces across, a builder must say." if walls.shaped else ""
    return f"{with_capital(text)}.{shaped}"


def _mark_text(metres: float, among: Sequence[float], units: System) -> str:
    """Return one of several marks along a tape; in metric sites all are in metres where one is a metre or more."""
    if units == "metric" and max(among) >= 1:
        return f"{metres:.2f} m"
    return tape_mark(metres, units)


def _along_text(metres: float, units: System) -> str:
    return f"{metres:.2f} m" if units == "metric" else f"{metres / FOOT:.1f} ft"


def _courses_text(walls: FrameWalls, units: System) -> str:
    """Return which boards are laid on each other, the height they reach, and how wide the uppermost is sawn."""
    widths = [sawn_text(width, units) for width in dict.fromkeys(walls.courses)]
    counts = [walls.courses.count(width) for width in dict.fromkeys(walls.courses)]
    laid = " and ".join(f"{count} of {width}" for count, width in zip(counts, widths, strict=True))
    excess = walls.built - walls.height
    note = ""
    if walls.ripped:
        uppermost = walls.built - math.fsum(walls.courses[:-1])
        note = f" once the uppermost is ripped (sawn lengthwise) to {sawn_text(uppermost, units)}"
    elif abs(excess) > _NEAR:
        note = f", {sawn_text(abs(excess), units)} {'more' if excess > 0 else 'less'} than drawn"
    return f"courses of boards: {laid}, {sawn_text(walls.built, units)} high{note}"


def _pieces_texts(walls: FrameWalls, units: System) -> list[str]:
    """Return the side boards of each width, the posts and the braces in words."""
    texts = []
    for width in dict.fromkeys(walls.courses):
        wide = f" {sawn_text(width, units)} wide" if len(set(walls.courses)) > 1 else ""
        boards = [piece for piece in walls.pieces if piece.role == "side" and piece.width == width]
        texts.append(f"side boards{wide} {listed([_each(piece, units) for piece in boards])}")
    others = f", {walls.side_posts} between" if walls.side_posts else ""
    texts += [
        f"posts {_each(piece, units)} ({walls.corners} in the corners{others})"
        for piece in walls.pieces
        if piece.role == "post"
    ]
    return texts + [f"braces across {_each(piece, units)}" for piece in walls.pieces if piece.role == "brace"]


def _each(piece: Piece, units: System) -> str:
    return f"{piece.count} of {sawn_text(piece.length, units)}"


def cut_rows(plan: Answers) -> list[dict[str, Any]]:
    """Return the cut list: how many boards of which size, what is cut from each, and the offcut."""
    walls, units = plan.walls, plan.site.units
    if walls is None:
        return []
    return [
        {
            "count": cut.count,
            "board": _stock_text(cut, units),
            "pieces": ", ".join(f"{count} of {sawn_text(length, units)}" for length, count in cut.pieces),
            "rest": sawn_text(cut.rest, units) if cut.rest > _NEAR else "",
        }
        for cut in walls.cuts
    ]


def _stock_text(cut: Sawn | WallPurchase, units: System) -> str:
    length = cut.stock if isinstance(cut, Sawn) else cut.length
    wide = f" {sawn_text(cut.width, units)} wide" if cut.width else ""
    return f"{cut.material}{wide}, {length_text(length, units)}"


def wall_purchase_rows(plan: Answers) -> list[dict[str, Any]]:
    """Return the shopping list for the walls."""
    walls, site = plan.walls, plan.site
    if walls is None:
        return []
    return [
        {
            "material": line.material,
            "offer": piece_text(line, site.units),
            "count": line.count,
            "cost": "no offer" if line.cost is None else money_text(line.cost, site.currency),
        }
        for line in walls.purchase
    ]


def piece_text(line: WallPurchase, units: System) -> str:
    """Return one line of the shopping list in words.

    Examples
    --------
    >>> board = WallPurchase(material="board", count=6, wanted=6, cost=None, length=2.4384, width=0.23495)
    >>> piece_text(board, "imperial")
    'board 9 1/4 in wide, 8 ft'
    >>> piece_text(WallPurchase(material="screws", count=2, wanted=93, cost=18, each=50), "metric")
    '93 screws, in boxes of 50'
    """
    if line.length:
        piece = _stock_text(line, units)
    elif line.each > 1:
        piece = f"{line.wanted} {line.material}, in boxes of {line.each}"
    else:
        piece = line.material
    return f"{line.name}: {piece}" if line.name else piece


def wall_sentences(plan: Answers) -> list[str]:
    """Return sentences on the cost of the walls, on the waste, and on what is assumed as common practice."""
    walls, site = plan.walls, plan.site
    if walls is None or not walls.frames:
        return []
    sentences = _price_sentences(walls, site.currency)
    if walls.bought:
        proof = "no other way of sawing " + ("costs less" if walls.price is not None else "takes less")
        if not walls.proven:
            proof = f"another way of sawing would save {walls.could_save:.1%} at most"
        sentences.append(f"Offcuts and sawdust are {1 - walls.used / walls.bought:.0%} of the timber; {proof}.")
    beds = dict.fromkeys(one.bed for one in walls.too_long)
    sentences += [_too_long_text(bed, walls.too_long, site.units) for bed in beds]
    if any(frame.kind == "timber" for frame in walls.frames):
        sizes = "Sizes of boards, posts" if walls.assumed else "Posts"
        sentences.append(
            f"{sizes} and braces are common practice, not a builder's figures: who signs for walls, and the local "
            "code, come first. Use untreated durable wood, or timber that is allowed for food beds."
        )
    return sentences


def _too_long_text(bed: str, too_long: Sequence[TooLong], units: System) -> str:
    """Return which pieces of one bed are longer than all that is offered."""
    counts: Counter[tuple[str, float, float]] = Counter()
    for one in too_long:
        if one.bed == bed:
            counts[_ROLES[one.piece.role], one.piece.length, one.piece.width] += one.piece.count
    pieces = [
        f"{plural(count, role)} of {sawn_text(length, units)}" + (f" × {sawn_text(width, units)}" if width else "")
        for (role, length, width), count in counts.items()
    ]
    are = "it is" if counts.total() == 1 else "they are"
    return (
        f"{plain_text(bed, longest=60)} wants {listed(pieces)}, longer than anything offered: {are} left out of the "
        "cut list and of what to buy."
    )


def _price_sentences(walls: WallPlan, currency: str) -> list[str]:
    names = [{"board": "boards", "post": "posts", "block": "blocks"}.get(name, name) for name in walls.lacking]
    lacking = f"nobody offers {listed(names)}" if names else ""
    if walls.price is None:
        return [f"No total for the walls: {lacking}."] if lacking else []
    without = ", without the pieces that are longer than anything offered" if walls.too_long else ""
    return [f"The walls cost {walls.price:,.2f} {currency}{without}" + (f", but {lacking}." if lacking else ".")]


def wall_values(plan: Answers) -> dict[str, Any]:
    """Return what the work sheet says about the walls."""
    return {
        "walls": frame_rows(plan),
        "cuts": cut_rows(plan),
        "wall_purchase": wall_purchase_rows(plan),
        "wall_sentences": wall_sentences(plan),
    }
