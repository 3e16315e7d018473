"""Which way from each pile to the side of each bed that can be reached?

Least times out and home from each source serve all beds; where no barrow gets there, the last metres go by bucket.
It leaves out what is carried.
"""

from __future__ import annotations

import copy
import functools
import threading
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from siteplan.haul.ground.barriers import gates_crossed
from siteplan.haul.ground.cost_field import CostField, cost_field, on_foot, regated, routing_grid
from siteplan.haul.ground.standing_places import beside
from siteplan.haul.haul_results import Route
from siteplan.haul.routes.router import LeastTimes, Router
from siteplan.land.cores import on_all_cores
from siteplan.land.features import Bed
from siteplan.land.grid import Floats, Grid
from siteplan.land.site import Site

Cells = NDArray[np.int32]

MOST_BY_BUCKET = 60.0  # m; farther is no way in. Common practice, no source


@dataclass(frozen=True, eq=False)
class Source:
    """A place from which material is wheeled, with the least times from and to it.

    Attributes
    ----------
    id : str
    cells : ndarray, shape (n, 2)
        Where the barrow stands to be loaded; none where it cannot get there.
    out, home : LeastTimes
        Loaded from it, and empty back to it.
    """

    id: str
    cells: Cells
    out: LeastTimes
    home: LeastTimes

    @functools.cached_property
    def round_trip(self) -> Floats:
        """Out loaded and back empty, infinite without a way, shape (rows, columns). [s]"""
        return self.out.seconds + self.home.seconds


