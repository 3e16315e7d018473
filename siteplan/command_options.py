"""Which commands are there, and which options does each take?

This module loads nothing heavy, since every command needs it. The options of `siteplan screen` are in
`screen/options.py`.
"""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from typing import TypeAlias

from siteplan import __version__
from siteplan.screen.options import add_options as add_screen_options

PROGRAM = "siteplan"

_Commands: TypeAlias = "argparse._SubParsersAction[argparse.ArgumentParser]"  # noqa: SLF001  # has no public name

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
        "Which way should a bed face, and would moving it help? Writes headings.csv.",
        "siteplan turn demo-yard --bed new-bed",
        ("turn",),
    ),
    "fill": (
        "What goes into the beds, and what is there to buy? Writes shopping.csv.",
        "siteplan fill demo-yard",
        ("fill",),
    ),
    "haul": (
        "Where to tip deliveries, and how to wheel everything to the beds? Writes loads.csv.",
        "siteplan haul demo-yard",
        ("fill", "haul"),
    ),
    "map": (
        "Draw only the map, map.html.",
        "siteplan map demo-yard --out maps",
        ("sun", "place", "turn", "fill", "haul"),
    ),
    "plan": (
        "Answer all questions: the map, the work sheet, plan.json and every table.",
        "siteplan plan demo-yard",
        ("sun", "place", "turn", "fill", "haul"),
    ),
}


def parse_arguments(words: Sequence[str] | None) -> argparse.Namespace:
    """Return the arguments of a command line; survey tiles may stand before and after the options.

    Parameters
    ----------
    words : sequence of str, optional
        The words of the command line; those of the process where None.
    """
    parser = _parser()
    arguments, unparsed = parser.parse_known_args(words)
    if unparsed and arguments.command == "heights" and not any(word.startswith("-") for word in unparsed):
        arguments.tiles += unparsed
    elif unparsed:
        parser.error(f"unrecognized arguments: {' '.join(unparsed)}")
    return arguments


def _parser() -> argparse.ArgumentParser:
    """Return the parser of all commands."""
    parser = argparse.ArgumentParser(
        prog=PROGRAM,
        description="Find out where on your property a raised bed should go, which way it should face, what to "
        "fill it with, and how to wheel the material there.",
        epilog='Write lengths with their unit, as "8 ft" or "2.4 m". A length without a unit is in the unit of the '
        "drawing: that of [origin] in site.toml, or metres if the features are in longitude and latitude. "
        f"Example: {PROGRAM} demo",
    )
    parser.add_argument("--version", action="version", version=f"{PROGRAM} {__version__}")
    commands = parser.add_subparsers(dest="command", metavar="COMMAND", required=True)
    _add_demo(commands)
    _add_new(commands)
    _add_draw(commands)
    check = _command(
        commands,
        "check",
        "Is anything in the site missing or wrong? Prints every fault and caution.",
        "siteplan check my-yard",
    )
    _add_site(check)
    _add_common(check, out="has no effect: this command writes no files")
    _add_heights(commands)
    for name in QUESTIONS:
        _add_question(commands, name)
    _add_screen(commands)
    return parser


def _command(
    commands: _Commands, name: str, question: str, example: str, details: str = ""
) -> argparse.ArgumentParser:
    """Return the parser of a command; `details` stand only in its own help."""
    return commands.add_parser(
        name, help=question, description=f"{question} {details}".strip(), epilog=f"Example: {example}"
    )


def _add_common(command: argparse.ArgumentParser, *, out: str) -> None:
    """Add the options that nearly all commands have; `out` says what --out does."""
    command.add_argument("--out", metavar="OUT", help=out)
    command.add_argument("--json", action="store_true", help="print only the results, as JSON")
    command.add_argument("--quiet", action="store_true", help="print only faults")


def _add_site(command: argparse.ArgumentParser) -> None:
    """Add the property that is asked about."""
    command.add_argument("site", metavar="SITE", help="the folder of your site")
    command.add_argument(
        "--variant", metavar="NAME", help="use this variant of the site; output then goes to SITE/plan-NAME"
    )


def _add_demo(commands: _Commands) -> None:
    demo = _command(
        commands, "demo", "Write the demo property, plan it, and say where the map is.", "siteplan demo my-demo"
    )
    demo.add_argument(
        "folder", metavar="DIR", nargs="?", default="demo-yard", help="a new folder (default: demo-yard)"
    )
    _add_common(demo, out="the folder to write the plan to (default: DIR/plan)")


