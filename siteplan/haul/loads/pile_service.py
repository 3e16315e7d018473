"""Which pile serves which bed, if several piles hold the same material?

The transportation problem of linear programming, solved exactly: every bed gets its volume, every pile gives the
volume planned for it, and the time of wheeling is least. The volumes themselves were fixed when the fill was planned.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
from scipy.optimize import linprog

from siteplan.fill.fill_results import Supply
from siteplan.haul.delivery.packaging import delivered_parts, tipped_volumes
from siteplan.haul.delivery.tipping import choose_tipping_spot
from siteplan.haul.ground.standing_places import at_pile
from siteplan.haul.routes.bed_routes import NO_WAY, RouteFinder
from siteplan.land.grid import Floats
from siteplan.land.site import Barrow, Site

if TYPE_CHECKING:
    from siteplan.fill.fill_results import PurchaseLine

_CRUMB = 1e-9  # m3; smaller volumes are rounding errors


def assign_piles(
    site: Site,
    supplies: Sequence[Supply],
    *,
    purchase: Sequence[PurchaseLine] = (),
    finder: RouteFinder | None = None,
) -> tuple[Supply, ...]:
    """Return supplies that fill the same layers from the same piles with the least time of wheeling.

    Parameters
    ----------
    site : Site
    supplies : sequence of Supply
        The total volume of each pile and of each layer does not change.
    purchase : sequence of PurchaseLine
        As for the plan.
    finder : RouteFinder, optional
        Over the site, if the caller has them already.

    Notes
    -----
    Time is proportional to volume here, as if trips could be fractions; the plan then counts whole trips.
    """
    if not any(_is_choice(supplies, name) for name in {supply.material for supply in supplies}):
        return tuple(supplies)
    finder = finder or RouteFinder(site)
    parts = delivered_parts(supplies, purchase)
    spot = choose_tipping_spot(finder, parts, None, volumes=tipped_volumes(parts, purchase))
    cells = {pile.id: at_pile(finder.ground, pile) for pile in site.piles}
    if spot is not None:
        cells[""] = spot.cells
    names = list(dict.fromkeys(supply.at for supply in supplies))
    trips = {
        name: source.round_trip for name, source in finder.sources({name: cells[name] for name in names}).items()
    }
    assigned: list[Supply] = []
    for material in dict.fromkeys(supply.material for supply in supplies):
        of_material = [supply for supply in supplies if supply.material == material]
        assigned += _assigned(finder, of_material, trips)
    place = {(supply.bed, supply.order): k for k, supply in reversed(list(enumerate(supplies)))}
    return tuple(sorted(assigned, key=lambda supply: (place[supply.bed, supply.order], names.index(supply.at))))


def _is_choice(supplies: Sequence[Supply], material: str) -> bool:
    """Return whether a material has several sources and several layers."""
    of_material = [supply for supply in supplies if supply.material == material]
    piles = {supply.at for supply in of_material}
    layers = {(supply.bed, supply.order) for supply in of_material}
    return len(piles) > 1 and len(layers) > 1


def _assigned(finder: RouteFinder, supplies: Sequence[Supply], trips: dict[str, Floats]) -> list[Supply]:
    """Return the supplies of one material, assigned to its piles with the least time."""
    piles = list(dict.fromkeys(supply.at for supply in supplies))
    layers = list(dict.fromkeys((supply.bed, supply.order) for supply in supplies))
    if len(piles) == 1 or len(layers) == 1:
        return list(supplies)
    density = sum(supply.mass for supply in supplies) / max(sum(supply.volume for supply in supplies), _CRUMB)
    gives = [sum(supply.volume for supply in supplies if supply.at == pile) for pile in piles]
    takes = [sum(supply.volume for supply in supplies if (supply.bed, supply.order) == layer) for layer in layers]
    trip_volume = _most_in_a_load(density, finder.site.barrow)
    time = np.array([[_round_trip(finder, trips[pile], bed) / trip_volume for bed, _ in layers] for pile in piles])
    volumes = solve_transport(time, gives, takes)
    return [
        Supply(
            bed=bed,
            material=supplies[0].material,
            at=piles[i],
            volume=float(volumes[i, j]),
            mass=float(volumes[i, j]) * density,
            order=order,
        )
        for j, (bed, order) in enumerate(layers)
        for i in range(len(piles))
        if volumes[i, j] > _CRUMB
    ]


def _most_in_a_load(density: float, barrow: Barrow) -> float:
    return min(barrow.volume, barrow.load / density) if density > 0 else barrow.volume


def _round_trip(finder: RouteFinder, seconds: Floats, bed: str) -> float:
    cells = finder.cells_beside(finder.site.bed(bed))
    least = float(seconds[cells[:, 0], cells[:, 1]].min(initial=math.inf))
    return least if math.isfinite(least) else NO_WAY


def solve_transport(cost: Floats, gives: Sequence[float], takes: Sequence[float]) -> Floats:
    """Return the cheapest transport from n sources to m destinations.

    Parameters
    ----------
    cost : ndarray, shape (n, m)
        Of one unit from each source to each destination.
    gives : sequence of float, length n
        Amount at each source.
    takes : sequence of float, length m
        Amount for each destination; the same in all as `gives`.

    Returns
    -------
    ndarray, shape (n, m)
        Amount from each source to each destination.

    Raises
    ------
    ValueError
        If the totals differ.
    RuntimeError
        If the linear programme is not solved.

    Examples
    --------
    >>> solve_transport(np.array([[1.0, 2.0], [1.0, 5.0]]), [1.0, 1.0], [1.0, 1.0])
    array([[0., 1.],
           [1., 0.]])
    """
    n, m = cost.shape
    if not math.isclose(sum(gives), sum(takes), rel_tol=1e-6, abs_tol=1e-9):
        raise ValueError(f"{sum(gives):g} is given and {sum(takes):g} is taken; they must be equal")
    rows = np.kron(np.eye(n), np.ones(m))
    columns = np.kron(np.ones(n), np.eye(m))
    scale = sum(takes) / sum(gives) if sum(gives) else 1.0
    solved = linprog(
        cost.ravel(),
        A_eq=np.vstack([rows, columns])[:-1],  # the last equation follows from the others
        b_eq=np.array([*(amount * scale for amount in gives), *takes])[:-1],
        method="highs",
    )
    if solved.x is None:
        raise RuntimeError(f"transport of {sum(takes):g} in {n} by {m} was not solved: {solved.message}")
    return np.asarray(np.maximum(solved.x, 0.0).reshape(n, m) + 0.0)
