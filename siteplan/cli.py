"""Which commands are there, and what does each print?

argparse parses the options, plan.py computes the answers, show/terminal.py prints them. Only here does a
SitePlanError become lines on stderr and an exit code of 2.
"""

from __future__ import annotations

import argparse
import gc
import json
import re
from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from siteplan import __version__
from siteplan.asked_bed import asked_bed, ranks
from siteplan.asked_survey import add_heights, answered
from siteplan.land.errors import Fault, InputError, SitePlanError
from siteplan.show.streams import fit_streams, heard_interrupts, say_fault, takes_all_letters, written_out

if TYPE_CHECKING:
    from siteplan.files.adopting import Adopted
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
                arguments = _parsed(words)
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


def _parsed(words: Sequence[str] | None) -> argparse.Namespace:
    """Return what the words of a command say; tiles may stand before and behind its options."""
    parser = _parser()
    arguments, rest = parser.parse_known_args(words)
    if rest and arguments.command == "heights" and not any(word.startswith("-") for word in rest):
        arguments.tiles += rest
    elif rest:
        parser.error(f"unrecognized arguments: {' '.join(rest)}")
    return arguments


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
    draw = commands.add_parser(
        "draw",
        help="Draw the property on a page in your browser, and move a bed while its sun follows.",
        description="Draw the property on a page in your browser, and move a bed while its sun follows. A folder "
        "that is not there yet becomes a new site. The page is served by this machine, for this machine alone.",
        epilog="Example: siteplan draw my-yard",
    )
    draw.add_argument("site", metavar="SITE", help="the site's folder")
    draw.add_argument("--no-browser", action="store_true", help="only say the address, and open no browser")
    draw.set_defaults(run=_draw)
    check = _command(commands, "check", "Is the site sound? Every fault and every caution.", "siteplan check my-yard")
    _add_site(check)
    check.set_defaults(run=_check)
    heights = add_heights(commands)
    heights.set_defaults(run=_heights)
    for name, (question, example, _) in QUESTIONS.items():
        command = _command(commands, name, question, example)
        _add_site(command)
        command.set_defaults(run=_ask)
        _add_options(command, name)
    _add_screen(commands)
    return parser


def _add_screen(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command for many properties."""
    from siteplan.screen.options import add_options

    question = "Which of many lots suit? One row a lot, a map of all, and their ranking."
    screen = commands.add_parser(
        "screen",
        help=question,
        description=f"{question} Lots that are done are not planned again: after Ctrl-C or a crash the same command "
        "goes on.",
        epilog="Example: siteplan screen lots.gpkg --settings town.toml --layers buildings.gpkg --out screened",
    )
    add_options(screen)
    screen.set_defaults(run=_screen)


def _add_site(command: argparse.ArgumentParser) -> None:
    """Add which property is asked about."""
    command.add_argument("site", metavar="SITE", help="the site's folder")
    command.add_argument(
        "--variant", metavar="NAME", help="look at this variant of it; the output goes to SITE/plan-NAME"
    )


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
    arguments.site, arguments.command, arguments.tiles, arguments.variant = str(folder), "plan", False, None
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


def _draw(arguments: argparse.Namespace) -> int:
    """Serve the page on which a property is drawn."""
    from siteplan.draw.server import serve
    from siteplan.files.new import new_drawing

    folder = Path(arguments.site)
    if not folder.exists():
        new_drawing(folder)
    serve(folder, browser=not arguments.no_browser, say=_say_now)
    return 0


def _screen(arguments: argparse.Namespace) -> int:
    """Plan many lots."""
    from siteplan.screen.command import rows_json, run
    from siteplan.show.terminal_lots import print_lots
    from siteplan.show.writing import kept_words

    found = run(arguments)
    if found.written.kept:
        say_fault(kept_words(found.written.kept))
    if arguments.json:
        print(rows_json(found))
    elif not arguments.quiet:
        print_lots(found.rows, planned=found.planned, out=Path(arguments.out), names=found.written.names)
    return 0


def _say_now(line: str) -> None:
    print(line, flush=True)


def _check(arguments: argparse.Namespace) -> int:
    """Say every fault and every caution."""
    from siteplan.files.reader import read_site
    from siteplan.show.progress import progress_bar
    from siteplan.show.terminal import print_site

    with progress_bar(quiet=arguments.quiet or arguments.json) as progress:
        site = read_site(arguments.site, progress=progress, variant=arguments.variant)
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
        site = read_site(arguments.site, progress=progress, variant=arguments.variant)
        require_output(_out(arguments), site=arguments.site)  # so is this
        ask = QUESTIONS[arguments.command][2]
        options, bed_ids = asked_bed(arguments, site, ask)
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


def _heights(arguments: argparse.Namespace) -> int:
    """Ask a survey from the air, or accept what it proposes."""
    from siteplan.show.terminal_layout import say

    lines, document = answered(arguments)
    if arguments.json:
        _print_json(document)
    elif not arguments.quiet:
        for line in lines:
            say(line, indent="  ", whole=True)
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
    wanted = ranks(arguments.adopt) or []
    if missing := [rank for rank in wanted if rank not in found]:
        there = f"this run found {len(found)}" if found else "this run found none"
        raise InputError([Fault("", "--adopt", f"there is no place {rank}; {there}") for rank in missing])
    return adopt_beds(arguments.site, plan.site, [plan.places.bed_at(found[rank]) for rank in wanted])


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
    from siteplan.files.variants import plan_folder

    return Path(arguments.out) if arguments.out else Path(arguments.site) / plan_folder(arguments.variant)


__all__ = ["main"]
