"""Which of the free spots has the greatest merit with the exact sun, without computing it for all of them?

The merit by the maps is corrected by the errors at computed spots nearby: that is a spot's estimate. The spots with
the highest estimates are computed next, until no estimate is above the best computed merit. Several beds are chosen
in `selection`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from siteplan.land.cores import on_all_cores
from siteplan.place.search.candidates import Floats, Indices, Spots
from siteplan.sun.bed_sun import BedSun

#: merit; a spot is computed only if its estimate is above the best by more than this
WORTH = 0.0015
#: number of spots computed first, spread over the property, and then in each round
FIRST, ROUND = 24, 10
#: number of the best spots by the map that the search considers
POOL = 1500
#: number of the best spots that are sorted at first; sorting all is slow
SORTED = 60000
#: m and degrees; spots as near as this to the best are computed as well before the search ends
BESIDE, BESIDE_TURN = 0.75, 20.0
#: the search gives up after this many best spots that would block the barrow's way
MOST_BLOCKED = 40


@dataclass(frozen=True, eq=False)
class ScoredSpot:
    """A spot with its sun: exact, or by the map if `bed_sun` is None.

    Attributes
    ----------
    index : int
        Number of the spot in `Spots`.
    merit : float
    sun : float
        Hours that count. [h a day]
    season, worst : float
        Mean and worst cell. [h a day]
    bed_sun : BedSun or None
    """

    index: int
    merit: float
    sun: float
    season: float
    worst: float
    bed_sun: BedSun | None


@dataclass(eq=False)
class Search:
    """The state of one search.

    Attributes
    ----------
    spots : Spots
    score : callable
        Computes the score of one spot.
    clear : callable
        Tells which spots fit exactly.
    blocks_way : callable or None
        Tells whether a bed on a spot would block the barrow's way; None if that is unknown.
    computed : dict of int to ScoredSpot
        The spots computed so far.
    passed_over : set of int
        Spots passed over because they would block the way.
    """

    spots: Spots
    score: Callable[[int], ScoredSpot]
    clear: Callable[[Indices], NDArray[np.bool_]]
    blocks_way: Callable[[int], bool] | None = None
    computed: dict[int, ScoredSpot] = field(default_factory=dict)
    passed_over: set[int] = field(default_factory=set)
    _best: Indices | None = None
    _best_of_cells: Indices | None = None
    _fit: NDArray[np.int8] | None = None

    def compute(self, indices: Iterable[int]) -> list[ScoredSpot]:
        """Return the scores of spots, each computed once."""
        wanted = [int(index) for index in indices]
        new = list(dict.fromkeys(index for index in wanted if index not in self.computed))
        self.computed.update(zip(new, on_all_cores(self.score, new), strict=True))
        return [self.computed[index] for index in wanted]

    def keeps_way(self, index: int) -> bool:
        """Return whether a bed on a spot keeps the barrow's way open."""
        return self.blocks_way is None or not self.blocks_way(index)

    def fit(self, which: Indices) -> NDArray[np.bool_]:
        """Return which spots fit exactly; each is tested once."""
        if self._fit is None:
            self._fit = np.full(len(self.spots), -1, dtype=np.int8)
        unknown = which[self._fit[which] < 0]
        if len(unknown):
            self._fit[unknown] = self.clear(unknown)
        return np.asarray(self._fit[which] == 1)

    def ordered(self, *, all_of_them: bool) -> Indices:
        """Return the spots sorted by merit on the map, best first, ties from the north; all, or some 60,000."""
        merit = self.spots.merit
        if all_of_them or len(merit) <= SORTED:
            return np.argsort(-merit, kind="stable")
        if self._best is None:
            edge = np.partition(merit, len(merit) - SORTED)[len(merit) - SORTED]
            # without ties at the edge, so that the order is the same as if all were sorted
            best = np.flatnonzero(merit > edge)
            self._best = best[np.argsort(-merit[best], kind="stable")]
        return self._best

    def best_of_cells(self) -> Indices:
        """Return the best spot of each cell by merit on the map, best first."""
        if self._best_of_cells is None:
            self._best_of_cells = best_on_cells(self.spots.cell, self.spots.merit)
        return self._best_of_cells


def best_on_cells(cell: NDArray[np.int64], value: Floats) -> Indices:
    """Return the entry with the greatest value on each cell, the greatest first.

    Examples
    --------
    >>> best_on_cells(np.array([7, 7, 2, 2]), np.array([0.1, 0.2, 0.9, 0.9])).tolist()
    [2, 1]
    """
    from siteplan.place.search.footprint_sums import best_of_each  # imported here: numba takes long to load

    best = best_of_each(cell, value, int(cell.max(initial=-1)) + 1)
    best = best[best >= 0]
    return np.asarray(best[np.lexsort((best, -value[best]))], dtype=np.intp)


def pool(search: Search, usable: Callable[[Indices], NDArray[np.bool_]]) -> Indices:
    """Return the spots that a search considers, best first: the best that fit, and the best on each cell."""
    best = _first_that_fit(search, search.ordered(all_of_them=False), usable)
    if len(best) < POOL:
        best = _first_that_fit(search, search.ordered(all_of_them=True), usable)
    chosen = [best, _first_that_fit(search, search.best_of_cells(), usable)]
    together = np.unique(np.concatenate(chosen))
    return together[np.lexsort((together, -search.spots.merit[together]))]


