"""How long does a year of sun take, and how close is it? Run with `pytest -m bench tests/bench/test_bench_sun.py -s`."""

from __future__ import annotations

import subprocess
import sys
import time
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import trimesh
from shapely import Point

from siteplan.files.reader import read_site
from siteplan.land.grid import grid_over
from siteplan.land.outline import rectangle
from siteplan.sun.engine import SunEngine, sun_engine
from siteplan.sun.obstacles.prisms import Prism
from siteplan.sun.path.solar_path import sun_path
from siteplan.sun.sun_maps import cell_groups

pytestmark = pytest.mark.bench


def property_of(count, *, extent=30.0, seed=7):
    """Crowns, houses and fences in equal numbers on a square of twice the extent."""
    rng = np.random.default_rng(seed)
    prisms = []
    for n in range(count):
        x, y = rng.uniform(-extent, extent, 2)
        if n % 3 == 0:
            prisms.append(
                Prism(
                    outline=Point(x, y).buffer(rng.uniform(1.5, 4)).simplify(0.02),
                    bottom=rng.uniform(1, 3),
                    top=rng.uniform(4, 12),
                    owner=str(n),
                    part="crown",
                    transmittance_leafy=0.05,
                    transmittance_bare=0.45,
                    transmittance_path=6.0,
                    leaf_out=110,
                    leaf_fall=300,
                )
            )
            continue
        house = n % 3 == 1
        length, width = (rng.uniform(4, 12), rng.uniform(3, 8)) if house else (rng.uniform(6, 20), 0.1)
        outline = rectangle(x, y, length=length, width=width, heading=float(rng.uniform(0, 180)))
        top = rng.uniform(3, 8) if house else rng.uniform(1, 2.5)
        prisms.append(Prism(outline=outline, bottom=0, top=top, owner=str(n)))
    return tuple(prisms)


def cells_of(extent, cell):
    axis = np.arange(-extent, extent, cell) + cell / 2
    x, y = np.meshgrid(axis, axis)
    return np.column_stack([x.ravel(), y.ravel(), np.zeros(x.size)])


def engine_of(prisms, step=1 / 6):
    path = sun_path(40.0, -105.0, year=2026, timezone="America/Denver", step=step)
    season = np.zeros(365, dtype=bool)
    season[129:271] = True
    return SunEngine(path=path, prisms=prisms, season=season)


def seconds(act):
    start = time.perf_counter()
    act()
    return time.perf_counter() - start


def mesh_of(prisms):
    """Return prisms as the ray caster's mesh; it knows none that let light through."""
    return trimesh.util.concatenate(
        [
            trimesh.creation.extrude_polygon(p.outline, p.top - p.bottom).apply_translation((0, 0, p.bottom))
            for p in prisms
        ]
    )


def opaque(prisms):
    """Return prisms that let nothing through, though they were crowns."""
    bare = {"transmittance_leafy": 0.0, "transmittance_bare": 0.0, "leaf_out": None, "leaf_fall": None}
    return tuple(replace(prism, **bare) for prism in prisms)


def towards(path):
    """Return the direction towards each step's sun, shape (steps, 3)."""
    up, bearing = np.radians(path.elevation), np.radians(path.azimuth)
    return np.column_stack([np.cos(up) * np.sin(bearing), np.cos(up) * np.cos(bearing), np.sin(up)])


def unhit(mesh, path, points):
    """Return which points each step's ray leaves without a hit, shape (n, steps)."""
    free = np.empty((len(points), len(path.hours)), dtype=bool)
    for step, sun in enumerate(towards(path)):
        free[:, step] = ~mesh.ray.intersects_any(points, np.broadcast_to(sun, points.shape))
    return free


def on(path, days):
    """Return the steps of a path that lie on some days."""
    held = np.isin(path.day, days)
    arrays = ("azimuth", "elevation", "hours", "time", "clock", "day", "month")
    return replace(path, **{name: getattr(path, name)[held] for name in arrays})


def lit_steps(seen, path):
    """Return at how many steps of each day points are lit, shape (n, days)."""
    first = np.flatnonzero(np.diff(path.day, prepend=-1))
    return np.add.reduceat(seen, first, axis=1, dtype=int)


def cast(prisms, path, cells, share):
    """Return the seconds that the ray caster would take for every step, from a random share of them."""
    mesh, suns = mesh_of(prisms), towards(path)
    some = np.random.default_rng(1).choice(len(suns), int(share * len(suns)), replace=False)
    origins = cells + np.array([0, 0, 1e-3])
    mesh.ray.intersects_any(origins[:10], np.tile(suns[0], (10, 1)))
    with ThreadPoolExecutor(2) as pool:
        return (
            seconds(
                lambda: list(
                    pool.map(lambda s: mesh.ray.intersects_any(origins, np.tile(suns[s], (len(cells), 1))), some)
                )
            )
            / share
        )


def test_against_a_ray_caster():
    prisms, cells = property_of(36), cells_of(30.0, 0.25)
    engine = engine_of(prisms)
    engine.hours(cells[:100])
    ours = min(seconds(lambda: engine.hours(cells)) for _ in range(3))
    theirs = cast(prisms, engine.path, cells, 0.1)
    sys.stdout.write(f"\n{len(cells)} cells, {len(prisms)} prisms, {len(engine.path.hours)} steps:\n")
    sys.stdout.write(f"lookup {ours:.2f} s, ray caster {theirs:.0f} s, ratio {theirs / ours:.0f}\n")
    assert theirs / ours >= 100


