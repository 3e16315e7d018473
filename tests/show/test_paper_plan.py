"""What stands where on the paper plan, in millimetres, by hand."""

from __future__ import annotations

import re
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from shapely import Point, box

from siteplan.land.features import Bed, Pile
from siteplan.land.grid import Grid
from siteplan.place.limits.limits import Limit
from siteplan.say.place_limits import limit_text
from siteplan.show.sheet import paper_plan
from siteplan.show.sheet.paper_plan import Paper, plan_drawing
from siteplan.show.sheet.setting_out import FixedPoint
from siteplan.show.symbols import planned
from tests.place.conftest import bare_yard

PAPER = Paper(scale=100, west=-2.0, north=8.0, wide=180.0, tall=120.0)  # a metre is 10 mm


def bed(length, width, x=3.0, y=4.0):
    outline = box(x - length / 2, y - width / 2, x + length / 2, y + width / 2)
    return Bed(id="bed", outline=outline, height=0.3)


def test_metres_become_millimetres():
    assert PAPER.at((1.0, 5.0)) == (30.0, 30.0)
    assert PAPER.path([(0, 8), (1, 7.5)], closed=False) == "M20.00 0.00L30.00 5.00"
    assert PAPER.path([(0, 8), (1, 7.5)], closed=True).endswith("z")


def test_corners_are_numbered_just_outside_them():
    """A bed of 4 m by 3 m: from its middle to a corner 2.5 m; the number stands 1.6 mm farther, so 1.28 right, 0.96 up."""
    found = paper_plan._corner_spots(bed(4.0, 3.0), PAPER)
    assert np.array(found) == pytest.approx(
        np.array([[30 - 1.28, 25 - 0.96], [70 + 1.28, 25 - 0.96], [70 + 1.28, 55 + 0.96], [30 - 1.28, 55 + 0.96]])
    )
    numbers = paper_plan._corner_numbers(bed(4.0, 3.0), PAPER)
    assert [re.search(r'x="([\d.]+)" y="([\d.]+)">(\d)<', one).groups() for one in numbers] == [
        (f"{x:.2f}", f"{y + 0.8:.2f}", str(n)) for n, (x, y) in enumerate(found, 1)
    ]


@pytest.mark.parametrize(("length", "count"), [(1.2, 4), (1.1, 1)])
def test_a_bed_that_is_small_on_paper_has_its_first_corner_numbered(length, count):
    """Around it 4.6 m are 46 mm, 4.4 m 44 mm; 45 mm is the bound."""
    assert len(paper_plan._corner_spots(bed(length, 1.1), PAPER)) == count


def test_the_disc_of_a_number_is_as_wide_as_its_text():
    """A round of 4.2 mm, or 0.85 mm a letter to either side and 0.6 mm beside them."""
    for text, half in (("1", 2.1), ("12", 2.3), ("4, 6, 8", 6.55)):
        found = re.search(r'x="([\d.]+)" y="([\d.]+)" width="([\d.]+)" height="4.2"', paper_plan._disc(50, 40, text))
        assert list(map(float, found.groups())) == pytest.approx([50 - half, 37.9, 2 * half])


def test_the_box_of_an_item():
    area = {"g": "area", "k": "bed", "c": [[[[0, 0], [2, 0], [2, 1], [0, 1]]]]}
    assert paper_plan._box(area, PAPER) == pytest.approx((20 - 0.5, 70 - 0.5, 40 + 0.5, 80 + 0.5))
    assert paper_plan._middle(area) == (1.0, 0.5)
    tap, heap = {"g": "point", "k": "tap", "c": [0, 0]}, {"g": "point", "k": "heap", "c": [0, 0], "r": 0.5}
    assert paper_plan._box(tap, PAPER) == pytest.approx((18.4, 78.4, 21.6, 81.6))
    assert paper_plan._box(heap, PAPER) == pytest.approx((15, 75, 25, 85))
    assert paper_plan._middle(tap) == (0, 0)


