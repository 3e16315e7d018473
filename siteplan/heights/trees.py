"""Where does one tree end and the next begin, and how high is each?

From every cell of the canopy one climbs to the highest neighbour until there is none higher: all cells that lead to
the same top are one piece (a watershed). Two pieces are merged if the lower top lies in the window of the higher one,
or if the dip between them is small. A crown that is then too wide or too ragged for one tree is reported as a group.
`crowns.py` measures the points within the crowns.

References
----------
Popescu, S. C., and Wynne, R. H. (2004): Seeing the trees in the forest: using lidar and multispectral data fusion
with local filtering and variable window size for estimating tree height. Photogrammetric Engineering & Remote Sensing
70, 589-604: a window as wide as a crown of that height, 2.51503 + 0.00901 h^2 for all trees together (memory).
Dalponte, M., and Coomes, D. A. (2016): Tree-centric mapping of forest carbon density from airborne laser scanning
and hyperspectral data. Methods in Ecology and Evolution 7, 1236-1245: a crown ends where the canopy falls below a
share of its top (the idea; the share here is lower, because garden trees have crowns that reach far down).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy import ndimage
from shapely import Polygon

from siteplan.heights.canopy import LOWEST_TREE
from siteplan.heights.cells import SQUARE, outline_of, part_of_grid
from siteplan.land.grid import Floats, Grid
from siteplan.land.outline import smallest_rectangle

Cells = NDArray[np.intp]
Flags = NDArray[np.bool_]

WIDTH, WIDER = 2.51503, 0.00901  # m, and 1/m: width of the window is WIDTH + WIDER h^2
DIP, DIP_SHARE = 0.5, 0.08  # m, and share of the lower top: a smaller dip is a bump of one crown
NARROW, NARROW_DIP = 0.8, 0.25  # share of the window's area, share of the height: smaller pieces join a higher one
LEAST = 2.0  # m2; a smaller crown is a post, or a twig
CROWN_SHARE = 0.2  # share of the top; lower cells at a crown's side belong to something else
WIDEST, WIDEST_SHARE = 4.0, 1.1  # m, and share of the height: a wider crown is a group. Common practice, no source
RAGGED = 0.72  # least share of its convex hull that a single crown fills
LONG = 1.7  # length over width from which a wide crown is a group


@dataclass(frozen=True, eq=False)
class Crown:
    """One tree, or a group whose trees cannot be separated.

    Attributes
    ----------
    outline : Polygon
        In the local frame. [m]
    top : float
        Height of its highest cell. [m]
    tops : int
        How many tops are the highest in their window; more than one for a group, 1 for a tree.
    group : bool
    cells : ndarray of int
        Numbers of its cells, row by row.
    """

    outline: Polygon
    top: float
    tops: int
    group: bool
    cells: Cells


def find_crowns(plant: Floats, grid: Grid, *, roofs: Flags | None = None) -> list[Crown]:
    """Return the crowns of a canopy, highest first.

    Parameters
    ----------
    plant : ndarray, shape (rows, columns)
        Height of the highest leaf in each cell; NaN if there is none. [m]
    grid : Grid
    roofs : ndarray of bool, optional
        Cells of roofs, shape (rows, columns): a crown with most of its cells on roofs is dropped.

    Examples
    --------
    Two cones, 8 m and 6 m high, 6 m from each other:

    >>> grid = Grid(0, 10, 0.5, 20, 32)
    >>> x, y = np.meshgrid(grid.x, grid.y)
    >>> height = np.maximum(8 - 2 * np.hypot(x - 5, y - 5), 6 - 2 * np.hypot(x - 11, y - 5))
    >>> crowns = find_crowns(np.where(height > 2, height, np.nan), grid)
    >>> [(round(crown.top, 1), crown.group) for crown in crowns]
    [(7.3, False), (5.3, False)]
    """
    canopy = sound_canopy(plant, grid.cell)
    if not np.isfinite(canopy).any():
        return []
    smooth = _smoothed(canopy)
    piece, top_of = _pieces(smooth)
    piece = _merged(smooth, piece, top_of, grid)
    crowns = []
    for number, window in enumerate(ndimage.find_objects(piece), 1):
        if window is None:
            continue
        in_piece = piece[window] == number
        crown = _crown(canopy[window], in_piece, grid, window)
        if crown is not None and (roofs is None or roofs.ravel()[crown.cells].mean() < 0.5):
            crowns.append(crown)
    return sorted(crowns, key=lambda crown: -crown.top)


def sound_canopy(plant: Floats, cell: float) -> Floats:
    """Return the canopy from `LOWEST_TREE` up, with small holes filled and thin or small patches removed."""
    tall = plant >= LOWEST_TREE
    canopy_cells = ndimage.binary_closing(np.pad(tall, 2), structure=SQUARE)[2:-2, 2:-2] | tall
    thick = ndimage.binary_opening(canopy_cells, structure=SQUARE)
    canopy_cells &= ndimage.binary_dilation(thick, iterations=1)
    patch, _ = ndimage.label(canopy_cells)
    size = np.bincount(patch.ravel())
    size[0] = 0
    canopy_cells &= size[patch] >= LEAST / cell**2
    known_height = np.where(tall, plant, -np.inf)
    highest_around = ndimage.maximum_filter(known_height, footprint=SQUARE)
    filled_height = np.where(tall, plant, highest_around)
    return np.where(canopy_cells & np.isfinite(filled_height), filled_height, np.nan)


def _smoothed(canopy: Floats) -> Floats:
    """Return the canopy smoothed by a Gaussian of one cell over the known cells only; -inf outside."""
    known = np.isfinite(canopy)
    weight = ndimage.gaussian_filter(known.astype(float), 1.0)
    smooth = ndimage.gaussian_filter(np.where(known, canopy, 0.0), 1.0) / np.maximum(weight, 1e-9)
    return np.where(known, smooth, -np.inf)


def _pieces(smooth: Floats) -> tuple[NDArray[np.int32], dict[int, int]]:
    """Return the number of each cell's piece (0: none), and the cell number of each piece's top."""
    rows, columns = smooth.shape
    padded = np.pad(smooth, 1, constant_values=-np.inf)
    highest, target = smooth.copy(), np.arange(smooth.size).reshape(smooth.shape)
    own_number = target.copy()
    for down in (-1, 0, 1):
        for right in (-1, 0, 1):
            neighbour = padded[1 + down : 1 + down + rows, 1 + right : 1 + right + columns]
            higher = neighbour > highest
            highest = np.where(higher, neighbour, highest)
            target = np.where(higher, own_number + down * columns + right, target)
    climbs = target.ravel()  # follow the steps to the top by doubling them until nothing changes
    while not np.array_equal(next_climbs := climbs[climbs], climbs):
        climbs = next_climbs
    inside = np.isfinite(smooth).ravel()
    tops, piece = np.unique(climbs[inside], return_inverse=True)
    piece_of_cell = np.zeros(smooth.size, dtype=np.int32)
    piece_of_cell[inside] = piece + 1
    return piece_of_cell.reshape(smooth.shape), {number + 1: int(top) for number, top in enumerate(tops)}


def _merged(smooth: Floats, piece: NDArray[np.int32], top_of: dict[int, int], grid: Grid) -> NDArray[np.int32]:
    """Return the pieces merged into crowns, by union-find over the passes between them, highest first."""
    height = np.append(-np.inf, smooth.ravel()[[*top_of.values()]])
    place = np.array([(0, 0), *(divmod(top, grid.columns) for top in top_of.values())]) * grid.cell
    parent = np.arange(len(height))

    def root(number: int) -> int:
        while parent[number] != number:
            parent[number] = parent[parent[number]]
            number = int(parent[number])
        return number

    area = np.bincount(piece.ravel(), minlength=len(height)) * grid.cell**2
    passes = _passes(smooth, piece)
    for join_narrow in (False, True):  # bumps of one crown, then crowns that are narrower than any of their height
        for dip, first_piece, second_piece in passes:
            high, low = sorted((root(first_piece), root(second_piece)), key=lambda number: -height[number])
            if high == low:
                continue
            half_window, depth = (WIDTH + WIDER * height[low] ** 2) / 2, height[low] - dip
            distance = float(np.hypot(*(place[high] - place[low])))
            bump = distance < half_window or depth < max(DIP, DIP_SHARE * height[low])
            narrow = area[low] < NARROW * np.pi * half_window**2 and depth < NARROW_DIP * height[low]
            if bump or (join_narrow and narrow):
                parent[low] = high
                area[high] += area[low]
    return np.array([root(number) for number in range(len(height))], dtype=np.int32)[piece]


def _passes(canopy: Floats, piece: NDArray[np.int32]) -> list[tuple[float, int, int]]:
    """Return the passes between pieces that touch, highest first: height, and the numbers of the two pieces."""
    passes = []
    for cells, neighbours in (
        ((slice(None, -1), slice(None)), (slice(1, None), slice(None))),
        ((slice(None), slice(None, -1)), (slice(None), slice(1, None))),
    ):
        first, second = piece[cells], piece[neighbours]
        meet = (first != second) & (first > 0) & (second > 0)
        dip = np.minimum(canopy[cells][meet], canopy[neighbours][meet])
        pair = np.sort(np.column_stack([first[meet], second[meet]]), axis=1)
        passes.append(np.column_stack([dip, pair]))
    rows = np.concatenate(passes)
    order = np.lexsort((rows[:, 2], rows[:, 1], -rows[:, 0]))
    return [(float(dip), int(first), int(second)) for dip, first, second in rows[order]]


def _crown(canopy: Floats, in_piece: Flags, grid: Grid, window: tuple[slice, ...]) -> Crown | None:
    """Return the crown of a merged piece, or None if too little is left of it."""
    top = float(canopy[in_piece].max())
    body = in_piece & (canopy >= CROWN_SHARE * top)
    body = ndimage.binary_fill_holes(ndimage.binary_opening(body) | (body & (canopy >= 0.98 * top)))
    patch, count = ndimage.label(body)
    if count == 0:
        return None
    body = patch == np.argmax(np.bincount(patch.ravel())[1:]) + 1
    if body.sum() * grid.cell**2 < LEAST:
        return None
    outline = _smooth_outline(body, part_of_grid(grid, window))
    rows, columns = np.nonzero(body)
    cells = (rows + window[0].start) * grid.columns + columns + window[1].start
    group = _is_group(outline, top)
    tops = max(_tops(np.where(body, canopy, -np.inf), grid.cell), 2) if group else 1
    return Crown(outline, top, tops, group, np.asarray(cells))


def _smooth_outline(cells: Flags, grid: Grid) -> Polygon:
    """Return the outline of cells without their stair-steps, with about the same area."""
    rough = outline_of(cells, grid)
    smooth = (
        rough.buffer(grid.cell, quad_segs=3)
        .buffer(-1.5 * grid.cell)
        .buffer(0.5 * grid.cell)
        .simplify(0.3 * grid.cell)
    )
    parts = [part for part in getattr(smooth, "geoms", [smooth]) if isinstance(part, Polygon) and not part.is_empty]
    largest = max(parts, key=lambda part: part.area) if parts else rough.convex_hull
    return Polygon(shapely.get_exterior_ring(largest))


def _tops(canopy: Floats, cell: float) -> int:
    """Return how many tops are the highest within the window for their height; touching equals are one top.

    Examples
    --------
    >>> row, column = np.mgrid[:40, :90]
    >>> [_tops(np.maximum(*(tall - np.hypot(row - 20, column - at) for at in (20, 70))), 0.5) for tall in (6, 9, 15)]
    [2, 2, 2]
    """
    tops = np.zeros(canopy.shape, dtype=bool)
    smooth = np.where(np.isfinite(canopy), ndimage.gaussian_filter(np.where(np.isfinite(canopy), canopy, 0), 1), -1)
    for side in range(3, 41, 2):
        window = np.rint((WIDTH + WIDER * np.maximum(canopy, 0) ** 2) / cell)
        chosen = np.isfinite(canopy) & ((np.maximum(window, 3) // 2 * 2 + 1) == side)
        if chosen.any():
            squared = (np.arange(side) - side // 2) ** 2
            disc = np.add.outer(squared, squared) <= (side / 2) ** 2
            tops |= chosen & (ndimage.maximum_filter(smooth, footprint=disc) == smooth)
    return max(int(ndimage.label(tops, structure=SQUARE)[1]), 1)


def _is_group(outline: Polygon, top: float) -> bool:
    """Return whether a crown is too wide, too ragged or too long for one tree of its height."""
    diameter = 2 * np.sqrt(outline.area / np.pi)
    length, width, _ = smallest_rectangle(outline)
    large = diameter > WIDEST
    return bool(
        diameter > WIDEST + WIDEST_SHARE * top
        or (large and outline.area < RAGGED * outline.convex_hull.area)
        or (large and length > LONG * width)
    )
