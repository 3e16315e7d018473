"""Which boards, posts and braces make one frame?

Boards are laid on each other in courses, with butt joints at square corners. Posts stand in the corners and at even
distances along the sides. Braces tie the two long sides together if the walls are high or long. Footings and strength
are not considered.

References
----------
Posts and braces as far apart as `fill.earth_pressure.brace_spacing` says, two screws at each post in each course,
three in boards wider than 15 cm: common practice, no source.
"""

from __future__ import annotations

import itertools
import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LinearRing, Polygon

from siteplan.fill.bed_findings import why_braced
from siteplan.fill.earth_pressure import even_spans
from siteplan.land.outline import smallest_rectangle
from siteplan.land.unit_sizes import INCH
from siteplan.walls.walls_results import Piece

NEAR = INCH  # m: how far the courses may differ from the height drawn. Common practice, no source
SCREWS, SCREWS_WIDE, WIDE = 2, 3, 0.15  # screws of a board at a post, of a wide board, and what counts as wide [m]
_SQUARE = math.cos(math.radians(85))  # cosine of the smallest angle that counts as square
_STRAIGHT = math.cos(math.radians(20))
_LIKE_A_RECTANGLE = 0.97  # share of its smallest enclosing rectangle from which an outline counts as a rectangle
_ALIKE = 0.01  # m; sides that differ by less count as equally long
_EVEN = 1e-6


def courses(height: float, widths: Sequence[float]) -> tuple[float, ...]:
    """Return the widths of the fewest boards that make a wall within an inch of a height.

    Parameters
    ----------
    height : float
        [m]
    widths : sequence of float
        Widths of boards that can be had. [m]

    Returns
    -------
    tuple of float
        Widest first. [m] Of equally many boards, those that come nearest to the height, then those of equal width. If
        none come within an inch, the fewest that reach the height: the top board is then ripped (cut lengthwise).

    Examples
    --------
    >>> inch = 0.0254
    >>> [round(width / inch, 2) for width in courses(18 * inch, [5.5 * inch, 9.25 * inch])]
    [9.25, 9.25]
    """
    for count in itertools.count(1):
        board_sets = [*itertools.combinations_with_replacement(sorted(widths, reverse=True), count)]
        close_sets = [boards for boards in board_sets if abs(sum(boards) - height) <= NEAR + _EVEN]
        candidates = close_sets or [boards for boards in board_sets if sum(boards) > height]
        if candidates:
            return min(candidates, key=lambda boards: (round(abs(sum(boards) - height), 4), len(set(boards))))
    raise AssertionError("a wall has an end")


@dataclass(frozen=True)
class Sides:
    """The sides of an outline, as boards.

    Attributes
    ----------
    boards : tuple of float
        Length of the board along each side, with the butt joints at the corners counted. [m]
    edges : tuple of float
        Outer length of each side. [m]
    corners : int
    """

    boards: tuple[float, ...]
    edges: tuple[float, ...]
    corners: int


def ripped(boards: Sequence[float], height: float) -> bool:
    """Return whether the uppermost of some boards is ripped, since they reach more than an inch above a height. [m]

    Examples
    --------
    >>> ripped([0.235, 0.235], 0.305), ripped([0.235, 0.235], 0.457)
    (True, False)
    """
    return sum(boards) - height > NEAR + _EVEN


def sides(outline: Polygon, thickness: float) -> Sides:
    """Return the boards along the sides of an outline, inside it.

    At a square corner the longer board runs through, and the shorter one butts against it. Equal boards butt at one
    end each. At a corner that points inwards, the longer board is longer by the other's thickness. At other
    angles boards are mitred: they are as long as the side.

    Parameters
    ----------
    outline : Polygon
    thickness : float
        Thickness of the boards. [m]

    Examples
    --------
    >>> from shapely import box
    >>> [round(length, 3) for length in sides(box(0, 0, 2.4, 1.2), 0.04).boards]
    [1.12, 2.4, 1.12, 2.4]
    """
    boards: list[float] = []
    edges: list[float] = []
    corners = 0
    rings = [(outline.exterior, False), *((hole, True) for hole in outline.interiors)]
    for ring, is_hole in rings:
        along = _edges(ring, clockwise=is_hole)
        lengths = np.hypot(along[:, 0], along[:, 1])
        ways = along / lengths[:, None]
        sawn = lengths.copy()
        for next_side in range(len(along)):
            side = next_side - 1
            cosine = float(ways[side] @ ways[next_side])
            corners += cosine < _STRAIGHT
            if abs(cosine) > _SQUARE:
                continue
            outwards = ways[side][0] * ways[next_side][1] - ways[side][1] * ways[next_side][0] > 0
            passing = side if lengths[side] > lengths[next_side] - _ALIKE else next_side
            if outwards:
                sawn[next_side if passing == side else side] -= thickness
            else:
                sawn[passing] += thickness
        boards += [float(length) for length in sawn]
        edges += [float(length) for length in lengths]
    return Sides(tuple(boards), tuple(edges), corners)


