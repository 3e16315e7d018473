"""How are many points looked up at once?

Square tile by square tile, on all cores: the points of a tile share the pieces that may matter to them and their look
at the ground farther off. Where much stands, larger blocks of tiles first choose what is far. It leaves out the sums.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from siteplan.land.cores import on_all_cores
from siteplan.sun.lookup.culling import NEGLIGIBLE, pieces_that_matter
from siteplan.sun.obstacles.bodies import Weakening
from siteplan.sun.obstacles.packed_prisms import Pieces
from siteplan.sun.path.sky_table import Sky, Steps

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Integers = NDArray[np.int64]
Flags = NDArray[np.bool_]
Progress = Callable[[float], None]

TILE = 3.0  # m; side of the blocks whose points share a list of pieces that matter
REGION = 8  # tiles along the side of a block that shares the choice of what is far
MANY = 100  # pieces; for less it is quicker to draw all that may matter to a tile than to ask what hides what
ALONE = 250  # points; a bed's, as a search asks them by the hundred
FEW = 8  # points; for less likewise


@dataclass(frozen=True, eq=False)
class Scene:
    """What points are looked up in.

    Attributes
    ----------
    pieces : Pieces
        All that may stand.
    standing : ndarray of int, shape (m,)
        Numbers of the pieces that do, ascending.
    sky : Sky
        What comes from where.
    weakening : Weakening
        What the bodies take of it.
    ground : callable
        Slope of the horizon of ground and far hills for n points near each other and m azimuths, shape (1 or n, m).
    """

    pieces: Pieces
    standing: Integers
    sky: Sky
    weakening: Weakening
    ground: Callable[[Floats, Floats], Singles]

    @cached_property
    def crowded(self) -> bool:
        """Whether so much stands that it is worth while to ask what hides what."""
        return len(self.standing) > MANY


def sums_by_tile(scene: Scene, points: Floats, progress: Progress | None) -> Singles:
    """Return the sum of the sky's table over what each point sees of it, shape (n, columns).

    Parameters
    ----------
    scene : Scene
    points : ndarray, shape (n, 3)
        East, north and absolute height. [m]
    progress : callable or None
        Called with the share done, up to 1.
    """
    from siteplan.sun.lookup.sky_lookup import surroundings, visible_sums  # the compiler, for those who ask

    sums = np.zeros((len(points), scene.sky.mean.shape[1]), dtype=np.float32)
    regions = _regions(scene, points) if scene.crowded and len(points) > ALONE else {}

    def look_up(tile: Integers) -> Singles:
        here = np.ascontiguousarray(points[tile])
        near, ground = _near(scene, here, regions.get(_region(here[0])))
        return visible_sums(here, surroundings(here, near, scene.pieces, ground), scene.sky, scene.weakening)

    tiles, done = list(_blocks(points, TILE)), 0
    for tile, part in zip(tiles, on_all_cores(look_up, tiles, alone=len(points) <= ALONE), strict=True):
        sums[tile] = part
        done += len(tile)
        if progress is not None:
            progress(done / len(points))
    return sums


def steps_by_tile(scene: Scene, points: Floats, steps: Steps) -> Floats:
    """Return the share of direct sun at each step of the sun's path, summed over all points, shape (steps,)."""
    from siteplan.sun.lookup.sky_lookup import light_by_step, surroundings

    order = np.lexsort((steps.slope, steps.bin))  # neighbours in the table one after the other
    steps = Steps(steps.bin[order], steps.slope[order], steps.column[order])
    light = np.zeros(len(order))
    for tile in _blocks(points, TILE):
        here = np.ascontiguousarray(points[tile])
        near, ground = _near(scene, here, None)
        around = surroundings(here, near, scene.pieces, ground)
        light[order] += light_by_step(here, around, scene.sky.table, steps, scene.weakening)
    return light


def within_reach(scene: Scene, points: Floats, pieces: Integers) -> Flags:
    """Return whether some pieces may take more than a negligible time from each point, shape (n,).

    It holds for whole tiles, whatever else stands there.
    """
    reached = np.zeros(len(points), dtype=np.bool_)
    for tile in _blocks(points, TILE):
        reached[tile] = len(pieces_that_matter(points[tile], scene.pieces, scene.sky, pieces)) > 0
    return reached


def _near(scene: Scene, here: Floats, region: Integers | None) -> tuple[Integers, Singles]:
    """Return the pieces that may matter to a tile's points, out of those of its region, and the ground's horizon."""
    sky = scene.sky
    if region is None:
        near = pieces_that_matter(here, scene.pieces, sky, scene.standing)
    else:
        near = pieces_that_matter(here, scene.pieces, sky, region, NEGLIGIBLE / 2)
    ground = scene.ground(here, sky.azimuth)
    if scene.crowded and len(here) >= FEW:
        from siteplan.sun.lookup.occlusion_culling import not_hidden

        low = np.maximum(ground.min(axis=0), sky.lowest)
        near = not_hidden(here, near, scene.pieces, sky.table, sky.highest, low)
    return near, ground


def _regions(scene: Scene, points: Floats) -> dict[tuple[int, int], Integers]:
    """Return, for each block of tiles, the pieces that may matter to it."""
    from siteplan.sun.lookup.occlusion_culling import not_hidden

    found, sky = {}, scene.sky
    for block in _blocks(points, TILE * REGION):
        here = points[block]
        near = pieces_that_matter(here, scene.pieces, sky, scene.standing, NEGLIGIBLE / 2)
        low = np.zeros(len(sky.table.lowest), dtype=np.float32)
        found[_region(here[0])] = not_hidden(here, near, scene.pieces, sky.table, sky.highest, low)
    return found


def _region(point: Floats) -> tuple[int, int]:
    return int(np.floor(point[0] / (TILE * REGION))), int(np.floor(point[1] / (TILE * REGION)))


def _blocks(points: Floats, side: float) -> Iterator[Integers]:
    """Yield the numbers of the points of each square block.

    Few points are parted from their own corner on, so that a bed lies in as few blocks as may be.
    """
    if not len(points):
        return
    corner = points[:, :2].min(axis=0) if len(points) <= ALONE else np.zeros(2)
    east, north = np.floor((points[:, :2] - corner).T / side).astype(np.int64)
    order = np.lexsort((east, north))
    ends = np.flatnonzero((np.diff(east[order]) != 0) | (np.diff(north[order]) != 0)) + 1
    yield from np.split(order, ends)
