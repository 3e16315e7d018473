"""What is on the printed work sheet?

The plan to scale, how to set the beds out, sun, layers with fill marks, shopping, and runs with boxes to tick.
It leaves out the maps of sun and light: those help to choose a place.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path
from types import ModuleType
from typing import TYPE_CHECKING, Any, cast

from markupsafe import Markup

from siteplan.haul.haul_results import Run
from siteplan.land.errors import MissingExtraError
from siteplan.land.features import Bed
from siteplan.land.outline import smallest_rectangle
from siteplan.land.units import length_text, mass_text
from siteplan.say.adopting import next_step
from siteplan.say.cautions import listed_cautions
from siteplan.say.doubt import RANGES_SHORT, bed_doubts, place_doubts
from siteplan.say.figures import MONTHS, day_text, plural, time_text, volume_among
from siteplan.say.filling import (
    base_line,
    bed_line,
    fill_rows,
    full_line,
    ground_first,
    sheet_values,
)
from siteplan.say.hauling import (
    advice_lines,
    comparison_rows,
    heap_text,
    order_notes,
    unreached_lines,
    work_text,
)
from siteplan.say.lighting import SUN_HOURS, light_sources, sheet_words
from siteplan.say.place_reasons import counting_sentence, result_sentences, why
from siteplan.say.placing import heading_sentence, shift_sentence, shifts_line, trade_rows
from siteplan.say.safe_text import page_text
from siteplan.say.tiers import build_steps, push_sentences, tier_sentences
from siteplan.say.topping_up import bed_top_up_line, bed_top_up_lines
from siteplan.say.walling import wall_values
from siteplan.show.charts.bed_charts import bed_cut
from siteplan.show.charts.day_strip import day_strip
from siteplan.show.charts.roses import heading_rose, trade_chart
from siteplan.show.listing import aftercare, bed_size, place_beds, purchase_rows
from siteplan.show.page_parts import own_asset, templates
from siteplan.show.sheet.paper_plan import around, plan_drawing
from siteplan.show.sheet.setting_out import (
    GOOD_CROSSING,
    FixedPoint,
    corner_rows,
    serves,
    set_out,
    shared_pair,
    tape_text,
)
from siteplan.show.sheet.sun_rows import sun_rows
from siteplan.show.sheet.tier_setting_out import diagonals_text, tier_set_outs, tier_values

if TYPE_CHECKING:
    from siteplan.records import Answers, BedReport

#: currencies of countries that use Letter paper (common practice, no source); elsewhere paper is A4 of ISO 216
_LETTER = ("USD", "CAD", "MXN", "COP", "CLP", "PHP")
_ROOM = {"A4": 184.0, "Letter": 189.0}  # mm between the margins
_SMALL_SCALE = 300  # 1 : n; at a smaller scale a bed is under 8 mm long, so the part around the beds is drawn again
_MOST_BOXES = 40  # tick boxes of one run; with more trips, one box stands for several


def report_html(plan: Answers) -> str:
    """Return the work sheet as one HTML page that needs no other file.

    Parameters
    ----------
    plan : Answers
    """
    return templates().get_template("report.html.jinja").render(report_values(plan))


def report_pdf(plan: Answers, path: str | Path) -> Path:
    """Write the work sheet as a PDF and return its path.

    Parameters
    ----------
    plan : Answers
    path : str or Path

    Raises
    ------
    MissingExtraError
        If weasyprint, or the Pango library that it needs, is not installed.
    """
    weasyprint = require_printing()
    target = Path(path)
    weasyprint.HTML(string=report_html(plan), url_fetcher=_refuse).write_pdf(target)
    return target


def require_printing() -> ModuleType:
    """Return weasyprint.

    Raises
    ------
    MissingExtraError
        Where weasyprint, or the Pango library that it needs, is not installed.
    """
    try:
        import weasyprint
    except (ImportError, OSError) as error:
        raise MissingExtraError(
            "a PDF needs weasyprint and the Pango library: install siteplan[pdf], and Pango from your system; "
            "or print report.html from a browser",
        ) from error
    return cast("ModuleType", weasyprint)


def _refuse(url: str, *_: Any, **__: Any) -> dict[str, Any]:
    """Refuse to load any file from outside: the sheet holds all that it shows."""
    raise ValueError(f"the work sheet asks for nothing from outside, but for {url[:80]!r}")


def report_values(plan: Answers) -> dict[str, Any]:
    """Return the values for the sheet's template."""
    site = plan.site
    season = f"{day_text(site.season.last_frost)} to {day_text(site.season.first_frost)}"
    return {
        "title": site.name or "Site plan",
        "style": Markup(own_asset("paper.css")),  # noqa: S704  # our own file
        "head_line": f"{plural(len(site.beds), 'bed')}, season {season}",
        "season": season,
        "cautions": listed_cautions(plan.cautions),
        "next_step": next_step(plan),
        **_drawing_values(plan),
        **_sun_values(plan),
        **_choices(plan),
        "full_beds": bed_top_up_lines(plan, full=True),
        "fills": [filled for bed in site.beds if (filled := _fill(plan, bed)) is not None],
        "lining": "" if site.recipe.lining == "none" else site.recipe.lining,
        "purchase": purchase_rows(plan),
        "on_hand": _on_hand(plan),
        **sheet_values(plan),
        **wall_values(plan),
        **_work(plan),
        "sources": _sources(plan),
    }


