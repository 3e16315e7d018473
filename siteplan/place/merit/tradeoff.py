"""Which spots are beaten by none on sun, work and water at once?

The best spot of each cell, in steps that a gardener would notice, thinned to a few whose exact sun is computed.
It leaves out the weights: whoever reads the table weighs for themselves.
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
from siteplan.place.search.refinement import Scored, Search, best_on_cells, pool, spread

Floats = NDArray[np.float64]

#: what a gardener would notice [h], [min of wheeling], [m of hose]
NOTICED = (0.1, 2.0, 1.0)
#: how many choices make a table
MOST = 8
#: how many cells are looked at, the sunniest first
CELLS = 8000


@dataclass(frozen=True, eq=False, kw_only=True)
class Choice:
    """One spot that no other beats on all counts.

    Attributes
    ----------
    rank : int
        Of the place that stands there; 0 where none was chosen there.
    outline : Polygon
    x, y, heading : float
        [m], [degrees]
    sun_h : float
        Hours that count: of the mean and of the worst cell, each up to plenty. [h a day]
    season_sun_h, worst_cell_sun_h : float
        [h a day]
    minutes : float
        Of wheeling in all; NaN where not known. [min]
    water_m : float
        To the tap; NaN where there is none. [m]
    first : bool
        Whether it is the first choice, which the others are compared with.
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


def not_beaten(costs: Floats) -> NDArray[np.bool_]:
    """Return which rows no other row beats: none is as low in every column and lower in one.

    Parameters
    ----------
    costs : ndarray, shape (n, k)
        Less is better. Of equal rows the first is kept.

    Examples
    --------
    >>> not_beaten(np.array([[1.0, 5], [2, 4], [2, 6], [3, 3], [1, 5]])).tolist()
    [True, True, False, True, False]
    >>> not_beaten(np.empty((0, 3))).tolist()
    []
    """
    kept = np.zeros(len(costs), dtype=bool)
    order = np.lexsort((np.arange(len(costs)), *costs.T[::-1]))
    front = np.empty((0, costs.shape[1]))
    for index in order:  # a row can be beaten only by one that sorts before it
        row = costs[index]
        if not (front <= row).all(axis=1).any():
            kept[index] = True
            front = np.vstack([front, row])
    return kept


def trade_off(search: Search, work: WorkMaps, chosen: Sequence[Scored]) -> tuple[Choice, ...]:
    """Return the choices between sun, work and water, the sunniest first.

    Parameters
    ----------
    search : Search
        What has been computed is used again; a few more spots are computed.
    work : WorkMaps
    chosen : sequence of Scored
        The places, the first choice first; that is always among the choices.
    """
    first = chosen[0]
    candidates = _winners(search)
    front = candidates[not_beaten(_costs(search, work, candidates, search.spots.sun[candidates]))]
    front = front[np.argsort(-search.spots.sun[front], kind="stable")]
    sparse = front[np.unique(np.linspace(0, len(front) - 1, min(len(front), 2 * MOST)).astype(int))]
    sparse = sparse[[search.keeps_way(index) for index in sparse.tolist()]]
    known = search.compute(spread(search.spots, sparse, len(sparse), apart=0.5))
    known = [first, *(one for one in known if one.index != first.index)]
    indices = np.array([one.index for one in known])
    kept = not_beaten(_costs(search, work, indices, np.array([one.sun for one in known])))
    others = [one for one, keep in zip(known, kept, strict=True) if keep and one.index != first.index]
    others = sorted((one for one in others if _brings(search, work, one, first)), key=_sunniest_first)
    if len(others) >= MOST:
        others = [others[k] for k in np.linspace(0, len(others) - 1, MOST - 1).round().astype(int)]
    ranks = {one.index: rank for rank, one in enumerate(chosen, start=1)}
    return tuple(_choice(search, work, one, ranks) for one in sorted([first, *others], key=_sunniest_first))


def _sunniest_first(one: Scored) -> tuple[float, int]:
    return -one.sun, one.index


def _winners(search: Search) -> Indices:
    """Return, of the spots that fit, the sunniest of each cell worth a look, and the best ones."""
    spots = search.spots
    sunniest = best_on_cells(spots.cell, spots.sun)[:CELLS]
    sunniest = sunniest[search.fit(sunniest)]
    return np.unique(np.concatenate([sunniest, pool(search, lambda which: np.ones(len(which), dtype=bool))]))


def _costs(search: Search, work: WorkMaps, which: Indices, sun: Floats) -> Floats:
    """Return what counts, in steps that are noticed, less being better, shape (n, 3)."""
    spots = search.spots
    columns = (-sun, np.nan_to_num(spots.minutes[which] * work.trips), np.nan_to_num(spots.water[which]))
    return np.column_stack([np.round(one / step) for one, step in zip(columns, NOTICED, strict=True)])


def _brings(search: Search, work: WorkMaps, one: Scored, first: Scored) -> bool:
    """Return whether a choice is better than the first in anything that a person would notice."""
    spots, here, there = search.spots, first.index, one.index
    minutes = np.nan_to_num(spots.minutes[here] - spots.minutes[there]) * work.trips
    hose = np.nan_to_num(spots.water[here] - spots.water[there])
    better = (one.sun - first.sun, minutes, hose)
    return any(more >= step / 2 for more, step in zip(better, NOTICED, strict=True))


def _choice(search: Search, work: WorkMaps, one: Scored, ranks: Mapping[int, int]) -> Choice:
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
