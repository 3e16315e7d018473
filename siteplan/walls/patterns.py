"""Which ways of cutting one board are worth considering?

A pattern says how many pieces of each length are cut from one board. If there are few enough, all maximal patterns
are listed (no further piece fits). Otherwise column generation finds the useful ones, and a lower bound of the cost.

References
----------
Gilmore and Gomory, A linear programming approach to the cutting-stock problem, Operations Research 9 (1961), memory.
Farley, A note on bounding a class of linear programming problems, Operations Research 38 (1990): the bound where
column generation is stopped early, memory.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

_MOST_ROUNDS = 400  # of column generation; two hundred lengths take some three hundred
COST_TOLERANCE = 1e-7  # relative; two costs that differ by less count as equal


class Pattern(NamedTuple):
    """A way of cutting one board.

    Attributes
    ----------
    plank : int
        Index of the stock length.
    counts : tuple of int
        How many pieces of each length are cut from the board.
    """

    plank: int
    counts: tuple[int, ...]


@dataclass(frozen=True)
class CuttingProblem:
    """What has to be cut, and from what, in whole steps of length.

    Attributes
    ----------
    sizes : tuple of int
        Length of the pieces of each kind with one saw cut, longest first. [steps]
    needed : ndarray of int, shape (kinds,)
        How many pieces of each kind are needed.
    rooms : tuple of int
        Length of a board of each stock length with one saw cut, since its last piece needs none. [steps]
    costs : tuple of float
        Cost of a board of each stock length.
    """

    sizes: tuple[int, ...]
    needed: NDArray[np.int64]
    rooms: tuple[int, ...]
    costs: tuple[float, ...]


def listed_patterns(problem: CuttingProblem, most: int) -> list[Pattern] | None:
    """Return all maximal patterns of all stock lengths; None if there are more than `most`."""
    all_patterns = (
        Pattern(plank, counts)
        for plank, room in enumerate(problem.rooms)
        for counts in _maximal_counts(problem.sizes, problem.needed, room)
    )
    patterns = list(itertools.islice(all_patterns, most + 1))
    return patterns if len(patterns) <= most else None


def _maximal_counts(sizes: Sequence[int], needed: NDArray[np.int64], room: int) -> Iterator[tuple[int, ...]]:
    """Yield the maximal patterns of one stock length: no piece that is still needed could be added."""
    last_kind = len(sizes) - 1

    def extended(kind: int, room_left: int, counts: tuple[int, ...]) -> Iterator[tuple[int, ...]]:
        """Yield the patterns that begin with these counts of the kinds before this one."""
        most = min(int(needed[kind]), room_left // sizes[kind])
        for count in range(most, -1, -1):
            remaining, longer = room_left - count * sizes[kind], (*counts, count)
            if kind < last_kind:
                yield from extended(kind + 1, remaining, longer)
            elif not any(remaining >= size and longer[k] < needed[k] for k, size in enumerate(sizes)):
                yield longer

    return (counts for counts in extended(0, room, ()) if any(counts))


def generated_patterns(problem: CuttingProblem) -> tuple[list[Pattern], float]:
    """Return patterns found by column generation, and a lower bound of the cost.

    Notes
    -----
    The linear programme (without whole numbers) is solved over some patterns. Its dual values price the pieces. For
    each stock length a knapsack problem then finds the pattern of the greatest value. This is repeated until no new
    pattern is worth more than its board costs. Divided by the greatest value of a pattern over the cost of its board,
    the programme's optimum is a lower bound (Farley).
    """
    from scipy.optimize import linprog  # takes half a second, so only when needed

    patterns = list(dict.fromkeys(_best_fit_patterns(problem) + _patterns_of_one_kind(problem)))
    bound = 0.0
    for _ in range(_MOST_ROUNDS):
        pieces = np.array([pattern.counts for pattern in patterns], dtype=float).T
        costs = np.array([problem.costs[pattern.plank] for pattern in patterns])
        solved = linprog(costs, A_ub=-pieces, b_ub=-problem.needed.astype(float), method="highs")
        prices = np.maximum(-solved.ineqlin.marginals, 0.0)
        most_valuable = [
            Pattern(plank, counts) for plank, counts in enumerate(_most_valuable_counts(problem, prices))
        ]
        values = [float(np.dot(pattern.counts, prices)) for pattern in most_valuable]
        value_over_cost = max(
            value / cost if cost else math.inf for value, cost in zip(values, problem.costs, strict=True)
        )
        bound = max(bound, float(solved.fun or 0.0) / max(1.0, value_over_cost) * (1 - COST_TOLERANCE))
        worthwhile = {
            pattern
            for pattern, value in zip(most_valuable, values, strict=True)
            if value > problem.costs[pattern.plank] * (1 + COST_TOLERANCE)
        }
        new_patterns = worthwhile - set(patterns)
        if not new_patterns:
            break
        patterns += sorted(new_patterns)
    return patterns, bound


def _patterns_of_one_kind(problem: CuttingProblem) -> list[Pattern]:
    """Return for each kind and stock length the pattern with as many pieces of that kind alone as fit."""
    patterns = []
    for kind, size in enumerate(problem.sizes):
        for plank, room in enumerate(problem.rooms):
            if most := min(room // size, int(problem.needed[kind])):
                counts = [0] * len(problem.sizes)
                counts[kind] = most
                patterns.append(Pattern(plank, tuple(counts)))
    return patterns


def _best_fit_patterns(problem: CuttingProblem) -> list[Pattern]:
    """Return the patterns of a good solution, found by best-fit decreasing.

    Each piece, longest first, goes into the board with the least room left; a new board has the lowest price for its
    length. In the end each board is replaced by the cheapest that is long enough.
    """
    sizes, rooms, costs = problem.sizes, problem.rooms, problem.costs
    usual_room = rooms[min(range(len(rooms)), key=lambda plank: (costs[plank] / rooms[plank], -rooms[plank]))]
    boards: list[list[int]] = []  # the kinds of the pieces on each board
    room_left: list[int] = []  # on each board
    for kind, size in enumerate(sizes):
        for _ in range(problem.needed[kind]):
            fitting = [(room, board) for board, room in enumerate(room_left) if room >= size]
            if fitting:
                _, board = min(fitting)
            else:
                board = len(boards)
                boards.append([])
                room_left.append(usual_room if size <= usual_room else max(rooms))
            boards[board].append(kind)
            room_left[board] -= size
    patterns = []
    for kinds in boards:
        length = sum(sizes[kind] for kind in kinds)
        plank = min((plank for plank, room in enumerate(rooms) if length <= room), key=lambda plank: costs[plank])
        patterns.append(Pattern(plank, tuple(np.bincount(kinds, minlength=len(sizes)).tolist())))
    return patterns


@dataclass(frozen=True)
class _Bundle:
    """Equal pieces that are packed together or not at all.

    `packed[r]` says whether this bundle is in the best packing of a room of `weight + r` by it and the earlier ones.
    """

    kind: int
    count: int
    weight: int
    packed: NDArray[np.bool_]


def _most_valuable_counts(problem: CuttingProblem, prices: NDArray[np.float64]) -> list[tuple[int, ...]]:
    """Return for each stock length the pieces of the greatest total value that fit (bounded knapsack problem).

    Solved by dynamic programming over the room, for all stock lengths at once. Rooms are counted in the greatest
    common divisor of the sizes.
    """
    step = math.gcd(*problem.sizes)
    bundles = _packed_bundles(problem, prices, step)
    counts_of_planks = []
    for room in problem.rooms:
        counts, room_left = [0] * len(problem.sizes), room // step
        for bundle in reversed(bundles):
            if room_left >= bundle.weight and bundle.packed[room_left - bundle.weight]:
                counts[bundle.kind] += bundle.count
                room_left -= bundle.weight
        counts_of_planks.append(tuple(counts))
    return counts_of_planks


def _packed_bundles(problem: CuttingProblem, prices: NDArray[np.float64], step: int) -> list[_Bundle]:
    """Return the bundles of pieces that are worth something, each with the rooms whose best packing has it.

    A kind is grouped in bundles of 1, 2, 4 ... pieces and a rest: any number of pieces is a sum of few bundles.
    """
    longest = max(problem.rooms)
    value = np.zeros(longest // step + 1)  # of the best packing so far, for each room
    bundles = []
    for kind, price in enumerate(prices):
        if price <= 0:
            continue
        size = problem.sizes[kind] // step
        pieces_left, bundle_size = min(int(problem.needed[kind]), longest // problem.sizes[kind]), 1
        while pieces_left > 0:
            count = min(bundle_size, pieces_left)
            weight = count * size
            if weight < len(value):
                with_bundle = value[: len(value) - weight] + count * price
                packed = with_bundle > value[weight:]
                value[weight:][packed] = with_bundle[packed]
                bundles.append(_Bundle(kind, count, weight, packed))
            pieces_left, bundle_size = pieces_left - count, bundle_size * 2
    return bundles
