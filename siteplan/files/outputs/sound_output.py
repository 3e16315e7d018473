"""May results be written to this folder?

Yes if it is new, empty or an earlier output folder, can be written to, and neither is nor holds a site.
This is checked before the work, so that nobody waits for results that cannot be saved.
output_folder.py writes the files.
"""

from __future__ import annotations

import os
import tempfile
from collections import deque
from pathlib import Path

from siteplan.files.outputs.marker import STAGE, read_marker
from siteplan.land.errors import Fault, InputError

_SITE = "site.toml"
_MOST_ENTRIES = 100_000  # entries of a folder that are searched for a site, which takes about a second
#: files that file managers leave in a folder that looks empty
_IGNORED = {".DS_Store", "Thumbs.db", "desktop.ini"}


def require_output(out: str | Path, *, site: str | Path | None = None) -> Path:
    """Return an output folder's real path, or raise if results may not go there. Nothing is created or changed.

    Parameters
    ----------
    out : str or Path
        The folder; may be missing.
    site : str or Path, optional
        The folder of the site that is planned.

    Returns
    -------
    Path
        With links resolved.

    Raises
    ------
    InputError
        If it is a file, is or holds a site's folder, holds files but is no output folder of siteplan, or cannot be
        written to.
    """
    target = Path(os.path.realpath(out))
    try:
        text = _fault(target, None if site is None else Path(os.path.realpath(site)))
        if not text:
            _try_to_write(target)
    except OSError as error:
        text = f"cannot be written: {error.strerror}; choose another folder for the output"
    if text:
        raise InputError([Fault(target.name or str(target), "", text)])
    return target


def _fault(target: Path, site: Path | None) -> str:
    """Return what is wrong with the folder; empty if nothing is."""
    if not target.is_dir():
        return "is a file; choose a folder for the output" if os.path.lexists(target) else ""
    if (target / _SITE).exists() or target == site:
        return "is a site's folder; choose another for the output, as the folder plan in it"
    if site is not None and target in site.parents:
        return f"holds the site {site.relative_to(target)}; choose a folder for the output that holds no site"
    if read_marker(target) is None and any(not _is_ignored(path) for path in target.iterdir()):
        return "holds files that are not siteplan's; choose a new or empty folder for the output"
    nested_site = _site_inside(target)
    if nested_site is not None:
        return f"holds the site {nested_site.relative_to(target)}; move it elsewhere, or choose another folder"
    return ""


def _is_ignored(path: Path) -> bool:
    """Return whether a file can be ignored: one of a file manager, or one left by an interrupted run."""
    return path.name in _IGNORED or path.name.startswith(STAGE)


def _site_inside(target: Path) -> Path | None:
    """Return the folder of the nearest site inside a folder; links are not followed."""
    waiting, looked_at = deque([target]), 0
    while waiting and looked_at < _MOST_ENTRIES:
        folder = waiting.popleft()
        try:
            entries = list(os.scandir(folder))
        except OSError:
            continue  # not readable; nothing is changed in there
        looked_at += len(entries)
        if any(entry.name == _SITE for entry in entries):
            return folder
        waiting += [Path(entry.path) for entry in entries if entry.is_dir(follow_symlinks=False)]
    return None


def _try_to_write(target: Path) -> None:
    """Write a temporary file where the folder is or will be; raise OSError if that fails."""
    nearest = next(folder for folder in (target, *target.parents) if folder.exists())
    with tempfile.TemporaryFile(dir=nearest) as file:
        file.write(b"\0" * 4096)
