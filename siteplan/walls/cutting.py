"""How are pieces cut from boards of stock lengths at the least cost?

This is the one-dimensional cutting stock problem. It is solved as an integer programme over patterns, by HiGHS.
`patterns.py` finds the patterns: all of them, or the useful ones with a lower bound, which says how far from the
optimum the answer can be. Knots and splits are not considered.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from siteplan.walls.patterns import (
    COST_TOLERANCE,
    CuttingProblem,
    Pattern,
    generated_patterns,
    listed_patterns,
)

if TYPE_CHECKING:
    from scipy.optimize import LinearConstraint, OptimizeResult

# m; tolerance: a board of 8 ft serves uncut as a piece of 8 ft, since boards are never shorter than nominal
FITS = 2e-3
_MOST_PATTERNS = 20_000
_FEW = 2_000  # patterns; with more, the fewest boards are not searched for
_MANY_LENGTHS = 50  # with more, patterns are not listed but generated
_MOST_NODES = 2_000  # that the solver looks at; the best solution by then is used, with its bound
_PATIENCE = 20.0  # s, time limit of the solver, for slow machines
_STEP = 1e-4  # m; sizes are rounded up to whole steps, which are well within FITS
_PROOF = 1e-6  # tolerance: a cost this close to its lower bound counts as the optimum
_OPTIMAL = 0  # status of the solver


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
    too_long : tuple of float
        Lengths of the pieces that are longer than every board, longest first; they are not cut. [m]
    """

    cuts: tuple[Cut, ...]
    cost: float
    least: float
    too_long: tuple[float, ...] = ()

    @property
    def proven(self) -> bool:
        """Whether it is proven that no other way costs less."""
        return self.cost - self.least <= _PROOF * max(1.0, abs(self.cost))


def cutting(
    pieces: Mapping[float, int], planks: Sequence[Plank], *, kerf: float, most_patterns: int = _MOST_PATTERNS
) -> Cutting:
    """Return how to cut pieces from stock lengths at the least cost; pieces longer than every board are left out.

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
    Cutting

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
    wanted = sorted((length for length, count in pieces.items() if count > 0), reverse=True)
    longest = max((plank.length for plank in planks), default=-math.inf) + FITS
    too_long = tuple(length for length in wanted if length > longest)
    lengths = wanted[len(too_long) :]
    if not lengths:
        return Cutting((), 0.0, 0.0, too_long)
    problem = _in_steps(pieces, lengths, planks, kerf)
    patterns = listed_patterns(problem, most_patterns) if len(lengths) <= _MANY_LENGTHS else None
    if patterns is not None:
        counts, least = _board_counts(patterns, problem)
    else:
        patterns, least = generated_patterns(problem)
        counts, _ = _board_counts(patterns, problem, least)
    cuts = _without_surplus(patterns, counts, lengths, problem.needed)
    cost = math.fsum(planks[cut.plank].cost * cut.count for cut in cuts)
    least = min(cost, _next_possible_cost(least, problem.costs))
    return Cutting(tuple(sorted(cuts, key=lambda cut: -planks[cut.plank].length)), cost, least, too_long)


def _in_steps(
    pieces: Mapping[float, int], lengths: Sequence[float], planks: Sequence[Plank], kerf: float
) -> CuttingProblem:
    """Return the problem in whole steps of length.

    Each piece is taken with the cut that frees it. The last piece of a board needs none, so each board gets one more.
    """
    return CuttingProblem(
        sizes=tuple(math.ceil((length + kerf) / _STEP - 1e-6) for length in lengths),
        needed=np.array([pieces[length] for length in lengths], dtype=np.int64),
        rooms=tuple(math.floor((plank.length + kerf + FITS) / _STEP + 1e-6) for plank in planks),
        costs=tuple(plank.cost for plank in planks),
    )


def _next_possible_cost(bound: float, costs: Sequence[float]) -> float:
    """Return the least possible sum of boards' costs that is not below a bound."""
    step = _cost_step(costs)
    return math.ceil(bound / step - _PROOF) * step if step and math.isfinite(bound) else bound


def _cost_step(costs: Sequence[float]) -> float:
    """Return the greatest number of which all costs are multiples; 0 if one has more than four decimals."""
    units = [round(cost * 1e4) for cost in costs]
    if any(abs(cost * 1e4 - unit) >= 1e-6 for cost, unit in zip(costs, units, strict=True)):
        return 0.0
    return math.gcd(*units) / 1e4


