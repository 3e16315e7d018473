"""What exactly does a search look for, and on which maps?

The request for a bed, completed by the site's settings, and the maps prepared for the scan. The search itself is in
`search`.
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
from siteplan.place.limits.limits import Limit, aisle_of, limits, room_at_wall
from siteplan.place.merit.merit import Weights, WorkMaps, barrow_trips, weights_of, work_maps
from siteplan.place.search.candidates import Spots, spots_of
from siteplan.place.search.footprint import Form, form_of, form_of_size
from siteplan.place.search.footprint_scan import Scan, scan
from siteplan.place.search.no_fit import NO_WAY
from siteplan.sun.bed_sun import need_for, plenty_for
from siteplan.sun.sun_maps import SunMaps

Floats = NDArray[np.float64]

LEAST_PLENTY = 0.25  # h a day; also of a bed whose crops want no sun, since a merit is a share of plenty


@dataclass(frozen=True, eq=False, kw_only=True)
class Request:
    """One search for a place, with its maps and settings.

    Attributes
    ----------
    site : Site
    maps : SunMaps
    bed : Bed
        The bed to be placed; only its outline changes.
    form : Form
        Its outline at the origin.
    count : int
        Number of beds.
    minutes : ndarray, shape (rows, columns), or None
        Time of one round trip by barrow. [min]
    sun : ndarray, shape (rows, columns)
        Season's sun, capped at plenty. [h a day]
    need, plenty : float
        For this bed's crop. [h a day]
    weights : Weights
    ignore : frozenset of str
        Ids of features that forbid nothing.
    edges : Edges
        That a bed may lie square to.
    headings : ndarray, shape (k,)
        Headings to try. [degrees]
    work : WorkMaps
    inside : ndarray of bool, shape (rows, columns)
        Cells of the property.
    month_share : ndarray, shape (12,), or None
        Weight of each month, by its days; None for the growing season.
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
        """Sun on the ground over the months that count, not capped, shape (rows, columns). [h a day]"""
        if self.month_share is None:
            return self.maps.season_h
        return np.asarray(np.tensordot(self.month_share, self.maps.month_h, axes=1))

    def bed_on(self, outline: Polygon) -> Bed:
        """Return the bed with another outline."""
        return self.bed.on(outline)

    def limits(self, form: Form) -> tuple[Limit, ...]:
        """Return the limits for a bed of this form."""
        return limits(self.site, self.maps.grid, ignore=self.ignore, width=form.width)

    def scan(self, all_limits: Sequence[Limit], form: Form) -> Scan:
        """Return the free spots for a bed of this form, with their sun by the map."""
        names = kinds_of(all_limits)
        bits = np.zeros(self.maps.grid.shape, dtype=np.int64)
        for limit in all_limits:
            window, forbidden = limit.part
            bits[window][forbidden] |= 1 << names.index(limit.kind)
        return scan(
            bits=bits,
            sun=self.sun,
            minutes=self.minutes,
            property_cells=self.inside,
            headings=self.headings,
            form=form,
            # no farther than a wall may be near: the barrow is not tipped over it
            aisle=min(aisle_of(self.site.place), room_at_wall(self.site.place, form.width)),
            cell=self.maps.grid.cell,
            no_way=len(names) - 1,
        )

    def spots(self, scan: Scan, form: Form) -> Spots:
        """Return the scan's free spots for a bed of this form, with their costs and merits."""
        return spots_of(
            scan,
            grid=self.maps.grid,
            work=self.work,
            weights=self.weights,
            plenty=self.plenty,
            form=form,
            timed=self.minutes is not None,
        )


