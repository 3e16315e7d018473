"""What people see of a bed in tiers: rows, marks and steps, measures, its section, its figures in files."""

from __future__ import annotations

import math
import re
from dataclasses import replace

import pytest
from shapely import box

from siteplan import plan_site
from siteplan.land.features import Bed
from siteplan.land.values import printable
from siteplan.say.filling import fill_rows
from siteplan.say.tiers import build_steps, push_sentences, tier_crops, tier_sentences
from siteplan.show.charts.bed_charts import bed_charts
from siteplan.show.map.cards import bed_cards
from siteplan.show.sheet.setting_out import tape_text
from siteplan.show.sheet.tier_setting_out import tier_set_outs, tier_values
from siteplan.show.sheet.work_sheet import report_html, report_values
from siteplan.show.symbols.planned import bed_items
from siteplan.show.tables import tables
from siteplan.show.tables.document import plan_document
from siteplan.show.terminal import print_plan
from siteplan.show.writing import write_answers

FOOT, INCH = 0.3048, 0.0254
TIERS = (Bed.Tier(height=14 * INCH), Bed.Tier(height=10 * INCH, inset=1 * FOOT))


@pytest.fixture(scope="module")
def two():
    return Bed(id="two {{7*7}}", outline=box(-4 * FOOT, 2, 4 * FOOT, 2 + 4 * FOOT), tiers=TIERS)


@pytest.fixture(scope="module")
def plan(tiny_yard, two):
    site = replace(tiny_yard, beds=(two, tiny_yard.beds[1]), units="imperial", sun=replace(tiny_yard.sun, step=0.5))
    return plan_site(site, ask=["sun", "fill", "haul"])


def test_the_upper_frame_is_taped_from_the_lower_by_hand(two):
    # a foot in from the north-west corner both ways: sqrt(2) ft; from the south-west corner 1 ft and 3 ft: sqrt(10) ft
    (upper,) = tier_set_outs(two)
    assert (upper.tier, upper.inset) == (2, FOOT)
    first = upper.corners[0]
    assert (first.first, first.second) == (1, 4)
    assert (first.from_first / FOOT, first.from_second / FOOT) == pytest.approx((math.sqrt(2), math.sqrt(10)))
    assert [side / FOOT for side in upper.sides] == pytest.approx([6, 2, 6, 2])
    assert [length / FOOT for length in upper.diagonals] == pytest.approx([math.sqrt(40)] * 2)


def test_an_outline_of_its_own_is_taped_too(two):
    own = replace(two, height=0.5556, tiers=(TIERS[0], Bed.Tier(height=0.2, outline=box(-0.5, 2.2, 0.9, 3.0))))
    (upper,) = tier_set_outs(own)
    assert upper.inset is None
    corner = upper.corners[1]  # north-east of the upper frame at (0.9, 3.0), north-east of the lower at number 2
    east, north = 4 * FOOT, 2 + 4 * FOOT
    assert (corner.first, corner.from_first) == (2, pytest.approx(math.hypot(east - 0.9, north - 3.0)))
    assert tier_values(upper, "metric")["inset"] == ""
    flush = replace(two, height=0.5556, tiers=(TIERS[0], Bed.Tier(height=0.2)))
    assert list(tier_set_outs(flush)) == []


def test_rows_name_the_tier_and_say_when_the_next_frame_is_set(plan, two):
    rows = fill_rows(plan, two.id)
    assert [row["material"] for row in rows][:2] == ["coarse organic (tier 1)", "coarse organic (tier 2)"]
    steps = [row["step"] for row in rows if row["step"]]
    assert steps == ["Set frame 2 on the soil, then go on"]
    # 0.4 of 14 in and of 24 in; the rim of the lower frame; the rim of the upper
    assert [rows[0]["top"], rows[1]["top"], rows[-1]["top"]] == ["5 1/2 in", "9 1/2 in", "2 ft"]
    assert any(row["top"] == "1 ft 2 in" for row in rows)


def test_the_steps_of_building_by_hand(plan, two):
    # under the lower ledge 14 in of 0.4 base, 0.4 topsoil, 0.2 compost sink to 14 x (.4 x .84 + .4 x .9 + .2 x .8) =
    # 11.984 in: by 2 in
    steps = build_steps(plan, two)
    assert steps[0].startswith("Frame 1: set it out by the tapes")
    assert steps[1].startswith("Fill frame 1 to its rim, under its ledge and in the middle together.")
    assert "set it in by 1 ft from every side of frame 1" in steps[2]
    assert "Soil sinks by about 2 in in the first year" in steps[2]
    assert steps[-1] == "Fill frame 2 to its rim."
    assert build_steps(plan, plan.site.beds[1]) == []


