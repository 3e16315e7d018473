"""Which spots go together?

The best one by one first; then the best set of as many by an integer programme over all that were asked.
It leaves out the shade that the new beds throw on each other: they are low and have aisles between.
"""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy import optimize, sparse

from siteplan.place.limits.limits import TOUCH

Floats = NDArray[np.float64]

#: how many of the best are weighed together
MOST = 150


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


def best_together(merit: Floats, pairs: NDArray[np.intp], count: int) -> list[int]:
    """Return which `count` spots have the greatest merit together, no two of them in conflict.

    Parameters
    ----------
    merit : ndarray, shape (n,)
    pairs : ndarray of int, shape (m, 2)
        That exclude each other.
    count : int

    Returns
    -------
    list of int
        Best first; fewer where fewer go together.

    Examples
    --------
    The best alone would keep out both others:

    >>> best_together(np.array([1.0, 0.9, 0.8]), np.array([[0, 1], [0, 2]]), 2)
    [1, 2]
    >>> best_together(np.array([1.0, 0.9]), np.array([[0, 1]]), 2)
    [0]
    """
    n = len(merit)
    if n == 0 or count < 1:
        return []
    rows = np.repeat(np.arange(len(pairs)), 2)
    exclude = sparse.csr_array((np.ones(2 * len(pairs)), (rows, pairs.ravel())), shape=(len(pairs), n))
    for number in range(min(count, n), 0, -1):
        bounds = [optimize.LinearConstraint(np.ones((1, n)), number, number)]
        if len(pairs):
            bounds.append(optimize.LinearConstraint(exclude, -np.inf, 1))
        answer = optimize.milp(
            -merit, constraints=bounds, integrality=np.ones(n, dtype=np.int64), bounds=optimize.Bounds(0, 1)
        )
        if answer.success:
            chosen = np.flatnonzero(np.round(answer.x) == 1).tolist()
            return sorted(chosen, key=lambda index: (-merit[index], index))
    return []
