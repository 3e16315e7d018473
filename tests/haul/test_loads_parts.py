"""What limits a load, what a load's minutes are made of, and how heavy a lift may be. By hand."""

from __future__ import annotations

import pytest
from shapely import LineString

from siteplan.fill.fill_results import Supply
from siteplan.haul.haul_results import Route
from siteplan.haul.loads.lifting import recommended_weight
from siteplan.haul.loads.loads import barrow_loads, supply_load
from siteplan.land.site import Barrow


@pytest.mark.parametrize(("mass", "limit"), [(400.0, "volume"), (401.0, "mass"), (399.0, "volume")])
def test_a_load_is_limited_by_mass_above_the_barrows_own_density(mass, limit):
    # 80 kg to 0.1 m3 are 800 kg to 1 m3; half a cubic metre
    assert barrow_loads(0.5, mass, tray=0.1, load=80.0).limit == limit


def test_the_minutes_of_a_load_are_all_its_parts():
    line = LineString([(0, 0), (30, 0)])
    route = Route("heap", "bed", line, 30.0, 0.0, loaded_s=36.0, empty_s=24.0, back=line.reverse(), bucket_m=6.0)
    supply = Supply(bed="bed", material="soil", at="heap", volume=0.12, mass=60.0)
    load = supply_load(supply, barrow=Barrow(volume=0.06, load=80), people=1, material=None, route=route)
    # 14.4 min with the shovel, two trips of a minute and 0.75 min to tip; by bucket 1.2 min and the shovel once more
    parts = (load.shovel_minutes, load.push_minutes, load.tip_minutes, load.bucket_minutes)
    assert parts == pytest.approx((14.4, 2.0, 1.5, 15.6))
    assert load.minutes == pytest.approx(33.5)


@pytest.mark.parametrize(("horizontal", "asymmetry", "limit"), [
    (25, 0, 23.0), (25, 90, 23.0 * (1 - 0.0032 * 90)), (63, 0, 23.0 * 25 / 63), (63.5, 0, 0.0), (25, 136, 0.0),
    (25, 135, 23.0 * (1 - 0.0032 * 135)),
])  # fmt: skip
def test_a_lift_within_the_reach_of_the_hands(horizontal, asymmetry, limit):
    """NIOSH 94-110: 23 kg, less by 0.32 % a degree of turn, up to 63 cm away and 135 degrees."""
    found = recommended_weight(horizontal=horizontal, vertical=75, travel=25, asymmetry=asymmetry)
    assert found == pytest.approx(limit)