def _board_counts(
    patterns: Sequence[Pattern], problem: CuttingProblem, bound: float = 0.0
) -> tuple[NDArray[np.int64], float]:
    """Return the number of boards cut by each pattern at the least cost, and a lower bound of that cost.

    If column generation has given a bound, the search ends once no possible sum of boards' costs lies between it and
    the answer. The lower bound holds for these patterns only, not for those that were not generated.
    """
    from scipy.optimize import LinearConstraint

    pieces = np.array([pattern.counts for pattern in patterns], dtype=float).T
    costs = np.array([problem.costs[pattern.plank] for pattern in patterns])
    scale = float(np.max(costs)) or 1.0  # the solver works with costs of at most 1
    most = float(problem.needed.sum())
    limits = [LinearConstraint(pieces, problem.needed, np.inf)]
    gap = _relative_gap(bound, problem.costs)
    cheapest = _solution(costs / scale, limits, most, gap)
    counts, least = _whole_counts(cheapest), float(cheapest.mip_dual_bound or 0.0) * scale
    cost = float(costs @ counts)
    if cheapest.status != _OPTIMAL:
        return counts, least
    if cost - least <= _PROOF * max(1.0, cost):
        least = cost
    if len(patterns) <= _FEW and not gap:  # with more patterns this takes too long
        limits.append(LinearConstraint(costs[None, :] / scale, -np.inf, cost / scale * (1 + COST_TOLERANCE)))
        fewest = _solution(np.ones(len(costs)), limits, most)
        if fewest.status == _OPTIMAL:
            counts = _whole_counts(fewest)
    return counts, least


def _relative_gap(bound: float, costs: Sequence[float]) -> float:
    """Return the gap at which the solver may stop, relative to the cost; 0 without a bound.

    It is 0.9 steps of the boards' costs, if the cost is at most 5 % and two steps above the bound.
    """
    step = _cost_step(costs)
    return 0.9 * step / (1.05 * bound + 2 * step) if bound > 0 and step else 0.0


def _solution(
    costs: NDArray[np.float64], limits: Sequence[LinearConstraint], most: float, gap: float = 0.0
) -> OptimizeResult:
    """Return the solver's answer: from 0 to `most` boards of each pattern, of the least total cost."""
    from scipy.optimize import Bounds, milp

    return milp(
        costs,
        constraints=limits,
        integrality=np.ones(len(costs), dtype=np.int64),
        bounds=Bounds(0, most),
        options={"mip_rel_gap": gap, "node_limit": _MOST_NODES, "time_limit": _PATIENCE},
    )


def _whole_counts(solution: OptimizeResult) -> NDArray[np.int64]:
    """Return the whole numbers of a solution: the optimum, or the best that was found in time."""
    if solution.x is None:
        raise RuntimeError(f"the cutting programme was not solved: {solution.message}")
    counts: NDArray[np.int64] = np.round(solution.x).astype(np.int64)
    return counts


def _without_surplus(
    patterns: Sequence[Pattern],
    board_counts: NDArray[np.int64],
    lengths: Sequence[float],
    needed: NDArray[np.int64],
) -> list[Cut]:
    """Return the cuts of a solution without surplus pieces, which stay in the offcut of the last boards."""
    boards: list[tuple[int, list[int]]] = []  # stock length and pieces of each kind, board by board
    for pattern, count in zip(patterns, board_counts, strict=True):
        boards += [(pattern.plank, list(pattern.counts)) for _ in range(count)]
    surplus = np.sum([counts for _, counts in boards], axis=0) - needed
    for _, counts in reversed(boards):
        for kind, count in enumerate(counts):
            spared = min(count, int(surplus[kind]))
            counts[kind] -= spared
            surplus[kind] -= spared
    boards_alike = Counter(Pattern(plank, tuple(counts)) for plank, counts in boards if any(counts))
    return [Cut(pattern.plank, _cut_pieces(pattern, lengths), count) for pattern, count in boards_alike.items()]


def _cut_pieces(pattern: Pattern, lengths: Sequence[float]) -> tuple[tuple[float, int], ...]:
    """Return the length of each piece of a pattern, and how many of it are cut. [m]"""
    return tuple((length, count) for length, count in zip(lengths, pattern.counts, strict=True) if count)
