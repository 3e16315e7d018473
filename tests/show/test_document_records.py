"""plan.json's one writer of records: names and units from the markers, and the keys that people's programs rely on."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, fields
from typing import Annotated, Literal

import numpy as np
import pytest
from shapely import Point

from siteplan.fill.bed_results import BedFill
from siteplan.fill.fill_results import BreakEven, FillPlan, Layer, PurchaseLine, SoilRules, StockUse, TopUp
from siteplan.haul.haul_results import (
    BoardsChoice,
    CrewChoice,
    HaulPlan,
    HaulSummary,
    Heap,
    Load,
    Route,
    Run,
    Unreached,
)
from siteplan.haul.routes.obstruction import Obstacle
from siteplan.land.document import CubicMetres, Hidden, Hours, Metres, Named, Unit
from siteplan.land.features import MonthDay
from siteplan.land.findings import Caution
from siteplan.land.site import SunSettings
from siteplan.land.values import Quantity
from siteplan.land.weather import Weather
from siteplan.place.crops.crop_fit import CropFit
from siteplan.place.crops.crop_light import LightNeed
from siteplan.place.headings.headings import Headings
from siteplan.place.headings.shifts import Shift
from siteplan.place.merit.tradeoff import Choice
from siteplan.place.search.no_fit import RuledOut
from siteplan.place.search.search_results import Place
from siteplan.show.tables.document_records import document_keys, document_of
from siteplan.sun.bed_sun import BedSun
from siteplan.sun.doubt.doubt import Cause, SunDoubt

#: what each record writes of its own fields; a key that changes here changes plan.json for whoever reads it
KEYS = {
    Caution: "code feature text",
    SunSettings: "year cell_m step_h need_h plenty_h",
    Weather: "file name latitude longitude elevation_m",
    BedSun: "month_sun_h season_sun_h worst_cell_sun_h light_class sun_score",
    CropFit: "crop suits light months deeper_m ground_m",
    Headings: "heading_deg season_sun_h worst_cell_sun_h month_sun_h sun_score",
    Shift: "direction distance_m gain_h worst_cell_gain_h",
    Choice: "x_m y_m heading_deg season_sun_h worst_cell_sun_h haul_minutes water_m",
    RuledOut: "name features ground_share spots_share spots_alone_share",
    Layer: "bed order material bottom_m top_m volume_m3 mass_kg mass_wet_kg settled_m blend base lifts tier frame",
    StockUse: "material at volume_m3 left_m3",
    PurchaseLine: "material kind count volume_m3 cost deliveries",
    TopUp: "year drop_m",
    BreakEven: "material bags bag_m3",
    BedFill: "on inside_area_m2 mass_wet_kg ground_pressure_pa wall_pressure_pa wall_thrust_n_per_m brace_spacing_m "
    "moistening_water_m3 moistening_hose_h layer_water_m3 weekly_water_m3 weekly_hose_h lining_area_m2 "
    "volume_over_ground_m3 volume_full_after_a_year_m3",
    SoilRules: "lead_ppm lead_class harvest_touching_soil_from harvest_clear_of_soil_from",
    Route: "from to length_m climb_m steepest_grade steepest_descent cross_fall gates loaded_s empty_s bucket_m geometry",
    Load: "bed material from volume_m3 mass_kg trips per_trip_volume_m3 per_trip_mass_kg limit minutes shovel_minutes "
    "push_minutes tip_minutes bucket_minutes push_force_n peak_force_n energy_kcal bags gates side_by_side",
    Unreached: "bed material from delivered volume_m3 mass_kg trips obstacle",
    Run: "number day bed material from trips start_min minutes delivered mixed",
    Heap: "material volume_m3 radius_m height_m ridge_length_m ridge_heading_deg",
    BoardsChoice: "from to soft_m count cost push_bare_n push_boarded_n",
    CrewChoice: "minutes minutes_with_one",
    Place: "rank geometry heading_deg length_m width_m season_sun_h worst_cell_sun_h month_sun_h merit haul_minutes "
    "water_m door_m exact suiting_crops doubt",
    SunDoubt: "season_low_h season_high_h month_low_h month_high_h enough causes",
    Cause: "feature kind figure how share low_h high_h",
    FillPlan: "layers on_hand purchase alternatives left_over full_already soil top_up loose_beats_bags_from",
    HaulPlan: "routes loads unreached total_minutes drop heaps order deliveries comparison second_barrow boards",
    HaulSummary: "minutes trips walked_m climbed_m peak_force_n energy_kcal trips_without_way",
    Obstacle: "kind id wider_m",
    LightNeed: "group least_dli_mol_m2_per_day good_dli_mol_m2_per_day source",
}


@dataclass(frozen=True)
class Part:
    """A record within another."""

    deep: Metres


@dataclass(frozen=True)
class Whole:
    """One field of each kind."""

    plain: str
    word: Literal["left", "right"]
    long: Annotated[Metres, Named("far")]
    perhaps: Hours | None
    each: tuple[CubicMetres, ...]
    share: Annotated[float, Quantity("fraction", least=0, most=1)]
    cell: Annotated[float, Quantity("length", least=0), "side of a cell"]
    table: Annotated[np.ndarray, Unit("deg")]
    day: dt.date
    frost: MonthDay
    at: Annotated[Point, Named("geometry")]
    part: Part
    parts: tuple[Part, ...]
    away: Hidden[Point | None] = None


@pytest.mark.parametrize("record", KEYS, ids=lambda record: record.__name__)
def test_keys_are_those_that_people_rely_on(record):
    keys = document_keys(record)
    assert set(keys.values()) == set(KEYS[record].split())
    assert set(keys) <= {field.name for field in fields(record)}
    assert len(set(keys.values())) == len(keys), "two fields under one key"


def test_every_kind_of_value(drawn_site):
    record = Whole(
        plain="a", word="left", long=2.0, perhaps=None, each=(0.5, 0.25), share=0.1, cell=0.5, table=np.array([3.0]),
        day=dt.date(2026, 3, 1), frost=MonthDay(4, 20), at=Point(0, 0), part=Part(1.0), parts=(Part(2.0), Part(3.0)),
        away=Point(1, 1),
    )  # fmt: skip
    written = document_of(record, drawn_site)
    assert written.pop("table_deg") == [3.0]
    place = written.pop("geometry")
    assert place["type"] == "Point"
    assert place["coordinates"] == pytest.approx((drawn_site.frame.longitude, drawn_site.frame.latitude))
    assert written == {
        "plain": "a", "word": "left", "far_m": 2.0, "perhaps_h": None, "each_m3": [0.5, 0.25], "share": 0.1,
        "cell_m": 0.5, "day": "2026-03-01", "frost": "04-20", "part": {"deep_m": 1.0},
        "parts": [{"deep_m": 2.0}, {"deep_m": 3.0}],
    }  # fmt: skip


def test_what_was_not_asked_stays_none(drawn_site):
    assert document_of(None, drawn_site) is None
    assert document_of((), drawn_site) == []


def test_what_is_computed_stands_beside_the_fields(drawn_site):
    one = document_of(BreakEven(material="compost", bag=0.05, bags=8), drawn_site)
    assert one == {"material": "compost", "bag_m3": 0.05, "bags": 8, "volume_m3": pytest.approx(0.4)}
    year = document_of(TopUp(bed="b", year=1, drop=0.02, volumes=(("compost", 0.06),)), drawn_site)
    assert year == {"year": 1, "drop_m": 0.02, "volumes": [{"material": "compost", "volume_m3": 0.06}]}
