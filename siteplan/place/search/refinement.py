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
        numbers = [int(index) for index in indices]
        not_computed = list(dict.fromkeys(index for index in numbers if index not in self.computed))
        self.computed.update(zip(not_computed, on_all_cores(self.score, not_computed), strict=True))
        return [self.computed[index] for index in numbers]

    def keeps_way(self, index: int) -> bool:
        """Return whether a bed on a spot keeps the barrow's way open."""
        return self.blocks_way is None or not self.blocks_way(index)

    def fit(self, indices: Indices) -> NDArray[np.bool_]:
        """Return which spots fit exactly; each is tested once."""
        if self._fit is None:
            self._fit = np.full(len(self.spots), -1, dtype=np.int8)
        untested = indices[self._fit[indices] < 0]
        if len(untested):
            self._fit[untested] = self.clear(untested)
        return np.asarray(self._fit[indices] == 1)

    def ordered(self, *, all_of_them: bool) -> Indices:
        """Return the spots by merit on the map, best first; all, or some 60,000.

        Of equal ones the first heading comes first, then the northernmost spot.
        """
        merit = self.spots.merit
        if all_of_them or len(merit) <= SORTED:
            return np.argsort(-merit, kind="stable")
        if self._best is None:
            threshold = np.partition(merit, len(merit) - SORTED)[len(merit) - SORTED]
            # without ties at the edge, so that the order is the same as if all were sorted
            best = np.flatnonzero(merit > threshold)
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

    entries = best_of_each(cell, value, int(cell.max(initial=-1)) + 1)
    entries = entries[entries >= 0]
    return np.asarray(entries[np.lexsort((entries, -value[entries]))], dtype=np.intp)


def pool(search: Search, usable: Callable[[Indices], NDArray[np.bool_]]) -> Indices:
    """Return the spots that a search considers, best first: the best that fit, and the best on each cell."""
    fitting = _first_that_fit(search, search.ordered(all_of_them=False), usable)
    if len(fitting) < POOL:
        fitting = _first_that_fit(search, search.ordered(all_of_them=True), usable)
    groups = [fitting, _first_that_fit(search, search.best_of_cells(), usable)]
    numbers = np.unique(np.concatenate(groups))
    return numbers[np.lexsort((numbers, -search.spots.merit[numbers]))]


def _first_that_fit(search: Search, ordered: Indices, usable: Callable[[Indices], NDArray[np.bool_]]) -> Indices:
    """Return the first POOL of the ordered spots that are usable and fit exactly."""
    fitting: list[Indices] = []
    count = 0
    for start in range(0, len(ordered), 2 * POOL):
        batch = ordered[start : start + 2 * POOL]
        batch = batch[usable(batch)]
        batch = batch[search.fit(batch)]
        fitting.append(batch)
        count += len(batch)
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
    limit = len(search.computed) + budget
    gap = 0.0
    for _ in range(MOST_BLOCKED):
        candidates = candidates[~np.isin(candidates, list(search.passed_over))]
        if not len(candidates):
            return None, 0.0
        spot, gap = _climb(search, candidates, limit)
        if search.keeps_way(spot.index):
            return spot, gap
        neighbours = candidates[_beside(search.spots, candidates, spot.index, turn=180.0)]
        search.passed_over.update(index for index in neighbours.tolist() if not search.keeps_way(index))
    return None, gap


def _climb(search: Search, candidates: Indices, limit: int) -> tuple[ScoredSpot, float]:
    """Return the best candidate, and by how much an estimate is above it; computes at most about `limit` spots."""
    sunniest = candidates[np.argmax(search.spots.sun[candidates])]
    search.compute([*spread(search.spots, candidates, FIRST), sunniest])
    polished: set[int] = set()
    while True:
        estimate = estimated(search, candidates)
        is_computed = np.array([index in search.computed for index in candidates.tolist()])
        best = _best_known(search, candidates[is_computed])
        promising = np.flatnonzero(~is_computed & (estimate > best.merit + WORTH))
        if len(search.computed) >= limit:
            break
        if len(promising):
            distance, turn = 0.4, 12.0
        elif best.index not in polished:
            polished.add(best.index)
            promising = np.flatnonzero(~is_computed & _beside(search.spots, candidates, best.index))
            distance, turn = 0.2, 4.0
        else:
            break
        promising = promising[np.argsort(-estimate[promising], kind="stable")][: 20 * ROUND]
        search.compute(spread(search.spots, candidates[promising], ROUND, distance=distance, turn=turn))
    if is_computed.all():
        return best, 0.0
    return best, float(max(0.0, estimate[~is_computed].max() - best.merit))


def _best_known(search: Search, computed: Indices) -> ScoredSpot:
    """Return the best of the computed spots; of equal ones the first."""
    return max((search.computed[index] for index in computed.tolist()), key=lambda spot: (spot.merit, -spot.index))


def _beside(spots: Spots, indices: Indices, index: int, *, turn: float = BESIDE_TURN) -> NDArray[np.bool_]:
    """Return which spots lie next to a spot, in position and in heading."""
    near = np.hypot(spots.x[indices] - spots.x[index], spots.y[indices] - spots.y[index]) <= BESIDE
    turned = np.abs(spots.heading[indices] - spots.heading[index])
    return np.asarray(near & (np.minimum(turned, spots.form.period - turned) <= turn))


def estimated(search: Search, indices: Indices) -> Floats:
    """Return the estimate of each spot: the merit by the map, corrected by the errors at the nearest computed spots.

    The errors are weighted by the inverse square of the distance in position and heading.
    """
    from scipy.spatial import KDTree  # imported here: scipy is slow to load

    computed = np.array(list(search.computed), dtype=np.intp)
    exact_merit = np.array([search.computed[index].merit for index in computed.tolist()])
    residual = exact_merit - search.spots.merit[computed]
    nearest = KDTree(_position_and_heading(search.spots, computed))
    neighbours = nearest.query(_position_and_heading(search.spots, indices), k=min(4, len(computed)))
    distance, neighbour = (np.asarray(array).reshape(len(indices), -1) for array in neighbours)
    weight = 1 / (distance + 0.05) ** 2
    correction = (weight * residual[neighbour]).sum(axis=1) / weight.sum(axis=1)
    return np.asarray(search.spots.merit[indices] + correction)


def _position_and_heading(spots: Spots, indices: Indices) -> Floats:
    """Return coordinates for distances between spots, shape (n, 4): east, north, and the heading on a unit circle.

    A turn of 30 degrees counts as a distance of one metre for a rectangle, half a metre for other forms.
    """
    angle = np.radians(360 / spots.form.period * spots.heading[indices])
    return np.column_stack([spots.x[indices], spots.y[indices], np.cos(angle), np.sin(angle)])


def spread(spots: Spots, ordered: Indices, limit: int, *, distance: float = 1.0, turn: float = 25.0) -> list[int]:
    """Return up to `limit` spots, best first, that differ from each other by at least `distance` or `turn`.

    Parameters
    ----------
    spots : Spots
    ordered : ndarray of int
        Best first.
    limit : int
    distance, turn : float
        [m], [degrees]
    """
    remaining = ordered
    chosen: list[int] = []
    while len(remaining) and len(chosen) < limit:
        index = int(remaining[0])
        chosen.append(index)
        far_enough = np.hypot(spots.x[remaining] - spots.x[index], spots.y[remaining] - spots.y[index]) >= distance
        turned = np.abs(spots.heading[remaining] - spots.heading[index])
        remaining = remaining[far_enough | (np.minimum(turned, spots.form.period - turned) >= turn)]
    return chosen
