"""Which runs are done on which day?

A timeline for each day, with a row for each bed and a bar for each run.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence

from markupsafe import Markup

from siteplan.haul.haul_results import Run
from siteplan.records import Answers
from siteplan.say.figures import plural
from siteplan.say.hauling import clock_text
from siteplan.say.safe_text import page_text, plain_text
from siteplan.show.page_parts import own_asset

_WIDE, _LANE, _LEFT = 640.0, 15.0, 118.0  # width, height of a row, left margin, in the picture's own units


def day_strip(plan: Answers) -> Markup:
    """Return the runs as bars on a timeline for each day, one row for each bed; empty if there is no work."""
    runs = plan.haul.order if plan.haul else ()
    if not runs:
        return Markup("")
    longest = max([run.start + run.minutes for run in runs] + [plan.site.labour.hours_per_day * 60])
    parts: list[str] = []
    y = 4.0
    for day in sorted({run.day for run in runs}):
        runs_by_bed: dict[str, list[Run]] = {}
        for run in runs:
            if run.day == day:
                runs_by_bed.setdefault(run.bed, []).append(run)
        parts += _timeline(day, runs_by_bed, y, longest)
        y += len(runs_by_bed) * _LANE + 16
    spoken = "; ".join(
        f"day {run.day}, {clock_text(run.start)}: {run.material} to {run.bed}, {plural(run.trips, 'trip')}"
        for run in runs
    )
    opening = (
        f'<svg class="chart strip" viewBox="0 0 {_WIDE:g} {y:g}" role="img" aria-label="Runs by day. '
        f'{page_text(spoken, longest=4000)}"><style>{own_asset("paper_strip.css")}</style>'
    )
    return Markup(opening + "".join(parts) + "</svg>")  # noqa: S704  # names are escaped


def _timeline(day: int, runs_by_bed: Mapping[str, Sequence[Run]], top: float, longest: float) -> Iterator[str]:
    """Yield the parts of one day's timeline, for days of up to `longest` minutes."""
    minute = (_WIDE - _LEFT - 8) / longest
    yield f'<text class="day" x="0" y="{top + 11:.1f}">Day {day}</text>'
    for lane, (bed, runs) in enumerate(runs_by_bed.items()):
        y = top + lane * _LANE
        yield f'<text class="lane" x="38" y="{y + 11:.1f}">{page_text(plain_text(bed, longest=16))}</text>'
        yield from (_bar(run, y, minute) for run in runs)
    bottom = top + len(runs_by_bed) * _LANE
    for hour in range(math.floor(longest / 60) + 1):
        x = _LEFT + hour * 60 * minute
        yield f'<path class="hour" d="M{x:.1f} {top:.1f}V{bottom:.1f}"/>'
        yield f'<text class="hour" x="{x:.1f}" y="{bottom + 9:.1f}">{hour} h</text>'


def _bar(run: Run, y: float, minute: float) -> str:
    """Return the bar of one run; its edge is dashed if the run must wait for a delivery."""
    x, wide = _LEFT + run.start * minute, max(run.minutes * minute - 0.6, 0.8)
    kind = "run late" if run.delivered else "run"
    number = f'<text class="number" x="{x + wide / 2:.1f}" y="{y + 11:.1f}">{run.number}</text>' if wide > 7 else ""
    return f'<rect class="{kind}" x="{x:.1f}" y="{y + 2:.1f}" width="{wide:.1f}" height="{_LANE - 4:g}"/>{number}'
