"""How many bags and loose steps cover all needs at the least cost?

An integer programme for the whole job. HiGHS solves it to proven optimality; ties are broken in a fixed order. Stock
is subtracted before, in `purchase`; offers come as plain figures.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from scipy.optimize import OptimizeResult

#: m3; a need counts as met if at most this centilitre is lacking, so that a bag that fits exactly is not bought twice
SHORT = 1e-5
#: the same as a share of the need, since recipes are written to three or four decimals
ENOUGH = 1e-3
_OPTIMAL, _INFEASIBLE = 0, 2
_GAP = 1e-6  # money; HiGHS stops at this absolute gap, a ten-thousandth of a cent


def tolerated(need: float) -> float:
    """Return the volume of a need that may be lacking before another bag is bought. [m3]

    Examples
    --------
    >>> tolerated(0.5), tolerated(0.0)
    (0.0005, 1e-05)
    """
    return max(SHORT, ENOUGH * need)


@dataclass(frozen=True, kw_only=True)
class Deal:
    """An offer in figures.

    Attributes
    ----------
    size, price : float
        Of one bag or one loose step. [m3, money]
    parts : mapping of str to float
        Share of each material in it, by volume.
    delivered : bool
        Whether it is delivered or fetched by trips, so that the next three count; else it is carried home.
    minimum : float
        Least volume of an order. [m3]
    fee : float
        For each delivery or own trip. [money]
    capacity : float
        Largest volume of a delivery or trip; infinite if not given. [m3]
    handling : float
        Cost of the trouble of opening one bag; counted in the choice, not in the bill. [money]
    """

    size: float
    price: float
    parts: Mapping[str, float]
    delivered: bool = False
    minimum: float = 0.0
    fee: float = 0.0
    capacity: float = math.inf
    handling: float = 0.0

    def __post_init__(self) -> None:
        if not (self.size > 0 and self.capacity > 0):
            raise ValueError(
                f"a deal of {self.size:g} m3 brought {self.capacity:g} m3 at a time; both must be above 0"
            )
        if not (self.price >= 0 and self.fee >= 0 and self.minimum >= 0 and self.handling >= 0):
            raise ValueError("price, delivery, minimum and handling must be at least 0")

    def deliveries(self, count: int) -> int:
        """Return how many deliveries or own trips bring `count` bags or steps; 0 if they are carried home.

        Examples
        --------
        >>> Deal(size=1, price=30, parts={"topsoil": 1}, delivered=True, capacity=2).deliveries(5)
        3
        """
        if not self.delivered or count == 0:
            return 0
        return max(1, math.ceil(count * self.size / self.capacity - 1e-9))

    def fewest(self, volume: float) -> int:
        """Return the fewest bags or steps that give a volume [m3], at least the minimum order.

        Examples
        --------
        >>> loose = Deal(size=0.5, price=30, parts={"topsoil": 1}, delivered=True, minimum=2)
        >>> loose.fewest(2.1), loose.fewest(0.3), loose.fewest(0)
        (5, 4, 0)
        """
        if volume <= SHORT:
            return 0
        return max(math.ceil((volume - SHORT) / self.size), math.ceil((self.minimum - SHORT) / self.size))

    def cost(self, count: int) -> float:
        """Return the bill for `count` bags or steps. [money]

        Examples
        --------
        >>> Deal(size=1, price=30, parts={"topsoil": 1}, delivered=True, fee=45, capacity=2).cost(5)
        285.0
        """
        return float(count * self.price + self.deliveries(count) * self.fee)

    def most(self, needs: Mapping[str, float]) -> int:
        """Return an upper bound of the useful number of bags or steps: enough for its scarcest part."""
        return max(self.fewest(needs.get(name, 0.0) / share) for name, share in self.parts.items() if share > 0)


def cheapest(
    needs: Mapping[str, float],
    deals: Sequence[Deal],
    *,
    storage: float = math.inf,
    break_ties: bool = True,
) -> tuple[int, ...] | None:
    """Return how many bags or steps to buy of each deal, so that all needs are met at the least cost.

    Parameters
    ----------
    needs : mapping of str to float
        Loose volume wanted of each material. [m3]
    deals : sequence of Deal
    storage : float
        Most that may be bought in all. [m3]
    break_ties : bool
        Among equally cheap answers take the fewest deliveries, then the least left over, then the fewest
        pieces, then the deals listed first.

    Returns
    -------
    tuple of int or None
        A count for each deal; None where no counts can cover the needs.

    Raises
    ------
    RuntimeError
        Where the solver does not prove its answer.

    Notes
    -----
    Minimise the sum of price times n, plus fee times d, over integers n (bags or steps), d (deliveries) and
    y (ordered or not), with, for each material, the sum of size times share times n >= need; for each delivered deal
    size n <= capacity d, size n >= minimum y and n <= most y; and the sum of size n <= storage.
    Without a limit on storage, materials that share no blend are independent: each group is solved separately.

    Examples
    --------
    >>> bag = Deal(size=0.05, price=4, parts={"compost": 1})
    >>> lorry = Deal(size=0.5, price=20, parts={"compost": 1}, delivered=True, fee=30)
    >>> cheapest({"compost": 0.52}, [bag, lorry]), cheapest({"compost": 0.95}, [bag, lorry])
    ((11, 0), (0, 2))
    >>> cheapest({"sand": 0.1}, [bag]) is None, cheapest({}, [bag])
    (True, (0,))
    """
    open_needs = {name: need for name, need in needs.items() if need > SHORT}
    counts = [0] * len(deals)
    groups = _groups(open_needs, deals) if math.isinf(storage) else [(open_needs, list(range(len(deals))))]
    for group_needs, members in groups:
        if not group_needs:
            continue
        group_counts = _solve(group_needs, [deals[index] for index in members], storage, break_ties=break_ties)
        if group_counts is None:
            return None
        for index, count in zip(members, group_counts, strict=True):
            counts[index] = count
    return tuple(counts)


def _groups(needs: Mapping[str, float], deals: Sequence[Deal]) -> list[tuple[dict[str, float], list[int]]]:
    """Return groups of needs that share blends, each with the indices of the deals that serve it (union-find)."""
    leader = {name: name for name in needs}

    def lead(name: str) -> str:
        while leader[name] != name:
            name = leader[name]
        return name

    for deal in deals:
        served = [name for name in deal.parts if name in leader]
        for name in served[1:]:
            leader[lead(name)] = lead(served[0])
    groups: dict[str, tuple[dict[str, float], list[int]]] = {}
    for name, need in needs.items():
        groups.setdefault(lead(name), ({}, []))[0][name] = need
    for index, deal in enumerate(deals):
        served = [name for name in deal.parts if name in leader]
        if served:
            groups[lead(served[0])][1].append(index)
    return list(groups.values())


class _Columns:
    """The columns of the unknowns of one group: n of every deal, d of what is delivered, y of what has a minimum."""

    def __init__(self, needs: Mapping[str, float], deals: Sequence[Deal]) -> None:
        size = len(deals)
        delivered = [index for index, deal in enumerate(deals) if deal.delivered]
        with_minimum = [index for index in delivered if deals[index].minimum > 0]
        self.delivery = {index: size + position for position, index in enumerate(delivered)}
        self.order = {index: size + len(delivered) + position for position, index in enumerate(with_minimum)}
        self.count = size + len(delivered) + len(with_minimum)
        self.most = [deal.most(needs) for deal in deals]
        trips = [deals[index].deliveries(self.most[index]) for index in delivered]
        self.upper = np.array([*self.most, *trips, *(1 for _ in with_minimum)], dtype=float)

    def row(
        self, counts: Sequence[float] | NDArray[np.float64], deliveries: Mapping[int, float] | None = None
    ) -> NDArray[np.float64]:
        """Return a row with these factors of n, and these of d by deal."""
        row = np.zeros(self.count)
        row[: len(counts)] = counts
        for index, factor in (deliveries or {}).items():
            row[self.delivery[index]] = factor
        return row


def _solve(
    needs: Mapping[str, float], deals: Sequence[Deal], storage: float, *, break_ties: bool
) -> list[int] | None:
    """Return the counts of one group."""
    from scipy.optimize import Bounds, LinearConstraint, milp  # imported here: scipy is slow to load

    if not deals:
        return None
    columns = _Columns(needs, deals)
    lower, rows = _rows(needs, deals, storage, columns)
    fees = {index: deals[index].fee for index in columns.delivery}
    objectives = [columns.row([deal.price + deal.handling for deal in deals], fees)]
    if break_ties and len(deals) > 1:
        objectives += _tie_breakers(deals, columns)
    counts: list[int] | None = None
    for goal in objectives:
        answer = milp(
            goal,
            constraints=LinearConstraint(rows, lower, np.inf),
            integrality=np.ones(columns.count, dtype=np.int64),
            bounds=Bounds(np.zeros(columns.count), columns.upper),
            options={"mip_rel_gap": 0.0},
        )
        if answer.status == _INFEASIBLE and counts is None:
            return None
        solution = _proven(answer)
        counts = [int(number) for number in solution[: len(deals)]]
        least = float(goal @ solution)
        largest = float(np.max(np.abs(goal), initial=0.0)) or 1.0
        rows = np.vstack([rows, -goal / largest])
        lower = np.append(lower, (-least - 1e-6 * max(1.0, abs(least))) / largest)
    return counts


def _proven(answer: OptimizeResult) -> NDArray[np.float64]:
    """Return the whole numbers of an answer, if the solver's bound proves that there is no better one."""
    solved = answer.status == _OPTIMAL and answer.x is not None
    if not solved or answer.fun - answer.mip_dual_bound > _GAP * max(1.0, abs(answer.fun)):
        raise RuntimeError(f"the buying programme was not solved to the end: {answer.message}")
    numbers: NDArray[np.float64] = np.round(answer.x)
    return numbers


