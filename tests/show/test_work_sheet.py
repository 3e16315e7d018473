"""What the work sheet is filled with, by hand; `test_report.py` looks at the sheet itself."""

from __future__ import annotations

from dataclasses import replace

import pytest
from shapely import box

from siteplan.haul.haul_results import Run
from siteplan.land.constants import RollingSurface
from siteplan.land.features import Bed
from siteplan.place.merit.tradeoff import Choice
from siteplan.show.sheet.work_sheet import report_values


def run(number, day, minutes=10.0, trips=3, **more):
    return Run(number=number, day=day, bed="north bed", material="topsoil", from_id="soil-bins", trips=trips,
               start=0.0, minutes=minutes, **more)  # fmt: skip


def working(plan, *runs):
    return report_values(replace(plan, haul=replace(plan.haul, order=runs)))["days"]


def test_the_work_of_each_day_is_added_up(drawn_plan):
    days = working(drawn_plan, run(1, 1, 20.0), run(2, 2, 70.0), run(3, 1, 25.0))
    assert [(day["number"], day["time"]) for day in days] == [(1, "45 min"), (2, "1 h 10 min")]
    assert [[one["number"] for one in day["runs"]] for day in days] == [[1, 3], [2]]


@pytest.mark.parametrize(("trips", "boxes", "each"), [
    (0, 0, 1), (1, 1, 1), (40, 40, 1), (41, 21, 2), (80, 40, 2), (81, 27, 3), (121, 31, 4)
])  # fmt: skip
def test_a_run_has_at_most_forty_boxes_to_tick(drawn_plan, trips, boxes, each):
    """Up to 40 trips a box for each; up to 80 a box for two; then for three, and so on; a last box may stand for fewer."""
    ((row,),) = [day["runs"] for day in working(drawn_plan, run(1, 1, trips=trips))]
    assert (len(row["boxes"]), row["each_box"], row["more"], row["trips"]) == (boxes, each, each > 1, trips)


def test_a_run_says_what_a_trip_weighs_and_what_is_mixed(drawn_plan):
    ((plain, mixed),) = [
        day["runs"] for day in working(drawn_plan, run(1, 1), run(2, 1, mixed=True, per_trip_mass=45.359237))
    ]
    assert (plain["material"], plain["each"]) == ("topsoil", "")
    assert (mixed["material"], mixed["each"]) == ("topsoil *", "100 lb")


@pytest.mark.parametrize(
    ("currency", "paper", "wide"), [("USD", "Letter", 189), ("PHP", "Letter", 189), ("EUR", "A4", 184)]
)
def test_paper_is_that_of_the_country_of_the_money(drawn_plan, drawn_site, currency, paper, wide):
    values = report_values(replace(drawn_plan, site=replace(drawn_site, currency=currency)))
    assert values["paper"] == paper
    assert f'width="{wide}mm"' in values["drawing"]


def near_the_house(site, half, *beds):
    return replace(site, boundary=box(-half, -12, half, 12), beds=beds or site.beds)


def test_the_beds_are_drawn_again_where_the_scale_is_small(drawn_plan, drawn_site):
    """With its margin 54 m are 56.2 m wide and just 1 : 300 on 189 mm; 56 m are 58.2 m and need 1 : 400.

    The north bed with the corners of house and garage, and 1.5 m around, are 21 m by 14 m. On 189 mm by 90 mm that is
    1 : 200. So it is drawn again at 1 : 500, but not at 1 : 400, of which it is half.
    """
    bare = replace(drawn_plan, places=None)
    for half, scale, again in ((27, 300, None), (28, 400, None), (35, 400, None), (37, 500, 200)):
        values = report_values(replace(bare, site=near_the_house(drawn_site, half)))
        assert values["scale"] == scale
        assert (values["detail"] and values["detail"][1]) == again
    assert 'width="189mm"' in values["detail"][0]


