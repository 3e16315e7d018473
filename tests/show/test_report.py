"""The work sheet: everything on it, nothing from outside, a PDF where the extra is there."""

from __future__ import annotations

import math
import re
import sys
from dataclasses import replace

import pytest

from siteplan.land.errors import MissingExtraError
from siteplan.land.units import mass_text
from siteplan.show.page_parts import own_asset
from siteplan.show.sheet.paper_plan import SCALES, _item, paper_for, plan_drawing
from siteplan.show.sheet.setting_out import set_out, shared_pair, tape_text
from siteplan.show.sheet.work_sheet import report_html, report_pdf


@pytest.fixture(scope="module")
def sheet(drawn_plan) -> str:
    return report_html(drawn_plan)


def test_nothing_is_asked_from_outside(sheet):
    assert "<script" not in sheet
    assert not re.search(r"""(?:src|href)\s*=|url\(\s*(?!#)""", sheet)
    assert "default-src 'none'" in sheet


def test_every_part_is_there(sheet):
    for heading in (
        "Set the beds out",
        "Sun",
        "Fill",
        "On hand and to buy",
        "Barrow runs",
        "Where the figures come from",
    ):
        assert f"<h2>{heading}</h2>" in sheet
    assert "Have buried services marked before you dig." in sheet


def test_distances_on_the_sheet_are_those_of_the_set_out(sheet, drawn_site):
    out = set_out(drawn_site, drawn_site.bed("west bed"), shared_pair(drawn_site, drawn_site.beds))
    for distance in (*out.from_first, *out.from_second):
        assert tape_text(distance, "imperial") in sheet


def test_a_bed_s_mass_is_that_of_its_own_layers(sheet, drawn_plan):
    part = sheet[sheet.index("<h2>Fill</h2>") : sheet.index("<h2>On hand and to buy</h2>")]
    assert len(drawn_plan.fill.beds) > 1
    for bed in drawn_plan.fill.beds:
        mass = sum(layer.mass for layer in drawn_plan.fill.layers if layer.bed == bed.bed)
        own = part[part.index(f"<h3><bdi>{bed.bed}</bdi>") :].partition("</section>")[0]
        assert mass_text(mass, drawn_plan.site.units) in own


def test_a_box_for_each_trip(sheet, drawn_plan):
    wheel = sheet[sheet.index("<h2>Barrow runs</h2>") : sheet.index("<h2>Where the figures")]
    assert wheel.count('class="tick"') == drawn_plan.haul.trips


def test_less_than_needed_stands_in_brackets(sheet, drawn_plan):
    january = drawn_plan.beds[0].sun.month_sun_h[0]
    assert january < drawn_plan.site.sun.need
    assert f"({january:.1f})" in sheet


def test_light_stands_under_each_bed_s_sun(sheet, drawn_plan):
    assert sheet.count('class="beneath"') == len(drawn_plan.beds)
    # 5 kWh/m2 a day in the season at 7.265 mol each
    assert "36 mol/m² of light a day (5.0 kWh/m²), 100 % of open ground" in sheet
    assert "clouds are left out" in sheet
    assert "A rough guide, from crops under glass" in sheet
    unasked = replace(drawn_plan, beds=tuple(replace(report, light=None) for report in drawn_plan.beds))
    assert 'class="beneath"' not in report_html(unasked)


def test_black_and_white_alone(drawn_plan):
    drawing, _ = plan_drawing(drawn_plan, None)
    for colour in set(re.findall(r"#[0-9a-fA-F]{3,6}\b", str(drawing))):
        digits = colour[1:] if len(colour) == 7 else "".join(letter * 2 for letter in colour[1:])
        assert digits[:2] == digits[2:4] == digits[4:], colour


def test_scale_is_round_and_fits(drawn_plan):
    drawing, scale = plan_drawing(drawn_plan, None, wide=182, tall=150)
    assert scale in SCALES
    # 31.5 m by 24 m with its margin of 6 % on 182 mm: 1 : 195 at the least, so the next round scale
    assert scale == 200
    assert 'width="182mm"' in drawing


def test_beds_and_piles_are_named_on_the_paper(drawn_plan, drawn_site):
    drawing, _ = plan_drawing(drawn_plan, None)
    for thing in (*drawn_site.beds, *drawn_site.piles):
        assert f">{thing.id}<" in drawing


def test_larger_properties_get_smaller_scales():
    scales = [paper_for([0, 0, side, side], wide=182, tall=150).scale for side in (5, 20, 60, 200, 4000)]
    assert scales == sorted(scales)
    assert scales[-1] * 0.15 >= 4000


def test_no_beds_no_answers(drawn_plan, drawn_site):
    bare = replace(drawn_plan, site=replace(drawn_site, beds=()), maps=None, beds=(), places=None, fill=None,
                   haul=None, cautions=())  # fmt: skip
    sheet = report_html(bare)
    assert "Set the beds out" not in sheet
    assert "<svg" in sheet


