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
from siteplan.say.directions import compass_point
from siteplan.show.sheet import setting_out
from siteplan.show.sheet.setting_out import (
    GOOD_CROSSING,
    FixedPoint,
    best_pair,
    corner_rows,
    fixed_points,
    serves,
    set_out,
    shared_pair,
    tape_text,
    tape_value,
    tapes_cross,
)
from tests.place.conftest import bare_yard


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


def level(site, *buildings, boundary=None, beds=()):
    return replace(site, buildings=buildings, beds=beds, boundary=boundary or box(-100, -100, 100, 100))


def bed_at(x, y, length=2.0):
    return Bed(id="bed", outline=box(x - length / 2, y - 0.5, x + length / 2, y + 0.5), height=0.3)


def test_the_angle_between_two_tapes(drawn_site):
    """Its sine: 1 at a right angle, 1/2 at 30 and at 150 degrees; the smallest of the corners counts."""
    for degrees in (90, 30, 150, 10):
        half = math.radians(degrees / 2)
        pair = FixedPoint("a", -math.sin(half), -math.cos(half)), FixedPoint("b", math.sin(half), -math.cos(half))
        speck = Bed(id="bed", outline=box(-5e-4, -5e-4, 5e-4, 5e-4), height=0.3)
        out = set_out(level(drawn_site), speck, pair)
        assert out.crossing == pytest.approx(math.sin(math.radians(degrees)), abs=0.005)
    corners = np.array([[0.0, 0.0], [0.0, 1.0]])
    # from (3, 0) and (0, 4): at the origin a right angle; at (0, 1) (3, -1) and (0, 3) lie 108.4 degrees apart
    assert tapes_cross(np.array([3.0, 0.0]), np.array([0.0, 4.0]), corners) == pytest.approx([1.0, 3 / math.sqrt(10)])


def pairs(site, *beds):
    return {point.name for point in best_pair(site, beds)}


def test_tapes_with_a_good_angle_are_chosen_and_the_shorter_of_two_as_good(drawn_site):
    """A bed 9 m before a wall 12 m long: its corners see it under 66 degrees; a shed's far corners lie too flat."""
    wall = Building(id="house", outline=box(-6, -10, 6, 0), height=6)
    assert pairs(level(drawn_site, wall), bed_at(0, 9)) == {"northwest corner of house", "northeast corner of house"}
    near = Building(id="near", outline=box(-14, 2, -8, 6), height=3)
    found = best_pair(level(drawn_site, wall, near), [bed_at(-8, 12)])
    longest = max(math.dist((point.x, point.y), (-8 + way, 12)) for point in found for way in (-1, 1))
    assert longest < 14
    assert set_out(level(drawn_site, wall, near), bed_at(-8, 12), found).crossing >= GOOD_CROSSING


def test_a_tape_is_30_m_long(drawn_site):
    """Two posts 29 m off with a flat angle are chosen before two 31 m off with a good one."""
    flat = [Building(id=f"near {k}", outline=box(x - 1, -29, x + 1, -27), height=3) for k, x in enumerate((-3, 3))]
    wide = [Building(id=f"far {k}", outline=box(x - 1, -25, x + 1, -23), height=3) for k, x in enumerate((-27, 27))]
    site = level(drawn_site, *flat, *wide)
    assert all("near" in name for name in pairs(site, bed_at(0, 0)))
    moved = [Building(id=f"far {k}", outline=box(x - 1, -18, x + 1, -16), height=3) for k, x in enumerate((-20, 20))]
    assert any("far" in name for name in pairs(level(drawn_site, *flat, *moved), bed_at(0, 0)))


def test_two_points_that_lie_together_are_no_pair(drawn_site):
    post = Building(id="post", outline=box(-0.4, -5.4, 0.4, -4.6), height=3)
    assert best_pair(level(drawn_site, post, boundary=box(-1, -6, 1, 6)), [bed_at(0, 0)]) is not None
    only = replace(level(drawn_site, post), boundary=Polygon([(-300, -300), (300, -300), (0, 300)]))
    first, second = best_pair(only, [bed_at(0, 0)])
    assert math.dist((first.x, first.y), (second.x, second.y)) >= 1.0


