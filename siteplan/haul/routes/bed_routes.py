"""Which route leads from each pile to each bed?

The least times from each source and back to it are computed once for all beds. Where no barrow reaches a bed, the
last metres are walked with buckets. Loads are computed in `loads`.
"""

from __future__ import annotations

import copy
import functools
import threading
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from siteplan.haul.ground.cost_field import CostField, cost_field, routing_grid, walking_field, with_changed_gates
from siteplan.haul.ground.standing_places import cells_beside
from siteplan.haul.haul_results import Route
from siteplan.haul.routes.router import LeastTimes, Router
from siteplan.land.barriers import gates_crossed
from siteplan.land.cores import on_all_cores
from siteplan.land.features import Bed
from siteplan.land.grid import Floats, Grid
from siteplan.land.site import Site

Cells = NDArray[np.int32]

MOST_BY_BUCKET = 60.0  # m; a longer way by bucket counts as no route. Common practice, no source
NO_WAY = 1e5  # s; time of a round trip without a route, longer than any with one


@dataclass(frozen=True, eq=False)
class Source:
    """A place from which material is wheeled, with the least times from it and back to it.

    Attributes
    ----------
    id : str
    cells : ndarray, shape (n, 2)
        Where the barrow stands to be loaded; none if it cannot get there.
    out, home : LeastTimes
        Loaded from the source, and empty back to it.
    """

    id: str
    cells: Cells
    out: LeastTimes
    home: LeastTimes

    @functools.cached_property
    def round_trip(self) -> Floats:
        """Time out loaded and back empty; infinite without a route, shape (rows, columns). [s]"""
        return self.out.seconds + self.home.seconds