def _first_that_fit(search: Search, ordered: Indices, usable: Callable[[Indices], NDArray[np.bool_]]) -> Indices:
    """Return the first POOL of the ordered spots that are usable and fit exactly."""
    fitting: list[Indices] = []
    count = 0
    for start in range(0, len(ordered), 2 * POOL):
        part = ordered[start : start + 2 * POOL]
        part = part[usable(part)]
        part = part[search.fit(part)]
        fitting.append(part)
        count += len(part)
        if count >= POOL:
            break
    return np.concatenate(fitting)[:POOL] if fitting else ordered[:0]


def best_spot(
    search: Search, usable: Callable[[Indices], NDArray[np.bool_]], *, budget: int
) -> tuple[ScoredSpot | None, float]:
    """Return the best spot by the exact sun, and by how much the highest estimate of any other spot is above it.

    Parameters
    ----------
    search : Search
        Keeps the spots computed so far.
    usable : callable
        Tells which spots may be taken.
    budget : int
        Most spots to compute.

    Returns
    -------
    ScoredSpot or None
        None if no spot fits, or all the best would block the barrow's way.
    float
        In merit, at least 0.
    """
    candidates = pool(search, usable)
    most = len(search.computed) + budget
    gap = 0.0
    for _ in range(MOST_BLOCKED):
        candidates = candidates[~np.isin(candidates, list(search.passed_over))]
        if not len(candidates):
            return None, 0.0
        best, gap = _climb(search, candidates, most)
        if search.keeps_way(best.index):
            return best, gap
        beside = candidates[_beside(search.spots, candidates, best.index, turn=180.0)]
        search.passed_over.update(index for index in beside.tolist() if not search.keeps_way(index))
    return None, gap


def _climb(search: Search, candidates: Indices, most: int) -> tuple[ScoredSpot, float]:
    """Return the best candidate, and by how much an estimate is above it; computes at most about `most` spots."""
    sunniest = candidates[np.argmax(search.spots.sun[candidates])]
    search.compute([*spread(search.spots, candidates, FIRST), sunniest])
    polished: set[int] = set()
    while True:
        estimate = estimated(search, candidates)
        known = np.array([index in search.computed for index in candidates.tolist()])
        best = _best_known(search, candidates[known])
        ahead = np.flatnonzero(~known & (estimate > best.merit + WORTH))
        if len(search.computed) >= most:
            break
        if len(ahead):
            apart, turn = 0.4, 12.0
        elif best.index not in polished:
            polished.add(best.index)
            ahead = np.flatnonzero(~known & _beside(search.spots, candidates, best.index))
            apart, turn = 0.2, 4.0
        else:
            break
        ahead = ahead[np.argsort(-estimate[ahead], kind="stable")][: 20 * ROUND]
        search.compute(spread(search.spots, candidates[ahead], ROUND, apart=apart, turn=turn))
    return best, float(max(0.0, estimate[~known].max() - best.merit)) if (~known).any() else 0.0


def _best_known(search: Search, computed: Indices) -> ScoredSpot:
    """Return the best of the computed spots; of equal ones the first."""
    return max((search.computed[index] for index in computed.tolist()), key=lambda one: (one.merit, -one.index))


def _beside(spots: Spots, which: Indices, index: int, *, turn: float = BESIDE_TURN) -> NDArray[np.bool_]:
    """Return which spots lie next to a spot, in position and in heading."""
    near = np.hypot(spots.x[which] - spots.x[index], spots.y[which] - spots.y[index]) <= BESIDE
    turned = np.abs(spots.heading[which] - spots.heading[index])
    return np.asarray(near & (np.minimum(turned, spots.form.period - turned) <= turn))


def estimated(search: Search, which: Indices) -> Floats:
    """Return the estimate of each spot: the merit by the map, corrected by the errors at the nearest computed spots.

    The errors are weighted by the inverse square of the distance in position and heading.
    """
    from scipy.spatial import KDTree  # imported here: scipy is slow to load

    computed = np.array(list(search.computed), dtype=np.intp)
    exact = np.array([search.computed[index].merit for index in computed.tolist()])
    residual = exact - search.spots.merit[computed]
    nearest = KDTree(_position_and_heading(search.spots, computed))
    answer = nearest.query(_position_and_heading(search.spots, which), k=min(4, len(computed)))
    distance, neighbour = (np.asarray(part).reshape(len(which), -1) for part in answer)
    share = 1 / (distance + 0.05) ** 2
    correction = (share * residual[neighbour]).sum(axis=1) / share.sum(axis=1)
    return np.asarray(search.spots.merit[which] + correction)


def _position_and_heading(spots: Spots, which: Indices) -> Floats:
    """Return coordinates for distances between spots, shape (n, 4): east, north, and the heading on a unit circle.

    A turn of 30 degrees counts as a distance of one metre for a rectangle, half a metre for other forms.
    """
    round_once = np.radians(360 / spots.form.period * spots.heading[which])
    return np.column_stack([spots.x[which], spots.y[which], np.cos(round_once), np.sin(round_once)])


def spread(spots: Spots, ordered: Indices, most: int, *, apart: float = 1.0, turn: float = 25.0) -> list[int]:
    """Return up to `most` spots, best first, that differ from each other by at least `apart` or `turn`.

    Parameters
    ----------
    spots : Spots
    ordered : ndarray of int
        Best first.
    most : int
    apart, turn : float
        [m], [degrees]
    """
    left = ordered
    chosen: list[int] = []
    while len(left) and len(chosen) < most:
        index = int(left[0])
        chosen.append(index)
        away = np.hypot(spots.x[left] - spots.x[index], spots.y[left] - spots.y[index]) >= apart
        turned = np.abs(spots.heading[left] - spots.heading[index])
        left = left[away | (np.minimum(turned, spots.form.period - turned) >= turn)]
    return chosen
