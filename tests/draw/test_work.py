"""Long jobs: one at a time, their progress, and how each ends."""

from __future__ import annotations

import threading

import pytest

from siteplan.draw.work import Job, Jobs, _run
from siteplan.land.errors import Fault, InputError


def ran(act, *, stopped=False):
    job = Job("plan")
    if stopped:
        job.stopping.set()
    _run(job, act)
    return job.view()


def test_a_job_that_is_done():
    def act(tell):
        tell("sun", 0.12349)
        return {"a": 1}

    assert ran(act) == {
        "what": "plan",
        "state": "done",
        "question": "sun",
        "share": 0.123,
        "result": {"a": 1},
        "faults": [],
    }
    assert Job("place").view() == {
        "what": "place", "state": "working", "question": "read", "share": 0.0, "result": {}, "faults": [],
    }  # fmt: skip


def test_a_job_that_is_stopped_ends_at_its_next_report():
    told = []

    def act(tell):
        told.append(1)
        tell("sun", 0.5)
        told.append(2)

    view = ran(act, stopped=True)
    assert (view["state"], view["question"], told) == ("stopped", "read", [1])


def test_a_job_that_fails_says_why():
    def refused(_):
        raise InputError([Fault("a", "", "one"), Fault("b", "", "two")])

    assert ran(refused)["state"] == "failed"
    assert ran(refused)["faults"] == [{"where": "", "text": "a: one"}, {"where": "", "text": "b: two"}]

    def broken(_):
        raise ZeroDivisionError("oh")

    view = ran(broken)
    assert (view["state"], view["faults"]) == (
        "failed", [{"where": "", "text": "this is a bug of siteplan: ZeroDivisionError('oh')"}],
    )  # fmt: skip


@pytest.fixture
def jobs():
    jobs = Jobs()
    yield jobs
    jobs.close()


def test_a_new_job_stops_the_one_before(jobs):
    go = threading.Event()
    first = jobs.start("plan", lambda _: {"done": go.wait(5)})
    second = jobs.start("place", lambda _: {"done": go.wait(5)})
    assert (first, second) == ("1", "2")
    assert jobs.job("3") is None
    assert jobs.job("1").stopping.is_set()
    assert not jobs.job("2").stopping.is_set()
    assert (jobs.job("1").what, jobs.job("2").what) == ("plan", "place")
    jobs.close()
    assert jobs.job("2").stopping.is_set()
    go.set()