def _rows(
    needs: Mapping[str, float], deals: Sequence[Deal], storage: float, columns: _Columns
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the lower bounds, shape (m,), and the matrix, shape (m, columns), of `rows @ x >= lower`.

    No factor is above 1 but for the whole numbers: the solver's tolerance then stays below what counts as enough.
    """
    rows: list[NDArray[np.float64]] = []
    lower: list[float] = []
    volumes = np.array([deal.size for deal in deals])
    for name, need in needs.items():
        volumes_of_material = volumes * [deal.parts.get(name, 0.0) for deal in deals]
        largest = float(np.max(volumes_of_material)) or 1.0
        rows.append(columns.row(volumes_of_material / largest))
        lower.append((need - SHORT) / largest)
    for index, deal in enumerate(deals):
        unit = np.eye(len(deals))[index]
        if index in columns.delivery:  # n <= steps in a delivery x d
            steps = min(deal.capacity / deal.size + 1e-9, float(columns.most[index]))
            rows.append(columns.row(-unit, {index: steps}))
        if index in columns.order:  # least y <= n <= most y
            least = math.ceil((deal.minimum - SHORT) / deal.size)
            for sign, factor in ((1.0, least), (-1.0, columns.most[index])):
                row = columns.row(sign * unit)
                row[columns.order[index]] = -sign * factor
                rows.append(row)
    lower += [0.0] * (len(rows) - len(lower))
    if math.isfinite(storage):
        largest = float(np.max(volumes))
        rows.append(columns.row(-volumes / largest))
        lower.append(-(storage + SHORT) / largest)
    return np.array(lower), np.array(rows)


def _tie_breakers(deals: Sequence[Deal], columns: _Columns) -> list[NDArray[np.float64]]:
    """Return the objectives to minimise in turn: deliveries, volume, number of pieces, positions in the list."""
    size = len(deals)
    return [
        columns.row([0.0] * size, dict.fromkeys(columns.delivery, 1.0)),
        columns.row([deal.size for deal in deals]),
        columns.row([1.0] * size),
        columns.row([float(place) for place in range(size)]),
    ]