def test_a_bed_across_the_line_of_two_points_is_not_served(drawn_site):
    site = level(drawn_site)
    pair = FixedPoint("a", -6, 0), FixedPoint("b", 6, 0)
    assert serves(site, bed_at(0, 3), pair)
    assert serves(site, bed_at(0, -3), pair)
    assert not serves(site, bed_at(0, 0.3), pair)
    assert not serves(site, bed_at(0, 40), pair)  # both tapes run the same way
    # of the sine of a good angle seven tenths are enough: 20.5 degrees
    for away, enough in ((31, True), (33, False)):
        assert (set_out(site, bed_at(0, away), pair).crossing > 0.35) == enough == serves(site, bed_at(0, away), pair)


def test_on_which_side_of_the_line_the_bed_lies(drawn_site):
    first, second = FixedPoint("a", 0, 0), FixedPoint("b", 10, 0)
    for pair in ((first, second), (second, first)):
        assert set_out(level(drawn_site), bed_at(5, 4), pair).side == "north"
        assert set_out(level(drawn_site), bed_at(5, -4), pair).side == "south"
    slanted = FixedPoint("a", 2, 1), FixedPoint("b", 12, 11)
    assert set_out(level(drawn_site), bed_at(3, 10), slanted).side == "northwest"
    assert set_out(level(drawn_site), bed_at(11, 2), slanted).side == "southeast"


def test_corners_are_named_by_where_they_lie(drawn_site):
    shed = Building(id="shed", outline=box(30, 35, 34, 41), height=3)
    lot = Polygon([(0, 40), (40, 80), (80, 40), (40, 0)])
    points = {point.name: (point.x, point.y) for point in fixed_points(level(drawn_site, shed, boundary=lot))}
    assert points == {
        "southwest corner of shed": (30, 35), "southeast corner of shed": (34, 35),
        "northeast corner of shed": (34, 41), "northwest corner of shed": (30, 41),
        "west corner of boundary": (0, 40), "north corner of boundary": (40, 80),
        "east corner of boundary": (80, 40), "south corner of boundary": (40, 0),
    }  # fmt: skip


@pytest.mark.parametrize(("degrees", "clear"), [(24, False), (28, True), (145, True), (151, False)])
def test_a_corner_neither_sharp_nor_almost_straight(drawn_site, degrees, clear):
    """Between 26 and 148 degrees, whatever its size."""
    half = math.radians(degrees / 2)
    for size in (0.9, 8.0, 40.0):
        tip = size * np.array([[math.sin(half), -math.cos(half)], [0, 0], [-math.sin(half), -math.cos(half)]])
        shed = Building(id="shed", outline=Polygon([*tip, (-size, -2 * size), (size, -2 * size)]), height=3)
        at = [(point.x, point.y) for point in fixed_points(level(drawn_site, shed))]
        assert ((0.0, 0.0) in at) == clear


def test_a_corner_on_the_boundary_counts_and_one_beyond_it_does_not(drawn_site):
    for over, count in ((0.25, 4), (0.35, 2)):
        garage = Building(id="garage", outline=box(10 + over - 5, 0, 10 + over, 4), height=3)
        points = fixed_points(level(drawn_site, garage, boundary=box(-10, -10, 10, 10)))
        assert sum("garage" in point.name for point in points) == count


def test_no_bed_no_pair(drawn_site):
    assert best_pair(drawn_site, []) is None


@given(st.floats(0, 60))
@settings(deadline=None)
def test_tape_text_is_read_back_to_its_step(metres):
    assert tape_value(tape_text(metres, "metric")) == pytest.approx(metres, abs=0.0025 + 1e-9)  # half of 5 mm
    assert tape_value(tape_text(metres, "imperial")) == pytest.approx(
        metres, abs=0.0254 / 16 + 1e-9
    )  # half of 1/8 in


def test_tapes_as_they_are_read():
    """Feet, inches and eighths of an inch, by hand: 7 ft 3 5/8 in is 87.625 in."""
    assert tape_text(87.625 * 0.0254, "imperial") == "7 ft 3 5/8 in"
    assert tape_value("7 ft 3 5/8 in") == pytest.approx(87.625 * 0.0254)
    assert tape_text(11.97 * 0.0254, "imperial") == "1 ft 0 in"
    assert tape_text(0.5 * 0.0254, "imperial") == "0 ft 0 1/2 in"
    assert (tape_text(1.2324, "metric"), tape_text(1.2326, "metric")) == ("1.230 m", "1.235 m")


A, B = FixedPoint("a", 1, 2), FixedPoint("b", 4, 6)  # 3 east and 4 north of it


