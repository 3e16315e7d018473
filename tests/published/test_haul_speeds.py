"""Walking, pushing and spending energy against the tables they come from, along the ways that the plan times."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from shapely import LineString, Point, box

from siteplan.fill.fill_results import Supply
from siteplan.haul.ground.cost_field import CostField
from siteplan.haul.haul_plan import plan_haul
from siteplan.haul.haul_results import Route
from siteplan.haul.loads.loads import supply_load
from siteplan.haul.loads.work_rates import GRAVITY, MET_WHEELBARROW, energy, shovel_met
from siteplan.haul.pushing import route_forces
from siteplan.haul.routes.router import Router
from siteplan.land.constants import RollingSurface
from siteplan.land.features import Bed, Pile, Surface
from siteplan.land.grid import Grid, grid_over
from siteplan.land.site import Barrow, HaulSettings, Labour
from siteplan.land.terrain import Terrain

LANE = 20  # m
TOP = 6.0 * math.exp(-3.5 * 0.05)  # km/h on the level, where the curve's top is 6 (Tobler)


def lane(grade, *, rolling=0.0, level=3.6 / TOP):
    """Return a router on a lane of 1 m by 20 m that rises eastward, at so many seconds a metre of level ground."""
    shape = (1, LANE)
    time = np.full(shape, level)
    return Router(
        CostField(
            Grid(0, 1, 1, *shape), time, time, np.full(shape, grade), np.zeros(shape), np.full(shape, rolling),
            max_grade=1.0,
        )
    )  # fmt: skip


def seconds(grade, *, loaded):
    """Return the time of a metre up a lane; downhill where the grade is negative. [s]"""
    field = lane(grade).least_times(np.array([(0, 0)]), loaded=loaded)
    return field.seconds[0, LANE - 1] / (LANE - 1)


@pytest.mark.parametrize(
    ("degrees", "speed"),
    [(-10, 3.86), (-5, 5.26), (0, 5.04), (1, 4.74), (5, 3.71), (10, 2.72), (15, 1.97), (20, 1.41)],
)
def test_an_empty_barrow_follows_toblers_table(degrees, speed):
    # Tobler 1993, Three presentations on geographical analysis and modeling, NCGIA 93-1, sample table (seen)
    grade = math.tan(math.radians(degrees))
    assert 3.6 / seconds(grade, loaded=False) == pytest.approx(speed, abs=0.01)  # two decimals printed


def test_it_is_fastest_on_a_slight_descent():
    # Tobler 1993: 6 km/h at a gradient of -0.05 (-2.86 degrees) (seen)
    assert 3.6 / seconds(-0.05, loaded=False) == pytest.approx(6.0, rel=1e-6)  # single-precision moves
    for grade in (-0.3, -0.06, -0.04, 0.0, 0.1):
        assert 3.6 / seconds(grade, loaded=False) < 6.0


@pytest.mark.parametrize(("grade", "factor"), [(0.10, 2.0), (0.05, 1.25), (-0.10, 2.0), (0.0, 1.0)])
def test_wheeled_cost_at_and_below_the_critical_slope(grade, factor):
    # Herzog 2016, quoted in the manual of an R package: 1 + (s / s_crit)^2, s_crit 10 % (seen second-hand)
    assert seconds(grade, loaded=True) / seconds(0.0, loaded=True) == pytest.approx(factor, rel=1e-6)


def test_minutes_of_a_whole_way_on_a_slope(tiny_yard):
    # 10 % up on paving, 1 m/s loaded and 5.04 km/h empty on the level: up at half the speed (Herzog), back down empty
    # at 6 exp(-3.5 |-0.10 + 0.05|) = 5.04 km/h (Tobler), as on the level
    grid = grid_over(box(-20, -20, 20, 20), 1.0)
    hill = Terrain(grid, 0.1 * np.meshgrid(grid.x, grid.y)[0])
    site = dataclasses.replace(
        tiny_yard, boundary=box(-9, -6, 9, 6), buildings=(), trees=(), fences=(), gates=(), taps=(), stock=(),
        surfaces=(Surface(id="all", outline=box(-9, -6, 9, 6), surface="paved"),), terrain=hill,
        beds=(Bed(id="bed", outline=box(6, -0.6, 8, 0.6), height=0.4),), piles=(Pile(id="heap", shape=Point(-7, 0)),),
        rolling_surfaces={"paved": RollingSurface(surface="paved", rolling=0.02, rolling_wet=0.02, pace=1.0, loaded=True)},
        haul=HaulSettings(loaded_speed=1.0, empty_speed=TOP / 3.6), labour=Labour(people=1),
    )  # fmt: skip
    need = Supply(bed="bed", material="topsoil", at="heap", volume=0.06, mass=75.0)
    (route,) = plan_haul(site, [need]).routes
    assert route.length_m > 10
    assert route.loaded_s == pytest.approx(2.0 * route.length_m, rel=1e-3)  # one straight line, to a cell's corner
    assert route.empty_s == pytest.approx(route.back.length * 3.6 / TOP, rel=1e-3)
    assert route.climb_m == pytest.approx(0.1 * route.length_m, rel=1e-3)


def pushed(mass, *, grade=0.0, rolling=0.0):
    """Return the push along a lane, averaged and at its hardest. [kgf]"""
    line = LineString([(0.5, 0.5), (LANE - 0.5, 0.5)])
    ground = lane(grade, rolling=rolling).ground
    return [force / GRAVITY for force in route_forces(ground, line, mass=mass - 20, barrow=20)]


@pytest.mark.parametrize(("load", "kgf"), [(200, 4), (400, 8)])
def test_rolling_on_a_good_floor(load, kgf):
    # HSE, Pushing and pulling loads; INDG143 p. 9: at least 2 % of the load on a level, good floor (seen)
    assert pushed(load, rolling=0.02) == pytest.approx([kgf, kgf], rel=1e-12)  # exact but for rounding


def test_four_hundred_kilograms_up_one_in_twelve():
    # HSE INDG143 p. 9: over 30 kgf even in ideal conditions (seen); 400 sin(atan(1/12)) = 33.2 (calculated)
    assert pushed(400, grade=1 / 12) == pytest.approx([33.2, 33.2], abs=0.05)  # one decimal
    # the parts are rounded, and rolling is 0.3 % less across the slope
    assert pushed(400, grade=1 / 12, rolling=0.02) == pytest.approx([41.2, 41.2], abs=0.3)


@pytest.mark.parametrize(("degrees", "percent"), [(1, 1.7), (5, 8.72), (10, 17), (15, 26)])
def test_share_of_the_weight_on_a_slope(degrees, percent):
    # a transport trade column on HSE's figures (seen), whole percents printed; it rounds 5 degrees to "10 %", where
    # exact is sin 5 = 8.72 %
    share, _ = pushed(100, grade=math.tan(math.radians(degrees)))
    assert share == pytest.approx(percent, abs=0.005 if degrees == 5 else 0.5)


def test_downhill_nothing_is_pushed():
    assert pushed(100, grade=-0.2, rolling=0.02) == [0.0, 0.0]


def test_energy_of_wheeling_and_shovelling():
    # Compendium of Physical Activities, 2011 code 08255 (5.5 MET) and 2024 shovelling 10 to 15 lb/min (6.5 MET) (seen)
    assert energy(MET_WHEELBARROW, 1.0, body_mass=80) == 440
    assert energy(shovel_met(12 * 0.45359237), 0.5, body_mass=80) == 260


@pytest.mark.parametrize(("pounds", "met"), [(9.9, 5.0), (10.0, 6.5), (15.0, 6.5), (16.5, 8.8), (64.0, 8.8)])
def test_shovelling_classes(pounds, met):
    # 2024 Adult Compendium: below 10 lb/min 5.0; 10 to 15 lb/min 6.5; above 16 lb/min 8.8 (seen second-hand)
    assert shovel_met(pounds * 0.45359237) == met


def test_defaults_lie_within_common_practice():
    # common practice, no source: empty barrow 4 to 5 km/h, tipping 0.5 to 1 min, a one-wheeled barrow 12 to 25 kg
    assert 4.0 <= HaulSettings().empty_speed * 3.6 <= 5.0
    assert 0.5 <= HaulSettings().tip_time * 60 <= 1.0
    assert 12 <= Barrow().mass <= 25


def test_energy_of_a_load_counts_its_time_and_not_its_climb():
    # the Compendium's 5.5 MET for a wheelbarrow does not depend on the slope but through the time that it takes
    need = Supply(bed="bed", material="soil", at="heap", volume=0.06, mass=75.0)
    line = LineString([(0, 0), (0, 50)])
    spent = []
    for rise in (5.0, 0.0):
        route = Route("heap", "bed", line, 50.0, rise, 60.0, 40.0, line.reverse())
        load = supply_load(need, barrow=Barrow(), people=1, material=None, route=route)
        spent.append(load.energy_kcal)
    assert spent[0] == spent[1]
    wheeled = 5.5 * 80 * (100 / 3600 + 0.75 / 60)  # out and back in 100 s, tipped in 0.75 min
    shovelled = 8.8 * 80 * 0.06 / 0.5  # 75 kg in 7.2 min are 23 lb/min: the uppermost class
    assert spent[0] == pytest.approx(wheeled + shovelled, rel=1e-9)  # exact but for rounding