def test_accuracy():
    engine = engine_of(property_of(36))
    points = np.random.default_rng(2).permutation(cells_of(30.0, 0.25))[:300]
    looked, exact = engine.hours(points), engine.exact_hours(points)
    off = looked.month_h - exact.month_h
    mean, high, bias = np.abs(off).mean(), np.percentile(np.abs(off), 99), np.abs(off.mean(axis=1)).max()
    sys.stdout.write(f"\nmean {mean:.4f} h, 99th percentile {high:.3f} h, bias by month {bias:.4f} h\n")
    assert mean <= 0.02
    assert high <= 0.12
    assert bias <= 0.01


def test_exact_rays_against_the_ray_caster():
    """4,000 cells on 24 days; all of them in tests/published/test_shade_property.py."""
    prisms, path = opaque(property_of(36)), on(engine_of(()).path, np.linspace(1, 365, 24).round())
    points = np.random.default_rng(3).permutation(cells_of(30.0, 0.25))[:4000] + np.array([0, 0, 1e-3])
    engine = SunEngine(path=path, prisms=prisms, season=np.ones(365, dtype=bool))
    ours, theirs = engine.exact_light(points) > 0.5, unhit(mesh_of(prisms), path, points)
    most = np.abs(lit_steps(ours, path) - lit_steps(theirs, path)).max()
    sys.stdout.write(
        f"\n{ours.size} rays, {(ours != theirs).sum()} differ; at most {most} steps of a day at a point\n"
    )
    assert most <= 1


def test_a_real_block(real_block):
    site = read_site(real_block)
    site = replace(site, sun=replace(site.sun, cell=0.25, step=1 / 6))
    engine = sun_engine(site)
    ground = list(cell_groups(site, grid_over(site.boundary, site.sun.cell)))[-1].points
    engine.hours(ground[:100])
    took = seconds(lambda: engine.hours(ground))
    some = np.random.default_rng(4).permutation(len(ground))[:200]
    off = engine.hours(ground).month_h[:, some] - engine.exact_hours(ground[some]).month_h
    mean, high, bias = np.abs(off).mean(), np.percentile(np.abs(off), 99), np.abs(off.mean(axis=1)).max()
    sys.stdout.write(f"\nDelft: {len(ground)} cells, {len(engine.prisms)} prisms on terrain: {took:.1f} s\n")
    sys.stdout.write(f"mean {mean:.4f} h, 99th percentile {high:.3f} h, bias by month {bias:.4f} h\n")
    assert mean <= 0.02
    assert high <= 0.12
    assert bias <= 0.015  # the exact test's own steps are 0.01 h too bright a day behind low ground


@pytest.mark.parametrize(("extent", "cell", "count"), [(50.0, 0.25, 500), (100.0, 0.5, 5000)])
def test_scale(extent, cell, count):
    cells = cells_of(extent, cell)
    engine = engine_of(property_of(count, extent=extent))
    engine.hours(cells[:100])
    sys.stdout.write(f"\n{len(cells)} cells, {count} prisms: {seconds(lambda: engine.hours(cells)):.1f} s\n")


def test_memory():
    """The peak of a process that does nothing but the allotment of 1 ha: 160,000 cells, 500 obstacles."""
    ask = (
        "import pathlib, test_bench_sun as bench;"
        "bench.engine_of(bench.property_of(500, extent=50.0)).hours(bench.cells_of(50.0, 0.25));"
        "print(next(line for line in pathlib.Path('/proc/self/status').open() if line.startswith('VmHWM')).split()[1])"
    )
    said = subprocess.run(
        [sys.executable, "-c", ask], check=True, cwd=Path(__file__).parent, capture_output=True, text=True
    )
    peak = int(said.stdout) / 1024**2  # GB, of Linux's kB
    sys.stdout.write(f"\n160000 cells, 500 prisms: peak {peak:.2f} GB\n")
    assert peak < 1


@pytest.mark.parametrize("step", [1 / 2, 1 / 6, 1 / 30])
def test_cost_does_not_grow_with_the_steps(step):
    engine, cells = engine_of(property_of(36), step), cells_of(30.0, 0.5)
    engine.hours(cells[:100])
    sys.stdout.write(f"\n{len(engine.path.hours)} steps: {seconds(lambda: engine.hours(cells)):.2f} s\n")


def work(engine, cells):
    """Return the seconds of processor time, of all threads together."""
    engine.hours(cells[:100])
    start = time.process_time()
    engine.hours(cells)
    return time.process_time() - start


def ring_of(count, nearest, seed=5):
    """Return round towers on a ring from `nearest` to twice as far."""
    rng = np.random.default_rng(seed)
    spots = [(rng.uniform(0, 2 * np.pi), nearest * rng.uniform(1.0, 2.0)) for _ in range(count)]
    return tuple(
        Prism(outline=Point(r * np.sin(a), r * np.cos(a)).buffer(3.0), bottom=0, top=5, owner=f"far {n}")
        for n, (a, r) in enumerate(spots)
    )


def test_growth():
    """Print how the cost grows; with far obstacles only until they fill the horizon."""
    rows = [("cells", n, engine_of(property_of(36)), cells_of(15.0, 30.0 / n)) for n in (30, 60, 120)]
    rows += [("near obstacles", n, engine_of(property_of(n)), cells_of(30.0, 0.5)) for n in (9, 36, 144)]
    rows += [
        ("far obstacles", n, engine_of(property_of(36) + ring_of(n, 150.0)), cells_of(30.0, 0.5))
        for n in (0, 1000, 4000)
    ]
    rows += [("steps", n, engine_of(property_of(36), 1 / n), cells_of(30.0, 0.5)) for n in (2, 6, 30)]
    sys.stdout.write("\nwhat grows        how many    cells    processor s\n")
    for what, count, engine, cells in rows:
        sys.stdout.write(f"{what:16} {count:9} {len(cells):8} {work(engine, cells):14.2f}\n")
