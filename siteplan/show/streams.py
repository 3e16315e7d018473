"""How is text written to standard output and error, whatever they are connected to?

Letters missing from the encoding are replaced by ASCII. A pipe that its reader has closed is no error. A full disk
is one. Ctrl-C is noticed even if a library hides it.
"""

from __future__ import annotations

import _thread
import codecs
import contextlib
import io
import os
import signal
import sys
import threading
import unicodedata
from collections.abc import Iterator
from types import FrameType, TracebackType
from typing import TextIO

from siteplan.land.errors import Fault, InputError

#: replacements for signs that Unicode does not decompose into ASCII
_WRITTEN = {
    "°": " deg", "²": "2", "³": "3", "µ": "u", "·": ".", "–": "-", "—": "-", "─": "-", "…": "...", "′": "'",
    "″": '"', "‘": "'", "’": "'", "“": '"', "”": '"', "€": "EUR", "£": "GBP", "¥": "JPY", "×": "x", "→": "->",
    "ß": "ss", "ø": "o", "Ø": "O", "æ": "ae", "Æ": "AE", "ł": "l", "Ł": "L",
}  # fmt: skip
_NAME = "siteplan.in_plain_letters"
_MOMENT = 0.01  # seconds; by then the deletion that dropped an interrupt has ended


def plain_letters(text: str) -> str:
    """Return a text in ASCII; a letter without an equivalent there becomes a question mark.

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
    """Return a replacement for letters that an encoding lacks, and where to go on: an error handler for `codecs`."""
    if not isinstance(error, UnicodeEncodeError):
        raise error
    return plain_letters(error.object[error.start : error.end]), error.end


def fit_streams() -> None:
    """Make standard output and error accept any letter; text for a closed stream is discarded."""
    codecs.register_error(_NAME, _in_plain_letters)
    for name in ("stdout", "stderr"):
        stream = getattr(sys, name)
        if stream is None:  # closed: a file opened later would get its number, and with it the text
            setattr(sys, name, open(os.devnull, "w", encoding="utf-8"))  # noqa: PTH123, SIM115  # as long as the process
        elif isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors=_NAME)


def takes_all_letters() -> bool:
    """Return whether standard output can encode every letter, as UTF-8 can."""
    return (sys.stdout.encoding or "utf-8").lower().replace("-", "").startswith("utf")


@contextlib.contextmanager
def written_out() -> Iterator[None]:
    """Flush standard output after the block; raise an InputError if it is full."""
    try:
        try:
            yield
        finally:
            sys.stdout.flush()
    except BrokenPipeError:  # the reader has closed the pipe, as `head` does; by then the output files are written
        _silence(sys.stdout)
    except OSError as error:
        if not _stuck():
            raise
        _silence(sys.stdout)
        words = f"cannot be written: {error.strerror}; send it elsewhere, or say --quiet"
        raise InputError([Fault("standard output", "", words)]) from error


def _stuck() -> bool:
    """Return whether standard output cannot take even a line break."""
    try:
        os.write(sys.stdout.fileno(), b"\n")
    except ValueError:  # in a test a stream has no number
        return False
    except OSError:
        return True
    return False


def _silence(stream: TextIO) -> None:
    """Discard all further text to a stream, also what the interpreter flushes when it ends."""
    with contextlib.suppress(OSError, ValueError):  # in a test a stream has no number
        os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())


@contextlib.contextmanager
def heard_interrupts() -> Iterator[list[int]]:
    """Yield a list that gets an entry if Ctrl-C is pressed in the block, since a library may turn it into an error.

    Notes
    -----
    A package that is being imported, such as numpy, turns the interrupt into an ImportError, and may print it itself.
    Where an object is being deleted, Python drops every exception. An interrupt that was printed or dropped is raised
    once more, a moment later.
    """
    interrupts = _Interrupts()
    usual_handler = signal.getsignal(signal.SIGINT)
    if usual_handler is not signal.default_int_handler or threading.current_thread() is not threading.main_thread():
        yield interrupts.heard  # Ctrl-C is ignored, or handled elsewhere
        return
    signal.signal(signal.SIGINT, interrupts.hear)
    sys.unraisablehook, sys.excepthook = interrupts.dropped, interrupts.printed
    try:
        yield interrupts.heard
    finally:
        for timer in interrupts.timers:
            timer.cancel()
        sys.unraisablehook, sys.excepthook = interrupts.usual_hooks
        signal.signal(signal.SIGINT, usual_handler)


class _Interrupts:
    """The interrupts that were heard, and the hooks that raise a lost one once more.

    Attributes
    ----------
    heard : list of int
        The number of each signal.
    timers : list of Timer
        Each raises an interrupt once more.
    usual_hooks : tuple
        Python's hooks for exceptions that cannot be raised, and for those that nobody catches.
    """

    def __init__(self) -> None:
        self.heard: list[int] = []
        self.timers: list[threading.Timer] = []
        self.usual_hooks = sys.unraisablehook, sys.excepthook

    def hear(self, number: int, _: FrameType | None) -> None:
        """Note an interrupt and raise it: the handler of the signal."""
        self.heard.append(number)
        raise KeyboardInterrupt

    def dropped(self, unraisable: sys.UnraisableHookArgs) -> None:
        """Raise an interrupt later that Python has dropped; any other exception goes to the usual hook."""
        if issubclass(unraisable.exc_type, KeyboardInterrupt):
            self._raise_later()
        else:
            self.usual_hooks[0](unraisable)

    def printed(self, kind: type[BaseException], error: BaseException, trace: TracebackType | None) -> None:
        """Raise an interrupt later that would be printed; without an interrupt, the usual hook prints the error."""
        if self.heard:
            self._raise_later()
        else:
            self.usual_hooks[1](kind, error, trace)

    def _raise_later(self) -> None:
        self.timers.append(threading.Timer(_MOMENT, _thread.interrupt_main))
        self.timers[-1].start()


def say_fault(words: object) -> None:
    """Print a line on standard error; nothing happens if that is closed."""
    try:
        print(words, file=sys.stderr, flush=True)  # noqa: T201
    except OSError:
        _silence(sys.stderr)
