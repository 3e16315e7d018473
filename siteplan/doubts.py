"""How sure is the sun on each bed and place, and does the first place stay the first?

All figures in doubt are drawn together, a few dozen times. This is the one place with chance in it, and it is seeded:
the same site has the same draws on every machine. No formula of the sun.
"""

from __future__ import annotations

import warnings
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from siteplan.land.features import Bed
from siteplan.land.site import Site
from siteplan.place.merit.merit import Weights, sun_that_counts
from siteplan.place.search.request import month_share
from siteplan.place.search.search_results import PlaceResult
from siteplan.records import BedReport
from siteplan.sun.doubt.doubt import Drawn, SunDoubt, drawn_sun, sun_doubts
from siteplan.sun.doubt.drawn_hours import Otherwise, Spot, otherwise, spot_of
from siteplan.sun.doubt.sure_map import SureMap, coarse_ground, sure_map
from siteplan.sun.engine import SunEngine
from siteplan.sun.sun_maps import SunMaps

Floats = NDArray[np.float64]

#: a power of two, as Sobol points want
DRAWS = 32
#: of the whole ground; half as many, since every coarse cell is looked up in each
GROUND_DRAWS = 16
SEED = 1
#: beds that are looked at; of more, one is asked about at a time
MOST_BEDS = 12


def with_doubts(
    site: Site, engine: SunEngine, reports: tuple[BedReport, ...], places: PlaceResult | None
) -> tuple[tuple[BedReport, ...], PlaceResult | None]:
    """Return the sun at beds and places with how sure it is.

    Parameters
    ----------
    site : Site
    engine : SunEngine
        Of this site.
    reports : tuple of BedReport
        Of beds as they stand; of more than `MOST_BEDS` none is looked at.
    places : PlaceResult or None
        Places whose sun was read off the map are left as they are.
    """
    asked = reports if len(reports) <= MOST_BEDS else ()
    found = places.places if places and all(place.month_sun_h is not None for place in places.places) else ()
    spots = [spot_of(site, report.bed) for report in asked]
    given = [[*report.sun.month_sun_h, report.sun.season_sun_h] for report in asked]
    needs = [_need(site, report.bed) for report in asked]
    if places and found:
        proposed = [bed.id for bed in site.beds if bed.proposed]
        share = month_share(places.months, site.sun.year)
        spots += [spot_of(site, places.bed_at(place), without=proposed, month_share=share) for place in found]
        given += [[*_known(place.month_sun_h), place.season_sun_h] for place in found]
        needs += [places.need] * len(found)
    if not spots:
        return reports, places
    state, drawn, doubts = _asked(site, engine, spots, np.array(given), needs)
    if asked:
        reports = tuple(replace(one, doubt=doubt) for one, doubt in zip(asked, doubts, strict=False))
    if places and found:
        sure = tuple(replace(one, doubt=doubt) for one, doubt in zip(found, doubts[len(asked) :], strict=True))
        stays = first_stays(places, drawn, len(asked)) if state.figures else None
        places = replace(places, places=sure, first_stays=stays, draws=DRAWS if stays is not None else 0)
    return reports, places


def sure_ground(
    site: Site, engine: SunEngine, maps: SunMaps, *, progress: Callable[[float], None] | None = None
) -> SureMap:
    """Return in how many draws each cell of the property has the hours that crops want.

    Parameters
    ----------
    site, engine, maps
        The engine and the maps of this site.
    progress : callable, optional
        Called with the share done, up to 1.
    """
    coarse = coarse_ground(site, engine)
    shares = seeded_draws(len(coarse.state.figures), draws=GROUND_DRAWS)
    return sure_map(maps, coarse, shares, need=site.sun.need, progress=progress)


def _known(months: Floats | None) -> Floats:
    return np.zeros(12) if months is None else months


def _need(site: Site, bed: Bed) -> float:
    return site.sun.need if bed.need is None else bed.need


def _asked(
    site: Site, engine: SunEngine, spots: Sequence[Spot], given: Floats, needs: Sequence[float]
) -> tuple[Otherwise, Drawn, tuple[SunDoubt, ...]]:
    state = otherwise(site, engine, spots)
    shares = seeded_draws(len(state.figures))
    drawn = drawn_sun(state, shares)
    return state, drawn, sun_doubts(state, drawn, shares, given=given, needs=needs)


def seeded_draws(figures: int, *, draws: int = DRAWS) -> Floats:
    """Return points in as many dimensions as there are figures, evenly spread, shape (draws, figures). [0 to 1]

    Scrambled Sobol points (A. B. Owen, Journal of Complexity 14, 1998): each figure alone is filled evenly, and two
    together nearly so.

    Examples
    --------
    >>> points = seeded_draws(3)
    >>> points.shape, bool((np.sort(points, axis=0) // (1 / 32) == np.arange(32.0)[:, None]).all())
    ((32, 3), True)
    """
    from scipy.stats import qmc  # long to load: for those who ask

    if not figures:
        return np.zeros((draws, 0))
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # numbers of draws that are no power of two are less even
        return np.asarray(qmc.Sobol(figures, rng=np.random.default_rng(SEED)).random(draws), dtype=np.float64)


def first_stays(places: PlaceResult, drawn: Drawn, start: int) -> int | None:
    """Return in how many draws the first place is still the best of those named; None where there is no other.

    Its work, water and walk cost the same in every draw. Beds of several sizes are no choice between places.

    Parameters
    ----------
    places : PlaceResult
    drawn : Drawn
    start : int
        Number of the first place among the spots.
    """
    named = places.places
    sizes = {(round(place.length, 3), round(place.width, 3)) for place in named}
    if len(named) < 2 or len(sizes) > 1:
        return None

    def counts(cells: Floats) -> float:
        return _counting(cells, places.weights, places.plenty)

    merits = np.array(
        [
            [
                place.merit + (counts(draw[start + n]) - counts(drawn.cells_given[start + n])) / places.plenty
                for n, place in enumerate(named)
            ]
            for draw in drawn.cells
        ]
    )
    return int((merits[:, 0] >= merits.max(axis=1)).sum())


def _counting(cells: Floats, weights: Weights, plenty: float) -> float:
    mean, worst = float(np.minimum(cells, plenty).mean()), float(cells.min())
    return sun_that_counts(mean, worst, weights=weights, plenty=plenty)