@pytest.mark.parametrize(("offsets", "one_side"), [
    # east x 4 - north x 3 is below 0 to the left of the line and above 0 to the right of it
    ([(-4, 3), (0, 5)], True), ([(4, -3), (5, -1)], True), ([(-4, 3), (4, -3)], False),
    ([(10, 12), (0, 5)], False),  # 40 - 36, and -15
    ([(4, 6), (0, 5)], True),  # 16 - 18, and -15
    ([(0, 0.1), (0, 5)], True), ([(0, 0.1), (0, -0.1)], False),
    ([(0, 5), (3, 4)], False), ([(0, -5), (3, 4)], False),  # a corner on the line
])  # fmt: skip
def test_corners_lie_on_one_side_of_a_slanted_line(offsets, one_side):
    corners = np.array([(1 + east, 2 + north) for east, north in offsets])
    assert setting_out._one_side(A, B, corners) is one_side
    assert setting_out._one_side(B, A, corners) is one_side


def test_the_side_of_a_line_away_from_the_origin():
    first, second = FixedPoint("a", 0, 10), FixedPoint("b", 10, 10)
    assert setting_out._side_of(first, second, np.array([5.0, 8.0])) == "south"
    assert setting_out._side_of(first, second, np.array([5.0, 10.5])) == "north"
    near = FixedPoint("a", 20, 0), FixedPoint("b", 21, 0)
    assert setting_out._side_of(*near, np.array([20.5, 0.5])) == "north"
    assert setting_out._side_of(*near, np.array([19.5, -0.5])) == "south"


def test_a_direction_has_the_word_that_is_nearest():
    """Words are 45 degrees apart, so each reaches 22.5 to both sides."""
    for word, azimuth in COMPASS.items():
        for turned in (-22.4, 0, 22.4):
            turn = math.radians(azimuth + turned)
            assert compass_point(*np.array([math.sin(turn), math.cos(turn)])) == word


def test_the_fourteen_nearest_points_are_compared():
    """Points 1 to 20 m off to the east and to the west, then to the north and to the south, in turn."""
    for ahead in ((1, 0), (0, 1)):
        points = [
            FixedPoint(str(n), 100 + (-1) ** n * n * ahead[0], 50 + (-1) ** n * n * ahead[1])
            for n in range(20, 0, -1)
        ]
        found = setting_out._nearest(points, np.array([100.0, 50.0]))
        assert [point.name for point in found] == [str(n) for n in range(1, 15)]


def test_what_a_tape_cannot_pass(drawn_site):
    """Buildings on the ground within 20 m of the property, 5 cm smaller all around, so that a tape may touch a wall."""

    def stands(x, base=0.0):
        return Building(id=f"{x} {base}", outline=box(x, 0, x + 2, 2), height=3, base=base)

    def blocked(*buildings):
        return setting_out._blocking(level(drawn_site, *buildings, boundary=box(-10, -10, 10, 10))).area

    assert blocked(stands(0)) == pytest.approx(1.9 * 1.9)
    assert blocked(stands(29.5), stands(-5)) == pytest.approx(2 * 1.9 * 1.9)
    assert blocked(stands(30.5)) == 0
    assert blocked(stands(0, base=2.0)) == 0


def test_a_point_is_free_if_all_its_tapes_are():
    """From (0, 0) to (10, 0) a wall stands in the way; from (0, 10) the tapes pass over it."""
    points = [FixedPoint("behind", 0, 0), FixedPoint("free", 0, 10), FixedPoint("aside", 0, -10)]
    corners = np.array([(10.0, 0.0), (10.0, 10.0)])
    free = setting_out._free_lines(box(4, -1, 5, 1), points, corners)
    assert free.tolist() == [False, True, False]  # from (0, -10) to (10, 10) it goes through (4.75, -0.5)


def chosen(monkeypatch, site, points, *beds, hidden=()):
    monkeypatch.setattr(
        setting_out, "fixed_points", lambda _: tuple(FixedPoint(name, *at) for name, at in points.items())
    )
    monkeypatch.setattr(
        setting_out,
        "_free_lines",
        lambda _, points, __: np.array([point.name not in hidden for point in points]),
    )
    found = best_pair(site, beds)
    return found and {point.name for point in found}


LONG = Bed(id="long", outline=box(-2, 0, 2, 1), height=0.3)


