"""The cut through a bed in tiers, in the units of the picture. By hand: 2 m across are 92, 0.6 m up are 118."""

from __future__ import annotations

import re

import pytest
from shapely import box

from siteplan.fill.fill_results import Layer
from siteplan.land.features import Bed
from siteplan.show.charts.tier_sections import frame_intervals, tier_cut

BED = Bed(
    id="a", outline=box(0, 0, 4, 2), wall_thickness=0.0, tiers=(Bed.Tier(height=0.4), Bed.Tier(height=0.2, inset=0.5))
)


def layer(tier, material, bottom, top):
    return Layer(
        bed="a", order=0, material=material, bottom=bottom, top=top, volume=1.0, mass=1.0, settled=0.1, tier=tier,
        frame=1 if top <= 0.4 else 2,
    )  # fmt: skip


LAYERS = [
    layer(1, "logs", 0.0, 0.1), layer(1, "soil", 0.1, 0.4), layer(2, "logs", 0.0, 0.2), layer(2, "soil", 0.2, 0.4),
    layer(2, "soil", 0.4, 0.6),
]  # fmt: skip


@pytest.fixture
def cut():
    return str(tier_cut(BED, LAYERS, {"logs": "coarse", "soil": "mineral"}, "metric"))


LEFT = 14 + 4.9 * len("40 cm soil")  # the longest label on the left
ACROSS, UP = 92 / 2, 118 / 0.6


def test_layers_lie_under_their_ledges(cut):
    found = [
        (kind, *map(float, figures))
        for kind, *figures in re.findall(
            r'<rect class="layer (\w+)" x="([\d.]+)" y="([\d.]+)" width="([\d.]+)" height="([\d.]+)"/>', cut
        )
    ]
    ring = [(LEFT, 0.5), (LEFT + 1.5 * ACROSS, 0.5)]  # on both sides of the upper frame, which is 1 m wide
    core = [(LEFT + 0.5 * ACROSS, 1.0)]
    expected = [
        (fill, x, 128 - top * UP, wide * ACROSS, (top - bottom) * UP)
        for spots, fill, bottom, top in (
            (ring, "logs", 0.0, 0.1), (ring, "grains", 0.1, 0.4), (core, "logs", 0.0, 0.2), (core, "grains", 0.2, 0.4),
            (core, "grains", 0.4, 0.6),
        )
        for x, wide in spots
    ]  # fmt: skip
    assert [one[0] for one in found] == [one[0] for one in expected]
    for one, other in zip(found, expected, strict=True):
        assert one[1:] == pytest.approx(other[1:], abs=0.06)


def test_walls_stand_at_the_ends_of_each_frame_and_rise_above_it(cut):
    walls = [tuple(map(float, one)) for one in re.findall(r'class="walls" d="M([\d.]+) ([\d.]+)V([\d.]+)"', cut)]
    lower, upper = 128 - 0.4 * UP, 128 - 0.6 * UP
    expected = [
        (LEFT, lower - 3, 128), (LEFT + 92, lower - 3, 128), (LEFT + 23, upper - 3, lower), (LEFT + 69, upper - 3, lower),
    ]  # fmt: skip
    for one, other in zip(walls, expected, strict=True):
        assert one == pytest.approx(other, abs=0.06)
    floor = re.search(r'class="walls" d="M([\d.]+) ([\d.]+)H([\d.]+)"', cut)
    assert tuple(map(float, floor.groups())) == pytest.approx((LEFT, 128, LEFT + 92), abs=0.06)


def test_the_outer_tier_is_named_on_the_left_and_the_others_on_the_right(cut):
    def words(kind):
        return [
            (float(x), float(y), text)
            for x, y, text in re.findall(rf'<text class="{kind}" x="([\d.]+)" y="([\d.]+)">([^<]*)<', cut)
        ]

    marks, names = words("mark"), words("what")
    assert [text for _, _, text in marks] == ["10 cm logs", "40 cm soil"]
    assert [text for _, _, text in names] == ["20 cm logs", "60 cm soil"]  # the last mark of each material
    assert [x for x, _, _ in marks] == pytest.approx([LEFT - 10] * 2, abs=0.06)
    assert [x for x, _, _ in names] == pytest.approx([LEFT + 102] * 2, abs=0.06)
    assert [y - 3.5 for _, y, _ in marks] == pytest.approx([128 - 0.1 * UP, 128 - 0.4 * UP], abs=0.11)
    leads = [
        tuple(map(float, one)) for one in re.findall(r'class="lead" d="M([\d.]+) ([\d.]+)L([\d.]+) ([\d.]+)"', cut)
    ]
    assert leads[0] == pytest.approx((LEFT - 8, 128 - 0.1 * UP, LEFT, 128 - 0.1 * UP), abs=0.11)
    assert leads[3] == pytest.approx((LEFT + 100, 10, LEFT + 69, 10), abs=0.11)  # to the end of the upper frame
    width, height = re.search(r'viewBox="0 0 ([\d.]+) ([\d.]+)"', cut).groups()
    assert float(width) == pytest.approx(LEFT + 92 + 14 + 4.9 * len("60 cm soil"), abs=0.06)
    assert float(height) == 136


