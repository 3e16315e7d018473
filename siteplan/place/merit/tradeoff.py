"""Which spots are Pareto-optimal for sun, work and water?

A spot is dominated if another is at least as good in all three and better in one. The quantities are rounded to steps
that a gardener would notice. The best spots of the cells are thinned to a few, whose exact sun is computed. Weights
are not used: readers of the table decide for themselves.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Annotated

import numpy as np
from numpy.typing import NDArray
from shapely import Polygon

from siteplan.land.document import Degrees, Hidden, Metres, Named
from siteplan.place.merit.merit import WorkMaps
from siteplan.place.search.candidates import Indices
from siteplan.place.search.refinement import ScoredSpot, Search, best_on_cells, pool, spread

Floats = NDArray[np.float64]

#: differences that a gardener would notice [h], [min of wheeling], [m of hose]
NOTICED = (0.1, 2.0, 1.0)
#: most choices in the table
MOST = 8
#: most cells that are considered, the sunniest first
CELLS = 8000


@dataclass(frozen=True, eq=False, kw_only=True)
class Choice:
    """One Pareto-optimal spot.

    Attributes
    ----------
    rank : int
        Rank of the place on this spot; 0 if it was not chosen as a place.
    outline : Polygon
        Of the bed. [m]
    x, y, heading : float
        [m], [degrees]
    sun_h : float
        Hours that count, see `merit.sun_that_counts`. [h a day]
    season_sun_h, worst_cell_sun_h : float
        [h a day]
    minutes : float
        Time of wheeling, all trips; NaN if unknown. [min]
    water_m : float
        Distance to the tap; NaN if there is none. [m]
    first : bool
        Whether it is the first choice, with which the others are compared.
    """

    rank: Hidden[int]
    outline: Hidden[Polygon]
    x: Metres
    y: Metres
    heading: Degrees
    sun_h: Hidden[float]
    season_sun_h: float
    worst_cell_sun_h: float
    minutes: Annotated[float, Named("haul_minutes")]
    water_m: float
    first: Hidden[bool]


def non_dominated(costs: Floats) -> NDArray[np.bool_]:
    """Return which rows are not dominated: no other row is at most as high in every column and lower in one.

    Parameters
    ----------
    costs : ndarray, shape (n, k)
        Less is better. Of equal rows the first is kept.

    Examples
    --------
    >>> non_dominated(np.array([[1.0, 5], [2, 4], [2, 6], [3, 3], [1, 5]])).tolist()
    [True, True, False, True, False]
    >>> non_dominated(np.empty((0, 3))).tolist()
    []
    """
    kept = np.zeros(len(costs), dtype=bool)
    order = np.lexsort((np.arange(len(costs)), *costs.T[::-1]))
    front = np.empty((0, costs.shape[1]))
    for index in order:  # only a row that sorts before it can dominate a row
        row = costs[index]
        if not (front <= row).all(axis=1).any():
            kept[index] = True
            front = np.vstack([front, row])
    return kept


def trade_off(search: Search, work: WorkMaps, chosen: Sequence[ScoredSpot]) -> tuple[Choice, ...]:
    """Return the choices between sun, work and water, the sunniest first.

    Parameters
    ----------
    search : Search
        Spots already computed are reused; a few more are computed.
    work : WorkMaps
    chosen : sequence of ScoredSpot
        The places, the first choice first, which is always among the choices.
    """
    first = chosen[0]
    candidates = _candidates(search)
    front = candidates[non_dominated(_costs(search, work, candidates, search.spots.sun[candidates]))]
    front = front[np.argsort(-search.spots.sun[front], kind="stable")]
    sparse = front[np.unique(np.linspace(0, len(front) - 1, min(len(front), 2 * MOST)).astype(int))]
    sparse = sparse[[search.keeps_way(index) for index in sparse.tolist()]]
    known = search.compute(spread(search.spots, sparse, len(sparse), apart=0.5))
    known = [first, *(one for one in known if one.index != first.index)]
    indices = np.array([one.index for one in known])
    kept = non_dominated(_costs(search, work, indices, np.array([one.sun for one in known])))
    others = [one for one, keep in zip(known, kept, strict=True) if keep and one.index != first.index]
    others = sorted((one for one in others if _noticeably_better(search, work, one, first)), key=_sunniest_first)
    if len(others) >= MOST:
        others = [others[k] for k in np.linspace(0, len(others) - 1, MOST - 1).round().astype(int)]
    ranks = {one.index: rank for rank, one in enumerate(chosen, start=1)}
    return tuple(_choice(search, work, one, ranks) for one in sorted([first, *others], key=_sunniest_first))


def _sunniest_first(one: ScoredSpot) -> tuple[float, int]:
    return -one.sun, one.index


def _candidates(search: Search) -> Indices:
    """Return, of the spots that fit, the sunniest of each of the sunniest cells, and the best by merit."""
    spots = search.spots
    sunniest = best_on_cells(spots.cell, spots.sun)[:CELLS]
    sunniest = sunniest[search.fit(sunniest)]
    return np.unique(np.concatenate([sunniest, pool(search, lambda which: np.ones(len(which), dtype=bool))]))


def _costs(search: Search, work: WorkMaps, which: Indices, sun: Floats) -> Floats:
    """Return sun (negative), work and water in steps of NOTICED, less being better, shape (n, 3)."""
    spots = search.spots
    columns = (-sun, np.nan_to_num(spots.minutes[which] * work.trips), np.nan_to_num(spots.water[which]))
    return np.column_stack([np.round(values / step) for values, step in zip(columns, NOTICED, strict=True)])


def _noticeably_better(search: Search, work: WorkMaps, one: ScoredSpot, first: ScoredSpot) -> bool:
    """Return whether a spot is noticeably better than the first choice in sun, work or water."""
    spots, here, there = search.spots, first.index, one.index
    minutes = np.nan_to_num(spots.minutes[here] - spots.minutes[there]) * work.trips
    hose = np.nan_to_num(spots.water[here] - spots.water[there])
    better = (one.sun - first.sun, minutes, hose)
    return any(more >= step / 2 for more, step in zip(better, NOTICED, strict=True))


def _choice(search: Search, work: WorkMaps, one: ScoredSpot, ranks: Mapping[int, int]) -> Choice:
    spots, index = search.spots, one.index
    rank = ranks.get(index, 0)
    return Choice(
        rank=rank,
        outline=spots.outlines(np.array([index]))[0],
        x=float(spots.x[index]),
        y=float(spots.y[index]),
        heading=float(spots.heading[index]) % 180,
        sun_h=one.sun,
        season_sun_h=one.season,
        worst_cell_sun_h=one.worst,
        minutes=float(spots.minutes[index]) * work.trips,
        water_m=float(spots.water[index]),
        first=rank == 1,
    )
