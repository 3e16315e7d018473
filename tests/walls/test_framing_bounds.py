"""Where boards, joints, posts, braces and screws change with a measure: just below it and just above it, by hand."""

from __future__ import annotations

import math

import pytest
from shapely import Polygon, affinity, box

from siteplan.walls.framing import Framing, Sides, blocks, courses, framing, sides
from siteplan.walls.walls_results import Piece

INCH, FOOT = 0.0254, 0.3048


@pytest.mark.parametrize(("height", "widths", "boards"), [
    (12.25, [11.25], [11.25]),  # exactly an inch short
    (12.3, [11.25], [11.25, 11.25]),  # more than an inch short: two boards, of which one is ripped
    (13, [6, 7], [7, 6]),  # 13 in, before 7 + 7 and 6 + 6, which are of equal width and an inch off
    (13, [7, 6], [7, 6]),
    (25, [12, 13], [13, 12]),
])  # fmt: skip
def test_a_wall_comes_within_an_inch_and_as_near_as_its_boards_allow(height, widths, boards):
    found = courses(height * INCH, [width * INCH for width in widths])
    assert [round(width / INCH, 3) for width in found] == boards


@pytest.mark.parametrize(("angle", "boards"), [
    (85.5, [0.92, 0.92, 2, 2]),  # square enough: the longer boards run past both ends of the shorter ones
    (84.5, [1, 1, 2, 2]),  # mitred
    (94.5, [0.92, 0.92, 2, 2]),
    (95.5, [1, 1, 2, 2]),
])  # fmt: skip
def test_up_to_five_degrees_off_a_corner_is_square(angle, boards):
    turn = math.radians(angle)
    east, north = math.cos(turn), math.sin(turn)
    outline = Polygon([(0, 0), (2, 0), (2 + east, north), (east, north)])
    found = sides(outline, 0.04)
    assert sorted(found.boards) == pytest.approx(boards)
    assert sorted(found.edges) == pytest.approx([1, 1, 2, 2])
    assert found.corners == 4


@pytest.mark.parametrize(("bend", "corners"), [(19.5, 4), (20.5, 5), (40.0, 5)])
def test_a_bend_of_more_than_twenty_degrees_is_a_corner_with_a_post(bend, corners):
    rise = math.tan(math.radians(bend / 2))
    found = sides(Polygon([(0, 0), (2, 0), (2, 1), (1, 1 + rise), (0, 1)]), 0.04)
    assert found.corners == corners
    assert len(found.boards) == 5


@pytest.mark.parametrize(("rise", "count"), [(0.0005, 4), (0.002, 5)])
def test_a_bend_of_less_than_a_millimetre_is_no_joint(rise, count):
    assert len(sides(Polygon([(0, 0), (2, 0), (2, 1), (1, 1 + rise), (0, 1)]), 0.04).boards) == count


@pytest.mark.parametrize(("long", "wide", "boards"), [
    (2.0, 1.2, [1.12, 1.12, 2.0, 2.0]),
    (1.205, 1.2, [1.16, 1.16, 1.165, 1.165]),  # less than 1 cm apart: each butts at one end
    (1.215, 1.2, [1.12, 1.12, 1.215, 1.215]),
])  # fmt: skip
def test_the_longer_boards_run_past_the_shorter_ones(long, wide, boards):
    for outline in (box(0, 0, long, wide), box(0, 0, wide, long), affinity.rotate(box(0, 0, long, wide), 37)):
        assert sorted(sides(outline, 0.04).boards) == pytest.approx(boards)


def test_the_boards_of_an_l_by_hand():
    # sides of 4, 2, 2, 1, 2 and 3 m; boards of 0.1 m. The longer board passes, at (4, 2) the first of two as long:
    # 4 passes 2 and 3, 2 passes 2; at the inward corner 2 passes 1 and grows by 0.1; 2 passes 1; 3 passes 2
    shape = Polygon([(0, 0), (4, 0), (4, 2), (2, 2), (2, 3), (0, 3)])
    for turned in (0, 90, 180, 270):
        found = sides(affinity.rotate(shape, turned, origin=(0, 0)), 0.1)
        assert sorted(found.boards) == pytest.approx([0.9, 1.9, 1.9, 2.0, 2.9, 4.0])
        assert sorted(found.edges) == pytest.approx([1, 2, 2, 2, 3, 4])
        assert found.corners == 6


