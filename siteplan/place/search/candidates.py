"""Which spots are free, and what is the merit of each by the maps?

The result of the scan with the costs added, one entry for each cell and heading; exact outlines are made on request.
The exact sun is computed in `refinement`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from siteplan.land.grid import Grid
from siteplan.place.limits.limits import TOUCH
from siteplan.place.merit.merit import Weights, WorkMaps, cost_in_sun, sun_that_counts
from siteplan.place.search.footprint import Form
from siteplan.place.search.footprint_scan import Scan

Floats = NDArray[np.float64]
Indices = NDArray[np.intp]


@dataclass(frozen=True, eq=False, kw_only=True)
class Spots:
    """Free spots, one entry each.

    Attributes
    ----------
    cell : ndarray of int, shape (n,)
        Number of the cell under the middle, row by row.
    x, y, heading : ndarray, shape (n,)
        [m], [degrees]
    mean, worst, sun : ndarray, shape (n,)
        By the map: mean of hours capped at plenty, worst cell, and the hours that count. [h a day]
    minutes, water, door, drop, cost : ndarray, shape (n,)
        Time of one barrow trip [min]; distance to tap and door [m]; fall of the ground under the bed [m]; all costs
        in hours of sun [h a day].
    merit : ndarray, shape (n,)
        By the map: sun less cost, as a share of plenty.
    form : Form
        Of the bed.
    plenty : float
        [h a day]
    """

    cell: NDArray[np.int64]
    x: Floats
    y: Floats
    heading: Floats
    mean: Floats
    worst: Floats
    sun: Floats
    minutes: Floats
    water: Floats
    door: Floats
    drop: Floats
    cost: Floats
    merit: Floats
    form: Form
    plenty: float

    def __len__(self) -> int:
        """Return the number of spots."""
        return len(self.x)

    def outlines(self, indices: Indices, *, shrink: float = 0.0) -> NDArray[np.object_]:
        """Return the beds' outlines, each side moved inward by `shrink`. [m]"""
        return self.form.outlines(self.x[indices], self.y[indices], self.heading[indices], shrink=shrink)

    def clear_of(self, ground: BaseGeometry, indices: Indices) -> NDArray[np.bool_]:
        """Return which spots' outlines do not overlap `ground`; touching it is allowed."""
        shapely.prepare(ground)
        return ~np.asarray(shapely.intersects(ground, self.outlines(indices, shrink=TOUCH)), dtype=bool)


def spots_of(
    scan: Scan, *, grid: Grid, work: WorkMaps, weights: Weights, plenty: float, form: Form, timed: bool
) -> Spots:
    """Return the scan's spots with their costs and merits.

    Parameters
    ----------
    scan : Scan
    grid : Grid
    work : WorkMaps
    weights : Weights
    plenty : float
        [h a day]
    form : Form
        Of the bed.
    timed : bool
        Whether the scan was given minutes.
    """
    row, column = scan.row, scan.column
    unknown = np.full(len(row), np.nan)
    minutes = scan.minutes if timed else unknown
    water = unknown if work.water is None else work.water[row, column]
    door = unknown if work.door is None else work.door[row, column]
    sun = sun_that_counts(scan.mean, scan.worst, weights=weights, plenty=plenty)
    heading = scan.headings[scan.heading]
    drop = _drop(work, row, column, heading, form)
    cost = cost_in_sun(minutes, water, door, drop, weights=weights, work=work)
    return Spots(
        cell=row.astype(np.int64) * grid.columns + column,
        x=grid.x[column],
        y=grid.y[row],
        heading=heading,
        mean=scan.mean,
        worst=scan.worst,
        sun=sun,
        minutes=minutes,
        water=water,
        door=door,
        drop=drop,
        cost=cost,
        merit=(sun - cost) / plenty,
        form=form,
        plenty=plenty,
    )


def _drop(work: WorkMaps, row: NDArray[np.int32], column: NDArray[np.int32], heading: Floats, form: Form) -> Floats:
    """Return the fall of the ground under each bed, taken as a plane with the slope at the bed's middle. [m]"""
    if work.rise_east is None or work.rise_north is None:
        return np.zeros(len(row))
    east, north = work.rise_east[row, column], work.rise_north[row, column]
    turn = np.radians(heading)
    along = np.abs(east * np.sin(turn) + north * np.cos(turn)) * form.length
    across = np.abs(east * np.cos(turn) - north * np.sin(turn)) * form.width
    return np.asarray(np.nan_to_num(along + across))


def merit_maps(spots: Spots, best_of_cells: Indices, grid: Grid) -> tuple[Floats, Floats]:
    """Return the best merit and its heading [degrees] on each cell, both (rows, columns); NaN where nothing is free.

    `best_of_cells` holds the number of the best spot of each cell that has one.
    """
    merit = np.full(grid.rows * grid.columns, np.nan)
    heading = merit.copy()
    merit[spots.cell[best_of_cells]] = spots.merit[best_of_cells]
    heading[spots.cell[best_of_cells]] = spots.heading[best_of_cells] % 180
    return merit.reshape(grid.shape), heading.reshape(grid.shape)
