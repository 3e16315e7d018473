"""What of the shop's offers decides: widths, lengths, prices, and what is told of the plan. By hand."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import pytest

from siteplan.land.features import Bed
from siteplan.land.outline import rectangle
from siteplan.land.walls import PieceOffer, WallSettings
from siteplan.walls import walls_plan
from siteplan.walls.cutting import Cut, Cutting
from siteplan.walls.walls_plan import plan_walls
from siteplan.walls.walls_results import Piece, TooLong, WallPlan

INCH, FOOT = 0.0254, 0.3048


def bed(name="a", long=8.0, wide=4.0, height=18.0):
    outline = rectangle(0, 3, length=long * FOOT, width=wide * FOOT, heading=90)
    return Bed(id=name, outline=outline, height=height * INCH, wall_thickness=1.5 * INCH)


def board(feet, price, width=9.25):
    return PieceOffer(material="board", length=feet * FOOT, width=width * INCH, price=price)


def planned(site, *beds, offers=(), **settings):
    walls = WallSettings(kerf=INCH / 8, **settings)
    return plan_walls(replace(site, beds=beds, units="imperial", walls=walls, piece_offers=offers))


def test_a_plan_of_nothing():
    plan = WallPlan()
    assert (plan.proven, plan.could_save, plan.used, plan.bought, plan.assumed) == (True, 0.0, 0.0, 0.0, True)
    assert (plan.frames, plan.cuts, plan.purchase, plan.too_long, plan.price) == ((), (), (), (), None)


@pytest.mark.parametrize(("offers", "settings", "assumed"), [
    ((), {}, True), ((board(8, 11),), {}, False),
    ((PieceOffer(material="post", length=2.4, price=9),), {}, True),
    ((), {"board_lengths": (2.0, 4.0)}, True), ((), {"board_widths": (0.2,)}, True),
    ((), {"board_lengths": (2.0, 4.0), "board_widths": (0.2,)}, False),
])  # fmt: skip
def test_sizes_are_assumed_unless_they_are_offered_or_set(tiny_yard, offers, settings, assumed):
    plan = planned(tiny_yard, bed(), offers=offers, **settings)
    assert plan.assumed is assumed
    assert (plan.proven, plan.could_save) == (True, 0.0)


def test_boards_are_bought_by_their_width(tiny_yard):
    # 14 in are 9.25 and 5.5 in within an inch (14.75): of each width two of 96 in and two of 45 in, three boards of 8 ft
    plan = planned(tiny_yard, bed(height=14), offers=(board(8, 11), board(8, 7, width=5.5)))
    lines = [
        (round(line.width / INCH, 2), line.count, line.cost) for line in plan.purchase if line.material == "board"
    ]
    assert lines == [(9.25, 3, 33), (5.5, 3, 21)]


@pytest.mark.parametrize(("long", "pieces"), [
    (12, {144: 4, 45: 4}), (16, {96: 8, 45: 4}),  # longer than the longest board: two of half the side
])  # fmt: skip
def test_the_longest_board_decides_where_a_side_is_joined(tiny_yard, long, pieces):
    plan = planned(tiny_yard, bed(long=long), offers=(board(8, 11), board(12, 17)))
    (walls,) = plan.frames
    found = {round(piece.length / INCH): piece.count for piece in walls.pieces if piece.role == "side"}
    assert found == pieces


def test_pieces_that_are_too_long_are_named_with_their_bed_and_the_rest_is_bought(tiny_yard):
    # boards of 120 in. The wide bed: braces of 144 - 3 in at 36, 72 and 108 in; sides of 144 - 1.5 in, each two of
    # 71.25 in, three courses: 24. The small one: 4 of 96 in and 4 of 45 in. 71.25 + 45 in and a cut fit in a board,
    # nothing else does: 24 + 4 boards
    beds = (bed("small"), bed("wide", long=12, wide=12, height=24))
    plan = planned(tiny_yard, *beds, offers=(board(10, 11),))
    brace = Piece(role="brace", length=pytest.approx(141 * INCH), width=pytest.approx(9.25 * INCH), count=3)
    assert plan.too_long == (TooLong(bed="wide", number=1, piece=brace),)
    assert [(line.count, line.cost) for line in plan.purchase if line.material == "board"] == [(28, 28 * 11)]
    pieces = Counter()
    for cut in plan.cuts:
        for length, count in cut.pieces if cut.material == "board" else ():
            pieces[round(length / INCH, 3)] += count * cut.count
    assert pieces == {96: 4, 71.25: 24, 45: 4}


def test_pieces_of_two_frames_that_are_too_long(tiny_yard):
    # boards of 3 ft: ends of 45 in are two boards each, braces of 45 in across both frames are too long
    tiers = (Bed.Tier(height=20 * INCH), Bed.Tier(height=20 * INCH))
    tall = replace(bed(height=40), tiers=tiers)
    plan = planned(tiny_yard, tall, bed("other"), offers=(board(3, 5),))
    found = [(one.bed, one.number, one.piece.role, one.piece.length / INCH) for one in plan.too_long]
    assert found == [("a", number, "brace", pytest.approx(45)) for number in (1, 2)]


def test_a_bed_that_is_hardly_longer_than_the_boards_is_built_of_them(tiny_yard):
    # 2.44 m are 96.06 in, by the tape 96 1/8 in: boards of 8 ft are taken as they are, four of them, and two for the ends
    plan = planned(tiny_yard, bed(long=2.44 / FOOT), offers=(board(8, 11),))
    assert plan.too_long == ()
    assert [(line.count, line.cost) for line in plan.purchase if line.material == "board"] == [(6, 66)]


def test_lengths_are_by_the_tape(tiny_yard):
    # eighths of an inch, or millimetres
    outline = rectangle(0, 3, length=2.4004, width=1.1237, heading=90)
    odd = replace(bed(), outline=outline, wall_thickness=0.04)
    metric = plan_walls(replace(tiny_yard, beds=(odd,), units="metric"))
    sides = {piece.length for piece in metric.frames[0].pieces if piece.role == "side"}
    assert sides == {2.4, 1.044}  # 1.1237 - 2 x 0.04
    (walls,) = planned(tiny_yard, odd).frames
    eighths = [piece.length / (INCH / 8) for piece in walls.pieces if piece.role == "side"]
    assert eighths == pytest.approx([756, 329])  # 2.4004 m are 756.03 eighths, 1.0437 m 328.72


def test_what_another_way_of_sawing_might_save_is_told(tiny_yard, monkeypatch):
    # boards: 100 and at least 96; posts: 50 and at least 49.5
    answers = iter([Cutting((Cut(0, ((2.0, 1),), 4),), 100.0, 96.0), Cutting((Cut(0, ((0.5, 2),), 3),), 50.0, 49.5)])
    monkeypatch.setattr(walls_plan, "cutting", lambda *_, **__: next(answers))
    plan = planned(tiny_yard, bed())
    assert not plan.proven
    assert plan.could_save == pytest.approx(0.04)
