"""Boards, posts, braces and blocks of one frame, by hand."""

from __future__ import annotations

import pytest
from shapely import Point, Polygon, affinity, box

from siteplan.walls.framing import blocks, courses, framing, ripped, sides

INCH, FOOT = 0.0254, 0.3048
WIDTHS = [inches * INCH for inches in (3.5, 5.5, 7.25, 9.25, 11.25)]


def inches(values):
    return [round(value / INCH, 3) for value in values]


@pytest.mark.parametrize(
    ("height", "boards"),
    [
        (12, [11.25]),  # one board, 3/4 in short, before 5.5 + 5.5 = 11 and 7.25 + 5.5 = 12.75
        (18, [9.25, 9.25]),  # 18.5; 11.25 + 7.25 is as near, but of two widths
        (24, [9.25, 9.25, 5.5]),  # 24.0; two boards reach 22.5 at most
        (6, [5.5]),
        (3, [3.5]),
    ],
)
def test_courses(height, boards):
    assert inches(courses(height * INCH, WIDTHS)) == boards


def test_courses_that_do_not_come_near_reach_over():
    # 8 in of boards of 11.25 in: one board, ripped; 12 in of 5 in: three, 15 in
    assert inches(courses(8 * INCH, [11.25 * INCH])) == [11.25]
    assert inches(courses(12 * INCH, [5 * INCH])) == [5, 5, 5]


def test_a_rectangle_has_two_boards_that_run_past():
    # 96 in by 48 in, boards of 1.5 in: ends of 48 - 2 x 1.5 = 45 in, however it lies
    for turned in (0, 30, 90):
        outline = affinity.rotate(box(0, 0, 96 * INCH, 48 * INCH), turned)
        found = sides(outline, 1.5 * INCH)
        assert sorted(inches(found.boards)) == pytest.approx([45, 45, 96, 96], abs=1e-3)
        assert found.corners == 4


def test_a_square_has_four_like_boards():
    # each butts at one end: 48 - 1.5
    assert inches(sides(box(0, 0, 48 * INCH, 48 * INCH), 1.5 * INCH).boards) == pytest.approx([46.5] * 4, abs=1e-3)


def test_the_walls_of_an_l_cover_what_lies_between_its_outlines():
    # 4 m by 3 m less 2 m by 1 m at one corner. Boards of 0.1 m cover the ring: area 0.1 x sum of lengths =
    # outline less inside. Outside around 14 m; inside: 14 - 8 x 0.1 (five corners in, one out, each 2 x 0.1: -1.0 + 0.2)
    shape = Polygon([(0, 0), (4, 0), (4, 2), (2, 2), (2, 3), (0, 3)])
    found = sides(shape, 0.1)
    ring = shape.area - shape.buffer(-0.1, join_style="mitre").area
    assert sum(found.boards) * 0.1 == pytest.approx(ring)
    assert found.corners == 6
    hole = Polygon(box(0, 0, 4, 3).exterior.coords, [box(1.5, 1, 2.5, 2).exterior.coords])
    ring = hole.area - hole.buffer(-0.1, join_style="mitre").area
    assert sum(sides(hole, 0.1).boards) * 0.1 == pytest.approx(ring)


def test_a_corner_that_is_none_makes_no_board():
    outline = Polygon([(0, 0), (1.2, 0), (2.4, 0), (2.4, 1.2), (0, 1.2)])
    assert len(sides(outline, 0.04).boards) == 4


def made(long, wide, height, **given):
    options = {"widths": WIDTHS, "longest": 16 * FOOT, "step": INCH / 8} | given
    return framing(box(0, 0, long * FOOT, wide * FOOT), height * INCH, 1.5 * INCH, **options)


def test_a_bed_of_8_by_4_ft_18_in_high():
    # two courses of 9 1/4 in. Posts every 0.9 m x 1.05 at most: 96 in in three spans, 48 in in two:
    # 4 corners + 2 x 2 + 2 x 1 = 10 of 18.5 in. Three screws a board and post: 6 at each post of a side:
    # 2 x (4 posts x 6) + 2 x (3 posts x 6) = 84. Not over 18 in and not over 8 ft: no braces
    bed = made(8, 4, 18)
    pieces = {(piece.role, *inches([piece.length, piece.width])): piece.count for piece in bed.pieces}
    assert pieces == {("side", 96, 9.25): 4, ("side", 45, 9.25): 4, ("post", 18.5, 0): 10}
    assert (bed.corners, bed.side_posts, bed.screws, bed.braces_at) == (4, 6, 84, ())
    assert inches(bed.posts_at) == [32, 64]


