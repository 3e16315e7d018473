"""How is a file moved so that nothing is lost?

Two files are exchanged in one atomic step, if the system can do that (Linux, macOS). A move never overwrites a file.
Files can be synced to the disk first, and a folder can be locked for one process at a time.
output_folder.py decides which files are moved.
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

#: on Windows this file in the folder is locked, since a folder cannot be
LOCK = ".siteplan-lock"
#: error numbers of a call that the system, or this disk, does not support
_UNKNOWN_STEP = {errno.ENOSYS, errno.EINVAL, errno.ENOTSUP, errno.EOPNOTSUPP}
_HERE = -100  # AT_FDCWD of Linux: relative paths start from the working directory
_NEW, _EXCHANGE = 1, 2  # RENAME_NOREPLACE, RENAME_EXCHANGE of Linux; renameat2(2)
_NEW_MAC, _EXCHANGE_MAC = 4, 2  # RENAME_EXCL, RENAME_SWAP of macOS; renamex_np(2)


def exchange(first: Path, second: Path, spare: Path) -> None:
    """Exchange two files on one disk; if anything fails, both stay where they were.

    Parameters
    ----------
    first, second : Path
        Must exist, and may be of any kind. A link is moved itself, not the file that it points to.
    spare : Path
        A free name on the same disk. If the system has no exchange, `second` is moved there for a moment. A process
        that is killed in that moment leaves it there.
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
    """Rename a file or a folder on the same disk; raise FileExistsError if the new name is taken."""
    if _in_one_step(old, new, _NEW, _NEW_MAC):
        return
    if sys.platform != "win32" and os.path.lexists(new):
        raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST), str(new))
    old.rename(new)  # Windows refuses a name that is taken


@functools.cache
def _system() -> ctypes.CDLL | None:
    """Return the C library of the system; None on Windows or if it cannot be loaded."""
    try:
        return None if sys.platform == "win32" else ctypes.CDLL(None, use_errno=True)
    except OSError:
        return None


def _in_one_step(old: Path, new: Path, linux: int, mac: int) -> bool:
    """Rename with a flag, by a system call; return False if there is no such call."""
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
        return  # Windows cannot sync a folder, and need not
    handle = os.open(path, os.O_RDWR if sys.platform == "win32" else os.O_RDONLY)
    try:
        os.fsync(handle)
    except OSError as error:
        if error.errno not in _UNKNOWN_STEP:  # some network disks cannot sync a folder
            raise
    finally:
        os.close(handle)


@contextlib.contextmanager
def held(folder: Path, *, wait: bool) -> Iterator[bool]:
    """Lock a folder, so that no other process that asks for the lock gets it at the same time.

    The system releases the lock when the process ends, even if it is killed.

    Parameters
    ----------
    folder : Path
    wait : bool
        Whether to wait while another process has the lock.

    Yields
    ------
    bool
        Whether the folder is locked; False at once if the disk has no locks (as some network disks).
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
    """Lock an open file or folder, and return whether that worked; closing it releases the lock."""
    while True:
        try:
            if sys.platform == "win32":
                msvcrt.locking(handle, msvcrt.LK_LOCK if wait else msvcrt.LK_NBLCK, 1)
            else:
                fcntl.flock(handle, fcntl.LOCK_EX | (0 if wait else fcntl.LOCK_NB))
        except OSError as error:
            if not (wait and error.errno == errno.EDEADLK):  # Windows stops waiting after ten seconds: try again
                return False
        else:
            return True
