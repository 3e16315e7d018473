"""Can the words be written where they go?

Letters that a terminal lacks are written in letters that it has, a reader that went away is no fault, and a full
disk is one. It leaves out the words themselves.
"""

from __future__ import annotations

import codecs
import contextlib
import io
import os
import signal
import sys
import threading
import unicodedata
from collections.abc import Iterator
from types import FrameType
from typing import TextIO

from siteplan.land.errors import Fault, InputError

#: signs that have no letter of the same look within ASCII
_WRITTEN = {
    "°": " deg", "²": "2", "³": "3", "µ": "u", "·": ".", "–": "-", "—": "-", "─": "-", "…": "...", "′": "'",
    "″": '"', "‘": "'", "’": "'", "“": '"', "”": '"', "€": "EUR", "£": "GBP", "¥": "JPY", "×": "x", "→": "->",
    "ß": "ss", "ø": "o", "Ø": "O", "æ": "ae", "Æ": "AE", "ł": "l", "Ł": "L",
}  # fmt: skip
_NAME = "siteplan.in_plain_letters"


def plain_letters(text: str) -> str:
    """Return a text in the letters of ASCII: what has no such letter is a question mark.

    Examples
    --------
    >>> plain_letters("12.5 m², 30°, Beet Süd – 東")
    '12.5 m2, 30 deg, Beet Sud - ?'
    """
    return "".join(_plain(letter) for letter in text)


def _plain(letter: str) -> str:
    if letter.isascii():
        return letter
    bare = unicodedata.normalize("NFKD", letter).encode("ascii", "ignore").decode()
    return _WRITTEN.get(letter) or bare or "?"


def _in_plain_letters(error: UnicodeError) -> tuple[str, int]:
    """Return what stands for letters that an encoding lacks, and where to go on: a handler of errors for `codecs`."""
    if not isinstance(error, UnicodeEncodeError):
        raise error
    return plain_letters(error.object[error.start : error.end]), error.end


def fit_streams() -> None:
    """Make standard output and error take any letter; where one of them is closed, its words go nowhere."""
    codecs.register_error(_NAME, _in_plain_letters)
    for name in ("stdout", "stderr"):
        stream = getattr(sys, name)
        if stream is None:  # a file that is opened later would get the number of the closed stream, and the words
            setattr(sys, name, open(os.devnull, "w", encoding="utf-8"))  # noqa: PTH123, SIM115  # as long as the process
        elif isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors=_NAME)


def takes_all_letters() -> bool:
    """Return whether standard output takes every letter, as UTF-8 does."""
    return (sys.stdout.encoding or "utf-8").lower().replace("-", "").startswith("utf")


@contextlib.contextmanager
def written_out() -> Iterator[None]:
    """Write out to the last letter what is said within, or raise an InputError where standard output is full."""
    try:
        try:
            yield
        finally:
            sys.stdout.flush()
    except BrokenPipeError:  # whoever read a pipe has gone, as `head` does; the files are written by then
        _silence(sys.stdout)
    except OSError as error:
        if not _stuck():
            raise
        _silence(sys.stdout)
        words = f"cannot be written: {error.strerror}; send it elsewhere, or say --quiet"
        raise InputError([Fault("standard output", "", words)]) from error


def _stuck() -> bool:
    """Return whether standard output takes not even the end of a line."""
    try:
        os.write(sys.stdout.fileno(), b"\n")
    except ValueError:  # in a test a stream has no number
        return False
    except OSError:
        return True
    return False


def _silence(stream: TextIO) -> None:
    """Send all further words nowhere, also those that the interpreter writes out when it ends."""
    with contextlib.suppress(OSError, ValueError):  # in a test a stream has no number
        os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())


@contextlib.contextmanager
def heard_interrupts() -> Iterator[list[int]]:
    """Give a list that has an entry once Ctrl-C was pressed within: a library may make another error of it.

    Notes
    -----
    A package that is being imported, such as numpy, turns the interrupt into an ImportError.
    """
    heard: list[int] = []

    def hear(number: int, _: FrameType | None) -> None:
        heard.append(number)
        raise KeyboardInterrupt

    usual = signal.getsignal(signal.SIGINT)
    if usual is not signal.default_int_handler or threading.current_thread() is not threading.main_thread():
        yield heard  # it is ignored, or somebody else hears it
        return
    signal.signal(signal.SIGINT, hear)
    try:
        yield heard
    finally:
        signal.signal(signal.SIGINT, usual)


def say_fault(words: object) -> None:
    """Print a line on standard error, if anybody can read it."""
    try:
        print(words, file=sys.stderr, flush=True)  # noqa: T201
    except OSError:
        _silence(sys.stderr)