def test_points_arrows_and_levels():
    def drawn(item):
        (first, *_) = paper_plan._item({"g": "point", "c": [1, 2], **item}, PAPER)
        return first

    assert 'cx="30.00" cy="60.00" r="1.60"' in drawn({"k": "tap"})
    assert 'r="5.00"' in drawn({"k": "heap", "r": 0.5})
    assert 'r="0.50"' in drawn({"k": "heap", "r": 0.01})  # as much as can be seen
    assert 'd="M28.60 58.00h2.8L30.00 60.00z"' in drawn({"k": "level"})
    letters = paper_plan._item({"g": "point", "k": "door", "c": [1, 2]}, PAPER)[1]
    assert letters == '<text class="small" x="30.00" y="60.80">D</text>'
    assert "translate(30.00 60.00) rotate(45.0)" in paper_plan._arrow((1, 2, 45.0), PAPER)
    route = paper_plan._item({"g": "line", "k": "route", "c": [[[0, 0], [1, 1]]], "arrows": [(1, 2, 9.0)]}, PAPER)
    assert [re.search(r'class="([\w-]+)"', one)[1] for one in route] == ["route-edge", "route", "arrow"]
    fence = paper_plan._item({"g": "line", "k": "fence", "c": [[[0, 0], [1, 1]]]}, PAPER)
    assert [re.search(r'class="([\w-]+)"', one)[1] for one in fence] == ["fence", "fence-posts"]


def test_a_place_has_its_number_in_its_middle_and_a_run_a_disc():
    place = {"g": "area", "k": "place", "c": [[[[0, 0], [2, 0], [2, 1], [0, 1]]]], "badge": "1"}
    assert paper_plan._badge(place, PAPER) == ['<text class="number" x="30.00" y="76.00">1</text>']
    run = {"g": "line", "k": "route", "c": [], "badge": "1", "at": [0, 0]}
    assert paper_plan._badge(run, PAPER)[0].startswith('<rect class="disc" x="17.90" y="77.90"')


@pytest.mark.parametrize(("one", "count"), [
    (46.0, 1), (50.0, 1), (23.0, 2), (23.1, 1), (9.2, 5), (4.6, 10), (2.3, 20), (0.92, 50), (0.46, 100), (0.09, 500), (0.01, 500),
])  # fmt: skip
def test_a_scale_bar_is_the_longest_round_one_up_to_46_mm(one, count):
    assert paper_plan._bar(one) == (count, pytest.approx(count * one))


def test_scale_bars_are_to_scale():
    """At 1 : 100 2 m are 20 mm; 10 ft are 30.48 mm; each in four fields, black and white in turn."""
    drawn = "".join(paper_plan._furniture(PAPER))
    for y, unit, wide, count in ((112.0, "m", 20.0, 2), (116.0, "ft", 30.48, 10)):
        fields = re.findall(rf'class="(bar|bar-light)" x="([\d.]+)" y="{y:.2f}" width="([\d.]+)" height="1.2"', drawn)
        assert [kind for kind, _, _ in fields] == ["bar", "bar-light"] * 2
        assert [float(x) for _, x, _ in fields] == pytest.approx([4 + wide * k / 4 for k in range(4)], abs=0.006)
        assert {float(width) for _, _, width in fields} == {round(wide / 4, 2)}
        text = re.search(rf'x="([\d.]+)" y="{y + 1.7:.2f}">{count} {unit}<', drawn)
        assert float(text[1]) == pytest.approx(5 + wide, abs=0.006)
    plate = re.search(r'class="plate" x="2" y="([\d.]+)" width="([\d.]+)" height="8.5"', drawn)
    assert list(map(float, plate.groups())) == pytest.approx([110.0, 42.5], abs=0.06)
    frame = re.search(r'class="frame" x=".2" y=".2" width="([\d.]+)" height="([\d.]+)"', drawn)
    assert list(map(float, frame.groups())) == pytest.approx([179.6, 119.6])


