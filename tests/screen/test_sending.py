"""What is sent to a cluster, and what is made of what comes back: Dask is stood in for, so that it takes no time."""

from __future__ import annotations

import sys
from types import ModuleType, SimpleNamespace
from typing import ClassVar

import pytest

from siteplan.land.errors import InputError, SitePlanError
from siteplan.screen import cluster
from siteplan.screen.planner import Limits, Outcome, Task
from siteplan.screen.request import ScreenRequest


class KilledError(Exception):
    """A worker that died again and again."""


class Future:
    """A task that is done, or failed."""

    def __init__(self, act, *args):
        self.act, self.args, self.released = act, args, False

    def result(self):
        return self.act(*self.args)

    def release(self):
        self.released = True


class Done:
    """Futures in the order in which they were sent."""

    def __init__(self, loop):
        self.loop, self.futures = loop, []

    def add(self, future):
        self.futures.append(future)

    def __next__(self):
        return self.futures.pop(0)


class Client:
    """A scheduler with two workers of two threads each, which keeps what it is asked."""

    made: ClassVar[list[Client]] = []
    without = False

    def __init__(self, address, timeout, set_as_default):
        if "nowhere" in address:
            raise OSError("no answer")
        self.asked = (address, timeout, set_as_default)
        self.sent, self.futures, self.plugins, self.closed, self.cancelled = [], [], {}, False, None
        self.loop = "loop"
        self.made.append(self)

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.closed = True

    def close(self):
        self.closed = True

    def wait_for_workers(self, count, timeout):
        assert (count, timeout) == (1, 30)
        if self.without:
            raise TimeoutError

    def register_plugin(self, plugin, name):
        self.plugins[name] = plugin

    def unregister_worker_plugin(self, name):
        del self.plugins[name]

    def nthreads(self):
        return {"one": 2, "other": 2}

    def submit(self, act, *args, key, pure):
        assert not pure
        self.sent.append((args, key))
        self.futures.append(Future(act, *args))
        return self.futures[-1]

    def cancel(self, futures, force):
        assert force
        self.cancelled = futures


@pytest.fixture
def dask(monkeypatch):
    """Stand in for Dask's module."""
    module = ModuleType("distributed")
    module.Client, module.WorkerPlugin, module.as_completed, module.KilledWorker = Client, object, Done, KilledError
    monkeypatch.setitem(sys.modules, "distributed", module)
    monkeypatch.setattr(Client, "made", [])
    monkeypatch.setattr(Client, "without", False)
    return module


ASKED = ScreenRequest(ask=("sun",), common="c" * 40)


def outcomes(dask, count, plan=lambda task: Outcome(task.number, "k", {"n": task.number})):
    """Return the engine's outcomes, with a worker that plans at once."""

    def worker():
        plugins = {name: SimpleNamespace(plan=plan) for name in Client.made[-1].plugins}
        return SimpleNamespace(plugins=plugins)

    dask.get_worker = worker
    tasks = iter([Task(number, f"known {number}", "there") for number in range(count)])
    return cluster.on_cluster("tcp://x:1")(ASKED, Limits(), tasks)


def test_each_lot_is_sent_once_and_three_ahead_for_each_thread(dask):
    running = outcomes(dask, 20)
    first = next(running)
    (client,) = Client.made
    assert client.asked == ("tcp://x:1", 30, False)
    assert len(client.sent) == 12  # three for each of four threads
    assert first == Outcome(0, "k", {"n": 0})
    assert [one.number for one in running] == list(range(1, 20))
    name = f"siteplan-{'c' * 16}-"
    assert [args[1:] for args, _ in client.sent] == [(n, f"known {n}", "there") for n in range(20)]
    assert all(args[0].startswith(name) and key == f"{args[0]}-{args[1]}" for args, key in client.sent)
    assert all(future.released for future in client.futures)
    assert (client.plugins, client.cancelled, client.closed) == ({}, [], True)


def test_what_is_left_is_taken_back(dask):
    running = outcomes(dask, 20)
    next(running)
    running.close()
    (client,) = Client.made
    assert len(client.cancelled) == 11
    assert client.plugins == {}


def test_a_lot_whose_workers_die_is_ended_and_any_other_error_ends_the_run(dask):
    def dies(task):
        raise KilledError

    (outcome,) = outcomes(dask, 1, dies)
    assert (outcome.number, outcome.row["status"]) == (0, "ended")
    assert outcome.row["why"].startswith("its worker died several times")

    def fails(task):
        raise ValueError("odd")

    with pytest.raises(SitePlanError, match="the cluster gave up: ValueError: odd"):
        list(outcomes(dask, 1, fails))

    def refuses(task):
        raise SitePlanError("another version")

    with pytest.raises(SitePlanError, match=r"^another version$"):
        list(outcomes(dask, 1, refuses))


def test_a_scheduler_that_is_not_there_or_has_no_worker(dask, monkeypatch):
    with pytest.raises(InputError, match="no scheduler answers there; start one with: dask scheduler"):
        cluster._client("tcp://nowhere:1")
    monkeypatch.setattr(Client, "without", True)
    with pytest.raises(InputError, match="it has no worker; start one with: dask worker tcp://x:1"):
        cluster._client("tcp://x:1")
    assert Client.made[-1].closed


def test_a_worker_has_a_process_for_each_thread(monkeypatch):
    class Planner:
        """A process that says who it is."""

        made: ClassVar[list[Planner]] = []

        def __init__(self, asked, limits):
            self.asked, self.limits, self.closed, self.number = asked, limits, False, len(self.made)
            self.made.append(self)

        def plan(self, task):
            if task.number == 9:
                raise SitePlanError("it does not start")
            return Outcome(task.number, "k", {"by": self.number})

        def close(self):
            self.closed = True

    monkeypatch.setattr(cluster, "Planner", Planner)
    sent = cluster.Planners(ASKED.text(), Limits(seconds=5), "name")
    planners = cluster.Planners("", Limits(), "")
    planners.__dict__.update(sent.__getstate__())  # as it travels to a worker
    planners.setup(SimpleNamespace(state=SimpleNamespace(nthreads=3)))
    assert [(one.asked, one.limits.seconds) for one in Planner.made] == [(ASKED, 5)] * 3
    with pytest.raises(SitePlanError):
        planners.plan(Task(9))
    assert [planners.plan(Task(1)).row["by"] for _ in range(4)] == [2, 2, 2, 2]  # the last that became free
    planners.teardown(None)
    assert all(one.closed for one in Planner.made)
