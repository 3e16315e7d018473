"""A lot within its limits, and who plans it: with planners that plan nothing, so that no process is started."""

from __future__ import annotations

import os
import queue
import threading
from pathlib import Path
from types import SimpleNamespace

import pytest

import siteplan
from siteplan.screen import planner
from siteplan.screen.planner import Limits, Outcome, Planner, PlannerError, Task, memory_of, on_this_machine
from siteplan.screen.request import ScreenRequest

REQUEST = ScreenRequest(ask=("sun",))


def test_a_task_is_a_new_lot_of_which_only_the_row_is_wanted():
    assert Task(3) == Task(3, known="", folder="")


class Process:
    """A process whose answers are there already, and that keeps what it is asked."""

    def __init__(self, dead=False):
        self.pid, self.said, self.killed, self.dead = os.getpid(), [], False, dead
        self.stdin, self.stdout = SimpleNamespace(write=self.write, flush=bool, close=bool), None

    def write(self, text):
        if self.dead:
            raise BrokenPipeError
        self.said.append(text)

    def kill(self):
        self.killed = True

    def wait(self):
        return 0

    def poll(self):
        return None


def asked(*lines, limits=Limits(), dead=False, task=Task(4, "k", "there")):  # noqa: B008
    one = Planner(REQUEST, limits)
    one._process, one._lines = Process(dead), queue.SimpleQueue()
    for line in lines:
        one._lines.put(line)
    process = one._process
    return one, process, one._ask(task)


def test_a_lot_is_asked_in_a_line_and_answered_in_one():
    one, process, found = asked('{"lot": 4, "key": "k2", "row": {"status": "planned"}}')
    assert b"".join(process.said) == b'{"lot": 4, "known": "k", "folder": "there"}\n'
    assert found == Outcome(4, "k2", {"status": "planned"})
    assert one._process is process
    assert not process.killed


def test_a_lot_that_is_the_same_has_no_row():
    assert asked('{"lot": 4, "key": "k", "same": true}')[2] == Outcome(4, "k", None)


def test_a_process_that_died_is_told_by_no_words():
    for dead in (False, True):
        one, process, found = asked(None, dead=dead)
        assert found == ""
        assert one._process is None
        assert process.killed


def test_a_lot_beyond_a_limit_is_ended(monkeypatch):
    monkeypatch.setattr(planner, "_LOOK", 0.001)
    one, process, found = asked(limits=Limits(seconds=0.005))
    assert found == "took more than 0.005 s and was ended; say --lot-time to allow more"
    assert (one._process, process.killed) == (None, True)
    assert (
        asked(limits=Limits(memory=1e6))[2]
        == "took more than 0.001 GB of memory and was ended; say --lot-memory to allow more"
    )


def test_limits_hold_up_to_their_own_value(monkeypatch):
    monkeypatch.setattr(planner, "memory_of", lambda _: 5e9)
    process = SimpleNamespace(pid=1)
    exact = Planner(REQUEST, Limits(seconds=60.0, memory=5e9))
    assert exact._beyond(process, 60.0) == ""
    assert exact._beyond(process, 60.1).startswith("took more than 60 s")
    less = Planner(REQUEST, Limits(seconds=60.0, memory=4.9e9))
    assert less._beyond(process, 1.0).startswith("took more than 4.9 GB of memory")


@pytest.mark.parametrize(("ends", "found"), [
    (["took too long"], {"status": "ended", "why": "took too long"}),
    (["", {"status": "planned"}], {"status": "planned"}),
    (["", ""], {"status": "ended", "why": "its process died 2 times, as one does that gets no memory"}),
])  # fmt: skip
def test_a_lot_whose_process_dies_is_tried_once_more(ends, found, monkeypatch):
    one, waiting, started = Planner(REQUEST, Limits()), list(ends), []
    monkeypatch.setattr(one, "_start", lambda: started.append(1))

    def ask(task):
        end = waiting.pop(0)
        return end if isinstance(end, str) else Outcome(task.number, "k", end)

    monkeypatch.setattr(one, "_ask", ask)
    assert one.plan(Task(7)) == Outcome(7, "k" if found == {"status": "planned"} else "", found)
    assert (waiting, len(started)) == ([], len(ends))