def test_places_are_set_out_like_beds(drawn_plan, drawn_site):
    sheet = report_html(drawn_plan)
    assert all(f"<bdi>place {rank}</bdi>" in sheet for rank in (1, 2, 3))
    bare = replace(drawn_plan, site=replace(drawn_site, beds=()), beds=(), fill=None, haul=None, cautions=())
    sheet = report_html(bare)
    assert "siteplan place --adopt 1 SITE" in sheet
    beds = [drawn_plan.places.bed_at(place) for place in drawn_plan.places.places]
    out = set_out(drawn_site, beds[0], shared_pair(drawn_site, beds))
    # by Pythagoras, from the corners of the house or the boundary to the place's own
    corner, a = out.corners[0], (out.first.x, out.first.y)
    assert out.from_first[0] == pytest.approx(math.dist(corner, a))
    assert tape_text(out.from_first[0], drawn_site.units) in sheet


def test_no_caution_is_torn_and_each_part_of_their_box_has_its_frame():
    assert re.search(r"\.mind li \{[^}]*break-inside: avoid", own_asset("paper.css"))
    assert re.search(r"\.mind \{[^}]* box-decoration-break: clone", own_asset("paper.css"))


def test_without_the_extra_it_says_what_to_install(drawn_plan, tmp_path, monkeypatch):
    monkeypatch.setitem(sys.modules, "weasyprint", None)
    with pytest.raises(MissingExtraError, match=r"siteplan\[pdf\]"):
        report_pdf(drawn_plan, tmp_path / "report.pdf")
    assert not (tmp_path / "report.pdf").exists()


def test_hostile_names_are_text(hostile_plan):
    sheet = report_html(hostile_plan)
    assert "<img" not in sheet
    assert "<script" not in sheet
    assert "{{" not in sheet
    assert "&#123;&#123;7*7&#125;&#125;" in sheet


def test_a_large_property_gets_a_second_plan_of_the_beds(drawn_plan, drawn_site):
    large = replace(drawn_site, boundary=drawn_site.boundary.buffer(60, join_style="mitre"))
    sheet = report_html(replace(drawn_plan, site=large))
    assert sheet.count('class="plan"') == 2
    scales = [int(found) for found in re.findall(r"1 : (\d+)", sheet)]
    assert scales[0] > 300 >= scales[1]


def test_corners_are_numbered_where_they_can_be_read(drawn_plan, drawn_site):
    pair = shared_pair(drawn_site, drawn_site.beds)
    close, _ = plan_drawing(drawn_plan, pair, extent=[-8, 2, 12, 10])
    far, _ = plan_drawing(drawn_plan, pair, extent=[-100, -100, 100, 100])
    # three beds and three places: four corners each, and the first alone where they are small
    assert close.count('class="corner"') == 4 * 6
    assert far.count('class="corner"') == 6


@pytest.mark.parametrize(
    ("metres", "scale"),
    [(3.6, 20), (4.5, 25), (9, 50), (13.5, 75), (18, 100), (22.5, 125), (27, 150), (36, 200), (45, 250), (54, 300),
     (72, 400), (90, 500), (135, 750), (180, 1000), (225, 1250), (270, 1500), (360, 2000), (450, 2500), (900, 5000),
     (1800, 10_000), (1981, 12_000)],
)  # fmt: skip
def test_the_scale_is_the_next_round_one(metres, scale):
    # on 180 mm: 3.6 m at 1 : 20, and so on; beyond the last, whole thousands
    assert paper_for([0, 0, metres, 1], wide=180, tall=150).scale == scale
    assert paper_for([0, 0, 1, metres], wide=10_000, tall=180).scale == scale


def test_a_drawing_lies_in_the_middle_of_its_paper():
    paper = paper_for([10, 20, 40, 40], wide=180, tall=150)  # 30 m by 20 m at 1 : 200: 150 mm by 100 mm
    assert paper.at((25, 30)) == pytest.approx((90, paper.tall / 2))
    assert paper.tall == pytest.approx(100 + 6)
    assert paper.at((10, 40)) == pytest.approx((15, 3))


def test_the_bars_are_as_long_as_they_say(drawn_plan):
    drawing, scale = plan_drawing(drawn_plan, None)
    assert scale == 200
    bars = re.findall(r'<rect class="bar(?:-light)?" x="([\d.]+)" y="[\d.]+" width="([\d.]+)"', str(drawing))
    said = re.findall(r'class="scale-text"[^>]*>(\d+) (m|ft)<', str(drawing))
    # 46 mm at 1 : 200 are 9.2 m: 5 m and 20 ft are the longest round lengths
    assert said == [("5", "m"), ("20", "ft")]
    for row, metres in ((bars[:4], 5), (bars[4:], 20 * 0.3048)):
        first, last = row[0], row[-1]
        assert float(last[0]) + float(last[1]) - float(first[0]) == pytest.approx(metres * 1000 / 200, abs=0.02)
        assert {width for _, width in row} == {first[1]}


def test_a_point_s_round_is_as_large_as_it_is(drawn_plan):
    tap, tank = {"k": "tap", "g": "point", "c": [0.0, 0.0]}, {"k": "pile", "g": "point", "c": [0.0, 0.0], "r": 0.5}
    paper = paper_for([-10, -10, 10, 10], wide=180, tall=150)  # 1 : 150
    (mark, letter), (round_,) = _item(tap, paper), _item(tank, paper)
    assert 'r="1.60"' in mark
    assert letter.endswith(">T</text>")
    assert f'r="{500 / paper.scale:.2f}"' in round_
