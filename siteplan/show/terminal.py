"""What is printed on the terminal?

Short tables of at most 80 columns, made with rich. Colour is used only on a terminal; meaning never depends on it.
It leaves out numbers that nobody would act on: those are in plan.json.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import shapely

from siteplan.land.findings import Caution
from siteplan.land.site import Site
from siteplan.land.units import System, length_text, mass_text, pressure_text, water_text
from siteplan.land.values import printable
from siteplan.say.cautions import ANYWHERE, by_weight, everywhere_sentence, in_words, listed_cautions
from siteplan.say.directions import distance_text
from siteplan.say.doubt import RANGES, TOO_MANY, bed_doubts, ground_sentence, hours_range, place_doubts
from siteplan.say.figures import plural, volume_among
from siteplan.say.fill_materials import material_groups
from siteplan.say.fill_prices import break_even_sentences, offer_text, price_sentences, why_text
from siteplan.say.filling import base_lines, fill_rows, full_sentence, hose_text
from siteplan.say.hauling import advice_lines, comparison_rows, order_notes, order_rows, unreached_lines, work_text
from siteplan.say.lighting import LIGHT_HEADS, cloud_sentence, light_rows, light_sentences, light_title
from siteplan.say.phrases import with_capital
from siteplan.say.place_reasons import counting_sentence, result_sentences, steady_sentence, why
from siteplan.say.placing import (
    TRADE_HEADS,
    crop_sentences,
    heading_sentence,
    proof_sentence,
    score_text,
    shift_sentence,
    shifts_line,
    trade_rows,
    unfit_sentence,
)
from siteplan.say.surfaces import surface_sentence
from siteplan.say.tiers import frame_lines, tier_crops, tier_sun_rows
from siteplan.say.topping_up import bed_top_up_lines, top_up_rows
from siteplan.say.walling import cut_rows, frame_rows, wall_purchase_rows, wall_sentences
from siteplan.show.charts.clock import LEGEND, clock_lines
from siteplan.show.terminal_layout import MOST, print_table, say

if TYPE_CHECKING:
    from siteplan.fill.fill_results import FillPlan
    from siteplan.haul.haul_results import HaulPlan
    from siteplan.place.crops.crop_fit import CropFit
    from siteplan.place.headings.headings import Headings
    from siteplan.place.search.search_results import Place
    from siteplan.records import Answers, BedReport


def print_site(site: Site) -> None:
    """Print what was read, and every caution."""
    counts = {
        "building": site.buildings,
        "tree": site.trees,
        "hedge": site.hedges,
        "fence": site.fences,
        "gate": site.gates,
        "surface": site.surfaces,
        "keepout": site.keepouts,
        "pile": site.piles,
        "tap": site.taps,
        "door": site.doors,
        "bed": site.beds,
        "level": site.levels,
    }
    feature_counts = ", ".join(plural(len(features), name) for name, features in counts.items() if features)
    say(f"{printable(site.name)} is sound: {feature_counts or 'nothing but the boundary'}.")
    say(f"Time zone {site.timezone}; season {site.season.last_frost} to {site.season.first_frost}.")
    for group, names in material_groups(site.materials):
        say(f"{group}: {', '.join(printable(name) for name in names)}.", indent="  ")
    if site.terrain is not None:
        heights = site.terrain.height_at(*shapely.get_coordinates(site.boundary.segmentize(1.0)).T)
        rise = float(np.nanmax(heights) - np.nanmin(heights))
        say(f"The ground rises {length_text(rise, site.units)} from the lowest to the highest point of the boundary.")
    if site.surface_model is not None:
        say(surface_sentence(site.surface_model, site.units))
    _cautions(site.cautions)


def print_plan(plan: Answers, *, command: str, written: Sequence[Path], further: Sequence[str] = ()) -> None:
    """Print the results of a command, further sentences, then where the files are."""
    if plan.beds:
        _beds(plan)
    if command == "sun":
        _clock(plan)
    if plan.places is not None:
        _places(plan)
    if command in {"fill", "plan", "demo"}:
        _walls(plan)
    if plan.fill is not None and command in {"fill", "plan", "demo"}:
        _fill(plan)
    if plan.haul is not None and command in {"haul", "plan", "demo"}:
        _haul(plan)
    _cautions(plan.cautions, brief=True)
    _ending(further, written)


def _ending(further: Sequence[str], written: Sequence[Path]) -> None:
    """Print the further sentences, and where the files are."""
    if sentences := [sentence for sentence in further if sentence]:
        say("")
    for sentence in sentences:
        say(sentence, indent="  ", whole=True)  # unbroken, so that a command in it can be copied
    if written:
        say("")
        for path in written:
            if path.name == "map.html":
                say(f"Open the map: {path}")
        say(f"Written to {written[0].parent}: {', '.join(path.name for path in written)}")


def _beds(plan: Answers) -> None:
    """Print the sun at each bed, and the gain from turning it."""
    season = plan.site.season
    rows = []
    for report in plan.beds:
        row = _bed_row(report)
        rows += [row, *tier_sun_rows(report, cells=len(row))]
    heads = ["bed", "season", "darkest", "May", "Dec", "light", "sun score"]
    if any(report.headings is not None for report in plan.beds):
        heads.append("heading score")
    print_table(f"Direct sun, hours a day (season {season.last_frost} to {season.first_frost})", heads, rows)
    _doubts(plan)
    _light(plan)
    for report in plan.beds[:MOST]:
        if report.headings is not None:
            _turning(report, report.headings, plan.site.units)
            _crops(tier_crops(report, plan.site.units))


def _bed_row(report: BedReport) -> list[str]:
    """Return the row of a bed: its hours of sun and its scores."""
    sun = report.sun
    return [
        report.bed.id,
        f"{sun.season_sun_h:.1f}",
        f"{sun.worst_cell_sun_h:.1f}",
        f"{sun.month_sun_h[4]:.1f}",
        f"{sun.month_sun_h[11]:.1f}",
        sun.light_class,
        f"{sun.sun_score:.0f}",
        *([] if report.headings is None else [score_text(report.headings)]),
    ]


def _turning(report: BedReport, headings: Headings, units: System) -> None:
    """Print the gain from turning and from moving a bed."""
    sentences = [heading_sentence(headings)]
    sentences += [shift_sentence(report.shifts, units)] if report.shifts is not None else []
    say(f"{printable(report.bed.id)}: {'; '.join(sentences)}.", indent="  ")
    if unfit := unfit_sentence(headings, units):
        say(f"  {unfit}.", indent="  ")
    if report.shifts is not None:
        say(f"  {shifts_line(report.shifts, units)}.", indent="  ")


def _doubts(plan: Answers) -> None:
    """Print how sure the sun at each bed is, and what to measure."""
    reports = [report for report in plan.beds if report.doubt is not None]
    if reports:
        say(RANGES)
    elif plan.maps is not None and len(plan.beds) > 1:
        say(TOO_MANY)
    for report in reports:
        hours = hours_range(report.sun.season_sun_h, report.doubt)
        say(f"{printable(report.bed.id)}: {hours}; {'; '.join(bed_doubts(plan, report))}.", indent="  ")
    if ground := ground_sentence(plan.sure_map):
        say(f"{ground.capitalize()}.")


def _light(plan: Answers) -> None:
    """Print the light at each bed, and whether clouds are counted."""
    rows = light_rows(plan)
    if not rows:
        return
    print_table(light_title(plan), LIGHT_HEADS, rows)
    for sentence in light_sentences(plan):
        say(f"{printable(sentence)}.", indent="  ")
    say(cloud_sentence(plan), indent="  ")


def _clock(plan: Answers) -> None:
    """Print at what time of day the sun reaches a bed, if only one bed was asked for."""
    for report in plan.beds:
        if report.lit is not None:
            say(f"{printable(report.bed.id)} through the day, by the clock ({plan.site.timezone}):")
            for line in clock_lines(report.lit):
                print(f"  {line}")
            say(f"  {LEGEND}")


def _places(plan: Answers) -> None:
    """Print the best places and the reasons for them."""
    places, system = plan.places, plan.site.units
    if places is None:
        return
    if places.places:
        heads = ["place", "size", "heading", "season h", "darkest h"]
        print_table("Where a new bed should go", heads, [_place_row(place, system) for place in places.places])
    crops_before: tuple[CropFit, ...] = ()
    for place in places.places:
        say(f"{place.rank}. " + "; ".join(why(place, places, system)) + ".", indent="  ")
        if place.crops != crops_before:
            _crops(crop_sentences(place.crops, system))
        crops_before = place.crops
        for caution in in_words(place.findings, system):
            say(f"  Mind: {caution.text}", indent="  ")
    steady = steady_sentence(places.sensitivity, system)
    doubts = place_doubts(places)
    explained = any(report.doubt is not None for report in plan.beds)
    ranges = RANGES if doubts and not explained else ""
    for sentence in (*result_sentences(places, system), steady, proof_sentence(places), ranges, *doubts):
        if sentence:
            say(with_capital(sentence) + ("" if sentence.endswith(".") else "."))
    if len(places.trade_off) > 1:
        rows = trade_rows(places, system)
        title = "Sun against work and water: spots that no other beats"
        print_table(title, TRADE_HEADS, rows, words={TRADE_HEADS[0], TRADE_HEADS[5]})
        say(f"{counting_sentence(places)}.")


def _place_row(place: Place, system: System) -> list[str]:
    """Return the row of a place: its rank, size, heading and hours."""
    return [
        str(place.rank),
        f"{length_text(place.length, system)} x {length_text(place.width, system)}",
        f"{place.heading:.0f}°",
        f"{place.season_sun_h:.1f}",
        f"{place.worst_cell_sun_h:.1f}",
    ]


def _crops(sentences: Iterable[str]) -> None:
    """Print which crops suit a bed."""
    for sentence in sentences:
        say(f"  {sentence}.", indent="  ")


def _fill(plan: Answers) -> None:
    """Print what goes into each bed, what to buy, what is saved, and the care that follows."""
    fill, site = plan.fill, plan.site
    if fill is None:
        return
    rows = [
        ["" if number else bed.bed, row["material"], row["top"], row["volume"], row["comes"]]
        for bed in fill.beds
        for number, row in enumerate(fill_rows(plan, bed.bed))
    ]
    if rows:
        heads = ["bed", "material", "fill to", "loose", "comes as"]
        print_table("What goes in, bottom to top", heads, rows, words={"comes as"})
    for line in (*frame_lines(plan), *base_lines(plan), *filter(None, [full_sentence(plan).removesuffix(".")])):
        say(f"{line}.", indent="  ")
    purchases = [
        [
            line.material,
            f"{line.count} x {offer_text(line, site.units)}" if line.kind != "none" else why_text(line, site.units),
            volume_among(line.volume, (other.volume for other in fill.purchase), site.units),
            "" if line.cost is None else f"{line.cost:,.2f}",
        ]
        for line in fill.purchase
    ]
    if purchases:
        print_table("What to buy", ["material", "how", "volume", site.currency], purchases, words={"how"})
    for sentence in (*price_sentences(plan), *break_even_sentences(plan)):
        say(sentence, indent="  ")
    _later(plan, fill)


def _walls(plan: Answers) -> None:
    """Print what the walls are built of, the cut list, and what to buy for them."""
    for row in frame_rows(plan):
        say(f"Walls of {printable(row['bed'])}: {row['what']}", indent="  ")
    if cuts := [[str(cut["count"]), cut["board"], cut["pieces"], cut["rest"]] for cut in cut_rows(plan)]:
        print_table("How to saw it", ["boards", "each", "into", "rest"], cuts, words={"each", "into", "rest"})
    if bought := [[str(row["count"]), row["offer"], row["cost"]] for row in wall_purchase_rows(plan)]:
        print_table("What to buy for the walls", ["count", "what", plan.site.currency], bought, words={"what"})
    for sentence in wall_sentences(plan):
        say(sentence, indent="  ")


def _later(plan: Answers, fill: FillPlan) -> None:
    """Print the weight and the water of the filled beds, and what tops them up."""
    units, with_hose = plan.site.units, plan.site.water.flow is not None
    rows = [
        [
            bed.bed,
            length_text(bed.settled_depth, units),
            mass_text(bed.mass_wet, units),
            pressure_text(bed.ground_pressure, units),
            water_text(bed.moistening_water, units),
            water_text(bed.weekly_water, units),
            *([hose_text(bed.weekly_hose)] if with_hose else []),
        ]
        for bed in fill.beds
    ]
    if rows:
        heads = [
            "bed",
            "in a year",
            "wet weight",
            "on ground",
            "to moisten",
            "a week",
            *(["hose"] if with_hose else []),
        ]
        print_table("Settled, weight and water", heads, rows)
    years = [[row["year"], row["drop"], row["with"], row["cost"]] for row in top_up_rows(plan)]
    if years:
        heads = ["year", "sinks", "bring", plan.site.currency]
        print_table("Top up to the brim, each autumn", heads, years, words={"bring"})
    for line in bed_top_up_lines(plan):
        say(f"{line}.", indent="  ")


def _haul(plan: Answers) -> None:
    """Print the trips."""
    haul = plan.haul
    if haul is None:
        return
    for line in unreached_lines(plan):
        say(line, indent="  ")
    heads = ["bed", "material", "from", "way", "trips", "minutes"]
    print_table("Barrow runs", heads, _load_rows(haul, plan.site.units))
    heads = ["run", "day", "at", "bed", "material", "from", "trips", "time"]
    print_table("Order of work", heads, order_rows(plan), words={"time"})
    for note in order_notes(plan):
        say(note, indent="  ")
    compared = comparison_rows(plan)
    if compared:
        heads = ["compared with", "time", "trips", "walked", "climbed", "push"]
        print_table("What another spot or gate would change", heads, compared, words={"time"})
    for line in advice_lines(plan):
        say(line, indent="  ")
    drop = f"; have deliveries tipped at {printable(haul.drop)}" if haul.drop else ""
    if haul.loads:
        say(f"{work_text(haul)}{drop}.")


def _load_rows(haul: HaulPlan, units: System) -> list[list[str]]:
    """Return the row of each load: where it goes and comes from, how far, its trips and minutes."""
    return [
        [
            load.bed,
            load.material,
            load.from_id,
            distance_text(route.length_m, units),
            str(load.trips),
            f"{load.minutes:.0f}",
        ]
        for load, route in zip(haul.loads, haul.load_routes, strict=True)
    ]


def _cautions(cautions: Iterable[Caution], *, brief: bool = False) -> None:
    """Print the cautions, the most serious first; if brief, those that hold on any site only by their topic."""
    listed = listed_cautions(by_weight(cautions))
    if listed:
        say("")
        say("Mind:")
    for caution in listed:
        if brief and caution.code in ANYWHERE:
            continue
        feature = f"{printable(caution.feature)}: " if caution.feature else ""
        say(f"- {feature}{caution.text}", indent="  ")
    if brief and (everywhere := everywhere_sentence(listed)):
        say(f"- {everywhere}", indent="  ")
