"""One command a question: what did the gardener ask, and what does the terminal say?

argparse reads the words, plan.py answers, show/terminal.py prints. No formula of its own.
Only here does a SitePlanError become lines on stderr and an exit code of 2.
"""

from __future__ import annotations

import argparse
import gc
import json
import re
from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Literal, TypedDict

from siteplan import __version__
from siteplan.land.errors import Fault, InputError, SitePlanError
from siteplan.show.streams import fit_streams, heard_interrupts, say_fault, takes_all_letters, written_out

if TYPE_CHECKING:
    from shapely import Polygon

    from siteplan.files.adopting import Adopted
    from siteplan.land.site import Site
    from siteplan.land.units import LengthUnit
    from siteplan.plan import Plan

PROGRAM = "siteplan"
INTERRUPTED = 130  # 128 and the number of the signal, as shells have it
SELDOM = 20_000  # new objects between two looks for garbage in circles; Python's 700 cost a plan 3 % of its time

#: command -> (question, example, the questions of plan.py that it asks)
QUESTIONS: dict[str, tuple[str, str, tuple[str, ...]]] = {
    "sun": (
        "Where does the sun fall? Writes sun_hours.tif, light.tif and sun.csv.",
        "siteplan sun demo-yard",
        ("sun",),
    ),
    "place": (
        "Where should a new bed go? Writes places.csv.",
        'siteplan place demo-yard --length "8 ft" --width "4 ft" --count 3',
        ("place",),
    ),
    "turn": (
        "Which way should a bed face? Writes headings.csv.",
        "siteplan turn demo-yard --bed new-bed",
        ("turn",),
    ),
    "fill": ("What goes in, and what is there to buy? Writes shopping.csv.", "siteplan fill demo-yard", ("fill",)),
    "haul": (
        "Which way, how many trips, where to tip? Writes loads.csv.",
        "siteplan haul demo-yard",
        ("fill", "haul"),
    ),
    "map": ("Draw map.html alone.", "siteplan map demo-yard --out maps", ("sun", "place", "turn", "fill", "haul")),
    "plan": (
        "All of it: the map, the work sheet and every table.",
        "siteplan plan demo-yard",
        ("sun", "place", "turn", "fill", "haul"),
    ),
}


class BedOptions(TypedDict, total=False):
    """What a command's own options ask for in a new bed."""

    length: float
    width: float
    count: int
    sizes: list[tuple[float, float]]
    shape: Polygon
    months: list[int]


def main(words: Sequence[str] | None = None) -> int:
    """Run the command line and return its exit code.

    Parameters
    ----------
    words : sequence of str, optional
        The arguments; those of the process where None.

    Returns
    -------
    int
        0 done, 2 the input is at fault, 130 stopped by Ctrl-C. A bug shows its traceback and ends with 1.
    """
    fit_streams()
    gc.set_threshold(SELDOM)
    code = 0
    with heard_interrupts() as interrupts:
        try:
            with written_out():
                arguments = _parser().parse_args(words)
                code = int(arguments.run(arguments))
        except SitePlanError as error:
            say_fault(error)  # all that is wrong; of many faults of a kind the first
            code = 2
        except BaseException as error:
            if not (isinstance(error, KeyboardInterrupt) or interrupts):
                raise
            say_fault(f"{PROGRAM}: stopped; no file is half-written")
            code = INTERRUPTED
    return code