def test_beds_far_apart_are_not_drawn_again(drawn_plan, drawn_site):
    """From one to the other 50 m: around them the drawing would be no larger than half the scale."""
    far = [Bed(id=f"bed {x}", outline=box(x, 8, x + 2, 9), height=0.3) for x in (-26, 24)]
    values = report_values(replace(drawn_plan, places=None, beds=(), fill=None, haul=None,
                                   site=near_the_house(drawn_site, 28, *far)))  # fmt: skip
    assert values["pair"] is not None
    assert values["detail"] is None


def choices(plan, count):
    made = tuple(
        Choice(rank=n, outline=box(0, 0, 1, 1), x=0, y=0, heading=0, sun_h=8.0, season_sun_h=9.0 - n,
               worst_cell_sun_h=7.0, minutes=10.0 - n, water_m=1.0, first=n == 0)
        for n in range(count)
    )  # fmt: skip
    return report_values(replace(plan, places=replace(plan.places, trade_off=made)))["choices"]


def test_there_is_a_choice_from_two_spots_on(drawn_plan):
    assert [len(choices(drawn_plan, count)) for count in (0, 1, 2, 3)] == [0, 0, 2, 3]


def test_a_proposed_bed_is_turned_and_without_one_every_bed(drawn_plan, drawn_site):
    assert [turn["bed"] for turn in report_values(drawn_plan)["turns"]] == ["new bed"]
    stands = tuple(replace(report, bed=replace(report.bed, proposed=False)) for report in drawn_plan.beds)
    turns = report_values(replace(drawn_plan, beds=stands))["turns"]
    assert [turn["bed"] for turn in turns] == ["north bed", "west bed", "new bed"]
    unturned = (replace(stands[0], headings=None), *stands[1:])
    turns = report_values(replace(drawn_plan, beds=unturned))["turns"]
    assert [turn["bed"] for turn in turns] == ["west bed", "new bed"]


def test_a_bed_that_is_full_is_not_set_out_again(drawn_plan, drawn_site):
    beds = (replace(drawn_site.beds[0], filled=True), *drawn_site.beds[1:])
    values = report_values(replace(drawn_plan, site=replace(drawn_site, beds=beds)))
    assert [one["bed"] for one in values["set_outs"]] == ["west bed", "new bed", "place 1", "place 2", "place 3"]


def test_a_bed_beside_the_line_of_both_points_crosses_flat(drawn_plan, drawn_site):
    """A bed 28 m before points 12 m apart: its tapes cross at some 24 degrees, under the 30 of a good angle."""
    house = replace(drawn_site.buildings[0], outline=box(-6, -40, 6, -30), base=0.0)
    for y, flat in ((-20, False), (-2, True)):
        bed = Bed(id="bed", outline=box(-1, y - 0.5, 1, y + 0.5), height=0.3)
        site = replace(
            drawn_site, buildings=(house,), beds=(bed,), boundary=box(-400, -40, 400, 600), fences=(), gates=()
        )
        values = report_values(replace(drawn_plan, site=site, places=None, beds=(), fill=None, haul=None))
        (out,) = values["set_outs"]
        assert out["flat"] == flat
        assert out["apart"] == "39 ft 4 1/2 in"  # 12 m are 472.44 in
        assert out["own"] == (values["pair"] is None)


def test_sources_are_those_of_what_is_used(drawn_plan, drawn_site):
    made = {name: RollingSurface(surface=name, rolling=0.1, rolling_wet=0.1, pace=0.9, loaded=True, source=f"{name}, seen")
            for name in ("grass", "gravel", "sand")}  # fmt: skip
    plan = replace(drawn_plan, site=replace(drawn_site, rolling_surfaces=made))

    def named(plan, among):
        names = [str(one).split(":")[0] for one in report_values(plan)["sources"]]
        return [name for name in names if name in among]

    assert named(plan, {"grass", "gravel", "paved", "sand"}) == [
        "grass",
        "gravel",
    ]  # no sand there; paved is not known
    used = {layer.material for layer in plan.fill.layers}
    assert named(plan, drawn_site.materials) == sorted(used)
    assert named(replace(plan, fill=None), drawn_site.materials) == []
