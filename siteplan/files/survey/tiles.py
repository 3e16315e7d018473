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
        at = _cell_numbers(self.grid, part)
        np.maximum.at(self.highest, at[sound], part.z[sound])
        np.minimum.at(self.lowest, at[sound], part.z[sound])
        self.count += np.bincount(at, minlength=len(self.count))


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
    wanted, close = _wanted(coarse, boundary, reach)
    count = coarse.count.reshape(coarse.grid.shape)
    far = int(count[wanted & ~close].sum())
    near = int(count[close].sum())
    dense = max(1, math.ceil(near / NEAR_MOST))
    thinned = max(dense, math.ceil(far / (MOST - min(near, NEAR_MOST))))
    kept = []
    for number, part in _parts(heads, frame, area, []):
        at = _cell_numbers(coarse.grid, part)
        there = np.flatnonzero(wanted.ravel()[at])
        every = np.where(close.ravel()[at[there]], dense, thinned)
        there = there[there % every == 0]
        if there.size:
            kept.append(part.subset(there))  # every n-th point of each chunk
        tell(0.5 + 0.5 * number)
    inside = coarse.grid.inside(boundary)
    if not inside.any():
        inside = coarse.grid.inside(boundary.buffer(CELL))
    covered = float((count[inside] > 0).mean())
    return Points(concatenated(kept), _flight(heads, days), covered, thinned)


def relevant_points(
    returns: Returns, boundary: Polygon, farthest: float, reach: Callable[[Floats], Floats]
) -> Returns:
    """Return those of points in memory that matter; the parameters are those of `read_tiles`."""
    coarse = _Coarse(grid_over(boundary.envelope.buffer(farthest, join_style="mitre"), CELL))
    coarse.add(returns)
    wanted, _ = _wanted(coarse, boundary, reach)
    return returns.subset(wanted.ravel()[_cell_numbers(coarse.grid, returns)])


def _cell_numbers(grid: Grid, part: Returns) -> NDArray[np.intp]:
    """Return the number of the cell that holds each point, counted row by row; points outside count at the edge."""
    rows = np.clip(((grid.north - part.y) / grid.cell).astype(np.intp), 0, grid.rows - 1)
    columns = np.clip(((part.x - grid.west) / grid.cell).astype(np.intp), 0, grid.columns - 1)
    return np.asarray(rows * grid.columns + columns)


def _wanted(coarse: _Coarse, boundary: Polygon, reach: Callable[[Floats], Floats]) -> tuple[Flags, Flags]:
    """Return the cells whose points are kept, and the cells beside the property, shape (rows, columns)."""
    grid = coarse.grid
    known = np.isfinite(coarse.lowest).reshape(grid.shape)
    low = np.where(known, coarse.lowest.reshape(grid.shape), np.inf)
    high = np.where(known, coarse.highest.reshape(grid.shape), -np.inf)
    inside = grid.inside(boundary.buffer(CELL / 2))
    inside[grid.cell_of(*shapely.point_on_surface(boundary).coords[0])] = True
    away = np.asarray(ndimage.distance_transform_edt(~inside)) * CELL
    close = np.asarray(away <= BESIDE)
    ground = ndimage.minimum_filter(low, size=LOCAL, mode="constant", cval=np.inf)
    here = low[close & known]
    if not here.size:
        return close, close
    own = float(np.quantile(here, 0.1))
    matters = known & (high - ground > LEAST) & (reach(np.maximum(high - own, 0.0)) >= away - CELL)
    square = np.ones((2 * AROUND + 1, 2 * AROUND + 1), dtype=bool)
    return np.asarray(ndimage.binary_dilation(matters, structure=square) | close), close


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
    there = np.flatnonzero((x >= box[0]) & (x <= box[2]) & (y >= box[1]) & (y <= box[3]))
    if there.size and "withheld" in set(chunk.point_format.dimension_names):
        there = there[np.asarray(chunk.withheld)[there] == 0]
    if not there.size:
        return None
    if head.gps_days:
        times = np.asarray(chunk.gps_time)[there]
        days += [float(times.min()), float(times.max())]
    east, north = transform.to_frame(x[there], y[there])
    west, south, right, top = area.bounds
    inside = (east >= west) & (east <= right) & (north >= south) & (north <= top)
    there = there[inside]
    number, of = np.asarray(chunk.return_number)[there], np.asarray(chunk.number_of_returns)[there]
    return Returns(
        x=east[inside],
        y=north[inside],
        z=np.asarray(chunk.z)[there] * (head.metres or 1.0),
        kind=np.asarray(chunk.classification)[there].astype(np.uint8),
        last=number >= of,
        several=of > 1,
    )


def _flight(heads: Sequence[TileHeader], days: list[float]) -> Flight:
    """Return the days of the pulses, else the days on which the files were made."""
    sent = [day for day in map(gps_day, days) if day is not None]
    if sent:
        return Flight(min(sent), max(sent), by_pulses=True)
    made: list[dt.date] = [head.made for head in heads if head.made is not None]
    flight = Flight()
    return replace(flight, first=min(made), last=max(made)) if made else flight
