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
