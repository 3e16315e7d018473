"""How sure is the sun on each bed and place, and does the first place stay the first?

All uncertain figures are drawn together, a few dozen times. Random numbers are used here alone, with a fixed seed:
the same site has the same draws on every machine. The sun itself is computed in `sun.doubt`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from siteplan.land.site import Site
from siteplan.place.merit.merit import sun_counted_on
from siteplan.place.search.request import month_share
from siteplan.place.search.search_results import PlaceResult
from siteplan.records import BedReport
from siteplan.sun.bed_sun import need_for
from siteplan.sun.doubt.doubt import SunDoubt, SunDraws, sun_doubts, sun_in_draws
from siteplan.sun.doubt.sure_map import SureMap, coarse_ground, sure_map
from siteplan.sun.doubt.uncertain_scene import Spot, UncertainScene, spot_of, uncertain_scene
from siteplan.sun.engine import SunEngine
from siteplan.sun.sun_maps import SunMaps

Floats = NDArray[np.float64]

#: draws for beds and places
DRAWS = 32
#: draws for the map of the ground; fewer, since every coarse cell is looked up in each
GROUND_DRAWS = 16
SEED = 1
#: how often the draws' dimensions are made less correlated, forwards and backwards
ROUNDS = 5
#: with more beds than this none gets a range: it would take too long
MOST_BEDS = 12


def with_doubts(
    site: Site,
    engine: SunEngine,
    reports: tuple[BedReport, ...],
    places: PlaceResult | None,
    *,
    progress: Callable[[float], None] | None = None,
) -> tuple[tuple[BedReport, ...], PlaceResult | None]:
    """Return the reports of beds and the places found, each with the doubt of its sun.

    Parameters
    ----------
    site : Site
    engine : SunEngine
        Of this site.
    reports : tuple of BedReport
        Of beds as they stand. With more than `MOST_BEDS` they are returned unchanged.
    places : PlaceResult or None
        Places whose sun was read off the map are returned unchanged.
    progress : callable, optional
        Called with the share done, up to 1.
    """
    doubted_reports = reports if len(reports) <= MOST_BEDS else ()
    doubted_places = places.places if places and all(place.month_sun_h is not None for place in places.places) else ()
    spots = [spot_of(site, report.bed) for report in doubted_reports]
    hours_as_drawn = [[*report.sun.month_sun_h, report.sun.season_sun_h] for report in doubted_reports]
    needs = [need_for(site, report.bed) for report in doubted_reports]
    if places and doubted_places:
        proposed = [bed.id for bed in site.beds if bed.proposed]
        share = month_share(places.months, site.sun.year)
        spots += [
            spot_of(site, places.bed_at(place), without=proposed, month_share=share) for place in doubted_places
        ]
        hours_as_drawn += [[*_months_or_zeros(place.month_sun_h), place.season_sun_h] for place in doubted_places]
        needs += [places.need] * len(doubted_places)
    if not spots:
        return reports, places
    scene, sun_draws, doubts = _spot_doubts(site, engine, spots, np.array(hours_as_drawn), needs, progress=progress)
    of_beds, of_places = doubts[: len(doubted_reports)], doubts[len(doubted_reports) :]
    if doubted_reports:
        reports = tuple(replace(report, doubt=doubt) for report, doubt in zip(doubted_reports, of_beds, strict=True))
    if places and doubted_places:
        with_doubt = tuple(
            replace(place, doubt=doubt) for place, doubt in zip(doubted_places, of_places, strict=True)
        )
        draws_stayed = first_stays(places, sun_draws, len(doubted_reports)) if scene.figures else None
        places = replace(
            places, places=with_doubt, first_stays=draws_stayed, draws=DRAWS if draws_stayed is not None else 0
        )
    return reports, places


def sure_ground(
    site: Site, engine: SunEngine, maps: SunMaps, *, progress: Callable[[float], None] | None = None
) -> SureMap:
    """Return in which share of the draws each cell of the property has the hours that crops want.

    Parameters
    ----------
    site : Site
    engine : SunEngine
        Of this site.
    maps : SunMaps
        Of this site.
    progress : callable, optional
        Called with the share done, up to 1.
    """
    coarse = coarse_ground(site, engine)
    shares = seeded_draws(len(coarse.scene.figures), draws=GROUND_DRAWS)
    return sure_map(maps, coarse, shares, need=site.sun.need, progress=progress)


def _months_or_zeros(months: Floats | None) -> Floats:
    return np.zeros(12) if months is None else months


def _spot_doubts(
    site: Site,
    engine: SunEngine,
    spots: Sequence[Spot],
    hours_as_drawn: Floats,
    needs: Sequence[float],
    *,
    progress: Callable[[float], None] | None,
) -> tuple[UncertainScene, SunDraws, tuple[SunDoubt, ...]]:
    """Return the spots' scene, its sun in seeded draws, and how sure the sun on each spot is."""
    scene = uncertain_scene(site, engine, spots)
    shares = seeded_draws(len(scene.figures))
    sun_draws = sun_in_draws(scene, shares, progress=progress)
    return scene, sun_draws, sun_doubts(scene, sun_draws, shares, hours_as_drawn=hours_as_drawn, needs=needs)


