"""Lots on a Dask cluster of two workers: no lot is lost and none is done twice, whatever happens to a worker."""

from __future__ import annotations

import os
import signal
import threading
import time
from collections import Counter
from pathlib import Path

import pytest

from siteplan.cli import main
from siteplan.screen.cluster import on_cluster
from siteplan.screen.planner import Limits
from siteplan.screen.run import screen

dask = pytest.importorskip("dask", reason="the cluster extra is not installed")
distributed = pytest.importorskip("distributed", reason="the cluster extra is not installed")
pytestmark = [
    pytest.mark.slow,
    pytest.mark.filterwarnings("ignore:::distributed"),
    pytest.mark.filterwarnings("ignore::ResourceWarning"),
]


@pytest.fixture(scope="module")
def two_workers():
    """Yield a cluster that starts each ended worker again.

    Some time after a worker is lost, the cluster looks whether it is back, and closes it for good if it is not. That
    moment may fall where the next test has just ended the same worker. So it is put off until after the tests.
    """
    options = {"n_workers": 2, "threads_per_worker": 1, "memory_limit": "600MB", "dashboard_address": None}
    patience = {"distributed.deploy.lost-worker-timeout": "1 hour"}
    with dask.config.set(patience), distributed.LocalCluster(**options) as made:
        yield made


@pytest.fixture
def cluster(two_workers):
    with distributed.Client(two_workers, set_as_default=False) as client:
        client.wait_for_workers(2, timeout=60)  # one that a test has ended is started again
    return two_workers


@pytest.fixture
def expected(planned_town):
    lots, _, _, found = planned_town
    return lots, found.rows


def watched(scheduler, counted, act):
    """Return the engine of a cluster that counts what comes of each lot, and acts after the third."""

    def engine(asked, limits, tasks):
        for done, outcome in enumerate(on_cluster(scheduler)(asked, limits, tasks)):
            counted[outcome.number] += 1
            yield outcome
            if done == 2:
                act()

    return engine


def test_a_worker_killed_in_the_middle_loses_no_lot_and_the_processes_are_taken_away(cluster, expected, tmp_path):
    lots, rows = expected
    counted = Counter()

    def kill():
        os.kill(cluster.workers[0].process.pid, signal.SIGKILL)

    found = screen(lots, tmp_path, engine=watched(cluster.scheduler_address, counted, kill), limits=Limits())
    assert found.rows == rows
    assert counted == Counter(range(10))
    with distributed.Client(cluster, set_as_default=False) as client:
        client.wait_for_workers(2, timeout=60)
        plugins = client.run(lambda dask_worker: sum("siteplan" in name for name in dask_worker.plugins))
    assert set(plugins.values()) == {0}


def test_a_worker_that_runs_out_of_memory_loses_no_lot(cluster, expected, tmp_path):
    lots, rows = expected
    counted = Counter()
    with distributed.Client(cluster, set_as_default=False) as client:
        before = cluster.workers[0].process.pid

        def hog():
            """Fill the memory of one worker until its nanny ends it."""
            client.run(_fill, workers=[cluster.workers[0].worker_address])
            ended = Path(f"/proc/{before}")
            for _ in range(600):
                if not ended.exists():
                    return
                time.sleep(0.1)
            pytest.fail("the worker goes on with its memory full")

        found = screen(lots, tmp_path, engine=watched(cluster.scheduler_address, counted, hog), limits=Limits())
    assert found.rows == rows
    assert counted == Counter(range(10))


def _fill():
    def fill():
        held = []
        for _ in range(40):
            held.append(bytearray(os.urandom(1 << 20) * 25))
            time.sleep(0.02)
        time.sleep(60)

    threading.Thread(target=fill, daemon=True).start()


def test_a_cluster_that_is_not_there_is_told(small_town, tmp_path, capsys, monkeypatch):
    from siteplan.screen import cluster

    monkeypatch.setattr(cluster, "WAIT", 1)
    words = [
        "screen",
        str(small_town / "town.gpkg"),
        "--out",
        str(tmp_path / "out"),
        "--scheduler",
        "tcp://127.0.0.1:9",
    ]
    assert main([*words, "--quiet"]) == 2
    assert "no scheduler answers there" in capsys.readouterr().err
