"""How is the progress of long work shown?

On stderr: a bar on a terminal, plain lines in a file or pipe, and for Python one line that is overwritten. Nothing
goes to stdout. It leaves out quick work: the first line comes only after some seconds.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from threading import Event, Thread

from siteplan.land.cores import PROGRESS

Tell = Callable[[str, float], None]

PAUSE = 2.5  # seconds before the first plain line and between two of them

_WORDS = {
    "read": "reading the site",
    "survey": "reading the survey",
    "sun": "sweeping the sun",
    "range": "finding the ranges",
    "sure": "mapping sure sun",
    "place": "searching places",
    "turn": "turning the beds",
    "fill": "filling the beds",
    "haul": "finding the ways",
    "write": "writing the files",
}


@contextmanager
def progress_bar(*, quiet: bool) -> Iterator[Tell | None]:
    """Show progress on stderr: a bar on a terminal, else a plain line every few seconds."""
    if quiet:
        yield None
        return
    if not sys.stderr.isatty():
        with _lines() as tell:
            yield tell
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

    columns = TextColumn("{task.description:<18}"), BarColumn(), TimeElapsedColumn()
    with Progress(*columns, console=Console(stderr=True), transient=True) as bars:  # updated by a thread of rich
        task = bars.add_task(_WORDS["read"], total=1.0)

        def tell(question: str, share: float) -> None:
            bars.update(task, description=_words(question), completed=share)

        yield tell


@contextmanager
def progress_line() -> Iterator[Tell]:
    """Show progress as one line on stderr that is overwritten; this works in a notebook too."""
    shown_line = ""

    def tell(question: str, share: float) -> None:
        nonlocal shown_line
        line = f"{_words(question)} {share:4.0%}"
        if line != shown_line:
            sys.stderr.write(f"\r{line:<{len(shown_line)}}")
            sys.stderr.flush()
            shown_line = line

    try:
        yield tell
    finally:
        sys.stderr.write(f"\r{'':<{len(shown_line)}}\r")
        sys.stderr.flush()


@contextmanager
def _lines() -> Iterator[Tell]:
    """Write a plain line every few seconds, even if the work has reported nothing new since the last one."""
    start, is_over, latest = time.monotonic(), Event(), [(_WORDS["read"], 0.0)]
    stream = sys.stderr

    def tell(question: str, share: float) -> None:
        latest[0] = (_words(question), share)

    def repeat() -> None:
        while not is_over.wait(PAUSE):
            words, share = latest[0]
            stream.write(f"{words} {share:.0%}, {time.monotonic() - start:.0f} s\n")
            stream.flush()

    teller = Thread(target=repeat, name=PROGRESS, daemon=True)
    teller.start()
    try:
        yield tell
    finally:
        is_over.set()
        teller.join()


def _words(question: str) -> str:
    return _WORDS.get(question, question)
