"""How are results written to an output folder so that nothing in it is lost?

Each new file is first written and synced in a hidden folder inside the output folder. Then it is exchanged with the
earlier file in one atomic step. Before that, the marker lists the new files, so that the next run can finish a run
that was interrupted.

Files are replaced one by one, not the folder as a whole. The gardener's own notes, photos and links may lie between
siteplan's files. To replace the folder, they would have to be copied, or moved away for a moment. Here they are never
touched. The folder may also be a mount point, lie in a read-only folder, or be open in a terminal. The price is that
for a moment, well under a hundredth of a second, new files lie beside earlier ones; each of them is complete. What an
error interrupts is undone. If the process is killed in that time, the next run finishes its work.

A file is never lost if the marker does not list it, or if it has changed since siteplan wrote it. If a new file needs
its name, it is kept under a name such as ``shopping (yours, 2026-11-26).csv``, with the day of its last change. The
marker of earlier versions of siteplan lists nothing. In such a folder all files are kept, since they may hold
somebody's remarks.
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

#: the only names that siteplan puts into its hidden folder
_IN_STAGE = {"new", "old", "before", "during", "after", LOCK}


@dataclass(frozen=True)
class Kept:
    """A file that siteplan did not write, or that has changed since; it was kept under another name.

    Attributes
    ----------
    name : str
        Name of the new file.
    kept_as : str
        Name of the kept file, in the same folder.
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
        Files that were renamed to make room for a new file.
    """

    folder: Path
    names: tuple[str, ...]
    kept: tuple[Kept, ...]


def write_folder(out: str | Path, writer: Callable[[Path], None], *, remove_earlier: bool = True) -> Written:
    """Write files to an output folder, all or none, and lose no file that siteplan did not write.

    Parameters
    ----------
    out : str or Path
        May be missing, empty, or an earlier output folder.
    writer : callable
        Called with an empty folder; writes files into it, but no folders. If it raises, `out` stays as it was.
    remove_earlier : bool
        Whether earlier output files that are not written now are removed. Files that have changed stay.

    Returns
    -------
    Written

    Raises
    ------
    InputError
        If `out` cannot be an output folder, or cannot be written to.
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
            kept = _replace(target, stage, files, remove_earlier=remove_earlier)
    return Written(target, tuple(files), kept)


