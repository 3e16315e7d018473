"""Which spots are selected for several beds, so that they do not overlap?

First one by one, each time the best spot; it is replaced by one square to the nearest wall, fence or hedge if that
costs next to nothing. Then the best set of as many spots by an integer programme. Shade of the new beds on each other
is computed later, in `mutual_shade`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from siteplan.place.headings.alignment import NEAR, SQUARE, Edges, square_to
from siteplan.place.limits.limits import TOUCH
from siteplan.place.search.candidates import Indices, Spots
from siteplan.place.search.refinement import ScoredSpot, Search, best_spot, estimated, spread

Floats = NDArray[np.float64]
#: tests whether beds on these spots, all at once, would block the barrow's way
BlocksWay = Callable[[tuple[int, ...]], bool]

#: number of the best spots that the integer programme chooses from
MOST = 150
#: most spots computed for the first bed, and for each further one
BUDGET, BUDGET_MORE = 150, 60
#: merit a bed; a set chosen together must be better by more than this to replace the spots chosen one by one
TOGETHER = 0.01
#: h a day; a smaller gain does not justify a bed that is not square to its surroundings
TIE = 0.05
#: m and number; how far a bed's middle may move to lie square, and how many spots are computed for that
MOVE, SQUARED = 0.6, 6


@dataclass(frozen=True, eq=False, kw_only=True)
class Selection:
    """The spots selected.

    Attributes
    ----------
    spots : tuple of ScoredSpot
        Best first; fewer than requested if no more fit.
    gap : float
        Upper bound of how much better another set of the computed spots could be, in merit a bed.
    search_gap : float
        By how much the best spot not computed is expected to be better than the best computed, at most, in merit.
    """

    spots: tuple[ScoredSpot, ...]
    gap: float
    search_gap: float


def select(
    search: Search, count: int, *, aisle: float, edges: Edges, blocks_way: BlocksWay | None, by_map: bool
) -> Selection:
    """Return the spots for a number of beds.

    Parameters
    ----------
    search : Search
        Keeps the spots computed so far.
    count : int
        Number of beds.
    aisle : float
        Between two beds. [m]
    edges : Edges
        That a bed may lie square to.
    blocks_way : callable or None
        None if nothing is known of the barrow's way.
    by_map : bool
        Whether spots are scored by the maps alone: that is fast, and all may be scored.
    """
    chosen: list[ScoredSpot] = []
    search_gap = 0.0
    way_test_of_one_bed = search.blocks_way
    for number in range(count):
        indices = tuple(spot.index for spot in chosen)
        if blocks_way is not None:
            search.blocks_way = _with_one_more(blocks_way, indices)
        usable = _clear_of_chosen(search.spots, list(indices), aisle)
        budget = BUDGET_MORE if number else BUDGET
        if by_map:
            budget = len(search.spots)
        best, estimate_above = best_spot(search, usable, budget=budget)
        if best is None:
            break
        search_gap = search_gap if number else estimate_above
        chosen.append(square_spot(search, best, edges, usable))
    search.blocks_way = way_test_of_one_bed
    gap = 0.0
    if chosen and count > 1:
        better_set, gap = _best_set_or_chosen(search, chosen, count, aisle)
        if blocks_way is None or not blocks_way(tuple(sorted(spot.index for spot in better_set))):
            chosen = better_set
        else:  # each leaves the way open, but not all of them at once
            gap = max(0.0, _total_merit(better_set) - _total_merit(chosen)) / len(chosen)
    best_first = tuple(sorted(chosen, key=lambda spot: (-spot.merit, spot.index)))
    return Selection(spots=best_first, gap=gap, search_gap=search_gap)


def _with_one_more(blocks_way: BlocksWay, indices: tuple[int, ...]) -> Callable[[int], bool]:
    """Return the test whether one more bed, with those on the spots taken, would block the barrow's way."""
    return lambda index: blocks_way(tuple(sorted((*indices, index))))


def _clear_of_chosen(spots: Spots, chosen: list[int], aisle: float) -> Callable[[Indices], NDArray[np.bool_]]:
    """Return the test of which spots leave an aisle to the spots taken."""
    outlines = spots.outlines(np.array(chosen, dtype=np.intp))
    with_aisles = shapely.union_all([outline.buffer(aisle) for outline in outlines])

    def usable(indices: Indices) -> NDArray[np.bool_]:
        clear = np.ones(len(indices), dtype=bool)
        for index in chosen:  # a quick test first: beds nearer than this overlap at any heading
            distance = np.hypot(spots.x[indices] - spots.x[index], spots.y[indices] - spots.y[index])
            clear &= distance >= spots.form.core + aisle - 0.01
        if chosen:
            clear[clear] = spots.clear_of(with_aisles, indices[clear])
        return clear

    return usable