def _drawing_values(plan: Answers) -> dict[str, Any]:
    """Return the values of the drawing, and of setting out beds from a pair of fixed points."""
    site, places = plan.site, place_beds(plan)
    pair = shared_pair(site, site.beds or places)
    paper = "Letter" if site.currency in _LETTER else "A4"
    wide = _ROOM[paper]
    drawing, scale = plan_drawing(plan, pair, wide=wide)
    detail = None
    if pair is not None and scale > _SMALL_SCALE:
        extent = around([bed.outline for bed in (*site.beds, *places)], pair)
        detail = plan_drawing(plan, pair, wide=wide, tall=90, extent=extent)
    empty = [bed for bed in site.beds if not bed.filled]  # a bed that is full stays where it is
    return {
        "paper": paper,
        "scale": scale,
        "drawing": drawing,
        "detail": detail if detail and detail[1] < scale / 2 else None,
        "pair": pair,
        "pair_apart": _apart(pair[0], pair[1], plan) if pair else "",
        "set_outs": _set_outs(plan, empty, places, pair),
    }


def _sun_values(plan: Answers) -> dict[str, Any]:
    """Return the values of the beds' sun, light and headings."""
    reports = [report for report in plan.beds if report.bed.proposed] or plan.beds
    return {
        "months": MONTHS,
        "suns": [row for report in plan.beds for row in sun_rows(plan, report)],
        "sun_hours": SUN_HOURS,
        "ranges": RANGES_SHORT,
        "doubts": [
            {"bed": report.bed.id, "said": bed_doubts(plan, report)}
            for report in plan.beds
            if report.doubt is not None
        ],
        "light_words": sheet_words(plan),
        "turns": [_turn(plan, report) for report in reports if report.headings is not None],
    }


def _apart(first: FixedPoint, second: FixedPoint, plan: Answers) -> str:
    return tape_text(math.dist((first.x, first.y), (second.x, second.y)), plan.site.units)


def _set_outs(
    plan: Answers, beds: Sequence[Bed], places: Sequence[Bed], pair: tuple[FixedPoint, FixedPoint] | None
) -> list[dict[str, Any]]:
    """Return the values for setting out all beds; a place uses the beds' pair of fixed points only if it suits."""
    values = [_set_out(plan, bed, pair, pair) for bed in beds]
    for bed in places:
        suits = pair is not None and serves(plan.site, bed, pair)
        values.append(_set_out(plan, bed, pair if suits else None, pair))
    return [bed_values for bed_values in values if bed_values is not None]


def _set_out(
    plan: Answers,
    bed: Bed,
    pair: tuple[FixedPoint, FixedPoint] | None,
    shared: tuple[FixedPoint, FixedPoint] | None,
) -> dict[str, Any] | None:
    """Return the values for setting out a bed from `pair`, or from its own best pair; None without fixed points."""
    units = plan.site.units
    taped = set_out(plan.site, bed, pair)
    if taped is None:
        return None
    return {
        "bed": taped.bed,
        "size": bed_size(bed, plan),
        "own": (taped.first, taped.second) != shared,
        "first": taped.first.name,
        "second": taped.second.name,
        "apart": _apart(taped.first, taped.second, plan),
        "side": taped.side,
        "clear": taped.clear,
        "flat": taped.crossing < GOOD_CROSSING,
        "diagonals": diagonals_text(taped.diagonals, units),
        "corners": corner_rows(taped, units),
        "tiers": [tier_values(frame, units) for frame in tier_set_outs(bed)],
    }


def _turn(plan: Answers, report: BedReport) -> dict[str, Any]:
    """Return the gain from turning and from moving a bed, as charts and in sentences."""
    style = own_asset("paper_rose.css")
    headings, shifts, units = report.headings, report.shifts, plan.site.units
    sentences = [heading_sentence(headings)] if headings else []
    sentences += [shift_sentence(shifts, units)] if shifts else []
    now = smallest_rectangle(report.bed.outline)[2]
    return {
        "bed": report.bed.id,
        "rose": heading_rose(headings, now=now, style=style) if headings else None,
        "said": sentences,
        "steps": shifts_line(shifts, units) if shifts else "",
    }


def _choices(plan: Answers) -> dict[str, Any]:
    """Return the places for a new bed, and the other choices between sun and work."""
    places, units = plan.places, plan.site.units
    if places is None:
        return {"places": [], "place_says": (), "choices": [], "choice_chart": None, "counting": ""}
    return {
        "places": [{"rank": place.rank, "why": why(place, places, units)} for place in places.places],
        "place_says": (*result_sentences(places, units), *place_doubts(places)),
        "counting": counting_sentence(places),
        "choices": trade_rows(places, units) if len(places.trade_off) > 1 else [],
        "choice_chart": trade_chart(places, units, style=own_asset("paper_rose.css")),
    }


