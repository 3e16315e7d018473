"""Rows of lots, and engines that plan lots in this process, for real or not at all, so that a run can be watched."""

from __future__ import annotations

from siteplan.files.outputs.output_folder import write_folder
from siteplan.land.errors import InputError
from siteplan.screen.child import _Work
from siteplan.screen.planner import Outcome
from siteplan.screen.sites import LotSites


def planned_row(lot, **figures):
    """Return the row of a lot that was planned, with some figures."""
    return {"lot": lot, "status": "planned", "why": "", **figures}


class Here:
    """An engine that plans in this process, and remembers which lots it planned."""

    def __init__(self, stop_after=None):
        self.planned, self.looked_at, self.stop_after = [], [], stop_after

    def __call__(self, asked, limits, tasks):  # noqa: ARG002  # as an engine is called
        work = _Work(asked)
        for task in tasks:
            if self.stop_after is not None and len(self.looked_at) >= self.stop_after:
                raise KeyboardInterrupt
            said = work.answer({"lot": task.number, "known": task.known, "folder": task.folder})
            self.looked_at.append(task.number)
            if not said.get("same"):
                self.planned.append(task.number)
            yield Outcome(task.number, said["key"], None if said.get("same") else said["row"])


class MadeUp(Here):
    """An engine that plans nothing: the hash of a lot is the real one, its row is made up from its number."""

    def __call__(self, asked, limits, tasks):  # noqa: ARG002  # as an engine is called
        sites = LotSites(asked)
        for task in tasks:
            if self.stop_after is not None and len(self.looked_at) >= self.stop_after:
                raise KeyboardInterrupt
            self.looked_at.append(task.number)
            lot = sites.lot(task.number)
            same = lot.key == task.known
            if not same:
                self.planned.append(task.number)
            yield Outcome(task.number, lot.key, None if same else made_up_row(sites, task.number))


class Writes(MadeUp):
    """An engine that plans nothing, and writes one file as the whole plan of a lot."""

    def __call__(self, asked, limits, tasks):
        for task in tasks:
            if not task.folder:
                yield from super().__call__(asked, limits, iter([task]))
                continue
            self.looked_at.append(task.number)
            lot = LotSites(asked).lot(task.number)
            yield Outcome(task.number, lot.key, _written(task.folder, lot.key))


def _written(folder, text):
    try:
        write_folder(folder, lambda stage: (stage / "plan.json").write_text(text))
    except InputError as error:
        return {"written": False, "why": str(error)}
    return {"written": True}


def made_up_row(sites, number):
    if sites.town is None:
        return {"status": "planned", "why": "", "place_merit": number / 10}
    if number in {1, 2}:
        return {"status": "fault", "why": "features: boundary: <b>{{7*7}}</b>"}
    middle = sites.town.degrees[number].centroid
    return {
        "status": "planned", "why": "", "lot_m2": 400.0, "place_season_sun_h": 5 + number / 7, "beds_fit": number,
        "place_merit": number / 10, "cost": 120.5, "currency": "EUR", "cautions": 1, "caution_words": "=1+1",
        "place": middle.buffer(1e-5).wkb_hex,
    }  # fmt: skip
