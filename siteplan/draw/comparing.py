"""How do the variants of a property compare?

Each is planned as the commands plan it: its beds' sun by month, its cost, the time for the work, and the cautions.
The gardener judges which is best.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

from siteplan.files.reader import check_site
from siteplan.files.variants import variant_names
from siteplan.plan import Plan, plan_site
from siteplan.question import Progress

Json = dict[str, Any]
_ASK = ("sun", "fill", "haul")
_STEPS = ("sun", "turn", "range", "fill", "haul")  # for which such a plan reports progress


def variants_compared(folder: Path) -> Callable[[Progress], Json]:
    """Return the work of comparing the property with all of its variants, as they are saved.

    The answer has ``rows``, the property first with the name None. A row has ``faults`` if it cannot be planned,
    else ``beds`` (id, season_h, worst_h, month_h: hours of direct sun a day), ``cost`` and ``currency``, ``hours``
    and ``hours_with_rests`` of wheeling, ``trips``, ``cautions``.
    """

    def act(progress: Progress) -> Json:
        names: list[str | None] = [None, *variant_names(folder)]
        rows = []
        for number, name in enumerate(names):

            def tell(question: str, share: float, done: int = number) -> None:
                steps = _STEPS.index(question) if question in _STEPS else 0
                progress(question, (done + (steps + share) / len(_STEPS)) / len(names))

            rows.append(_row(folder, name, tell))
        return {"rows": rows}

    return act


def _row(folder: Path, name: str | None, tell: Progress) -> Json:
    checked = check_site(folder, variant=name)
    if checked.site is None:
        return {"name": name, "faults": [str(fault) for fault in checked.faults]}
    plan = plan_site(checked.site, ask=_ASK, progress=tell)
    costs = [answer.price for answer in (plan.fill, plan.walls) if answer is not None]
    known_costs = [cost for cost in costs if cost is not None]
    haul = plan.haul
    return {
        "name": name,
        "faults": [],
        "beds": _beds(plan),
        "cost": round(math.fsum(known_costs), 2) if known_costs else None,
        "currency": plan.site.currency,
        "hours": None if haul is None else round(haul.total_minutes / 60, 2),
        "hours_with_rests": None if haul is None else round(haul.minutes_with_rests / 60, 2),
        "trips": None if haul is None else haul.trips,
        "cautions": [
            {"code": caution.code, "feature": caution.feature, "text": caution.text} for caution in plan.cautions
        ],
    }


def _beds(plan: Plan) -> list[Json]:
    return [
        {
            "id": report.bed.id,
            "season_h": round(float(report.sun.season_sun_h), 2),
            "worst_h": round(float(report.sun.worst_cell_sun_h), 2),
            "month_h": [round(float(hours), 2) for hours in report.sun.month_sun_h],
        }
        for report in plan.beds
    ]
