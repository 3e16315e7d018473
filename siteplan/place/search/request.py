"""What exactly is asked for, and on what ground?

The wish for a bed, with the site's own settings where nothing is said, and the maps made ready for the scan.
It leaves out looking for an answer.
"""

from __future__ import annotations

import calendar
import dataclasses
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from shapely import Polygon

from siteplan.land.features import Bed
from siteplan.land.site import Site
from siteplan.place.headings.alignment import Edges, edges, headings_to_try
from siteplan.place.limits.limits import Limit, aisle_of, limits
from siteplan.place.merit.merit import Weights, WorkMaps, barrow_trips, weights_of, work_maps
from siteplan.place.search.candidates import Spots, spots_of
from siteplan.place.search.footprint import Form, form_of, form_of_size
from siteplan.place.search.footprint_scan import Scan, scan
from siteplan.place.search.no_fit import NO_WAY
from siteplan.sun.sun_maps import SunMaps

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False, kw_only=True)
class Request:
    """One question for a place, made ready.

    Attributes
    ----------
    site : Site
    maps : SunMaps
    bed : Bed
        The bed that is moved about; only its outline changes.
    form : Form
        What the bed looks like from above.
    count : int
        How many beds.
    minutes : ndarray, shape (rows, columns), or None
        Of one round trip by barrow. [min]
    sun : ndarray, shape (rows, columns)
        Season's sun, cut at plenty. [h a day]
    need, plenty : float
        For this bed's crop. [h a day]
    weights : Weights
    ignore : frozenset of str
        Features that forbid nothing.
    edges : Edges
        That a bed may lie square to.
    headings : ndarray, shape (k,)
        To be tried. [degrees]
    work : WorkMaps
    inside : ndarray of bool, shape (rows, columns)
        The property.
    month_share : ndarray, shape (12,), or None
        How much each month counts, by its days; None for the growing season.
    """

    site: Site
    maps: SunMaps
    bed: Bed
    form: Form
    count: int
    minutes: Floats | None
    sun: Floats
    need: float
    plenty: float
    weights: Weights
    ignore: frozenset[str]
    edges: Edges
    headings: Floats
    work: WorkMaps
    inside: NDArray[np.bool_]
    month_share: Floats | None = None

    @cached_property
    def map_h(self) -> Floats:
        """The sun on the ground over the months that count, shape (rows, columns). [h a day]"""
        if self.month_share is None:
            return self.maps.season_h
        return np.asarray(np.tensordot(self.month_share, self.maps.month_h, axes=1))

    def bed_on(self, outline: Polygon) -> Bed:
        """Return the bed with another outline."""
        return self.bed.on(outline)

    def limits(self, form: Form) -> tuple[Limit, ...]:
        """Return what forbids ground to a bed of that form."""
        return limits(self.site, self.maps.grid, ignore=self.ignore, width=form.width)

    def scan(self, limited: Sequence[Limit], form: Form) -> Scan:
        """Return what every cell and heading would give a bed of that form."""
        names = kinds_of(limited)
        bits = np.zeros(self.maps.grid.shape, dtype=np.int64)
        for limit in limited:
            where, barred = limit.part
            bits[where][barred] |= 1 << names.index(limit.kind)
        return scan(
            bits=bits,
            sun=self.sun,
            minutes=self.minutes,
            property_cells=self.inside,
            headings=self.headings,
            form=form,
            aisle=aisle_of(self.site.place),
            cell=self.maps.grid.cell,
            no_way=len(names) - 1,
        )

    def spots(self, found: Scan, form: Form) -> Spots:
        """Return the scan's free spots, for a bed of that form, with what they are worth."""
        return spots_of(
            found,
            grid=self.maps.grid,
            work=self.work,
            weights=self.weights,
            plenty=self.plenty,
            form=form,
            timed=self.minutes is not None,
        )


def kinds_of(limited: Sequence[Limit]) -> list[str]:
    """Return the kinds of limit, the boundary first and the barrow's way last; their order gives each its bit."""
    return [*dict.fromkeys(limit.kind for limit in limited), NO_WAY]


