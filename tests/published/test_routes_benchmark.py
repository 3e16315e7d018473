"""Routes on the benchmark maps of Sturtevant 2012, "Benchmarks for grid-based pathfinding", IEEE TCIAIG 4(2), ODC-BY.

Each scenario states the length of the shortest way by moves to eight neighbours, a diagonal only where both cells
beside it are free: a barrow does not cut corners either.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest

from siteplan.haul.ground.cost_field import CostField
from siteplan.haul.routes.grid_moves import octile_moves
from siteplan.haul.routes.router import Router
from siteplan.land.grid import Grid

PRINTED = 1e-3  # the scenario files print lengths with five to eight decimals; sums of single-precision moves differ


@dataclass(frozen=True)
class Scenario:
    start: tuple[int, int]
    goal: tuple[int, int]
    length: float


def read_map(path: Path) -> CostField:
    lines = path.read_text(encoding="ascii").splitlines()[4:]
    free = np.array([[sign in ".G" for sign in line] for line in lines])
    time = np.where(free, 1.0, np.inf)
    flat = np.zeros(free.shape)
    rows, columns = free.shape
    return CostField(Grid(0, rows, 1, rows, columns), time, time, flat, flat, flat, max_grade=1.0)


def read_scenarios(path: Path) -> list[Scenario]:
    found = []
    for line in path.read_text(encoding="ascii").splitlines()[1:]:
        words = line.split()
        x0, y0, x1, y1 = (int(word) for word in words[4:8])
        found.append(Scenario((y0, x0), (y1, x1), float(words[8])))
    return found


def check(folder: Path, name: str, every: int) -> int:
    ground = read_map(folder / "routing" / f"{name}.map")
    scenarios = read_scenarios(folder / "routing" / f"{name}.map.scen")[::every]
    octile, taut = Router(ground, moves=octile_moves()), Router(ground)
    wrong, longer = [], []
    for item in scenarios:
        start = np.array([item.start])
        length = octile.least_times(start, loaded=True).seconds[item.goal]
        if abs(length - item.length) > PRINTED:
            wrong.append((item, length))
        line, seconds = taut.quickest_line(taut.least_times(start, loaded=True), item.goal)
        straight = np.hypot(*np.subtract(item.goal, item.start))
        if not straight - 1e-6 <= line.length <= item.length + PRINTED or abs(seconds - line.length) > 1e-6:
            longer.append((item, line.length))
    assert not wrong
    assert not longer
    return len(scenarios)


@pytest.mark.parametrize(("name", "every"), [("arena", 8), ("lak104d", 8), ("Berlin_0_256", 62)])
def test_a_sample_of_scenarios(shared, name, every):
    assert check(shared, name, every) >= 15


@pytest.mark.slow
@pytest.mark.parametrize(("name", "every"), [("arena", 1), ("lak104d", 1), ("Berlin_0_256", 6)])
def test_most_scenarios(shared, name, every):
    assert check(shared, name, every) >= 130