def test_the_pair_whose_longest_tape_is_shortest(drawn_site, monkeypatch):
    """To the corners of a bed from (-2, 0) to (2, 1) all pairs cross at 40 degrees or more.

    Its farthest corner is 11.01 m from p, 8.60 m from q, 10.63 m from r, 10.84 m from s; the nearest to p only 7.02 m.
    """
    p, q, r, s = (-9, 0.5), (-3, -6), (5, -7), (-5.2, -7.1)
    site = level(drawn_site)
    assert chosen(monkeypatch, site, {"p": p, "q": q, "r": r}, LONG) == {"q", "r"}
    assert chosen(monkeypatch, site, {"p": p, "r": r, "s": s}, LONG) == {"r", "s"}
    # a free line goes before a short one
    assert chosen(monkeypatch, site, {"p": p, "q": q, "r": r}, LONG, hidden={"q"}) == {"p", "r"}


def test_points_of_a_pair_are_a_metre_apart(drawn_site, monkeypatch):
    for apart, found in ((0.95, None), (1.05, {"a", "b"})):
        points = {"a": (0, -2), "b": (apart, -2)}
        assert chosen(monkeypatch, level(drawn_site), points, LONG) == found


def test_no_bed_lies_across_the_line_of_a_pair(drawn_site, monkeypatch):
    """From a to b it goes through the second bed; c is farther off, but its line leaves both beds on a side."""
    other = Bed(id="other", outline=box(-1, -4, 1, -3), height=0.3)
    points = {"a": (-4, -3.5), "b": (4, -3.5), "c": (-4, -9)}
    assert "c" in chosen(monkeypatch, level(drawn_site), points, LONG, other)
    assert chosen(monkeypatch, level(drawn_site), points, LONG) == {"a", "b"}


def test_the_points_nearest_to_the_beds_are_looked_at(drawn_site, monkeypatch):
    monkeypatch.setattr(setting_out, "_NEAREST", 2)
    points = {"near": (58, 0), "by": (62, 0), "far": (32, 33), "off": (36, 33)}
    assert chosen(monkeypatch, level(drawn_site), points, bed_at(60, 5)) == {"near", "by"}


def test_a_pair_is_shared_if_it_serves_every_bed(drawn_site, monkeypatch):
    pair = FixedPoint("a", -6, 0), FixedPoint("b", 6, 0)
    monkeypatch.setattr(setting_out, "best_pair", lambda *_: pair)
    site = level(drawn_site)
    assert shared_pair(site, [bed_at(0, 3), bed_at(0, -3)]) == pair
    assert shared_pair(site, [bed_at(0, 3), bed_at(0, 0.3)]) is None


def test_a_notch_of_a_metre_has_its_corners_and_one_of_10_cm_has_not(drawn_site):
    for deep, count in ((1.0, 6), (0.1, 4)):
        shed = Building(
            id="shed", outline=Polygon([(0, 0), (6, 0), (6, 4 - deep), (6 - deep, 4 - deep), (6 - deep, 4), (0, 4)]), height=3
        )  # fmt: skip
        assert sum("shed" in point.name for point in fixed_points(level(drawn_site, shed))) == count


def test_corners_are_listed_from_1_with_the_side_to_the_next(drawn_site):
    pair = FixedPoint("a", 0, 0), FixedPoint("b", 10, 0)
    rows = corner_rows(set_out(level(drawn_site), Bed(id="bed", outline=box(3, 4, 6, 8), height=0.3), pair), "metric")
    # from the north-west corner on, clockwise; 3, 4 and 5 m, 6 and 8 m by Pythagoras, all others to 5 mm
    assert [tuple(row.values()) for row in rows] == [
        (1, "8.545 m", "10.630 m", "3.000 m"), (2, "10.000 m", "8.945 m", "4.000 m"),
        (3, "7.210 m", "5.655 m", "3.000 m"), (4, "5.000 m", "8.060 m", "4.000 m"),
    ]  # fmt: skip


def test_all_beds_lie_on_one_side_of_the_points():
    """By the house's near corner and the lot's would lie a better angle, but that line, y = 2 x, cuts the second bed."""
    beds = [Bed(id="a", outline=box(6, 3, 9, 4), height=0.3), Bed(id="b", outline=box(1, 4, 4, 5), height=0.3)]
    house = Building(id="h", outline=box(1, 6, 3, 8), height=3)
    found = best_pair(bare_yard(beds=tuple(beds), buildings=(house,)), beds)
    assert [(point.x, point.y) for point in found] == [(1, 6), (10, 8)]
