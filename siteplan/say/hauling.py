"""What do the terminal, the map and the work sheet say about hauling?

Loads without a route, the amount of work, its order, deliveries and their days, alternatives, and advice on boards
and a second barrow. Cautions are in `haul_cautions`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from siteplan.haul.haul_results import BoardsChoice, HaulPlan, HaulSummary, Heap, Unreached
from siteplan.haul.pushing import board_length
from siteplan.land.units import System, force_text, length_text, volume_text
from siteplan.say.directions import distance_text
from siteplan.say.figures import money_text, plural, time_text, volume_among
from siteplan.say.haul_cautions import obstacle_text
from siteplan.say.phrases import listed
from siteplan.say.safe_text import plain_text

if TYPE_CHECKING:
    from siteplan.records import Answers

MINUTES_WORTH_SAYING = 1.0  # a second barrow that saves less is not mentioned


def numbers_text(numbers: Sequence[int]) -> str:
    """Return numbers as text; three or more consecutive ones become a range.

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
    """Return the time since the start of the day's work, in hours and minutes.

    Examples
    --------
    >>> clock_text(0), clock_text(125.7)
    ('0:00', '2:06')
    """
    hours, minute = divmod(round(minutes), 60)
    return f"{hours}:{minute:02d}"


def work_text(haul: HaulPlan) -> str:
    """Return the amount of work: trips, and hours without and with rests."""
    rests = f", {time_text(haul.minutes_with_rests)} with rests" if haul.order else ""
    return f"{plural(haul.trips, 'trip')} with the barrow, {time_text(haul.total_minutes)} without rests{rests}"


def unreached_lines(plan: Answers) -> list[str]:
    """Return which loads cannot reach their bed, and what would open a route; a line for each bed and place."""
    haul = plan.haul
    if haul is None:
        return []
    by_way: dict[tuple[str, str], list[Unreached]] = {}
    for load in haul.unreached:
        by_way.setdefault((load.from_id, load.bed), []).append(load)
    return [_unreached_text(plan, loads) for loads in by_way.values()]


def _unreached_text(plan: Answers, loads: Sequence[Unreached]) -> str:
    units, first, among = plan.site.units, loads[0], [load.volume for load in loads]
    amounts = listed(tuple(f"{volume_among(load.volume, among, units)} of {load.material}" for load in loads))
    trips = plural(sum(load.trips for load in loads), "trip")
    blocked_by = first.obstacle
    obstacle = obstacle_text(
        blocked_by.kind, plain_text(blocked_by.id), blocked_by.wider, plan.site.barrow.max_grade, units
    )
    if first.delivered:
        place = f", delivered at {plain_text(first.from_id)},"
    else:
        place = f" from {plain_text(first.from_id)}"
    away = f"{amounts}{place} ({trips}) cannot get to {plain_text(first.bed)}"
    return f"{away}: {obstacle}. It is not counted in the work below."


def order_rows(plan: Answers) -> list[list[str]]:
    """Return the order of work: run, day, start, bed, material, where from, trips, duration."""
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
    """Return notes on the order of work: deliveries that must have come, gates used, and blends."""
    if plan.haul is None:
        return []
    delivered = dict(plan.fill.bought) if plan.fill else {}
    for load in plan.haul.unreached:  # a load that cannot reach its bed is not listed as delivered
        if load.delivered:
            delivered[load.material] = delivered.get(load.material, 0.0) - load.volume
    volumes = [max(delivered.get(load.material, 0.0), load.volume) for load in plan.haul.deliveries]
    notes = [
        f"{volume_among(volume, volumes, plan.site.units)} of {delivery.material} must be there before run "
        f"{delivery.before_run} on day {delivery.day}."
        for delivery, volume in zip(plan.haul.deliveries, volumes, strict=True)  # all that is bought, in whole bags
    ]
    gates = dict.fromkeys(gate for run in plan.haul.order for gate in run.gates)
    notes += [_gate_text(gate, [run.number for run in plan.haul.order if gate in run.gates]) for gate in gates]
    if any(run.mixed for run in plan.haul.order):
        notes.append(
            "* This layer comes from several places, or is a mix of several materials: spread each in thin layers, "
            "and fork them together."
        )
    return notes


