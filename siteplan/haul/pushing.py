"""What would boards over the soft stretches change, and what would they cost?

Metres of soft ground along each route that is used, the boards that cover them, and the push with and without.
It leaves out the time to lay them, and how soon a wheel sinks in: that is for a look at the ground.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from siteplan.haul.ground.cost_field import ground_cost, routing_grid
from siteplan.haul.loads.work_rates import GRAVITY
from siteplan.haul.results import HaulPlan, Route
from siteplan.haul.routes.router import Router
from siteplan.land.grid import Floats
from siteplan.land.site import Site

SOFT = 0.10  # HSE: rolling takes up to 10 % of the load on uneven ground, more where it is soft (seen)
ON_BOARDS = 0.03  # as firm gravel: boards give a little and have joints. Common practice, no source


@dataclass(frozen=True)
class BoardsChoice:
    """Boards along one route.

    Attributes
    ----------
    from_id, to_id : str
    soft_m : float
        Of the way out over soft ground. [m]
    boards : int
        That cover it.
    cost : float or None
        In the site's currency; None where no price is known.
    push_bare, push_boarded : float
        To keep the heaviest load moving at its hardest spot, without and with them. [N]
    """

    from_id: str
    to_id: str
    soft_m: float
    boards: int
    cost: float | None
    push_bare: float
    push_boarded: float


def choose_boards(
    site: Site, plan: HaulPlan, *, wet: bool = True, length: float | None = None, price: float | None = None
) -> tuple[BoardsChoice, ...]:
    """Return what boards would change along each route that crosses soft ground, the softest first.

    Parameters
    ----------
    site : Site
    plan : HaulPlan
        Its routes and loads; nothing is routed anew.
    wet : bool
        Whether the ground is taken as wet.
    length : float, optional
        Of a board; the site's own when not given. [m]
    price : float, optional
        Of a board, in the site's currency; the site's own when not given.
    """
    router = Router(ground_cost(site, routing_grid(site), wet=wet))
    length = site.haul.board_length if length is None else length
    price = site.haul.board_price if price is None else price
    found = [_choice(router, plan, route, length, price, site.barrow.mass) for route in plan.routes]
    return tuple(sorted((choice for choice in found if choice.boards), key=lambda choice: -choice.soft_m))


def _choice(
    router: Router, plan: HaulPlan, route: Route, length: float, price: float | None, barrow: float
) -> BoardsChoice:
    lengths, rise, rolling = router.slopes(route.line)
    soft = rolling > SOFT
    soft_m = float(lengths[soft].sum())
    boards = math.ceil(soft_m / length - 1e-9)
    here = [load for load in plan.loads if (load.from_id, load.bed) == (route.from_id, route.to_id)]
    mass = max((load.per_trip_mass for load in here), default=0.0) + barrow
    return BoardsChoice(
        from_id=route.from_id,
        to_id=route.to_id,
        soft_m=soft_m,
        boards=boards,
        cost=None if price is None else boards * price,
        push_bare=_hardest(mass, rise, rolling),
        push_boarded=_hardest(mass, rise, np.where(soft, ON_BOARDS, rolling)),
    )


def _hardest(mass: float, rise: Floats, rolling: Floats) -> float:
    angle = np.arctan(rise)
    return float(mass * GRAVITY * np.maximum(rolling * np.cos(angle) + np.sin(angle), 0.0).max())
