"""Routes on the benchmark maps of Sturtevant 2012 against the exact shortest way at any angle: the visibility graph.

A shortest way among barred cells turns only at their corners that jut out (Lozano-Perez and Wesley 1979, An algorithm
for planning collision-free paths among polyhedral obstacles, CACM 22:560-570). Shapely tells which corners see each
other, scipy the shortest way between them. A stretch of a shortest way touches the corner at either end, so that it
goes on beside the barred cell there and not out of the free quarter opposite: other stretches need not be looked at.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest
import shapely
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import dijkstra

from siteplan.haul.routes.router import Router

from .test_routes_benchmark import Scenario, read_map, read_scenarios

MAPS = ("arena", "lak104d", "Berlin_0_256")
EDGE = 1e-6  # cells by which barred cells are grown, so that two that touch at a corner leave no gap
LONGEST, MEAN = 0.01, 0.002  # shares by which a route may be longer than the shortest: one of them, and on average
STATED, STATED_MEAN = 0.0006, 0.0001  # what Router says of them


@dataclass(frozen=True)
class VisibilityGraph:
    solid: shapely.Geometry
    nodes: np.ndarray
    falls: np.ndarray  # whether a line that touches a corner falls to the east (1) or rises (-1)
    lines: csr_matrix

    @classmethod
    def of(cls, free: np.ndarray) -> VisibilityGraph:
        barred = np.pad(~free, 1, constant_values=True)
        rows, columns = np.nonzero(barred)
        cells = shapely.box(columns - 1, rows - 1, columns, rows)
        solid = shapely.union_all(cells).buffer(EDGE, join_style="mitre")
        shapely.prepare(solid)
        nodes, falls = [], []
        for row, column in np.ndindex(barred.shape[0] - 1, barred.shape[1] - 1):
            window = barred[row : row + 2, column : column + 2]
            if window.sum() == 1:
                south, east = np.argwhere(window)[0]
                nodes.append((column - 2 * EDGE * (2 * east - 1), row - 2 * EDGE * (2 * south - 1)))
                falls.append(1 if south == east else -1)
        i, j = np.triu_indices(len(nodes), 1)
        points, falling = np.array(nodes), np.array(falls)
        touch = touches(points[i] - points[j], falling[i]) & touches(points[i] - points[j], falling[j])
        i, j = i[touch], j[touch]
        seen = clear(solid, points[i], points[j])
        i, j = i[seen], j[seen]
        lengths = np.hypot(*(points[i] - points[j]).T)
        return cls(solid, points, falling, csr_matrix((lengths, (i, j)), shape=(len(nodes) + 2, len(nodes) + 2)))

    def shortest(self, item: Scenario) -> float:
        a, b = (np.array([cell[1] + 0.5, cell[0] + 0.5]) for cell in (item.start, item.goal))
        if clear(self.solid, a[None], b[None])[0]:
            return float(np.hypot(*(a - b)))
        ends = self.lines.tolil()
        for place, end in enumerate((a, b), start=len(self.nodes)):
            near = np.flatnonzero(touches(self.nodes - end, self.falls))
            seen = near[clear(self.solid, np.broadcast_to(end, (len(near), 2)), self.nodes[near])]
            ends[place, seen] = np.hypot(*(self.nodes[seen] - end).T)
        return float(dijkstra(ends.tocsr(), directed=False, indices=len(self.nodes))[len(self.nodes) + 1])


def touches(along, falls):
    """Return which lines touch the corner at their end: they fall or rise as it wants, or run along a side of it."""
    return along[:, 0] * along[:, 1] * falls < 0.1  # corners lie in whole cells, ends in halves


def clear(solid, a, b):
    lines = (
        shapely.linestrings(np.stack([a[k : k + 100_000], b[k : k + 100_000]], axis=1))
        for k in range(0, len(a), 100_000)
    )
    return np.concatenate([~shapely.intersects(solid, part) for part in lines])


def longer(folder, name, count):
    """Return by which share each of some ways, evenly chosen, is longer than the shortest."""
    ground = read_map(folder / "routing" / f"{name}.map")
    scenarios = [item for item in read_scenarios(folder / "routing" / f"{name}.map.scen") if item.length > 0]
    chosen = [scenarios[k] for k in np.linspace(0, len(scenarios) - 1, count).astype(int)]
    graph, router = VisibilityGraph.of(np.isfinite(ground.loaded)), Router(ground)
    found = []
    for item in chosen:
        line, _ = router.quickest_line(router.least_times(np.array([item.start]), loaded=True), item.goal)
        found.append(line.length / graph.shortest(item) - 1)
    return np.array(found)


@pytest.mark.parametrize("name", ["arena", "lak104d"])
def test_a_sample_keeps_to_the_visibility_graph(shared, name):
    over = longer(shared, name, 15)
    # no way is shorter than the shortest, but for the millionths by which barred cells are grown
    assert over.min() >= -1e-5
    assert over.max() <= LONGEST
    assert over.mean() <= MEAN


@pytest.mark.slow
@pytest.mark.parametrize("name", MAPS)
def test_sixty_ways_keep_to_the_visibility_graph(shared, name):
    over = longer(shared, name, 60)
    assert over.min() >= -1e-5
    assert over.max() <= STATED < LONGEST
    assert over.mean() <= STATED_MEAN < MEAN
