"""How high is the ground, by heights measured with a tape and a level?

A few points of kind level, or one fall in [ground] of site.toml, become the site's terrain.
`land/measured_ground.py` computes the surface.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Annotated

import numpy as np
import shapely
from shapely import MultiPoint, Polygon, box
from shapely.geometry.base import BaseGeometry

from siteplan.files.remarks import Remarks, label
from siteplan.land.features import Level
from siteplan.land.grid import Grid, grid_over
from siteplan.land.record import Record
from siteplan.land.terrain import Terrain
from siteplan.land.units import length_text
from siteplan.land.values import Quantity, Side

FINEST = 0.5  # m; smallest cell of the ground; else a two-hundredth of the drawing's extent
MARGIN = 5.0  # m around the features
SAME_PLACE = 0.01  # m
STEEPEST = 1.0  # rise over run between two levels; more is a wall, or a mistake
FEW = 0.95  # share of the property that the levels should surround


@dataclass(frozen=True, kw_only=True)
class Ground(Record):
    """A plane that falls one way, for ground where one measurement is enough.

    `over` is None if the fall is that from one end of the property to the other. [m]
    """

    fall: Annotated[
        float | None, Quantity("length", above=0, most=200), "how much lower the ground is at its lower end"
    ] = None
    toward: Annotated[float | None, Side(), "where it falls to, such as north"] = None
    over: Annotated[
        float | None, Quantity("length", above=0, most=3000), "after what distance; across the property if left out"
    ] = None

    def _conflicts(self) -> Iterator[str]:
        if (self.fall is None) != (self.toward is None):
            yield "fall and toward belong together: how much lower the ground is, and on which side"
        if self.over is not None and self.fall is None:
            yield "over is the distance of a fall: give fall and toward as well"
        if self.fall is not None and self.over is not None and self.fall > STEEPEST * self.over:
            yield f"fall is {self.fall:g} m over {self.over:g} m, steeper than one in one; swap them?"


def measured_terrain(
    levels: Sequence[Level],
    ground: Ground,
    boundary: Polygon,
    shapes: Sequence[BaseGeometry],
    remarks: Remarks,
    *,
    file: str,
) -> Terrain | None:
    """Return the ground by levels, else by a single fall; None if neither is given, or a fault is noted.

    Parameters
    ----------
    boundary : Polygon
        In the frame. [m]
    shapes : sequence of shapely geometry
        The other features, in the frame. [m]
    file : str
        Of the levels, for messages.
    """
    grid = _grid(boundary, shapes)
    if levels:
        if ground.fall is not None:
            text = "Levels are drawn, so the fall in [ground] of site.toml is not used."
            remarks.caution("fall-unused", "", text)
        return _by_levels(levels, boundary, grid, remarks, file)
    if ground.fall is None or ground.toward is None:
        return None
    from siteplan.land.measured_ground import tilted_ground  # imported here: it loads scipy

    middle = boundary.centroid
    over = ground.over or _across(boundary, ground.toward)
    if ground.fall > STEEPEST * over:
        text = f"fall is {remarks.length(ground.fall)} over the property's {remarks.length(over)}"
        remarks.fault("site.toml", "[ground]", f"{text}, steeper than one in one; is it the right unit?")
        return None
    return tilted_ground(ground.fall, over, ground.toward, (middle.x, middle.y), grid)


def _across(boundary: Polygon, azimuth: float) -> float:
    """Return the extent of a property along an azimuth. [m]"""
    turn = math.radians(azimuth)
    along = shapely.get_coordinates(boundary) @ np.array([math.sin(turn), math.cos(turn)])
    return float(np.ptp(along))


def _grid(boundary: Polygon, shapes: Sequence[BaseGeometry]) -> Grid:
    """Return the grid over all features."""
    west, south, east, north = shapely.total_bounds([boundary, *shapes]).tolist()
    cell = max(FINEST, max(east - west, north - south) / 200)
    return grid_over(box(west, south, east, north).buffer(MARGIN, join_style="mitre"), cell)


def _by_levels(levels: Sequence[Level], boundary: Polygon, grid: Grid, remarks: Remarks, file: str) -> Terrain | None:
    before = len(remarks.faults)
    for level, second in itertools.combinations(levels, 2):
        _check_pair(level, second, file, remarks)
    if len(remarks.faults) > before:
        return None
    from siteplan.land.measured_ground import ground_between  # imported here: it loads scipy

    hull = MultiPoint([level.place for level in levels]).convex_hull
    surrounded = hull.intersection(boundary).area / boundary.area
    if len(levels) < 3 or hull.area == 0:
        text = (
            "Fewer than three levels, or all on one line, do not tell how the ground falls to the side; there it is "
            "taken as level. Measure one more, off the line."
        )
        remarks.caution("levels-few", "", text)
    elif surrounded < FEW:
        text = (
            f"The levels surround {surrounded:.0%} of the property. Beyond them the ground is taken to go on with "
            "their common slope. Measure a few more toward the edges."
        )
        remarks.caution("levels-few", "", text)
    points = [(level.place.x, level.place.y, level.elevation) for level in levels]
    return ground_between(np.array(points), grid)


def _check_pair(level: Level, second: Level, file: str, remarks: Remarks) -> None:
    """Note two levels at the same place, and two with too steep a slope between them."""
    distance = float(shapely.distance(level.place, second.place))
    rise = abs(level.elevation - second.elevation)
    name = f'level "{second.id[:60]}"'
    if distance < SAME_PLACE:
        remarks.fault(file, label("level", level.id), f"lies at the same place as {name}; take one of them out")
    elif rise > STEEPEST * distance:
        text = (
            f"It lies {length_text(rise, remarks.system)} above or below {name}, which is only "
            f"{length_text(distance, remarks.system)} away. Unless a wall stands between them, one of the two "
            "is wrong."
        )
        remarks.caution_once("levels-steep", "", level.id, text)
