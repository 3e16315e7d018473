"""How is the hauling said on the terminal and on the work sheet?

The order of work, what comes by when, the plan beside others, boards and a second barrow, in words and in a strip.
It leaves out routes and heaps on the ground: those are in answers.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from markupsafe import Markup

from siteplan.haul.results import Delivery, HaulSummary, Heap, Run
from siteplan.land.units import System, force_text, length_text, volume_text
from siteplan.show.asset import own_asset
from siteplan.show.words.text import page_text, plain_text
from siteplan.show.words.words import money_text, plural, time_text

if TYPE_CHECKING:
    from siteplan.answers import Answers
    from siteplan.haul.boards import BoardsChoice

MINUTES_WORTH_SAYING = 1.0  # that a second barrow must save
_WIDE, _LANE, _LEFT = 640.0, 15.0, 118.0  # of the strip, in its own units


def numbers_text(numbers: Sequence[int]) -> str:
    """Return numbers, those in a row as a span.

    Examples
    --------
    >>> numbers_text([4, 6, 8]), numbers_text([1, 2, 3, 7]), numbers_text([5, 6]), numbers_text([])
    ('4, 6, 8', '1–3, 7', '5, 6', '')
    """
    spans: list[list[int]] = []
    for number in sorted(numbers):
        if spans and number == spans[-1][-1] + 1:
            spans[-1].append(number)
        else:
            spans.append([number])
    return ", ".join(
        f"{span[0]}–{span[-1]}" if len(span) > 2 else ", ".join(str(number) for number in span) for span in spans
    )


def clock_text(minutes: float) -> str:
    """Return how far into the day's work something begins.

    Examples
    --------
    >>> clock_text(0), clock_text(125.7)
    ('0:00', '2:06')
    """
    hours, rest = divmod(round(minutes), 60)
    return f"{hours}:{rest:02d}"


def order_rows(plan: Answers) -> list[list[str]]:
    """Return the order of work: run, day, when it begins, bed, material, from, trips, how long."""
    return [
        [
            str(run.number),
            str(run.day),
            clock_text(run.start),
            run.bed,
            run.material + (" *" if run.mixed else ""),
            run.from_id,
            str(run.trips),
            time_text(run.minutes),
        ]
        for run in (plan.haul.order if plan.haul else ())
    ]


def order_notes(plan: Answers) -> list[str]:
    """Return what goes with the order of work: what must have come, and what is mixed."""
    if plan.haul is None:
        return []
    notes = [_delivery_text(delivery, plan.site.units) for delivery in plan.haul.deliveries]
    if any(run.mixed for run in plan.haul.order):
        notes.append(
            "* This layer comes from several places, or of several materials: spread each in thin lifts and fork "
            "them together."
        )
    return notes


def _delivery_text(delivery: Delivery, system: System) -> str:
    return (
        f"{volume_text(delivery.volume, system)} of {delivery.material} must have come before run "
        f"{delivery.before_run} on day {delivery.day}."
    )


def comparison_rows(plan: Answers) -> list[list[str]]:
    """Return the plan beside others: what, time, trips, way in all, climb in all, hardest push."""
    units = plan.site.units
    return [_comparison_row(row, units) for row in (plan.haul.comparison if plan.haul else ())]


def _comparison_row(row: HaulSummary, system: System) -> list[str]:
    time = time_text(row.minutes) if not row.unreached else f"{plural(row.unreached, 'load')} without a way"
    push = force_text(row.peak_force, system) if math.isfinite(row.peak_force) else "—"
    return [
        row.name,
        time,
        str(row.trips),
        length_text(row.walked_m, system),
        length_text(row.climbed_m, system),
        push,
    ]


def advice_lines(plan: Answers) -> list[str]:
    """Return what a second barrow and boards over soft ground would change."""
    haul, site = plan.haul, plan.site
    if haul is None:
        return []
    lines = []
    crew = haul.crew
    if crew is not None and crew.together - crew.side_by_side >= MINUTES_WORTH_SAYING:
        both = f"{time_text(crew.side_by_side)} instead of {time_text(crew.together)}"
        if site.barrow.count > 1:
            lines.append(f"One barrow is loaded while the other is pushed: {both} with one barrow.")
        else:
            lines.append(f"With a second barrow, loaded while the other is pushed: {both}.")
    elif crew is not None and site.labour.people > 1 and site.barrow.count == 1:
        lines.append("A second barrow saves no time here: loading takes longer than pushing.")
    return lines + [_boards_text(choice, plan) for choice in haul.boards[:1]]


def _boards_text(choice: BoardsChoice, plan: Answers) -> str:
    units = plan.site.units
    cost = "" if choice.cost is None else f" for {money_text(choice.cost, plan.site.currency)}"
    length = length_text(plan.site.haul.board_length, units)
    return (
        f"In the wet {length_text(choice.soft_m, units)} of the way from {plain_text(choice.from_id)} to "
        f"{plain_text(choice.to_id)} are soft: {plural(choice.boards, 'board')} of {length}{cost} bring the hardest "
        f"push from {force_text(choice.push_bare, units)} to {force_text(choice.push_boarded, units)}."
    )


def heap_text(heap: Heap, system: System) -> str:
    """Return what a heap is: how much, and how large on the ground."""
    volume, width = volume_text(heap.volume, system), length_text(2 * heap.radius, system)
    if heap.length > 0:
        long = length_text(heap.length + 2 * heap.radius, system)
        return f"{heap.material} {volume}, a ridge {width} wide and {long} long"
    return f"{heap.material} {volume}, a heap {width} across"


def day_strip(plan: Answers) -> Markup:
    """Return the runs as bars along the hours of each day, a lane for each bed; empty where there is no work."""
    runs = plan.haul.order if plan.haul else ()
    if not runs:
        return Markup("")
    longest = max([run.start + run.minutes for run in runs] + [plan.site.labour.hours_per_day * 60])
    across = (_WIDE - _LEFT - 8) / longest
    parts, y = [], 4.0
    for day in sorted({run.day for run in runs}):
        of_day = [run for run in runs if run.day == day]
        beds = list(dict.fromkeys(run.bed for run in of_day))
        parts.append(f'<text class="day" x="0" y="{y + 11:.1f}">Day {day}</text>')
        top = y
        for bed in beds:
            name = page_text(plain_text(bed, longest=16))
            parts.append(f'<text class="lane" x="38" y="{y + 11:.1f}">{name}</text>')
            parts += [_bar(run, y, across) for run in of_day if run.bed == bed]
            y += _LANE
        for hour in range(math.floor(longest / 60) + 1):
            x = _LEFT + hour * 60 * across
            parts.append(f'<path class="hour" d="M{x:.1f} {top:.1f}V{y:.1f}"/>')
            parts.append(f'<text class="hour" x="{x:.1f}" y="{y + 9:.1f}">{hour} h</text>')
        y += 16
    spoken = "; ".join(
        f"day {run.day}, {clock_text(run.start)}: {run.material} to {run.bed}, {plural(run.trips, 'trip')}"
        for run in runs
    )
    opening = (
        f'<svg class="chart strip" viewBox="0 0 {_WIDE:g} {y:g}" role="img" aria-label="Runs by day. '
        f'{page_text(spoken, longest=4000)}"><style>{own_asset("paper_strip.css")}</style>'
    )
    return Markup(opening + "".join(parts) + "</svg>")  # noqa: S704  # names went through the door


def _bar(run: Run, y: float, across: float) -> str:
    """Return one run; what waits for a delivery has a broken edge."""
    x, wide = _LEFT + run.start * across, max(run.minutes * across - 0.6, 0.8)
    kind = "run late" if run.delivered else "run"
    number = f'<text class="number" x="{x + wide / 2:.1f}" y="{y + 11:.1f}">{run.number}</text>' if wide > 7 else ""
    return f'<rect class="{kind}" x="{x:.1f}" y="{y + 2:.1f}" width="{wide:.1f}" height="{_LANE - 4:g}"/>{number}'