def kinds_of(all_limits: Sequence[Limit]) -> list[str]:
    """Return the kinds of limit, the boundary first and the barrow's way last; a kind's position is its bit."""
    return [*dict.fromkeys(limit.kind for limit in all_limits), NO_WAY]


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
    """Return a request from the parameters of `find_places`, which describes them."""
    form, height = _form(site, size, shape, like)
    _same_cells(maps, minutes=minutes, water=water, door=door, soil_season_h=soil_season_h)
    proposed = {bed.id for bed in site.beds if bed.proposed}
    ignored = frozenset(proposed if ignore is None else ignore)
    bed = _bed(site, like, form, height=height, ignored=ignored)
    plenty = max(plenty_for(site, bed), LEAST_PLENTY)
    site_edges = edges(site)
    share = month_share(months, site.sun.year)
    mean_height = sum(frame.outline.area * frame.height for frame in bed.frames) / bed.outline.area
    trips = barrow_trips(site, area=form.outline.area, height=mean_height)
    return Request(
        site=site,
        maps=maps,
        bed=bed,
        form=form,
        count=site.place.count if count is None else count,
        minutes=minutes,
        sun=np.minimum(_scanned_sun(maps, soil_season_h, share), plenty),
        need=need_for(site, bed),
        plenty=plenty,
        weights=weights or weights_of(site.place),
        ignore=ignored,
        edges=site_edges,
        headings=_headings(site_edges, form, step),
        work=work_maps(site, maps.grid, water=water, door=door, trips=trips),
        inside=maps.grid.inside(site.boundary),
        month_share=share,
    )


def month_share(months: Collection[int] | None, year: int) -> Floats | None:
    """Return the weight of each month, by its days, shape (12,), with the sum 1; None for the growing season.

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


def _scanned_sun(maps: SunMaps, soil_season_h: Floats | None, share: Floats | None) -> Floats:
    """Return the sun that the scan reads: over the months that count, else over the growing season. [h a day]"""
    if share is not None:
        return np.asarray(np.tensordot(share, maps.month_h, axes=1))
    return maps.season_h if soil_season_h is None else soil_season_h


def _same_cells(maps: SunMaps, **arrays: Floats | None) -> None:
    """Raise ValueError if an array has another shape than the maps of the sun."""
    for name, values in arrays.items():
        if values is not None and values.shape != maps.grid.shape:
            raise ValueError(f"{name} has the shape {values.shape}, must have that of the maps: {maps.grid.shape}")


def _headings(site_edges: Edges, form: Form, step: float) -> Floats:
    """Return the headings to try; of a form without half-turn symmetry, all around the circle. [degrees]"""
    headings = headings_to_try(site_edges, step=step)
    return headings if form.period == 180 else np.concatenate([headings, headings + 180])


def _form(
    site: Site, size: tuple[float | None, float | None, float | None], shape: Polygon | None, like: Bed | None
) -> tuple[Form, float]:
    """Return the bed's form and height [m]; the longer side counts as the length, however they were given."""
    length = site.place.length if size[0] is None else size[0]
    width = site.place.width if size[1] is None else size[1]
    height = (site.place.height if like is None else like.height) if size[2] is None else size[2]
    dataclasses.replace(site.place, length=length, width=width, height=height)  # raises ValueError if out of range
    return form_of_size(length, width) if shape is None else form_of(shape), height


def _bed(site: Site, like: Bed | None, form: Form, *, height: float, ignored: Collection[str]) -> Bed:
    """Return the bed to be placed: with its own id if it is ignored at its old place, else with a new one."""
    ids = {feature.id for feature in site.features()}
    if like is not None and like.id in ignored:
        return _of_height(like.on(form.outline), height)
    name = "new bed"
    while name in ids:
        name += "+"
    if like is None:
        return Bed(id=name, outline=form.outline, height=height, proposed=True)
    return dataclasses.replace(_of_height(like.on(form.outline), height), id=name, proposed=True)


def _of_height(bed: Bed, height: float) -> Bed:
    """Return a bed with another height; if it changes, the bed's tiers become one frame. [m]"""
    return bed if bed.height == height else dataclasses.replace(bed, height=height, tiers=())