def test_fixed_points_stand_with_their_tip_on_the_corner():
    pair = FixedPoint("a", 0, 8), FixedPoint("b", 5, 2)
    line, first, second = paper_plan._fixed(pair, PAPER)
    assert 'd="M20.00 0.00L70.00 60.00"' in line
    assert 'd="M20.00 0.00l-1.6 -2.8h3.2z"' in first
    assert 'x="70.00" y="56.40">B<' in second


def test_the_part_around_a_bed_and_its_points():
    pair = FixedPoint("a", -3, 1), FixedPoint("b", 9, 2)
    assert paper_plan.around([box(0, 0, 2, 6)], pair) == [-4.5, -1.5, 10.5, 7.5]


def named(*beds, pair=None, **options):
    site = bare_yard(beds=beds)
    plan = SimpleNamespace(site=site, haul=None, places=None, beds=(), fill=None)
    return plan_drawing(plan, pair, **options)


def test_the_whole_property_is_drawn_with_its_names():
    """10 m by 8 m with a margin of 2 % are 10.4 m on 182 mm: at 1 : 75 138.7 mm, at 1 : 50 208 mm would not fit."""
    drawing, scale = named(bed(2.0, 1.0))
    assert scale == 75
    assert 'viewBox="0 0 182 ' in str(drawing)
    x, y, text = re.search(r'class="bed-name" x="([\d.]+)" y="([\d.]+)">(\w+)<', str(drawing)).groups()
    assert text == "bed"
    # the bed's middle lies 2 m west of the property's middle, the paper's; its name just below it
    assert float(x) == pytest.approx(91 - 2000 / 75, abs=0.02)
    below = float(re.search(r'height="([\d.]+)mm"', str(drawing))[1]) / 2 + (4 - 3.5) * 1000 / 75
    assert 1 < float(y) - below < 6


def test_boxes_of_names_under_beds_and_piles():
    """A letter is a sixtieth of the property's longer side: 0.187 m; a name 0.7 of that a letter, two letters high."""
    site = replace(bare_yard(beds=(bed(2.0, 1.0),)), piles=(Pile(id="p" * 30, shape=Point(8, 2)),))
    letter = 10 * 1.12 / 60
    assert planned._letter(site) == pytest.approx(letter, abs=1e-4)
    first, second = (one.bounds for one in planned._names(site))
    assert first == pytest.approx((3 - 0.35 * letter * 3, 3.5 - 2 * letter, 3 + 0.35 * letter * 3, 3.5), abs=1e-3)
    assert second == pytest.approx((8 - 0.35 * letter * 22, 2 - 2 * letter, 8 + 0.35 * letter * 22, 2.0), abs=1e-3)
    assert planned.site_extent(site) == [-0.6, -0.6, 10.6, 8.6]
    assert planned.site_extent(site, margin=0.5) == [-5.0, -5.0, 15.0, 13.0]


def test_each_cell_has_the_first_reason_that_forbids_it():
    grid = Grid(0, 4, 1.0, 4, 4)

    def limit(kind, shape, name="x"):
        return Limit(kind=kind, feature=name, ground=shape, bare=shape, grid=grid, margin=0.0)

    limits = [
        limit("building", box(0, 0, 2, 4)), limit("hedge", box(1, 0, 3, 4)), limit("hedge", box(1, 0, 2, 4), "hidden"),
        limit("building", box(3, 3, 4, 4)),
    ]  # fmt: skip
    cells, reasons = planned.forbidden_cells(limits, grid, "metric")
    assert cells.tolist() == [[1, 1, 2, 1], [1, 1, 2, 0], [1, 1, 2, 0], [1, 1, 2, 0]]
    assert reasons == [limit_text(limits[0], "metric"), limit_text(limits[1], "metric")]
