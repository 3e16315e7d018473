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
    is_kept = np.zeros(len(costs), dtype=bool)
    order = np.lexsort((np.arange(len(costs)), *costs.T[::-1]))
    front = np.empty((0, costs.shape[1]))
    for index in order:  # only a row that sorts before it can dominate a row
        row = costs[index]
        if not (front <= row).all(axis=1).any():
            is_kept[index] = True
            front = np.vstack([front, row])
    return is_kept


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
    first_choice = chosen[0]
    candidates = _candidates(search)
    front = candidates[non_dominated(_costs(search, work, candidates, search.spots.sun[candidates]))]
    front = front[np.argsort(-search.spots.sun[front], kind="stable")]
    sparse = front[np.unique(np.linspace(0, len(front) - 1, min(len(front), 2 * MOST)).astype(int))]
    sparse = sparse[[search.keeps_way(index) for index in sparse.tolist()]]
    computed = search.compute(spread(search.spots, sparse, len(sparse), distance=0.5))
    alternatives = _alternatives(search, work, first_choice, computed)
    if len(alternatives) >= MOST:
        alternatives = [alternatives[k] for k in np.linspace(0, len(alternatives) - 1, MOST - 1).round().astype(int)]
    ranks = {spot.index: rank for rank, spot in enumerate(chosen, start=1)}
    choices = sorted([first_choice, *alternatives], key=_sunniest_first)
    return tuple(_choice(search, work, spot, ranks) for spot in choices)


def _alternatives(
    search: Search, work: WorkMaps, first_choice: ScoredSpot, computed: Sequence[ScoredSpot]
) -> list[ScoredSpot]:
    """Return the computed spots that are undominated and noticeably better than the first choice, sunniest first."""
    spots = [first_choice, *(spot for spot in computed if spot.index != first_choice.index)]
    indices, sun = np.array([spot.index for spot in spots]), np.array([spot.sun for spot in spots])
    optimal = non_dominated(_costs(search, work, indices, sun))
    others = [spot for spot, is_optimal in zip(spots[1:], optimal[1:], strict=True) if is_optimal]
    better = [spot for spot in others if _noticeably_better(search, work, spot, first_choice)]
    return sorted(better, key=_sunniest_first)


def _sunniest_first(spot: ScoredSpot) -> tuple[float, int]:
    return -spot.sun, spot.index


def _candidates(search: Search) -> Indices:
    """Return, of the spots that fit, the sunniest of each of the sunniest cells, and the best by merit."""
    spots = search.spots
    sunniest = best_on_cells(spots.cell, spots.sun)[:CELLS]
    sunniest = sunniest[search.fit(sunniest)]
    return np.unique(np.concatenate([sunniest, pool(search, lambda indices: np.ones(len(indices), dtype=bool))]))


def _costs(search: Search, work: WorkMaps, indices: Indices, sun: Floats) -> Floats:
    """Return sun (negative), work and water in steps of NOTICED, less being better, shape (n, 3)."""
    spots = search.spots
    columns = (-sun, np.nan_to_num(spots.minutes[indices] * work.trips), np.nan_to_num(spots.water[indices]))
    return np.column_stack([np.round(values / step) for values, step in zip(columns, NOTICED, strict=True)])


def _noticeably_better(search: Search, work: WorkMaps, spot: ScoredSpot, first_choice: ScoredSpot) -> bool:
    """Return whether a spot is noticeably better than the first choice in sun, work or water."""
    spots, first_index, index = search.spots, first_choice.index, spot.index
    minutes = np.nan_to_num(spots.minutes[first_index] - spots.minutes[index]) * work.trips
    hose = np.nan_to_num(spots.water[first_index] - spots.water[index])
    gains = (spot.sun - first_choice.sun, minutes, hose)
    return any(gain >= step / 2 for gain, step in zip(gains, NOTICED, strict=True))


def _choice(search: Search, work: WorkMaps, spot: ScoredSpot, ranks: Mapping[int, int]) -> Choice:
    spots, index = search.spots, spot.index
    rank = ranks.get(index, 0)
    return Choice(
        rank=rank,
        outline=spots.outlines(np.array([index]))[0],
        x=float(spots.x[index]),
        y=float(spots.y[index]),
        heading=float(spots.heading[index]) % 180,
        sun_h=spot.sun,
        season_sun_h=spot.season,
        worst_cell_sun_h=spot.worst,
        minutes=float(spots.minutes[index]) * work.trips,
        water_m=float(spots.water[index]),
        first=rank == 1,
    )
