"""How high is the horizon of the ground itself around a point?

The steepest slope up to the ground along rays two degrees apart, out to the edge of the raster. In the nearest cells
the slope is exact; farther off the ground is sampled in strides that grow with the distance, so that a ridge narrower
than a stride may be missed. Between rays the horizon is interpolated linearly. Neighbouring points share the horizon
of the ground farther off.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from siteplan.land.compiled import compiled_fused, inlined
from siteplan.land.grid import Grid
from siteplan.land.terrain import Terrain

Floats = NDArray[np.float64]

RAYS = 180
GROWTH = 1 / 30  # stride from one sample to the next as a share of the distance; at least half a cell
SUBSAMPLES = 4  # parts into which a stride is divided again if its end is steeper than its start
NEAREST = 2.0  # cells within which the slope is exact
AT_FOOT = 1e-9  # cells; edges nearer to each other than this are crossed at once
NEAR = 8.0  # m; the horizon of ground farther off changes little from one point to the next
NODES = 2.0  # m; largest spacing of the nodes at which the far ground is sampled


def ground_slopes(points: Floats, terrain: Terrain, azimuth: Floats) -> Floats:
    """Return the slope (rise over run) up to the highest ground in each direction, at least 0.

    Parameters
    ----------
    points : ndarray, shape (n, 3)
        [m]
    terrain : Terrain
        Ground of unknown height (NaN) hides nothing.
    azimuth : ndarray, shape (m,)
        [degrees]

    Returns
    -------
    ndarray, shape (n, m)

    Notes
    -----
    Between the centres of four cells the ground is interpolated bilinearly. A point on the ground sees it rise from
    its own foot: a slope hides the sky below its own plane. For a point below the ground, as in a bed that is let
    into a slope, the ground within one cell is seen from the surface above the point.

    Examples
    --------
    >>> from siteplan.land.grid import Grid
    >>> grid = Grid(west=-50, north=50, cell=1, rows=100, columns=100)
    >>> bank = Terrain(grid, np.where(np.broadcast_to(grid.y[:, None], grid.shape) < -10, 5.0, 0.0))
    >>> ground_slopes(np.zeros((1, 3)), bank, np.array([0.0, 180.0])).round(2)
    array([[0.  , 0.48]])
    """
    rays = _Rays(azimuth)
    return rays.between(_ray_slopes(points, terrain, rays.needed, 0.0, np.inf))


def shared_slopes(points: Floats, terrain: Terrain, azimuth: Floats) -> Floats:
    """Return the slopes of `ground_slopes` for neighbouring points, at about the same height above the ground.

    Parameters are those of `ground_slopes`.

    Notes
    -----
    The ground within NEAR is looked up for each point. Farther ground is looked up at nodes at most NODES apart, and
    interpolated bilinearly between them.
    """
    corner = points[:, :2].min(axis=0)
    extent = points[:, :2].max(axis=0) - corner
    count = np.maximum(np.ceil(extent / NODES).astype(np.int64), 1) + 1
    if count.prod() >= len(points):
        return ground_slopes(points, terrain, azimuth)
    rays = _Rays(azimuth)
    step = np.maximum(extent, 1e-9) / (count - 1)
    column, row = (axis.ravel() for axis in np.meshgrid(np.arange(count[0]), np.arange(count[1])))
    x, y = corner[0] + column * step[0], corner[1] + row * step[1]
    above = np.nanmean(points[:, 2] - terrain.height_at(points[:, 0], points[:, 1]))
    height = terrain.height_at(x, y) + above
    nodes = np.column_stack([x, y, np.where(np.isfinite(height), height, points[:, 2].mean())])
    far = _ray_slopes(nodes, terrain, rays.needed, NEAR, np.inf).reshape(count[1], count[0], RAYS)
    east, north = ((points[:, :2] - corner) / step).T
    west_node = np.minimum(east.astype(np.int64), count[0] - 2)
    south_node = np.minimum(north.astype(np.int64), count[1] - 2)
    part_east, part_north = (east - west_node)[:, None], (north - south_node)[:, None]
    lower = far[south_node, west_node] * (1 - part_east) + far[south_node, west_node + 1] * part_east
    upper = far[south_node + 1, west_node] * (1 - part_east) + far[south_node + 1, west_node + 1] * part_east
    near = _ray_slopes(points, terrain, rays.needed, 0.0, NEAR)
    return rays.between(np.maximum(near, lower * (1 - part_north) + upper * part_north))


class _Rays:
    """The rays on either side of some directions, for linear interpolation between them."""

    def __init__(self, azimuth: Floats) -> None:
        place = np.asarray(azimuth, dtype=np.float64) % 360 * (RAYS / 360)
        self.left = place.astype(np.int64) % RAYS
        self.part = place - np.floor(place)
        self.needed = np.zeros(RAYS, dtype=np.bool_)
        self.needed[self.left] = self.needed[(self.left + 1) % RAYS] = True

    def between(self, slopes: Floats) -> Floats:
        """Interpolate slopes along rays, shape (n, RAYS), to the directions, shape (n, m)."""
        return np.asarray(slopes[:, self.left] * (1 - self.part) + slopes[:, (self.left + 1) % RAYS] * self.part)


def _ray_slopes(points: Floats, terrain: Terrain, needed: NDArray[np.bool_], begin: float, end: float) -> Floats:
    """Return the slopes along rays up to the ground between two distances, shape (n, RAYS)."""
    slopes = np.zeros((len(points), RAYS))
    from_distance, nearer_grid = begin, terrain.grid
    for ground in (terrain, *terrain.beyond):
        grid = ground.grid
        if ground is not terrain:  # a farther raster counts from the edge of the nearer one on
            from_distance = max(begin, _to_edge(points, nearer_grid) - 2 * grid.cell)
        nearer_grid = grid
        if from_distance > end or not np.isfinite(ground.highest) or min(grid.shape) < 2:
            continue
        corner = np.array([grid.west + grid.cell / 2, grid.north - grid.cell / 2, grid.cell])
        elevation = np.ascontiguousarray(ground.elevation, dtype=np.float64)
        _raise_ray_slopes(points, elevation, corner, ground.highest, needed, max(from_distance, 0.0), end, slopes)
    return slopes


def _to_edge(points: Floats, grid: Grid) -> float:
    """Return the least distance of points from the edge of the grid that they lie on; negative beyond it. [m]"""
    (west, south), (east, north) = points[:, :2].min(axis=0), points[:, :2].max(axis=0)
    return float(min(west - grid.west, south - grid.south, grid.east - east, grid.north - north))


@compiled_fused
def _raise_ray_slopes(
    points: Floats, elevation: Floats, corner: Floats, highest: float, needed: NDArray[np.bool_], begin: float,
    end: float, slopes: Floats,
) -> None:  # fmt: skip
    """Raise the slopes, shape (n, RAYS), to the ground; `corner` is x, y of the first cell's centre, and its side."""
    cell = corner[2]
    for ray in range(RAYS):
        if not needed[ray]:
            continue
        east, north = np.sin(2 * np.pi * ray / RAYS) / cell, np.cos(2 * np.pi * ray / RAYS) / cell
        for i in range(len(points)):
            column, row, height = (points[i, 0] - corner[0]) / cell, (corner[1] - points[i, 1]) / cell, points[i, 2]
            steepest, distance = slopes[i, ray], begin
            if begin == 0.0:
                distance, near_end = NEAREST * cell, min(end / cell, NEAREST)
                steepest = _rise_nearby(
                    elevation, row, column, height, -north * cell, east * cell, near_end, cell, steepest
                )
            previous = distance
            while distance <= end and highest - height > steepest * distance:
                ground = _height(elevation, row - distance * north, column + distance * east)
                if ground == np.inf:
                    break
                if ground - height > steepest * distance:  # false where the height is not known
                    steepest = (ground - height) / distance
                    if distance - previous > cell:
                        steepest = _rise_between(
                            elevation, row, column, height, north, east, previous, distance, steepest
                        )
                previous = distance
                distance += max(0.5 * cell, GROWTH * distance)
            slopes[i, ray] = steepest


