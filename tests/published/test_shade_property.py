"""Does an independent ray caster find the same hours on the property of the benchmark?

trimesh with embreex (Intel Embree), 36 opaque prisms on a 60 m square at 25 cm, steps of ten minutes.
"""

from __future__ import annotations

import runpy
from pathlib import Path

import numpy as np
import pytest

from siteplan.sun.engine import SunEngine

DAYS = np.linspace(1, 365, 24).round().astype(int)  # a fortnight apart, from New Year to New Year's Eve
BLOCK = 12_000  # cells; so that a block's steps of eight days fit into memory


@pytest.fixture(scope="module")
def bench():
    """Return what makes the property of the benchmark, so that it is the same one."""
    return runpy.run_path(str(Path(__file__).parents[1] / "bench" / "test_bench_sun.py"))


@pytest.fixture(scope="module")
def opaque(bench):
    """Return its prisms, let nothing through though they were crowns, and their mesh."""
    prisms = bench["opaque"](bench["property_of"](36))
    return prisms, bench["mesh_of"](prisms)


@pytest.fixture(scope="module")
def year(bench):
    return bench["engine_of"](()).path


def check(bench, prisms, mesh, path, points):
    """Check each point's lit steps on each day, and return the share of all steps that is lit."""
    engine = SunEngine(path=path, prisms=prisms, season=np.ones(len(path.day_month), dtype=bool))
    ours, theirs = engine.exact_light(points) > 0.5, bench["unhit"](mesh, path, points)
    differ = np.argwhere(ours != theirs)
    assert len(differ) < 1e-6 * ours.size
    for i, step in differ:
        assert grazes(engine, points[i], step), (points[i], path.day[step], path.azimuth[step])
    off = np.abs(np.subtract(*(bench["lit_steps"](seen, path) for seen in (ours, theirs))))
    assert off.shape == (len(points), len(np.unique(path.day)))
    # a step; on a day in a million two edges of different shadows fall within the caster's rounding
    assert (off > 1).sum() <= 1, np.argwhere(off > 1)
    return ours.mean()


def grazes(engine, point, step):
    """Return whether a ray passes an edge so closely that a point within 0.05 mm lies on the other side of it.

    The caster reckons in single precision: 2e-6 m at 30 m, and more along a ray.
    """
    aside = 5e-5 * np.vstack([np.eye(3), -np.eye(3)])
    seen = engine.exact_light(point + aside)[:, step] > 0.5
    return seen.any() and not seen.all()


def cells(bench):
    """Return the centres of all cells, a millimetre above the ground, where the caster's solids begin."""
    return bench["cells_of"](30.0, 0.25) + np.array([0.0, 0.0, 1e-3])


def test_three_thousand_cells_on_eight_days(bench, opaque, year):
    points = np.random.default_rng(11).permutation(cells(bench))[:3000]
    assert 0.2 < check(bench, *opaque, bench["on"](year, DAYS[::3]), points) < 0.8


@pytest.mark.slow
def test_every_cell_on_eight_days(bench, opaque, year):
    # of the 101 million rays of all 24 days the two saw 25 differently, each of them at an edge
    points, path = cells(bench), bench["on"](year, DAYS[1::3])
    assert len(points) == 57_600
    shares = [check(bench, *opaque, path, points[begin : begin + BLOCK]) for begin in range(0, len(points), BLOCK)]
    assert 0.2 < np.mean(shares) < 0.8


@pytest.mark.slow
def test_the_lookup_keeps_to_the_ray_caster_over_a_year(bench, opaque, year):
    prisms, mesh = opaque
    points = np.random.default_rng(12).permutation(cells(bench))[:300]
    engine = SunEngine(path=year, prisms=prisms, season=np.ones(365, dtype=bool))
    looked = engine.hours(points).month_h
    weights = np.zeros((len(year.hours), 12))
    weights[np.arange(len(year.hours)), year.month - 1] = year.hours / year.month_days[year.month - 1]
    off = looked - (bench["unhit"](mesh, year, points) @ weights).T
    # what is asked of the lookup against exact rays; the caster's own steps are out by half of ten minutes at each edge
    assert np.abs(off).mean() <= 0.02, np.abs(off).mean()
    assert np.percentile(np.abs(off), 99) <= 0.12, np.percentile(np.abs(off), 99)
    assert np.abs(off.mean(axis=1)).max() <= 0.01, off.mean(axis=1)