def test_what_was_closed_starts_no_more():
    one = Planner(REQUEST, Limits())
    one.close()
    with pytest.raises(PlannerError, match="stopped"):
        one.plan(Task(0))


class Quick:
    """A planner that only says which lot it was asked."""

    made = ()

    def __init__(self, request, limits):
        self.asked, self.closed = (request, limits), False
        Quick.made = (*Quick.made, self)

    def plan(self, task):
        if task.number == 99:
            raise PlannerError("cannot start")
        return Outcome(task.number, "k", {})

    def close(self):
        self.closed = True


@pytest.fixture
def quick(monkeypatch):
    monkeypatch.setattr(planner, "Planner", Quick)
    monkeypatch.setattr(Quick, "made", ())


@pytest.mark.parametrize("processes", [1, 3])
def test_each_lot_is_planned_once_whoever_takes_it(processes, quick):
    before = threading.active_count()  # other tests of this process may have left some
    found = list(on_this_machine(REQUEST, Limits(), iter([Task(n) for n in range(20)]), processes))
    assert sorted(one.number for one in found) == list(range(20))
    assert [one.asked for one in Quick.made] == [(REQUEST, Limits())] * processes
    assert all(one.closed for one in Quick.made)
    assert threading.active_count() <= before + processes


def test_one_that_cannot_plan_ends_the_run(quick):
    with pytest.raises(PlannerError, match="cannot start"):
        list(on_this_machine(REQUEST, Limits(), iter([Task(1), Task(99), Task(2)]), 1))
    assert [one.closed for one in Quick.made] == [True]


def test_the_memory_of_this_process_is_what_the_system_says():
    held = bytearray(50_000_000)
    held[::4096] = b"1" * len(held[::4096])
    assert 50e6 < memory_of(os.getpid()) < 10e9
    assert memory_of(2**22 + 1) == 0


class Lines(list):
    """What a process says, as a file that can be closed."""

    def close(self):
        pass


class Popen(Process):
    """A process that says some lines as it starts."""

    lines = ()
    asked = None

    def __init__(self, words, **more):
        super().__init__()
        Popen.asked = (words, more)
        self.stdout = Lines(self.lines)
        more["stderr"].write(b"first\nthe last line\n")


@pytest.fixture
def started(monkeypatch):
    """Return a planner and a function that starts it with a process that says some lines."""

    def start(*lines, limits=Limits(cores=2)):  # noqa: B008
        monkeypatch.setattr(planner.subprocess, "Popen", Popen)
        monkeypatch.setattr(Popen, "lines", lines)
        one = Planner(REQUEST, limits)
        one._start()
        return one

    return start


def test_a_process_is_started_with_its_request_and_its_cores(started, monkeypatch):
    monkeypatch.setenv("PYTHONPATH", "/mine")
    one = started(f'{{"ready": "{siteplan.__version__}"}}\n'.encode())
    words, more = Popen.asked
    assert words[1:] == ["-c", "from siteplan.screen.child import main; main()"]
    assert more["start_new_session"] is True
    assert (more["env"]["SITEPLAN_CORES"], more["env"]["OMP_NUM_THREADS"]) == ("2", "2")
    first, last = more["env"]["PYTHONPATH"].split(os.pathsep)
    assert (Path(first) / "siteplan" / "__init__.py").is_file()
    assert last == "/mine"
    assert b"".join(one._process.said).decode() == REQUEST.text() + "\n"
    running = one._process
    one._start()
    assert one._process is running  # it runs already
    one.close()
    assert running.killed


def test_one_that_ends_at_once_is_told_by_its_last_words(started):
    with pytest.raises(PlannerError, match="does not start: the last line"):
        started()


def test_another_version_is_refused(started):
    with pytest.raises(PlannerError, match=f"has siteplan 0.0, must have {siteplan.__version__}"):
        started(b'{"ready": "0.0"}\n')
