"""How are pieces cut from boards of stock lengths at the least cost?

This is the one-dimensional cutting stock problem. It is solved as an integer programme over patterns, by HiGHS. A
pattern says how many pieces of each length are cut from one board. All maximal patterns are listed (no further piece
fits); if there are too many, column generation finds the useful ones, and a lower bound says how far from the optimum
the answer can be. Knots and splits are not considered.

References
----------
Gilmore and Gomory, A linear programming approach to the cutting-stock problem, Operations Research 9 (1961), memory.
Farley, A note on bounding a class of linear programming problems, Operations Research 38 (1990): the bound where
column generation is stopped early, memory.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from scipy.optimize import OptimizeResult

# m; tolerance: a board of 8 ft serves uncut as a piece of 8 ft, since boards are never shorter than nominal
FITS = 2e-3
_MOST_PATTERNS = 20_000
_FEW = 2_000  # patterns; with more, the fewest boards are not searched for
_MANY_LENGTHS = 50  # with more, patterns are not listed but generated
_MOST_ROUNDS = 400  # of column generation; two hundred lengths take some three hundred
_MOST_NODES = 2_000  # that the solver looks at; the best solution by then is used, with its bound
_PATIENCE = 20.0  # s, time limit of the solver, for slow machines
_SAWN = 1e-4  # m; sizes are rounded up to this, well within FITS
_SHARE = 1e-7  # relative tolerance within which two costs count as equal
_PROOF = 1e-6  # tolerance: a cost this close to its lower bound counts as the optimum
_OPTIMAL = 0


#: index of a stock length, and how many pieces of each length are cut from one board of it
Pattern = tuple[int, tuple[int, ...]]


@dataclass(frozen=True)
class Plank:
    """A stock length; any number of boards of it can be bought.

    Attributes
    ----------
    length : float
        [m]
    cost : float
        Cost of one board. [money, or metres if there is no price]
    """

    length: float
    cost: float


@dataclass(frozen=True)
class Cut:
    """A number of boards that are cut in the same way.

    Attributes
    ----------
    plank : int
        Index of the stock length in the list.
    pieces : tuple of (float, int)
        Length of each piece and how many of it are cut from one board, longest first. [m]
    count : int
        Number of boards cut in this way.
    """

    plank: int
    pieces: tuple[tuple[float, int], ...]
    count: int


@dataclass(frozen=True)
class Cutting:
    """The boards that give all pieces.

    Attributes
    ----------
    cuts : tuple of Cut
        The longest boards first.
    cost : float
    least : float
        Proven lower bound: no way of cutting costs less. Equal to `cost` if that is the optimum.
    """

    cuts: tuple[Cut, ...]
    cost: float
    least: float

    @property
    def proven(self) -> bool:
        """Whether it is proven that no other way costs less."""
        return self.cost - self.least <= _PROOF * max(1.0, abs(self.cost))


def cutting(
    pieces: Mapping[float, int], planks: Sequence[Plank], *, kerf: float, most_patterns: int = _MOST_PATTERNS
) -> Cutting | None:
    """Return how to cut pieces from stock lengths at the least cost.

    Parameters
    ----------
    pieces : mapping of float to int
        Length of a piece, and how many are needed. [m]
    planks : sequence of Plank
    kerf : float
        Width of a saw cut. [m]
    most_patterns : int
        Patterns that are listed at most; if there are more, column generation is used.

    Returns
    -------
    Cutting or None
        None if a piece is longer than every board.

    Notes
    -----
    A board gives n pieces if their lengths and n - 1 cuts fit into it: the last piece may be the end of the board.
    The unknowns are whole numbers of boards of each pattern. The total cost is minimised, subject to at least the
    needed number of each piece. Of equally cheap solutions, the one with the fewest boards is taken. With more than
    fifty lengths, or too many patterns, the patterns come from column generation; any of the equally cheap is taken,
    and `least` may be below `cost`, by a few per cent at most in what was tried.

    Examples
    --------
    Two pieces of 1.2 m and their cut are longer than a board of 2.4 m, but three of 0.79 m fit:

    >>> planks = [Plank(2.4, 2.4), Plank(3.0, 3.0)]
    >>> cutting({1.2: 2}, planks, kerf=0.003).cuts
    (Cut(plank=1, pieces=((1.2, 2),), count=1),)
    >>> cutting({0.79: 3}, planks, kerf=0.003).cost
    2.4
    """
    lengths = sorted((length for length, count in pieces.items() if count > 0), reverse=True)
    if not lengths:
        return Cutting((), 0.0, 0.0)
    if not planks or lengths[0] > max(plank.length for plank in planks) + FITS:
        return None
    wanted = np.array([pieces[length] for length in lengths], dtype=np.int64)
    sizes = [math.ceil((length + kerf) / _SAWN - 1e-6) for length in lengths]  # each piece takes a cut, but the last
    rooms = [math.floor((plank.length + kerf + FITS) / _SAWN + 1e-6) for plank in planks]
    found: list[Pattern] = []
    whole = len(lengths) <= _MANY_LENGTHS
    if whole:
        every = ((at, one) for at, room in enumerate(rooms) for one in _patterns(sizes, wanted, room))
        found = list(itertools.islice(every, most_patterns + 1))
        whole = len(found) <= most_patterns
    bound = -math.inf
    if not whole:
        found, bound = _generated(sizes, wanted, rooms, [plank.cost for plank in planks])
    counts, least = _whole_numbers(found, wanted, planks, bound)
    cuts = _without_surplus(found, counts, lengths, wanted)
    cost = math.fsum(planks[cut.plank].cost * cut.count for cut in cuts)
    least = _up_to_a_cost(least if whole else bound, planks)
    return Cutting(tuple(sorted(cuts, key=lambda cut: -planks[cut.plank].length)), cost, min(least, cost))


def _up_to_a_cost(bound: float, planks: Sequence[Plank]) -> float:
    """Return the least sum of boards' costs that is not below a bound, by the step in which such sums go."""
    step = _cost_step(planks)
    return math.ceil(bound / step - _PROOF) * step if step and math.isfinite(bound) else bound


