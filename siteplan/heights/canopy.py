"""Is there a roof, leaves or nothing in each cell, and how high?

By the survey's own classes if buildings are among them. Else a roof is where pulses are not split, or where the
highest points lie in a plane; the other points above the ground are leaves. `trees.py` separates one tree from the
next.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from siteplan.heights.cells import SQUARE, at_points, cell_numbers, highest, point_counts
from siteplan.land.grid import Floats, Grid
from siteplan.land.returns import BUILDING, IGNORED, Returns

Flags = NDArray[np.bool_]

LOWEST_ROOF, LOWEST_TREE = 2.2, 2.0  # m; anything lower is a bin, a car, a shrub, a wall
LEAST_ROOF = 6.0  # m2; a smaller one is a porch, or a piece of a crown
AROUND = 5  # side, in cells, of the square in which pulses are counted and a plane is fitted
#: largest share of points from split pulses (several returns) in a roof: at its core, at its edge. On the Delft tile
#: 95 % of the cells with leaves, their surroundings included, have more than half, and 90 % of roof cells less
SPLIT, SPLIT_AT_EDGE = 0.45, 0.60
#: largest distance of a roof's points from their plane, at its core and at its edge [m]; on the Delft tile 95 % of
#: the cells with leaves have more than the first
PLANE, PLANE_AT_EDGE = 0.35, 0.9


@dataclass(frozen=True, eq=False)
class Canopy:
    """Roofs and plants, by point and by cell.

    Attributes
    ----------
    grid : Grid
    ground : ndarray, shape (rows, columns)
        Its elevation. [m]
    height : ndarray, shape (points,)
        Of each point above the ground. [m]
    of_roof, of_plant : ndarray of bool, shape (points,)
        Points on roofs; points that may be leaves, from low shrubs up.
    roof, plant : ndarray, shape (rows, columns)
        Height of the highest point of either, above the ground; NaN if there is none. [m]
    """

    grid: Grid
    ground: Floats
    height: Floats
    of_roof: Flags
    of_plant: Flags
    roof: Floats
    plant: Floats


def canopy(returns: Returns, on_ground: Flags, grid: Grid, ground: Floats, *, built: Flags, grown: Flags) -> Canopy:
    """Return roofs and plants, by point and by cell.

    Parameters
    ----------
    returns : Returns
        Without lone points.
    on_ground : ndarray of bool, shape (points,)
        Which of them lie on the ground.
    grid : Grid
    ground : ndarray, shape (rows, columns)
        Its elevation. [m]
    built, grown : ndarray of bool, shape (rows, columns)
        Cells in the outlines of drawn buildings; of drawn trees and hedges.
    """
    height = returns.z - at_points(grid, ground, returns.x, returns.y)
    stands = ~on_ground & ~np.isin(returns.kind, IGNORED)
    of_roof = (returns.kind == BUILDING) & stands & (height > LOWEST_ROOF / 2)
    if not of_roof.any():
        cells = (_roof_cells(returns, height, stands, grid) & ~grown) | built
        of_roof = stands & (height > LOWEST_ROOF) & cells.ravel()[cell_numbers(grid, returns.x, returns.y)]
    of_plant = stands & ~of_roof & (height > 0.3)
    return Canopy(
        grid=grid,
        ground=ground,
        height=height,
        of_roof=of_roof,
        of_plant=of_plant,
        roof=_tops(grid, returns, height, of_roof),
        plant=_tops(grid, returns, height, of_plant),
    )


def _tops(grid: Grid, returns: Returns, height: Floats, chosen: Flags) -> Floats:
    return highest(grid, returns.x[chosen], returns.y[chosen], height[chosen])


def _roof_cells(returns: Returns, height: Floats, stands: Flags, grid: Grid) -> Flags:
    """Return the cells of roofs: few split pulses; without split pulses, highest points that lie in planes."""
    x, y = returns.x[stands], returns.y[stands]
    high = highest(grid, x, y, height[stands]) > LOWEST_ROOF
    if returns.several.any():
        is_several = returns.several[stands]
        split = point_counts(grid, x[is_several], y[is_several]).astype(float)
        all_points = point_counts(grid, x, y).astype(float)
        rough = _around(split) / np.maximum(_around(all_points), 1e-9)
        seeds, edge = rough < SPLIT, rough < SPLIT_AT_EDGE
    else:
        rough = off_plane(highest(grid, x, y, height[stands]))
        seeds, edge = rough < PLANE, rough < PLANE_AT_EDGE
    # closing: a cell without points is taken to be like those around it
    core = ndimage.binary_opening(ndimage.binary_closing(seeds & high, structure=SQUARE), structure=SQUARE)
    roof = ndimage.binary_dilation(core, iterations=2, mask=(high & edge) | core)
    return large_patches(ndimage.binary_closing(roof) | roof, round(LEAST_ROOF / grid.cell**2))


def _around(count: Floats) -> Floats:
    return np.asarray(ndimage.uniform_filter(count, AROUND))


def large_patches(cells: Flags, fewest: int) -> Flags:
    """Return the cells that lie in patches of at least so many cells."""
    patch, _ = ndimage.label(cells)
    size = np.bincount(patch.ravel())
    size[0] = 0
    return np.asarray(size[patch] >= fewest)


def off_plane(top: Floats) -> Floats:
    """Return the root mean square distance of the heights around each cell from their best-fitting plane.

    Parameters
    ----------
    top : ndarray, shape (rows, columns)
        Heights; NaN if unknown. [m]

    Returns
    -------
    ndarray, shape (rows, columns)
        Infinite if fewer than half of the cells around are known. [m]

    Examples
    --------
    A roof that rises evenly lies in a plane, a ridge does not:

    >>> slope = np.add.outer(np.arange(7.0), np.zeros(7))
    >>> bool(off_plane(slope)[3, 3] < 1e-3), bool(off_plane(-abs(slope - 3))[3, 3] > 0.3)
    (True, True)
    >>> float(off_plane(np.where(slope == 3, slope, np.nan))[3, 3])  # one row of seven is known
    inf
    """
    is_known = np.isfinite(top)
    z = np.where(is_known, top, 0.0)
    # sums of products over each window, relative to its middle, so that large coordinates lose no digits
    moment = {}
    offsets = np.arange(AROUND) - AROUND // 2
    ones = np.ones(AROUND)
    for name, values, down, across in (
        ("n", is_known, ones, ones), ("x", is_known, ones, offsets), ("y", is_known, offsets, ones),
        ("xx", is_known, ones, offsets**2), ("xy", is_known, offsets, offsets), ("yy", is_known, offsets**2, ones),
        ("z", z, ones, ones), ("xz", z, ones, offsets), ("yz", z, offsets, ones), ("zz", z**2, ones, ones),
    ):  # fmt: skip
        down_sums = ndimage.correlate1d(np.asarray(values, dtype=float), down, axis=0, mode="constant")
        moment[name] = ndimage.correlate1d(down_sums, across, axis=1, mode="constant")
    matrix = np.array(
        [
            [moment["xx"], moment["xy"], moment["x"]],
            [moment["xy"], moment["yy"], moment["y"]],
            [moment["x"], moment["y"], moment["n"]],
        ]
    ).transpose(2, 3, 0, 1)
    right_side = np.array([moment["xz"], moment["yz"], moment["z"]]).transpose(1, 2, 0)
    enough = moment["n"] > AROUND**2 / 2
    distance = np.full(top.shape, np.inf)
    solvable = matrix[enough] + 1e-9 * np.eye(3)
    plane = np.linalg.solve(solvable, right_side[enough][..., None])[..., 0]
    squared_residual = moment["zz"][enough] - (plane * right_side[enough]).sum(axis=1)
    distance[enough] = np.sqrt(np.maximum(squared_residual, 0) / moment["n"][enough])
    return distance
