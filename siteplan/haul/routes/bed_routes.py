"""Which way from each pile to the side of each bed that can be reached?

One field out and one home for each source serve all beds; where no barrow gets there, the last metres go by bucket.
It leaves out what is carried.
"""

from __future__ import annotations

import copy
import functools
from collections.abc import Collection, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from shapely import LineString

from siteplan.haul.ground.cost_field import ground_cost, on_foot, routing_grid
from siteplan.haul.ground.standing_places import beside
from siteplan.haul.results import GroundCost, Route
from siteplan.haul.routes.router import Field, Router
from siteplan.land.features import Bed
from siteplan.land.grid import Floats, Grid
from siteplan.land.site import Site

Cells = NDArray[np.int32]

MOST_BY_BUCKET = 60.0  # m; farther is no way in. Common practice, no source


@dataclass(frozen=True, eq=False)
class Source:
    """A place from which material is wheeled, with its fields.

    Attributes
    ----------
    id : str
    cells : ndarray, shape (n, 2)
        Where the barrow stands to be loaded; none where it cannot get there.
    out, home : Field
        Loaded from it, and empty back to it.
    """

    id: str
    cells: Cells
    out: Field
    home: Field

    @functools.cached_property
    def round_trip(self) -> Floats:
        """Out loaded and back empty, infinite without a way, shape (rows, columns). [s]"""
        return self.out.seconds + self.home.seconds


class Ways:
    """The ways over one property.

    Parameters
    ----------
    site : Site
    grid : Grid, optional
        For the routes; fine enough for the barrow when not given.
    wet : bool, optional
        Whether the ground is wet; as the site says when not given.
    without : collection of str
        Ids of features that are thought away.
    """

    def __init__(
        self, site: Site, *, grid: Grid | None = None, wet: bool | None = None, without: Collection[str] = ()
    ) -> None:
        self.site = site
        self._without = tuple(without)
        self.ground: GroundCost = ground_cost(site, grid or routing_grid(site), wet=wet, without=without)
        self.router = Router(self.ground)

    def over(self, site: Site) -> Ways:
        """Return the same ways for a site on which nothing else stands: with other piles, as to say where to tip."""
        other = copy.copy(self)
        other.site = site
        return other

    def source(self, source_id: str, cells: Cells) -> Source:
        """Return a source that is loaded at some cells, with its two fields."""
        out = self.router.field(cells, loaded=True)
        ratio = self.router.same_way
        if ratio is not None:
            home = Field(out.seconds / ratio, out.before, loaded=False, towards=True)
        else:
            home = self.router.field(cells, loaded=False, towards=True)
        return Source(source_id, cells, out, home)

    def sources(self, cells: Mapping[str, Cells]) -> dict[str, Source]:
        """Return several sources at once, by their ids."""
        self.router.prepare()
        with ThreadPoolExecutor() as threads:  # the compiled loops leave the others free to run
            return dict(zip(cells, threads.map(self.source, cells, cells.values()), strict=True))

    def out_and_back(self, cells: Cells) -> Floats:
        """Return the time from each cell, loaded, to the nearest of some cells, and back empty. [s]"""
        out = self.router.field(cells, loaded=True, towards=True)
        return np.asarray(out.seconds + self.router.field(cells, loaded=False).seconds)

    def routes(self, pairs: Sequence[tuple[Source, Bed]]) -> list[Route | None]:
        """Return the routes of several pairs at once."""
        with ThreadPoolExecutor() as threads:
            return list(threads.map(lambda pair: self.route(*pair), pairs))

    @functools.cached_property
    def _foot(self) -> Router:
        return Router(on_foot(self.site, self.ground.grid, without=self._without))

    def route(self, source: Source, bed: Bed) -> Route | None:
        """Return the quickest route to a bed, None where there is none even with buckets."""
        cell = _quickest(source.round_trip, beside(self.ground, bed.outline, own=bed.id))
        if cell is not None:
            return self._route(source, bed.id, cell, bucket=0.0)
        return self._with_buckets(source, bed)

    def _with_buckets(self, source: Source, bed: Bed) -> Route | None:
        reached = np.argwhere(np.isfinite(source.round_trip)).astype(np.int32)
        beside_bed = beside(self._foot.ground, bed.outline, own=bed.id)
        if not len(reached) or not len(beside_bed):
            return None
        field = self._foot.field(reached, loaded=False)
        last = _quickest(field.seconds, beside_bed)
        if last is None:
            return None
        steps = self._foot.steps(field, last)
        line, _ = self._foot.way(field, last)
        if line.length > MOST_BY_BUCKET:
            return None
        row, column = (int(value) for value in steps[0])
        return self._route(source, bed.id, (row, column), bucket=max(line.length, self.ground.grid.cell))

    def _route(self, source: Source, bed_id: str, cell: tuple[int, int], *, bucket: float) -> Route:
        line, loaded = self.router.way(source.out, cell)
        if self.router.same_way is not None:
            back, empty = line.reverse(), loaded / self.router.same_way
        else:
            back, empty = self.router.way(source.home, cell)
        climb, steepest = self.climb(line)
        return Route(
            from_id=source.id,
            to_id=bed_id,
            line=line,
            length_m=float(line.length),
            climb_m=climb,
            loaded_s=loaded,
            empty_s=empty,
            back=back,
            bucket_m=bucket,
            steepest=steepest,
        )

    def climb(self, line: LineString) -> tuple[float, float]:
        """Return all that a line rises [m], and its steepest rise [rise/run]."""
        lengths, rise, _ = self.router.slopes(line)
        return float((lengths * np.maximum(rise, 0)).sum()), float(np.maximum(rise, 0).max(initial=0.0))


def _quickest(seconds: Floats, cells: Cells) -> tuple[int, int] | None:
    """Return the cell of least time, None where none can be reached."""
    if not len(cells):
        return None
    times = seconds[cells[:, 0], cells[:, 1]]
    best = int(np.argmin(times))
    return (int(cells[best, 0]), int(cells[best, 1])) if np.isfinite(times[best]) else None