def test_the_walls_of_a_court_stand_outside_of_it():
    # a bed of 4 m by 3 m round a court of 1 m by 0.8 m, boards of 0.1 m. Outside: 4, 4 and 3 - 0.2, twice. Round the
    # court the boards stand in the bed: the longer ones are longer by 0.1 m at both ends
    court = Polygon(box(0, 0, 4, 3).exterior.coords, [box(1.5, 1, 2.5, 1.8).exterior.coords])
    found = sides(court, 0.1)
    assert isinstance(found, Sides)
    assert sorted(found.boards) == pytest.approx([0.8, 0.8, 1.2, 1.2, 2.8, 2.8, 4, 4])
    assert sorted(found.edges) == pytest.approx([0.8, 0.8, 1, 1, 3, 3, 4, 4])
    assert found.corners == 8


def made(long, wide, height, **given):
    """Return the framing of a box in feet, its height in inches, of boards of 9 1/4 in."""
    options = {"widths": [9.25 * INCH], "longest": 16 * FOOT, "step": INCH / 8} | given
    return framing(box(0, 0, long * FOOT, wide * FOOT), height * INCH, 1.5 * INCH, **options)


def test_a_long_bed_whole():
    # 20 ft of boards of 8 ft: three of 80 in a side. A span is at most 0.9 m x 1.05 = 37.2 in: three to a board, nine
    # to a side, and two to an end of 48 in. Posts between the corners: 2 x 8 + 2 x 1. A board meets a post 9 + 3 times
    # along a side and 2 + 1 times at an end: 30, with 2 courses x 3 screws; 8 braces with two screws at both ends
    inches = {name: value * INCH for name, value in {"side": 80, "end": 45, "width": 9.25, "high": 18.5}.items()}
    assert made(20, 4, 18, longest=8 * FOOT) == Framing(
        built=pytest.approx(inches["high"]),
        courses=(inches["width"],) * 2,
        ripped=False,
        pieces=(
            Piece(role="side", length=pytest.approx(inches["side"]), width=inches["width"], count=12),
            Piece(role="side", length=pytest.approx(inches["end"]), width=inches["width"], count=4),
            Piece(role="post", length=pytest.approx(inches["high"]), width=0.0, count=22),
            Piece(role="brace", length=pytest.approx(inches["end"]), width=inches["width"], count=8),
        ),
        posts_at=pytest.approx([number * 240 / 9 * INCH for number in range(1, 9)]),
        braces_at=pytest.approx([number * 240 / 9 * INCH for number in range(1, 9)]),
        corners=4,
        side_posts=18,
        screws=30 * 6 + 8 * 4,
        shaped=False,
    )


@pytest.mark.parametrize(("long", "height", "braces"), [
    (8, 18, []),
    (10, 18, [30, 60, 90]),  # longer than 8 ft, of four spans
    (8, 24, [32, 64]),  # higher than 18 in
    (8, 18.1, [32, 64]),
    (8 + 0.019 / FOOT, 18, []),  # two centimetres are no longer
    (8 + 0.0254 / FOOT, 18, [32 + 1 / 3, 64 + 2 / 3]),
])  # fmt: skip
def test_long_or_high_walls_are_braced(long, height, braces):
    assert [at / INCH for at in made(long, 4, height).braces_at] == pytest.approx(braces, abs=1e-4)


@pytest.mark.parametrize(("notch", "shaped"), [((0.5, 0.6), False), ((0.6, 0.7), True)])
def test_a_small_notch_leaves_a_rectangle(notch, shaped):
    # 4 m by 3 m less 0.30 m2 is 97.5 % of the rectangle, less 0.42 m2 96.5 %
    outline = box(0, 0, 4, 3).difference(box(4 - notch[0], 3 - notch[1], 5, 5))
    found = framing(outline, 0.6, 0.04, widths=[0.2], longest=4.8, step=0.001)
    assert (found.shaped, bool(found.braces_at)) == (shaped, not shaped)
    if not shaped:
        assert {(piece.role, piece.length) for piece in found.pieces} >= {("brace", 2.92)}  # 3 - 2 x 0.04