def _fill(plan: Answers, bed: Bed) -> dict[str, Any] | None:
    """Return one bed's layers, with their cross-section."""
    units = plan.site.units
    layers = [layer for layer in plan.fill.layers if layer.bed == bed.id] if plan.fill else []
    figures = next((bed_fill for bed_fill in plan.fill.beds if bed_fill.bed == bed.id), None) if plan.fill else None
    if figures is None:
        return None
    return {
        "title": bed.id,
        "ground": ground_first(plan, figures),
        "weight": bed_line(plan, figures),
        "full": full_line(plan, figures),
        "cut": bed_cut(plan, bed, style=own_asset("paper_cut.css")),
        "volume": volume_among(figures.volume, (figures.volume_full_after_a_year,), units),
        "mass": mass_text(sum(layer.mass for layer in layers), units),
        "settled": length_text(figures.settled_depth, units),
        "after": [*aftercare(plan, bed.id)[:1], bed_top_up_line(plan, bed.id)],
        "layers": fill_rows(plan, bed.id),
        "base": base_line(plan, bed.id),
        "build": build_steps(plan, bed),
        "tiers": (*tier_sentences(plan, bed), *push_sentences(plan, bed)),
    }


def _on_hand(plan: Answers) -> list[dict[str, str]]:
    """Return the materials taken from the piles."""
    units = plan.site.units
    among = [volume for use in (plan.fill.on_hand if plan.fill else ()) for volume in (use.volume, use.left)]
    return [
        {
            "material": use.material,
            "at": use.at,
            "volume": volume_among(use.volume, among, units),
            "left": volume_among(use.left, among, units),
        }
        for use in (plan.fill.on_hand if plan.fill else ())
    ]


def _work(plan: Answers) -> dict[str, Any]:
    """Return the work day by day, and where deliveries are tipped."""
    haul, units = plan.haul, plan.site.units
    if haul is None:
        empty = dict.fromkeys(("days", "heaps", "order", "beside", "advice", "unreached"), ())
        return {**empty, "work": "", "drop": "", "strip": None}
    heaps = [heap_text(heap, units) for heap in haul.heaps]
    days = [
        {
            "number": day,
            "time": time_text(sum(run.minutes for run in haul.order if run.day == day)),
            "runs": [_run(plan, run) for run in haul.order if run.day == day],
        }
        for day in sorted({run.day for run in haul.order})
    ]
    work = f"{work_text(haul)}, {mass_text(haul.mass, units)}." if haul.loads else ""
    return {
        "days": days,
        "work": work,
        "unreached": unreached_lines(plan),
        "drop": haul.drop,
        "heaps": heaps,
        "strip": day_strip(plan),
        "order": order_notes(plan),
        "beside": comparison_rows(plan),
        "advice": advice_lines(plan),
    }


def _run(plan: Answers, run: Run) -> dict[str, Any]:
    """Return one line of the order of work, with a tick box for each trip."""
    per_box = max(1, math.ceil(run.trips / _MOST_BOXES))
    return {
        "number": run.number,
        "material": run.material + (" *" if run.mixed else ""),
        "from": run.from_id,
        "bed": run.bed,
        "each": mass_text(run.per_trip_mass, plan.site.units) if run.per_trip_mass > 0 else "",
        "time": time_text(run.minutes),
        "trips": run.trips,
        "boxes": range(math.ceil(run.trips / per_box)),
        "more": per_box > 1,
        "each_box": per_box,
    }


def _sourced(source: str) -> str:
    """Return a source note in short: sources that are named in full, common practice in a few words.

    Examples
    --------
    >>> _sourced("density: a table, seen; pace: common practice, no source")
    'density: a table, seen; the rest common practice, no source'
    """
    parts = [part for part in source.split("; ") if part]
    named = [part for part in parts if not part.endswith("no source")]
    return "; ".join([*named, "the rest common practice, no source"] if len(named) < len(parts) else named)


def _sources(plan: Answers) -> Sequence[Markup]:
    """Return the sources of the sheet's figures."""
    site = plan.site
    materials = {layer.material for layer in plan.fill.layers} if plan.fill else set()
    sun = (
        f"Sun: the sun's path of {site.sun.year} by the solar position algorithm of Reda and Andreas (2004), with "
        "refraction; its centre clear of everything drawn; crowns let their share through; cloud is left out."
    )
    sources = [
        sun,
        "Six hours and more is full sun, four part sun, two part shade (Penn State Extension, seen second-hand).",
        *light_sources(plan),
        "Distances are level and straight, from the outlines in the site's files: check them against the ground.",
    ]
    surfaces = {surface.surface for surface in site.surfaces}
    for names, sourced in ((materials, site.materials), (surfaces, site.rolling_surfaces)):
        sources += [f"{name}: {_sourced(sourced[name].source)}" for name in sorted(names & set(sourced))]
    sources.append(
        "Have buried services marked before digging. Walls, retaining and trees: local codes and licensed practice "
        "come before this sheet.",
    )
    return [page_text(source, longest=2000) for source in sources]
