"""How much sun does a bed get, and is it enough?

The engine's hours at points on the soil, on a grid turned with the bed.
It leaves out the headings that it might have instead.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from siteplan.land.document import Hidden
from siteplan.land.features import Bed
from siteplan.land.outline import smallest_rectangle
from siteplan.land.site import Site
from siteplan.sun.engine import SunEngine, SunHours
from siteplan.sun.obstacles.plant_rows import between_rows, row_prisms
from siteplan.sun.obstacles.prisms import ground_under, own_shade

Floats = NDArray[np.float64]

#: least hours of direct sun of each class, the lower end included: Penn State Extension (seen second-hand)
LIGHT_CLASSES = (("full sun", 6.0), ("part sun", 4.0), ("part shade", 2.0), ("shade", 0.0))


@dataclass(frozen=True, eq=False)
class BedSun:
    """Direct sun on a bed's soil, as a mean over days.

    Attributes
    ----------
    bed : str
        Its id.
    month_sun_h : ndarray, shape (12,)
        Mean over the cells for each month. [h a day]
    season_sun_h, worst_cell_sun_h : float
        Mean over the cells, and the least of them, over the growing season. [h a day]
    light_class : str
        Of the season's mean: full sun, part sun, part shade or shade.
    sun_score : float
        0 to 100: the share of what is plenty for its crop that its cells get, on average.
    cells : ndarray, shape (n, 3)
        Where the cells stand: east, north and absolute height. [m]
    cell_season_h : ndarray, shape (n,)
        Of each cell over the growing season. [h a day]
    cell_month_h : ndarray, shape (12, n), or None
        Of each cell for each month; None where it was not kept. [h a day]
    """

    bed: Hidden[str]
    month_sun_h: Floats
    season_sun_h: float
    worst_cell_sun_h: float
    light_class: str
    sun_score: float
    cells: Hidden[Floats]
    cell_season_h: Hidden[Floats]
    cell_month_h: Hidden[Floats | None] = None


def light_class(hours: float) -> str:
    """Return what gardeners call so many hours of direct sun a day.

    References
    ----------
    Penn State Extension's definitions (seen second-hand); other sources draw the lines elsewhere, so that the hours
    are to be told first and the class second.

    Examples
    --------
    >>> [light_class(hours) for hours in (6.0, 5.9, 4.0, 3.9, 1.9)]
    ['full sun', 'part sun', 'part sun', 'part shade', 'shade']
    """
    return next((name for name, least in LIGHT_CLASSES if hours >= least), "shade")


def bed_sun(site: Site, bed: Bed, engine: SunEngine) -> BedSun:
    """Return the sun on a bed, wherever it lies: a bed of the site, or one that is moved, turned or new.

    Parameters
    ----------
    site : Site
        Gives the ground, the size of a cell, and the hours that are plenty.
    bed : Bed
        Whose soil is asked. If the engine holds a bed of that id it is not there.
    engine : SunEngine
        Of this site.
    """
    return bed_suns(site, [bed], engine)[0]


def bed_suns(site: Site, beds: Sequence[Bed], engine: SunEngine) -> list[BedSun]:
    """Return the sun on one bed in several positions, as `bed_sun` does on each.

    Those without a shade of their own are looked up together: their cells lie near each other.
    """
    cells = [soil_cells(site, bed) for bed in beds]
    own = [(*own_shade(site, bed), *row_prisms(site, bed)) for bed in beds]
    lit = {
        number: engine.hours(cells[number], extra=extra, without=(beds[number].id,))
        for number, extra in enumerate(own)
        if extra
    }
    plain = [number for number in range(len(beds)) if number not in lit]
    if plain:
        together = engine.hours(np.concatenate([cells[number] for number in plain]), without=(beds[0].id,))
        ends = np.cumsum([len(cells[number]) for number in plain])[:-1]
        months, seasons = np.split(together.month_h, ends, axis=1), np.split(together.season_h, ends)
        lit |= {
            number: SunHours(month_h=month, season_h=season)
            for number, month, season in zip(plain, months, seasons, strict=True)
        }
    return [_bed_sun(site, bed, cells[number], lit[number]) for number, bed in enumerate(beds)]


def _bed_sun(site: Site, bed: Bed, cells: Floats, lit: SunHours) -> BedSun:
    """Return the sun on a bed from that on its cells."""
    mean = float(lit.season_h.mean())
    return BedSun(
        bed=bed.id,
        month_sun_h=lit.month_h.mean(axis=1),
        season_sun_h=mean,
        worst_cell_sun_h=float(lit.season_h.min()),
        light_class=light_class(mean),
        sun_score=sun_score(lit.season_h, plenty=plenty_for(site, bed)),
        cells=cells,
        cell_season_h=lit.season_h,
        cell_month_h=lit.month_h,
    )


def sun_score(hours: Floats, *, plenty: float) -> float:
    """Return the share of plenty that cells get, each counted up to plenty, 0 to 100.

    Examples
    --------
    >>> sun_score(np.array([4.0, 8.0, 12.0]), plenty=8.0).__round__(3)
    83.333
    >>> sun_score(np.array([0.0]), plenty=0.0)
    100.0
    """
    if plenty <= 0:
        return 100.0
    return min(100.0, float(100 * np.minimum(hours, plenty).mean() / plenty))  # rounding may pass 100


def plenty_for(site: Site, bed: Bed) -> float:
    """Return the hours beyond which more sun counts no more for a bed, scaled with its own need. [h]"""
    if bed.need is None:
        return site.sun.plenty
    return site.sun.plenty * bed.need / site.sun.need


def soil_cells(site: Site, bed: Bed) -> Floats:
    """Return points evenly spread over a bed's soil, shape (n, 3): east, north and absolute height. [m]

    They lie on a grid turned with the bed, at most a map's cell and a quarter of its width apart; between its rows,
    where it has some.
    """
    soil = shapely.buffer(bed.outline, -bed.wall_thickness, join_style="mitre")
    if soil.is_empty:
        soil = bed.outline
    length, width, heading = smallest_rectangle(soil)
    spacing = min(site.sun.cell, width / 4)
    turn = np.radians(heading)
    along, across = _middles(length, spacing), _middles(width, spacing)
    u, v = (axis.ravel() for axis in np.meshgrid(along, across))
    middle = shapely.get_coordinates(shapely.minimum_rotated_rectangle(soil))[:4].mean(axis=0)
    x = middle[0] + u * np.sin(turn) + v * np.cos(turn)
    y = middle[1] + u * np.cos(turn) - v * np.sin(turn)
    held = shapely.intersects_xy(soil, x, y) & between_rows(bed, x, y)
    if not held.any():
        x, y, held = _inner_point(soil)
    height = np.full(int(held.sum()), ground_under(site, bed.outline) + bed.height)
    return np.column_stack([x[held], y[held], height])


def _middles(extent: float, spacing: float) -> Floats:
    """Return the middles of equal parts of an extent around 0, none longer than `spacing`."""
    count = max(1, int(np.ceil(extent / spacing - 1e-9)))
    return np.asarray(((np.arange(count) + 0.5) / count - 0.5) * extent, dtype=np.float64)


def _inner_point(soil: Polygon) -> tuple[Floats, Floats, NDArray[np.bool_]]:
    point = shapely.point_on_surface(soil)
    return np.array([point.x]), np.array([point.y]), np.array([True])


def lit_share(site: Site, bed: Bed, engine: SunEngine) -> Floats:
    """Return the share of a bed's soil that is lit, by month and half hour of the clock, shape (12, 48).

    Each step of the path is looked up in its direction's bin, half a degree wide; a translucent crown's shade counts
    by what it lets through. Entry [5, 24] is the mean of the days of June from 12:00 to 12:30 by the site's clocks.
    """
    cells = soil_cells(site, bed)
    own = (*own_shade(site, bed), *row_prisms(site, bed))
    light = engine.mean_light(cells, extra=own, without=(bed.id,))
    path = engine.path
    slot = np.minimum((path.clock * 2).astype(np.int64), 47)
    lit = np.bincount((path.month - 1) * 48 + slot, weights=light * path.hours, minlength=12 * 48).reshape(12, 48)
    return np.asarray(np.minimum(lit / (np.maximum(path.month_days, 1)[:, None] * 0.5), 1.0))
