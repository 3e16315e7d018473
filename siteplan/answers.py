"""How are the questions of a plan answered?

One process computes the map of the sun, and from it the places for a new bed. Beside it a second one computes light
and sun on the beds, as they stand and turned. Another plans fill and haul, which need no sun. This module only calls
the folders that compute them.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial
from math import isfinite
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from numpy.typing import NDArray

from siteplan.doubts import sure_ground, with_doubts
from siteplan.fill.bed_ground import bed_base, native_soil
from siteplan.fill.recipe import fill_layers, soil_depth
from siteplan.fill.tier_layers import by_tier
from siteplan.first_run import compile_hidden_sums, compile_search, compile_steps, is_first_run
from siteplan.land.cores import in_second_process
from siteplan.land.features import Bed
from siteplan.land.findings import Caution, finding
from siteplan.land.grid import Grid
from siteplan.land.outline import COMPASS, smallest_rectangle
from siteplan.land.site import Site
from siteplan.place.crops.crop_fit import CropFit, suiting_crops
from siteplan.place.headings.headings import compare_headings, turned_beds
from siteplan.place.headings.shifts import FURTHEST, compare_shifts, moved
from siteplan.place.limits.limits import fit_check, limits_by_width
from siteplan.question import NewBed, Progress, Question
from siteplan.records import Answers, BedReport
from siteplan.say.cautions import by_weight, in_words
from siteplan.sun.bed_sun import ACROSS, BedSun, bed_sun, bed_suns, lit_share, tier_cells
from siteplan.sun.engine import SunEngine, sun_engine
from siteplan.sun.light.daily_light import LightEngine, LightMaps, bed_light, light_engine, light_maps
from siteplan.sun.obstacles.prisms import obstacle_prisms
from siteplan.sun.sun_maps import SunMaps, maps_without, sun_maps

if TYPE_CHECKING:
    from siteplan.fill.fill_results import FillPlan
    from siteplan.haul.haul_results import HaulPlan
    from siteplan.place.search.search_results import PlaceResult
    from siteplan.sun.doubt.sure_map import SureMap

__all__ = ["HEADING_STEP", "Answers", "BedReport", "answers", "bed_reach", "sun_in_positions"]

_SUN, _WORK = frozenset({"sun", "turn", "place"}), frozenset({"fill", "haul"})

_SLOPED = 1.0  # m; on a terrain, the ground may be this much lower at the place where a bed is moved to

_MANY = 60  # with more beds than this, headings are compared in larger steps and at fewer cells
HEADING_STEP, _LARGE_STEP = 5.0, 10.0  # degrees
_FEW_ACROSS = 3  # cells across a bed's width in that case

#: most beds for which the lit share is computed by half hour: it takes a second or two for each
_MOST_LIT = 12


def answers(site: Site, question: Question, *, progress: Progress | None = None) -> Answers:
    """Return the answers to the questions asked.

    Parameters
    ----------
    site : Site
    question : Question
        Which questions, about which beds, and the new bed that a place is looked for.
    progress : callable, optional
        Called with the question and its share done.

    Returns
    -------
    Answers
    """
    tell = progress or (lambda question, share: None)  # noqa: ARG005
    ask, bed_ids = question.ask, question.bed_ids
    beds = tuple(bed for bed in site.beds if bed_ids is None or bed.id in bed_ids)
    in_two = bool(_SUN & ask and _WORK & ask)
    act = partial(_fill_and_haul_beside_the_sun if in_two else _fill_and_haul, site, ask)
    with in_second_process(act, tell=tell, alone=not in_two) as work:
        maps, light, reports, places, sure = _sun_and_places(site, beds, question, tell)
        fill, haul = work()
    walls = None
    if "fill" in ask:
        from siteplan.walls.walls_plan import plan_walls

        walls = plan_walls(site)
    return Answers(
        site=site,
        maps=maps,
        light_maps=light,
        beds=reports,
        places=places,
        fill=fill,
        haul=haul,
        walls=walls,
        sure_map=sure,
        cautions=_cautions(site, beds, fill, haul),
    )


def _sun_and_places(
    site: Site, beds: tuple[Bed, ...], question: Question, tell: Progress
) -> tuple[SunMaps | None, LightMaps | None, tuple[BedReport, ...], PlaceResult | None, SureMap | None]:
    """Return maps of sun and light, the reports of beds, the best places and the sure map, as far as requested.

    The sun's tables take some hundred megabytes. They are local here, so that they are freed before the haul, where
    that is planned in this process.
    """
    ask = question.ask
    if not _SUN & ask:
        return None, None, (), None, None
    engine = sun_engine(site)
    maps = sun_maps(site, engine, progress=partial(tell, "sun")) if "sun" in ask else None
    places = None
    act = partial(_light_and_beds, site, beds, question, engine)
    with in_second_process(act, tell=tell, alone=not ("place" in ask and {"sun", "turn"} & ask)) as light_and_beds:
        if "place" in ask:
            tell("place", 0.0)
            places = _places(site, maps, question.new_bed, engine, tell=tell)
            tell("place", 1.0)
        light, reports = light_and_beds()
    if {"sun", "place"} & ask and not question.hours_alone:
        sunlit = reports if "sun" in ask else ()
        with_ranges, places = with_doubts(site, engine, sunlit, places, progress=partial(tell, "range"))
        reports = with_ranges or reports
    sure = sure_ground(site, engine, maps, progress=partial(tell, "sure")) if maps and question.sure else None
    return maps, light, reports, places, sure


def _light_and_beds(
    site: Site, beds: tuple[Bed, ...], question: Question, engine: SunEngine, tell: Progress
) -> tuple[LightMaps | None, tuple[BedReport, ...]]:
    """Return maps of light and the reports of beds, as far as requested."""
    ask = question.ask
    lights = _lights(site, engine) if "sun" in ask and not question.hours_alone else None
    light = light_maps(site, lights) if lights else None
    if not {"sun", "turn"} & ask:
        return light, ()
    return light, _bed_reports(site, beds, engine, lights, turn="turn" in ask, tell=tell)


def _fill_and_haul(site: Site, ask: frozenset[str], tell: Progress) -> tuple[FillPlan | None, HaulPlan | None]:
    """Return the fill plan and the haul plan, as far as requested."""
    if not _WORK & ask:
        return None, None
    tell("haul" if "haul" in ask else "fill", 0.0)
    from siteplan.fill.fill_plan import plan_fill  # imported here: scipy is slow to load

    fill = plan_fill(site)
    if "haul" not in ask:
        from siteplan.haul.loads.pile_service import assign_piles

        # piles are assigned by the routes here too, so that the commands fill and haul name the same piles
        return replace(fill, supplies=assign_piles(site, fill.supplies, purchase=fill.purchase)), None
    from siteplan.haul.haul_plan import best_haul

    haul = best_haul(site, fill.supplies, purchase=fill.purchase)
    return replace(fill, supplies=haul.supplies), haul


def _fill_and_haul_beside_the_sun(
    site: Site, ask: frozenset[str], tell: Progress
) -> tuple[FillPlan | None, HaulPlan | None]:
    """Return what `_fill_and_haul` does; on the first run ever, compile what the first process will need later."""
    if not is_first_run():
        return _fill_and_haul(site, ask, tell)
    compile_hidden_sums()
    work = _fill_and_haul(site, ask, tell)
    if "place" in ask:
        compile_search()
    if "turn" in ask:
        compile_steps()
    return work


def _lights(site: Site, engine: SunEngine) -> LightEngine:
    """Return the light engine: for clear days, and for a typical year if the site has one."""
    from siteplan.files.weather.weather_file import clear_air  # imported here: pvlib is slow to load

    height = site.ground_at(site.boundary)
    height_known = site.terrain is not None and isfinite(height)
    air = clear_air(site.frame.latitude, site.frame.longitude, altitude=height if height_known else None)
    return light_engine(site, engine, air=air, weather=site.weather)


def _bed_reports(
    site: Site, beds: tuple[Bed, ...], engine: SunEngine, lights: LightEngine | None, *, turn: bool, tell: Progress
) -> tuple[BedReport, ...]:
    """Return the report of each bed; with `turn`, also its other headings and positions."""
    limits_for = limits_by_width(site) if turn else None
    by_half_hour = (turn or len(beds) == 1) and len(beds) <= _MOST_LIT
    step, across = (HEADING_STEP, ACROSS) if len(beds) <= _MANY else (_LARGE_STEP, _FEW_ACROSS)

    def report(bed: Bed) -> BedReport:
        ground = bed_reach(site, bed)
        near_engine = engine.around(ground)
        bed_report = _bed_report(site, bed, near_engine, replace(lights, engine=near_engine) if lights else None)
        if limits_for is not None:
            fits = fit_check(limits_for(bed).near(ground, ignore=bed.id), standing=bed.outline)
            positions = [*turned_beds(bed, step=step), *(moved(bed, point) for point in COMPASS)]
            sun_at = sun_in_positions(site, near_engine, positions, across=across)
            headings = compare_headings(site, bed, sun_at, fits=fits, step=step)
            bed_report = replace(bed_report, headings=headings, shifts=compare_shifts(bed, sun_at, fits=fits))
        return replace(bed_report, lit=lit_share(site, bed, engine)) if by_half_hour else bed_report

    reports: list[BedReport] = []
    for bed in beds:
        tell("turn", len(reports) / len(beds))
        reports.append(report(bed))
    tell("turn", 1.0)
    return tuple(reports)


def _bed_report(site: Site, bed: Bed, engine: SunEngine, lights: LightEngine | None) -> BedReport:
    """Return the sun and the light at a bed, and the crops that suit it."""
    sun = bed_sun(site, bed, engine)
    light = bed_light(site, bed, lights) if lights else None
    tiers = sun.tiers if len(bed.frames) > 1 else ()
    return BedReport(
        bed=bed,
        sun=sun,
        crops=_crops(site, bed, sun.month_sun_h),
        light=light,
        tier_crops=tuple((tier.tier, _crops(site, bed, tier.month_sun_h, tier.tier)) for tier in tiers),
    )


def sun_in_positions(
    site: Site, engine: SunEngine, positions: Sequence[Bed], *, across: int = ACROSS
) -> Callable[[Bed], BedSun]:
    """Return a function that gives the sun on a bed at any position; the given positions are computed together.

    `across` is the number of cells across the bed's width.
    """
    suns = bed_suns(site, positions, engine, across=across)
    computed = {(bed.outline.wkb, bed.rows): sun for bed, sun in zip(positions, suns, strict=True)}

    def sun_at(bed: Bed) -> BedSun:
        return computed.get((bed.outline.wkb, bed.rows)) or bed_sun(site, bed, engine, across=across)

    return sun_at


def bed_reach(site: Site, bed: Bed) -> NDArray[np.float64]:
    """Return the corners of the ground that a bed may cover when it is turned or moved, shape (4, 3). [m]"""
    middle = bed.outline.centroid
    reach = float(shapely.hausdorff_distance(middle, bed.outline)) + FURTHEST
    x, y = np.array([-reach, reach, reach, -reach]) + middle.x, np.array([-reach, -reach, reach, reach]) + middle.y
    soil = min(float(cells[:, 2].min()) for _, cells in tier_cells(site, bed))
    return np.column_stack([x, y, np.full(4, soil if site.terrain is None else soil - _SLOPED)])


def _places(
    site: Site, maps: SunMaps | None, new_bed: NewBed, site_engine: SunEngine, *, tell: Progress
) -> PlaceResult:
    """Return the best places, on the property without its proposed beds."""
    from siteplan.place.search.search import find_places
    from siteplan.place.search.several_sizes import places_of_sizes

    proposed = {bed.id: bed for bed in site.beds if bed.proposed}
    cleared = replace(site, beds=tuple(bed for bed in site.beds if not bed.proposed))
    engine = replace(site_engine, prisms=obstacle_prisms(cleared)) if proposed else site_engine

    def tell_maps(share: float) -> None:
        tell("place", share / 2)  # the maps take about half of the search's time

    # a bed still to be placed must not shade its own search
    if maps is None:
        maps = sun_maps(cleared, engine, progress=tell_maps)
    elif proposed:
        maps = maps_without(maps, site, site_engine, set(proposed), progress=tell_maps)
    proposed_bed = next(iter(proposed.values()), None)
    options: dict[str, Any] = {
        "like": proposed_bed,
        "months": new_bed.months,
        "exact": lambda bed: bed_sun(cleared, bed, engine),
        **_ways(cleared, maps.grid),
    }
    if new_bed.sizes is not None:
        search = places_of_sizes(cleared, maps, new_bed.sizes, **options)
    else:
        length, width = site.place.length, site.place.width
        if proposed_bed is not None:
            length, width, _ = smallest_rectangle(proposed_bed.outline)
        options |= {"length": new_bed.length or length, "width": new_bed.width or width}
        search = find_places(cleared, maps, count=new_bed.count, shape=new_bed.shape, **options)
    return _finished(cleared, search, proposed_bed, engine, new_bed)


def _ways(site: Site, grid: Grid) -> dict[str, Any]:
    """Return the maps of ways that a search weighs, as its options: wheeling, the ways to water and door."""
    from siteplan.haul.access_maps import minutes_field, walking_distances

    goals = [[tap.place for tap in site.taps], [door.place for door in site.doors]]
    water, door = walking_distances(site, grid, goals)
    return {
        "minutes": minutes_field(site, grid, sources=()),
        "water": water if site.taps else None,
        "door": door if site.doors else None,
        "loads_from": [pile.id for pile in site.piles if pile.drop] or [pile.id for pile in site.piles],
    }


def _finished(
    site: Site, search: PlaceResult, proposed_bed: Bed | None, engine: SunEngine, new_bed: NewBed
) -> PlaceResult:
    """Return the places with the shade that new beds cast on each other, and with the crops that suit them."""
    from siteplan.place.search.mutual_shade import shaded_together
    from siteplan.place.search.request import month_share

    sample = proposed_bed or Bed(id="", outline=site.boundary, height=site.place.height)
    beds = [replace(sample.on(place.outline), id=f"place {place.rank}") for place in search.places]

    def beside(bed: Bed, other_beds: Sequence[Bed]) -> BedSun:
        with_others = replace(site, beds=(*site.beds, *other_beds))
        return bed_sun(site, bed, replace(engine, prisms=obstacle_prisms(with_others)))

    search = shaded_together(search, beds, beside, month_share=month_share(new_bed.months, site.sun.year))
    places = [
        replace(place, crops=_crops(site, bed, place.month_sun_h))
        for place, bed in zip(search.places, beds, strict=True)
    ]
    return replace(search, places=tuple(places))


def _crops(
    site: Site, bed: Bed, month_sun_h: NDArray[np.float64] | None, tier: int | None = None
) -> tuple[CropFit, ...]:
    """Return how crops suit a bed, or one of its tiers, by its sun, its soil above the coarse base, and the ground.

    Of a bed in tiers, the tier with the deepest soil counts. A bed that is full already and has no layers of its own
    counts as soil to its whole depth.
    """
    if month_sun_h is None or not site.crops:
        return ()
    height = bed.height if tier is None else bed.frames[tier - 1].top
    unknown = bed.filled and not bed.layers
    columns = by_tier(() if unknown else fill_layers((bed,), site.recipe, site.materials))
    tier_layers = columns.values() if tier is None else [columns.get(tier, [])]
    return suiting_crops(
        site.crops.values(),
        month_sun_h=month_sun_h,
        depth=height if unknown else max((soil_depth(layers, site.materials) for layers in tier_layers), default=0.0),
        ground=native_soil(site, bed),
        season=site.season,
        on_paving=bed_base(site, bed) == "paving",
    )


def _cautions(site: Site, beds: tuple[Bed, ...], fill: FillPlan | None, haul: HaulPlan | None) -> tuple[Caution, ...]:
    """Return the cautions of all parts, each once, the weightiest first."""
    cautions = list(site.cautions)
    proposed = [bed for bed in beds if bed.proposed]
    limits_for = limits_by_width(site)
    broken_limits = {
        bed.id: fit_check(limits_for(bed).near(bed_reach(site, bed), ignore=bed.id))(bed.outline) for bed in proposed
    }
    spot_findings = [
        finding("bed-spot", bed, limit=limit) for bed, limit in broken_limits.items() if limit is not None
    ]
    cautions += in_words(spot_findings, site.units)
    cautions += in_words(fill.findings, site.units) if fill else ()
    cautions += in_words(haul.findings, site.units) if haul else ()
    codes = {caution.code for caution in cautions}
    covered_codes = {"heavy-lifting"} if codes >= {"heavy-work", "heavy-bag"} else set()
    return tuple(by_weight(dict.fromkeys(caution for caution in cautions if caution.code not in covered_codes)))