def _parser() -> argparse.ArgumentParser:
    """Return the parser; it loads nothing but argparse."""
    parser = argparse.ArgumentParser(
        prog=PROGRAM,
        description="Where on a cluttered property a raised bed should go, which way it should face, "
        "what fills it and how to wheel it there.",
        epilog='Lengths are written with their unit, as "8 ft" or "2.4 m". A plain number, on the command line as '
        "in site.toml and among the properties of features, is in the unit of the drawing: that of [origin] in "
        f"site.toml, metres where the features are in longitude and latitude. Example: {PROGRAM} demo",
    )
    parser.add_argument("--version", action="version", version=f"{PROGRAM} {__version__}")
    commands = parser.add_subparsers(dest="command", metavar="COMMAND", required=True)
    demo = _command(
        commands, "demo", "Write the demo property, plan it, and say where the map is.", "siteplan demo my-demo"
    )
    demo.add_argument("folder", metavar="DIR", nargs="?", default="demo-yard", help="default: demo-yard")
    demo.set_defaults(run=_demo)
    new = _command(
        commands, "new", "Start a site: a commented site.toml and a features file to draw on.", "siteplan new my-yard"
    )
    new.add_argument("folder", metavar="DIR")
    new.set_defaults(run=_new)
    check = _command(commands, "check", "Is the site sound? Every fault and every caution.", "siteplan check my-yard")
    check.add_argument("site", metavar="SITE", help="the site's folder")
    check.set_defaults(run=_check)
    for name, (question, example, _) in QUESTIONS.items():
        command = _command(commands, name, question, example)
        command.add_argument("site", metavar="SITE", help="the site's folder")
        command.set_defaults(run=_ask)
        _add_options(command, name)
    return parser


def _add_options(command: argparse.ArgumentParser, name: str) -> None:
    """Add what one question can be asked with."""
    switch = partial(command.add_argument, action="store_true")
    if name == "place":
        plain = "a plain number is in the unit of the site's drawing"
        command.add_argument("--length", help=f'of the new bed, as "8 ft"; {plain}')
        command.add_argument("--width", help='of the new bed, as "4 ft"')
        command.add_argument("--count", type=int, help="how many places to name")
        command.add_argument(
            "--size", action="append", help='of one of several new beds, as "8 ft x 4 ft"; say it once for each'
        )
        command.add_argument(
            "--shape",
            metavar="FILE",
            help="GeoJSON of the bed's outline, an L or a keyhole, in the unit of the site's drawing",
        )
        command.add_argument("--months", help="whose sun counts, as 4-6 or 3,4,10 (default: the growing season)")
        command.add_argument(
            "--adopt",
            metavar="PLACES",
            help="write these places of this run, as 1 or 1,3, into the features file as proposed beds",
        )
    if name in {"sun", "turn"}:
        command.add_argument("--bed", help="look at this bed alone")
    if name in {"sun", "map", "plan"}:
        switch("--sure", help="map where enough sun is sure, and where not")
    if name in {"map", "plan"}:
        switch("--tiles", help="draw on a basemap from outside: its server then learns where the garden is")
    if name == "plan":
        switch("--pdf", help="print the work sheet as report.pdf too")
        switch("--parquet", help="write each layer as GeoParquet too")


def _command(
    commands: argparse._SubParsersAction[argparse.ArgumentParser], name: str, question: str, example: str
) -> argparse.ArgumentParser:
    """Return the parser of one command, with the options that all take."""
    command = commands.add_parser(name, help=question, description=question, epilog=f"Example: {example}")
    command.add_argument("--out", metavar="OUT", help="the folder to write to (default: SITE/plan)")
    command.add_argument("--json", action="store_true", help="the numbers on stdout, nothing else")
    command.add_argument("--quiet", action="store_true", help="say nothing but faults")
    return command


def _demo(arguments: argparse.Namespace) -> int:
    """Write the demo, plan it, say where the map is."""
    from siteplan.files.demo import write_demo
    from siteplan.files.outputs.sound_output import require_output

    folder = Path(arguments.folder)
    arguments.site, arguments.command, arguments.tiles = str(folder), "plan", False
    require_output(_out(arguments), site=folder)
    write_demo(folder)
    return _ask(arguments)


def _new(arguments: argparse.Namespace) -> int:
    """Start a site."""
    from siteplan.files.new import new_site

    folder = Path(arguments.folder)
    new_site(folder)
    if not arguments.quiet:
        print(f"Started {folder}: edit site.toml, draw features.geojson, then: {PROGRAM} check {folder}")
    return 0