@inlined
def _rise_between(
    elevation: Floats, row: float, column: float, height: float, north: float, east: float, previous: float,
    distance: float, steepest: float,
) -> float:  # fmt: skip
    """Return the steepest slope, also between two samples of a ray: the steepest point may lie there."""
    for number in range(1, SUBSAMPLES):
        between = distance + (previous - distance) * number / SUBSAMPLES
        ground = _height(elevation, row - between * north, column + between * east)
        steepest = max(steepest, (ground - height) / between) if np.isfinite(ground) else steepest
    return steepest


@inlined
def _rise_nearby(
    elevation: Floats, row: float, column: float, height: float, down: float, across: float, end: float, cell: float,
    steepest: float,
) -> float:  # fmt: skip
    """Return the exact steepest slope up to the ground in the cells around a point; lengths but `height` in cells.

    Bilinear ground along a ray within one cell is a parabola: it is steepest at one of its ends, or where the line of
    sight is tangent to it.
    """
    foot = _height(elevation, row, column)
    foot = max(height, foot) if np.isfinite(foot) else height
    to_row = (np.floor(row) + (down > 0) - row) / down if down != 0 else np.inf
    to_column = (np.floor(column) + (across > 0) - column) / across if across != 0 else np.inf
    distance, ground = 0.0, _height(elevation, row, column)
    while distance < end:
        start, ground_at_start = distance, ground
        while to_row <= start + AT_FOOT:
            to_row += abs(1 / down)
        while to_column <= start + AT_FOOT:
            to_column += abs(1 / across)
        distance = min(to_row, to_column, end)
        ground = _height(elevation, row + distance * down, column + distance * across)
        middle = _height(elevation, row + (start + distance) / 2 * down, column + (start + distance) / 2 * across)
        if not np.isfinite(ground_at_start + middle + ground):
            continue
        eye = foot if start < 1 else height
        bend = 2 * (ground_at_start - 2 * middle + ground) / (distance - start) ** 2
        rise = (ground - ground_at_start) / (distance - start) - bend * (distance - start)
        base = ground_at_start - rise * start + bend * start**2 - eye
        steepest = max(steepest, (ground - eye) / (distance * cell))
        if start == 0.0 and base >= 0.0:  # it stands on the ground
            steepest = max(steepest, rise / cell)
        elif bend < 0 and base < 0 and start**2 < base / bend < distance**2:
            steepest = max(steepest, (rise - 2 * bend * start - 2 * np.sqrt(base * bend)) / cell)
    return steepest


@compiled_fused
def _height(elevation: Floats, row: float, column: float) -> float:
    """Return the bilinear height between four cells' centres: NaN if one is unknown, infinite off the raster. [m]"""
    rows, columns = elevation.shape
    if column < 0 or row < 0 or column > columns - 1 or row > rows - 1:
        return np.inf
    top, left = min(int(row), rows - 2), min(int(column), columns - 2)
    down, across = row - top, column - left
    upper = elevation[top, left] * (1 - across) + elevation[top, left + 1] * across
    lower = elevation[top + 1, left] * (1 - across) + elevation[top + 1, left + 1] * across
    return float(upper * (1 - down) + lower * down)
