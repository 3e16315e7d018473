"""Where the parts of a cross-section and of a height profile stand, in the units of the picture, by hand."""

from __future__ import annotations

import itertools
import re

import pytest

from siteplan.fill.fill_results import Layer
from siteplan.show.charts.sections import layer_cut, route_profile, spread


def layers(*depths, material="soil"):
    """Return layers from one depth to the next."""
    return [
        Layer(bed="b", order=n, material=material, bottom=low, top=high, volume=0.5, mass=1, settled=0.2)
        for n, (low, high) in enumerate(itertools.pairwise(depths))
    ]


def test_a_single_layer_fills_the_cut():
    """The walls are 118 tall and 70 wide, from 78 and 10 on; the name stands in the middle of its layer."""
    cut = layer_cut(layers(0.0, 0.5), {"soil": "mineral"}, "metric")
    assert 'viewBox="0 0 300 136"' in cut
    assert '<rect class="layer grains" x="78.0" y="10.0" width="70.0" height="118.0"/>' in cut
    assert '<text class="mark" x="69.0" y="13.5">50 cm</text>' in cut
    assert '<path class="tick" d="M71.0 10.0L78.0 10.0"/>' in cut
    assert '<path class="lead" d="M148.0 69.0L158.0 69.0"/>' in cut
    assert '<text class="what" x="161.0" y="72.5">soil<tspan class="much" dx="5">' in cut
    assert '<path class="walls" d="M78.0 6V128.0H148.0V6"/>' in cut
    assert 'aria-label="Layers from the bottom: soil to 50 cm."' in cut


def places(cut, kind):
    return [float(y) for y in re.findall(rf'class="{kind}" x="[\d.]+" y="(-?[\d.]+)"', str(cut))]


def test_marks_and_names_of_thin_layers_move_apart():
    """Of 0.4 m, 0.08 and 0.08 m below the brim are 23.6 tall each: their middles lie 23.6 apart, so nothing moves.

    Of 0.02 and 0.02 m, 5.9 each: marks at 10 and 15.9 must be 11.5 apart, names at 12.95 and 18.85 must be 13 apart:
    each moves half of what is missing, 2.8 and 3.55. Leads and ticks still start at the layers.
    """
    wide = layer_cut(layers(0.0, 0.24, 0.32, 0.4), {}, "metric")
    assert places(wide, "mark") == pytest.approx([57.2 + 3.5, 33.6 + 3.5, 13.5], abs=0.06)
    assert places(wide, "what") == pytest.approx([92.6 + 3.5, 45.4 + 3.5, 21.8 + 3.5], abs=0.06)
    thin = layer_cut(layers(0.0, 0.36, 0.38, 0.4)[1:], {}, "metric")
    assert places(thin, "mark") == pytest.approx([15.9 + 2.8 + 3.5, 10 - 2.8 + 3.5], abs=0.06)
    assert places(thin, "what") == pytest.approx([18.85 + 3.55 + 3.5, 12.95 - 3.55 + 3.5], abs=0.06)
    assert re.findall(r'class="tick" d="M71.0 ([\d.]+)L78.0 ([\d.]+)"', str(thin)) == [
        ("18.7", "15.9"),
        ("7.2", "10.0"),
    ]
    leads = [tuple(map(float, one)) for one in re.findall(r'"M148.0 ([\d.]+)L158.0 ([\d.]+)"', str(thin))]
    assert leads[0] == pytest.approx((18.85, 22.4), abs=0.06)
    assert leads[1] == pytest.approx((12.95, 9.4), abs=0.06)


def test_a_bed_without_layers_has_its_walls():
    cut = layer_cut([], {}, "metric")
    assert cut.count("<path") == 1
    assert '<path class="walls" d="M78.0 6V128.0H148.0V6"/>' in cut


@pytest.mark.parametrize(("wanted", "gap", "found"), [
    ([], 13, []),
    ([40.0], 13, [40.0]),
    ([40.0, 27.0], 13, [40.0, 27.0]),  # just far enough
    ([40.0, 28.0], 13, [40.5, 27.5]),
    ([40.0, 40.0], 10, [45.0, 35.0]),
    ([80.0, 40.0, 36.0], 10, [80.0, 43.0, 33.0]),  # the first is far away and stays
])  # fmt: skip
def test_labels_are_moved_as_little_as_they_must_be(wanted, gap, found):
    assert spread(wanted, gap=gap) == found


def test_many_labels_at_one_height_are_spread_around_it():
    """Six of them, 10 apart: from 25 below to 25 above; each pass evens out a part, forty come within 1."""
    found = spread([100.0] * 6, gap=10)
    assert found == pytest.approx([125.0, 115.0, 105.0, 95.0, 85.0, 75.0], abs=1)
    assert sum(found) == pytest.approx(600, abs=0.3)  # each is rounded to a tenth


def test_a_profile_of_a_way_up_and_down():
    """280 wide from 4 on, its lowest point at 52; 2 m of rise are 40 tall, as on any way that is not far longer."""
    profile = route_profile([0.0, 5.0, 10.0, 20.0], [11.0, 10.0, 12.0, 11.5], "metric")
    assert 'viewBox="0 0 288 76"' in profile
    assert 'd="M4 58.0L4.0 32.0L74.0 52.0L144.0 12.0L284.0 22.0V58.0z"' in profile
    assert '<text class="start" x="4" y="70.0">pile</text>' in profile
    assert '<text class="end" x="284.0" y="70.0">bed</text>' in profile
    assert '<text x="144.0" y="70.0">2.00 m from low to high</text>' in profile
    assert "Ground along the way: it ends 50 cm higher than it starts." in profile


def test_level_ground_is_a_level_line():
    assert "L4.0 52.0L284.0 52.0V" in route_profile([0.0, 20.0], [3.0, 3.0], "metric")
