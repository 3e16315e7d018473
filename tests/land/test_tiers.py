"""The frames of a bed in tiers: areas and heights by hand, and what cannot stand."""

from __future__ import annotations

import math
import pickle
from dataclasses import replace

import pytest
from shapely import Point, Polygon, affinity, box
from shapely.geometry import MultiPolygon

from siteplan import Bed
from siteplan.land.tiers import frames_of, within_walls

FOOT, INCH = 0.3048, 0.0254
OUTLINE = box(0, 0, 8 * FOOT, 4 * FOOT)
LOWER, UPPER = Bed.Tier(height=14 * INCH), Bed.Tier(height=10 * INCH, inset=1 * FOOT)


def bed(*tiers, **given):
    return Bed(**{"id": "a", "outline": OUTLINE, "wall_thickness": 0.0} | given, tiers=tiers)


def test_two_tiers_by_hand():
    # 8 ft x 4 ft below; a foot set in all round leaves 6 ft x 2 ft above, and a ledge of 32 - 12 = 20 ft2
    lower, upper = bed(LOWER, UPPER).frames
    assert [frame.outline.area / FOOT**2 for frame in (lower, upper)] == pytest.approx([32, 12])
    assert [frame.ledge.area / FOOT**2 for frame in (lower, upper)] == pytest.approx([20, 12])
    assert [(frame.bottom / INCH, frame.top / INCH) for frame in (lower, upper)] == [
        pytest.approx((0, 14)),
        pytest.approx((14, 24)),
    ]
    assert bed(LOWER, UPPER).height == pytest.approx(24 * INCH)


def test_walls_take_their_share_of_ledge_and_of_column():
    # walls of 0.1 m: inside 3.8 x 1.8 below and 2.8 x 0.8 above (set in by 0.5: 3 x 1); the ledge ends at the wall
    # above, the column goes on below it: 6.84 - 3 = 3.84 and 6.84 - 2.24 = 4.6
    lower, upper = Bed(
        id="a",
        outline=box(0, 0, 4, 2),
        wall_thickness=0.1,
        tiers=(Bed.Tier(height=0.4), Bed.Tier(height=0.3, inset=0.5)),
    ).frames
    assert lower.inside.area == pytest.approx(6.84)
    assert lower.ledge.area == pytest.approx(3.84)
    assert lower.around.area == pytest.approx(8 - 3)  # wall and ledge
    assert upper.around.area == pytest.approx(3)
    assert (lower.height, upper.height) == pytest.approx((0.4, 0.3))
    assert [lower.ledge.geom_type, lower.around.geom_type, lower.column.geom_type] == ["Polygon"] * 3
    assert lower.column.area == pytest.approx(4.6)
    assert upper.ledge.area == upper.column.area == pytest.approx(2.24)


def test_a_bed_without_tiers_is_one_frame():
    (only,) = Bed(id="a", outline=OUTLINE, height=0.4).frames
    assert (only.number, only.bottom, only.top, only.above) == (1, 0.0, 0.4, None)
    assert only.outline is OUTLINE
    assert only.ledge.area == only.inside.area < OUTLINE.area


def test_flush_frames_leave_no_ledge():
    lower, upper = bed(LOWER, Bed.Tier(height=0.2), wall_thickness=0.04).frames
    assert lower.ledge.is_empty
    assert lower.column.is_empty
    assert upper.ledge.area == lower.inside.area


def test_any_number_of_tiers_and_an_outline_of_its_own():
    tiers = [Bed.Tier(height=0.1, inset=0.1 * (number > 0)) for number in range(5)]
    frames = bed(*tiers).frames
    assert [frame.number for frame in frames] == [1, 2, 3, 4, 5]
    assert sum(frame.ledge.area for frame in frames) == pytest.approx(OUTLINE.area)
    corner = box(0, 0, 1, 1)
    drawn = bed(LOWER, Bed.Tier(height=0.2, outline=corner)).frames
    assert drawn[1].outline.equals(corner)
    assert drawn[0].ledge.area == pytest.approx(OUTLINE.area - 1)


def test_an_island_parts_a_ledge():
    across = box(3 * FOOT, 0, 5 * FOOT, 4 * FOOT)
    ledge = bed(LOWER, Bed.Tier(height=0.2, outline=across)).frames[0].ledge
    assert isinstance(ledge, MultiPolygon)
    assert ledge.area == pytest.approx(24 * FOOT**2)


@pytest.mark.parametrize(
    ("tiers", "said"),
    [
        (
            [LOWER, Bed.Tier(height=0.2, inset=0.7)],
            "tier 2 is set in by 0.7 m .* 1.22 m wide, so that nothing is left",
        ),
        (
            [LOWER, UPPER, Bed.Tier(height=0.2, outline=OUTLINE)],
            "tier 3 is larger than the frame below, 2.97 m2 on 1.11",
        ),
        ([LOWER, Bed.Tier(height=0.2, outline=box(2, 0, 3, 1))], "tier 2 overhangs the frame below by 0.56 m"),
        ([LOWER, replace(UPPER, outline=box(0, 0, 1, 1))], "tier 2 has both inset and outline"),
        ([UPPER], "tier 1 stands on the bed's own outline"),
        ([replace(LOWER, outline=OUTLINE), UPPER], "tier 1 stands on the bed's own outline"),
        ([Bed.Tier(height=2), Bed.Tier(height=1.5)], "height is 3.5 m, must be above 0 and at most 3 m"),
    ],
)
def test_what_cannot_stand_is_refused_in_words(tiers, said):
    with pytest.raises(ValueError, match=said):
        bed(*tiers)


