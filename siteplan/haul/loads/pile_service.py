"""Which pile serves which bed, when several hold the same material?

The transport problem, solved exactly: every bed gets its volume, no pile gives more than it was to give, and the time
on the way is least. It leaves out what is taken in all: that was settled when the fill was planned.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
from scipy.optimize import linprog

from siteplan.fill.fill_results import Supply
from siteplan.haul.delivery.packaging import delivered_parts, tipped_volumes
from siteplan.haul.delivery.tipping import tipping_for
from siteplan.haul.ground.standing_places import at_pile
from siteplan.haul.routes.bed_routes import Ways
from siteplan.land.grid import Floats
from siteplan.land.site import Barrow, Site

if TYPE_CHECKING:
    from siteplan.fill.fill_results import PurchaseLine

NO_WAY = 1e5  # s for a round trip, longer than any: what has no way is served last
_CRUMB = 1e-9  # m3, no more than rounding


def served_nearest(
    site: Site,
    supplies: Sequence[Supply],
    *,
    purchase: Sequence[PurchaseLine] = (),
    ways: Ways | None = None,
) -> tuple[Supply, ...]:
    """Return supplies that fill the same layers from the same piles with the least time on the way.

    Parameters
    ----------
    site : Site
    supplies : sequence of Supply
        Each pile's volume of a material, and each layer's, stay what they are in all.
    purchase : sequence of PurchaseLine
        What is bought, as for the plan.
    ways : Ways, optional
        Over the site, where they are known already.

    Notes
    -----
    Time counts by volume, as if a last barrow might be half full; whole trips are counted afterwards, in the plan.
    """
    if not any(_is_choice(supplies, name) for name in {item.material for item in supplies}):
        return tuple(supplies)
    ways = ways or Ways(site)
    parts = delivered_parts(supplies, purchase)
    spot = tipping_for(ways, parts, None, volumes=tipped_volumes(parts, purchase))
    cells = {pile.id: at_pile(ways.ground, pile) for pile in site.piles}
    if spot is not None:
        cells[""] = spot.cells
    names = list(dict.fromkeys(item.at for item in supplies))
    trips = {name: source.round_trip for name, source in ways.sources({name: cells[name] for name in names}).items()}
    found: list[Supply] = []
    for material in dict.fromkeys(item.material for item in supplies):
        these = [item for item in supplies if item.material == material]
        found += _served(ways, these, trips)
    place = {(item.bed, item.order): k for k, item in reversed(list(enumerate(supplies)))}
    return tuple(sorted(found, key=lambda item: (place[item.bed, item.order], names.index(item.at))))


def _is_choice(supplies: Sequence[Supply], material: str) -> bool:
    """Return whether several places and several layers share a material."""
    these = [item for item in supplies if item.material == material]
    return len({item.at for item in these}) > 1 and len({(item.bed, item.order) for item in these}) > 1


def _served(ways: Ways, supplies: Sequence[Supply], trips: dict[str, Floats]) -> list[Supply]:
    """Return the supplies of one material, served best."""
    piles = list(dict.fromkeys(item.at for item in supplies))
    layers = list(dict.fromkeys((item.bed, item.order) for item in supplies))
    if len(piles) == 1 or len(layers) == 1:
        return list(supplies)
    density = sum(item.mass for item in supplies) / max(sum(item.volume for item in supplies), _CRUMB)
    gives = [sum(item.volume for item in supplies if item.at == pile) for pile in piles]
    takes = [sum(item.volume for item in supplies if (item.bed, item.order) == layer) for layer in layers]
    each = _most_in_a_load(density, ways.site.barrow)
    time = np.array([[_round_trip(ways, trips[pile], bed) / each for bed, _ in layers] for pile in piles])
    share = transported(time, gives, takes)
    return [
        Supply(
            bed=bed,
            material=supplies[0].material,
            at=piles[i],
            volume=float(share[i, j]),
            mass=float(share[i, j]) * density,
            order=order,
        )
        for j, (bed, order) in enumerate(layers)
        for i in range(len(piles))
        if share[i, j] > _CRUMB
    ]


def _most_in_a_load(density: float, barrow: Barrow) -> float:
    return min(barrow.volume, barrow.load / density) if density > 0 else barrow.volume


def _round_trip(ways: Ways, seconds: Floats, bed: str) -> float:
    cells = ways.beside(ways.site.bed(bed))
    best = float(seconds[cells[:, 0], cells[:, 1]].min(initial=math.inf))
    return best if math.isfinite(best) else NO_WAY


def transported(cost: Floats, gives: Sequence[float], takes: Sequence[float]) -> Floats:
    """Return the cheapest transport from places that give to places that take as much in all.

    Parameters
    ----------
    cost : ndarray, shape (n, m)
        Of one unit.
    gives : sequence of float, length n
    takes : sequence of float, length m

    Returns
    -------
    ndarray, shape (n, m)

    Examples
    --------
    >>> transported(np.array([[1.0, 2.0], [1.0, 5.0]]), [1.0, 1.0], [1.0, 1.0])
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
        A_eq=np.vstack([rows, columns])[:-1],  # the last follows from the others
        b_eq=np.array([*(value * scale for value in gives), *takes])[:-1],
        method="highs",
    )
    if solved.x is None:
        raise RuntimeError(f"transport of {sum(takes):g} in {n} by {m} was not solved: {solved.message}")
    return np.asarray(np.maximum(solved.x, 0.0).reshape(n, m) + 0.0)
