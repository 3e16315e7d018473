"""Lots in processes of this machine: the same bytes with one and with two, and what takes too much is ended and told."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time

import pytest

from siteplan.screen import planner
from siteplan.screen.planner import Limits, Outcome, Planner, PlannerError, Task, on_this_machine
from siteplan.screen.run import screen
from siteplan.screen.store import NAME
from tests.screen.engines import MadeUp

pytestmark = pytest.mark.slow

FILES = ("screen.csv", "screen.gpkg", "screen.html", "screen.parquet")


def contents(out):
    return {name: (out / name).read_bytes() for name in (*FILES, NAME)}


def in_processes(count):
    return lambda asked, limits, tasks: on_this_machine(asked, limits, tasks, count)


def test_a_lot_that_was_ended_is_tried_again(lots_of, small_town, tmp_path):
    ended = Outcome(6, "", {"status": "ended", "why": "took more than 1 s"})

    def engine(asked, limits, tasks):
        for outcome in MadeUp()(asked, limits, tasks):
            yield ended if outcome.number == 6 else outcome

    lots = lots_of(small_town)
    found = screen(lots, tmp_path / "out", engine=engine, limits=Limits())
    assert [row["status"] for row in found.rows].count("ended") == 1
    again = MadeUp()
    screen(lots, tmp_path / "out", engine=again, limits=Limits())
    assert again.looked_at == [6]


@pytest.fixture
def in_this_process(planned_town):
    lots, out, _, _ = planned_town
    return lots, contents(out)


def test_a_run_that_two_processes_begin_and_one_ends_writes_the_same_bytes(in_this_process, tmp_path):
    lots, expected = in_this_process

    def interrupted(asked, limits, tasks):
        for done, outcome in enumerate(on_this_machine(asked, limits, tasks, 2)):
            yield outcome
            if done == 5:
                raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        screen(lots, tmp_path / "out", engine=interrupted, limits=Limits())
    screen(lots, tmp_path / "out", engine=in_processes(1), limits=Limits())
    assert contents(tmp_path / "out") == expected


def test_a_lot_whose_process_is_killed_is_planned_by_the_next(in_this_process):
    lots, _ = in_this_process
    one = Planner(lots.request, Limits())
    try:
        first = one.plan(Task(6))
        one._process.kill()  # between two lots
        assert one.plan(Task(6)) == first
        asked = one._ask

        def killed(task):  # in the middle of one
            one._ask = asked
            os.kill(one._process.pid, signal.SIGKILL)
            return asked(task)

        one._ask = killed
        assert one.plan(Task(6)) == first
    finally:
        one.close()


@pytest.mark.parametrize(
    ("limits", "said"),
    [(Limits(seconds=0.01), "took more than 0.01 s"), (Limits(memory=5e7), "took more than 0.05 GB of memory")],
)
def test_a_lot_beyond_its_limits_is_ended_and_told(in_this_process, limits, said, monkeypatch):
    lots, _ = in_this_process
    monkeypatch.setattr(planner, "_LOOK", 0.001)
    one = Planner(lots.request, limits)
    try:
        outcome = one.plan(Task(6))
        assert outcome.row["status"] == "ended"
        assert said in outcome.row["why"]
        assert one._process is None
    finally:
        one.close()


def test_a_process_that_cannot_start_is_told(in_this_process, monkeypatch):
    lots, _ = in_this_process
    monkeypatch.setattr(sys, "executable", "/bin/false")
    with pytest.raises(PlannerError, match="does not start"):
        Planner(lots.request, Limits()).plan(Task(0))


def test_no_process_outlives_the_run(in_this_process):
    lots, _ = in_this_process
    outcomes = on_this_machine(lots.request, Limits(), iter([Task(1), Task(2), Task(6), Task(7)]), 2)
    next(outcomes)
    outcomes.close()
    deadline = time.monotonic() + 10
    while time.monotonic() < deadline and _children():
        time.sleep(0.1)
    assert _children() == []


def _children():
    """Return the processes that this one started to plan lots, as the system lists them."""
    listed = subprocess.run(["ps", "--ppid", str(os.getpid()), "-o", "pid,stat,args"], capture_output=True, text=True)
    return [line for line in listed.stdout.splitlines() if "siteplan.screen.child" in line and " Z" not in line]
