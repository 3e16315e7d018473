"""Where do buildings stand that are not drawn?

Patches of roof cells, cut where the roof steps up or down, so that a house and its annex are two. An outline that
nearly fills a rectangle becomes that rectangle. `roofs.py` finds the heights.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage
from shapely import Polygon

from siteplan.heights.canopy import LEAST_ROOF, LOWEST_ROOF, large_patches
from siteplan.heights.cells import SQUARE, outline_of, part_of_grid
from siteplan.land.grid import Floats, Grid

Flags = NDArray[np.bool_]

STEP = 1.0  # m from cell to cell; a roof of 60 degrees rises by 0.87 m over half a metre
RECTANGLE = 0.80  # share of its smallest rectangle from which an outline is replaced by that rectangle
NEAR = 2.0  # m; cells at a step are given to the nearest building within this distance
WAVER = 0.6  # m; how far the edge of the cells lies off a straight wall


def find_outlines(roof: Floats, grid: Grid, *, drawn: Flags) -> list[Polygon]:
    """Return the outlines of buildings that are not drawn, largest first.

    Parameters
    ----------
    roof : ndarray, shape (rows, columns)
        Height of the highest point on a roof in each cell; NaN if there is none. [m]
    grid : Grid
    drawn : ndarray of bool, shape (rows, columns)
        Cells in the outlines of drawn buildings, and just beside them.

    Examples
    --------
    >>> roof = np.full((40, 40), np.nan)
    >>> roof[10:20, 10:30], roof[20:26, 10:18] = 6.0, 3.0
    >>> drawn = np.zeros((40, 40), dtype=bool)
    >>> [round(outline.area) for outline in find_outlines(roof, Grid(0, 20, 0.5, 40, 40), drawn=drawn)]
    [50, 12]
    """
    high = np.pad(roof > LOWEST_ROOF, 2)
    roofs = ndimage.binary_closing(high, structure=SQUARE)[2:-2, 2:-2] & ~drawn
    roofs = ndimage.binary_opening(roofs, structure=SQUARE)
    roofs = large_patches(roofs, round(LEAST_ROOF / grid.cell**2))
    building_number = _parts(_without_holes(roof, roofs), roofs, grid.cell)
    outlines = []
    for number, window in enumerate(ndimage.find_objects(building_number), 1):
        if window is None:
            continue
        outlines.append(_squared(outline_of(building_number[window] == number, part_of_grid(grid, window))))
    return sorted(outlines, key=lambda outline: -outline.area)


def _without_holes(roof: Floats, roofs: Flags) -> Floats:
    """Return the heights of roofs, with cells without points as high as the nearest cell."""
    nearest = ndimage.distance_transform_edt(np.isnan(roof), return_distances=False, return_indices=True)
    return np.where(roofs, roof[tuple(nearest)], np.nan)


def _parts(height: Floats, roofs: Flags, cell: float) -> NDArray[np.int32]:
    """Return the number of each cell's building, 0 for none; edges and slivers are given to the nearest building."""
    padded = np.pad(height, 1, mode="edge")
    middle = padded[1:-1, 1:-1]
    around = np.array([padded[:-2, 1:-1], padded[2:, 1:-1], padded[1:-1, :-2], padded[1:-1, 2:]])
    step = (np.abs(np.where(np.isnan(around), middle, around) - middle) > STEP).any(axis=0)
    building_number, _ = ndimage.label(ndimage.binary_opening(roofs & ~step, structure=SQUARE))
    size = np.bincount(building_number.ravel())
    size[0] = 0
    large = size[building_number] >= LEAST_ROOF / cell**2
    if not large.any():
        return np.asarray(ndimage.label(roofs)[0], dtype=np.int32)
    distance, nearest = ndimage.distance_transform_edt(~large, return_indices=True)
    return np.where(roofs & (distance * cell < NEAR), building_number[tuple(nearest)], 0).astype(np.int32)


def _squared(rough: object) -> Polygon:
    """Return an outline with straight walls instead of the stair-steps of cells."""
    parts = list(getattr(rough, "geoms", [rough]))
    largest = Polygon(max(parts, key=lambda part: part.area).exterior)
    box = largest.minimum_rotated_rectangle
    if isinstance(box, Polygon) and largest.area > RECTANGLE * box.area:
        middle = np.array(box.centroid.coords[0])
        ring = np.array(box.exterior.coords)
        return Polygon(middle + (ring - middle) * np.sqrt(largest.area / box.area))
    straight = largest.simplify(WAVER)
    return straight if isinstance(straight, Polygon) and not straight.is_empty else largest
