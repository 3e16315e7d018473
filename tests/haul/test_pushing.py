from __future__ import annotations

import dataclasses

import pytest
from shapely import Point, box

from siteplan.fill.fill_results import Supply
from siteplan.haul.haul_plan import plan_haul
from siteplan.haul.loads.work_rates import GRAVITY
from siteplan.haul.pushing import choose_boards
from siteplan.haul.routes.bed_routes import RouteFinder
from siteplan.land.constants import RollingSurface
from siteplan.land.features import Bed, Pile, Surface


@pytest.fixture
def boggy(bare_yard):
    """Return a yard with 4 m of mud between heap and bed."""
    return dataclasses.replace(
        bare_yard,
        beds=(Bed(id="bed", outline=box(3, -0.6, 5, 0.6), height=0.4),),
        piles=(Pile(id="heap", shape=Point(-4.05, 0.05)),),
        surfaces=(
            Surface(id="mire", outline=box(-2, -5, 2, 5), surface="mud"),
            Surface(id="yard", outline=box(-6, -5, 6, 5), surface="paved"),
        ),
        rolling_surfaces={
            "mud": RollingSurface(surface="mud", rolling=0.2, rolling_wet=0.25, pace=0.5, loaded=True),
            "paved": RollingSurface(surface="paved", rolling=0.02, rolling_wet=0.02, pace=1.0, loaded=True),
        },
    )


def test_boards_by_hand(boggy):
    # 4 m of mud are two boards of 2.4 m; the push falls from 25 % to 3 % of barrow and load
    plan = plan_haul(boggy, [Supply(bed="bed", material="topsoil", at="heap", volume=0.4, mass=500.0)])
    bare = RouteFinder(boggy).ground
    (choice,) = choose_boards(boggy, bare, plan, price=12.5)
    assert choice.soft_m == pytest.approx(4.0, abs=0.1)  # cells of 10 cm
    assert (choice.boards, choice.cost) == (2, 25.0)
    weight = (plan.loads[0].per_trip_mass + boggy.barrow.mass) * GRAVITY
    assert choice.push_bare == pytest.approx(0.25 * weight)
    assert choice.push_boarded == pytest.approx(0.03 * weight)
    assert choose_boards(boggy, bare, plan)[0].cost is None


def test_firm_ground_needs_none(boggy):
    firm = dataclasses.replace(boggy, surfaces=boggy.surfaces[1:])
    plan = plan_haul(firm, [Supply(bed="bed", material="topsoil", at="heap", volume=0.4, mass=500.0)])
    assert choose_boards(firm, RouteFinder(firm).ground, plan) == ()
