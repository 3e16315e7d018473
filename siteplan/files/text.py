"""What does a file of a site hold?

Regular files of a bounded size only, so that neither a pipe nor a device keeps anyone waiting or fills the memory;
texts in UTF-8, with or without a byte order mark. It leaves out what the text means.
"""

from __future__ import annotations

import errno
import os
import stat
from pathlib import Path

from siteplan.files.remarks import Remarks

LARGEST = 10_000_000  # bytes of a text that a person writes; site.toml is a few thousand
#: Python reads no decimal number that is longer, and its own words on it help nobody
TOO_LONG = "holds a whole number of more than 4,300 digits; write one that can be"
_SORTS = {
    stat.S_IFDIR: "a folder", stat.S_IFIFO: "a pipe", stat.S_IFSOCK: "a socket", stat.S_IFCHR: "a device",
    stat.S_IFBLK: "a device",
}  # fmt: skip


def no_file(path: Path) -> str:
    """Return why a path cannot be read as a file, empty where it can: it must be there, and be a regular file.

    Examples
    --------
    >>> no_file(Path("nowhere")), no_file(Path("/"))
    ('is not there', 'is a folder, must be a file')
    """
    try:
        sort = stat.S_IFMT(path.stat().st_mode)
    except (FileNotFoundError, NotADirectoryError):
        return "is not there"
    except (OSError, ValueError) as error:
        return f"cannot be read: {getattr(error, 'strerror', None) or error}"
    return "" if sort == stat.S_IFREG else f"is {_SORTS.get(sort, 'no regular file')}, must be a file"


def read_bytes(path: Path, remarks: Remarks, *, most: int, missing: str = "") -> bytes | None:
    """Return what a file holds, or None where a fault is noted.

    Parameters
    ----------
    path : Path
    remarks : Remarks
    most : int
        Largest size that is read. [bytes]
    missing : str
        How to mend it where the file is not there.
    """
    if wrong := no_file(path):
        advice = f"; {missing}" if missing and wrong == "is not there" else ""
        remarks.fault(path.name, "", f"{wrong}{advice}")
        return None
    try:
        if path.stat().st_size <= most:
            return first_bytes(path, most)
        remarks.fault(path.name, "", f"is larger than {most / 1e6:g} MB; is it the right file?")
    except (OSError, ValueError) as error:
        remarks.fault(path.name, "", f"cannot be read: {getattr(error, 'strerror', None) or error}")
    return None


def first_bytes(path: Path, count: int) -> bytes:
    """Return what a file begins with; an OSError where it cannot be read at once."""
    with open(path, "rb", opener=_without_waiting) as file:  # a path opens without an opener
        size = os.fstat(file.fileno()).st_size  # of the files of the system 0: what one byte of them does is said
        content = file.read(min(count, max(size, 1)))
    if content is None:
        raise BlockingIOError(errno.EAGAIN, os.strerror(errno.EAGAIN))
    return content


def _without_waiting(name: str, flags: int) -> int:
    """Open a file so that no read waits for somebody to write, as some files of the system do."""
    return os.open(name, flags | getattr(os, "O_NONBLOCK", 0))


def read_text(path: Path, remarks: Remarks, *, missing: str = "", most: int = LARGEST) -> str | None:
    """Return a file's text, or None where a fault is noted; the parameters are those of `read_bytes`."""
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