def _check(arguments: argparse.Namespace) -> int:
    """Say every fault and every caution."""
    from siteplan.files.reader import read_site
    from siteplan.show.progress import progress_bar
    from siteplan.show.terminal import print_site

    with progress_bar(quiet=arguments.quiet or arguments.json) as progress:
        site = read_site(arguments.site, progress=progress)
    if arguments.json:
        from siteplan.show.tables.document import site_document

        _print_json(site_document(site))
    elif not arguments.quiet:
        print_site(site)
    return 0


def _ask(arguments: argparse.Namespace) -> int:
    """Answer one command's questions, print and write the answers."""
    from siteplan.files.outputs.sound_output import require_output
    from siteplan.files.reader import read_site
    from siteplan.plan import plan_site
    from siteplan.show.progress import progress_bar
    from siteplan.show.terminal import print_plan

    if getattr(arguments, "pdf", False):
        from siteplan.show.sheet.work_sheet import require_printing

        require_printing()  # said before the work, not after it
    if getattr(arguments, "parquet", False):
        from siteplan.files.outputs.output import require_parquet

        require_parquet()
    with progress_bar(quiet=arguments.quiet or arguments.json) as progress:
        site = read_site(arguments.site, progress=progress)
        require_output(_out(arguments), site=arguments.site)  # so is this
        options, bed_ids = _options(arguments, site)
        ask = QUESTIONS[arguments.command][2]
        sure = getattr(arguments, "sure", False)
        plan = plan_site(site, ask=ask, bed_ids=bed_ids, sure=sure, progress=progress, **options)
        adopted = _adopt(arguments, plan)
        written = _write(arguments, plan, progress)
    if arguments.json:
        _print_json(plan.document())
    elif not arguments.quiet:
        from siteplan.say.adopting import adopted_sentences, next_step

        further = [next_step(plan, arguments.site)]
        if adopted is not None:
            further = adopted_sentences(adopted.file, adopted.beds, arguments.site, plan.site.units)
        print_plan(plan, command=arguments.command, written=written, further=further)
    return 0


def _print_json(document: object) -> None:
    """Print a document; letters that standard output lacks, or nobody sees, as codes: a name is never changed."""
    text = json.dumps(document, indent=1, ensure_ascii=not takes_all_letters(), allow_nan=False)
    print(re.sub(r"[^\n -~]", lambda one: one[0] if one[0].isprintable() else json.dumps(one[0])[1:-1], text))


def _adopt(arguments: argparse.Namespace, plan: Plan) -> Adopted | None:
    """Write places that were found into the features file as proposed beds, where that is asked for."""
    if getattr(arguments, "adopt", None) is None or plan.places is None:
        return None
    from siteplan.files.adopting import adopt_beds

    found = {place.rank: place for place in plan.places.places}
    wanted = _ranks(arguments.adopt) or []
    if missing := [rank for rank in wanted if rank not in found]:
        there = f"this run found {len(found)}" if found else "this run found none"
        raise InputError([Fault("", "--adopt", f"there is no place {rank}; {there}") for rank in missing])
    return adopt_beds(arguments.site, plan.site, [plan.places.bed_at(found[rank]) for rank in wanted])


def _ranks(text: str) -> list[int] | None:
    """Return the numbers of places from words such as 1 or 1,3, each once; None where they are none."""
    parts = [part.strip() for part in text.split(",")]
    if not all(part.isascii() and part.isdigit() and int(part) > 0 for part in parts):
        return None
    return list(dict.fromkeys(int(part) for part in parts))


def _options(arguments: argparse.Namespace, site: Site) -> tuple[BedOptions, set[str] | None]:
    """Return the new bed and the beds that a command's own options ask for, or raise all that is wrong with them."""
    from siteplan.land.written import in_feet
    from siteplan.question import NewBed, question_faults

    options, faults = _new_bed(arguments, site)
    bed_ids = None if getattr(arguments, "bed", None) is None else {arguments.bed}
    ask = QUESTIONS[arguments.command][2]
    named = {"sizes": "--size", "bed_ids": "--bed"}
    for fault in question_faults(site, ask=ask, bed_ids=bed_ids, new_bed=NewBed(**options)):
        text = in_feet(fault.text) if site.units == "imperial" else fault.text
        faults.append(replace(fault, where=named.get(fault.where, f"--{fault.where}"), text=text))
    adopt = getattr(arguments, "adopt", None)
    if adopt is not None and _ranks(adopt) is None:
        faults.append(Fault("", "--adopt", f'{adopt[:40]!r} are no places, must be as "1" or "1,3"'))
    if faults:
        raise InputError(faults)
    return options, bed_ids