def _best_set_or_chosen(
    search: Search, chosen: list[ScoredSpot], count: int, aisle: float
) -> tuple[list[ScoredSpot], float]:
    """Return the chosen spots or a better set, and how much better than it another set could be, in merit a bed."""
    ranked = sorted(search.computed.values(), key=lambda spot: (-spot.merit, spot.index))
    fit = search.fit(np.array([spot.index for spot in ranked]))
    ranked = [spot for spot, fits in zip(ranked, fit, strict=True) if fits and search.keeps_way(spot.index)]
    left_out = ranked[MOST:]
    ranked = ranked[:MOST] + [spot for spot in chosen if spot in left_out]
    total = _total_merit(chosen)
    if len(chosen) == count and ranked[0].merit * count - total <= 1e-9:
        return chosen, 0.0
    pairs = conflicts(search.spots.outlines(np.array([spot.index for spot in ranked])), aisle=aisle)
    best = [ranked[k] for k in best_set(np.array([spot.merit for spot in ranked]), pairs, count)]
    gain = (_total_merit(best) - total) / len(best)
    selected = best if len(best) > len(chosen) or gain > TOGETHER else chosen
    # bound for sets with a spot that was left out: the best of those, and the best others without regard to conflicts
    bound = _total_merit([*ranked[: len(selected) - 1], left_out[0]]) if left_out else -np.inf
    shortfall = max(_total_merit(best), bound) - _total_merit(selected)
    return selected, max(shortfall / len(selected), 0.0)


def _total_merit(spots: Sequence[ScoredSpot]) -> float:
    return sum(spot.merit for spot in spots)


def conflicts(outlines: NDArray[np.object_], *, aisle: float) -> NDArray[np.intp]:
    """Return the pairs of outlines that overlap or lie nearer than the aisle, shape (m, 2).

    Examples
    --------
    >>> boxes = shapely.box([0, 1.5, 4.0], [0, 0, 0], [1, 2.5, 5.0], [1, 1, 1])
    >>> conflicts(boxes, aisle=0.6).tolist()
    [[0, 1]]
    """
    tree = shapely.STRtree(outlines)
    first, second = tree.query(outlines, predicate="dwithin", distance=max(aisle - TOUCH, 0.0))
    pairs = np.column_stack([first, second])[first < second]
    if aisle <= TOUCH:
        overlap = shapely.area(shapely.intersection(outlines[pairs[:, 0]], outlines[pairs[:, 1]])) > TOUCH**2
        pairs = pairs[overlap]
    return np.asarray(pairs[np.lexsort((pairs[:, 1], pairs[:, 0]))])


def best_set(merit: Floats, pairs: NDArray[np.intp], count: int) -> list[int]:
    """Return the `count` spots with the greatest sum of merit, no two of them in conflict.

    Parameters
    ----------
    merit : ndarray, shape (n,)
    pairs : ndarray of int, shape (m, 2)
        Pairs of spots that exclude each other.
    count : int

    Returns
    -------
    list of int
        Best first; fewer if no `count` spots are free of conflicts.

    Examples
    --------
    The best alone would keep out both others:

    >>> best_set(np.array([1.0, 0.9, 0.8]), np.array([[0, 1], [0, 2]]), 2)
    [1, 2]
    >>> best_set(np.array([1.0, 0.9]), np.array([[0, 1]]), 2)
    [0]
    """
    from scipy import optimize, sparse  # imported here: scipy is slow to load

    spot_count = len(merit)
    if spot_count == 0 or count < 1:
        return []
    rows = np.repeat(np.arange(len(pairs)), 2)
    exclude = sparse.csr_array((np.ones(2 * len(pairs)), (rows, pairs.ravel())), shape=(len(pairs), spot_count))
    for number in range(min(count, spot_count), 0, -1):
        bounds = [optimize.LinearConstraint(np.ones((1, spot_count)), number, number)]
        if len(pairs):
            bounds.append(optimize.LinearConstraint(exclude, -np.inf, 1))
        solution = optimize.milp(
            -merit, constraints=bounds, integrality=np.ones(spot_count, dtype=np.int64), bounds=optimize.Bounds(0, 1)
        )
        if solution.success:
            chosen = np.flatnonzero(np.round(solution.x) == 1).tolist()
            return sorted(chosen, key=lambda index: (-merit[index], index))
    return []


def square_spot(
    search: Search, best: ScoredSpot, edges: Edges, usable: Callable[[Indices], NDArray[np.bool_]]
) -> ScoredSpot:
    """Return a spot next to `best` that is square to the nearest edge and loses less than `TIE`; else `best`."""
    spots = search.spots
    x, y = float(spots.x[best.index]), float(spots.y[best.index])
    nearest = edges.nearest(x, y, within=NEAR)
    if nearest is None or square_to(edges, x, y, float(spots.heading[best.index])) is not None:
        return best
    near = np.flatnonzero(np.hypot(spots.x - x, spots.y - y) <= MOVE)
    offset = np.abs(spots.heading[near] - edges.heading[nearest]) % 90
    near = near[np.minimum(offset, 90 - offset) <= SQUARE]
    near = near[usable(near)]
    near = near[search.fit(near)]
    if not len(near):
        return best
    near = near[np.argsort(-estimated(search, near), kind="stable")]
    search.compute(spread(spots, near, SQUARED, distance=0.3))
    computed = [
        search.computed[index] for index in near.tolist() if index in search.computed and search.keeps_way(index)
    ]
    winner = max(computed, key=lambda spot: (spot.merit, -spot.index), default=best)
    return winner if winner.merit >= best.merit - TIE / spots.plenty else best
