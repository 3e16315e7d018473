"""How much direct sun does a bed get, and is it enough?

The engine gives the hours at points on the soil, on a grid that is aligned with the bed. Other headings of a bed are
compared in `place.headings`.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from itertools import islice

import numpy as np
import shapely
from numpy.typing import NDArray

from siteplan.land.document import Hidden
from siteplan.land.features import Area, Bed
from siteplan.land.outline import smallest_rectangle
from siteplan.land.site import Site
from siteplan.sun.engine import PointSet, SunEngine, SunHours
from siteplan.sun.obstacles.packed_prisms import pack
from siteplan.sun.obstacles.plant_rows import between_rows, row_prisms
from siteplan.sun.obstacles.prisms import Prism, ground_under, own_shade

Floats = NDArray[np.float64]

FINEST = 0.05  # m; least spacing of points: a finer grid does not change a bed's mean
ACROSS = 4  # cells across a bed's width, at least
#: least hours of direct sun of each class, the lower end included: Penn State Extension (seen second-hand)
LIGHT_CLASSES = (("full sun", 6.0), ("part sun", 4.0), ("part shade", 2.0), ("shade", 0.0))


@dataclass(frozen=True, eq=False)
class TierSun:
    """Direct sun on the ledge of one tier of a bed, as a mean over days.

    Attributes
    ----------
    tier : int
        1 for the lowest.
    month_sun_h : ndarray, shape (12,)
        Mean over its cells for each month. [h a day]
    season_sun_h, worst_cell_sun_h : float
        Mean over its cells, and the darkest cell, over the growing season. [h a day]
    light_class : str
        Of the season's mean.
    """

    tier: int
    month_sun_h: Floats
    season_sun_h: float
    worst_cell_sun_h: float
    light_class: str


@dataclass(frozen=True, eq=False)
class BedSun:
    """Direct sun on a bed's soil, as a mean over days.

    Attributes
    ----------
    bed : str
        Its id.
    month_sun_h : ndarray, shape (12,)
        Mean over the soil for each month. [h a day]
    season_sun_h, worst_cell_sun_h : float
        Mean over the soil, and the darkest cell, over the growing season. [h a day]
    light_class : str
        Of the season's mean: full sun, part sun, part shade or shade.
    sun_score : float
        0 to 100: mean share of the crops' plenty that the cells get.
    cells : ndarray, shape (n, 3)
        Middles of the cells: east, north and elevation. [m]
    cell_season_h : ndarray, shape (n,)
        Each cell over the growing season. [h a day]
    cell_month_h : ndarray, shape (12, n), or None
        Each cell by month; None if it was not kept. [h a day]
    tiers : tuple of TierSun
        The tiers that have a ledge, from the lowest up; a single one for a bed of one frame.
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
    tiers: Hidden[tuple[TierSun, ...]] = ()


def light_class(hours: float) -> str:
    """Return the light class for hours of direct sun a day: full sun, part sun, part shade or shade.

    References
    ----------
    Penn State Extension's definitions (seen second-hand). Other sources have other limits, so show the hours first
    and the class second.

    Examples
    --------
    >>> [light_class(hours) for hours in (6.0, 5.9, 4.0, 3.9, 1.9)]
    ['full sun', 'part sun', 'part sun', 'part shade', 'shade']
    """
    return next((name for name, lower_limit in LIGHT_CLASSES if hours >= lower_limit), "shade")


def bed_sun(site: Site, bed: Bed, engine: SunEngine, *, across: int = ACROSS) -> BedSun:
    """Return the sun on a bed: one of the site, or one that is moved, turned or new.

    Parameters
    ----------
    site : Site
        Gives the ground, the size of a cell, and the hours that are plenty.
    bed : Bed
        If the engine has a bed of the same id, that one is left out.
    engine : SunEngine
        Of this site.
    across : int
        Cells across the bed's width, see `tier_cells`.
    """
    return bed_suns(site, [bed], engine, across=across)[0]


