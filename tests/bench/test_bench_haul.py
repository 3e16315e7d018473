# ruff: noqa: T201  # a benchmark prints its table
"""How long do the routes of a large allotment take, how does that grow, and how far is a peer's path from ours?

Run with ``pytest -m bench tests/bench/test_bench_haul.py -s``. Seeded; the peer runs in the same process.
"""

from __future__ import annotations

import dataclasses
import time

import numpy as np
import pytest
from shapely import Point, box

from siteplan.haul.ground.cost_field import cost_field
from siteplan.haul.ground.standing_places import at_pile
from siteplan.haul.routes.bed_routes import RouteFinder
from siteplan.land.features import Bed, Pile, Surface
from siteplan.land.grid import Grid, grid_over
from siteplan.land.outline import rectangle
from siteplan.land.site import Site
from siteplan.land.terrain import Terrain

pytestmark = pytest.mark.bench


def allotment(yard: Site, *, side: float, beds: int, piles: int, hilly: bool) -> Site:
    """Return rows of beds of 1.2 m by 2.4 m, turned a little, with lanes of grass and soil, on a level or a slope."""
    chance = np.random.default_rng(20260510)
    across = int(np.ceil(np.sqrt(beds)))
    step = side / (across + 1)
    plots = tuple(
        Bed(
            id=f"bed {k}",
            outline=rectangle(
                *(step * (1 + k % across) - side / 2 + chance.uniform(-0.3, 0.3),
                  step * (1 + k // across) - side / 2 + chance.uniform(-0.3, 0.3)),
                length=2.4, width=1.2, heading=float(chance.uniform(0, 180)),
            ),
            height=0.45,
        )
        for k in range(beds)
    )  # fmt: skip
    corners = chance.uniform(-side / 2 + 1, side / 2 - 1, (400, 2))
    open_ground = [p for p in corners if min(bed.outline.distance(Point(p)) for bed in plots) > 0.7]
    heaps = tuple(Pile(id=f"pile {k}", shape=Point(open_ground[k])) for k in range(piles))
    grid = grid_over(box(-side / 2 - 5, -side / 2 - 5, side / 2 + 5, side / 2 + 5), 1.0)
    x, y = np.meshgrid(grid.x, grid.y)
    terrain = Terrain(grid, 0.02 * x + 0.8 * np.sin(y / 15)) if hilly else None
    lanes = tuple(
        Surface(id=f"lane {k}", outline=box(-side / 2, y0, side / 2, y0 + 1.5), surface="soil")
        for k, y0 in enumerate(np.linspace(-side / 2 + 2, side / 2 - 4, 6))
    )
    return dataclasses.replace(
        yard, boundary=box(-side / 2, -side / 2, side / 2, side / 2), beds=plots, piles=heaps, surfaces=lanes,
        terrain=terrain, buildings=(), fences=(), gates=(), trees=(), taps=(), stock=(),
    )  # fmt: skip


def all_routes(site: Site, cell: float) -> tuple[int, dict[str, float]]:
    """Return how many routes there are from every pile to every bed, and the seconds of each stage."""
    clock = [time.perf_counter()]
    finder = RouteFinder(site, grid=grid_over(site.boundary, cell))
    clock.append(time.perf_counter())
    sources = finder.sources({pile.id: at_pile(finder.ground, pile) for pile in site.piles})
    clock.append(time.perf_counter())
    found = finder.routes([(source, bed) for source in sources.values() for bed in site.beds])
    clock.append(time.perf_counter())
    stages = dict(zip(("ground", "fields", "routes"), np.diff(clock), strict=True))
    return sum(route is not None for route in found), stages


@pytest.mark.parametrize("hilly", [False, True])
def test_one_hectare_with_sixty_beds_and_six_piles_takes_under_five_seconds(tiny_yard, hilly):
    all_routes(allotment(tiny_yard, side=20, beds=4, piles=1, hilly=hilly), 0.5)  # compiles
    site = allotment(tiny_yard, side=100, beds=60, piles=6, hilly=hilly)
    start, worked = time.perf_counter(), time.process_time()
    count, stages = all_routes(site, 0.25)
    taken, worked = time.perf_counter() - start, time.process_time() - worked
    print(
        f"\n{'hilly' if hilly else 'level'}: {count} routes in {taken:.2f} s, {worked:.2f} s of all cores,", end=" "
    )
    print({stage: round(float(seconds), 2) for stage, seconds in stages.items()})
    assert count == 360
    assert min(taken, worked) < 5.0  # s, the target for two cores; on a busy machine the cores' own time counts


def test_growth_with_cells_and_beds(tiny_yard):
    all_routes(allotment(tiny_yard, side=20, beds=4, piles=1, hilly=True), 0.5)
    print("\nside_m  cell_m   cells  beds piles  ground_s fields_s routes_s")
    for side, cell, beds, piles in (
        (25, 0.25, 15, 2), (50, 0.25, 15, 2), (100, 0.25, 15, 2), (100, 0.25, 60, 2), (100, 0.25, 60, 6),
        (100, 0.5, 60, 6), (200, 0.5, 60, 6),
    ):  # fmt: skip
        site = allotment(tiny_yard, side=side, beds=beds, piles=piles, hilly=True)
        count, stages = all_routes(site, cell)
        assert count == beds * piles
        times = "  ".join(f"{seconds:7.3f}" for seconds in stages.values())
        print(f"{side:6d} {cell:7.2f} {round(side / cell) ** 2:7d} {beds:5d} {piles:5d}  {times}")


def test_the_ratio_to_a_grid_path_that_cuts_corners(tiny_yard):
    peer = pytest.importorskip("skimage.graph")
    site = allotment(tiny_yard, side=100, beds=60, piles=1, hilly=False)
    finder = RouteFinder(site, grid=grid_over(site.boundary, 0.25))
    ground = cost_field(site, finder.ground.grid)
    source = finder.source("pile 0", at_pile(finder.ground, site.piles[0]))
    start = time.perf_counter()
    field = peer.MCP_Geometric(np.where(np.isfinite(ground.loaded), ground.loaded, -1) * _cell(ground.grid))
    costs, _ = field.find_costs([tuple(int(value) for value in source.cells[0])])
    theirs = time.perf_counter() - start
    fresh = RouteFinder(site, grid=grid_over(site.boundary, 0.25)).router  # `finder` has kept this field
    start = time.perf_counter()
    fresh.prepare()  # once for all fields; the peer has no slopes and no walls to look at
    moves = time.perf_counter() - start
    fresh.least_times(source.cells, loaded=True)
    ours = time.perf_counter() - start - moves
    ratios = []
    for bed in site.beds:
        route = finder.route(source, bed)
        at = ground.grid.cell_of(*route.line.coords[-1])
        ratios.append(route.loaded_s / costs[at])
    print(
        f"\nmoves {moves:.3f} s, field: ours {ours:.3f} s, peer {theirs:.3f} s; time of our routes over the peer's:",
        end=" ",
    )
    print(f"mean {np.mean(ratios):.4f}, least {np.min(ratios):.4f}, most {np.max(ratios):.4f}")
    assert np.max(ratios) < 1.01  # any angle beats eight directions, even though those may cut corners


def _cell(grid: Grid) -> float:
    return grid.cell
