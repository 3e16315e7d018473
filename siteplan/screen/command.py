"""What do the arguments of `siteplan screen` ask for?

Which lots, which questions, and how many processes or which cluster. All arguments are checked before the work, and
all faults are reported together. `run` does the work.
"""

from __future__ import annotations

import argparse
import json
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from siteplan.files.drawing.town import FORMATS, TownFiles
from siteplan.files.remarks import Remarks
from siteplan.files.text import read_text
from siteplan.land.cores import core_count
from siteplan.land.errors import Fault, InputError, MissingExtraError
from siteplan.land.values import nearest, shown
from siteplan.say.safe_text import plain_text
from siteplan.screen.options import QUESTIONS
from siteplan.screen.planner import Limits, on_this_machine
from siteplan.screen.request import Lots, lots_of_folders, lots_of_town

if TYPE_CHECKING:
    from siteplan.screen.run import Engine, Screened

_SITE = "site.toml"
_LISTS = (".txt", ".list")
_BYTES = {"mb": 1e6, "gb": 1e9, "mib": 2**20, "gib": 2**30}
_SECONDS = {"s": 1.0, "sec": 1.0, "min": 60.0, "h": 3600.0}
MOST_PROCESSES = 256
MOST_TOLD = 5  # plans that could not be written, of which the terminal tells


def run(arguments: argparse.Namespace) -> Screened:
    """Plan many lots as the arguments of a command ask for it.

    Raises
    ------
    InputError
        With all faults of the arguments and the files.
    """
    from siteplan.screen.run import screen
    from siteplan.show.progress import progress_bar
    from siteplan.show.streams import say_fault

    faults: list[Fault] = []
    ask, limits, plans = _ask(arguments.ask, faults), _limits(arguments, faults), _plans(arguments.plans, faults)
    engine = _engine(arguments, faults)
    lots = _lots(arguments, ask, faults)
    if faults or lots is None:
        raise InputError(faults)
    try:
        with progress_bar(quiet=arguments.quiet or arguments.json) as tell:
            return screen(lots, Path(arguments.out), engine=engine, limits=limits, plans=plans, tell=tell)
    except KeyboardInterrupt:
        say_fault("The lots that are done are kept. Run the same again: it goes on from there.")
        raise


def _ask(text: str, faults: list[Fault]) -> tuple[str, ...]:
    """Return the questions, in the order of `QUESTIONS`."""
    names = [part.strip() for part in text.split(",") if part.strip()]
    for name in names:
        if name not in QUESTIONS:
            hint = nearest(name, QUESTIONS)
            advice = f"; did you mean {shown(hint)}?" if hint else ""
            faults.append(
                Fault(
                    "", "--ask", f"{shown(name)} is no question of a screen{advice} (known: {', '.join(QUESTIONS)})"
                )
            )
    if not names:
        faults.append(Fault("", "--ask", f"asks nothing; say some of {', '.join(QUESTIONS)}"))
    return tuple(name for name in QUESTIONS if name in names)


def _plans(text: str, faults: list[Fault]) -> str:
    words = text.split()
    count = words[1] if len(words) == 2 and words[0] == "best" else ""
    is_count = count.isascii() and count.isdigit() and int(count) > 0
    if text not in {"none", "all"} and not is_count:
        faults.append(Fault("", "--plans", f'is {shown(text)}, must be none, all, or as "best 20"'))
    return " ".join(words)