def finish_earlier(target: Path) -> None:
    """Finish an interrupted run in an output folder, and remove its hidden folder. The caller has locked the folder.

    A hidden folder counts as left behind by siteplan if its name begins with ``.siteplan-``, it holds only what
    siteplan puts there, and no process has locked it. The system releases the lock when a process ends.
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
    """Restore an output folder that an interrupted run of an earlier version had moved away.

    That version moved the whole folder to ``.plan-old-xxxxxxxx/plan``. If it was interrupted, that is the only copy.
    """
    for moved_away in target.parent.glob(f".{glob.escape(target.name)}-old-????????/{glob.escape(target.name)}"):
        if not os.path.lexists(target) and read_marker(moved_away) is not None:
            move_to_free(moved_away, target)
            with contextlib.suppress(OSError):
                moved_away.parent.rmdir()


def _finished(new: Path) -> dict[str, Content]:
    """Sync the new files to the disk, and return their sizes and hashes."""
    files = {}
    for path in sorted(new.iterdir()):
        entry = content(path)
        if entry is None:
            raise ValueError(f"{path.name} is no plain file")
        sync(path)
        files[path.name] = entry
    sync(new)
    return files


def _replace(target: Path, stage: Path, files: Mapping[str, Content], *, remove_earlier: bool) -> tuple[Kept, ...]:
    """Move the new files into the output folder, all or none, and list them in the marker; return the kept files."""
    earlier = (read_marker(target) or Marker()).files
    removed = tuple(name for name in earlier if name not in files) if remove_earlier else ()
    during = Marker(earlier, Coming(stage.name, files, removed))
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
            moves.run(waiting, removed)
        except OSError:
            moves.undo()  # if that fails too, the marker stays, and the next run finishes
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
    """Return the files that the folder holds once the replacement is complete."""
    if marker.coming is None:
        return dict(marker.files)
    remaining = {name: entry for name, entry in marker.files.items() if name not in marker.coming.removed}
    return remaining | dict(marker.coming.files)


def _finish(target: Path, marker: Marker, coming: Coming) -> None:
    """Finish a replacement that was interrupted."""
    stage = target / coming.stage
    (stage / "old").mkdir(parents=True, exist_ok=True)
    moves = _Moves(target, stage, marker.files)
    ready = {name for name, entry in coming.files.items() if content(stage / "new" / name) == entry}
    waiting = {name for name in ready if content(target / name) != coming.files[name]}
    moves.run(waiting, coming.removed)
    for path in [*_files_in(stage / "new"), *_files_in(stage / "old")]:
        if content(path) not in (marker.files.get(path.name), coming.files.get(path.name)):
            moves.aside(path, path.name)  # somebody changed it while it was being replaced
    in_place = {name for name, entry in coming.files.items() if content(target / name) == entry}
    files = {name: entry for name, entry in _after(marker).items() if name in in_place or name not in coming.files}
    files |= {name: entry for name, entry in marker.files.items() if name in coming.files and name not in in_place}
    sync(target)
    final_marker = target / f"{STAGE}after"
    write_marker(final_marker, Marker(files))
    final_marker.replace(target / MARKER)
    sync(target)


class _Moves:
    """The moves that replace earlier files by new ones; each is recorded, so that all can be undone."""

    def __init__(self, target: Path, stage: Path, earlier: Mapping[str, Content]) -> None:
        self.target, self.new, self.old = target, stage / "new", stage / "old"
        self.kept: list[Kept] = []
        self._done: list[Callable[[], None]] = []
        signs = {name: _sign(target / name) for name in earlier}  # before the hashes, so that a later change shows
        self._unchanged = {name: signs[name] for name, entry in earlier.items() if content(target / name) == entry}

    def run(self, waiting: set[str], removed: tuple[str, ...]) -> None:
        """Move the waiting files into place, and remove those files in `removed` that are unchanged."""
        for name in sorted(waiting):
            self._put(name)
        for name in removed:
            if name in self._unchanged and os.path.lexists(self.target / name):
                self._take(name)

    def undo(self) -> None:
        """Undo all moves, the last one first."""
        while self._done:
            self._done[-1]()
            self._done.pop()

    def aside(self, path: Path, name: str) -> str:
        """Rename a file, so that its new name says that it is the gardener's own; return that name."""
        day = datetime.fromtimestamp(path.lstat().st_mtime).astimezone().date()
        stem, suffix = Path(name).stem, Path(name).suffix
        free_name, number = f"{stem} (yours, {day}){suffix}", 1
        while os.path.lexists(self.target / free_name):
            number += 1
            free_name = f"{stem} (yours, {day}, {number}){suffix}"
        self._move(path, self.target / free_name)
        self.kept.append(Kept(name, free_name))
        return free_name

    def _put(self, name: str) -> None:
        """Move one new file into place."""
        present, fresh, spare = self.target / name, self.new / name, self.old / name
        if name in self._unchanged and _sign(present) == self._unchanged[name]:
            exchange(fresh, present, spare)
            self._done.append(lambda: exchange(fresh, present, spare))
            if _sign(fresh) != self._unchanged[name]:
                self.aside(fresh, name)  # somebody changed it just before the exchange
            return
        if os.path.lexists(present):
            self.aside(present, name)
        self._move(fresh, present)

    def _take(self, name: str) -> None:
        """Remove one earlier file from the folder."""
        present, spare = self.target / name, self.old / name
        self._move(present, spare)
        if _sign(spare) != self._unchanged[name]:
            self._done.pop()()  # somebody changed it just before: move it back

    def _move(self, old: Path, new: Path) -> None:
        move_to_free(old, new)
        self._done.append(lambda: move_to_free(new, old))


def _sign(path: Path) -> tuple[int, int, int] | None:
    """Return values that change when a file is written to, but not when it is moved; None if it is missing."""
    try:
        status = path.lstat()
    except FileNotFoundError:
        return None
    return status.st_ino, status.st_size, status.st_mtime_ns


def _files_in(folder: Path) -> list[Path]:
    return sorted(folder.iterdir()) if folder.is_dir() else []


def _clear(stage: Path) -> None:
    """Remove a hidden folder of siteplan, unless it is still needed or holds anything else."""
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
    """Make the output folder if it is missing, and lock it so that no other run moves files in it."""
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
    """Return the folders that do not exist yet, innermost first."""
    return [folder for folder in (target, *target.parents) if not folder.exists()]


def _leave_no_empty_folder(target: Path, new_folders: list[Path]) -> None:
    """Remove the marker and the new folders of a run that failed; a folder that holds anything else stays."""
    with contextlib.suppress(OSError):
        with held(target, wait=False) as alone:
            is_empty = {path.name for path in target.iterdir()} <= {MARKER, LOCK}
            if alone and is_empty and read_marker(target) == Marker():
                (target / MARKER).unlink()
        for folder in new_folders:
            folder.rmdir()


@contextlib.contextmanager
def _as_fault(target: Path) -> Iterator[None]:
    """Turn an error of the disk into an InputError of one line."""
    try:
        yield
    except OSError as error:
        if isinstance(error, FileNotFoundError) and not str(error.filename).startswith(str(target)):
            raise  # a file of the program itself is missing, which is a bug
        text = f"cannot be written: {error.strerror or error}"
        if error.errno in {errno.ENOSPC, errno.EDQUOT}:
            text += "; make room, or choose a folder on another disk"
        raise InputError([Fault(target.name or str(target), "", text)]) from error
