"""How do results reach an output folder so that nothing in it is lost?

Each new file is finished and synced in a hidden folder inside the output folder, then changes places with the
earlier one in a single step. The marker lists beforehand what is coming: a run that is ended half-way is finished by
the next.

Why files are replaced one by one, and not the folder as a whole: the gardener's own notes, photos and links lie
between ours, and a folder that is exchanged has to take them along, so that they are copied, or are somewhere else
for a moment. Here they are never touched; the folder may be a mount point, stand in a folder that is read-only, and
be open in a terminal. The price: between the first and the last exchange, well under a hundredth of a second,
somebody who looks in sees new files beside earlier ones, each of them whole. What fails in that time is undone; what
is killed in that time is finished by the next run.

What is lost in no case: a file that the marker does not list, or that has changed since it was written. Where a new
file needs its name it is kept beside it, as ``shopping (yours, 2026-11-26).csv`` with the day of its last change. So
are all outputs in a folder with an earlier siteplan's marker, which lists nothing: they may hold anybody's remarks.
It leaves out what the files say.
"""

from __future__ import annotations

import contextlib
import errno
import glob
import os
import stat
import tempfile
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from siteplan.files.outputs.marker import MARKER, STAGE, Coming, Content, Marker, content, read_marker, write_marker
from siteplan.files.outputs.moving import LOCK, exchange, held, move_to_free, sync
from siteplan.files.outputs.sound_output import require_output
from siteplan.land.errors import Fault, InputError

#: all that a hidden folder of ours can hold
_IN_STAGE = {"new", "old", "before", "during", "after", LOCK}


@dataclass(frozen=True)
class Kept:
    """A file that was not as siteplan wrote it, and so was not replaced.

    Attributes
    ----------
    name : str
        Where the new file lies now.
    kept_as : str
        Where the other one lies now, in the same folder.
    """

    name: str
    kept_as: str


@dataclass(frozen=True)
class Written:
    """What was written to an output folder.

    Attributes
    ----------
    folder : Path
    names : tuple of str
        The new files.
    kept : tuple of Kept
        Those that made room for a new file and are kept beside it.
    """

    folder: Path
    names: tuple[str, ...]
    kept: tuple[Kept, ...]


def write_folder(out: str | Path, writer: Callable[[Path], None], *, whole: bool = True) -> Written:
    """Write files to an output folder, all or none, and lose nothing that is not siteplan's.

    Parameters
    ----------
    out : str or Path
        May be missing, empty, or an earlier output.
    writer : callable
        Gets an empty folder and writes files into it, no folders. Whatever it raises leaves `out` as it was.
    whole : bool
        Whether earlier output files that are not written now are removed; those that have changed stay.

    Returns
    -------
    Written

    Raises
    ------
    InputError
        Where `out` is no folder for an output, or cannot be written.
    """
    target = require_output(out)
    with _as_fault(target), contextlib.ExitStack() as at_the_end:
        _put_back(target)
        at_the_end.callback(_leave_no_empty_folder, target, _missing(target))
        with _alone(target):
            finish_earlier(target)
            stage = Path(tempfile.mkdtemp(dir=target, prefix=STAGE))
            at_the_end.callback(_clear, stage)
            at_the_end.enter_context(held(stage, wait=False))
            if read_marker(target) is None:
                write_marker(stage / "before", Marker())
                move_to_free(stage / "before", target / MARKER)
        (stage / "new").mkdir()
        (stage / "old").mkdir()
        writer(stage / "new")
        files = _finished(stage / "new")
        with _alone(target):
            kept = _replace(target, stage, files, whole=whole)
    return Written(target, tuple(files), kept)


def finish_earlier(target: Path) -> None:
    """Finish what an earlier run began in an output folder, and remove what it left; the caller holds the folder.

    A hidden folder counts as left behind by siteplan where its name begins with ``.siteplan-``, it holds nothing
    but what siteplan puts there, and no process holds it: the system lets go of it when its process ends.
    """
    marker = read_marker(target)
    if marker is not None and marker.coming is not None:
        _finish(target, marker, marker.coming)
    for stage in target.glob(f"{STAGE}*"):
        if stage.is_symlink() or not stage.is_dir():
            continue
        with held(stage, wait=False) as left_behind:
            if left_behind:
                _clear(stage)