class Ways:
    """The ways over one property; what was asked once is kept.

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
        ground = cost_field(site, grid or routing_grid(site), wet=wet, without=without)
        self._use(ground, Router(ground))

    def _use(self, ground: CostField, router: Router) -> None:
        self.ground, self.router = ground, router
        self._beside: dict[str, Cells] = {}
        self._routes: dict[tuple[str, bytes, str], Route | None] = {}
        self._trips: dict[tuple[tuple[str, ...], bytes], Floats] = {}
        self._feet: list[Router] = []
        self._one_at_a_time = threading.Lock()

    def over(self, site: Site) -> Ways:
        """Return the same ways for a site on which nothing else stands: with other piles, as to say where to tip."""
        other = copy.copy(self)
        other.site = site
        return other

    def with_gates_of(self, site: Site) -> Ways:
        """Return the ways over a site that differs in its gates alone; what they do not touch is taken from here."""
        other = copy.copy(self)
        other.site = site
        ground = regated(self.ground, self.site, site)
        other._use(ground, Router(ground, like=self.router))  # noqa: SLF001  # its own kind
        return other

    def beside(self, bed: Bed) -> Cells:
        """Return the cells beside a bed at which the barrow is tipped, shape (n, 2)."""
        if bed.id not in self._beside:
            self._beside[bed.id] = beside(self.ground, bed)
        return self._beside[bed.id]

    def source(self, source_id: str, cells: Cells) -> Source:
        """Return a source that is loaded at some cells."""
        out = self.router.least_times(cells, loaded=True)
        ratio = self.router.same_way
        if ratio is not None:
            home = LeastTimes(out.seconds / ratio, out.before, loaded=False, towards=True)
        else:
            home = self.router.least_times(cells, loaded=False, towards=True)
        return Source(source_id, cells, out, home)

    def sources(self, cells: Mapping[str, Cells]) -> dict[str, Source]:
        """Return several sources at once, by their ids."""
        self.router.prepare()
        found = on_all_cores(lambda one: self.source(*one), list(cells.items()))
        return dict(zip(cells, found, strict=True))

    def out_and_back(self, beds: Sequence[Bed], cells: Cells) -> Floats:
        """Return the time from some cells, loaded, to beside beds, and back empty, shape (beds, cells). [s]

        It is sought from the beds or from the cells, whichever are fewer.
        """
        key = (tuple(bed.id for bed in beds), cells.tobytes())
        if key not in self._trips:
            self.router.prepare()
            stands = [self.beside(bed) for bed in beds]
            if len(beds) <= len(cells):
                found = np.array(list(on_all_cores(lambda stand: self._to(stand, cells), stands)))
            else:
                found = np.array(list(on_all_cores(lambda cell: self._from(cell, stands), list(cells)))).T
            self._trips[key] = found.reshape(len(beds), len(cells))
        return self._trips[key]

    def _to(self, stand: Cells, cells: Cells) -> Floats:
        """Return the time from each of some cells to the nearest of those beside a bed, and back. [s]"""
        at, ratio = tuple(cells.T), self.router.same_way
        out = self.router.least_times(stand, loaded=True, towards=True).seconds[at]
        if ratio is not None:
            return np.asarray(out * (1 + 1 / ratio))
        return np.asarray(out + self.router.least_times(stand, loaded=False).seconds[at])

    def _from(self, cell: Cells, stands: Sequence[Cells]) -> Floats:
        """Return the time from a cell to the nearest of those beside each bed, and back. [s]"""
        ratio = self.router.same_way
        out = self.router.least_times(cell, loaded=True, keep=False).seconds
        if ratio is not None:
            return _least(out, stands) * (1 + 1 / ratio)
        home = self.router.least_times(cell, loaded=False, towards=True, keep=False).seconds
        return _least(out, stands) + _least(home, stands)

    def routes(self, pairs: Sequence[tuple[Source, Bed]]) -> list[Route | None]:
        """Return the routes of several pairs at once."""
        return list(on_all_cores(lambda pair: self.route(*pair), pairs))

    def route(self, source: Source, bed: Bed) -> Route | None:
        """Return the quickest route to a bed, None where there is none even with buckets."""
        key = (source.id, source.cells.tobytes(), bed.id)
        if key not in self._routes:
            cell = _quickest(source.round_trip, self.beside(bed))
            self._routes[key] = (
                self._with_buckets(source, bed) if cell is None else self._route(source, bed.id, cell, bucket=0.0)
            )
        return self._routes[key]

    @property
    def _foot(self) -> Router:
        with self._one_at_a_time:  # routes are sought in several threads
            if not self._feet:
                self._feet.append(Router(on_foot(self.site, self.ground.grid, without=self._without)))
                self._feet[0].prepare()
        return self._feet[0]

    def _with_buckets(self, source: Source, bed: Bed) -> Route | None:
        reached = np.argwhere(np.isfinite(source.round_trip)).astype(np.int32)
        beside_bed = beside(self._foot.ground, bed)
        if not len(reached) or not len(beside_bed):
            return None
        times = self._foot.least_times(reached, loaded=False)
        last = _quickest(times.seconds, beside_bed)
        if last is None:
            return None
        steps = self._foot.steps(times, last)
        line, _ = self._foot.way(times, last)
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
        pieces = self.ground.along(line)
        return Route(
            from_id=source.id,
            to_id=bed_id,
            line=line,
            length_m=float(line.length),
            climb_m=float((pieces.length * np.maximum(pieces.rise, 0)).sum()),
            loaded_s=loaded,
            empty_s=empty,
            back=back,
            bucket_m=bucket,
            steepest=float(np.maximum(pieces.rise, 0).max(initial=0.0)),
            steepest_down=float(np.maximum(-pieces.rise, 0).max(initial=0.0)),
            cross_fall=float(pieces.cross_fall[pieces.length > 0].max(initial=0.0)),
            gates=gates_crossed(self.site, (line, back)),
        )


def _least(seconds: Floats, stands: Sequence[Cells]) -> Floats:
    """Return the least time of each of several groups of cells, infinite for one of none. [s]"""
    return np.array([seconds[cells[:, 0], cells[:, 1]].min(initial=np.inf) for cells in stands])


def _quickest(seconds: Floats, cells: Cells) -> tuple[int, int] | None:
    """Return the cell of least time, None where none can be reached."""
    if not len(cells):
        return None
    times = seconds[cells[:, 0], cells[:, 1]]
    best = int(np.argmin(times))
    return (int(cells[best, 0]), int(cells[best, 1])) if np.isfinite(times[best]) else None
