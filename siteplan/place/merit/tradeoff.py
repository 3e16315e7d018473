"""Which spots are beaten by none on sun, work and water at once?

The best spot of each cell, in steps that a gardener would notice, thinned to a few and asked of the exact sun.
It leaves out the weights: whoever reads the table weighs for themselves.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from shapely import Polygon

from siteplan.land.site import Site
from siteplan.place.merit.merit import Ways
from siteplan.place.reasons.words import distance_text
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
    outline : Polygon
    x, y, heading : float
        [m], [degrees]
    sun_h : float
        Hours that count, between the mean and the worst cell. [h a day]
    season_sun_h, worst_cell_sun_h : float
        [h a day]
    minutes : float
        Of wheeling in all; NaN where not known. [min]
    water_m : float
        To the tap; NaN where there is none. [m]
    text : str
        Against the first choice.
    """

    outline: Polygon
    x: float
    y: float
    heading: float
    sun_h: float
    season_sun_h: float
    worst_cell_sun_h: float
    minutes: float
    water_m: float
    text: str


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


def trade_off(search: Search, ways: Ways, first: Scored, site: Site) -> tuple[Choice, ...]:
    """Return the choices between sun, work and water, the sunniest first.

    Parameters
    ----------
    search : Search
        What has been asked is used again; a few more spots are asked.
    ways : Ways
    first : Scored
        The first choice, which the others are told against; always among them.
    site : Site
    """
    candidates = _winners(search)
    front = candidates[not_beaten(_costs(search, ways, candidates, search.spots.sun[candidates]))]
    front = front[np.argsort(-search.spots.sun[front], kind="stable")]
    sparse = front[np.unique(np.linspace(0, len(front) - 1, min(len(front), 2 * MOST)).astype(int))]
    sparse = sparse[[search.keeps_way(index) for index in sparse.tolist()]]
    asked = [search.ask(index) for index in spread(search.spots, sparse, len(sparse), apart=0.5)]
    asked = [first, *(one for one in asked if one.index != first.index)]
    indices = np.array([one.index for one in asked])
    kept = not_beaten(_costs(search, ways, indices, np.array([one.sun for one in asked])))
    chosen = [one for one, keep in zip(asked, kept, strict=True) if keep and one.index != first.index]
    chosen = [one for one in chosen if _brings(search, ways, one, first)]
    chosen.sort(key=lambda one: (-one.sun, one.index))
    if len(chosen) >= MOST:
        chosen = [chosen[k] for k in np.linspace(0, len(chosen) - 1, MOST - 1).round().astype(int)]
    chosen = sorted([first, *chosen], key=lambda one: (-one.sun, one.index))
    return tuple(_choice(search, ways, one, first, site) for one in chosen)


def _winners(search: Search) -> Indices:
    """Return, of the spots that fit, the sunniest of each cell worth a look, and the best ones."""
    spots = search.spots
    sunniest = best_on_cells(spots.cell, spots.sun)[:CELLS]
    sunniest = sunniest[search.fit(sunniest)]
    return np.unique(np.concatenate([sunniest, pool(search, lambda which: np.ones(len(which), dtype=bool))]))


def _costs(search: Search, ways: Ways, which: Indices, sun: Floats) -> Floats:
    """Return what counts, in steps that are noticed, less being better, shape (n, 3)."""
    spots = search.spots
    columns = (-sun, np.nan_to_num(spots.minutes[which] * ways.trips), np.nan_to_num(spots.water[which]))
    return np.column_stack([np.round(one / step) for one, step in zip(columns, NOTICED, strict=True)])


def _brings(search: Search, ways: Ways, one: Scored, first: Scored) -> bool:
    """Return whether a choice is better than the first in anything that a person would notice."""
    spots, here, there = search.spots, first.index, one.index
    minutes = np.nan_to_num(spots.minutes[here] - spots.minutes[there]) * ways.trips
    hose = np.nan_to_num(spots.water[here] - spots.water[there])
    better = (one.sun - first.sun, minutes, hose)
    return any(more >= step / 2 for more, step in zip(better, NOTICED, strict=True))


def _choice(search: Search, ways: Ways, one: Scored, first: Scored, site: Site) -> Choice:
    spots, index = search.spots, one.index
    return Choice(
        outline=spots.outlines(np.array([index]))[0],
        x=float(spots.x[index]),
        y=float(spots.y[index]),
        heading=float(spots.heading[index]) % 180,
        sun_h=one.sun,
        season_sun_h=one.season,
        worst_cell_sun_h=one.worst,
        minutes=float(spots.minutes[index]) * ways.trips,
        water_m=float(spots.water[index]),
        text="the first choice" if index == first.index else _against(search, ways, one, first, site),
    )


def _against(search: Search, ways: Ways, one: Scored, first: Scored, site: Site) -> str:
    """Return a choice against the first one: 0.4 h less sun, 11 min less wheeling."""
    spots = search.spots
    said = []
    if abs(more := one.sun - first.sun) >= NOTICED[0] / 2:
        said.append(f"{abs(more):.1f} h {'more' if more > 0 else 'less'} sun")
    minutes = float(spots.minutes[one.index] - spots.minutes[first.index]) * ways.trips
    if abs(minutes) >= 1:
        said.append(f"{abs(minutes):.0f} min {'more' if minutes > 0 else 'less'} wheeling")
    hose = float(spots.water[one.index] - spots.water[first.index])
    if abs(hose) >= NOTICED[2] / 2:
        said.append(f"{distance_text(abs(hose), site.units)} {'more' if hose > 0 else 'less'} hose")
    return ", ".join(said) or "much the same"