def _limits(arguments: argparse.Namespace, faults: list[Fault]) -> Limits:
    seconds = _measure(arguments.lot_time, _SECONDS, "--lot-time", "10 min", faults)
    memory = _measure(arguments.lot_memory, _BYTES, "--lot-memory", "4 GB", faults)
    if not 1 <= arguments.processes <= MOST_PROCESSES:
        text = f"is {arguments.processes}, must be from 1 to {MOST_PROCESSES}"
        faults.append(Fault("", "--processes", text))
        return Limits()
    cores = 1 if arguments.scheduler else max(1, core_count() // arguments.processes)
    return Limits(seconds, memory, cores)


def _measure(text: str, units: dict[str, float], option: str, example: str, faults: list[Fault]) -> float:
    """Return a time in seconds or a memory in bytes."""
    number = text.strip().rstrip("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ")
    unit = text.strip()[len(number) :].lower()
    try:
        value = float(number) * units[unit]
    except (ValueError, KeyError):
        value = 0.0
    if not 0 < value < 1e15:
        faults.append(Fault("", option, f'is {shown(text)}, must be as "{example}" (units: {", ".join(units)})'))
    return value


def _engine(arguments: argparse.Namespace, faults: list[Fault]) -> Engine:
    """Return the engine that plans the lots: processes of this machine, or a cluster."""
    if arguments.scheduler is None:
        return lambda request, limits, tasks: on_this_machine(request, limits, tasks, arguments.processes)
    from siteplan.screen.cluster import on_cluster, require_cluster

    try:
        require_cluster()
    except MissingExtraError as error:
        faults.append(Fault("", "--scheduler", str(error)))
    if "://" not in arguments.scheduler:
        text = f"is {shown(arguments.scheduler)}, must be the address of a Dask scheduler, as tcp://10.0.0.7:8786"
        faults.append(Fault("", "--scheduler", text))
    engine: Engine = on_cluster(arguments.scheduler)
    return engine


def _lots(arguments: argparse.Namespace, ask: tuple[str, ...], faults: list[Fault]) -> Lots | None:
    """Return the lots to screen, or None if they cannot be read."""
    path = Path(arguments.lots)
    try:
        if path.suffix.lower() in FORMATS and not path.is_dir():
            settings = Path(arguments.settings) if arguments.settings else path.with_name(_SITE)
            files = TownFiles(path, tuple(map(Path, arguments.layers)), arguments.lots_layer)
            return lots_of_town(files, settings, ask)
        for option in ("settings", "layers", "lots_layer"):
            if getattr(arguments, option):
                text = f"is for a layer of lots, and {path.name} is none"
                faults.append(Fault("", f"--{option.removesuffix('_layer')}", text))
        folders = _listed(path) if path.suffix.lower() in _LISTS and path.is_file() else _in_folder(path)
        return lots_of_folders(folders, ask)
    except InputError as error:
        faults += error.faults
    return None


def _in_folder(path: Path) -> list[Path]:
    """Return the sites in a folder, sorted by name."""
    if not path.is_dir():
        text = f"is no folder of sites, no list (.txt) and no layer of lots ({', '.join(FORMATS)})"
        raise InputError([Fault(path.name, "", text if path.exists() else "is not there")])
    folders = sorted(folder for folder in path.iterdir() if (folder / _SITE).is_file())
    if not folders:
        raise InputError([Fault(path.name, "", f"holds no site: no folder in it has a {_SITE}")])
    return folders


def _listed(path: Path) -> list[Path]:
    """Return the sites' folders in a list, one a line; a relative path starts at the list's folder."""
    remarks = Remarks()
    text = read_text(path, remarks)
    lines = [line for line in map(str.strip, (text or "").splitlines()) if line and not line.startswith("#")]
    folders = [path.parent / line for line in lines]
    lines_of: dict[Path, list[str]] = {}
    for line, folder in zip(lines, folders, strict=True):
        if not folder.is_dir():
            remarks.fault(path.name, line, "there is no such folder; say it as it lies from the list")
        lines_of.setdefault(folder.resolve(), []).append(line)
    for same in sorted(equal for equal in lines_of.values() if len(equal) > 1):
        remarks.fault(path.name, ", ".join(dict.fromkeys(same)), "is listed more than once")
    if text is not None and not lines:
        remarks.fault(path.name, "", "lists no sites; write a site's folder on each line")
    if remarks.faults:
        raise InputError(remarks.faults)
    return folders


def unwritten_lines(unwritten: Mapping[str, str]) -> list[str]:
    """Return a line for each whole plan that could not be written, up to five, and how many more there are.

    Examples
    --------
    >>> unwritten_lines({"L1": "took more than 600 s"})
    ['no whole plan of L1: took more than 600 s']
    """
    texts = list(unwritten.items())
    lines = [f"no whole plan of {plain_text(lot, longest=40)}: {plain_text(why)}" for lot, why in texts[:MOST_TOLD]]
    return [*lines, f"no whole plans of {len(texts) - MOST_TOLD} more lots"] if len(texts) > MOST_TOLD else lines


def rows_json(screened: Screened) -> str:
    """Return the rows as JSON, without their shapes."""
    rows = [{key: value for key, value in row.items() if key not in {"outline", "place"}} for row in screened.rows]
    return json.dumps({"lots": rows}, indent=1, allow_nan=False)
