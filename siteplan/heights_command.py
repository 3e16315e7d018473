"""What does `siteplan heights` do?

It reads a survey, or accepts proposals, or does both, and returns the text to be printed. Heavy packages are imported
only when the command runs.
"""

from __future__ import annotations

import argparse
from dataclasses import asdict
from pathlib import Path
from typing import Any

from siteplan.land.errors import Fault, InputError
from siteplan.show.streams import say_fault


def run_heights(arguments: argparse.Namespace) -> tuple[list[str], dict[str, Any]]:
    """Run the command, and return the lines to be printed and their document.

    The document has the proposals of a survey that is read, and under `accepted` what came into the features file.

    Parameters
    ----------
    arguments : argparse.Namespace
        Of the command `heights`.

    Raises
    ------
    InputError
        With all faults; nothing is written then.
    """
    if not arguments.tiles and arguments.accept is None:
        text = "is missing; give a .las or .laz tile, or --accept all for what an earlier run has proposed"
        raise InputError([Fault("", "TILE", text)])
    if arguments.replace and arguments.accept is None:
        raise InputError([Fault("", "--replace", "goes with --accept; say which proposals, or all")])
    ids = [name for text in (arguments.accept or "").split(",") if (name := text.strip())]
    if arguments.accept is not None and not ids:
        text = f"{arguments.accept[:40]!r} names no proposal, must be ids such as tree-1,maple, or all"
        raise InputError([Fault("", "--accept", text)])
    out = Path(arguments.out) if arguments.out else Path(arguments.site) / "heights"
    lines, document = _read_survey(arguments, out) if arguments.tiles else ([], {})
    if arguments.accept is not None:
        accepted_lines, accepted = _accept_proposals(arguments, ids, out)
        lines, document = lines + accepted_lines, document | {"accepted": accepted}
    return lines, document


def _accept_proposals(arguments: argparse.Namespace, ids: list[str], out: Path) -> tuple[list[str], dict[str, Any]]:
    """Accept the proposals of these ids, or all, and return the lines to be printed and their document."""
    from siteplan.files.survey.accepting import accept
    from siteplan.files.survey.proposals_file import read_proposals
    from siteplan.say.heights import accepted_sentences

    accepted_ids = None if ids == ["all"] else ids
    accepted = accept(Path(arguments.site), read_proposals(out), accepted_ids, replace=arguments.replace)
    return accepted_sentences(accepted, arguments.site), asdict(accepted)


def _read_survey(arguments: argparse.Namespace, out: Path) -> tuple[list[str], dict[str, Any]]:
    """Read a survey, write its proposals, and return the lines to be printed and the document of the proposals."""
    from siteplan.files.outputs.sound_output import require_output
    from siteplan.show.progress import progress_bar
    from siteplan.show.writing import kept_words
    from siteplan.survey import find_heights

    with progress_bar(quiet=arguments.quiet or arguments.json) as progress:
        require_output(out, site=arguments.site)
        survey = find_heights(
            arguments.site,
            arguments.tiles,
            crs=arguments.crs,
            z_unit=arguments.z_unit,
            unclassified=arguments.unclassified,
            progress=progress,
        )
        written = survey.write(out)
    if written.kept:
        say_fault(kept_words(written.kept))
    return survey.lines(written, arguments.site), survey.document()
