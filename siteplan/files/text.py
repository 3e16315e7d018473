"""What does a text file say?

UTF-8, with or without a byte order mark; what cannot be read is a fault that says why.
It leaves out what the text means.
"""

from __future__ import annotations

from pathlib import Path

from siteplan.files.remarks import Remarks


def read_text(path: Path, remarks: Remarks, *, missing: str = "") -> str | None:
    """Return a file's text, or None where a fault is noted.

    Parameters
    ----------
    path : Path
    remarks : Remarks
    missing : str
        How to mend it where the file is not there.
    """
    try:
        content = path.read_bytes()
    except FileNotFoundError:
        advice = f"; {missing}" if missing else ""
        remarks.fault(path.name, "", f"is not there{advice}")
        return None
    except IsADirectoryError:
        remarks.fault(path.name, "", "is a folder, must be a file")
        return None
    except (OSError, ValueError) as error:
        remarks.fault(path.name, "", f"cannot be read: {getattr(error, 'strerror', None) or error}")
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