def seeded_draws(figures: int, *, draws: int = DRAWS) -> Floats:
    """Return points that fill a cube evenly, with one dimension for each figure, shape (draws, figures). [0 to 1]

    A Latin hypercube (M. D. McKay, R. J. Beckman and W. J. Conover, Technometrics 21, 1979): in each dimension every
    one of `draws` equal parts holds one point. The order of the parts is then changed so that the dimensions are
    nearly uncorrelated (A. B. Owen, Journal of the American Statistical Association 89, 1994). With few draws the
    points of Sobol's sequence are not: two of 20 dimensions are correlated by 0.8 in its first 32 points.

    Examples
    --------
    >>> points = seeded_draws(3)
    >>> points.shape, bool((np.sort(points, axis=0) // (1 / 32) == np.arange(32.0)[:, None]).all())
    ((32, 3), True)
    """
    rng = np.random.default_rng(SEED)
    parts = rng.permuted(np.tile(np.arange(float(draws)), (figures, 1)), axis=1).T
    for _ in range(ROUNDS):
        for figure in range(figures):
            parts[:, figure + 1 :] = _uncorrelated(parts[:, figure + 1 :], parts[:, figure])
        for figure in reversed(range(figures)):
            parts[:, :figure] = _uncorrelated(parts[:, :figure], parts[:, figure])
    return np.asarray((parts + rng.random(parts.shape)) / draws)


def _uncorrelated(columns: Floats, column: Floats) -> Floats:
    """Return the ranks of columns after their linear dependence on another column is taken out of them."""
    centred = column - column.mean()
    slope = centred @ columns / (centred @ centred)
    residual = columns - centred[:, None] * slope
    return np.argsort(np.argsort(residual, axis=0, kind="stable"), axis=0, kind="stable").astype(np.float64)


def first_stays(places: PlaceResult, sun_draws: SunDraws, start: int) -> int | None:
    """Return in how many draws the first place is still the best of the places found; None where it is alone.

    Merits change by their sun alone: work, water and walk cost the same in every draw. None also for beds of several
    sizes, which are not alternatives to each other.

    Parameters
    ----------
    places : PlaceResult
    sun_draws : SunDraws
    start : int
        Number of the first place among the spots.
    """
    candidates = places.places
    sizes = {(round(place.length, 3), round(place.width, 3)) for place in candidates}
    if len(candidates) < 2 or len(sizes) > 1:
        return None

    def counted_hours(cells: Floats) -> float:
        return sun_counted_on(cells, weights=places.weights, plenty=places.plenty)

    hours_as_drawn = [counted_hours(sun_draws.cells_given[start + n]) for n in range(len(candidates))]
    merits = np.array(
        [
            [
                place.merit + (counted_hours(draw[start + n]) - hours_as_drawn[n]) / places.plenty
                for n, place in enumerate(candidates)
            ]
            for draw in sun_draws.cells
        ]
    )
    return int((merits[:, 0] >= merits.max(axis=1)).sum())
