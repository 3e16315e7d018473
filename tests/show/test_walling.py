"""The walls in words: what a frame is built of, the cut list, the purchase, and what is flagged."""

from __future__ import annotations

from dataclasses import replace

import pytest
from shapely import Polygon

from siteplan import plan_site
from siteplan.land.features import Bed
from siteplan.land.outline import rectangle
from siteplan.land.walls import PieceOffer, WallSettings
from siteplan.say.walling import cut_rows, frame_rows, wall_purchase_rows, wall_sentences
from siteplan.show.sheet.work_sheet import report_html
from siteplan.show.tables.tables import shopping_table
from siteplan.show.terminal import print_plan

INCH, FOOT = 0.0254, 0.3048


def planned(site, *, long=8, height=18, offers=(), units="imperial", walls=None, **given):
    outline = rectangle(0, 3, length=long * FOOT, width=4 * FOOT, heading=90)
    bed = Bed(**{"id": "a", "outline": outline, "height": height * INCH, "wall_thickness": 1.5 * INCH, **given})
    walls = walls or WallSettings(kerf=INCH / 8)
    return plan_site(replace(site, beds=(bed,), units=units, walls=walls, piece_offers=offers), ask=["fill"])


def test_a_frame_in_words(tiny_yard):
    (row,) = frame_rows(planned(tiny_yard))
    assert row == {
        "bed": "a",
        "what": (
            "Courses of boards: 2 of 9 1/4 in, 18 1/2 in high, 1/2 in more than drawn; side boards 4 of 96 in and 4 of "
            "45 in; posts 10 of 18 1/2 in (4 in the corners, 6 between); posts of a long side at 2 ft 8 in and 5 ft 4 "
            "in from its end; 84 screws."
        ),
    }


def test_places_of_braces_are_marks_on_a_tape_that_add_up(tiny_yard):
    # 12 ft in four spans of 3 ft; 2.5 m in three of 83 1/3 cm: 0.83 and 1.67 m from the end leave 0.83 m
    text = frame_rows(planned(tiny_yard, long=12, height=24))[0]["what"]
    assert "posts and braces of a long side at 3 ft, 6 ft and 9 ft from its end" in text
    metric = planned(tiny_yard, long=2.5 / FOOT, height=0.6 / INCH, units="metric")
    assert "posts and braces of a long side at 0.83 m and 1.67 m from its end" in frame_rows(metric)[0]["what"]
    (caution,) = [one for one in metric.cautions if one.code == "wall-bracing"]
    assert "2 braces across, about 83 cm apart" in caution.text


def test_boards_of_several_widths_are_told_apart(tiny_yard):
    text = frame_rows(planned(tiny_yard, height=24))[0]["what"]
    assert "2 of 9 1/4 in and 1 of 5 1/2 in, 24 in high; side boards 9 1/4 in wide 4 of 96 in" in text
    ripped = planned(tiny_yard, height=8, walls=WallSettings(board_widths=(11.25 * INCH,)))
    assert "8 in high once the uppermost is ripped (sawn lengthwise) to 8 in;" in frame_rows(ripped)[0]["what"]
    # two of 9 1/4 in are an inch and a tenth more than 17.4 in: 17.4 - 9.25 = 8.15 in
    slightly = planned(tiny_yard, height=17.4, walls=WallSettings(board_widths=(9.25 * INCH,)))
    assert (
        "17 3/8 in high once the uppermost is ripped (sawn lengthwise) to 8 1/8 in;"
        in frame_rows(slightly)[0]["what"]
    )
    (document,) = slightly.document()["walls"]["frames"]
    assert (document["ripped"], document["built_height_m"]) == (True, pytest.approx(17.4 * INCH))
    assert document["pieces"][-1]["role"] == "post"
    assert document["pieces"][-1]["length_m"] == pytest.approx(17.375 * INCH)


def test_masonry_metal_and_what_is_no_rectangle(tiny_yard):
    stone = planned(tiny_yard, walls=WallSettings(kind="masonry"))
    assert frame_rows(stone)[0]["what"] == (
        "Masonry, 23.5 ft along its middle and 1 ft 6 in high: give the size of a block."
    )
    assert frame_rows(planned(tiny_yard, walls=WallSettings(kind="metal")))[0]["what"] == (
        "Metal: 24.0 ft of sheet 1 ft 6 in high, laps and corners not counted."
    )
    shape = Polygon([(-2, 2), (2, 2), (2, 4), (0, 4), (0, 5), (-2, 5)])
    assert "a builder must say" in frame_rows(planned(tiny_yard, outline=shape))[0]["what"]


