"""Which of the free spots has the greatest merit with the exact sun, without computing it for all?

The maps' estimate is corrected by what was computed at spots nearby. The spots with the highest estimate are computed
next, until no estimate is above the best computed. It leaves out choosing several beds together.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from siteplan.land.cores import on_all_cores
from siteplan.place.search.candidates import Floats, Indices, Spots
from siteplan.sun.bed_sun import BedSun

#: merit; a spot is computed only where its estimate is above the best by more than this
WORTH = 0.0015
#: how many spots are computed first, spread over the property, and then in each round
FIRST, ROUND = 24, 10
#: how many of the best by estimate are kept in view
POOL = 1500
#: how many are put in order at first
SORTED = 60000
#: m and degrees; the spots next to the best are computed as well before it is taken
BESIDE, BESIDE_TURN = 0.75, 20.0
#: how often the best may turn out to shut the barrow's way before the search gives up
CLEARED = 40


@dataclass(frozen=True, eq=False)
class Scored:
    """A spot with its sun: exact, or by the map where `bed_sun` is None.

    Attributes
    ----------
    index : int
        Among the spots.
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
    """The state of one search: which spots have been computed, which are known to fit, and which shut the way."""

    spots: Spots
    score: Callable[[int], Scored]
    clear: Callable[[Indices], NDArray[np.bool_]]
    shuts: Callable[[int], bool] | None = None
    computed: dict[int, Scored] = field(default_factory=dict)
    passed_over: set[int] = field(default_factory=set)
    _best: Indices | None = None
    _winners: Indices | None = None
    _fit: NDArray[np.int8] | None = None

    def compute(self, indices: Iterable[int]) -> list[Scored]:
        """Return the exact scores of some spots, each computed once."""
        wanted = [int(index) for index in indices]
        new = list(dict.fromkeys(index for index in wanted if index not in self.computed))
        self.computed.update(zip(new, on_all_cores(self.score, new), strict=True))
        return [self.computed[index] for index in wanted]

    def keeps_way(self, index: int) -> bool:
        """Return whether a bed on that spot leaves the barrow its way."""
        return self.shuts is None or not self.shuts(index)

    def fit(self, which: Indices) -> NDArray[np.bool_]:
        """Return which spots fit exactly; each outline is laid once."""
        if self._fit is None:
            self._fit = np.full(len(self.spots), -1, dtype=np.int8)
        unknown = which[self._fit[which] < 0]
        if len(unknown):
            self._fit[unknown] = self.clear(unknown)
        return np.asarray(self._fit[which] == 1)

    def ordered(self, *, all_of_them: bool) -> Indices:
        """Return the spots by merit on the map, best first, equal ones from the north; or the best alone."""
        merit = self.spots.merit
        if all_of_them or len(merit) <= SORTED:
            return np.argsort(-merit, kind="stable")
        if self._best is None:
            edge = np.partition(merit, len(merit) - SORTED)[len(merit) - SORTED]
            best = np.flatnonzero(merit > edge)  # whole ties alone, so that the order is that of all
            self._best = best[np.argsort(-merit[best], kind="stable")]
        return self._best

    def winners(self) -> Indices:
        """Return the best spot of each cell by merit on the map, best first."""
        if self._winners is None:
            self._winners = best_on_cells(self.spots.cell, self.spots.merit)
        return self._winners


def best_on_cells(cell: NDArray[np.int64], value: Floats) -> Indices:
    """Return the entry with the greatest value on each cell, the greatest first.

    Examples
    --------
    >>> best_on_cells(np.array([7, 7, 2, 2]), np.array([0.1, 0.2, 0.9, 0.9])).tolist()
    [2, 1]
    """
    from siteplan.place.search.footprint_sums import best_of_each  # the compiler is loaded when it is needed

    best = best_of_each(cell, value, int(cell.max(initial=-1)) + 1)
    best = best[best >= 0]
    return np.asarray(best[np.lexsort((best, -value[best]))], dtype=np.intp)


