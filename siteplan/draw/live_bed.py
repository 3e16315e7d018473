"""How much sun does a bed get at the spot it is dragged to, and may it stand there?

The sun engine of the saved property is kept ready; each spot of a moving bed is computed with it, and no file
changes. The figures are those that `siteplan sun` and `turn` give for the bed once it is saved there.
"""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from siteplan.answers import HEADING_STEP, bed_reach, sun_in_positions
from siteplan.land.errors import Fault, InputError
from siteplan.land.features import Bed
from siteplan.land.grid import Grid, grid_over
from siteplan.land.site import Site
from siteplan.land.units import System
from siteplan.place.headings.headings import Headings, compare_headings, turned_beds
from siteplan.place.limits.limits import Limit, LimitIndex, fit_check, limits_by_width
from siteplan.say.place_limits import limit_text
from siteplan.say.placing import heading_sentence
from siteplan.say.safe_text import sentence
from siteplan.sun.bed_sun import BedSun, bed_sun
from siteplan.sun.engine import SunEngine, sun_engine
from siteplan.sun.obstacles.prisms import obstacle_prisms
from siteplan.sun.obstacles.surface_columns import surface_columns

BESIDE = 0.5  # m; the barrow is tipped from cells within this distance of a bed, as in the search for a place


@dataclass(frozen=True, eq=False)
class BedAt:
    """A bed at a spot.

    Attributes
    ----------
    bed : Bed
        As it would be saved there.
    sun : BedSun
    forbidden : Limit or None
        The first limit that it breaks.
    units : str
        The site's: metric or imperial.
    minutes : float or None
        Time of the barrow's round trip; None while it is not known, NaN if the barrow cannot get there. [min]
    """

    bed: Bed
    sun: BedSun
    forbidden: Limit | None
    units: System
    minutes: float | None


class LiveSite:
    """One version of a property, ready for questions about beds that move.

    Parameters
    ----------
    version : str
    site : Site
        The saved site.
    """

    def __init__(self, version: str, site: Site) -> None:
        self.version, self.site = version, site
        self._minutes: dict[str, tuple[Grid, NDArray[np.float64]]] = {}
        self._counting = threading.Lock()
        self._making = threading.Lock()
        self._engine: SunEngine | None = None

    @property
    def engine(self) -> SunEngine:
        """The sun engine with all obstacles; made once, by the thread that needs it first."""
        with self._making:
            if self._engine is None:
                self._engine = sun_engine(self.site)
            return self._engine

    def take_over(self, before: LiveSite) -> None:
        """Take over the sun's path and the sky from an earlier version, if they are the same."""
        old, new = before.site, self.site
        same = old.frame == new.frame and old.sun == new.sun and old.season == new.season
        if before._engine is not None and same and old.timezone == new.timezone:  # of the same class
            prisms = obstacle_prisms(new)
            self._engine = replace(
                before._engine, prisms=prisms, skyline=new.skyline, terrain=new.terrain, columns=surface_columns(new)
            )

    def warm(self, is_newest: Callable[[], bool]) -> None:
        """Prepare the engine and the barrow's ways, bed by bed, as long as `is_newest` returns true."""
        for bed in sorted(self.site.beds, key=lambda bed: not bed.proposed):
            if not is_newest():
                return
            self.at(bed)
            self.count_minutes(bed.id)

    @cached_property
    def limits(self) -> Callable[[Bed], LimitIndex]:
        """The ground on which a bed may not stand."""
        return limits_by_width(self.site)

    def bed(self, bed_id: str, outline: Polygon) -> Bed:
        """Return a bed moved to another outline, or raise InputError if it cannot be there.

        Parameters
        ----------
        bed_id : str
        outline : Polygon
            In the site's frame. [m]
        """
        beds = {bed.id: bed for bed in self.site.beds}
        if bed_id not in beds:
            raise InputError([Fault("", bed_id, "there is no such bed in the property as it is saved")])
        if outline.is_empty or not outline.is_valid or outline.area <= 0:
            raise InputError([Fault("", bed_id, "its outline crosses itself, or holds no ground")])
        if not self.site.boundary.intersects(outline):
            raise InputError([Fault("", bed_id, "lies outside the boundary")])
        try:
            return beds[bed_id].on(shapely.orient_polygons(outline))
        except ValueError as error:
            raise InputError([Fault("", bed_id, str(error))]) from error

    def at(self, bed: Bed) -> BedAt:
        """Return the sun, the broken limit and the barrow's time of a bed at a spot."""
        nearby_limits = self.limits(bed).near(bed_reach(self.site, bed), ignore=bed.id)
        return BedAt(
            bed=bed,
            sun=bed_sun(self.site, bed, self.engine),
            forbidden=fit_check(nearby_limits)(bed.outline),
            units=self.site.units,
            minutes=self._minutes_at(bed),
        )

    def headings(self, bed: Bed) -> Headings:
        """Return what turning the bed about its middle would bring, as `siteplan turn` does."""
        ground = bed_reach(self.site, bed)
        fits = fit_check(self.limits(bed).near(ground, ignore=bed.id), standing=bed.outline)
        sun_at = sun_in_positions(self.site, self.engine.around(ground), turned_beds(bed, step=HEADING_STEP))
        return compare_headings(self.site, bed, sun_at, fits=fits, step=HEADING_STEP)

    def count_minutes(self, bed_id: str) -> None:
        """Find the barrow's ways on the property without a bed, unless they are known; it takes a second or two."""
        from siteplan.haul.access_maps import minutes_field

        with self._counting:
            if bed_id not in self._minutes:
                grid = grid_over(self.site.boundary, self.site.sun.cell)
                self._minutes[bed_id] = grid, minutes_field(self.site, grid, sources=(), without=(bed_id,))

    def _minutes_at(self, bed: Bed) -> float | None:
        """Return the minutes to the nearest cell beside a bed."""
        if bed.id not in self._minutes:
            return None
        grid, minutes = self._minutes[bed.id]
        beside = minutes[grid.inside(bed.outline.buffer(BESIDE))]
        reachable = beside[np.isfinite(beside)]
        return float(reachable.min()) if len(reachable) else float("nan")


def figures(position: BedAt) -> dict[str, Any]:
    """Return a bed's figures as the page shows them; hours have two decimals.

    `forbidden` says why the bed may not stand there, None if it may. `minutes` is None while the ways are being
    found, and if there is no way; `no_way` is true in the second case.
    """
    sun, units = position.sun, position.units
    reachable = position.minutes is not None and np.isfinite(position.minutes)
    forbidden = None if position.forbidden is None else f"Here the bed would {limit_text(position.forbidden, units)}."
    return {
        "season_h": round(sun.season_sun_h, 2),
        "worst_h": round(sun.worst_cell_sun_h, 2),
        "months": [round(float(hours), 2) for hours in sun.month_sun_h],
        "sun_score": round(sun.sun_score, 1),
        "light_class": sun.light_class,
        "forbidden": forbidden,
        "minutes": round(position.minutes, 1) if reachable and position.minutes is not None else None,
        "no_way": position.minutes is not None and not reachable,
    }


def heading_figures(headings: Headings) -> dict[str, Any]:
    """Return what turning the bed would bring, as the page shows it."""
    return {
        "orientation_score": None if headings.orientation_score is None else round(headings.orientation_score, 1),
        "best_heading": round(float(headings.heading[headings.best]), 1),
        "heading": round(float(headings.heading[headings.current]), 1),
        "said": [str(sentence(heading_sentence(headings)))],
    }