def _put_back(target: Path) -> None:
    """Put an output folder back that an earlier siteplan had moved aside when it was ended.

    It moved the whole folder to ``.plan-old-xxxxxxxx/plan``; where it never came back, that is the only copy.
    """
    for aside in target.parent.glob(f".{glob.escape(target.name)}-old-????????/{glob.escape(target.name)}"):
        if not os.path.lexists(target) and read_marker(aside) is not None:
            move_to_free(aside, target)
            with contextlib.suppress(OSError):
                aside.parent.rmdir()


def _finished(new: Path) -> dict[str, Content]:
    """Return what the new files hold, once they are on the disk."""
    files = {}
    for path in sorted(new.iterdir()):
        entry = content(path)
        if entry is None:
            raise ValueError(f"{path.name} is no plain file")
        sync(path)
        files[path.name] = entry
    sync(new)
    return files


def _replace(target: Path, stage: Path, files: Mapping[str, Content], *, whole: bool) -> tuple[Kept, ...]:
    """Let the new files take their places, all or none, and list them."""
    earlier = (read_marker(target) or Marker()).files
    gone = tuple(name for name in earlier if name not in files) if whole else ()
    during = Marker(earlier, Coming(stage.name, files, gone))
    write_marker(stage / "before", Marker(earlier))
    write_marker(stage / "during", during)
    write_marker(stage / "after", Marker(_after(during)))
    sync(stage)
    moves = _Moves(target, stage, earlier)
    waiting = {name for name, entry in files.items() if content(target / name) != entry}
    try:
        (stage / "during").replace(target / MARKER)
        sync(target)
        try:
            moves.run(waiting, gone)
        except OSError:
            moves.undo()  # where that fails, the marker stays, and the next run finishes
            (stage / "before").replace(target / MARKER)
            raise
        sync(target)
        (stage / "after").replace(target / MARKER)
        sync(target)
    except KeyboardInterrupt:
        finish_earlier(target)
        raise
    return tuple(moves.kept)


def _after(marker: Marker) -> dict[str, Content]:
    """Return the files that are there once all that is coming has come."""
    if marker.coming is None:
        return dict(marker.files)
    stay = {name: entry for name, entry in marker.files.items() if name not in marker.coming.gone}
    return stay | dict(marker.coming.files)


def _finish(target: Path, marker: Marker, coming: Coming) -> None:
    """Finish a replacement that was ended half-way."""
    stage = target / coming.stage
    (stage / "old").mkdir(parents=True, exist_ok=True)
    moves = _Moves(target, stage, marker.files)
    ready = {name for name, entry in coming.files.items() if content(stage / "new" / name) == entry}
    waiting = {name for name in ready if content(target / name) != coming.files[name]}
    moves.run(waiting, coming.gone)
    for path in [*_files_in(stage / "new"), *_files_in(stage / "old")]:
        if content(path) not in (marker.files.get(path.name), coming.files.get(path.name)):
            moves.aside(path, path.name)  # changed in the very moment in which it was replaced
    there = {name for name, entry in coming.files.items() if content(target / name) == entry}
    files = {name: entry for name, entry in _after(marker).items() if name in there or name not in coming.files}
    files |= {name: entry for name, entry in marker.files.items() if name in coming.files and name not in there}
    sync(target)
    again = target / f"{STAGE}after"
    write_marker(again, Marker(files))
    again.replace(target / MARKER)
    sync(target)


