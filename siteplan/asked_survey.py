"""What do the options of `siteplan heights` ask for?

A survey to be read, proposals to be accepted, or both; and the text printed afterwards. Heavy packages are imported
only when the command runs.
"""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

from siteplan.land.errors import Fault, InputError
from siteplan.show.streams import say_fault


def add_heights(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> argparse.ArgumentParser:
    """Add the command that asks a survey from the air, and return its parser."""
    heights = commands.add_parser(
        "heights",
        help="How high are ground, trees and roofs, by an open laser survey? Writes proposals beside the site.",
        description="How high are ground, trees and roofs, by an open laser survey? Writes terrain.tif and "
        "proposals.geojson to SITE/heights. Nothing that is drawn changes before a proposal is accepted.",
        epilog="Example: siteplan heights my-yard tile.laz; then: siteplan heights my-yard --accept tree-1,maple",
    )
    heights.add_argument("site", metavar="SITE", help="the site's folder; what is drawn there may lack its heights")
    heights.add_argument(
        "tiles", metavar="TILE", nargs="*", help="LAS or LAZ; or a pair of GeoTIFFs, of the surface and of the ground"
    )
    heights.add_argument("--crs", help="the tiles' coordinate system where they do not say it, as EPSG:28992")
    heights.add_argument("--z-unit", metavar="UNIT", help="of the tiles' heights: m, ft or us-ft")
    heights.add_argument(
        "--unclassified",
        action="store_true",
        help="find the ground by its shape, whatever the tiles call their points",
    )
    heights.add_argument(
        "--accept", metavar="IDS", help='take these proposals, as tree-1,maple, or "all", into the features file'
    )
    heights.add_argument(
        "--replace", action="store_true", help="with --accept: also where the features file has another figure"
    )
    heights.add_argument("--out", metavar="OUT", help="the folder to write to (default: SITE/heights)")
    heights.add_argument("--json", action="store_true", help="the proposals on stdout, nothing else")
    heights.add_argument("--quiet", action="store_true", help="say nothing but faults")
    return heights


def answered(arguments: argparse.Namespace) -> tuple[list[str], dict[str, Any] | None]:
    """Return what is said after a survey was asked, or its proposals accepted, and the proposals of this run.

    Parameters
    ----------
    arguments : argparse.Namespace
        Of the parser that `add_heights` makes.

    Raises
    ------
    InputError
        With all that is wrong; nothing is written then.
    """
    if not arguments.tiles and arguments.accept is None:
        text = "is missing; give a .las or .laz tile, or --accept all for what an earlier run has proposed"
        raise InputError([Fault("", "TILE", text)])
    if arguments.replace and arguments.accept is None:
        raise InputError([Fault("", "--replace", "goes with --accept; say which proposals, or all")])
    out = Path(arguments.out) if arguments.out else Path(arguments.site) / "heights"
    lines, document = _found(arguments, out) if arguments.tiles else ([], None)
    if arguments.accept is not None:
        lines += _accepted(arguments, out)
    return lines, document


def _accepted(arguments: argparse.Namespace, out: Path) -> list[str]:
    """Accept what is proposed, and return what to say."""
    from siteplan.files.survey.accepting import accept
    from siteplan.files.survey.proposals_file import read_proposals
    from siteplan.say.heights import accepted_sentences

    wanted = [one.strip() for one in arguments.accept.split(",")]
    chosen = None if wanted == ["all"] else wanted
    done = accept(Path(arguments.site), read_proposals(out), chosen, replace=arguments.replace)
    return accepted_sentences(done, arguments.site)


def _found(arguments: argparse.Namespace, out: Path) -> tuple[list[str], dict[str, Any]]:
    """Ask a survey, write what it proposes, and return what to say, and the proposals."""
    from siteplan.files.outputs.sound_output import require_output
    from siteplan.show.progress import progress_bar
    from siteplan.show.writing import kept_words
    from siteplan.survey import find_heights

    with progress_bar(quiet=arguments.quiet or arguments.json) as progress:
        require_output(out, site=arguments.site)
        result = find_heights(
            arguments.site,
            arguments.tiles,
            crs=arguments.crs,
            z_unit=arguments.z_unit,
            unclassified=arguments.unclassified,
            progress=progress,
        )
        written = result.write(out)
    if written.kept:
        say_fault(kept_words(written.kept))
    return result.lines(written, arguments.site), result.document()
