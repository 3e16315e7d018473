"""Which tests run which lines? A plugin of pytest: `-p tests.mutation.lines`, which writes to $SITEPLAN_LINES.<process>.

A fixture's lines belong to every test that uses it, and no test finds an answer that an earlier one left in a
functools cache. Compiled functions and what runs on import are not seen here: `reach.py` follows their names. Where
nothing is compiled (NUMBA_DISABLE_JIT), a test that takes more than $SITEPLAN_TEST_SECONDS is stopped and left out.
"""

from __future__ import annotations

import functools
import json
import os
import signal
import sys
import time
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path

import coverage
import pytest

ROOT = Path(__file__).parents[2]
PARTS = [str(ROOT / "siteplan"), str(ROOT / "tests")]


def _forget() -> None:
    """Empty every functools cache of the checkout's modules, but the units': reading them takes a third of a second."""
    for name, module in list(sys.modules.items()):
        if name.split(".")[0] in {"siteplan", "tests"} and name != "siteplan.land.units":
            for value in list(vars(module).values()):
                if isinstance(value, functools._lru_cache_wrapper):
                    value.cache_clear()


class Lines:
    """What has been seen so far: the seconds of each test and fixture, and who uses which fixture."""

    def __init__(self, out: Path) -> None:
        self.out = out
        self.cov = coverage.Coverage(data_file=None, source=PARTS, branch=False, config_file=False)
        self.stack = ["import"]
        self.seconds: dict[str, float] = defaultdict(float)
        self.uses: dict[str, list[str]] = {}
        self.limit = float(os.environ.get("SITEPLAN_TEST_SECONDS", "0"))
        self.failed: set[str] = set()
        self.cov.start()
        self.cov.switch_context("import")

    def within(self, context: str) -> Iterator[None]:
        self.stack.append(context)
        self.cov.switch_context(context)
        began = time.perf_counter()
        try:
            return (yield)
        finally:
            took = time.perf_counter() - began
            self.seconds[self.stack.pop()] += took
            self.seconds[self.stack[-1]] -= took  # a fixture's time is not also its first user's
            self.cov.switch_context(self.stack[-1])

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Iterator[None]:
        _forget()
        known = getattr(item, "_fixtureinfo", None)
        fixtures = known.name2fixturedefs if known else {}
        self.uses[item.nodeid] = [_name(one) for several in fixtures.values() for one in several]
        return (yield from self.within(item.nodeid))

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_setup(self) -> Iterator[None]:
        return (yield from self.limited())

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_call(self) -> Iterator[None]:
        return (yield from self.limited())

    def limited(self) -> Iterator[None]:
        if self.limit:
            signal.signal(signal.SIGALRM, _stop)
        signal.setitimer(signal.ITIMER_REAL, self.limit)  # with 0 none is set
        try:
            return (yield)
        except TooSlowError:
            pytest.fail("takes too long where nothing is compiled", pytrace=False)  # it may have no line number
        finally:
            signal.setitimer(signal.ITIMER_REAL, 0)

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_makereport(self, item: pytest.Item) -> Iterator[None]:
        report = yield
        if report.failed:
            self.failed.add(item.nodeid)
        return report

    @pytest.hookimpl(wrapper=True)
    def pytest_fixture_setup(self, fixturedef: pytest.FixtureDef) -> Iterator[None]:
        if fixturedef.scope == "function":
            return (yield)
        return (yield from self.within(_name(fixturedef)))

    def pytest_sessionfinish(self) -> None:
        self.cov.stop()
        data = self.cov.get_data()
        lines = {}
        for file in sorted(data.measured_files()):
            found = {line: sorted(set(who) - {""}) for line, who in data.contexts_by_lineno(file).items()}
            lines[Path(file).relative_to(ROOT).as_posix()] = {line: who for line, who in found.items() if who}
        uses = {test: fixtures for test, fixtures in self.uses.items() if test not in self.failed}
        self.out.write_text(json.dumps({"seconds": self.seconds, "uses": uses, "lines": lines}))


class TooSlowError(BaseException):
    """No Exception: hypothesis would try again and again to find a simpler case."""


def _stop(*_: object) -> None:
    raise TooSlowError


def _name(fixture: pytest.FixtureDef) -> str:
    return f"fixture {fixture.baseid} {fixture.argname}"


def pytest_configure(config: pytest.Config) -> None:
    worker = os.environ.get("PYTEST_XDIST_WORKER", "all")
    config.pluginmanager.register(Lines(Path(f"{os.environ['SITEPLAN_LINES']}.{worker}")), "lines")
