"""Which figures are cautioned against as unusual, field by field, and what stands where nothing was given."""

from __future__ import annotations

import pytest
from shapely import box

from siteplan.land.features import (
    BUILDING_HEIGHT,
    FENCE_HEIGHT,
    HEDGE_HEIGHT,
    IN_BED,
    TREE_HEIGHT,
    Bed,
    Building,
    Fence,
    Gate,
    Hedge,
    Tap,
    Tree,
)
from siteplan.land.frame import DrawnFrame
from siteplan.land.record import fields_of
from siteplan.land.site import (
    BAG,
    BED_LENGTH,
    STEP,
    STORAGE,
    Barrow,
    FillSettings,
    HaulSettings,
    Labour,
    Offer,
    PlaceSettings,
    SunSettings,
)
from siteplan.land.tiers import BED_HEIGHT, Tier

RECORDS = (Barrow, Bed, Building, Fence, FillSettings, Gate, Hedge, HaulSettings, Labour, Offer, PlaceSettings,
           SunSettings, Tap, Tier, Tree)  # fmt: skip
USUAL = {
    ("Barrow", "volume"): (0.03, 0.6), ("Barrow", "load"): (20, 500), ("Barrow", "width"): (0.3, 1.3),
    ("Building", "height"): (0.3, 15), ("Tree", "height"): (1, 35), ("Hedge", "height"): (0.3, 6),
    ("Fence", "height"): (0.3, 3), ("Fence", "thickness"): (0.01, 0.6), ("Tree", "trunk_diameter"): (0.01, 1.5),
    ("Gate", "width"): (0.4, 6), ("Tap", "hose_length"): (3, 100), ("Bed", "height"): (0.1, 1.2),
    ("Bed", "wall_thickness"): (0, 0.3), ("Bed", "trellis_height"): (0.1, 4), ("Bed", "crop_height"): (0.1, 4),
    ("Tier", "height"): (0.1, 1.2), ("PlaceSettings", "height"): (0.1, 1.2), ("PlaceSettings", "length"): (0.5, 15),
    ("FillSettings", "storage"): (0.1, 1000), ("Offer", "bag"): (0.005, 2), ("Offer", "loose"): (0.005, 100),
}  # fmt: skip


def test_the_usual_range_of_each_field():
    found = {
        (record.__name__, name): field.rule.usual
        for record in RECORDS
        for name, field in fields_of(record).items()
        if getattr(field.rule, "usual", None) is not None
    }
    assert found == USUAL


def test_what_stands_where_nothing_was_given():
    barrow = Barrow()
    assert (barrow.volume, barrow.load, barrow.width, barrow.clearance) == (0.085, 80.0, 0.65, 0.1)
    assert (barrow.max_grade, barrow.mass, barrow.count) == (1 / 8, 18.0, 1)
    labour = Labour()
    assert (labour.people, labour.hours_per_day, labour.body_mass) == (1, 4.0, 80.0)
    bed = Bed(id="b", outline=box(0, 0, 2, 1), height=0.4)
    assert (bed.wall_thickness, bed.row_spacing, bed.proposed, bed.filled) == (0.0381, 0.6, False, False)  # 1.5 in


def test_how_a_barrow_is_wheeled_where_nothing_was_given():
    """At 3 and 4.5 km/h; 45 s and a minute to tip and for a bag; ten minutes of rest in the hour."""
    haul = HaulSettings()
    assert (3.6 * haul.loaded_speed, 3.6 * haul.empty_speed) == pytest.approx((3.0, 4.5))
    assert (60 * haul.tip_time, 60 * haul.bag_time, 60 * haul.rest) == pytest.approx((0.75, 1.0, 10.0))
    assert (haul.shovel_pace, haul.lorry_width, haul.heap_angle, haul.delivery_day) == (1.0, 2.5, 35.0, 1)
    assert (haul.wet, haul.off_lawn, haul.tip_anywhere) == (False, False, False)


def test_where_a_bed_goes_and_what_it_wants_where_nothing_was_given():
    """8 ft by 4 ft, 18 in high; aisles of 2 and 3 ft; ten minutes along the sun's path."""
    place = PlaceSettings()
    assert (place.length, place.width, place.height, place.count) == (2.4384, 1.2192, 0.4572, 3)
    assert (place.wall_setback, place.boundary_setback, place.aisle, place.barrow_aisle) == (0.6, 0.3, 0.61, 0.91)
    assert (place.max_slope, place.accessible) == (0.15, False)
    assert (place.weight_worst, place.weight_wheeling, place.weight_levelling) == (0.5, 0.5, 0.5)
    assert (place.weight_water, place.weight_beyond_hose, place.weight_door) == (0.01, 0.02, 0.005)
    sun = SunSettings(year=2026)
    assert (sun.cell, sun.need, sun.plenty) == (0.25, 6.0, 8.0)
    assert 60 * sun.step == pytest.approx(10.0)


def test_the_usual_range_of_rules_that_fields_share():
    rules = (BED_HEIGHT, BED_LENGTH, IN_BED, BAG, STEP, STORAGE)
    assert [rule.usual for rule in rules] == [
        (0.1, 1.2), (0.5, 15), (0.1, 4), (0.005, 2), (0.005, 100), (0.1, 1000)]  # fmt: skip
    assert [rule.most for rule in rules] == [3, 100, 10, 2, 100, float("inf")]
    tall = (BUILDING_HEIGHT, TREE_HEIGHT, HEDGE_HEIGHT, FENCE_HEIGHT)
    assert [rule.usual for rule in tall] == [(0.3, 15), (1, 35), (0.3, 6), (0.3, 3)]
    assert [(rule.most, rule.above, rule.spread) for rule in tall] == [(500, 0, True)] * 4


def test_a_frame_of_which_nothing_is_known_is_in_metres():
    frame = DrawnFrame()
    assert (frame.origin, frame.bearing, frame.metres_per_unit, frame.unit) == (None, 0.0, 1.0, "degrees")