def test_each_tier_is_told(plan, two):
    lower, upper = tier_sentences(plan, two)
    report = plan.beds[0]
    assert lower.startswith("tier 1: frame of 8 ft × 4 ft × 1 ft 2 in, rim 1 ft 2 in high; ")
    # 8 ft - 3 in by 4 ft - 3 in of inside less 12 ft2: 29.06 - 12 = 17.06; 60 % of 14 in is soil
    assert "17 ft² of open soil, 8 1/2 in deep above the coarse base" in lower
    assert f"{report.sun.tiers[0].season_sun_h:.1f} h of sun a day" in lower
    assert "rim 2 ft high" in upper
    walls = push_sentences(plan, two)
    assert len(walls) == 2
    assert all("lb on each foot of wall; boards are commonly braced every" in one for one in walls)
    assert tier_sentences(plan, plan.site.beds[1]) == push_sentences(plan, plan.site.beds[1]) == []
    assert all(line.startswith("Tier ") for line in tier_crops(report, "imperial"))


def test_the_section_has_steps(plan, two):
    cut = str(bed_charts(plan, two.id)["layers"])
    assert "coarse organic (tier 1) to 5 1/2 in, coarse organic (tier 2) to 9 1/2 in" in cut
    bodies = re.findall(r'<rect class="layer \w+" x="([\d.]+)" y="([\d.]+)" width="([\d.]+)" height="([\d.]+)"', cut)
    layers = plan.fill.layers
    lower = sum(1 for layer in layers if layer.bed == two.id and layer.tier == 1)
    upper = sum(1 for layer in layers if layer.bed == two.id and layer.tier == 2)
    assert len(bodies) == 2 * lower + upper  # on both sides of the middle
    # to scale: 92 for 4 ft across, 118 for 2 ft up; the ring is 1 ft wide, its base 5.6 in high
    assert float(bodies[0][2]) == pytest.approx(92 / 4, abs=0.06)
    assert float(bodies[0][3]) == pytest.approx(118 * 5.6 / 24, abs=0.06)


def test_the_sheet_holds_all_of_it(plan, two):
    page = report_html(plan)
    assert "Frame 2</b> on frame 1: 1 ft 0 in in from every side" in page
    assert f"<small>1:</small> {tape_text(math.sqrt(2) * FOOT, 'imperial')}" in page
    assert "Set frame 2 on the soil, then go on" in page
    assert "in 2 tiers" in page
    assert "49" not in re.findall(r"two (\S+)", page)
    suns = [row["bed"] for row in report_values(plan)["suns"]]
    assert suns == [two.id, "tier 1", "tier 2", "new bed"]


def test_the_card_and_the_map(plan, two):
    card = bed_cards(plan)[0]
    assert card["size"].endswith(", in 2 tiers")
    assert [line.split(":")[0] for line in card["tiers"]] == [
        "tier 1",
        "tier 2",
        "walls of frame 1",
        "walls of frame 2",
    ]
    insides = [item for item in bed_items(plan) if item["k"] == "bed-inside"]
    assert len(insides) == 4  # the lower frame's inside, both edges of the upper one's walls, the other bed's inside


def test_the_terminal_tells_them(plan, capsys):
    print_plan(plan, command="fill", written=[])
    print_plan(replace_fill(plan), command="sun", written=[])
    said = capsys.readouterr().out
    assert max(map(len, said.splitlines())) <= 80
    assert "- tier 1" in said
    assert "set it in by 1 ft from every side of frame 1" in " ".join(said.split())


def replace_fill(plan):
    """Return the plan as one who asked for the sun alone has it."""
    return replace(plan, fill=None, haul=None)


def test_files_hold_each_tier(plan, two):
    bed = plan_document(plan)["beds"][0]
    lower, upper = bed["tiers"]
    assert (lower["tier"], lower["top_m"], upper["bottom_m"]) == (1, pytest.approx(0.3556), pytest.approx(0.3556))
    assert upper["outline"]["type"] == "Polygon"
    assert len(upper["month_sun_h"]) == 12
    assert upper["season_sun_h"] == pytest.approx(plan.beds[0].sun.tiers[1].season_sun_h)
    assert lower["volume_m3"] + upper["volume_m3"] == pytest.approx(bed["fill"]["volume_m3"])
    assert bed["fill"]["settled_depth_m"] == upper["settled_depth_m"]
    layers = tables.geographic_layers(plan)["tiers"].to_crs(plan.site.frame.crs)
    assert list(layers["tier"]) == [1, 2, 1]
    assert layers.area.iloc[1] == pytest.approx(12 * FOOT**2, rel=1e-6)
    frame = tables.tiers_table(plan)
    assert frame.loc[0, "wall_thrust_n_per_m"] == pytest.approx(lower["wall_thrust_n_per_m"])
    assert frame.loc[1, "jun_sun_h"] == pytest.approx(upper["month_sun_h"][5])
    assert printable(frame.loc[0, "bed"]) == two.id


def test_a_table_of_tiers_is_written_where_there_are_some(plan, tmp_path):
    assert write_answers(plan, tmp_path / "two", command="fill").names == ("shopping.csv", "tiers.csv")
    assert len((tmp_path / "two" / "tiers.csv").read_text(encoding="utf-8").splitlines()) == 4  # three frames
    without = replace(plan, site=replace(plan.site, beds=plan.site.beds[1:]))
    assert write_answers(without, tmp_path / "one", command="fill").names == ("shopping.csv",)
