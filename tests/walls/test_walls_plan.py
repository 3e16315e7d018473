"""The walls of all beds: what is bought, what it costs, and where they stand already."""

from __future__ import annotations

from dataclasses import replace

import pytest

from siteplan.fill.fill_plan import plan_fill
from siteplan.land.features import Bed
from siteplan.land.outline import rectangle
from siteplan.land.walls import PieceOffer, WallSettings
from siteplan.walls.walls_plan import _Shop, plan_walls
from siteplan.walls.walls_results import Piece, TooLong

INCH, FOOT = 0.0254, 0.3048


def bed(name="a", long=8, wide=4, height=18, **given):
    outline = rectangle(0, 3, length=long * FOOT, width=wide * FOOT, heading=90)
    return Bed(id=name, outline=outline, height=height * INCH, wall_thickness=1.5 * INCH, **given)


def board(feet, price, width=9.25):
    return PieceOffer(material="board", length=feet * FOOT, width=width * INCH, price=price)


def yard(site, *beds, **given):
    return replace(site, beds=beds, units="imperial", walls=WallSettings(kerf=INCH / 8), **given)


def test_one_bed_at_the_shops_prices(tiny_yard):
    # 4 boards of 96 in and 4 of 45 in, 10 posts of 18.5 in. Boards of 8 ft at 11: 4 + 2 = 6, 66. Boards of 16 ft
    # (192 in) at 20: 96 + 96 in and a cut do not fit; 96 + 45 + 45 = 186 in and two cuts do: 2 of them, with the
    # other 2 of 96 in from 8 ft: 2 x 20 + 2 x 11 = 62. All from 16 ft would be 4 x 20 = 80.
    # Posts of 8 ft: 5 of 18.5 = 92.5 in and four cuts of 1/8 in = 93 in: 2 posts. 84 screws, a tenth more: 93,
    # two boxes of 50 at 6 or one of 100 at 11
    offers = (
        board(8, 11), board(16, 20), PieceOffer(material="post", length=8 * FOOT, price=9),
        PieceOffer(material="screws", pieces=50, price=6), PieceOffer(material="screws", pieces=100, price=11),
    )  # fmt: skip
    plan = plan_walls(yard(tiny_yard, bed(), piece_offers=offers))
    lines = [(line.material, round(line.length / FOOT), line.count, line.cost) for line in plan.purchase]
    assert lines == [("board", 8, 2, 22), ("board", 16, 2, 40), ("post", 8, 2, 18), ("screws", 0, 1, 11)]
    assert plan.price == 22 + 40 + 18 + 11
    assert plan.lacking == ()
    assert plan.proven
    assert not plan.assumed
    # used: 4 x 96 + 4 x 45 + 10 x 18.5 = 749 in; bought: 2 x 96 + 2 x 192 + 2 x 96 = 768 in
    assert plan.used / INCH == pytest.approx(749)
    assert plan.bought / INCH == pytest.approx(768)
    rests = {(round(cut.stock / FOOT), tuple(count for _, count in cut.pieces)): cut.rest / INCH for cut in plan.cuts}
    assert rests == {(16, (1, 2)): pytest.approx(192 - 186 - 0.25), (8, (1,)): 0.0, (8, (5,)): pytest.approx(3.0)}


def test_without_offers_the_least_length_is_taken(tiny_yard):
    plan = plan_walls(yard(tiny_yard, bed()))
    assert plan.price is None
    assert plan.lacking == ("board", "post", "screws")
    assert plan.assumed
    # boards: 564 in are wanted. 2 of 16 ft and 2 of 8 ft are 576 in: 8, 10, 12 and 16 ft make no sum from 564 to 575
    assert sum(cut.stock * cut.count for cut in plan.cuts if cut.material == "board") / INCH == pytest.approx(576)


def test_a_shop_that_offers_only_short_boards(tiny_yard):
    # 12 ft from boards of 8 ft: two of 72 in at each side, joined at a post
    plan = plan_walls(yard(tiny_yard, bed(long=12), piece_offers=(board(8, 11),)))
    (walls,) = plan.frames
    assert {round(piece.length / INCH, 3) for piece in walls.pieces if piece.role == "side"} == {72, 45}
    assert plan.too_long == ()
    # braces are longer than boards of 10 ft: told with their bed
    wide = bed(long=12, wide=12, height=24)
    short = tuple(board(10, 11) for _ in range(1))
    (braces,) = plan_walls(yard(tiny_yard, wide, piece_offers=short)).too_long
    assert (braces.bed, braces.piece.role, braces.piece.length) == ("a", "brace", pytest.approx(141 * INCH))


