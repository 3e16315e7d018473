"""How many cores a process may use, and in which order its threads answer."""

from __future__ import annotations

import os
import threading

import pytest

from siteplan.land.cores import core_count, environment_for, on_all_cores


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
