"""Each figure of [haul], [barrow] and [labour] changes what it should, by hand."""

from __future__ import annotations

import dataclasses

import pytest
from shapely import Point, box

from siteplan.fill.fill_results import PurchaseLine, Supply
from siteplan.haul.haul_plan import plan_haul
from siteplan.haul.loads.loads import crew_choice
from siteplan.haul.loads.work_rates import GRAVITY
from siteplan.haul.pushing import choose_boards
from siteplan.haul.routes.bed_routes import RouteFinder
from siteplan.land.constants import RollingSurface
from siteplan.land.features import Bed, Pile, Surface
from siteplan.land.site import Barrow, HaulSettings, Labour
from siteplan.say.cautions import in_words

NEED = [Supply(bed="bed", material="topsoil", at="heap", volume=0.4, mass=500.0)]
BAGS = [Supply(bed="bed", material="compost", at="", volume=0.4, mass=280.0)]
BOUGHT = [PurchaseLine(material="compost", kind="bag", count=10, volume=0.4, cost=50.0)]


@pytest.fixture
def yard(bare_yard):
    return dataclasses.replace(
        bare_yard,
        beds=(Bed(id="bed", outline=box(3, -0.6, 5, 0.6), height=0.4),),
        piles=(Pile(id="heap", shape=Point(-4.05, 0.05), drop=True),),
        surfaces=(Surface(id="turf", outline=box(-6, -5, 6, 5), surface="grass"),),
        rolling_surfaces={
            "grass": RollingSurface(surface="grass", rolling=0.07, rolling_wet=0.12, pace=0.9, loaded=True)
        },
    )


def planned(yard, needs=NEED, purchase=(), *, barrow=None, labour=None, **haul):
    site = dataclasses.replace(
        yard, haul=HaulSettings(**haul), barrow=barrow or yard.barrow, labour=labour or yard.labour
    )
    return site, plan_haul(site, needs, purchase=purchase)


def test_speeds(yard):
    _, usual = planned(yard)
    _, slow = planned(yard, loaded_speed=1.5 / 3.6, empty_speed=2.25 / 3.6)  # half of both
    assert slow.routes[0].loaded_s == pytest.approx(2 * usual.routes[0].loaded_s, rel=1e-6)
    assert slow.routes[0].empty_s == pytest.approx(2 * usual.routes[0].empty_s, rel=1e-6)
    assert slow.loads[0].push_minutes == pytest.approx(2 * usual.loads[0].push_minutes, rel=1e-6)


def test_tipping_shovelling_bags_and_rests(yard):
    _, usual = planned(yard)
    _, other = planned(yard, tip_time=1 / 60, shovel_pace=2.0, rest=0.5)
    assert other.loads[0].tip_minutes == pytest.approx(usual.loads[0].trips)  # a minute a trip
    assert other.loads[0].shovel_minutes == pytest.approx(usual.loads[0].shovel_minutes / 2)
    work = sum(run.minutes for run in other.order)
    assert work == pytest.approx(2 * other.total_minutes)  # half of each hour is rest
    _, bags = planned(yard, BAGS, BOUGHT, bag_time=3 / 60)
    assert bags.loads[0].shovel_minutes == pytest.approx(30)  # ten bags of three minutes


def test_wet_ground_body_and_barrow(yard):
    _, usual = planned(yard)
    _, wet = planned(yard, wet=True)
    assert wet.loads[0].push_force == pytest.approx(usual.loads[0].push_force * 0.12 / 0.07)
    _, heavy = planned(yard, barrow=Barrow(mass=38.0))
    assert heavy.loads[0].push_force - usual.loads[0].push_force == pytest.approx(20 * GRAVITY * 0.07)
    _, light = planned(yard, labour=Labour(body_mass=40.0))
    assert light.loads[0].energy_kcal == pytest.approx(usual.loads[0].energy_kcal / 2)  # kcal go by the body's mass


def test_a_second_barrow_where_it_helps(yard):
    crew = Labour(people=3)
    _, one = planned(yard, labour=crew, shovel_pace=2.0, loaded_speed=0.2)
    _, two = planned(yard, labour=crew, shovel_pace=2.0, loaded_speed=0.2, barrow=Barrow(count=2))
    choice = crew_choice(one.loads[0], 3)
    assert choice.second_barrow_helps
    assert not one.loads[0].side_by_side
    assert two.loads[0].side_by_side
    assert two.total_minutes == pytest.approx(choice.side_by_side)
    assert two.total_minutes < one.total_minutes
    _, alone = planned(yard, barrow=Barrow(count=2))
    assert not alone.loads[0].side_by_side


def test_boards_take_length_and_price_from_the_site(yard):
    site, plan = planned(yard, board_price=10.0, board_length=1.0)
    (choice,) = choose_boards(site, RouteFinder(site).ground, plan)  # wet grass is soft
    assert choice.soft_m == pytest.approx(plan.routes[0].length_m)
    assert choice.boards == -(-choice.soft_m // 1.0)
    assert choice.cost == 10.0 * choice.boards


def test_the_angle_of_a_heap(yard):
    _, steep = planned(yard, [dataclasses.replace(NEED[0], at="")], heap_angle=40.0)
    _, flat = planned(yard, [dataclasses.replace(NEED[0], at="")], heap_angle=20.0)
    assert steep.heaps[0].radius < flat.heaps[0].radius


def test_an_imperial_site_is_told_feet_and_pounds(yard):
    site = dataclasses.replace(yard, units="imperial", barrow=Barrow(load=120.0), haul=HaulSettings(wet=True))
    needs = [dataclasses.replace(NEED[0], at="", volume=40.0, mass=50_000.0)]
    plan = plan_haul(site, needs)
    said = in_words(plan.findings, site.units)
    codes = {caution.code for caution in said}
    assert {"heavy-push", "barrow-load", "heavy-work", "heap-too-big"} <= codes
    for caution in said:
        words = caution.text.replace(",", " ").replace(".", " ").split()
        assert not {"m", "cm", "kg", "L", "t"} & set(words), caution.text
