"""How many cores a process may use, and in which order its threads answer."""

from __future__ import annotations

import os
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest

from siteplan.land.cores import core_count, environment_for, in_second_process, on_all_cores
from siteplan.land.errors import Fault, InputError


@pytest.mark.parametrize(("share", "count"), [
    ("", 4), ("1", 1), ("3", 3), ("4", 4), ("9", 4), ("0", 1), ("-2", 4), ("two", 4), ("٢", 4), ("2.0", 4),
])  # fmt: skip
def test_the_cores_of_a_process(monkeypatch, share, count):
    monkeypatch.setattr(os, "sched_getaffinity", lambda pid: {0, 1, 2, 3}, raising=False)  # noqa: ARG005
    monkeypatch.setenv("SITEPLAN_CORES", share)
    assert core_count() == count


def test_a_system_that_does_not_tell_which_cores(monkeypatch):
    monkeypatch.delattr(os, "sched_getaffinity", raising=False)
    monkeypatch.delenv("SITEPLAN_CORES", raising=False)
    monkeypatch.setattr(os, "cpu_count", lambda: 6)
    assert core_count() == 6
    monkeypatch.setattr(os, "cpu_count", lambda: None)
    assert core_count() >= 1


@pytest.mark.parametrize(
    ("parts", "alone", "threads"), [((), False, 1), ((1,), False, 1), ((1, 2, 3), True, 1), ((1, 2, 3), False, 2)]
)
def test_answers_come_in_order(parts, alone, threads):
    here = threading.get_ident()
    answers = list(on_all_cores(lambda part: (part * 10, threading.get_ident() == here), parts, alone=alone))
    assert [one for one, _ in answers] == [part * 10 for part in parts]
    assert all(own is (threads == 1) for _, own in answers)


def test_the_environment_of_a_process():
    names = {"SITEPLAN_CORES", "OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "NUMBA_NUM_THREADS"}
    assert environment_for(3) == dict.fromkeys(names, "3")
    assert set(environment_for(0).values()) == {"1"}


@pytest.fixture
def forking(monkeypatch):
    """As on Linux with two cores, and with no thread of pytest's."""
    monkeypatch.setattr(os, "sched_getaffinity", lambda pid: {0, 1}, raising=False)  # noqa: ARG005
    monkeypatch.setattr(sys, "platform", "linux")
    monkeypatch.setattr(threading, "enumerate", lambda: [threading.main_thread()])
    monkeypatch.setattr(threading, "current_thread", threading.main_thread)
    monkeypatch.delenv("SITEPLAN_CORES", raising=False)


def own_number(tell) -> int:
    return os.getpid()


def test_work_in_a_second_process_has_the_same_answer(forking):
    with in_second_process(lambda _: (os.getpid(), b"1" * 1_000_000)) as result:
        process, large = result()  # larger than what a pipe holds
    assert process != os.getpid()
    assert large == b"1" * 1_000_000
    with pytest.raises(ProcessLookupError):
        os.kill(process, 0)


def test_a_second_process_ends_with_the_context(forking, tmp_path):
    said = tmp_path / "process"
    with in_second_process(lambda _: (said.write_text(str(os.getpid())), time.sleep(600))):
        while not said.exists() or not said.read_text():
            time.sleep(0.01)
    with pytest.raises(ProcessLookupError):
        os.kill(int(said.read_text()), 0)


KILLED = """
import os, time
from siteplan.land.cores import in_second_process
with in_second_process(lambda _: (print(os.getpid(), flush=True), time.sleep(600))):
    time.sleep(600)
"""


@pytest.mark.skipif(sys.platform != "linux" or core_count() == 1, reason="only Linux with two cores copies a process")
def test_a_second_process_is_killed_with_the_first():
    with subprocess.Popen([sys.executable, "-c", KILLED], stdout=subprocess.PIPE, text=True) as first:
        second = int(first.stdout.readline())
        os.kill(second, 0)
        first.kill()
    for _ in range(500):  # it is ended, then taken away by the system
        if not Path(f"/proc/{second}").exists() or "(zombie)" in Path(f"/proc/{second}/status").read_text():
            return
        time.sleep(0.01)
    pytest.fail("it outlived the first")


def test_what_fails_in_a_second_process_is_raised_in_this_one(forking):
    def act(tell) -> int:
        if os.getpid() == here:
            raise InputError([Fault("site.toml", "[haul]", "no way")])
        raise SystemExit(3)

    here = os.getpid()
    with in_second_process(act) as result, pytest.raises(InputError, match="no way"):
        result()


@pytest.mark.parametrize(("name", "there"), [("progress", True), ("server", False)])
def test_a_copy_is_made_only_beside_threads_that_show_progress(forking, monkeypatch, name, there):
    thread = threading.Thread(name=name)
    monkeypatch.setattr(threading, "enumerate", lambda: [threading.main_thread(), thread])
    with in_second_process(own_number) as result:
        assert (result() != os.getpid()) is there


@pytest.mark.parametrize(("cores", "platform"), [("1", "linux"), ("2", "darwin")])
def test_work_stays_here_with_one_core_or_on_another_system(forking, monkeypatch, cores, platform):
    monkeypatch.setenv("SITEPLAN_CORES", cores)
    monkeypatch.setattr(sys, "platform", platform)
    with in_second_process(own_number) as result:
        assert result() == os.getpid()


def test_work_beside_which_nothing_is_done_stays_here(forking):
    with in_second_process(own_number, alone=True) as result:
        assert result() == os.getpid()


@pytest.mark.parametrize("alone", [False, True])
def test_the_progress_of_the_second_process_is_told_in_this_one(forking, alone):
    def act(tell) -> int:
        for share in (0.5, 1.0):
            tell("haul", share)
        return os.getpid()

    told = []
    with in_second_process(act, tell=lambda *what: told.append((os.getpid(), *what)), alone=alone) as result:
        assert (result() == os.getpid()) is alone
    assert told == [(os.getpid(), "haul", 0.5), (os.getpid(), "haul", 1.0)]


def test_an_answer_that_breaks_off_is_found_in_this_process(forking):
    class Torn:
        def __reduce__(self) -> str:
            os._exit(1)

    with in_second_process(
        lambda tell: own_number(tell) if os.getpid() == here else (b"1" * 100_000, Torn())
    ) as result:
        here = os.getpid()
        assert result() == here
