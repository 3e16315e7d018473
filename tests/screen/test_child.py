"""What a process that plans lots answers, line by line: a fork of this one, which plans nothing."""

from __future__ import annotations

import json
import os
import signal
import sys

import pytest

from siteplan import __version__
from siteplan.land.errors import Fault, InputError
from siteplan.screen import child, sites
from siteplan.screen.request import ScreenRequest


def answers(lines, work):
    """Return what the process says to some lines, and how it ended, with `work` in place of planning."""
    (asked, ask), (heard, say), (errors, error) = os.pipe(), os.pipe(), os.pipe()
    pid = os.fork()
    if pid == 0:
        try:
            os.dup2(say, 1)
            os.dup2(error, 2)
            for one in (ask, heard, errors):
                os.close(one)
            sys.stdin = os.fdopen(asked, encoding="utf-8")
            child._Work = work
            child.main()
        finally:
            os._exit(9)
    for one in (asked, say, error):
        os.close(one)
    os.write(ask, "".join(f"{line}\n" for line in lines).encode())
    with os.fdopen(heard, encoding="utf-8") as file:
        said = [json.loads(file.readline()) for _ in lines]
        os.close(ask)
        ended = os.waitpid(pid, 0)[1]
        rest = file.read()
    with os.fdopen(errors, encoding="utf-8") as file:
        return said, rest, file.read(), ended


class Stand:
    """Work that answers with the task, and prints as a library might."""

    def __init__(self, request):
        self.request = request

    def answer(self, task):
        os.write(1, b"a library prints\n")
        ignored = signal.getsignal(signal.SIGINT) is signal.SIG_IGN
        return {**task, "ask": list(self.request.ask), "ignored": ignored}


@pytest.mark.filterwarnings("ignore::DeprecationWarning")
def test_each_line_has_its_answer_and_what_a_library_prints_goes_elsewhere():
    request = ScreenRequest(ask=("sun",), common="c")
    said, rest, errors, ended = answers([request.text(), '{"lot": 3}', '{"lot": 4}'], Stand)
    assert said == [
        {"ready": __version__}, {"lot": 3, "ask": ["sun"], "ignored": True}, {"lot": 4, "ask": ["sun"], "ignored": True},
    ]  # fmt: skip
    assert (rest, ended) == ("", 0)
    assert errors == "a library prints\n" * 2


@pytest.fixture
def work(monkeypatch):
    """Return work whose lots have a key, a fault or an error by their number."""

    class Lots:
        def __init__(self, request):
            pass

        def lot(self, number):
            if number == 9:
                raise RuntimeError("lost")
            return sites.Lot(number, f"key {number}")

        def site(self, lot):
            return None, (Fault("a.gpkg", f"lot {lot.number}", "crosses itself"),)

    monkeypatch.setattr("siteplan.screen.answering.lot_answers", lambda _site, _ask: None)
    monkeypatch.setattr("siteplan.screen.sites.LotSites", Lots)
    monkeypatch.setattr(child, "_small_site", lambda: None)
    return child._Work(ScreenRequest(ask=("sun",)))


def test_a_lot_that_is_known_is_not_planned_again(work):
    assert work.answer({"lot": 2, "known": "key 2"}) == {"lot": 2, "key": "key 2", "same": True}
    row = {"status": "fault", "why": "a.gpkg: lot 2: crosses itself"}
    assert work.answer({"lot": 2, "known": "key 1"}) == {"lot": 2, "key": "key 2", "row": row}
    assert work.answer({"lot": 2}) == {"lot": 2, "key": "key 2", "row": row}


def test_the_whole_plan_of_a_lot_at_fault_is_not_written(work):
    assert work.answer({"lot": 2, "folder": "there"})["row"] == {"written": False}


def test_a_folder_that_cannot_take_a_plan_says_why(work, monkeypatch):
    def refused(_plan, _folder, *, command):
        assert command == "plan"
        raise InputError([Fault("there", "", "holds files that are not siteplan's")])

    monkeypatch.setattr(work.sites, "site", lambda _lot: ("site", ()))
    monkeypatch.setattr("siteplan.answers.answers", lambda _site, _question: "search")
    monkeypatch.setattr("siteplan.question.checked_question", lambda _site, *, ask: ask)
    monkeypatch.setattr("siteplan.screen.answering.site_with_bed", lambda site, _search: site)
    monkeypatch.setattr("siteplan.plan.plan_site", lambda site: site)
    monkeypatch.setattr("siteplan.show.writing.write_answers", refused)
    row = work.answer({"lot": 2, "folder": "there"})["row"]
    assert row == {"written": False, "why": "there: holds files that are not siteplan's"}


def test_an_error_is_told_with_its_place_and_stops_nothing(work):
    said = work.answer({"lot": 9, "known": ""})
    assert (said["lot"], said["key"], said["row"]["status"]) == (9, "", "ended")
    assert said["row"]["why"].startswith("an error of siteplan itself: RuntimeError: lost (test_child.py, line ")


def test_a_process_gets_ready_with_a_small_lot():
    """6 m by 6 m with a house of 6 m by 4 m 5 m to the south of it and a tree 3 m across to the east."""
    site = child._small_site()
    west, south, east, north = site.boundary.bounds
    assert (east - west, north - south) == pytest.approx((6, 6), abs=1e-3)
    (house,), (tree,) = site.buildings, site.trees
    assert (house.height, tree.height) == (5.0, 6.0)
    assert [edge - at for edge, at in zip(house.outline.bounds, (west, south) * 2, strict=True)] == pytest.approx(
        [0, -9, 6, -5], abs=1e-3
    )
    assert [edge - at for edge, at in zip(tree.outline.bounds, (west, south) * 2, strict=True)] == pytest.approx(
        [7.5, 1.5, 10.5, 4.5], abs=1e-3
    )
    assert (site.frame.longitude, site.frame.latitude) == pytest.approx((8.0, 45.0), abs=1e-3)
    assert (site.sun.year, site.sun.cell, site.name) == (2026, 1.0, "small")


def test_an_error_is_told_with_the_line_that_raised_it(work, monkeypatch):
    def deep(_number):
        def deeper():
            return 1 // 0

        return [deeper() for _ in range(1)]

    monkeypatch.setattr(work.sites, "lot", deep)
    line = deep.__code__.co_firstlineno + 2
    assert work.answer({"lot": 1})["row"]["why"] == (
        "an error of siteplan itself: ZeroDivisionError: integer division or modulo by zero "
        f"(test_child.py, line {line})"
    )
