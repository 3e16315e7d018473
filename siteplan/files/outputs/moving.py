"""How does a file take its place so that nothing is lost on the way?

Two files change places in one step where the system can do that (Linux, macOS); a file that is moved never lands on
another one; what is written is on the disk before it is moved; a folder is held by one process at a time.
It leaves out which files are moved: output_folder.py knows that.
"""

from __future__ import annotations

import contextlib
import ctypes
import errno
import functools
import os
import sys
from collections.abc import Iterator
from pathlib import Path

if sys.platform == "win32":
    import msvcrt
else:
    import fcntl

#: on Windows a file in the folder is locked, since folders cannot be
LOCK = ".siteplan-lock"
#: what a system says that cannot do the one step, or not on this disk
_UNKNOWN_STEP = {errno.ENOSYS, errno.EINVAL, errno.ENOTSUP, errno.EOPNOTSUPP}
_HERE = -100  # AT_FDCWD of Linux: paths are read as they stand
_NEW, _EXCHANGE = 1, 2  # RENAME_NOREPLACE, RENAME_EXCHANGE of Linux; renameat2(2)
_NEW_MAC, _EXCHANGE_MAC = 4, 2  # RENAME_EXCL, RENAME_SWAP of macOS; renamex_np(2)


def exchange(first: Path, second: Path, spare: Path) -> None:
    """Let two files of one disk change places; whatever fails leaves both where they were.

    Parameters
    ----------
    first, second : Path
        Both are there; of any kind: a link is moved itself, not what it points to.
    spare : Path
        A free name on the same disk. Where the system has no exchange, `second` passes through it; a process that is
        ended in between leaves it there.
    """
    if _in_one_step(first, second, _EXCHANGE, _EXCHANGE_MAC):
        return
    move_to_free(second, spare)
    try:
        move_to_free(first, second)
    except BaseException:
        spare.rename(second)
        raise
    spare.rename(first)


def move_to_free(old: Path, new: Path) -> None:
    """Give a file or a folder a new name on the same disk; FileExistsError where the name is taken."""
    if _in_one_step(old, new, _NEW, _NEW_MAC):
        return
    if sys.platform != "win32" and os.path.lexists(new):
        raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST), str(new))
    old.rename(new)  # Windows itself refuses a name that is taken


@functools.cache
def _system() -> ctypes.CDLL | None:
    """Return the system's own library, where its calls can be made by name."""
    try:
        return None if sys.platform == "win32" else ctypes.CDLL(None, use_errno=True)
    except OSError:
        return None


def _in_one_step(old: Path, new: Path, linux: int, mac: int) -> bool:
    """Rename by the system's own call with a flag; False where there is no such call."""
    system = _system()
    if system is None:
        return False
    if hasattr(system, "renameat2"):
        failed = system.renameat2(_HERE, os.fsencode(old), _HERE, os.fsencode(new), linux)
    elif hasattr(system, "renamex_np"):
        failed = system.renamex_np(os.fsencode(old), os.fsencode(new), mac)
    else:
        return False
    if not failed:
        return True
    number = ctypes.get_errno()
    if number in _UNKNOWN_STEP:
        return False
    raise OSError(number, os.strerror(number), str(old), None, str(new))


def sync(path: Path) -> None:
    """Wait until a file's content, or a folder's list of names, is on the disk."""
    if sys.platform == "win32" and path.is_dir():
        return  # Windows writes a folder's names by itself
    handle = os.open(path, os.O_RDWR if sys.platform == "win32" else os.O_RDONLY)
    try:
        os.fsync(handle)
    except OSError as error:
        if error.errno not in _UNKNOWN_STEP:  # some disks over the network have no such wait for a folder
            raise
    finally:
        os.close(handle)


@contextlib.contextmanager
def held(folder: Path, *, wait: bool) -> Iterator[bool]:
    """Hold a folder, which no other process that asks may hold at the same time.

    The system itself lets go when the process ends, however it ends.

    Parameters
    ----------
    folder : Path
    wait : bool
        Whether to wait for a process that holds it.

    Yields
    ------
    bool
        Whether it is held. Where the disk knows no locks (some over the network), False at once.
    """
    lock = folder / LOCK if sys.platform == "win32" else folder
    handle = os.open(lock, os.O_RDWR | os.O_CREAT if sys.platform == "win32" else os.O_RDONLY)
    try:
        yield _lock(handle, wait=wait)
    finally:
        os.close(handle)
        if sys.platform == "win32":
            with contextlib.suppress(OSError):  # another process has opened it
                lock.unlink()


def _lock(handle: int, *, wait: bool) -> bool:
    """Lock an open file or folder; closing it unlocks it."""
    while True:
        try:
            if sys.platform == "win32":
                msvcrt.locking(handle, msvcrt.LK_LOCK if wait else msvcrt.LK_NBLCK, 1)
            else:
                fcntl.flock(handle, fcntl.LOCK_EX | (0 if wait else fcntl.LOCK_NB))
        except OSError as error:
            if not (wait and error.errno == errno.EDEADLK):  # Windows gives up after ten seconds; wait on
                return False
        else:
            return True