def bed_suns(site: Site, beds: Sequence[Bed], engine: SunEngine, *, across: int = ACROSS) -> list[BedSun]:
    """Return the sun on one bed in several positions, as `bed_sun` does on each.

    Tiers that the bed itself does not shade are looked up together in all positions, which is faster.
    """
    ledges = [tier_cells(site, bed, across=across) for bed in beds]
    sets: list[tuple[Floats, tuple[Prism, ...]]] = []
    for bed, tiers in zip(beds, ledges, strict=True):
        rows = row_prisms(site, bed)
        sets += [(cells, (*own_shade(site, bed, tier=tier), *rows)) for tier, cells in tiers]
    hours = iter(_hours_of_sets(engine, sets, without=tuple({bed.id for bed in beds})))
    return [
        _bed_sun(site, bed, tiers, list(islice(hours, len(tiers)))) for bed, tiers in zip(beds, ledges, strict=True)
    ]


def _hours_of_sets(
    engine: SunEngine, sets: Sequence[tuple[Floats, tuple[Prism, ...]]], *, without: Collection[str]
) -> list[SunHours]:
    """Return the sun on several sets of cells, each with its extra obstacles; sets without any go together."""
    shaded = [number for number, (_, extra) in enumerate(sets) if extra]
    point_sets = [PointSet(sets[number][0], pack(sets[number][1]), without) for number in shaded]
    hours_of_set = dict(zip(shaded, engine.hours_of_each(point_sets), strict=True))
    plain = [number for number in range(len(sets)) if number not in hours_of_set]
    if plain:
        cells = [sets[number][0] for number in plain]
        together = engine.hours(np.concatenate(cells), without=without)
        ends = np.cumsum([len(points) for points in cells])[:-1]
        months, seasons = np.split(together.month_h, ends, axis=1), np.split(together.season_h, ends)
        hours_of_set |= {
            number: SunHours(month_h=month, season_h=season)
            for number, month, season in zip(plain, months, seasons, strict=True)
        }
    return [hours_of_set[number] for number in range(len(sets))]


def _bed_sun(site: Site, bed: Bed, tiers: Sequence[tuple[int, Floats]], hours_by_tier: Sequence[SunHours]) -> BedSun:
    """Return the sun on a bed from that on the cells of its tiers."""
    numbers = [number for number, _ in tiers]
    tier_suns = tuple(_tier_sun(number, hours) for number, hours in zip(numbers, hours_by_tier, strict=True))
    plenty, shares = plenty_for(site, bed), soil_shares(bed)
    tier_shares = [shares[number] for number in numbers]
    mean = sum(share * tier.season_sun_h for share, tier in zip(tier_shares, tier_suns, strict=True))
    scores = [sun_score(hours.season_h, plenty=plenty) for hours in hours_by_tier]
    return BedSun(
        bed=bed.id,
        month_sun_h=np.sum(
            [share * tier.month_sun_h for share, tier in zip(tier_shares, tier_suns, strict=True)], axis=0
        ),
        season_sun_h=mean,
        worst_cell_sun_h=min(tier.worst_cell_sun_h for tier in tier_suns),
        light_class=light_class(mean),
        sun_score=sum(share * score for share, score in zip(tier_shares, scores, strict=True)),
        cells=np.concatenate([cells for _, cells in tiers]),
        cell_season_h=np.concatenate([hours.season_h for hours in hours_by_tier]),
        cell_month_h=np.concatenate([hours.month_h for hours in hours_by_tier], axis=1),
        tiers=tier_suns,
    )


def _tier_sun(tier: int, hours: SunHours) -> TierSun:
    mean = float(hours.season_h.mean())
    return TierSun(
        tier=tier,
        month_sun_h=hours.month_h.mean(axis=1),
        season_sun_h=mean,
        worst_cell_sun_h=float(hours.season_h.min()),
        light_class=light_class(mean),
    )