def _edges(ring: LinearRing, *, clockwise: bool) -> NDArray[np.float64]:
    """Return the sides of a ring as vectors, in order, with the bed on the left, shape (n, 2).

    Corners that are almost straight are left out.
    """
    plain = shapely.simplify(shapely.normalize(Polygon(ring)), 0.001)
    points = shapely.get_coordinates(plain)[:-1]
    area = float(np.sum(points[:, 0] * np.roll(points[:, 1], -1) - np.roll(points[:, 0], -1) * points[:, 1]))
    if (area < 0) != clockwise:
        points = points[::-1]
    along: NDArray[np.float64] = np.roll(points, -1, axis=0) - points
    return along


@dataclass(frozen=True, kw_only=True)
class Framing:
    """The timber of one frame; the fields are those of `walls_results.FrameWalls`."""

    built: float
    courses: tuple[float, ...]
    ripped: bool
    pieces: tuple[Piece, ...]
    posts_at: tuple[float, ...]
    braces_at: tuple[float, ...]
    corners: int
    side_posts: int
    screws: int
    shaped: bool


def framing(
    outline: Polygon,
    height: float,
    thickness: float,
    *,
    widths: Sequence[float],
    longest: float,
    step: float,
    loaded_height: float | None = None,
) -> Framing:
    """Return the timber of one frame.

    Parameters
    ----------
    outline : Polygon
        Outline of the outside of the walls.
    height, thickness : float
        Height and thickness of the walls. [m]
    widths : sequence of float
        Widths of boards that can be had. [m]
    longest : float
        Longest board that can be had. A longer side is made of equal pieces, joined at a post. [m]
    step : float
        Precision of measuring with a tape: lengths of pieces are multiples of it. [m]
    loaded_height : float or None
        Height of the fill that loads the walls, for posts and braces; more than `height` where another frame stands
        close behind them. None for `height`. [m]
    """
    load = height if loaded_height is None else loaded_height
    course_widths = courses(height, widths)
    is_ripped = ripped(course_widths, height)
    built = height if is_ripped else sum(course_widths)
    heights = (*course_widths[:-1], built - sum(course_widths[:-1]))  # of the courses as they stand
    side_boards = sides(outline, thickness)
    long, wide, _ = smallest_rectangle(outline)
    shaped = outline.area < _LIKE_A_RECTANGLE * long * wide
    boards, side_posts, fastenings = _along_sides(side_boards, load, longest, step)
    screws_at_post = sum(SCREWS_WIDE if high > WIDE + _EVEN else SCREWS for high in heights)
    spans = _spans(long, load, _parts(long, longest))
    posts_at = tuple(long * number / spans for number in range(1, spans))
    braced = not shaped and why_braced(long, load) != ""
    pieces = [
        Piece(role="side", length=length, width=width, count=count * course_widths.count(width))
        for width in dict.fromkeys(course_widths)
        for length, count in sorted(boards.items(), reverse=True)
    ]
    posts = side_boards.corners + side_posts
    pieces.append(Piece(role="post", length=_to_the_tape(built, step), width=0.0, count=posts))
    braces_at = posts_at if braced else ()
    if braces_at:
        across = _to_the_tape(wide - 2 * thickness, step)
        pieces.append(Piece(role="brace", length=across, width=min(course_widths), count=len(braces_at)))
    return Framing(
        built=built,
        courses=course_widths,
        ripped=is_ripped,
        pieces=tuple(pieces),
        posts_at=posts_at,
        braces_at=braces_at,
        corners=side_boards.corners,
        side_posts=side_posts,
        screws=screws_at_post * fastenings + 2 * SCREWS * len(braces_at),
        shaped=shaped,
    )


def _along_sides(side_boards: Sides, height: float, longest: float, step: float) -> tuple[Counter[float], int, int]:
    """Return for one course the boards by length, the posts between the corners, and how often a board meets a post.

    A course is fastened at both corners of a side, at each post between, and twice at a joint.
    """
    boards: Counter[float] = Counter()
    posts = fastenings = 0
    for board, edge in zip(side_boards.boards, side_boards.edges, strict=True):
        parts = _parts(board, longest)
        boards[min(_to_the_tape(board / parts, step), longest)] += parts
        spans = _spans(edge, height, parts)
        posts += spans - 1
        fastenings += spans + parts
    return boards, posts, fastenings


def _parts(length: float, longest: float) -> int:
    """Return of how many equal boards a side is made; one a thousandth longer than the longest is made of that."""
    return max(1, math.ceil(length / longest - 1e-3))


def _spans(length: float, height: float, parts: int) -> int:
    """Return the number of equal spans into which posts divide a side, with a post at each joint of its parts."""
    return parts * even_spans(length / parts, height)


def _to_the_tape(length: float, step: float) -> float:
    return round(round(length / step) * step, 9)


def blocks(around: float, height: float, *, length: float, course: float, joint: float) -> int:
    """Return how many blocks a wall needs, by its area; breakage is not counted.

    Parameters
    ----------
    around, height : float
        Length of the wall along its middle, and its height. [m]
    length, course, joint : float
        Length of a block, its height, and the thickness of the mortar joint. [m]

    Examples
    --------
    6.8 m of wall, 0.6 m high, of blocks of 44 cm by 21.5 cm: 4.08 m2 / (0.45 m x 0.225 m) = 40.3

    >>> blocks(6.8, 0.6, length=0.44, course=0.215, joint=0.01)
    41
    """
    return math.ceil(around * height / ((length + joint) * (course + joint)) - 1e-6)