def pool(search: Search, usable: Callable[[Indices], NDArray[np.bool_]]) -> Indices:
    """Return the best spots by the map that fit, and the best heading of each of the best cells, best first."""
    best = _first_that_fit(search, search.ordered(all_of_them=False), usable)
    if len(best) < POOL:
        best = _first_that_fit(search, search.ordered(all_of_them=True), usable)
    chosen = [best, _first_that_fit(search, search.winners(), usable)]
    together = np.unique(np.concatenate(chosen))
    return together[np.lexsort((together, -search.spots.merit[together]))]


def _first_that_fit(search: Search, ordered: Indices, usable: Callable[[Indices], NDArray[np.bool_]]) -> Indices:
    found: list[Indices] = []
    have = 0
    for start in range(0, len(ordered), 2 * POOL):
        part = ordered[start : start + 2 * POOL]
        part = part[usable(part)]
        part = part[search.fit(part)]
        found.append(part)
        have += len(part)
        if have >= POOL:
            break
    return np.concatenate(found)[:POOL] if found else ordered[:0]


def best_spot(
    search: Search, usable: Callable[[Indices], NDArray[np.bool_]], *, budget: int
) -> tuple[Scored | None, float]:
    """Return the best spot by the exact sun, and by how much the highest estimate of a spot not computed is above it.

    Parameters
    ----------
    search : Search
        It remembers what was computed.
    usable : callable
        Which of some spots may be taken.
    budget : int
        Most spots to compute.
    """
    candidates = pool(search, usable)
    most = len(search.computed) + budget
    gap = 0.0
    for _ in range(CLEARED):
        candidates = candidates[~np.isin(candidates, list(search.passed_over))]
        if not len(candidates):
            return None, 0.0
        best, gap = _climb(search, candidates, most)
        if search.keeps_way(best.index):
            return best, gap
        beside = candidates[_beside(search.spots, candidates, best.index, turn=180.0)]
        search.passed_over.update(index for index in beside.tolist() if not search.keeps_way(index))
    return None, gap


def _climb(search: Search, candidates: Indices, most: int) -> tuple[Scored, float]:
    """Return the best of the candidates, and by how much an estimate is above it, once `most` have been computed."""
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


def _best_known(search: Search, computed: Indices) -> Scored:
    """Return the best of the spots computed; of equal ones the first."""
    return max((search.computed[index] for index in computed.tolist()), key=lambda one: (one.merit, -one.index))


def _beside(spots: Spots, which: Indices, index: int, *, turn: float = BESIDE_TURN) -> NDArray[np.bool_]:
    """Return which spots lie next to one, in place and in heading."""
    near = np.hypot(spots.x[which] - spots.x[index], spots.y[which] - spots.y[index]) <= BESIDE
    turned = np.abs(spots.heading[which] - spots.heading[index])
    return np.asarray(near & (np.minimum(turned, spots.form.period - turned) <= turn))


def estimated(search: Search, which: Indices) -> Floats:
    """Return the estimate of each spot: the maps' merit, corrected by the error at the nearest spots computed.

    The error is weighted by the inverse square of the distance in place and heading.
    """
    from scipy.spatial import KDTree  # loaded by those who search

    computed = np.array(list(search.computed), dtype=np.intp)
    exact = np.array([search.computed[index].merit for index in computed.tolist()])
    residual = exact - search.spots.merit[computed]
    nearest = KDTree(_where(search.spots, computed))
    answer = nearest.query(_where(search.spots, which), k=min(4, len(computed)))
    distance, neighbour = (np.asarray(part).reshape(len(which), -1) for part in answer)
    share = 1 / (distance + 0.05) ** 2
    correction = (share * residual[neighbour]).sum(axis=1) / share.sum(axis=1)
    return np.asarray(search.spots.merit[which] + correction)


def _where(spots: Spots, which: Indices) -> Floats:
    """Return positions in which a turn of 30 degrees is as far as a metre or half of one, shape (n, 4)."""
    round_once = np.radians(360 / spots.form.period * spots.heading[which])
    return np.column_stack([spots.x[which], spots.y[which], np.cos(round_once), np.sin(round_once)])


def spread(spots: Spots, ordered: Indices, most: int, *, apart: float = 1.0, turn: float = 25.0) -> list[int]:
    """Return up to `most` spots, best first, none both nearer than `apart` and turned less than `turn` from another.

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
