"""Which points are alone in the air or far below the ground: birds, clouds, echoes?

Points with few others around them in space. Noise by the survey's own classes is removed in `survey_features.py`.
"""

from __future__ import annotations

from itertools import product

import numpy as np
from numpy.typing import NDArray

from siteplan.land.returns import Returns

SIDE = 2.0  # m of a cube
#: points in a cube and the 26 around it; a tree's twig has more. Common practice, no source
FEW = 3


def lone(returns: Returns) -> NDArray[np.bool_]:
    """Return which points are alone: at most `FEW` in their cube and those around it, shape (points,).

    Examples
    --------
    A bird 20 m above a lawn:

    >>> x, y = np.meshgrid(np.arange(10.0), np.arange(10.0))
    >>> x, y, z = np.append(x, 5.0), np.append(y, 5.0), np.append(np.zeros(100), 20.0)
    >>> no = np.zeros(101, dtype=bool)
    >>> np.flatnonzero(lone(Returns(x, y, z, np.ones(101, dtype=np.uint8), ~no, no))).tolist()
    [100]
    """
    if not len(returns):
        return np.zeros(0, dtype=bool)
    cube = [np.floor((axis - axis.min()) / SIDE).astype(np.int64) + 1 for axis in (returns.x, returns.y, returns.z)]
    columns, layers = int(cube[1].max()) + 2, int(cube[2].max()) + 2
    key = (cube[0] * columns + cube[1]) * layers + cube[2]
    cubes, cube_of_point, count = np.unique(key, return_inverse=True, return_counts=True)
    points_around = np.zeros(len(cubes), dtype=np.int64)
    for east, north, up in product((-1, 0, 1), repeat=3):
        neighbour = cubes + (east * columns + north) * layers + up
        found = np.minimum(np.searchsorted(cubes, neighbour), len(cubes) - 1)
        points_around += np.where(cubes[found] == neighbour, count[found], 0)
    return np.asarray((points_around <= FEW)[cube_of_point])
