"""Which figures are cautioned against as unusual, field by field, and what stands where nothing was given."""

from __future__ import annotations

import pytest

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


@pytest.mark.parametrize(("settings", "given"), [
    (Barrow(), {"volume": 0.085, "load": 80.0, "width": 0.65, "clearance": 0.1, "max_grade": 1 / 8, "mass": 18.0, "count": 1}),
    (Labour(), {"people": 1, "hours_per_day": 4.0, "body_mass": 80.0}),
    # 3 and 4.5 km/h; 45 s and a minute; ten minutes in the hour
    (HaulSettings(), {"loaded_speed": 0.833333333, "empty_speed": 1.25, "tip_time": 0.0125, "bag_time": 0.016666667,
                      "shovel_pace": 1.0, "rest": 0.166666667, "wet": False, "off_lawn": False, "tip_anywhere": False,
                      "lorry_width": 2.5, "heap_angle": 35.0, "delivery_day": 1}),
    # a bed of 8 ft by 4 ft, 18 in high; aisles of 2 and 3 ft
    (PlaceSettings(), {"length": 2.4384, "width": 1.2192, "height": 0.4572, "count": 3, "wall_setback": 0.6,
                       "boundary_setback": 0.3, "aisle": 0.61, "barrow_aisle": 0.91, "max_slope": 0.15,
                       "accessible": False, "weight_worst": 0.5, "weight_wheeling": 0.5, "weight_water": 0.01,
                       "weight_beyond_hose": 0.02, "weight_door": 0.005, "weight_levelling": 0.5}),
    # ten minutes
    (SunSettings(year=2026), {"cell": 0.25, "step": 0.166666667, "need": 6.0, "plenty": 8.0}),
])  # fmt: skip
def test_what_stands_where_nothing_was_given(settings, given):
    assert {name: getattr(settings, name) for name in given} == pytest.approx(given, rel=3e-8)


@pytest.mark.parametrize(("rule", "usual", "most"), [
    (BED_HEIGHT, (0.1, 1.2), 3), (BED_LENGTH, (0.5, 15), 100), (BUILDING_HEIGHT, (0.3, 15), 500), (TREE_HEIGHT, (1, 35), 500),
    (HEDGE_HEIGHT, (0.3, 6), 500), (FENCE_HEIGHT, (0.3, 3), 500), (IN_BED, (0.1, 4), 10), (BAG, (0.005, 2), 2),
    (STEP, (0.005, 100), 100), (STORAGE, (0.1, 1000), float("inf")),
])  # fmt: skip
def test_the_usual_range_of_rules_that_fields_share(rule, usual, most):
    assert (rule.usual, rule.most) == (usual, most)