def _gate_text(gate: str, runs: Sequence[int]) -> str:
    """Return which runs go through a gate.

    Examples
    --------
    >>> _gate_text("side gate", [4, 5, 6]), _gate_text("side gate", [2])
    ('Runs 4–6 go through side gate.', 'Run 2 goes through side gate.')
    """
    runs_go = f"Run {runs[0]} goes" if len(runs) == 1 else f"Runs {numbers_text(runs)} go"
    return f"{runs_go} through {plain_text(gate)}."


def comparison_rows(plan: Answers) -> list[list[str]]:
    """Return the plan and its alternatives: name, time, trips, total distance, total climb, hardest push."""
    units = plan.site.units
    return [_comparison_row(row, units) for row in (plan.haul.comparison if plan.haul else ())]


def comparison_name(row: HaulSummary) -> str:
    """Return how an alternative differs from the plan.

    Examples
    --------
    >>> comparison_name(HaulSummary("widened", "side", 90.0, 12, 100.0, 0.0, 98.0, 900.0, 0))
    'with gate "side" wide enough'
    """
    if row.change == "none":
        return f'as planned, tipped at "{row.feature}"' if row.feature else "as planned"
    text = {
        "tipped": 'tipped at "{}"',
        "lorry": 'tipped where a lorry gets to on "{}"',
        "shut": 'with gate "{}" shut',
        "widened": 'with gate "{}" wide enough',
    }[row.change]
    return text.replace("{}", row.feature)


def _comparison_row(row: HaulSummary, system: System) -> list[str]:
    time = time_text(row.minutes) if not row.unreached else f"{plural(row.unreached, 'trip')} without a way"
    push = force_text(row.peak_force, system) if math.isfinite(row.peak_force) else "—"
    return [
        comparison_name(row),
        time,
        str(row.trips),
        distance_text(row.walked_m, system),
        length_text(row.climbed_m, system),
        push,
    ]


def advice_lines(plan: Answers) -> list[str]:
    """Return what would change with a second barrow, and with boards over soft ground."""
    haul, site = plan.haul, plan.site
    if haul is None:
        return []
    lines = []
    crew = haul.crew
    if crew is not None and crew.together - crew.side_by_side >= MINUTES_WORTH_SAYING:
        durations = f"{time_text(crew.side_by_side)} instead of {time_text(crew.together)}"
        if site.barrow.count > 1:
            lines.append(f"One barrow is loaded while the other is pushed. That takes {durations} with one barrow.")
        else:
            lines.append(f"With a second barrow, which is loaded while the first is pushed, it takes {durations}.")
    elif crew is not None and site.labour.people > 1 and site.barrow.count == 1:
        lines.append("A second barrow saves no time here: loading takes longer than pushing.")
    return lines + [_boards_text(choice, plan) for choice in haul.boards[:1]]


def _boards_text(choice: BoardsChoice, plan: Answers) -> str:
    units = plan.site.units
    cost = "" if choice.cost is None else f" for {money_text(choice.cost, plan.site.currency)}"
    length = length_text(board_length(plan.site), units)
    return (
        f"When it is wet, {length_text(choice.soft_m, units)} of the way from {plain_text(choice.from_id)} to "
        f"{plain_text(choice.to_id)} are soft. With {plural(choice.boards, 'board')} of {length}{cost} there, the "
        f"hardest push falls from {force_text(choice.push_bare, units)} to {force_text(choice.push_boarded, units)}."
    )


def heap_text(heap: Heap, system: System) -> str:
    """Return the volume of a heap, and its size on the ground."""
    volume, width = volume_text(heap.volume, system), length_text(2 * heap.radius, system)
    if heap.length > 0:
        long = length_text(heap.length + 2 * heap.radius, system)
        return f"{heap.material} {volume}, a ridge {width} wide and {long} long"
    return f"{heap.material} {volume}, a heap {width} across"
