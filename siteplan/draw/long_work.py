"""Which long jobs can the page ask for?

The search for a place and the whole plan, as the commands do them, on the saved property. `work` runs them in
threads.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any
from urllib.parse import quote

from shapely.geometry import mapping

from siteplan.draw.plane import Plane
from siteplan.files.adopting import bed_feature
from siteplan.files.outputs.sound_output import require_output
from siteplan.files.variants import plan_folder
from siteplan.land.errors import Fault, InputError
from siteplan.land.site import Site
from siteplan.plan import Plan, plan_site
from siteplan.question import NewBed, Progress, checked_question
from siteplan.show.writing import kept_words, write_answers

PLAN = "plan"  # the address of what `siteplan plan` writes
#: what the page opens of a plan
PAGES = (("The map", "map.html"), ("The work sheet", "report.html"))

Json = dict[str, Any]


def search(site: Site, plane: Plane, request: Json) -> Callable[[Progress], Json]:
    """Return the job of `siteplan place`: the best places for a new bed, each with the bed that would stand there.

    Parameters
    ----------
    site : Site
    plane : Plane
        Of the page.
    request : dict
        May hold ``length``, ``width`` [m] and ``count``.
    """
    names = [name for name in ("length", "width", "count") if request.get(name) is not None]
    new_bed = {name: _number(request, name) for name in names}
    checked_question(site, ask=["place"], new_bed=NewBed(**new_bed))  # raises before the work, not after it

    def act(progress: Progress) -> Json:
        plan = plan_site(site, ask=["place"], progress=progress, **new_bed)
        return {"places": _places(plan, plane)}

    return act


def whole_plan(site: Site, folder: Path, variant: str | None = None) -> Callable[[Progress], Json]:
    """Return the job of `siteplan plan`: all answers, written to the plan folder of the site or of a variant.

    Parameters
    ----------
    site : Site
    folder : Path
        The site's.
    variant : str or None
        Name of the variant that `site` is.
    """
    out = folder / plan_folder(variant)
    address = f"/{PLAN}" if variant is None else f"/{PLAN}/{quote(variant, safe='')}"
    require_output(out, site=folder)  # raises before the work, not after it

    def act(progress: Progress) -> Json:
        plan = plan_site(site, progress=progress)
        written = write_answers(plan, out, command="plan", progress=progress)
        return {
            "open": [{"name": name, "url": f"{address}/{file}"} for name, file in PAGES],
            "kept": kept_words(written.kept) if written.kept else "",
        }

    return act


def _places(plan: Plan, plane: Plane) -> list[Json]:
    """Return places as the page shows them: each with the bed ready to be drawn, and the reasons for the place."""
    if plan.places is None:
        return []
    shown = []
    for place in plan.places.places:
        drawn = bed_feature(plan.places.bed_at(place), plan.site)
        shape = mapping(plane.from_file(drawn.outline))
        feature = {"type": "Feature", "id": "", "properties": dict(drawn.properties), "geometry": shape}
        season = round(place.season_sun_h, 2)
        shown.append({"rank": place.rank, "season_h": season, "said": list(plan.why(place.rank)), "feature": feature})
    return shown


def _number(request: Json, name: str) -> Any:
    value = request[name]
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise InputError([Fault("request", name, "must be a number")])
    return value
