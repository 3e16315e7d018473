"""What does each command do, and what does it print?

`command_options.py` parses the options, `plan.py` computes the answers, `show/terminal.py` prints them. Only here
does a SitePlanError become lines on stderr and an exit code of 2.
"""

from __future__ import annotations

import argparse
import atexit
import gc
import json
import re
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from siteplan.bed_arguments import new_bed_and_ids, new_bed_words, place_numbers
from siteplan.command_options import PROGRAM, QUESTIONS, parse_arguments
from siteplan.land.errors import Fault, InputError, SitePlanError
from siteplan.show.streams import fit_streams, heard_interrupts, say_fault, takes_all_letters, written_out

if TYPE_CHECKING:
    from siteplan.files.adopting import Adopted
    from siteplan.plan import Plan

INTERRUPTED = 130  # 128 and the number of the signal, as shells have it
NEW_OBJECTS = 20_000  # between two garbage collections; with Python's 700 they took 3 % of a plan's time


def main(words: Sequence[str] | None = None) -> int:
    """Run the command line and return its exit code.

    Parameters
    ----------
    words : sequence of str, optional
        The words of the command line; those of the process where None.

    Returns
    -------
    int
        0 done, 2 the input is at fault, 130 stopped by Ctrl-C. A bug shows its traceback and ends with 1.
    """
    fit_streams()
    gc.set_threshold(NEW_OBJECTS)
    atexit.register(gc.freeze)  # else Python's end takes half a second, to look for garbage among all objects
    code = 0
    with heard_interrupts() as interrupts:
        try:
            with written_out():
                arguments = parse_arguments(words)
                code = _run(arguments)
        except SitePlanError as error:
            say_fault(error)  # all faults; if many are of one kind, the first of them
            code = 2
        except BaseException as error:
            if not (isinstance(error, KeyboardInterrupt) or interrupts):
                raise
            say_fault(f"{PROGRAM}: stopped; no file is half-written")
            code = INTERRUPTED
    return code


def _run(arguments: argparse.Namespace) -> int:
    """Run the command of the arguments and return its exit code."""
    commands = {
        "demo": _demo,
        "new": _new,
        "draw": _draw,
        "check": _check,
        "heights": _heights,
        "screen": _screen,
    }
    return commands.get(arguments.command, _answer)(arguments)


def _demo(arguments: argparse.Namespace) -> int:
    """Write the demo, plan it, say where the map is."""
    from siteplan.files.demo import write_demo
    from siteplan.files.outputs.sound_output import require_output

    folder = Path(arguments.folder)
    arguments.site, arguments.command, arguments.tiles, arguments.variant = str(folder), "plan", False, None
    require_output(_output_folder(arguments), site=folder)
    write_demo(folder)
    return _answer(arguments)


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
    serve(folder, browser=not arguments.no_browser, say=_print_now)
    return 0


def _screen(arguments: argparse.Namespace) -> int:
    """Plan many lots."""
    from siteplan.screen.command import rows_json, run, unwritten_lines
    from siteplan.show.terminal_lots import print_lots
    from siteplan.show.writing import kept_words

    screened = run(arguments)
    if screened.written.kept:
        say_fault(kept_words(screened.written.kept))
    for line in unwritten_lines(screened.unwritten):
        say_fault(line)
    if arguments.json:
        print(rows_json(screened))
    elif not arguments.quiet:
        print_lots(screened.rows, planned=screened.planned, out=Path(arguments.out), names=screened.written.names)
    return 0


def _print_now(line: str) -> None:
    print(line, flush=True)


def _check(arguments: argparse.Namespace) -> int:
    """Print every fault and every caution."""
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