def sun_score(hours: Floats, *, plenty: float) -> float:
    """Return the mean share of plenty that cells get, 0 to 100. More than plenty counts as plenty.

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


def need_for(site: Site, bed: Bed) -> float:
    """Return the hours of sun that a bed's crops want: its own need, else the site's. [h a day]"""
    return site.sun.need if bed.need is None else bed.need


def plenty_for(site: Site, bed: Bed) -> float:
    """Return the hours beyond which more sun no longer counts for a bed, in proportion to its need. [h a day]"""
    if bed.need is None:
        return site.sun.plenty
    return site.sun.plenty * bed.need / site.sun.need


def tier_cells(site: Site, bed: Bed, *, across: int = ACROSS) -> list[tuple[int, Floats]]:
    """Return points evenly spread over a bed's soil, tier by tier.

    They lie on a grid that is aligned with the bed. Points in a row of plants are left out.

    Parameters
    ----------
    site : Site
        Gives the ground and the size of a map cell.
    bed : Bed
    across : int
        Points across the bed's width, at least. From `ACROSS` on they are also at most a map cell apart.

    Returns
    -------
    list of (int, ndarray)
        Number of each tier that has a ledge, and the points on it: east, north and elevation, shape (n, 3). [m]

    Notes
    -----
    A tier that the next one covers completely has no ledge. All tiers share one grid, whose spacing is at most half
    the width of the narrowest ledge.
    """
    soil = bed.frames[0].inside
    if soil.is_empty:
        soil = bed.outline
    ledges = {frame.number: frame.ledge for frame in bed.frames if not frame.ledge.is_empty}
    if len(bed.frames) == 1 or not ledges:
        ledges = {len(bed.frames): soil}
    length, width, heading = smallest_rectangle(soil)
    spacing = min(site.sun.cell, width / across) if across >= ACROSS else width / across
    if len(ledges) > 1:
        narrowest = min(2 * ledge.area / ledge.length for ledge in ledges.values())
        spacing = max(min(spacing, narrowest / 2), FINEST)
    turn = np.radians(heading)
    along, aside = _middles(length, spacing), _middles(width, spacing)
    u, v = (axis.ravel() for axis in np.meshgrid(along, aside))
    middle = shapely.get_coordinates(shapely.minimum_rotated_rectangle(soil))[:4].mean(axis=0)
    x = middle[0] + u * np.sin(turn) + v * np.cos(turn)
    y = middle[1] + u * np.cos(turn) - v * np.sin(turn)
    free = between_rows(bed, x, y)
    ground = ground_under(site, bed.outline)
    return [
        (number, _cells_on(ledge, x[free], y[free], ground + bed.frames[number - 1].top))
        for number, ledge in ledges.items()
    ]


def soil_shares(bed: Bed) -> dict[int, float]:
    """Return the share of a bed's soil on the ledge of each tier that has one, by the tier's number. [0 to 1]"""
    areas = {frame.number: frame.ledge.area for frame in bed.frames}
    total_area = sum(areas.values())
    return {number: area / total_area for number, area in areas.items() if area} or {len(bed.frames): 1.0}


def _cells_on(soil: Area, x: Floats, y: Floats, height: float) -> Floats:
    """Return the points that lie on a soil, at its height, shape (n, 3); if none does, one point on it."""
    inside = shapely.intersects_xy(soil, x, y)
    if not inside.any():
        point = shapely.point_on_surface(soil)
        return np.array([[point.x, point.y, height]])
    return np.column_stack([x[inside], y[inside], np.full(int(inside.sum()), height)])


def _middles(extent: float, spacing: float) -> Floats:
    """Return the middles of equal parts, none longer than `spacing`, of an extent centred on 0. [m]"""
    count = max(1, int(np.ceil(extent / spacing - 1e-9)))
    return np.asarray(((np.arange(count) + 0.5) / count - 0.5) * extent, dtype=np.float64)


def lit_share(site: Site, bed: Bed, engine: SunEngine) -> Floats:
    """Return the share of a bed's soil that is lit, by month and half hour of the clock, shape (12, 48).

    Each step of the path is looked up in its bin of azimuth, half a degree wide. Behind a translucent crown, the
    share let through counts as lit. Entry [5, 24] is the mean of June from 12:00 to 12:30 by the site's clocks.
    """
    tiers, rows = tier_cells(site, bed), row_prisms(site, bed)
    light, shares = np.zeros(len(engine.path.hours)), soil_shares(bed)
    for tier, cells in tiers:
        extra = (*own_shade(site, bed, tier=tier), *rows)
        light += shares[tier] * engine.mean_light(cells, extra=extra, without=(bed.id,))
    path = engine.path
    slot = np.minimum((path.clock * 2).astype(np.int64), 47)
    lit = np.bincount((path.month - 1) * 48 + slot, weights=light * path.hours, minlength=12 * 48).reshape(12, 48)
    return np.asarray(np.minimum(lit / (np.maximum(path.month_days, 1)[:, None] * 0.5), 1.0))
