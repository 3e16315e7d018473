"""How are pieces cut from boards of stock lengths at the least cost?

This is the one-dimensional cutting stock problem. It is solved as an integer programme over patterns, by HiGHS. A
pattern says how many pieces of each length are cut from one board. All maximal patterns are listed (no further piece
fits); if there are too many, column generation finds the useful ones. It leaves out knots and splits.

References
----------
Gilmore and Gomory, A linear programming approach to the cutting-stock problem, Operations Research 9 (1961), memory.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from scipy.optimize import OptimizeResult

FITS = (
    2e-3  # m; tolerance: a board of 8 ft serves uncut as a piece of 8 ft, since boards are never shorter than nominal
)
_MOST_PATTERNS = 20_000
_FEW = 2_000  # patterns; with more, the fewest boards are not searched for
_MOST_LENGTHS = 50  # with more (dozens of beds, each of another size) a simple rule replaces the exact solution
_PATIENCE = 20.0  # s, time limit of the solver; the best solution by then is used, and reported as not proven
_SHARE = 1e-7  # relative tolerance within which two costs count as equal
_PROOF = 1e-6  # tolerance: a cost this close to its lower bound counts as the optimum
_OPTIMAL = 0


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
    fifty lengths, best-fit decreasing is used: each piece, longest first, goes into the board with the least room
    left. That is reported as not proven.

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
    if len(lengths) > _MOST_LENGTHS:
        return _one_by_one(lengths, pieces, planks, kerf)
    wanted = np.array([pieces[length] for length in lengths], dtype=np.int64)
    found: list[tuple[int, tuple[int, ...]]] = []
    for plank in range(len(planks)):
        for pattern in _patterns(lengths, wanted, planks[plank].length, kerf):
            found.append((plank, pattern))
            if len(found) > most_patterns:
                break
    whole = len(found) <= most_patterns
    bound = -math.inf
    if not whole:
        found, bound = _generated(lengths, wanted, planks, kerf)
    counts, cost, least = _whole_numbers(found, wanted, planks)
    cuts = _without_surplus(found, counts, lengths, wanted)
    return Cutting(tuple(sorted(cuts, key=lambda cut: -planks[cut.plank].length)), cost, least if whole else bound)


def _one_by_one(
    lengths: Sequence[float], pieces: Mapping[float, int], planks: Sequence[Plank], kerf: float
) -> Cutting:
    """Return a good solution for many lengths by best-fit decreasing, as `cutting` describes it.

    A new board has the stock length with the lowest price per metre. In the end each board is replaced by the
    cheapest that is long enough. The lower bound is the length of all pieces at the lowest price per metre.
    """
    best = min(planks, key=lambda plank: (plank.cost / plank.length, -plank.length))
    longest = max(planks, key=lambda plank: plank.length)
    boards: list[tuple[float, list[float]]] = []  # of each board: the length left, and the pieces cut from it
    for length in (one for one in lengths for _ in range(pieces[one])):
        room = [(left, at) for at, (left, _) in enumerate(boards) if left >= length]
        if room:
            left, at = min(room)
            boards[at] = (left - length - kerf, [*boards[at][1], length])
        else:
            stock = best if length <= best.length + FITS else longest
            boards.append((stock.length + FITS - length - kerf, [length]))
    alike: dict[tuple[int, tuple[tuple[float, int], ...]], int] = {}
    for _, sawn in boards:
        whole = math.fsum(sawn) + kerf * (len(sawn) - 1)
        fits = [at for at, plank in enumerate(planks) if whole <= plank.length + FITS + 1e-9]
        plank = min(fits, key=lambda at: planks[at].cost)
        key = (plank, tuple((length, sawn.count(length)) for length in dict.fromkeys(sawn)))
        alike[key] = alike.get(key, 0) + 1
    cuts = [Cut(plank, sawn, count) for (plank, sawn), count in alike.items()]
    cost = math.fsum(planks[cut.plank].cost * cut.count for cut in cuts)
    least = math.fsum(length * pieces[length] for length in lengths) * best.cost / (best.length + kerf + FITS)
    return Cutting(tuple(sorted(cuts, key=lambda cut: -planks[cut.plank].length)), cost, least)


def _patterns(
    lengths: Sequence[float], wanted: NDArray[np.int64], board: float, kerf: float
) -> Iterator[tuple[int, ...]]:
    """Yield the maximal patterns of one stock length: no piece that is still needed could be added."""
    room = board + kerf + FITS  # each piece takes its length and a cut, but the last one needs no cut
    sizes = [length + kerf for length in lengths]
    last = len(lengths) - 1

    def grown(at: int, left: float, so_far: tuple[int, ...]) -> Iterator[tuple[int, ...]]:
        most = min(int(wanted[at]), int(left / sizes[at]))
        for count in range(most, -1, -1):
            rest, pattern = left - count * sizes[at], (*so_far, count)
            if at < last:
                yield from grown(at + 1, rest, pattern)
            elif not any(rest >= size and pattern[one] < wanted[one] for one, size in enumerate(sizes)):
                yield pattern

    return (pattern for pattern in grown(0, room, ()) if any(pattern))


def _whole_numbers(
    found: Sequence[tuple[int, tuple[int, ...]]], wanted: NDArray[np.int64], planks: Sequence[Plank]
) -> tuple[NDArray[np.int64], float, float]:
    """Return the number of boards of each pattern at the least cost, that cost, and its lower bound."""
    from scipy.optimize import Bounds, LinearConstraint, milp  # takes half a second, so only when needed

    gives = np.array([pattern for _, pattern in found], dtype=float).T
    costs = np.array([planks[plank].cost for plank, _ in found])
    scale = float(np.max(costs)) or 1.0
    most = Bounds(0, float(wanted.sum()))
    limits = [LinearConstraint(gives, wanted, np.inf)]
    whole = np.ones(len(costs), dtype=np.int64)
    best = milp(costs / scale, constraints=limits, integrality=whole, bounds=most,
                options={"mip_rel_gap": 0.0, "time_limit": _PATIENCE})  # fmt: skip
    counts, least = _counts(best), float(best.mip_dual_bound or 0.0) * scale
    cost = float(costs @ counts)
    if best.status == _OPTIMAL and cost - least <= _PROOF * max(1.0, cost):
        least = cost
    if len(costs) <= _FEW:  # with more patterns this takes too long
        limits.append(LinearConstraint(costs[None, :] / scale, -np.inf, cost / scale * (1 + _SHARE)))
        fewest = milp(np.ones(len(costs)), constraints=limits, integrality=whole, bounds=most,
                      options={"mip_rel_gap": 0.0, "time_limit": _PATIENCE})  # fmt: skip
        counts = _counts(fewest) if fewest.status == _OPTIMAL else counts
    return counts, float(costs @ counts), least


def _counts(answer: OptimizeResult) -> NDArray[np.int64]:
    """Return the whole numbers of a solution: the optimum, or the best that was found in time."""
    if answer.x is None:
        raise RuntimeError(f"the cutting programme was not solved: {answer.message}")
    counts: NDArray[np.int64] = np.round(answer.x).astype(np.int64)
    return counts


def _without_surplus(
    found: Sequence[tuple[int, tuple[int, ...]]],
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
    lengths: Sequence[float], wanted: NDArray[np.int64], planks: Sequence[Plank], kerf: float
) -> tuple[list[tuple[int, tuple[int, ...]]], float]:
    """Return patterns found by column generation, and a lower bound of the cost.

    The linear programme (without whole numbers) is solved over some patterns. Its dual values price the pieces. For
    each stock length a knapsack problem then finds the pattern that lowers the cost most. This is repeated until no
    pattern does. The cost of the linear programme is then the lower bound.
    """
    from scipy.optimize import linprog

    sizes = [length + kerf for length in lengths]
    found: list[tuple[int, tuple[int, ...]]] = []
    for kind in range(len(lengths)):  # to begin with, patterns with pieces of one length only
        for plank in range(len(planks)):
            many = min(int((planks[plank].length + kerf + FITS) / sizes[kind]), int(wanted[kind]))
            if many:
                found.append((plank, tuple(many if one == kind else 0 for one in range(len(lengths)))))
    while True:
        gives = np.array([pattern for _, pattern in found], dtype=float).T
        costs = np.array([planks[plank].cost for plank, _ in found])
        solved = linprog(costs, A_ub=-gives, b_ub=-wanted.astype(float), method="highs")
        worth = -solved.ineqlin.marginals
        better = []
        for place, board in enumerate(planks):
            pattern = _knapsack(sizes, worth, wanted, board.length + kerf + FITS)
            if float(np.dot(pattern, worth)) > board.cost * (1 + _SHARE):
                better.append((place, tuple(int(one) for one in pattern)))
        if not set(better) - set(found):
            return found, float(solved.fun or 0.0) * (1 - 3 * _SHARE)  # less the tolerance of the knapsacks
        found += better


def _knapsack(
    sizes: Sequence[float], worth: NDArray[np.float64], wanted: NDArray[np.int64], room: float
) -> NDArray[np.int64]:
    """Return the pieces with the greatest total value that fit into a board (bounded knapsack problem).

    Solved by branch and bound: pieces are tried in the order of their value per length. The bound assumes that the
    rest of the board is filled at the value per length of the next piece.
    """
    value, size, most = worth.tolist(), list(sizes), [int(one) for one in wanted]
    order = sorted((one for one in range(len(size)) if value[one] > 0), key=lambda one: -value[one] / size[one])
    best, taken = 0.0, [0] * len(size)
    chosen = [0] * len(size)

    def fill(at: int, left: float, so_far: float) -> None:
        nonlocal best, taken
        if so_far > best * (1 + _SHARE):
            best, taken = so_far, chosen.copy()
        if at == len(order) or so_far + value[order[at]] / size[order[at]] * left <= best * (1 + _SHARE):
            return
        one = order[at]
        for count in range(min(most[one], int(left / size[one])), -1, -1):
            chosen[one] = count
            fill(at + 1, left - count * size[one], so_far + count * value[one])
        chosen[one] = 0

    fill(0, room, 0.0)
    return np.array(taken, dtype=np.int64)