def _answer(arguments: argparse.Namespace) -> int:
    """Answer one command's questions, print and write the answers."""
    from siteplan.files.outputs.sound_output import require_output
    from siteplan.files.reader import read_site
    from siteplan.plan import plan_site
    from siteplan.show.progress import progress_bar

    _require_libraries(arguments)
    with progress_bar(quiet=arguments.quiet or arguments.json) as progress:
        site = read_site(arguments.site, progress=progress, variant=arguments.variant)
        require_output(_output_folder(arguments), site=arguments.site)  # before the work, not after it
        ask = QUESTIONS[arguments.command][2]
        options, bed_ids = new_bed_and_ids(arguments, site, ask)
        sure = getattr(arguments, "sure", False)
        plan = plan_site(site, ask=ask, bed_ids=bed_ids, sure=sure, progress=progress, **options)
        adopted = _adopt(arguments, plan)
        paths = _write(arguments, plan, progress)
    if arguments.json:
        _print_json(plan.document())
    elif not arguments.quiet:
        _print_answers(arguments, plan, adopted, paths)
    return 0


def _require_libraries(arguments: argparse.Namespace) -> None:
    """Raise an InputError before the work if an option needs a library that is not installed."""
    if getattr(arguments, "pdf", False):
        from siteplan.show.sheet.work_sheet import require_printing

        require_printing()
    if getattr(arguments, "parquet", False):
        from siteplan.files.outputs.output import require_parquet

        require_parquet()


def _print_answers(arguments: argparse.Namespace, plan: Plan, adopted: Adopted | None, paths: list[Path]) -> None:
    """Print the answers, the files written, and what to do next."""
    from siteplan.say.adopting import adopted_sentences, next_step
    from siteplan.show.terminal import print_plan

    further = [next_step(plan, arguments.site, new_bed_words(arguments))]
    if adopted is not None:
        further = adopted_sentences(adopted.file, adopted.beds, arguments.site, plan.site.units)
    print_plan(plan, command=arguments.command, written=paths, further=further)


def _heights(arguments: argparse.Namespace) -> int:
    """Read a survey from the air, or accept what it proposes."""
    from siteplan.heights_command import run_heights
    from siteplan.show.terminal_layout import say

    lines, document = run_heights(arguments)
    if arguments.json:
        _print_json(document)
    elif not arguments.quiet:
        for line in lines:
            say(line, indent="  ", whole=True)
    return 0


def _print_json(document: object) -> None:
    """Print a document as JSON.

    Letters that standard output cannot encode, or that nobody sees, are printed as their codes: no name is changed.
    """

    def visible(letter: re.Match[str]) -> str:
        return letter[0] if letter[0].isprintable() else json.dumps(letter[0])[1:-1]

    text = json.dumps(document, indent=1, ensure_ascii=not takes_all_letters(), allow_nan=False)
    print(re.sub(r"[^\n -~]", visible, text))


def _adopt(arguments: argparse.Namespace, plan: Plan) -> Adopted | None:
    """Write the places of `--adopt` into the features file as proposed beds; None without the option."""
    if getattr(arguments, "adopt", None) is None or plan.places is None:
        return None
    from siteplan.files.adopting import adopt_beds

    places = {place.rank: place for place in plan.places.places}
    ranks = place_numbers(arguments.adopt) or []
    if unknown := [rank for rank in ranks if rank not in places]:
        how_many = f"this run found {len(places) or 'none'}"
        raise InputError([Fault("", "--adopt", f"there is no place {rank}; {how_many}") for rank in unknown])
    return adopt_beds(arguments.site, plan.site, [plan.places.bed_at(places[rank]) for rank in ranks])


def _write(arguments: argparse.Namespace, plan: Plan, progress: Callable[[str, float], None] | None) -> list[Path]:
    """Write a command's files and return their paths."""
    from siteplan.show.writing import kept_words, write_answers

    folder = _output_folder(arguments)
    options = {name: getattr(arguments, name, False) for name in ("tiles", "pdf", "parquet")}
    written = write_answers(plan, folder, command=arguments.command, progress=progress, **options)
    if written.kept:
        say_fault(kept_words(written.kept))
    return [folder / name for name in written.names]


def _output_folder(arguments: argparse.Namespace) -> Path:
    """Return the folder that a command writes to."""
    from siteplan.files.variants import plan_folder

    return Path(arguments.out) if arguments.out else Path(arguments.site) / plan_folder(arguments.variant)


__all__ = ["main"]
