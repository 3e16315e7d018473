"""How hard is the barrow pushed along a route, and how much would boards over soft ground help?

Rolling resistance plus the component of the weight along the slope, piece by piece of the way out. Not included:
starting, bumps, the weight that the arms carry, and the time to lay boards.
"""

from __future__ import annotations

import math

import numpy as np
from shapely import LineString

from siteplan.haul.ground.cost_field import CostField, wet_field
from siteplan.haul.haul_results import BoardsChoice, HaulPlan, Route
from siteplan.land.grid import Floats
from siteplan.land.site import Site
from siteplan.land.unit_sizes import GRAVITY
from siteplan.land.walls import COMMON_LENGTHS

SOFT = 0.10  # rolling resistance above which ground is soft. HSE: up to 10 % of the load on uneven ground (seen)
ON_BOARDS = 0.03  # rolling resistance on boards, as on firm gravel. Common practice, no source


def push_force(mass: float, rolling: Floats, rise: Floats) -> Floats:
    """Return the force along the ground that keeps a barrow moving, 0 where it rolls by itself, shape (n,). [N]

    Parameters
    ----------
    mass : float
        Barrow and load. [kg]
    rolling : ndarray, shape (n,)
        Rolling resistance as a share of the weight. [0 to 1]
    rise : ndarray, shape (n,)
        Slope in the direction of the push. [rise/run]

    Notes
    -----
    m g (rolling cos a + sin a) on a slope of angle a.

    Examples
    --------
    98 kg on level grass:

    >>> push_force(98, np.array([0.07]), np.array([0.0])).round()
    array([67.])
    """
    angle = np.arctan(rise)
    return np.asarray(mass * GRAVITY * np.maximum(rolling * np.cos(angle) + np.sin(angle), 0.0))


def route_forces(ground: CostField, line: LineString, *, mass: float, barrow: float) -> tuple[float, float]:
    """Return the mean push along a line, with downhill as 0, and the hardest push on it. [N]

    Parameters
    ----------
    ground : CostField
    line : LineString
        In the direction walked. [m]
    mass : float
        Of the load. [kg]
    barrow : float
        Of the barrow itself. [kg]
    """
    pieces = ground.along(line)
    push = push_force(mass + barrow, pieces.rolling, pieces.rise)
    lengths = pieces.length if pieces.length.sum() > 0 else None
    return float(np.average(push, weights=lengths)), float(push.max())


def board_length(site: Site) -> float:
    """Return the length of a board over soft ground: the site's setting, else the shortest commonly sold. [m]"""
    return site.haul.board_length or COMMON_LENGTHS[site.units][0]


def choose_boards(
    site: Site, ground: CostField, plan: HaulPlan, *, length: float | None = None, price: float | None = None
) -> tuple[BoardsChoice, ...]:
    """Return the effect of boards on wet ground for each route that crosses soft ground, the hardest push first.

    Parameters
    ----------
    site : Site
    ground : CostField
        With which the plan was made.
    plan : HaulPlan
        Its routes and loads are used; no routes are computed anew.
    length : float, optional
        Of a board; by default the site's setting. [m]
    price : float, optional
        Of a board, in the site's currency; by default the site's setting.
    """
    wet = wet_field(ground, site)
    length = board_length(site) if length is None else length
    price = site.haul.board_price if price is None else price
    choices = [_choice(wet, plan, route, length, price, site.barrow.mass) for route in plan.routes]
    return tuple(
        sorted(
            (choice for choice in choices if choice.boards), key=lambda choice: (-choice.push_bare, -choice.soft_m)
        )
    )


def _choice(
    ground: CostField, plan: HaulPlan, route: Route, length: float, price: float | None, barrow: float
) -> BoardsChoice:
    pieces = ground.along(route.line)
    soft = pieces.rolling > SOFT
    soft_m = float(pieces.length[soft].sum())
    boards = math.ceil(soft_m / length - 1e-9)
    loads = [load for load, its_route in zip(plan.loads, plan.load_routes, strict=True) if its_route is route]
    mass = max((load.per_trip_mass for load in loads), default=0.0) + barrow
    boarded = np.where(soft, ON_BOARDS, pieces.rolling)
    return BoardsChoice(
        from_id=route.from_id,
        to_id=route.to_id,
        soft_m=soft_m,
        boards=boards,
        cost=None if price is None else boards * price,
        push_bare=float(push_force(mass, pieces.rolling, pieces.rise).max()),
        push_boarded=float(push_force(mass, boarded, pieces.rise).max()),
    )
