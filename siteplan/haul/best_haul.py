"""How is the whole work of hauling best done?

Beds served from the nearest piles, the plan, and beside it other tipping spots and gates, boards, a second barrow.
It leaves out formulas: those stand in the modules beside it.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from typing import TYPE_CHECKING

from siteplan.haul.alternatives import compare_hauls
from siteplan.haul.haul_plan import plan_haul
from siteplan.haul.loads.crew import crew_total
from siteplan.haul.loads.pile_service import served_nearest
from siteplan.haul.pushing import choose_boards
from siteplan.haul.results import HaulPlan
from siteplan.haul.routes.bed_routes import Ways
from siteplan.land.site import Site

if TYPE_CHECKING:
    from siteplan.fill.results import PurchaseLine, Supply

FEW_BEDS = 12  # more of them are not compared: each row is a plan of its own


def whole_haul(site: Site, supplies: Sequence[Supply], *, purchase: Sequence[PurchaseLine] = ()) -> HaulPlan:
    """Return the plan with everything beside it; its `supplies` say which pile serves which layer.

    Parameters
    ----------
    site : Site
    supplies : sequence of Supply
        What goes into which layer; of several piles with one material the plan chooses for itself.
    purchase : sequence of PurchaseLine
        What is bought.
    """
    if not supplies:
        return plan_haul(site, ())
    ways = Ways(site)
    served = served_nearest(site, supplies, purchase=purchase, ways=ways)
    plan = plan_haul(site, served, purchase=purchase, ways=ways)
    few = len({load.bed for load in plan.loads}) <= FEW_BEDS
    return dataclasses.replace(
        plan,
        comparison=compare_hauls(site, served, plan, purchase=purchase, ways=ways) if few else (),
        crew=crew_total(plan.loads, site.labour.people),
        boards=choose_boards(site, plan),
    )