def test_a_cut_is_told_in_words(cut):
    assert "Layers from the bottom: logs (tier 1) to 10 cm, soil (tier 1) to 40 cm, logs (tier 2) to 20 cm, " in cut


def test_frames_along_a_line_across_the_bed():
    aside = Bed(
        id="a", outline=box(0, 0, 4, 2), wall_thickness=0.0,
        tiers=(Bed.Tier(height=0.4), Bed.Tier(height=0.2, outline=box(1, 0.25, 3, 1.0))),
    )  # fmt: skip
    # from the north side on: 2 m less 1 m, and less 0.25 m
    assert frame_intervals(aside) == [pytest.approx((0.0, 2.0)), pytest.approx((1.0, 1.75))]


def drawn(bed, *layers):
    return str(tier_cut(bed, layers, {}, "metric"))


def test_where_only_the_outer_tier_is_filled_nothing_stands_on_the_right():
    """14 from the labels' end to the wall and 14 to the edge; the longest label counts."""
    made = drawn(BED, layer(1, "s", 0.0, 0.1), layer(1, "soil of old", 0.1, 0.4))
    width, _ = re.search(r'viewBox="0 0 ([\d.]+) ([\d.]+)"', made).groups()
    assert float(width) == pytest.approx(14 + 4.9 * len("40 cm soil of old") + 92 + 14, abs=0.06)
    assert 'class="what"' not in made


def test_a_narrow_bed_is_drawn_as_wide_as_any():
    narrow = Bed(id="a", outline=box(0, 0, 2, 0.8), wall_thickness=0.0,
                 tiers=(Bed.Tier(height=0.4), Bed.Tier(height=0.2, inset=0.2)))  # fmt: skip
    made = drawn(narrow, layer(1, "soil", 0.0, 0.4), layer(2, "soil", 0.0, 0.6))
    widths = [
        float(one) for one in re.findall(r'<rect class="layer \w+" x="[\d.]+" y="[\d.]+" width="([\d.]+)"', made)
    ]
    assert widths == [23.0, 23.0, 46.0]


def test_a_side_without_a_ledge_has_no_soil_of_its_own():
    """The upper frame stands on the south wall of the lower: its ledge lies on the north side alone, 0.5 m wide."""
    flush = Bed(id="a", outline=box(0, 0, 4, 2), wall_thickness=0.0,
                tiers=(Bed.Tier(height=0.4), Bed.Tier(height=0.2, outline=box(1, 0, 3, 1.5))))  # fmt: skip
    made = drawn(flush, layer(1, "soil", 0.0, 0.4), layer(2, "soil", 0.0, 0.6))
    widths = [
        float(one) for one in re.findall(r'<rect class="layer \w+" x="[\d.]+" y="[\d.]+" width="([\d.]+)"', made)
    ]
    assert widths == [23.0, 69.0]


def test_labels_of_thin_layers_stand_apart():
    """2 cm are 3.9: marks at 69.0 and 65.1 move 3.8 up and down each, to be 11.5 apart."""
    made = drawn(BED, layer(1, "logs", 0.0, 0.3), layer(1, "soil", 0.3, 0.32))
    spots = [float(y) - 3.5 for y in re.findall(r'class="mark" x="[\d.]+" y="([\d.]+)"', made)]
    middle = 128 - 0.31 * UP
    assert spots == pytest.approx([middle + 5.75, middle - 5.75], abs=0.11)


def test_of_three_tiers_the_middle_one_is_pointed_at_from_the_right():
    """Over 3 m 92 are drawn; the middle frame ends at 2.5 m, its tier's top at 0.4 of 0.6 m."""
    steps = (Bed.Tier(height=0.2), Bed.Tier(height=0.2, inset=0.5), Bed.Tier(height=0.2, inset=0.5))
    three = Bed(id="a", outline=box(0, 0, 6, 3), wall_thickness=0.0, tiers=steps)
    made = drawn(three, layer(1, "soil", 0.0, 0.2), layer(2, "soil", 0.0, 0.4), layer(3, "soil", 0.0, 0.6))
    leads = [
        tuple(map(float, one)) for one in re.findall(r'class="lead" d="M([\d.]+) ([\d.]+)L([\d.]+) ([\d.]+)"', made)
    ]
    left = 14 + 4.9 * len("20 cm soil")
    assert leads == [
        pytest.approx((left - 8, 128 - 0.2 * UP, left, 128 - 0.2 * UP), abs=0.11),
        pytest.approx((left + 100, 128 - 0.4 * UP, left + 92 / 3 * 2.5, 128 - 0.4 * UP), abs=0.11),
        pytest.approx((left + 100, 10, left + 92 / 3 * 2, 10), abs=0.11),
    ]
