"""What stands where on the paper plan, in millimetres, by hand."""

from __future__ import annotations

import math
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
    (46.0, 1), (50.0, 1), (0.23, 200), (23.0, 2), (23.1, 1), (9.2, 5), (4.6, 10), (2.3, 20), (0.92, 50), (0.46, 100), (0.09, 500), (0.01, 500),
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


@pytest.mark.parametrize(("extent", "scale", "corner", "size"), [
    # 30 m on 180 mm want 1 : 167, 20 m on 150 mm less. 180 mm are 36 m there: 3 m to spare on each side. The drawing
    # is 100 mm and 6 more tall: 0.6 m more above
    ((0, 0, 30, 20), 200, (-3.0, 20.6), (180, 106)),
    ((100, 50, 130, 70), 200, (97.0, 70.6), (180, 106)),
    # 30 m on 150 mm are just 1 : 200, and there is no room above; 180 mm are 36 m, so 13 m to spare on each side
    ((0, 0, 10, 30), 200, (-13.0, 30.0), (180, 150)),
    ((0, 0, 3.6, 1), 20, (0.0, 1.06), (180, 56)),
    ((0, 0, 1800, 100), 10000, (0.0, 130.0), (180, 16)),
    # 1080 m want 1 : 6000; at 1 : 10,000 180 mm are 1800 m, so 360 m to spare on each side
    ((0, 0, 1080, 100), 10000, (-360.0, 130.0), (180, 16)),
    # beyond the largest scale of the list the next thousand: 1890 m on 180 mm are 1 : 10,500
    ((0, 0, 1890, 110), 11000, (-45.0, 143.0), (180, 16)),
])  # fmt: skip
def test_a_paper_has_the_next_round_scale_and_its_drawing_in_the_middle(extent, scale, corner, size):
    paper = paper_plan.paper_for(extent, wide=180, tall=150)
    assert paper.scale == scale
    assert (paper.west, paper.north) == pytest.approx(corner)
    assert (paper.wide, paper.tall) == pytest.approx(size)


def placed(monkeypatch, pair, *beds):
    """Draw a yard and return the names that are placed and the boxes that they should not cover."""
    seen = {}

    def boxes(names, taken, *, wide, tall):
        seen.update(names=list(names), taken=list(taken), wide=wide, tall=tall)
        return [(10.0, 20.0, 30.0, 24.0) for _ in names]

    monkeypatch.setattr(paper_plan, "name_boxes", boxes)
    drawing, scale = named(*beds, pair=pair, wide=180, tall=150, extent=(0, 0, 9, 6))
    assert scale == 50  # a metre is 20 mm; 180 mm are 9 m, and the drawing is 126 mm tall with 0.15 m above
    return seen, str(drawing)


def test_what_names_should_not_cover(monkeypatch):
    """The bed, the fixed points with their letters, the numbers of corners, the scale bars, and the north arrow.

    A bed of 2 m by 1 m with its middle at (3, 4): on paper from x 40 to 80 and, 6.15 - y metres down, y 33 to 53.
    """
    pair = FixedPoint("a", 1, 1), FixedPoint("b", 8, 1)
    seen, drawing = placed(monkeypatch, pair, bed(2.0, 1.0))
    assert (seen["wide"], seen["tall"]) == (180, 126)
    ((text, bold, shape),) = [(one.text, one.bold, one.shape) for one in seen["names"]]
    assert (text, bold) == ("bed", True)
    assert shape == pytest.approx((39.5, 32.5, 80.5, 53.5))  # half a millimetre around it
    ahead = (1.6 * 2 / math.sqrt(5), 1.6 / math.sqrt(5))  # the corners' numbers stand 1.6 mm outward from the middle
    corners = [
        (40 - ahead[0], 33 - ahead[1]), (80 + ahead[0], 33 - ahead[1]), (80 + ahead[0], 53 + ahead[1]),
        (40 - ahead[0], 53 + ahead[1]),
    ]  # fmt: skip
    expected = [
        (39.5, 32.5, 80.5, 53.5),
        (20 - 1.8, 103 - 7, 20 + 1.8, 103 + 0.5), (160 - 1.8, 103 - 7, 160 + 1.8, 103 + 0.5),
        *((x - 1, y - 1.3, x + 1, y + 1.3) for x, y in corners),
        (1, 115, 69, 126), (166, 1, 180, 21),
    ]  # fmt: skip
    assert np.array(seen["taken"]) == pytest.approx(np.array(expected))
    # in the middle of its box, its foot 0.7 mm above the lower edge; once with a white outline, once without
    written = '<text class="bed-name halo" x="20.00" y="23.30">bed</text><text class="bed-name" x="20.00" y="23.30">bed</text>'
    assert written in drawing


def test_without_fixed_points_there_is_no_line_to_tape_from(monkeypatch):
    seen, drawing = placed(monkeypatch, None, bed(2.0, 1.0))
    assert len(seen["taken"]) == 1 + 4 + 2
    assert 'class="baseline"' not in drawing
    assert 'class="fixed"' not in drawing


