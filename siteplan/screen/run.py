"""How are many lots planned so that nothing is lost and nothing is done twice?

Lots that are already planned and unchanged are skipped. All others go to an engine, and each row is stored as soon as
it is done. The result files are written from the stored rows, in the order of the lots. `planner` and `cluster` are
the engines.
"""

from __future__ import annotations

import contextlib
import itertools
import re
import time
from collections.abc import Callable, Generator, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from siteplan.files.outputs.marker import read_marker
from siteplan.files.outputs.output_folder import Written, write_folder
from siteplan.files.outputs.sound_output import require_output
from siteplan.land.errors import Fault, InputError
from siteplan.say.figures import time_text
from siteplan.screen.planner import Limits, Outcome, Task
from siteplan.screen.request import Lots, ScreenRequest
from siteplan.screen.rows import PLANNED, Row
from siteplan.screen.store import NAME, Known, Store, opened
from siteplan.screen.writing import write_screen

#: what plans lots: it takes a request, limits and tasks, and yields the outcomes
Engine = Callable[[ScreenRequest, Limits, Iterator[Task]], Generator[Outcome, None, None]]
Tell = Callable[[str, float], None]

PLANS = "plans"  # the folder of whole plans, in the output folder


@dataclass(frozen=True)
class Screened:
    """The result of a run.

    Attributes
    ----------
    ids : tuple of str
    rows : tuple of dict
    planned : int
        Number of lots planned in this run; all others were already known.
    written : Written
    unwritten : mapping of str to str
        Lots whose whole plans were wanted and could not be written, and why.
    """

    ids: tuple[str, ...]
    rows: tuple[Row, ...]
    planned: int
    written: Written
    unwritten: Mapping[str, str] = field(default_factory=dict)


def screen(
    lots: Lots, out: Path, *, engine: Engine, limits: Limits, plans: str = "none", tell: Tell | None = None
) -> Screened:
    """Plan all lots that are not known yet, and write the result files.

    Parameters
    ----------
    lots : Lots
    out : Path
        The output folder; if it is of an earlier run, that run is continued.
    engine : callable
        Plans the lots.
    limits : Limits
        For each lot.
    plans : str
        ``none``, ``all``, or ``best N``: the lots whose whole plans are written.
    tell : callable, optional
        Called with the progress in words, and the share done.
    """
    _require_out(out)
    with opened(out) as store:
        # the marker comes first: without it, plans or notes that are put there later would make it a foreign folder
        write_folder(out, lambda _: None, remove_earlier=False)
        open_tasks = [
            Task(number, store.key(lot))
            for number, lot in enumerate(lots.ids)
            if not store.finished(lot, lots.stamps[number])
        ]
        planned = 0
        for outcome in _outcomes(engine, lots.request, limits, open_tasks, tell, "lot"):
            planned += outcome.row is not None
            _keep(store, lots, outcome)
        names = _folder_names(_chosen(plans, lots, store), lots, store)
        plan_tasks = _plan_tasks(names, lots, store, out)
        unwritten = dict[str, str]()
        for outcome in _outcomes(engine, lots.request, limits, plan_tasks, tell, "plan"):
            lot, row = lots.ids[outcome.number], outcome.row or {}
            if row.get("written"):
                store.add(lot, replace(store.known[lot], folder=outcome.key, plan=names[outcome.number]))
            else:
                unwritten[lot] = str(row.get("why", "its files have changed meanwhile"))
        rows = tuple(_row(lots, store, number, out) for number in range(len(lots.ids)))
        store.tidy(lots.ids)
        written = write_screen(out, rows, ask=lots.request.ask)
    return Screened(lots.ids, rows, planned, written, unwritten)


def _require_out(out: Path) -> None:
    """Raise if results may not go to a folder; where earlier versions left plans without a marker, say what to do."""
    if read_marker(out) is None and (out / NAME).is_file() and (out / PLANS).is_dir():
        text = (
            f"has {PLANS} of a run that could not end; move {PLANS} to another folder, and run the same again: "
            "lots that are done are kept"
        )
        raise InputError([Fault(out.name, "", text)])
    require_output(out)