@pytest.mark.parametrize(("width", "screws"), [(0.15, 32), (0.16, 48)])
def test_a_board_wider_than_15_cm_has_three_screws(width, screws):
    # 1.2 m by 0.8 m of two courses: no posts but the corners, where each of four sides ends twice: 8 x 2 boards
    found = framing(box(0, 0, 1.2, 0.8), 2 * width, 0.04, widths=[width], longest=4.8, step=0.001)
    assert (found.screws, found.side_posts, found.corners) == (screws, 0, 4)


@pytest.mark.parametrize(("height", "screws", "is_ripped"), [
    (0.4, 48, False), (0.3746, 48, False),  # two boards of 20 cm; 2.54 cm more than drawn are left as they are
    (0.374, 48, True), (0.351, 48, True),  # the upper is ripped to 17.4 cm, to 15.1 cm
    (0.35, 40, True), (0.25, 40, True),  # to 15 cm, to 5 cm: two screws, not three
])  # fmt: skip
def test_a_ripped_board_has_the_screws_of_its_own_width(height, screws, is_ripped):
    # 1.0 m by 0.8 m: a span is at most 1.05 m, so one to a side, which ends twice: 8 times two boards
    found = framing(box(0, 0, 1.0, 0.8), height, 0.04, widths=[0.2], longest=4.8, step=0.001)
    built = height if is_ripped else 0.4
    assert (found.courses, found.ripped, found.built) == ((0.2, 0.2), is_ripped, pytest.approx(built))
    posts = [(piece.length, piece.count) for piece in found.pieces if piece.role == "post"]
    assert posts == [(pytest.approx(built, abs=1e-3), 4)]  # to the millimetre
    assert {piece.width for piece in found.pieces if piece.role == "side"} == {0.2}  # bought as they are
    assert found.screws == screws


@pytest.mark.parametrize(("long", "lengths"), [
    (2.402, {2.4: 2, 0.92: 2}),  # not a thousandth longer than the longest board: that board as it is
    (2.41, {1.205: 4, 0.92: 2}),
    (2.4004, {2.4: 2, 0.92: 2}),  # by the tape
])  # fmt: skip
def test_a_side_is_joined_only_where_no_board_is_long_enough(long, lengths):
    found = framing(box(0, 0, long, 1.0), 0.2, 0.04, widths=[0.2], longest=2.4, step=0.001)
    boards = [(piece.length, piece.count) for piece in found.pieces if piece.role == "side"]
    assert boards == list(lengths.items())


def test_boards_of_two_widths_are_counted_by_width_and_the_brace_is_of_the_narrower():
    found = framing(box(0, 0, 1.2, 0.8), 0.5, 0.04, widths=[0.1, 0.2], longest=4.8, step=0.001)
    # 0.2 + 0.2 + 0.1; a span is at most 0.945 m: two to a side of 1.2 m; higher than 18 in: a brace
    assert [(piece.role, piece.length, piece.width, piece.count) for piece in found.pieces] == [
        ("side", 1.2, 0.2, 4), ("side", 0.72, 0.2, 4), ("side", 1.2, 0.1, 2), ("side", 0.72, 0.1, 2),
        ("post", 0.5, 0.0, 6), ("brace", 0.72, 0.1, 1),
    ]  # fmt: skip
    # 3 + 3 + 2 screws at each meeting: 2 x (2 + 1) along the sides and 2 x (1 + 1) at the ends; 4 for the brace
    assert found.screws == 8 * 10 + 4


def test_whole_blocks_are_not_rounded_up():
    # 6.75 m x 0.6 m / (0.45 x 0.225 m2) = 40
    assert blocks(6.75, 0.6, length=0.44, course=0.215, joint=0.01) == 40