def _cost_step(planks: Sequence[Plank]) -> float:
    """Return the greatest number of which all costs are multiples, as far as they have four decimals; else 0."""
    parts = [round(plank.cost * 1e4) for plank in planks]
    even = all(abs(plank.cost * 1e4 - part) < 1e-6 for plank, part in zip(planks, parts, strict=True))
    return math.gcd(*parts) / 1e4 if even else 0.0


def _patterns(sizes: Sequence[int], wanted: NDArray[np.int64], room: int) -> Iterator[tuple[int, ...]]:
    """Yield the maximal patterns of one stock length: no piece that is still needed could be added."""
    last = len(sizes) - 1

    def grown(at: int, left: int, so_far: tuple[int, ...]) -> Iterator[tuple[int, ...]]:
        most = min(int(wanted[at]), left // sizes[at])
        for count in range(most, -1, -1):
            rest, pattern = left - count * sizes[at], (*so_far, count)
            if at < last:
                yield from grown(at + 1, rest, pattern)
            elif not any(rest >= size and pattern[one] < wanted[one] for one, size in enumerate(sizes)):
                yield pattern

    return (pattern for pattern in grown(0, room, ()) if any(pattern))


def _whole_numbers(
    found: Sequence[Pattern], wanted: NDArray[np.int64], planks: Sequence[Plank], bound: float
) -> tuple[NDArray[np.int64], float]:
    """Return the number of boards of each pattern at the least cost, and a lower bound of that cost.

    With a bound (from column generation) the search ends once no sum of boards' costs lies between it and the answer.
    """
    from scipy.optimize import Bounds, LinearConstraint, milp  # takes half a second, so only when needed

    gives = np.array([pattern for _, pattern in found], dtype=float).T
    costs = np.array([planks[plank].cost for plank, _ in found])
    scale = float(np.max(costs)) or 1.0
    most = Bounds(0, float(wanted.sum()))
    limits = [LinearConstraint(gives, wanted, np.inf)]
    whole = np.ones(len(costs), dtype=np.int64)
    step = _cost_step(planks) if bound > 0 else 0.0
    gap = 0.9 * step / (1.05 * bound + 2 * step) if step else 0.0
    best = milp(costs / scale, constraints=limits, integrality=whole, bounds=most,
                options={"mip_rel_gap": gap, "node_limit": _MOST_NODES, "time_limit": _PATIENCE})  # fmt: skip
    counts, least = _counts(best), float(best.mip_dual_bound or 0.0) * scale
    cost = float(costs @ counts)
    if best.status == _OPTIMAL and cost - least <= _PROOF * max(1.0, cost):
        least = cost
    if len(costs) <= _FEW and best.status == _OPTIMAL and not gap:  # with more patterns this takes too long
        limits.append(LinearConstraint(costs[None, :] / scale, -np.inf, cost / scale * (1 + _SHARE)))
        fewest = milp(np.ones(len(costs)), constraints=limits, integrality=whole, bounds=most,
                      options={"mip_rel_gap": 0.0, "node_limit": _MOST_NODES, "time_limit": _PATIENCE})  # fmt: skip
        counts = _counts(fewest) if fewest.status == _OPTIMAL else counts
    return counts, least


def _counts(answer: OptimizeResult) -> NDArray[np.int64]:
    """Return the whole numbers of a solution: the optimum, or the best that was found in time."""
    if answer.x is None:
        raise RuntimeError(f"the cutting programme was not solved: {answer.message}")
    counts: NDArray[np.int64] = np.round(answer.x).astype(np.int64)
    return counts


def _without_surplus(
    found: Sequence[Pattern],
    counts: NDArray[np.int64],
    lengths: Sequence[float],
    wanted: NDArray[np.int64],
) -> list[Cut]:
    """Return the cuts of a solution without surplus pieces: these are not cut, but stay in the offcut."""
    boards = [
        (plank, list(pattern)) for (plank, pattern), count in zip(found, counts, strict=True) for _ in range(count)
    ]
    surplus = np.sum([pattern for _, pattern in boards], axis=0) - wanted
    for _, pattern in reversed(boards):
        for kind in range(len(pattern)):
            spared = min(pattern[kind], int(surplus[kind]))
            pattern[kind] -= spared
            surplus[kind] -= spared
    alike: dict[tuple[int, tuple[int, ...]], int] = {}
    for plank, pattern in boards:
        if any(pattern):
            key = (plank, tuple(pattern))
            alike[key] = alike.get(key, 0) + 1
    return [
        Cut(plank, tuple((length, many) for length, many in zip(lengths, pattern, strict=True) if many), count)
        for (plank, pattern), count in alike.items()
    ]


def _generated(
    sizes: Sequence[int], wanted: NDArray[np.int64], rooms: Sequence[int], costs: Sequence[float]
) -> tuple[list[Pattern], float]:
    """Return patterns found by column generation, and a lower bound of the cost.

    The linear programme (without whole numbers) is solved over some patterns. Its dual values price the pieces. For
    each stock length a knapsack problem then finds the pattern of the greatest value. This is repeated until none is
    worth more than its board costs. Divided by the greatest value of a pattern over the cost of its board, the
    programme's optimum is a lower bound (Farley).
    """
    from scipy.optimize import linprog

    found = _filled(sizes, wanted, rooms, costs)
    for kind, size in enumerate(sizes):  # and patterns with pieces of one length only
        for plank, room in enumerate(rooms):
            if many := min(room // size, int(wanted[kind])):
                found.append((plank, tuple(many if one == kind else 0 for one in range(len(sizes)))))
    found, bound = list(dict.fromkeys(found)), 0.0
    for _ in range(_MOST_ROUNDS):
        gives = np.array([pattern for _, pattern in found], dtype=float).T
        price = np.array([costs[plank] for plank, _ in found])
        solved = linprog(price, A_ub=-gives, b_ub=-wanted.astype(float), method="highs")
        worth = np.maximum(-solved.ineqlin.marginals, 0.0)
        packed = _knapsacks(sizes, worth, wanted, rooms)
        values = [float(np.dot(pattern, worth)) for pattern in packed]
        over = max(value / cost if cost else math.inf for value, cost in zip(values, costs, strict=True))
        bound = max(bound, float(solved.fun or 0.0) / max(1.0, over) * (1 - _SHARE))
        fresh = {(at, one) for at, one in enumerate(packed) if values[at] > costs[at] * (1 + _SHARE)} - set(found)
        if not fresh:
            break
        found += sorted(fresh)
    return found, bound


def _filled(
    sizes: Sequence[int], wanted: NDArray[np.int64], rooms: Sequence[int], costs: Sequence[float]
) -> list[Pattern]:
    """Return patterns of a good solution, to begin with: by best-fit decreasing.

    Each piece, longest first, goes into the board with the least room left; a new board has the lowest price for its
    length. In the end each board is replaced by the cheapest that is long enough.
    """
    best = min(range(len(rooms)), key=lambda at: (costs[at] / rooms[at], -rooms[at]))
    boards: list[tuple[int, list[int]]] = []  # of each board: the length left, and the kinds of its pieces
    for kind in (one for one in range(len(sizes)) for _ in range(wanted[one])):
        fitting = [(left, at) for at, (left, _) in enumerate(boards) if left >= sizes[kind]]
        if fitting:
            left, at = min(fitting)
            boards[at] = (left - sizes[kind], [*boards[at][1], kind])
        else:
            room = rooms[best] if sizes[kind] <= rooms[best] else max(rooms)
            boards.append((room - sizes[kind], [kind]))
    found = []
    for _, kinds in boards:
        whole = sum(sizes[kind] for kind in kinds)
        plank = min((at for at, room in enumerate(rooms) if whole <= room), key=lambda at: costs[at])
        found.append((plank, tuple(np.bincount(kinds, minlength=len(sizes)).tolist())))
    return found


def _knapsacks(
    sizes: Sequence[int], worth: NDArray[np.float64], wanted: NDArray[np.int64], rooms: Sequence[int]
) -> list[tuple[int, ...]]:
    """Return for each stock length the pieces of the greatest total value that fit (bounded knapsack problem).

    Solved by dynamic programming over the room, for all stock lengths at once. Equal pieces are grouped in bundles of
    1, 2, 4 ... and a rest, so that any number of them is a sum of few bundles.
    """
    step = math.gcd(*sizes)
    most = max(rooms) // step
    best = np.zeros(most + 1)
    bundles: list[tuple[int, int, NDArray[np.bool_]]] = []
    for kind in (one for one in range(len(sizes)) if worth[one] > 0):
        size, left, bundle = sizes[kind] // step, min(int(wanted[kind]), max(rooms) // sizes[kind]), 1
        while left > 0:
            many = min(bundle, left)
            if (weight := many * size) <= most:
                with_it = best[: most + 1 - weight] + many * worth[kind]
                better = with_it > best[weight:]
                best[weight:][better] = with_it[better]
                bundles.append((kind, many, better))
            left, bundle = left - many, bundle * 2
    packed = []
    for room in rooms:
        at, pattern = room // step, [0] * len(sizes)
        for kind, many, better in reversed(bundles):
            weight = many * (sizes[kind] // step)
            if at >= weight and better[at - weight]:
                pattern[kind] += many
                at -= weight
        packed.append(tuple(pattern))
    return packed
