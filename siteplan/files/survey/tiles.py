"""Which points of one or more LAS or LAZ tiles matter for a property?

The tiles are read twice, in chunks. The first pass finds the highest and lowest point of each cell of 5 m, and so how
far the shadow of each cell reaches. The second keeps the points of cells whose shadow reaches the property, and of
the ground around them. So a tile may be far larger than memory.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy import ndimage
from shapely import Polygon

from siteplan.files.survey.fitted_transform import FittedTransform
from siteplan.files.survey.tile_header import TileHeader, chunks, gps_day
from siteplan.land.frame import LocalFrame
from siteplan.land.grid import Floats, Grid, grid_over
from siteplan.land.returns import HIGH_NOISE, LOW_NOISE, Flight, Returns, concatenated

Flags = NDArray[np.bool_]
Progress = Callable[[float], None]

CHUNK = 500_000  # points that are read at once
CELL = 5.0  # m
BESIDE = 30.0  # m around the property within which all points are kept
AROUND = 3  # cells around a cell that matters that are kept too, for the ground below it
LOCAL = 11  # side, in cells, of the square whose lowest point counts as the ground at its middle
LEAST = 1.5  # m; lower features matter only beside the property
MOST, NEAR_MOST = 3_500_000, 2_000_000  # points kept in all, and beside the property; more are thinned


@dataclass(frozen=True, eq=False)
class Points:
    """The points read from some tiles.

    Attributes
    ----------
    returns : Returns
    flight : Flight
    covered : float
        Share of the property's cells of 5 m that hold points.
    thinned : int
        n, if every n-th point far from the property was kept.
    """

    returns: Returns
    flight: Flight
    covered: float
    thinned: int


@dataclass
class _Coarse:
    """The highest and lowest point of each coarse cell, and how many there are."""

    grid: Grid
    highest: Floats = field(init=False)
    lowest: Floats = field(init=False)
    count: NDArray[np.int64] = field(init=False)

    def __post_init__(self) -> None:
        size = self.grid.rows * self.grid.columns
        self.highest, self.lowest = np.full(size, -np.inf), np.full(size, np.inf)
        self.count = np.zeros(size, dtype=np.int64)

    def add(self, part: Returns) -> None:
        sound = ~np.isin(part.kind, (LOW_NOISE, HIGH_NOISE))
        cells = _cell_numbers(self.grid, part)
        np.maximum.at(self.highest, cells[sound], part.z[sound])
        np.minimum.at(self.lowest, cells[sound], part.z[sound])
        self.count += np.bincount(cells, minlength=len(self.count))


def read_tiles(
    heads: Sequence[TileHeader],
    frame: LocalFrame,
    boundary: Polygon,
    *,
    farthest: float,
    reach: Callable[[Floats], Floats],
    tell: Progress,
) -> Points:
    """Return the points of some tiles that matter.

    Parameters
    ----------
    heads : sequence of TileHeader
        Each lies at least partly within `farthest` of the property.
    frame : LocalFrame
    boundary : Polygon
        Of the property, in the frame. [m]
    farthest : float
        Distance beyond which no feature matters. [m]
    reach : callable
        Returns how far shadows reach, by the height above the property's ground. [m]
    tell : callable
        Called with the share that is read, 0 to 1.

    Raises
    ------
    ValueError
        If a tile is damaged; the message begins with its name.
    """
    area = boundary.envelope.buffer(farthest, join_style="mitre")
    coarse = _Coarse(grid_over(area, CELL))
    days: list[float] = []
    tell(0.0)
    for number, part in _parts(heads, frame, area, days):
        coarse.add(part)
        tell(0.5 * number)
    matters, beside = _cells_that_matter(coarse, boundary, reach)
    count = coarse.count.reshape(coarse.grid.shape)
    count_far = int(count[matters & ~beside].sum())
    count_beside = int(count[beside].sum())
    step_beside = max(1, math.ceil(count_beside / NEAR_MOST))
    step_far = max(step_beside, math.ceil(count_far / (MOST - min(count_beside, NEAR_MOST))))
    chunks_kept = []
    for number, part in _parts(heads, frame, area, []):
        cells = _cell_numbers(coarse.grid, part)
        points = np.flatnonzero(matters.ravel()[cells])
        step = np.where(beside.ravel()[cells[points]], step_beside, step_far)
        points = points[points % step == 0]
        if points.size:
            chunks_kept.append(part.subset(points))  # every n-th point of each chunk
        tell(0.5 + 0.5 * number)
    inside = coarse.grid.inside(boundary)
    if not inside.any():
        inside = coarse.grid.inside(boundary.buffer(CELL))
    covered = float((count[inside] > 0).mean())
    return Points(concatenated(chunks_kept), _flight(heads, days), covered, step_far)


def relevant_points(
    returns: Returns, boundary: Polygon, farthest: float, reach: Callable[[Floats], Floats]
) -> Returns:
    """Return those of points in memory that matter; the parameters are those of `read_tiles`."""
    coarse = _Coarse(grid_over(boundary.envelope.buffer(farthest, join_style="mitre"), CELL))
    coarse.add(returns)
    matters, _ = _cells_that_matter(coarse, boundary, reach)
    return returns.subset(matters.ravel()[_cell_numbers(coarse.grid, returns)])


def _cell_numbers(grid: Grid, part: Returns) -> NDArray[np.intp]:
    """Return the number of the cell that holds each point, counted row by row; points outside count at the edge."""
    rows = np.clip(((grid.north - part.y) / grid.cell).astype(np.intp), 0, grid.rows - 1)
    columns = np.clip(((part.x - grid.west) / grid.cell).astype(np.intp), 0, grid.columns - 1)
    return np.asarray(rows * grid.columns + columns)


def _cells_that_matter(coarse: _Coarse, boundary: Polygon, reach: Callable[[Floats], Floats]) -> tuple[Flags, Flags]:
    """Return the cells whose points are kept, and the cells beside the property, shape (rows, columns)."""
    grid = coarse.grid
    known = np.isfinite(coarse.lowest).reshape(grid.shape)
    lowest = np.where(known, coarse.lowest.reshape(grid.shape), np.inf)
    highest = np.where(known, coarse.highest.reshape(grid.shape), -np.inf)
    inside = grid.inside(boundary.buffer(CELL / 2))
    inside[grid.cell_of(*shapely.point_on_surface(boundary).coords[0])] = True
    distance = np.asarray(ndimage.distance_transform_edt(~inside)) * CELL
    beside = np.asarray(distance <= BESIDE)
    ground = ndimage.minimum_filter(lowest, size=LOCAL, mode="constant", cval=np.inf)
    lowest_beside = lowest[beside & known]
    if not lowest_beside.size:
        return beside, beside
    own_ground = float(np.quantile(lowest_beside, 0.1))
    matters = known & (highest - ground > LEAST) & (reach(np.maximum(highest - own_ground, 0.0)) >= distance - CELL)
    neighbours = np.ones((2 * AROUND + 1, 2 * AROUND + 1), dtype=bool)
    return np.asarray(ndimage.binary_dilation(matters, structure=neighbours) | beside), beside


def _parts(
    heads: Sequence[TileHeader], frame: LocalFrame, area: Polygon, days: list[float]
) -> Iterator[tuple[float, Returns]]:
    """Yield the share that is read, 0 to 1, and the points of each chunk that lie in an area."""
    total, done = sum(head.count for head in heads), 0
    for head in heads:
        transform = FittedTransform(head.system, frame, area)
        box = transform.box(area)
        try:
            for chunk in chunks(head.path, CHUNK):
                done += len(chunk)
                part = _part(chunk, head, transform, box, area, days)
                if part is not None:
                    yield done / max(total, 1), part
        except ValueError as error:
            raise ValueError(f"{head.path.name}: {error}") from error


def _part(
    chunk: Any,
    head: TileHeader,
    transform: FittedTransform,
    box: tuple[float, float, float, float],
    area: Polygon,
    days: list[float],
) -> Returns | None:
    """Return the points of a chunk that lie in an area; None if there are none."""
    x, y = np.asarray(chunk.x), np.asarray(chunk.y)
    points = np.flatnonzero((x >= box[0]) & (x <= box[2]) & (y >= box[1]) & (y <= box[3]))
    if points.size and "withheld" in set(chunk.point_format.dimension_names):
        points = points[np.asarray(chunk.withheld)[points] == 0]
    if not points.size:
        return None
    if head.gps_days:
        times = np.asarray(chunk.gps_time)[points]
        days += [float(times.min()), float(times.max())]
    east, north = transform.to_frame(x[points], y[points])
    west, south, right, top = area.bounds
    inside = (east >= west) & (east <= right) & (north >= south) & (north <= top)
    points = points[inside]
    return_number = np.asarray(chunk.return_number)[points]
    returns_of_pulse = np.asarray(chunk.number_of_returns)[points]
    return Returns(
        x=east[inside],
        y=north[inside],
        z=np.asarray(chunk.z)[points] * (head.metres or 1.0),
        kind=np.asarray(chunk.classification)[points].astype(np.uint8),
        last=return_number >= returns_of_pulse,
        several=returns_of_pulse > 1,
    )


def _flight(heads: Sequence[TileHeader], days: list[float]) -> Flight:
    """Return the days of the pulses, else the days on which the files were made."""
    pulse_days = [day for day in map(gps_day, days) if day is not None]
    if pulse_days:
        return Flight(min(pulse_days), max(pulse_days), by_pulses=True)
    made_on: list[dt.date] = [head.made for head in heads if head.made is not None]
    flight = Flight()
    return replace(flight, first=min(made_on), last=max(made_on)) if made_on else flight