class RouteFinder:
    """Finds the routes over one property, with caches for those already computed.

    Parameters
    ----------
    site : Site
    grid : Grid, optional
        For the routes; by default fine enough for the barrow.
    wet : bool, optional
        Whether the ground is wet; by default the site's setting.
    without : collection of str
        Ids of features to leave out.
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

    def for_site(self, site: Site) -> RouteFinder:
        """Return this finder for a site with the same ground and barriers, such as one with other drop zones."""
        finder = copy.copy(self)
        finder.site = site
        return finder

    def with_gates_of(self, site: Site) -> RouteFinder:
        """Return a finder for a site that differs only in its gates; only the ground near them is computed again."""
        finder = copy.copy(self)
        finder.site = site
        ground = with_changed_gates(self.ground, self.site, site)
        finder._use(ground, Router(ground, like=self.router))  # noqa: SLF001  # its own kind
        return finder

    def cells_beside(self, bed: Bed) -> Cells:
        """Return the cells beside a bed from which the barrow is tipped into it, shape (n, 2)."""
        if bed.id not in self._beside:
            self._beside[bed.id] = cells_beside(self.ground, bed)
        return self._beside[bed.id]

    def source(self, source_id: str, cells: Cells) -> Source:
        """Return a source whose barrow is loaded at some cells, shape (n, 2)."""
        out = self.router.least_times(cells, loaded=True)
        ratio = self.router.loaded_to_empty
        if ratio is not None:
            home = LeastTimes(out.seconds / ratio, out.before, loaded=False, towards=True)
        else:
            home = self.router.least_times(cells, loaded=False, towards=True)
        return Source(source_id, cells, out, home)

    def sources(self, cells: Mapping[str, Cells]) -> dict[str, Source]:
        """Return several sources by their ids, computed on all cores; `cells` is keyed by the ids."""
        self.router.prepare()
        sources = on_all_cores(lambda id_and_cells: self.source(*id_and_cells), list(cells.items()))
        return dict(zip(cells, sources, strict=True))

    def out_and_back(self, beds: Sequence[Bed], cells: Cells) -> Floats:
        """Return the time from each of some cells, loaded, to each bed, and back empty, shape (beds, cells). [s]

        The searches start from the beds or from the cells, whichever are fewer.
        """
        key = (tuple(bed.id for bed in beds), cells.tobytes())
        if key not in self._trips:
            self.router.prepare()
            stands = [self.cells_beside(bed) for bed in beds]
            if len(beds) <= len(cells):
                times = np.array(list(on_all_cores(lambda stand: self._times_to_bed(stand, cells), stands)))
            else:
                times = np.array(list(on_all_cores(lambda cell: self._times_from_cell(cell, stands), list(cells)))).T
            self._trips[key] = times.reshape(len(beds), len(cells))
        return self._trips[key]

    def _times_to_bed(self, stand: Cells, cells: Cells) -> Floats:
        """Return the time from each of some cells to the nearest cell beside a bed, and back, shape (cells,). [s]"""
        indices, ratio = tuple(cells.T), self.router.loaded_to_empty
        out = self.router.least_times(stand, loaded=True, towards=True).seconds[indices]
        if ratio is not None:
            return np.asarray(out * (1 + 1 / ratio))
        return np.asarray(out + self.router.least_times(stand, loaded=False).seconds[indices])

    def _times_from_cell(self, cell: Cells, stands: Sequence[Cells]) -> Floats:
        """Return the time from a cell to the nearest cell beside each bed, and back, shape (beds,). [s]"""
        ratio = self.router.loaded_to_empty
        out = self.router.least_times(cell, loaded=True, keep=False).seconds
        if ratio is not None:
            return _least(out, stands) * (1 + 1 / ratio)
        home = self.router.least_times(cell, loaded=False, towards=True, keep=False).seconds
        return _least(out, stands) + _least(home, stands)

    def routes(self, pairs: Sequence[tuple[Source, Bed]]) -> list[Route | None]:
        """Return the routes of several pairs, computed on all cores; None for a pair without a route."""
        return list(on_all_cores(lambda pair: self.route(*pair), pairs))

    def route(self, source: Source, bed: Bed) -> Route | None:
        """Return the quickest route to a bed; None if there is none even with buckets."""
        key = (source.id, source.cells.tobytes(), bed.id)
        if key not in self._routes:
            cell = _quickest(source.round_trip, self.cells_beside(bed))
            self._routes[key] = (
                self._with_buckets(source, bed) if cell is None else self._route(source, bed.id, cell, bucket=0.0)
            )
        return self._routes[key]

    @property
    def _foot(self) -> Router:
        with self._one_at_a_time:  # routes are computed in several threads
            if not self._feet:
                self._feet.append(Router(walking_field(self.site, self.ground.grid, without=self._without)))
                self._feet[0].prepare()
        return self._feet[0]

    def _with_buckets(self, source: Source, bed: Bed) -> Route | None:
        """Return the route that ends with buckets, by the shortest way on foot; None if that is too long."""
        reached_cells = np.argwhere(np.isfinite(source.round_trip)).astype(np.int32)
        beside_bed = cells_beside(self._foot.ground, bed)
        if not len(reached_cells) or not len(beside_bed):
            return None
        times = self._foot.least_times(reached_cells, loaded=False)
        end = _quickest(times.seconds, beside_bed)
        if end is None:
            return None
        steps = self._foot.steps(times, end)
        line, _ = self._foot.quickest_line(times, end)
        if line.length > MOST_BY_BUCKET:
            return None
        row, column = (int(index) for index in steps[0])
        return self._route(source, bed.id, (row, column), bucket=max(line.length, self.ground.grid.cell))

    def _route(self, source: Source, bed_id: str, cell: tuple[int, int], *, bucket: float) -> Route:
        """Return the route from a source to a cell; `bucket` is the length of the way from there to the bed. [m]"""
        line, loaded = self.router.quickest_line(source.out, cell)
        if self.router.loaded_to_empty is not None:
            back, empty = line.reverse(), loaded / self.router.loaded_to_empty
        else:
            back, empty = self.router.quickest_line(source.home, cell)
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
    """Return the least time in each group of cells, infinite for an empty group. [s]"""
    return np.array([seconds[cells[:, 0], cells[:, 1]].min(initial=np.inf) for cells in stands])


def _quickest(seconds: Floats, cells: Cells) -> tuple[int, int] | None:
    """Return the cell with the least time; None if none is reached."""
    if not len(cells):
        return None
    times = seconds[cells[:, 0], cells[:, 1]]
    quickest = int(np.argmin(times))
    return (int(cells[quickest, 0]), int(cells[quickest, 1])) if np.isfinite(times[quickest]) else None