def test_timber_that_is_too_long_is_not_used(tiny_yard):
    # 10 posts of 18.5 in, and posts of 1 ft on offer. Boards: 4 x 96 + 4 x 45 = 564 in, from 6 of 96 in
    offers = (board(8, 11), PieceOffer(material="post", length=FOOT, price=1))
    plan = plan_walls(yard(tiny_yard, bed(), piece_offers=offers))
    post = Piece(role="post", length=pytest.approx(18.5 * INCH), width=0.0, count=10)
    assert plan.too_long == (TooLong(bed="a", number=1, piece=post),)
    assert (plan.used / INCH, plan.bought / INCH) == (pytest.approx(564), pytest.approx(576))
    assert {line.material for line in plan.purchase} == {"board", "screws"}
    assert plan.price == 66


def test_no_more_timber_is_used_than_is_bought(tiny_yard):
    # four boards of 2.44 - 0.04 m from 2.4 m; posts of 0.2 m are a millimetre longer than those on offer, and taken uncut
    outline = rectangle(0, 3, length=2.44, width=2.44, heading=90)
    square = Bed(id="a", outline=outline, height=0.2, wall_thickness=0.04)
    offers = (
        PieceOffer(material="board", length=2.4, width=0.2, price=1),
        PieceOffer(material="post", length=0.199, price=1),
    )
    plan = plan_walls(replace(tiny_yard, beds=(square,), units="metric", piece_offers=offers))
    assert {(cut.stock, cut.pieces) for cut in plan.cuts} == {(2.4, ((2.4, 1),)), (0.199, ((0.2, 1),))}
    assert plan.too_long == ()
    assert plan.used == plan.bought


def test_what_stands_already_is_not_built(tiny_yard):
    beds = (bed("full", filled=True), bed("stands", walls="none"))
    assert plan_walls(yard(tiny_yard, *beds)).frames == ()
    assert plan_walls(replace(yard(tiny_yard, bed()), walls=WallSettings(kind="none"))).frames == ()
    mound = replace(bed(), wall_thickness=0.0)
    assert plan_walls(yard(tiny_yard, mound)).frames == ()


def test_masonry_and_metal(tiny_yard):
    # 8 x 4 ft with walls of 1.5 in: along the middle 2 x (94.5 + 46.5) = 282 in; 18 in high, blocks of 16 x 8 in with
    # joints of 10 mm (0.3937 in): 282 x 18 / (16.3937 x 8.3937) = 36.9
    stone = WallSettings(kind="masonry", block_length=16 * INCH, block_height=8 * INCH)
    block = PieceOffer(material="block", price=2)
    plan = plan_walls(replace(yard(tiny_yard, bed(), piece_offers=(block,)), walls=stone))
    (walls,) = plan.frames
    assert (walls.sheet, walls.pieces) == (0, ())
    assert walls.around / INCH == pytest.approx(282)
    assert walls.blocks == 37
    assert plan.price == 74
    nothing = plan_walls(replace(yard(tiny_yard, bed()), walls=WallSettings(kind="masonry")))
    assert (nothing.frames[0].blocks, nothing.purchase) == (0, ())
    # metal: 2 x (96 + 48) = 288 in of sheet, 18 in high
    sheet = plan_walls(yard(tiny_yard, bed(walls="metal"))).frames[0].sheet
    assert sheet == pytest.approx(288 * 18 * INCH**2)


def test_two_beds_are_sawn_together(tiny_yard):
    # ends of 45 in: each bed alone, of one course, has two of 96 in and two of 45 in: 3 boards of 8 ft; so have both: 6.
    # With ends of 29 in (32 - 3) one bed wants 2 of 29 in, both 4, of which three are 87 in and two cuts: 87.25
    one = plan_walls(yard(tiny_yard, bed("a", wide=32 / 12, height=9), piece_offers=(board(8, 10),)))
    both = [bed("a", wide=32 / 12, height=9), bed("b", wide=32 / 12, height=9), bed("c", wide=32 / 12, height=9)]
    three = plan_walls(yard(tiny_yard, *both, piece_offers=(board(8, 10),)))
    assert sum(line.count for line in one.purchase if line.material == "board") == 3
    assert (
        sum(line.count for line in three.purchase if line.material == "board") == 6 + 2
    )  # 6 of 29 in from two boards


def test_each_frame_of_a_bed_in_tiers_has_its_walls(tiny_yard):
    # 8 ft x 4 ft and 14 in high, with 6 ft x 2 ft and 10 in on it: the boards of the upper frame are 2 ft shorter
    tiers = (Bed.Tier(height=14 * INCH), Bed.Tier(height=10 * INCH, inset=1 * FOOT))
    plan = plan_walls(yard(tiny_yard, replace(bed(), tiers=tiers, height=24 * INCH)))
    assert [(walls.number, walls.height / INCH) for walls in plan.frames] == [
        (1, pytest.approx(14)),
        (2, pytest.approx(10)),
    ]
    longest = [max(piece.length for piece in walls.pieces if piece.role == "side") for walls in plan.frames]
    assert [length / FOOT for length in longest] == pytest.approx([8, 6])


def told_and_built(site):
    """Return the beds and tiers for which the cautions want braces, and the frames that get some."""
    told = {(one.feature, dict(one.figures).get("tier", 1), one.code) for one in plan_fill(site).findings}
    built = {(walls.bed, walls.number): walls.braces_at for walls in plan_walls(site).frames}
    return {one for one in told if one[2].startswith("wall-")}, built


