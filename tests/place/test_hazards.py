"""Flags of a spot: each raised where it should be and nowhere else."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely import LineString, Point, box

from siteplan.land.features import Building, Fence, Hedge, Tree
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


def bowl_of(rise, low=(), unknown=(), centre=0.0):
    """Return a bowl around the bed's middle that rises evenly, but not towards some azimuths, or is unknown there."""

    def height(x, y):
        east, north = x - 5, y - 4
        azimuth = np.degrees(np.arctan2(east, north))
        found = rise * np.hypot(east, north)
        for one, value in (*((one, -0.0125) for one in low), *((one, np.nan) for one in unknown)):
            toward = np.abs((azimuth - one + 180) % 360 - 180) < 15
            found = np.where(toward & (np.hypot(east, north) > 2), value * np.hypot(east, north), found)
        return np.where(np.hypot(east, north) < 1, found + centre, found)

    return terrain_of(height)


@pytest.mark.parametrize(("terrain", "told"), [
    (bowl_of(0.0395), True),  # 0.302 m: 0.316 at the ring, 8 m away, less 0.014 in the cells about the middle
    (bowl_of(0.0385), False),  # 0.294 m
    (bowl_of(0.075, low=[90]), True),  # open to one side; 0.6 m to the seven others
    (bowl_of(0.075, low=[0, 225]), False),  # cold air flows off to two
    (bowl_of(0.075, unknown=[0, 45, 270]), True),  # five of eight are known
    (bowl_of(0.075, unknown=[0, 45, 270, 180]), False),
    (bowl_of(0.075, centre=np.nan), False),
])  # fmt: skip
def test_how_deep_and_how_closed_a_hollow_is(yard, terrain, told):
    found = [one for one in spot_findings(yard(terrain=terrain), BED) if one.code == "frost-pocket"]
    assert [dict(one.figures) for one in found] == ([{"kind": "", "barrier": ""}] if told else [])


@pytest.mark.parametrize(("east", "north"), [(1, 0), (-1, 0), (0, 1), (0, -1), (1, 1), (-1, 1)])
@pytest.mark.parametrize(("slope", "told"), [(0.0305, True), (0.0295, False)])
def test_cold_air_is_dammed_on_a_slope_of_three_in_a_hundred(yard, east, north, slope, told):
    size = np.hypot(east, north)
    ramp = terrain_of(lambda x, y: -slope * (x * east + y * north) / size)  # falls that way
    wall = Point(5 + 3 * east / size, 4 + 3 * north / size).buffer(0.4)
    other = Point(5 - 3 * east / size, 4 - 3 * north / size).buffer(0.4)
    downhill, uphill = (Building(id="barn", outline=one, height=3) for one in (wall, other))
    found = [
        one for one in spot_findings(yard(terrain=ramp, buildings=(downhill,)), BED) if one.code == "frost-pocket"
    ]
    assert [dict(one.figures) for one in found] == ([{"kind": "building", "barrier": "barn"}] if told else [])
    assert "frost-pocket" not in codes(yard(terrain=ramp, buildings=(uphill,)))


@pytest.mark.parametrize(("half", "x", "told"), [
    (0.1, 1.0, True),  # 3.9 m from the bed
    (0.1, 0.8, False),  # 4.1 m
    (2.0, -0.9, True),  # the same from a bed of 4 m, and of 8 m
    (2.0, -1.1, False),
    (4.0, -1.0, True),
    (4.0, -2.9, True),
    (4.0, -3.1, False),
])  # fmt: skip
def test_how_near_a_dam_is(yard, half, x, told):
    ramp = terrain_of(lambda x, y: 0.06 * x + 0 * y)
    fence = Fence(id="run", line=LineString([(x, 0), (x, 8)]), height=1.5)
    assert ("frost-pocket" in codes(yard(terrain=ramp, fences=(fence,)), box(5 - half, 3.5, 5 + half, 4.5))) is told


WEST = box(2, 3, 2.5, 5)
ACROSS = LineString([(2, 0), (2, 8)])


@pytest.mark.parametrize(("features", "kind"), [
    ({"buildings": (Building(id="one", outline=WEST, height=3),)}, "building"),
    ({"buildings": (Building(id="one", outline=WEST, height=3, base=0.2),)}, None),
    ({"fences": (Fence(id="one", line=ACROSS, height=1, transmittance=0.09),)}, "fence"),
    ({"fences": (Fence(id="one", line=ACROSS, height=1, transmittance=0.1),)}, None),
    ({"fences": (Fence(id="one", line=ACROSS, height=1, base=0.1),)}, None),
    ({"hedges": (Hedge(id="one", outline=WEST, height=1, transmittance=0.1),)}, "hedge"),
    ({"hedges": (Hedge(id="one", outline=WEST, height=1, transmittance=0.11),)}, None),
    ({"hedges": (Hedge(id="two", outline=WEST, height=1),), "fences": (Fence(id="one", line=ACROSS, height=1),)}, "fence"),
])  # fmt: skip
def test_what_dams_cold_air(yard, features, kind):
    ramp = terrain_of(lambda x, y: 0.06 * x + 0 * y)
    found = [one for one in spot_findings(yard(terrain=ramp, **features), BED) if one.code == "frost-pocket"]
    assert [dict(one.figures) for one in found] == ([{"kind": kind, "barrier": "one"}] if kind else [])


RING = box(0, 0, 10, 8).difference(box(2, 1, 8, 7))  # 3 m from the middle of the bed


@pytest.mark.parametrize(("features", "sheltered"), [
    ({"hedges": (Hedge(id="r", outline=RING, height=0.31),)}, True),  # ten times as far
    ({"hedges": (Hedge(id="r", outline=RING, height=0.29),)}, False),
    ({"buildings": (Building(id="r", outline=RING, height=0.31),)}, True),
    ({"fences": (Fence(id="r", line=LineString(box(2, 1, 8, 7).exterior), height=0.31),)}, True),
    ({"trees": (Tree(id="r", outline=RING, trunk=Point(0, 0), height=0.31, crown_base=0.1),)}, True),
    ({"buildings": (Building(id="r", outline=Point(5, 4).buffer(210) - Point(5, 4).buffer(199), height=20),)}, True),
])  # fmt: skip
def test_a_windbreak_shelters_ten_of_its_heights(yard, features, sheltered):
    assert ("open-to-wind" in codes(yard(**features))) is not sheltered


def test_the_nearest_old_walls_are_named(yard):
    def shed(name, x, **given):
        return Building(id=name, outline=box(x, 3, x + 1, 5), height=3, **given)

    def told(*buildings):
        found = spot_findings(yard(buildings=buildings), BED)
        return [dict(one.figures) for one in found if one.code == "old-paint"]

    (figures,) = told(shed("far", 8.5), shed("near", 7.0))
    assert figures == {"building": "near", "within": 3.05, "country": ""}
    (figures,) = told(shed("b", 8.0), shed("a", 1.0))  # 2 m to either side
    assert figures["building"] == "a"
    assert told(shed("porch", 7.0, base=2.0)) == []
    assert told(shed("x", 9.04)) != []
    assert told(shed("x", 9.06)) == []