def _add_new(commands: _Commands) -> None:
    new = _command(
        commands,
        "new",
        "Start a new site: a site.toml with comments, and a features file to draw in.",
        "siteplan new my-yard",
    )
    new.add_argument("folder", metavar="DIR", help="the folder of the new site")
    _add_common(new, out="has no effect: the site is written to DIR")


def _add_draw(commands: _Commands) -> None:
    draw = _command(
        commands,
        "draw",
        "Draw the property on a page in your browser, and see the sun of a bed as you move it.",
        "siteplan draw my-yard",
        details="A folder that does not exist yet becomes a new site. The page comes from your own computer, and no "
        "other computer can open it.",
    )
    draw.add_argument("site", metavar="SITE", help="the folder of your site")
    draw.add_argument("--no-browser", action="store_true", help="print the address of the page, but open no browser")


def _add_heights(commands: _Commands) -> None:
    heights = _command(
        commands,
        "heights",
        "How high are the ground, the trees and the roofs? Reads an open laser survey.",
        "siteplan heights my-yard tile.laz; then: siteplan heights my-yard --accept tree-1,maple",
        details="Writes terrain.tif and proposals.geojson to SITE/heights. Your drawing changes only when you accept "
        "a proposal.",
    )
    heights.add_argument("site", metavar="SITE", help="the folder of your site; heights may still be missing there")
    heights.add_argument(
        "tiles",
        metavar="TILE",
        nargs="*",
        help="a LAS or LAZ file; or two GeoTIFFs, one of the surface and one of the ground",
    )
    heights.add_argument(
        "--crs", help="the coordinate system of the tiles, such as EPSG:28992, if the tiles do not name it"
    )
    heights.add_argument(
        "--z-unit", metavar="UNIT", help="the unit of the tiles' heights: m, ft or us-ft, if the tiles do not name it"
    )
    heights.add_argument(
        "--unclassified",
        action="store_true",
        help="find the ground by its shape, even if the tiles say which points are ground",
    )
    heights.add_argument(
        "--accept",
        metavar="IDS",
        help='put these proposals into the features file, such as tree-1,maple, or "all" of them',
    )
    heights.add_argument(
        "--replace", action="store_true", help="with --accept: replace also figures of your own that differ"
    )
    _add_common(heights, out="the folder to write to (default: SITE/heights)")


def _add_question(commands: _Commands, name: str) -> None:
    """Add a command that answers questions about a site."""
    question, example, _ = QUESTIONS[name]
    command = _command(commands, name, question, example)
    _add_site(command)
    if name == "place":
        _add_new_bed(command)
    if name in {"sun", "turn"}:
        command.add_argument("--bed", metavar="ID", help="answer only for the bed with this id")
    if name in {"sun", "map", "plan"}:
        command.add_argument(
            "--sure", action="store_true", help="also map where crops surely get their hours of sun, and where not"
        )
    if name in {"map", "plan"}:
        command.add_argument(
            "--tiles",
            action="store_true",
            help="put a street map from the internet under the map: its server then learns where the garden is",
        )
    if name == "plan":
        command.add_argument("--pdf", action="store_true", help="write the work sheet also as report.pdf")
        command.add_argument("--parquet", action="store_true", help="write each layer also as GeoParquet")
    _add_common(command, out="the folder to write to (default: SITE/plan)")


def _add_new_bed(command: argparse.ArgumentParser) -> None:
    """Add the options that describe the new bed, and what to do with the places found."""
    command.add_argument(
        "--length",
        help='length of the new bed, such as "8 ft"; a number without a unit is in the unit of the site\'s drawing',
    )
    command.add_argument("--width", help='width of the new bed, such as "4 ft"')
    command.add_argument("--count", type=int, help="how many places to find")
    command.add_argument(
        "--size",
        action="append",
        help='size of a new bed, such as "8 ft x 4 ft"; give it once for each of several beds',
    )
    command.add_argument(
        "--shape",
        metavar="FILE",
        help="a GeoJSON file with the outline of the new bed, such as an L or a keyhole, in the unit of the site's "
        "drawing",
    )
    command.add_argument(
        "--months", help="count only the sun of these months, such as 4-6 or 3,4,10 (default: the growing season)"
    )
    command.add_argument(
        "--adopt",
        metavar="PLACES",
        help="add these of the places found, such as 1 or 1,3, to the features file as proposed beds",
    )


def _add_screen(commands: _Commands) -> None:
    screen = _command(
        commands,
        "screen",
        "Which of many lots suit a bed? Writes one row for each lot, a map and a ranking.",
        "siteplan screen lots.gpkg --settings town.toml --layers buildings.gpkg --out screened",
        details="After Ctrl-C or a crash, the same command goes on where it stopped: lots that are done are kept.",
    )
    add_screen_options(screen)