@pytest.mark.parametrize(("inset", "braces"), [(1, [36]), (12, [])])
def test_a_frame_close_behind_wants_braces_in_the_cautions_and_in_the_cut_list(tiny_yard, inset, braces):
    # 14 in with 10 in on it. An inch from its edge the upper frame stands on walls of 1.5 in: 24 in load them, and a
    # span is at most 37.2 in: two to 72 in. A foot from it, it begins to press 10.5 in x tan 60 = 18 in deep: not at all
    tiers = (Bed.Tier(height=14 * INCH), Bed.Tier(height=10 * INCH, inset=inset * INCH))
    site = yard(tiny_yard, replace(bed(long=6), tiers=tiers, height=24 * INCH))
    told, built = told_and_built(site)
    assert told == ({("a", 1, "wall-bracing")} if braces else set())
    assert [at / INCH for at in built["a", 1]] == pytest.approx(braces)
    assert built["a", 2] == ()


@pytest.mark.parametrize(("millimetres", "code"), [(15, ""), (19, ""), (21, "wall-span")])
def test_a_side_hardly_longer_than_8_ft_is_tied_where_the_cautions_say_so(tiny_yard, millimetres, code):
    # 8 ft and 15 mm are 8.05 ft: two centimetres more are no longer
    told, built = told_and_built(yard(tiny_yard, bed(long=8 + millimetres / 304.8)))
    assert told == ({("a", 1, code)} if code else set())
    assert len(built["a", 1]) == (2 if code else 0)


def test_sizes_that_are_commonly_sold(tiny_yard):
    """Dressed softwood in feet: 3 1/2 to 11 1/4 in, boards of 8 to 16 ft, posts of 8 and 10 ft; else in metres."""
    feet, metres = _Shop(yard(tiny_yard)), _Shop(replace(tiny_yard, units="metric"))
    assert [width / INCH for width in feet.widths] == pytest.approx([3.5, 5.5, 7.25, 9.25, 11.25])
    assert metres.widths == (0.1, 0.125, 0.15, 0.175, 0.2, 0.225)
    assert [plank.length / FOOT for plank in feet.planks("board", 0.1)] == pytest.approx([8, 10, 12, 16])
    assert [plank.length / FOOT for plank in feet.planks("post", 0.0)] == pytest.approx([8, 10])
    assert [(plank.length, plank.cost) for plank in metres.planks("post", 0.0)] == [(2.4, 2.4), (3.0, 3.0)]
    assert [plank.length for plank in metres.planks("board", 0.1)] == [2.4, 3.0, 3.6, 4.8]
    own = replace(tiny_yard, walls=WallSettings(board_lengths=(2.0, 5.0), board_widths=(0.14,)))
    assert _Shop(own).widths == (0.14,)
    assert [plank.length for plank in _Shop(own).planks("board", 0.14)] == [2.0, 5.0]
    assert [plank.length for plank in _Shop(own).planks("post", 0.0)] == [2.4, 3.0]


def test_walls_without_boards_have_no_timber(tiny_yard):
    for kind in ("masonry", "metal"):
        (walls,) = plan_walls(yard(tiny_yard, bed(walls=kind))).frames
        assert (walls.courses, walls.pieces, walls.posts_at, walls.braces_at) == ((), (), (), ())
        assert (walls.corners, walls.side_posts, walls.screws, walls.blocks, walls.shaped) == (0, 0, 0, 0, False)
        assert walls.built == walls.height == pytest.approx(18 * INCH)
    assert plan_walls(yard(tiny_yard, bed(walls="masonry"))).frames[0].sheet == 0


def test_lines_of_the_shopping_list(tiny_yard):
    offers = (board(8, 11), PieceOffer(material="screws", pieces=50, price=6, name="box"))
    boards, posts, screws = plan_walls(yard(tiny_yard, bed(), piece_offers=offers)).purchase
    assert (boards.each, boards.name, boards.wanted == boards.count) == (1, "", True)
    assert (posts.each, posts.cost, posts.width) == (1, None, 0.0)
    assert (screws.each, screws.count, screws.wanted, screws.name, screws.cost) == (
        50,
        2,
        93,
        "box",
        12,
    )  # 84 and a tenth
    (bare,) = (one for one in plan_walls(yard(tiny_yard, bed())).purchase if one.material == "screws")
    assert (bare.each, bare.count, bare.wanted, bare.length, bare.width) == (1, 93, 93, 0.0, 0.0)


def test_of_equal_boxes_the_fewest(tiny_yard):
    offers = (
        PieceOffer(material="screws", pieces=50, price=6, name="small"),
        PieceOffer(material="screws", pieces=100, price=12, name="large"),
    )
    (screws,) = (
        one for one in plan_walls(yard(tiny_yard, bed(), piece_offers=offers)).purchase if one.material == "screws"
    )
    assert (screws.name, screws.count, screws.cost) == ("large", 1, 12)
