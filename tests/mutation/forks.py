"""Runs tests again and again: imports the libraries once, then forks a child for every run. `python forks.py`, in a copy.

Reads a line of JSON for every run (test ids in order, folder of compiled code, seconds allowed) and answers with one:
the test that failed, "time" where the run hung, or "" where all passed.
"""

from __future__ import annotations

import contextlib
import importlib
import json
import os
import resource
import signal
import sys
import tempfile
import time

import hypothesis
import numba
import pint
import pytest

LIBRARIES = (
    "branca", "folium", "geopandas", "jinja2", "pvlib", "pyogrio", "rasterio", "rich.console", "scipy.ndimage",
    "scipy.optimize", "scipy.sparse.csgraph", "tzfpy", "xdist.plugin",
)  # fmt: skip
OPTIONS = (
    "-q", "-x", "-n", "0", "-p", "no:cacheprovider", "--hypothesis-seed=0", "--no-header", "--tb=no",
    "-W", "ignore::pytest.PytestAssertRewriteWarning",  # the libraries are there already
)  # fmt: skip
MEMORY = 6 << 30  # bytes; a changed line may ask for more than there is


class Chosen:
    """A plugin that runs the chosen tests in their order and keeps the first that fails."""

    def __init__(self, tests: list[str]) -> None:
        self.order = {name: number for number, name in enumerate(tests)}
        self.failed = ""

    @pytest.hookimpl(trylast=True)
    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        items[:] = sorted((one for one in items if one.nodeid in self.order), key=lambda one: self.order[one.nodeid])

    def pytest_collectreport(self, report: pytest.CollectReport) -> None:
        self.keep(report.nodeid, failed=report.failed)

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        self.keep(report.nodeid, failed=report.failed)

    def keep(self, name: str, *, failed: bool) -> None:
        if failed and not self.failed:
            self.failed = name


def child(asked: dict, said: int) -> None:
    """Run the tests; what a run prints is thrown away."""
    nothing = os.open(os.devnull, os.O_RDWR)
    for stream in (0, 1, 2):
        os.dup2(nothing, stream)
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    numba.config.CACHE_DIR = asked["compiled"]
    hypothesis.settings.register_profile(
        "trial", database=None, deadline=None, suppress_health_check=list(hypothesis.HealthCheck)
    )
    hypothesis.settings.load_profile("trial")
    chosen = Chosen(asked["tests"])
    files = list(dict.fromkeys(name.split("::")[0] for name in asked["tests"]))
    with tempfile.TemporaryDirectory() as folder:
        code = pytest.main([*OPTIONS, f"--basetemp={folder}/base", *files], plugins=[chosen])
    if code not in {0, 5} and not chosen.failed:
        chosen.failed = f"pytest ended with {int(code)}"
    os.write(said, chosen.failed.encode())


def run(asked: dict) -> str:
    """Return what a child found, or "time"; a child that died has found something too."""
    heard, said = os.pipe()
    pid = os.fork()
    if pid == 0:
        os.setsid()
        try:
            child(asked, said)
        except BaseException as error:  # noqa: BLE001 - whatever it is, the child ends here
            os.write(said, f"pytest ended with {error!r}"[:200].encode())
        os._exit(0)
    os.close(said)
    end = time.monotonic() + asked["limit"]
    try:
        while True:
            ended, status = os.waitpid(pid, os.WNOHANG)
            if ended:
                found = os.read(heard, 10_000).decode()
                return found if status == 0 else f"killed by signal {status}"
            if time.monotonic() > end:
                with contextlib.suppress(ProcessLookupError):
                    os.killpg(pid, signal.SIGKILL)
                os.waitpid(pid, 0)
                return "time"
            time.sleep(0.02)
    finally:
        os.close(heard)


def main() -> None:
    sys.path.insert(0, os.getcwd())  # noqa: PTH109
    sys.path[:] = [one for one in sys.path if not one.endswith("tests/mutation")]
    for name in LIBRARIES:  # so that no child has to
        importlib.import_module(name)
    units = pint.UnitRegistry()  # read once: a third of the second that a child takes to begin
    pint.UnitRegistry = lambda: units
    for line in sys.stdin:
        print(json.dumps(run(json.loads(line))), flush=True)


if __name__ == "__main__":
    main()