def _new_bed(arguments: argparse.Namespace, site: Site) -> tuple[BedOptions, list[Fault]]:
    """Return what new bed is asked for, as far as the words can be read, and which of them cannot.

    A length without a unit is in that of the site's drawing.
    """
    options: BedOptions = {}
    faults: list[Fault] = []
    unit = site.drawing_unit
    sides: tuple[Literal["length", "width"], ...] = ("length", "width")
    for name in sides:
        text = getattr(arguments, name, None)
        if text is not None and (side := _side(text, f"--{name}", unit, faults)) is not None:
            options[name] = side
    if getattr(arguments, "count", None) is not None:
        options["count"] = arguments.count
    words = getattr(arguments, "size", None) or ()
    if sizes := [size for text in words if (size := _size(text, unit, faults)) is not None]:
        options["sizes"] = sizes
    file = getattr(arguments, "shape", None)
    if file is not None:
        from siteplan.files.drawing.bed_shape import read_shape

        try:
            options["shape"] = read_shape(file, plain=unit, system=site.units)
        except InputError as error:
            faults += error.faults
    months = getattr(arguments, "months", None)
    if months is not None and (chosen := _months(months, faults)):
        options["months"] = chosen
    return options, faults


def _side(text: str, option: str, unit: LengthUnit, faults: list[Fault]) -> float | None:
    """Return a side of a bed, or note that it is no length. [m]"""
    from siteplan.land.units import si_value

    try:
        return si_value(text, "length", plain=unit)
    except ValueError as error:
        faults.append(Fault("", option, str(error)))
    return None


def _size(text: str, unit: LengthUnit, faults: list[Fault]) -> tuple[float, float] | None:
    """Return length and width from words such as "8 ft x 4 ft"; a unit said once holds for both. [m]"""
    parts = [part.strip() for part in text.lower().replace("\u00d7", "x").split("x")]
    if len(parts) != 2:
        faults.append(Fault("", "--size", f'{text[:40]!r} is no size, must be as "8 ft x 4 ft"'))
        return None
    said = parts[1].lstrip("0123456789./ ")
    if said and not parts[0].lstrip("0123456789./ "):
        parts[0] += f" {said}"
    length, width = (_side(part, "--size", unit, faults) for part in parts)
    return None if length is None or width is None else (length, width)


def _months(text: str, faults: list[Fault]) -> list[int]:
    """Return months from words such as 4-6 or 3,4,10; a span may run over the new year."""
    chosen: set[int] = set()
    for part in text.replace(" ", "").split(","):
        first, dash, last = part.partition("-")
        ends = (first, last if dash else first)
        if not all(end.isascii() and end.isdigit() and 1 <= int(end) <= 12 for end in ends):
            faults.append(Fault("", "--months", f'{text[:40]!r} are no months, must be as "4-6" or "3,4,10"'))
            return []
        start, end = (int(one) for one in ends)
        chosen.update((start - 1 + k) % 12 + 1 for k in range((end - start) % 12 + 1))
    return sorted(chosen)


def _write(arguments: argparse.Namespace, plan: Plan, progress: Callable[[str, float], None] | None) -> list[Path]:
    """Write a command's files and return their paths."""
    from siteplan.show.writing import kept_words, write_answers

    out = _out(arguments)
    chosen = {name: getattr(arguments, name, False) for name in ("tiles", "pdf", "parquet")}
    written = write_answers(plan, out, command=arguments.command, progress=progress, **chosen)
    if written.kept:
        say_fault(kept_words(written.kept))
    return [out / name for name in written.names]


def _out(arguments: argparse.Namespace) -> Path:
    """Return the folder that a command writes to."""
    return Path(arguments.out) if arguments.out else Path(arguments.site) / "plan"


__all__ = ["main"]