def _outcomes(
    engine: Engine, request: ScreenRequest, limits: Limits, tasks: Sequence[Task], tell: Tell | None, noun: str
) -> Iterator[Outcome]:
    """Yield the outcomes of tasks, and report the progress and the time left."""
    if not tasks:
        return
    start, count = time.monotonic(), len(tasks)
    if tell is not None:
        tell(f"{noun} 1 of {count:,}", 0.0)
    with contextlib.closing(engine(request, limits, iter(tasks))) as outcomes:
        for count_done, outcome in enumerate(outcomes, 1):
            yield outcome
            if tell is not None:
                minutes_left = (time.monotonic() - start) / count_done * (count - count_done) / 60
                time_left = "under a minute" if minutes_left < 1 else time_text(minutes_left)
                tell(f"{noun} {count_done:,} of {count:,}, {time_left} left", count_done / count)


def _keep(store: Store, lots: Lots, outcome: Outcome) -> None:
    lot, stamp = lots.ids[outcome.number], lots.stamps[outcome.number]
    known = store.known.get(lot)
    if outcome.row is None:
        store.add(lot, replace(store.known[lot], stamp=stamp))
    else:
        store.add(lot, Known(outcome.key, stamp, outcome.row, plan=known.plan if known else ""))


def _row(lots: Lots, store: Store, number: int, out: Path) -> Row:
    """Return the row of a lot, with its outline even if it could not be planned."""
    lot = lots.ids[number]
    known = store.known[lot]
    shape = None if lots.town is None else lots.town.degrees[number]
    outline: dict[str, Any] = {} if shape is None or shape.is_empty else {"outline": shape.wkb_hex}
    name = known.plan or folder_name(number, lot)  # earlier versions stored no name
    plan = f"{PLANS}/{name}" if known.folder and (out / PLANS / name).is_dir() else ""
    return {"lot": lot, **outline, **known.row, "plan": plan}


def _chosen(plans: str, lots: Lots, store: Store) -> list[int]:
    """Return the numbers of the lots whose whole plans are wanted."""
    if plans == "none":
        return []
    rows = [store.known[lot].row for lot in lots.ids]
    planned = [number for number, row in enumerate(rows) if row["status"] == PLANNED]
    if plans == "all":
        return planned
    return sorted(planned, key=lambda number: (*merit(rows[number]), number))[: int(plans.split()[1])]


def _folder_names(numbers: Iterable[int], lots: Lots, store: Store) -> dict[int, str]:
    """Return the name of the folder for the whole plan of each lot: its earlier one, else one that no lot has."""
    taken, names = {known.plan for known in store.known.values()}, dict[int, str]()
    for number in numbers:
        lot = lots.ids[number]
        name = folder_name(number, lot)
        possible = itertools.chain([name], (f"{name}-{count}" for count in itertools.count(2)))
        names[number] = store.known[lot].plan or next(free for free in possible if free not in taken)
        taken.add(names[number])
    return names


def _plan_tasks(names: Mapping[int, str], lots: Lots, store: Store, out: Path) -> list[Task]:
    """Return the tasks to write whole plans that are not there, or out of date."""
    tasks = []
    for number, name in names.items():
        known, folder = store.known[lots.ids[number]], out / PLANS / name
        if known.folder != known.key or not folder.is_dir():
            tasks.append(Task(number, folder=str(folder.resolve())))
    return tasks


def merit(row: Row) -> Iterable[float]:
    """Return the key by which lots are ranked, best first: merit of the best place, then ground with six hours."""
    return tuple(-float(row.get(name) or 0.0) for name in ("place_merit", "ground_6h_m2"))


def folder_name(number: int, lot: str) -> str:
    """Return the folder name of a lot's whole plan: its number, and letters that any file system allows.

    Examples
    --------
    >>> folder_name(4, "L/12 <b>")
    '00005-L-12-b'
    """
    plain = re.sub(r"[^A-Za-z0-9]+", "-", lot).strip("-")[:40]
    return f"{number + 1:05d}-{plain}".rstrip("-")
