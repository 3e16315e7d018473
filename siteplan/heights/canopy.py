"""What stands in each cell: a roof, leaves, or nothing, and how high?

By the survey's own classes where it has buildings among them; else a roof is where the highest points lie in a plane,
and leaves are the rest. It leaves out where one tree ends and the next begins.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from siteplan.heights.cells import SQUARE, at_points, cell_numbers, counted, highest
from siteplan.land.grid import Floats, Grid
from siteplan.land.returns import BUILDING, IGNORED, Returns

Flags = NDArray[np.bool_]

LOWEST_ROOF, LOWEST_TREE = 2.2, 2.0  # m; what is lower is a bin, a car, a shrub, a wall
LEAST_ROOF = 6.0  # m2; a smaller one is a porch, or a piece of a crown
AROUND = 5  # cells to the side of the square in which pulses are counted, and a plane is laid through the points
#: on the Delft tile 95 % of the cells with leaves have more than half of their points from pulses that came back in
#: parts (those around counted in), and 90 % of the cells of roofs less
SPLIT, SPLIT_AT_EDGE = 0.45, 0.60
PLANE, PLANE_AT_EDGE = 0.35, 0.9  # m off their plane; there 95 % of the cells with leaves have more than the first


@dataclass(frozen=True, eq=False)
class Canopy:
    """What stands in each cell.

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
        Height of the highest point of either, above the ground; NaN where there is none. [m]
    """

    grid: Grid
    ground: Floats
    height: Floats
    of_roof: Flags
    of_plant: Flags
    roof: Floats
    plant: Floats


def canopy(returns: Returns, on_ground: Flags, grid: Grid, ground: Floats, *, built: Flags, grown: Flags) -> Canopy:
    """Return what stands in each cell.

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
        Cells in the outlines of buildings, and of trees and hedges, that are drawn.
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
    """Return the cells of roofs: pulses end at them; where no pulse tells, their highest points lie in planes."""
    x, y = returns.x[stands], returns.y[stands]
    high = highest(grid, x, y, height[stands]) > LOWEST_ROOF
    if returns.several.any():
        several = returns.several[stands]
        split, every = (counted(grid, one[0], one[1]).astype(float) for one in ((x[several], y[several]), (x, y)))
        rough = _around(split) / np.maximum(_around(every), 1e-9)
        seeds, edge = rough < SPLIT, rough < SPLIT_AT_EDGE
    else:
        rough = off_plane(highest(grid, x, y, height[stands]))
        seeds, edge = rough < PLANE, rough < PLANE_AT_EDGE
    # a cell that no point fell into is as those around it
    core = ndimage.binary_opening(ndimage.binary_closing(seeds & high, structure=SQUARE), structure=SQUARE)
    whole = ndimage.binary_dilation(core, iterations=2, mask=(high & edge) | core)
    return large_patches(ndimage.binary_closing(whole) | whole, round(LEAST_ROOF / grid.cell**2))


def _around(count: Floats) -> Floats:
    return np.asarray(ndimage.uniform_filter(count, AROUND))


def large_patches(cells: Flags, least: int) -> Flags:
    """Return the cells that lie in patches of at least so many."""
    patch, _ = ndimage.label(cells)
    size = np.bincount(patch.ravel())
    size[0] = 0
    return np.asarray(size[patch] >= least)


def off_plane(top: Floats) -> Floats:
    """Return how far off the heights around each cell lie from the plane that fits them best, root of mean squares.

    Parameters
    ----------
    top : ndarray, shape (rows, columns)
        Heights; NaN where there is none. [m]

    Returns
    -------
    ndarray, shape (rows, columns)
        Infinite where fewer than half of the cells around are known. [m]

    Examples
    --------
    A roof that rises evenly lies in a plane, a ridge does not:

    >>> slope = np.add.outer(np.arange(7.0), np.zeros(7))
    >>> bool(off_plane(slope)[3, 3] < 1e-3), bool(off_plane(-abs(slope - 3))[3, 3] > 0.3)
    (True, True)
    >>> float(off_plane(np.where(slope == 3, slope, np.nan))[3, 3])  # one row of seven is known
    inf
    """
    known = np.isfinite(top)
    z = np.where(known, top, 0.0)
    # about the middle of each window, so that large coordinates lose no digits
    moment = {}
    offsets = np.arange(AROUND) - AROUND // 2
    one = np.ones(AROUND)
    for name, values, down, across in (
        ("n", known, one, one), ("x", known, one, offsets), ("y", known, offsets, one),
        ("xx", known, one, offsets**2), ("xy", known, offsets, offsets), ("yy", known, offsets**2, one),
        ("z", z, one, one), ("xz", z, one, offsets), ("yz", z, offsets, one), ("zz", z**2, one, one),
    ):  # fmt: skip
        part = ndimage.correlate1d(np.asarray(values, dtype=float), down, axis=0, mode="constant")
        moment[name] = ndimage.correlate1d(part, across, axis=1, mode="constant")
    matrix = np.array(
        [
            [moment["xx"], moment["xy"], moment["x"]],
            [moment["xy"], moment["yy"], moment["y"]],
            [moment["x"], moment["y"], moment["n"]],
        ]
    ).transpose(2, 3, 0, 1)
    right = np.array([moment["xz"], moment["yz"], moment["z"]]).transpose(1, 2, 0)
    enough = moment["n"] > AROUND**2 / 2
    found = np.full(top.shape, np.inf)
    sound = matrix[enough] + 1e-9 * np.eye(3)
    plane = np.linalg.solve(sound, right[enough][..., None])[..., 0]
    rest = moment["zz"][enough] - (plane * right[enough]).sum(axis=1)
    found[enough] = np.sqrt(np.maximum(rest, 0) / moment["n"][enough])
    return found
