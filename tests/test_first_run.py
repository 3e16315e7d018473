"""What the second process compiles is what the first one needs: both call the loops with the same kinds of arguments."""

from __future__ import annotations

import numba
import numpy as np
import pytest

from siteplan.first_run import compile_hidden_sums, compile_search, compile_steps
from siteplan.place.search import footprint_sums
from siteplan.place.search.search import find_places
from siteplan.sun.engine import sun_engine
from siteplan.sun.lookup import sky_lookup, table_sums
from siteplan.sun.sun_maps import sun_maps

POINT = np.array([[2.0, 3.0, 0.0]])


@pytest.fixture
def kinds_of(monkeypatch):
    """Return a function that gives a list of the types that a loop is called with; with an answer, in its place."""

    def recorded(name, *modules, answer=None):
        loop, kinds = getattr(modules[0], name), []

        def record(*given):
            kinds.append(tuple(map(numba.typeof, given)))
            return loop(*given) if answer is None else answer

        for module in modules:
            monkeypatch.setattr(module, name, record)
        return kinds

    return recorded


def test_hidden_sums(tiny_yard, monkeypatch, kinds_of):
    for name in ("_sum_point_by_point", "_draw"):
        loop = getattr(sky_lookup, name)
        monkeypatch.setattr(sky_lookup, name, getattr(loop, "py_func", loop))
    monkeypatch.setattr(sky_lookup, "subtract_leaves", lambda *_: None)
    kinds = kinds_of("subtract_hidden", table_sums, sky_lookup, answer=0)
    compile_hidden_sums()
    sun_engine(tiny_yard).hours(POINT)
    assert len(kinds) == 2
    assert kinds[0] == kinds[1]


def test_steps(tiny_yard, kinds_of):
    kinds = kinds_of("_add_step_by_step", sky_lookup, answer=0)
    compile_steps()
    sun_engine(tiny_yard).mean_light(POINT)
    assert len(kinds) == 2
    assert kinds[0] == kinds[1]


def test_search(tiny_yard, kinds_of):
    scanned, best = (kinds_of(name, footprint_sums) for name in ("scan_heading", "best_of_each"))
    compile_search()
    assert (len(scanned), len(best)) == (1, 1)
    find_places(tiny_yard, sun_maps(tiny_yard, sun_engine(tiny_yard)), length=2.0, width=1.0)
    assert len(scanned) > 1
    assert set(scanned) == {scanned[0]}
    assert len(best) > 1
    assert set(best) == {best[0]}
