"""The walls in words: frames, marks along a tape, the cut list, the purchase and the cost. By hand."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from siteplan.say import walling as said
from siteplan.walls.walls_results import FrameWalls, Piece, Sawn, TooLong, WallPlan, WallPurchase


def frame(bed="bed", number=1, kind="timber", **more):
    return FrameWalls(
        **{"bed": bed, "number": number, "kind": kind, "height": 0.4, "built": 0.4, "around": 5.5} | more
    )


def plan(units="metric", **walls):
    return SimpleNamespace(walls=WallPlan(**walls), site=SimpleNamespace(units=units, currency="EUR"))


def test_frames_are_numbered_where_a_bed_has_several():
    walls = (
        frame(kind="masonry", blocks=40),
        frame("tall", 1, "masonry"),
        frame("tall", 2, "masonry"),
        frame("x" * 70, 1, "masonry"),
    )
    rows = said.frame_rows(plan(frames=walls))
    assert [row["bed"] for row in rows] == ["bed", "tall, frame 1", "tall, frame 2", "x" * 59 + "…"]
    assert (
        rows[0]["what"] == "Masonry, 5.50 m along its middle and 40 cm high: about 40 blocks, breakage not counted."
    )


def piece(role, length, width, count):
    return Piece(role=role, length=length, width=width, count=count)


BUILT = frame(
    courses=(0.2, 0.2, 0.1), pieces=(
        piece("side", 2.4, 0.2, 4), piece("side", 1.2, 0.2, 4), piece("side", 2.4, 0.1, 2), piece("post", 0.4, 0.0, 6),
        piece("brace", 1.2, 0.1, 1), piece("brace", 1.1, 0.2, 3),
    ), posts_at=(0.8, 1.6), braces_at=(0.8,), corners=4, side_posts=2, screws=1, shaped=True, built=0.5, height=0.5,
)  # fmt: skip


def test_a_frame_of_timber_with_all_its_parts():
    assert said.frame_rows(plan(frames=(BUILT,)))[0]["what"] == (
        "Courses of boards: 2 of 200 mm and 1 of 100 mm, 500 mm high; side boards 200 mm wide 4 of 2400 mm and 4 of 1200 mm; "
        "side boards 100 mm wide 2 of 2400 mm; posts 6 of 400 mm (4 in the corners, 2 between); braces across 1 of 1200 mm; "
        "braces across 3 of 1100 mm; posts and braces of a long side at 0.80 m and 1.60 m from its end; 1 screw. It is no "
        "rectangle: where it wants braces across, a builder must say."
    )
    plain = frame(
        courses=(0.2, 0.2), pieces=(piece("side", 2.4, 0.2, 8), piece("post", 0.4, 0.0, 4)), corners=4, screws=20
    )
    assert said.frame_rows(plan(frames=(plain,)))[0]["what"] == (
        "Courses of boards: 2 of 200 mm, 400 mm high; side boards 8 of 2400 mm; posts 4 of 400 mm (4 in the corners); 20 screws."
    )


@pytest.mark.parametrize(("marks", "told"), [
    ((0.5, 0.99), ["50 cm", "99 cm"]), ((0.5, 1.0), ["0.50 m", "1.00 m"]), ((1.5, 0.5), ["1.50 m", "0.50 m"]),
])  # fmt: skip
def test_marks_are_in_metres_where_one_is_a_metre_or_more(marks, told):
    assert [said._mark_text(one, marks, "metric") for one in marks] == told
    assert said._mark_text(0.9144, (3.0,), "imperial") == "3 ft"


@pytest.mark.parametrize(("excess", "note"), [
    (0.003, ""), (0.0032, ", 3 mm more than drawn"), (-0.0032, ", 3 mm less than drawn"), (0.0029, ""), (0.02, ", 20 mm more than drawn"),
])  # fmt: skip
def test_three_millimetres_are_as_drawn(excess, note):
    walls = SimpleNamespace(courses=(0.2,), built=excess, height=0.0, ripped=False)
    assert said._courses_text(walls, "metric") == f"courses of boards: 1 of 200 mm, {excess * 1000:.0f} mm high{note}"


def test_the_uppermost_board_is_ripped_where_the_wall_says_so():
    """Three boards of 20 cm, and a wall of 45 cm: the uppermost is 5 cm wide. 2.9 cm too many are no reason of their own."""
    three = frame(courses=(0.2,) * 3, height=0.45, built=0.45, ripped=True)
    assert said._courses_text(three, "metric") == (
        "courses of boards: 3 of 200 mm, 450 mm high once the uppermost is ripped (sawn lengthwise) to 50 mm"
    )
    left = frame(courses=(0.2,) * 2, height=0.371, built=0.4)
    assert said._courses_text(left, "metric") == "courses of boards: 2 of 200 mm, 400 mm high, 29 mm more than drawn"


def cut(rest, **more):
    given = {
        "material": "board",
        "width": 0.2,
        "stock": 2.4,
        "count": 3,
        "pieces": ((1.2, 1), (0.5, 2)),
        "rest": rest,
    }
    return Sawn(**given | more)


def test_the_cut_list():
    rows = said.cut_rows(
        plan(cuts=(cut(0.2), cut(0.003, material="post", width=0.0, pieces=((1.2, 2),)), cut(0.0032)))
    )
    assert rows == [
        {"count": 3, "board": "board 200 mm wide, 2.40 m", "pieces": "1 of 1200 mm, 2 of 500 mm", "rest": "200 mm"},
        {"count": 3, "board": "post, 2.40 m", "pieces": "2 of 1200 mm", "rest": ""},
        {"count": 3, "board": "board 200 mm wide, 2.40 m", "pieces": "1 of 1200 mm, 2 of 500 mm", "rest": "3 mm"},
    ]


def test_without_walls_there_is_nothing_to_say():
    nothing = SimpleNamespace(walls=None, site=SimpleNamespace(units="metric", currency="EUR"))
    assert said.wall_values(nothing) == {"walls": [], "cuts": [], "wall_purchase": [], "wall_sentences": []}


def bought(material, cost, **more):
    return WallPurchase(material=material, count=2, wanted=5, cost=cost, **more)


def test_what_is_bought_for_the_walls():
    lines = (
        bought("board", 1234.5, length=2.4, width=0.2, name="yard"),
        bought("screws", None, each=50),
        bought("block", 3.0),
    )
    assert said.wall_purchase_rows(plan(purchase=lines)) == [
        {"material": "board", "offer": "yard: board 200 mm wide, 2.40 m", "count": 2, "cost": "€1,234.50"},
        {"material": "screws", "offer": "5 screws, in boxes of 50", "count": 2, "cost": "no offer"},
        {"material": "block", "offer": "block", "count": 2, "cost": "€3.00"},
    ]


@pytest.mark.parametrize(("lines", "price"), [
    ((bought("board", 1234.5),), ["The walls cost 1,234.50 EUR."]),
    ((bought("board", 10.0), bought("post", None), bought("block", None), bought("screws", None)),
     ["The walls cost 10.00 EUR, but nobody offers posts, blocks and screws."]),
    ((bought("board", None),), ["No total for the walls: nobody offers boards."]), ((), []),
])  # fmt: skip
def test_what_the_walls_cost(lines, price):
    assert said.wall_sentences(plan(frames=(frame(kind="metal"),), purchase=lines)) == price


COMMON = (
    " and braces are common practice, not a builder's figures: who signs for walls, and the local code, come first. Use "
    "untreated durable wood, or timber that is allowed for food beds."
)


def too_long(bed, number, role, length, width, count):
    return TooLong(bed=bed, number=number, piece=piece(role, length, width, count))


def test_without_prices_what_is_too_long_is_told_all_the_same():
    walls = {"frames": (frame(kind="metal"),), "too_long": (too_long("c", 1, "post", 1.0, 0.0, 1),)}
    nobody, left_out = said.wall_sentences(plan(**walls, purchase=(bought("board", None),)))
    assert nobody == "No total for the walls: nobody offers boards."
    assert left_out.startswith("c wants 1 post of 1000 mm, longer")
    some = said.wall_sentences(plan(**walls, purchase=(bought("board", 10.0), bought("screws", None))))
    assert some[0] == (
        "The walls cost 10.00 EUR, without the pieces that are longer than anything offered, but nobody offers screws."
    )


def test_waste_lengths_and_whose_sizes_they_are():
    """Of 10 m of timber 8.5 m are used: 15 % are offcuts and sawdust."""
    walls = {
        "frames": (frame(kind="metal"), frame()),
        "used": 8.5,
        "bought": 10.0,
        "too_long": (
            too_long("b" * 70, 1, "brace", 3.6, 0.2, 2), too_long("c", 1, "post", 1.0, 0.0, 1),
            too_long("b" * 70, 2, "brace", 3.6, 0.2, 1), too_long("b" * 70, 2, "side", 4.0, 0.1, 1),
        ),
    }  # fmt: skip
    assert said.wall_sentences(plan(**walls)) == [
        "Offcuts and sawdust are 15% of the timber; no other way of sawing takes less.",
        "b" * 59 + "… wants 3 braces of 3600 mm × 200 mm and 1 side board of 4000 mm × 100 mm, longer than anything "
        "offered: they are left out of the cut list and of what to buy.",
        "c wants 1 post of 1000 mm, longer than anything offered: it is left out of the cut list and of what to buy.",
        f"Sizes of boards, posts{COMMON}",
    ]
    found = said.wall_sentences(plan(**walls, purchase=(bought("board", 1.0),), assumed=False, could_save=0.05))
    assert found[0] == "The walls cost 1.00 EUR, without the pieces that are longer than anything offered."
    assert found[1] == "Offcuts and sawdust are 15% of the timber; no other way of sawing costs less."
    assert found[-1] == f"Posts{COMMON}"
    unproven = said.wall_sentences(plan(**walls, proven=False, could_save=0.05))[0]
    assert unproven == "Offcuts and sawdust are 15% of the timber; another way of sawing would save 5.0% at most."
    assert said.wall_sentences(plan(purchase=(bought("board", 1.0),))) == []