def test_the_plan_says_its_size_in_millimetres(monkeypatch):
    _, drawing = placed(monkeypatch, None, bed(2.0, 1.0))
    assert 'width="180mm" height="126mm" viewBox="0 0 180 126"' in drawing


def test_a_plan_of_its_own_size_is_182_mm_by_184_mm_at_most():
    assert [named(bed(2.0, 1.0), extent=(0, 0, 1, tall))[1] for tall in (36.8, 36.9)] == [200, 250]
    assert [named(bed(2.0, 1.0), extent=(0, 0, wide, 1))[1] for wide in (36.4, 36.5)] == [200, 250]


@pytest.mark.parametrize(("side", "scale"), [(17.49, 100), (17.51, 125)])
def test_around_the_property_is_a_fiftieth_of_it(side, scale):
    """18.2 m are 182 mm at 1 : 100, and 17.5 m with 2 % on both sides."""
    site = replace(bare_yard(beds=(bed(2.0, 1.0),)), boundary=box(0, 0, side, 8))
    plan = SimpleNamespace(site=site, haul=None, places=None, beds=(), fill=None)
    assert plan_drawing(plan, None)[1] == scale


def test_areas_are_closed_with_their_holes_and_lines_are_not():
    rings = [[[0, 0], [2, 0], [2, 1]], [[1, 0.2], [1.5, 0.2], [1.5, 0.5]]]
    assert paper_plan._item({"g": "area", "k": "bed", "c": [rings]}, PAPER) == [
        (
            '<path class="bed" fill-rule="evenodd" d="M20.00 80.00L40.00 80.00L40.00 70.00z'
            'M30.00 78.00L35.00 78.00L35.00 75.00z"/>'
        )
    ]
    assert paper_plan._item({"g": "line", "k": "ridge", "c": [[[0, 0], [1, 0]], [[0, 1], [1, 1]]]}, PAPER) == [
        '<path class="ridge" d="M20.00 80.00L30.00 80.00M20.00 70.00L30.00 70.00"/>'
    ]


def test_beds_are_named_first_and_names_are_cut_at_22_letters(monkeypatch):
    seen = []
    monkeypatch.setattr(
        paper_plan, "name_boxes", lambda names, taken, **_: seen.append((names, taken)) or [(0, 0, 9, 4)] * len(names)
    )
    square = [[[[0, 0], [1, 0], [1, 1]]]]
    order = [
        {"g": "area", "k": "pile", "c": square, "label": "p" * 22},
        {"g": "area", "k": "place", "c": square, "badge": "1", "label": "has a number"},
        {"g": "area", "k": "bed-proposed", "c": square, "label": "b" * 23},
        {"g": "line", "k": "route", "c": [[[0, 0], [1, 1]]], "badge": "4, 6", "at": [3, 4]},
        {"g": "line", "k": "route", "c": [[[0, 0], [1, 1]]]},
    ]  # fmt: skip
    drawn = paper_plan._names(order, None, PAPER, clear=[])
    ((names, taken),) = seen
    assert [(one.bold, len(one.text)) for one in names] == [(True, 22), (False, 22)]
    assert names[1].text == "p" * 22
    assert names[0].text.startswith("bbbbb")
    assert drawn[0].startswith('<text class="bed-name halo"')
    assert drawn[1].startswith('<text class="name halo"')
    # the pile, the place, the bed, and the number at (50, 40): four letters are 0.85 x 4 + 0.6 = 4 mm to either side
    assert [one for one in taken if one not in ((1, 109.0, 69, 120.0), (166.0, 1, 180.0, 21))] == [
        pytest.approx((19.5, 69.5, 30.5, 80.5))
    ] * 3 + [pytest.approx((46.0, 37.9, 54.0, 42.1))]


def test_the_numbers_of_a_small_bed_s_corners_stand_as_far_off():
    """From the middle of a bed of 1.2 m by 1.6 m to a corner it is 1 m, of one of 0.6 m by 0.8 m half a metre: 1.6 mm on."""
    paper = Paper(scale=20, west=0.0, north=8.0, wide=180.0, tall=120.0)  # a metre is 50 mm
    for length, width in ((1.2, 1.6), (0.6, 0.8)):
        (x, y), *_ = paper_plan._corner_spots(bed(length, width), paper)
        corner = 150 - length * 25, 200 - width * 25
        assert (x, y) == pytest.approx((corner[0] - 0.96, corner[1] - 1.28))


def test_north_is_up_in_the_upper_right_corner():
    """8 mm from the right edge: an arrow 12 mm long from 7 mm on, half black, with its letter above."""
    drawn = "".join(paper_plan._furniture(PAPER))
    assert '<path class="bar" d="M172.0 7v12l-2.6 -2z"/><path class="bar-light" d="M172.0 7v12l2.6 -2z"/>' in drawn
    assert '<text class="letter" x="172.00" y="6.00">N</text>' in drawn
    assert '<rect class="plate" x="166.0" y="1" width="12.5" height="20"/>' in drawn