class _Moves:
    """The moves by which new files take their places; each is noted, so that all can be undone."""

    def __init__(self, target: Path, stage: Path, earlier: Mapping[str, Content]) -> None:
        self.target, self.new, self.old = target, stage / "new", stage / "old"
        self.kept: list[Kept] = []
        self._done: list[Callable[[], None]] = []
        signs = {name: _sign(target / name) for name in earlier}  # read first: who writes later is found out
        self._ours = {name: signs[name] for name, entry in earlier.items() if content(target / name) == entry}

    def run(self, waiting: set[str], gone: tuple[str, ...]) -> None:
        """Let the waiting files take their places, and take those away that are gone and still as they were."""
        for name in sorted(waiting):
            self._put(name)
        for name in gone:
            if name in self._ours and os.path.lexists(self.target / name):
                self._take(name)

    def undo(self) -> None:
        """Move everything back, last move first."""
        while self._done:
            self._done[-1]()
            self._done.pop()

    def aside(self, path: Path, name: str) -> str:
        """Keep a file in the output folder under a name that says that it is hers; return that name."""
        day = datetime.fromtimestamp(path.lstat().st_mtime).astimezone().date()
        stem, suffix = Path(name).stem, Path(name).suffix
        free, number = f"{stem} (yours, {day}){suffix}", 1
        while os.path.lexists(self.target / free):
            number += 1
            free = f"{stem} (yours, {day}, {number}){suffix}"
        self._move(path, self.target / free)
        self.kept.append(Kept(name, free))
        return free

    def _put(self, name: str) -> None:
        """Let one new file take its place."""
        place, fresh, spare = self.target / name, self.new / name, self.old / name
        if name in self._ours and _sign(place) == self._ours[name]:
            exchange(fresh, place, spare)
            self._done.append(lambda: exchange(fresh, place, spare))
            if _sign(fresh) != self._ours[name]:
                self.aside(fresh, name)  # changed in this very moment
            return
        if os.path.lexists(place):
            self.aside(place, name)
        self._move(fresh, place)

    def _take(self, name: str) -> None:
        """Take one earlier file away."""
        place, spare = self.target / name, self.old / name
        self._move(place, spare)
        if _sign(spare) != self._ours[name]:
            self._done.pop()()  # changed in this very moment: it goes back

    def _move(self, old: Path, new: Path) -> None:
        move_to_free(old, new)
        self._done.append(lambda: move_to_free(new, old))


def _sign(path: Path) -> tuple[int, int, int] | None:
    """Return what stays equal when a file is moved and not when it is written to; None where it is missing."""
    try:
        found = path.lstat()
    except FileNotFoundError:
        return None
    return found.st_ino, found.st_size, found.st_mtime_ns


def _files_in(folder: Path) -> list[Path]:
    return sorted(folder.iterdir()) if folder.is_dir() else []


def _clear(stage: Path) -> None:
    """Remove a hidden folder of ours, unless it is still needed or holds what is not ours."""
    with contextlib.suppress(OSError):
        marker = read_marker(stage.parent)
        needed = marker is not None and marker.coming is not None and marker.coming.stage == stage.name
        if needed or not {path.name for path in stage.iterdir()} <= _IN_STAGE:
            return
        for path in [*_files_in(stage / "new"), *_files_in(stage / "old"), *_files_in(stage)]:
            if stat.S_ISREG(path.lstat().st_mode):
                path.unlink(missing_ok=True)
        for folder in (stage / "new", stage / "old", stage):
            if folder.is_dir():
                folder.rmdir()


@contextlib.contextmanager
def _alone(target: Path) -> Iterator[None]:
    """Hold the output folder, made where it is missing, while no other run moves files in it."""
    while True:
        target.mkdir(parents=True, exist_ok=True)
        before = target.stat()
        with held(target, wait=True):
            try:
                same = os.path.samestat(before, target.stat())
            except FileNotFoundError:
                continue  # another run made it, failed and removed it
            if same:
                yield
                return


def _missing(target: Path) -> list[Path]:
    """Return the folders that are to be made, innermost first."""
    return [folder for folder in (target, *target.parents) if not folder.exists()]


def _leave_no_empty_folder(target: Path, made: list[Path]) -> None:
    """Remove the start of an output that came to nothing; what holds anything stays."""
    with contextlib.suppress(OSError):
        with held(target, wait=False) as alone:
            if (
                alone
                and read_marker(target) == Marker()
                and {path.name for path in target.iterdir()} <= {MARKER, LOCK}
            ):
                (target / MARKER).unlink()
        for folder in made:
            folder.rmdir()


@contextlib.contextmanager
def _as_fault(target: Path) -> Iterator[None]:
    """Say what the disk refuses in one line."""
    try:
        yield
    except OSError as error:
        if isinstance(error, FileNotFoundError) and not str(error.filename).startswith(str(target)):
            raise  # something of siteplan's own is missing: a bug
        text = f"cannot be written: {error.strerror or error}"
        if error.errno in {errno.ENOSPC, errno.EDQUOT}:
            text += "; make room, or choose a folder on another disk"
        raise InputError([Fault(target.name or str(target), "", text)]) from error