def test_the_cut_list_and_the_purchase(tiny_yard):
    board = PieceOffer(material="board", width=9.25 * INCH, length=8 * FOOT, price=11, name="the yard")
    plan = planned(tiny_yard, offers=(board,))
    assert [(row["count"], row["board"], row["pieces"], row["rest"]) for row in cut_rows(plan)][:2] == [
        (4, "board 9 1/4 in wide, 8 ft", "1 of 96 in", ""),
        (2, "board 9 1/4 in wide, 8 ft", "2 of 45 in", "5 7/8 in"),
    ]
    assert wall_purchase_rows(plan)[0]["offer"] == "the yard: board 9 1/4 in wide, 8 ft"
    said = " ".join(wall_sentences(plan))
    assert "The walls cost 66.00 EUR, but nobody offers posts and screws." in said
    assert "no other way of sawing costs less" in said
    assert "common practice, not a builder's figures" in said
    assert "local code" in said
    table = shopping_table(plan)
    walls = table[table["kind"] == "piece"]
    assert list(walls["material"]) == ["board", "post", "screws"]
    assert next(iter(walls["cost"])) == 66
    assert walls["volume_m3"].isna().all()


def test_terminal_and_sheet_hold_it(tiny_yard, capsys):
    plan = planned(tiny_yard, id="<b>x</b>")
    print_plan(plan, command="fill", written=())
    out = capsys.readouterr().out
    assert "How to saw it" in out
    assert max(len(line) for line in out.splitlines()) <= 80
    page = report_html(plan)
    assert "Build the walls" in page
    assert "<b>x</b>:" not in page
    assert page.count("Saw from each") == 1


def test_nothing_is_said_where_walls_stand(tiny_yard):
    plan = planned(tiny_yard, walls=WallSettings(kind="none"))
    assert (frame_rows(plan), cut_rows(plan), wall_purchase_rows(plan), wall_sentences(plan)) == ([], [], [], [])
    assert "Build the walls" not in report_html(plan)


def test_a_piece_that_nobody_has_is_told_with_its_bed(tiny_yard):
    board = PieceOffer(material="board", width=9.25 * INCH, length=4 * FOOT, price=11)
    post = PieceOffer(material="post", length=1 * FOOT, price=1)
    plan = planned(tiny_yard, offers=(board, post))
    # 96 in of boards of 48 in: a joint in the middle, four spans: 3 posts, 1 at each end, 4 in the corners
    left_out = "a wants 12 posts of 18 1/2 in, longer than anything offered: they are left out of the cut list and of what to buy."
    assert left_out in wall_sentences(plan)
    assert left_out in report_html(plan)
    # two courses: 8 of 48 in and 4 of 45 in, each from one board of 4 ft
    assert "The walls cost 132.00 EUR, without the pieces that are longer than anything offered, but" in report_html(
        plan
    )
    document = plan.document()["walls"]
    assert document["too_long"] == [
        {
            "bed": "a",
            "number": 1,
            "piece": {"role": "post", "length_m": pytest.approx(18.5 * INCH), "width_m": 0.0, "count": 12},
        }
    ]
    assert document["timber_used_m"] <= document["timber_bought_m"]


@pytest.mark.parametrize("units", ["metric", "imperial"])
def test_the_document_holds_the_walls(tiny_yard, units):
    document = planned(tiny_yard, units=units).document()["walls"]
    assert document["currency"] == "EUR"
    assert document["frames"][0]["pieces"][0].keys() == {"role", "length_m", "width_m", "count"}
    assert document["cuts"][0]["pieces"][0].keys() == {"length_m", "count"}
    assert document["proven"] is True


def test_what_another_way_of_sawing_could_save_is_told(tiny_yard):
    plan = planned(tiny_yard)
    walls = replace(plan.walls, proven=False, could_save=0.0123)
    (said,) = [one for one in wall_sentences(replace(plan, walls=walls)) if "Offcuts" in one]
    assert said.endswith("; another way of sawing would save 1.2% at most.")
