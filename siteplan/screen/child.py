"""What does a process that plans lots do?

It reads the request, opens the shared layers, and gets the compiled kernels ready. Then it answers each line of its
standard input, a lot's number, with a line on its standard output, the lot's row. It ends when its input ends. What a
library prints goes to standard error. `planner`, which starts the process, watches its time and memory.
"""

from __future__ import annotations

import json
import os
import queue
import signal
import sys
import threading
import traceback
from collections.abc import Iterator
from pathlib import Path
from typing import Any, TextIO

from siteplan import __version__
from siteplan.land.errors import InputError
from siteplan.screen.request import ScreenRequest
from siteplan.screen.rows import ended_row

_SMALL = 6.0  # m; side of the square lot that a process plans first, to get ready


def main() -> None:
    """Answer lines until the input ends."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the process that started it decides when it ends
    stream = os.fdopen(os.dup(1), "w", encoding="utf-8")
    os.dup2(2, 1)
    lines = _lines()
    request = ScreenRequest.of_text(next(lines))
    worker = _Work(request)
    _say(stream, {"ready": __version__})
    for line in lines:
        _say(stream, worker.answer(json.loads(line)))


def _lines() -> Iterator[str]:
    """Yield the lines of the input; the process ends when the input does, even in the middle of a lot."""
    waiting: queue.SimpleQueue[str] = queue.SimpleQueue()

    def read() -> None:
        for line in sys.stdin:
            waiting.put(line)
        os._exit(0)

    threading.Thread(target=read, daemon=True).start()
    while True:
        yield waiting.get()


def _say(stream: TextIO, reply: dict[str, Any]) -> None:
    stream.write(json.dumps(reply, allow_nan=False) + "\n")
    stream.flush()


class _Work:
    """Answers tasks on lots, with the shared layers opened once."""

    def __init__(self, request: ScreenRequest) -> None:
        from siteplan.screen.answering import lot_answers
        from siteplan.screen.sites import LotSites

        self.request = request
        lot_answers(_small_site(), request.ask)
        self.sites = LotSites(request)

    def answer(self, task: dict[str, Any]) -> dict[str, Any]:
        """Return a lot's hash, and its row if the hash is not the known one."""
        try:
            lot = self.sites.lot(int(task["lot"]))
            if lot.key == task.get("known"):
                return {"lot": task["lot"], "key": lot.key, "same": True}
            row = self._folder(lot, task["folder"]) if task.get("folder") else self._row(lot)
        except Exception as error:  # noqa: BLE001  # one lot must not stop the others: its row says what went wrong
            frame = traceback.extract_tb(error.__traceback__)[-1]
            text = f"{type(error).__name__}: {error} ({Path(frame.filename).name}, line {frame.lineno})"
            return {"lot": task["lot"], "key": "", "row": ended_row(f"an error of siteplan itself: {text}")}
        return {"lot": task["lot"], "key": lot.key, "row": row}

    def _row(self, lot: Any) -> dict[str, Any]:
        from siteplan.screen import rows
        from siteplan.screen.answering import lot_answers

        site, faults = self.sites.site(lot)
        return (
            rows.faulty_row(faults) if site is None else rows.planned_row(site, lot_answers(site, self.request.ask))
        )

    def _folder(self, lot: Any, folder: str) -> dict[str, Any]:
        """Write the whole plan of a lot, with a bed at its best place if it has none."""
        from siteplan.answers import answers
        from siteplan.plan import plan_site
        from siteplan.question import checked_question
        from siteplan.screen.answering import site_with_bed
        from siteplan.show.writing import write_answers

        site, _ = self.sites.site(lot)
        if site is None:
            return {"written": False}
        search = answers(site, checked_question(site, ask=["place"]))
        try:
            write_answers(plan_site(site_with_bed(site, search)), Path(folder), command="plan")
        except InputError as error:  # somebody's own files lie there, or the disk is full
            return {"written": False, "why": str(error)}
        return {"written": True}


def _small_site() -> Any:
    """Return a small lot with a house and a tree beside it, to compile and load all that any lot needs."""
    import geopandas
    from shapely import Point, box

    from siteplan.files.frames import site_from_frames

    features = geopandas.GeoDataFrame(
        {"id": ["lot", "house", "tree"], "kind": ["boundary", "building", "tree"], "height": [None, 5.0, 6.0]},
        geometry=[box(0, 0, _SMALL, _SMALL), box(0, -9, 6, -5), Point(9, 3).buffer(1.5)],
    )
    settings = {"name": "small", "origin": {"latitude": 45.0, "longitude": 8.0}, "sun": {"year": 2026, "cell": "1 m"}}
    return site_from_frames(features, settings)
