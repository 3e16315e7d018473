"""Two tapes at the lengths printed meet at the bed's corners."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon, box

from siteplan.land.features import Bed, Building
from siteplan.land.outline import COMPASS, rectangle
from siteplan.show.sheet.setting_out import (
    GOOD_CROSSING,
    FixedPoint,
    best_pair,
    fixed_points,
    set_out,
    shared_pair,
    tape_text,
    tape_value,
)


def meeting(first, second, one, other, side):
    """Where two circles meet, on the side named: the standard construction with the foot of the height."""
    ax, ay, bx, by = first.x, first.y, second.x, second.y
    apart = math.dist((ax, ay), (bx, by))
    along = (one**2 - other**2 + apart**2) / (2 * apart)
    height = math.sqrt(max(one**2 - along**2, 0))
    foot = np.array([ax + along * (bx - ax) / apart, ay + along * (by - ay) / apart])
    across = np.array([-(by - ay), bx - ax]) / apart
    wanted = np.array([math.sin(math.radians(COMPASS[side])), math.cos(math.radians(COMPASS[side]))])
    return foot + across * height * (1 if across @ wanted > 0 else -1)


@pytest.mark.parametrize("units", ["metric", "imperial"])
def test_printed_tapes_meet_within_a_centimetre(drawn_site, units):
    pair = shared_pair(drawn_site, drawn_site.beds)
    for bed in drawn_site.beds:
        out = set_out(drawn_site, bed, pair)
        for corner, one, other in zip(out.corners, out.from_first, out.from_second, strict=True):
            found = meeting(
                out.first,
                out.second,
                tape_value(tape_text(one, units)),
                tape_value(tape_text(other, units)),
                out.side,
            )
            assert math.dist(found, corner) < 0.01  # the sheet's promise: 1 cm


@given(x=st.floats(-8, 8), y=st.floats(2, 10), heading=st.floats(0, 179))
@settings(deadline=None, max_examples=40)
def test_any_bed_in_front_of_a_wall_is_found_again(x, y, heading):
    outline = rectangle(x, y + 2, length=2.4, width=1.2, heading=heading)
    first, second = FixedPoint("a", -6, 0), FixedPoint("b", 6, 0)
    site = type("Yard", (), {"buildings": (), "boundary": box(-20, -20, 20, 20), "beds": ()})()
    out = set_out(site, Bed(id="bed", outline=outline, height=0.4), (first, second))
    for corner, one, other in zip(out.corners, out.from_first, out.from_second, strict=True):
        found = meeting(
            first, second, tape_value(tape_text(one, "metric")), tape_value(tape_text(other, "metric")), out.side
        )
        # a rounding of 2.5 mm on both tapes grows by the flatness of their crossing
        assert math.dist(found, corner) < 0.0025 * 2 / max(out.crossing, 0.05) + 1e-6


def test_sides_and_diagonals_by_pythagoras(drawn_site):
    out = set_out(drawn_site, drawn_site.bed("north bed"))
    # 8 ft by 4 ft: the diagonal is sqrt(80) ft
    assert sorted(out.sides) == pytest.approx([1.2192, 1.2192, 2.4384, 2.4384], abs=1e-6)
    assert out.diagonals == pytest.approx([math.sqrt(80) * 0.3048] * 2, abs=1e-6)


def test_corner_one_is_the_north_west_and_they_run_clockwise(drawn_site):
    out = set_out(drawn_site, drawn_site.bed("north bed"))
    assert out.corners[0] == pytest.approx((2 - 1.2192, 6.5 + 0.6096), abs=1e-6)
    assert Polygon(out.corners).exterior.is_ccw is False


def test_tapes_do_not_run_through_a_house(drawn_site):
    out = set_out(drawn_site, drawn_site.bed("north bed"))
    assert out.clear
    assert out.crossing >= GOOD_CROSSING
    hidden = set_out(drawn_site, drawn_site.bed("north bed"), (FixedPoint("a", -9, -10.5), FixedPoint("b", 4, -10.5)))
    assert not hidden.clear


def test_a_neighbour_s_house_is_no_corner_to_tape_from(drawn_site):
    neighbour = Building(id="neighbour", outline=box(20, 0, 26, 8), height=7)
    points = fixed_points(replace(drawn_site, buildings=(*drawn_site.buildings, neighbour)))
    assert not [point for point in points if "neighbour" in point.name]


def test_overhang_is_no_corner_to_tape_from(drawn_site):
    assert not [point for point in fixed_points(drawn_site) if "porch" in point.name]
    assert len([point for point in fixed_points(drawn_site) if "house" in point.name]) == 4


def test_beds_all_around_a_house_each_get_their_own_pair(drawn_site):
    house = Building(id="house", outline=box(-6, -4, 6, 4), height=6)
    beds = tuple(
        Bed(id=str(n), outline=rectangle(x, y, length=2, width=1, heading=0), height=0.3)
        for n, (x, y) in enumerate([(0, 9), (0, -9)])
    )
    site = replace(drawn_site, buildings=(house,), beds=beds, boundary=box(-60, -60, 60, 60))
    assert shared_pair(site, site.beds) is None
    assert all(set_out(site, bed).clear for bed in beds)


def test_no_bed_no_pair(drawn_site):
    assert best_pair(drawn_site, []) is None


@given(st.floats(0, 60))
@settings(deadline=None)
def test_tape_text_is_read_back_to_its_step(metres):
    assert tape_value(tape_text(metres, "metric")) == pytest.approx(metres, abs=0.0025 + 1e-9)  # half of 5 mm
    assert tape_value(tape_text(metres, "imperial")) == pytest.approx(
        metres, abs=0.0254 / 16 + 1e-9
    )  # half of 1/8 in
