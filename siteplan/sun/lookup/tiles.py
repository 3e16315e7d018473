"""How are many points looked up at once?

In square tiles, on all cores. The points of a tile share the pieces that may matter to them, and the horizon of the
ground farther off. With many pieces, larger blocks of tiles ("regions") first choose among the distant ones. The
lookup of each point is in `sky_lookup`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from siteplan.land.cores import on_all_cores
from siteplan.sun.lookup.culling import NEGLIGIBLE, pieces_that_matter
from siteplan.sun.obstacles.bodies import Attenuation
from siteplan.sun.obstacles.packed_prisms import Pieces
from siteplan.sun.path.sky_table import Sky, Steps

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Integers = NDArray[np.int64]
Flags = NDArray[np.bool_]
Progress = Callable[[float], None]

TILE = 3.0  # m; side of a tile, whose points share a list of pieces
REGION = 8  # tiles along the side of a region, which chooses among distant pieces for its tiles
MANY = 100  # pieces; occlusion culling pays off beyond this number
FEW = 8  # points of a tile; occlusion culling pays off from this number on
ALONE = 250  # points; no more than these, such as a bed's, are looked up on one core and without regions


@dataclass(frozen=True, eq=False)
class Scene:
    """Obstacles, sky and ground in which points are looked up.

    Attributes
    ----------
    pieces : Pieces
        Obstacles of several scenes.
    standing : ndarray of int, shape (m,)
        Numbers of the pieces that stand in this scene, ascending.
    sky : Sky
        What comes from each direction.
    attenuation : Attenuation
        How much the pieces' bodies let through.
    ground : callable
        Takes n points near each other and m azimuths [degrees]; gives the slope of the horizon of ground and far
        hills, shape (1 or n, m).
    """

    pieces: Pieces
    standing: Integers
    sky: Sky
    attenuation: Attenuation
    ground: Callable[[Floats, Floats], Singles]

    @cached_property
    def crowded(self) -> bool:
        """Whether there are so many pieces that occlusion culling pays off."""
        return len(self.standing) > MANY


def sums_by_tile(scene: Scene, points: Floats, progress: Progress | None) -> Singles:
    """Return the sum of the sky's table over the part that each point sees, shape (n, columns).

    Parameters
    ----------
    scene : Scene
    points : ndarray, shape (n, 3)
        East, north and absolute height. [m]
    progress : callable or None
        Called with the share done, up to 1.
    """
    from siteplan.sun.lookup.sky_lookup import surroundings, visible_sums  # imported here: numba takes long to load

    sums = np.zeros((len(points), scene.sky.mean.shape[1]), dtype=np.float32)
    regions = _regions(scene, points) if scene.crowded and len(points) > ALONE else {}

    def look_up(tile: Integers) -> Singles:
        tile_points = np.ascontiguousarray(points[tile])
        near, ground = _near(scene, tile_points, regions.get(_region(tile_points[0])))
        around = surroundings(tile_points, near, scene.pieces, ground)
        return visible_sums(tile_points, around, scene.sky, scene.attenuation)

    tiles, points_done = list(_blocks(points, TILE)), 0
    for tile, tile_sums in zip(tiles, on_all_cores(look_up, tiles, alone=len(points) <= ALONE), strict=True):
        sums[tile] = tile_sums
        points_done += len(tile)
        if progress is not None:
            progress(points_done / len(points))
    return sums


def steps_by_tile(scene: Scene, points: Floats, steps: Steps) -> Floats:
    """Return the share of direct sun at each step of the sun's path, summed over all points, shape (steps,)."""
    from siteplan.sun.lookup.sky_lookup import light_by_step, surroundings

    order = np.lexsort((steps.slope, steps.bin))  # so that neighbours in the table are read one after the other
    steps = Steps(steps.bin[order], steps.slope[order], steps.column[order])
    light = np.zeros(len(order))
    for tile in _blocks(points, TILE):
        tile_points = np.ascontiguousarray(points[tile])
        near, ground = _near(scene, tile_points, None)
        around = surroundings(tile_points, near, scene.pieces, ground)
        light[order] += light_by_step(tile_points, around, scene.sky.table, steps, scene.attenuation)
    return light


def within_reach(scene: Scene, points: Floats, pieces: Integers) -> Flags:
    """Return whether some pieces may hide more than a negligible sun time from each point, shape (n,).

    The answer is the same for all points of a tile, and does not consider other pieces that may hide these.
    """
    reached = np.zeros(len(points), dtype=np.bool_)
    for tile in _blocks(points, TILE):
        reached[tile] = len(pieces_that_matter(points[tile], scene.pieces, scene.sky, pieces)) > 0
    return reached


def _near(scene: Scene, points: Floats, region: Integers | None) -> tuple[Integers, Singles]:
    """Return the pieces that may matter to a tile's points, and the slope of the ground's horizon.

    The pieces are chosen from those of its region, or from all that stand if `region` is None.
    """
    sky = scene.sky
    if region is None:
        near = pieces_that_matter(points, scene.pieces, sky, scene.standing)
    else:
        near = pieces_that_matter(points, scene.pieces, sky, region, NEGLIGIBLE / 2)
    ground = scene.ground(points, sky.azimuth)
    if scene.crowded and len(points) >= FEW:
        from siteplan.sun.lookup.occlusion_culling import visible_pieces

        low = np.maximum(ground.min(axis=0), sky.lowest)
        near = visible_pieces(points, near, scene.pieces, sky.table, sky.highest, low)
    return near, ground


def _regions(scene: Scene, points: Floats) -> dict[tuple[int, int], Integers]:
    """Return the pieces that may matter to each region."""
    from siteplan.sun.lookup.occlusion_culling import visible_pieces

    pieces_by_region, sky = {}, scene.sky
    for block in _blocks(points, TILE * REGION):
        block_points = points[block]
        near = pieces_that_matter(block_points, scene.pieces, sky, scene.standing, NEGLIGIBLE / 2)
        low = np.zeros(len(sky.table.lowest_level), dtype=np.float32)
        region = _region(block_points[0])
        pieces_by_region[region] = visible_pieces(block_points, near, scene.pieces, sky.table, sky.highest, low)
    return pieces_by_region


def _region(point: Floats) -> tuple[int, int]:
    """Return the column and row of the region that a point lies in."""
    return int(np.floor(point[0] / (TILE * REGION))), int(np.floor(point[1] / (TILE * REGION)))


def _blocks(points: Floats, side: float) -> Iterator[Integers]:
    """Yield the numbers of the points of each square block.

    Blocks of few points start at the points' own corner, so that a bed falls into as few blocks as possible.
    """
    if not len(points):
        return
    corner = points[:, :2].min(axis=0) if len(points) <= ALONE else np.zeros(2)
    east, north = np.floor((points[:, :2] - corner).T / side).astype(np.int64)
    order = np.lexsort((east, north))
    ends = np.flatnonzero((np.diff(east[order]) != 0) | (np.diff(north[order]) != 0)) + 1
    yield from np.split(order, ends)