def test_a_wall_whose_uppermost_board_is_ripped_is_as_high_as_drawn():
    # 12 in of boards of 9 1/4 in: two, the upper ripped to 2 3/4 in, with three screws and two at each post. Posts of
    # 12 in; a span is at most 1.05 x 1.19 m = 49.2 in: two to a side of 96 in, one to an end: 4 corners + 2.
    # A board meets a post 2 x (3 + 2) times
    bed = made(8, 4, 12, widths=[9.25 * INCH])
    assert (inches(bed.courses), bed.ripped, bed.built / INCH) == ([9.25, 9.25], True, pytest.approx(12))
    posts = [(piece.count, *inches([piece.length])) for piece in bed.pieces if piece.role == "post"]
    assert posts == [(6, 12)]
    assert bed.screws == 10 * (3 + 2)


def test_a_frame_close_behind_counts_for_posts_and_braces_and_not_for_boards():
    # 14 in: a span is at most 1.05 x 1.089 m = 45 in; loaded by 24 in at most 37.2 in. In both cases 72 in are two
    # spans and 144 in four
    low, loaded = made(12, 4, 14), made(12, 4, 14, loaded_height=24 * INCH)
    assert (low.courses, low.built) == (loaded.courses, loaded.built)
    assert inches(made(6, 4, 14).braces_at) == []
    assert inches(made(6, 4, 14, loaded_height=24 * INCH).braces_at) == [36]
    assert inches(low.posts_at) == inches(loaded.posts_at) == [36, 72, 108]
    # 10 ft at 12 in: a span is at most 49.2 in: three; loaded by 24 in four
    assert [inches(made(10, 4, 12, loaded_height=high * INCH).posts_at) for high in (12, 24)] == [
        [40, 80],
        [30, 60, 90],
    ]


@pytest.mark.parametrize(("height", "is_ripped"), [(17.4, True), (17.5, False), (18.5, False), (19.4, False)])
def test_an_inch_more_than_drawn_is_left_and_more_is_ripped(height, is_ripped):
    # two boards of 9 1/4 in: 18 1/2 in
    boards = courses(height * INCH, [9.25 * INCH])
    assert (len(boards), ripped(boards, height * INCH)) == (2, is_ripped)


def test_a_bed_of_12_by_4_ft_2_ft_high():
    # 144 in in four spans of 36 in: braces at 36, 72 and 108 in, 48 - 3 = 45 in long, of the narrowest board
    bed = made(12, 4, 24)
    assert inches(bed.braces_at) == [36, 72, 108]
    braces = [piece for piece in bed.pieces if piece.role == "brace"]
    assert [(piece.count, *inches([piece.length, piece.width])) for piece in braces] == [(3, 45, 5.5)]
    # screws at a post: 3 + 3 + 2 = 8; long sides 5 posts, ends 3: 2 x 40 + 2 x 24 = 128; braces 3 x 4
    assert bed.screws == 128 + 12


def test_a_side_longer_than_every_board_is_joined_at_a_post():
    # 20 ft of boards of 8 ft: three of 80 in; spans of 80 in in three each: posts every 26.67 in
    bed = made(20, 4, 18, longest=8 * FOOT)
    sides_of = {tuple(inches([piece.length])): piece.count for piece in bed.pieces if piece.role == "side"}
    assert sides_of == {(80.0,): 12, (45.0,): 4}

    assert inches(bed.posts_at) == pytest.approx([240 * number / 9 for number in range(1, 9)], abs=1e-3)


def test_what_is_no_rectangle_is_not_braced():
    shape = Polygon([(0, 0), (4, 0), (4, 2), (2, 2), (2, 3), (0, 3)])
    bed = framing(shape, 0.6, 0.04, widths=[0.2], longest=4.8, step=0.001)
    assert bed.shaped
    assert bed.braces_at == ()
    round_bed = framing(Point(0, 0).buffer(1, quad_segs=2), 0.4, 0.04, widths=[0.2], longest=4.8, step=0.001)
    assert round_bed.corners == 8


def test_blocks():
    # 6.8 m x 0.6 m / (0.45 x 0.225 m2) = 40.3
    assert blocks(6.8, 0.6, length=0.44, course=0.215, joint=0.01) == 41