def test_a_waist_that_falls_apart_is_refused():
    dumbbell = Polygon(
        [(0, 0), (2, 0), (2, 0.8), (3, 0.8), (3, 0), (5, 0), (5, 2), (3, 2), (3, 1.2), (2, 1.2), (2, 2), (0, 2)]
    )
    with pytest.raises(
        ValueError, match=r"tier 2 falls into 2 parts by its inset of 0.3 m; give its outline instead"
    ):
        bed(LOWER, Bed.Tier(height=0.2, inset=0.3), outline=dumbbell)


def test_an_overhang_that_no_tape_tells_is_cut_off():
    upper = bed(LOWER, Bed.Tier(height=0.2, outline=box(-0.005, 0, 1, 1))).frames[1]
    assert upper.outline.bounds == (0, 0, 1, 1)


def test_height_beside_tiers_agrees_or_is_refused():
    assert bed(LOWER, UPPER, height=0.61).height == pytest.approx(24 * INCH)  # 4 mm off: the sum of the tiers counts
    with pytest.raises(ValueError, match=r"height is 0.5 m, but its tiers are .* m high; leave height out"):
        bed(LOWER, UPPER, height=0.5)
    with pytest.raises(ValueError, match=r"height is missing; measure it from the ground, or give tiers"):
        Bed(id="a", outline=OUTLINE)
    with pytest.raises(ValueError, match=r"trellis_height is 0.6 m, must be above the bed's height"):
        bed(LOWER, UPPER, trellis_height=0.6)


def test_a_bed_goes_elsewhere_with_its_tiers():
    own = bed(LOWER, Bed.Tier(height=0.2, outline=box(0, 0, 1, 1)))
    there = own.moved(lambda outline: affinity.rotate(outline, 90, origin=(0, 0)))
    assert there.frames[1].outline.equals(box(-1, 0, 0, 1))
    assert len(own.on(OUTLINE).frames) == 1  # its outline belongs to the old one
    assert bed(LOWER, UPPER).on(OUTLINE) == bed(LOWER, UPPER)
    assert pickle.loads(pickle.dumps(own)) == own  # noqa: S301  # our own


@pytest.mark.parametrize(("times", "sharp"), [(19.0, True), (21.0, False)])
def test_a_corner_of_the_inside_is_cut_off_from_twenty_wall_thicknesses_on(times, sharp):
    """A wedge is cut into a bed; the walls about its tip meet t / sin(half its angle) beyond it."""
    half, thick = math.asin(1 / times), 0.02
    wedge = Polygon([(0, 0), (3 * math.tan(half), 3), (-3 * math.tan(half), 3)])
    inside = within_walls(box(-5, -5, 5, 2).difference(wedge), thick)
    meet = times * thick
    assert inside.distance(Point(0, -meet - 0.004)) == 0
    assert (inside.distance(Point(0, -meet + 0.004)) > 0) is sharp


def test_walls_of_no_thickness_take_nothing():
    for thickness in (0.0, 1e-12):
        assert within_walls(OUTLINE, thickness) is OUTLINE
    assert within_walls(OUTLINE, 1e-6).area == pytest.approx(OUTLINE.area - 1e-6 * OUTLINE.length, rel=1e-9)
    assert within_walls(box(0, 0, 1, 0.2), 0.1).is_empty


@pytest.mark.parametrize(("over", "cut"), [(0.0095, True), (0.0105, False)])
def test_a_tape_is_read_to_a_centimetre(over, cut):
    def made():
        return bed(LOWER, Bed.Tier(height=0.2, outline=box(-over, 0, 1, 1)))

    if cut:
        assert made().frames[1].outline.bounds == (0, 0, 1, 1)
    else:
        with pytest.raises(ValueError, match=r"tier 2 overhangs the frame below by 0.01 m"):
            made()


@pytest.mark.parametrize(("given", "sound"), [(24 * INCH + 0.0095, True), (24 * INCH - 0.0095, True),
                                              (24 * INCH + 0.0105, False), (24 * INCH - 0.0105, False)])  # fmt: skip
def test_a_height_beside_tiers_is_read_to_a_centimetre(given, sound):
    if sound:
        assert bed(LOWER, UPPER, height=given).height == pytest.approx(24 * INCH)
    else:
        with pytest.raises(ValueError, match="leave height out"):
            bed(LOWER, UPPER, height=given)


def test_three_frames_stand_on_one_another():
    """4 m by 3 m, set in by half a metre and then by a quarter: 3 m by 2 m and 2.5 m by 1.5 m."""
    tiers = (Bed.Tier(height=0.4), Bed.Tier(height=0.3, inset=0.5), Bed.Tier(height=0.2, inset=0.25))
    low, middle, high = frames_of(box(0, 0, 4, 3), tiers, 0.0)
    assert [frame.number for frame in (low, middle, high)] == [1, 2, 3]
    assert [(frame.bottom, frame.top) for frame in (low, middle, high)] == [
        (0.0, 0.4), (0.4, pytest.approx(0.7)), (pytest.approx(0.7), pytest.approx(0.9))]  # fmt: skip
    assert [frame.outline.bounds for frame in (low, middle, high)] == [
        (0, 0, 4, 3), (0.5, 0.5, 3.5, 2.5), (0.75, 0.75, 3.25, 2.25)]  # fmt: skip
    assert (low.above, middle.above, high.above) == (middle.outline, high.outline, None)
    assert [frame.ledge.area for frame in (low, middle, high)] == pytest.approx([6, 2.25, 3.75])
