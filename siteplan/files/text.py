"""How are the bytes and the text of a site's files read safely?

Only regular files of a bounded size, so that no pipe or device blocks the program or fills the memory; texts in
UTF-8, with or without a byte order mark.
"""

from __future__ import annotations

import errno
import os
import stat
from pathlib import Path

from siteplan.files.remarks import Remarks

LARGEST = 10_000_000  # bytes of a text that a person writes; site.toml is a few thousand
#: Python refuses longer decimal numbers, with a message that does not help a gardener
TOO_LONG = "holds a whole number of more than 4,300 digits; write one that can be"
_SORTS = {
    stat.S_IFDIR: "a folder", stat.S_IFIFO: "a pipe", stat.S_IFSOCK: "a socket", stat.S_IFCHR: "a device",
    stat.S_IFBLK: "a device",
}  # fmt: skip


def no_file(path: Path) -> str:
    """Return why a path cannot be read as a file; empty if it is a regular file.

    Examples
    --------
    >>> no_file(Path("nowhere")), no_file(Path("/"))
    ('is not there', 'is a folder, must be a file')
    """
    try:
        status = path.stat()
        kind = stat.S_IFMT(status.st_mode)
        # a file of the system, as in /proc, has content but no size, and a read may never end
        endless = kind == stat.S_IFREG and status.st_size == 0 and bool(first_bytes(path, 1))
    except (FileNotFoundError, NotADirectoryError):
        return "is not there"
    except (OSError, ValueError) as error:
        return f"cannot be read: {getattr(error, 'strerror', None) or error}"
    if kind == stat.S_IFREG and not endless:
        return ""
    return f"is {_SORTS.get(kind, 'no regular file')}, must be a file"


def read_bytes(path: Path, remarks: Remarks, *, most: int, missing: str = "") -> bytes | None:
    """Return the content of a file, or None if a fault is noted.

    Parameters
    ----------
    path : Path
    remarks : Remarks
    most : int
        Largest size that is read. [bytes]
    missing : str
        Advice for the message if the file is missing.
    """
    if trouble := no_file(path):
        advice = f"; {missing}" if missing and trouble == "is not there" else ""
        remarks.fault(path.name, "", f"{trouble}{advice}")
        return None
    try:
        if path.stat().st_size <= most:
            return first_bytes(path, most)
        remarks.fault(path.name, "", f"is larger than {most / 1e6:g} MB; is it the right file?")
    except (OSError, ValueError) as error:
        remarks.fault(path.name, "", f"cannot be read: {getattr(error, 'strerror', None) or error}")
    return None


def first_bytes(path: Path, count: int) -> bytes:
    """Return the first bytes of a file; OSError if they cannot be read without waiting."""
    with open(path, "rb", opener=_without_waiting) as file:  # Path.open takes no opener
        size = os.fstat(file.fileno()).st_size  # 0 for files of /proc and the like: one byte is tried then
        content = file.read(min(count, max(size, 1)))
    if content is None:
        raise BlockingIOError(errno.EAGAIN, os.strerror(errno.EAGAIN))
    return content


def _without_waiting(name: str, flags: int) -> int:
    """Open a file so that no read waits for another process to write."""
    return os.open(name, flags | getattr(os, "O_NONBLOCK", 0))


def read_text(path: Path, remarks: Remarks, *, missing: str = "", most: int = LARGEST) -> str | None:
    """Return a file's text, or None if a fault is noted; the parameters are those of `read_bytes`."""
    content = read_bytes(path, remarks, most=most, missing=missing)
    if content is None:
        return None
    if content[:2] in {b"\xff\xfe", b"\xfe\xff"}:
        remarks.fault(path.name, "", "is saved as UTF-16; save it as UTF-8")
        return None
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        remarks.fault(path.name, "", f"is not UTF-8 (line {line}); save it as UTF-8")
        return None
