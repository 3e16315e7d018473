"""Flags of a spot: each raised where it should be and nowhere else."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely import LineString, box

from siteplan.land.features import Building, Fence, Hedge
from siteplan.land.grid import grid_over
from siteplan.land.terrain import Terrain
from siteplan.place.limits.hazards import spot_findings
from siteplan.say.cautions import in_words

BED = box(4, 3.5, 6, 4.5)


def codes(site, outline=BED):
    return {caution.code for caution in spot_findings(site, outline)}


def terrain_of(height):
    grid = grid_over(box(-15, -15, 25, 25), 0.5)
    x, y = np.meshgrid(grid.x, grid.y)
    return Terrain(grid, height(x, y))


def test_an_open_yard_is_open_to_the_wind_alone(yard):
    assert codes(yard()) == {"open-to-wind"}


@pytest.mark.parametrize(("depth", "told"), [(0.5, True), (0.2, False)])
def test_a_hollow_gathers_cold_air(yard, depth, told):
    # a bowl around the bed, 8 m away higher by `depth`; the flag is raised from 0.3 m
    bowl = terrain_of(lambda x, y: depth * np.minimum(np.hypot(x - 5, y - 4) / 8, 1))
    assert ("frost-pocket" in codes(yard(terrain=bowl))) is told


def test_a_solid_fence_downhill_dams_cold_air_and_an_open_one_does_not(yard):
    ramp = terrain_of(lambda x, y: 0.06 * x + 0 * y)  # falls westward
    line = LineString([(2, 0), (2, 8)])
    solid, slats = (Fence(id="run", line=line, height=1.5, transmittance=share) for share in (0.0, 0.5))
    assert "frost-pocket" in codes(yard(terrain=ramp, fences=(solid,)))
    (said, *_) = in_words(spot_findings(yard(terrain=ramp, fences=(solid,)), BED), "metric")
    assert said.text == "Fence run just downhill dams cold air: frost may stay longer there."
    assert "frost-pocket" not in codes(yard(terrain=ramp, fences=(slats,)))
    uphill = Fence(id="run", line=LineString([(8, 0), (8, 8)]), height=1.5)
    assert "frost-pocket" not in codes(yard(terrain=ramp, fences=(uphill,)))


def test_a_hedge_all_around_shelters(yard):
    ring = box(0, 0, 10, 8).difference(box(1, 1, 9, 7))
    assert codes(yard(hedges=(Hedge(id="ring", outline=ring, height=1.5),))) == set()
    low = Hedge(id="ring", outline=ring, height=0.2)  # shelters 2 m: the bed's middle is 3 m off
    assert codes(yard(hedges=(low,))) == {"open-to-wind"}


@pytest.mark.parametrize(("sheltered", "told"), [(1, True), (2, False)])
def test_one_sheltered_side_of_eight_is_no_shelter(yard, sheltered, told):
    north, south = (Hedge(id=f"h{y}", outline=box(4.8, y, 5.2, y + 0.5), height=1.5) for y in (6.5, 1.0))
    assert ("open-to-wind" in codes(yard(hedges=(north, south)[:sheltered]))) is told


def test_old_paint_within_ten_feet(yard):
    def near(x):
        return yard(buildings=(Building(id="shed", outline=box(x, 3, x + 2, 5), height=2),))

    assert "old-paint" in codes(near(9.0))
    assert "old-paint" not in codes(near(9.1))
    american = replace(near(7), country="US")
    said = {one.code: one.text for one in in_words(spot_findings(american, BED), "imperial")}
    assert said["old-paint"].startswith(
        "It lies within 10 ft of building shed. If the walls were painted before 1978, have the soil tested"
    )
    elsewhere = {one.code: one.text for one in in_words(spot_findings(near(7), BED), "metric")}
    assert "If the walls may carry old paint with lead, have the soil tested" in elsewhere["old-paint"]