def make_request(
    site: Site,
    maps: SunMaps,
    *,
    size: tuple[float | None, float | None, float | None],
    shape: Polygon | None,
    count: int | None,
    minutes: Floats | None,
    water: Floats | None,
    door: Floats | None,
    soil_season_h: Floats | None,
    like: Bed | None,
    ignore: Collection[str] | None,
    weights: Weights | None,
    step: float,
    months: Collection[int] | None,
) -> Request:
    """Return the question made ready; `find_places` says what its parts mean."""
    form, height = _form(site, size, shape, like)
    _same_cells(maps, minutes=minutes, water=water, door=door, soil_season_h=soil_season_h)
    proposed = {one.id for one in site.beds if one.proposed}
    ignored = frozenset(proposed if ignore is None else ignore)
    bed = _bed(site, like, form, height=height, ignored=ignored)
    need = site.sun.need if bed.need is None else bed.need
    plenty = site.sun.plenty * need / site.sun.need
    around = edges(site)
    share = month_share(months, site.sun.year)
    sun = maps.season_h if soil_season_h is None else soil_season_h
    if share is not None:
        sun = np.tensordot(share, maps.month_h, axes=1)
    mean_height = sum(frame.outline.area * frame.height for frame in bed.frames) / bed.outline.area
    trips = barrow_trips(site, area=form.outline.area, height=mean_height)
    return Request(
        site=site,
        maps=maps,
        bed=bed,
        form=form,
        count=site.place.count if count is None else count,
        minutes=minutes,
        sun=np.minimum(sun, plenty),
        need=need,
        plenty=plenty,
        weights=weights or weights_of(site.place),
        ignore=ignored,
        edges=around,
        headings=_headings(around, form, step),
        work=work_maps(site, maps.grid, water=water, door=door, trips=trips),
        inside=maps.grid.inside(site.boundary),
        month_share=share,
    )


def month_share(months: Collection[int] | None, year: int) -> Floats | None:
    """Return how much each month counts, by its days, shape (12,); None for the growing season.

    Examples
    --------
    >>> month_share([4, 5], 2026).round(3).tolist()
    [0.0, 0.0, 0.0, 0.492, 0.508, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0]
    """
    if months is None:
        return None
    if not months or not all(1 <= month <= 12 for month in months):
        raise ValueError(f"months are {sorted(months)}, must be some of 1 to 12")
    days = np.array([calendar.monthrange(year, month)[1] if month in months else 0 for month in range(1, 13)])
    return np.asarray(days / days.sum(), dtype=np.float64)


def _same_cells(maps: SunMaps, **arrays: Floats | None) -> None:
    """Raise a ValueError where a map handed in has other cells than the sun's."""
    for name, values in arrays.items():
        if values is not None and values.shape != maps.grid.shape:
            raise ValueError(f"{name} has the shape {values.shape}, must have that of the maps: {maps.grid.shape}")


def _headings(around: Edges, form: Form, step: float) -> Floats:
    """Return the headings to try, both ways round where half a turn does not bring the form back onto itself."""
    half = headings_to_try(around, step=step)
    return half if form.period == 180 else np.concatenate([half, half + 180])


def _form(
    site: Site, size: tuple[float | None, float | None, float | None], shape: Polygon | None, like: Bed | None
) -> tuple[Form, float]:
    """Return what the bed looks like and how high it is; the long side is the length whichever was named so."""
    length = site.place.length if size[0] is None else size[0]
    width = site.place.width if size[1] is None else size[1]
    height = (site.place.height if like is None else like.height) if size[2] is None else size[2]
    dataclasses.replace(site.place, length=length, width=width, height=height)  # refused where one cannot be
    return form_of_size(length, width) if shape is None else form_of(shape), height


def _bed(site: Site, like: Bed | None, form: Form, *, height: float, ignored: Collection[str]) -> Bed:
    """Return the bed that is moved about: under its own id where its old place is free, else under a new one."""
    taken = {feature.id for feature in site.features()}
    if like is not None and like.id in ignored:
        return _of_height(like.on(form.outline), height)
    name = "new bed"
    while name in taken:
        name += "+"
    if like is None:
        return Bed(id=name, outline=form.outline, height=height, proposed=True)
    return dataclasses.replace(_of_height(like.on(form.outline), height), id=name, proposed=True)


def _of_height(bed: Bed, height: float) -> Bed:
    """Return the bed that high; tiers of another height in all are then one frame."""
    return bed if bed.height == height else dataclasses.replace(bed, height=height, tiers=())
