"""What stands on the property and around it, by all the points of a survey?

Ground, cells, crowns, roofs and rows in their order, each with the points that tell it; what is too far off to take
sun is left out. It leaves out files, and what of it the gardener has drawn already: `siteplan.heights.matching`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.heights.buildings import find_outlines
from siteplan.heights.canopy import LOWEST_ROOF, LOWEST_TREE, Canopy, canopy
from siteplan.heights.cells import ByCell, cell_numbers, counted, highest
from siteplan.heights.crowns import CrownFigures, crown_figures
from siteplan.heights.ground import ground_by_filter, ground_surface
from siteplan.heights.lone import lone
from siteplan.heights.low_rows import LowRow, find_rows
from siteplan.heights.reach import reach_of
from siteplan.heights.roofs import Roof, roof_of
from siteplan.heights.trees import Crown, find_crowns
from siteplan.land.grid import Floats, Grid, grid_over
from siteplan.land.returns import GROUND, HIGH_NOISE, KEY_POINT, LOW_NOISE, NEVER, UNCLASSIFIED, Returns

Area = Polygon | MultiPolygon
Flags = NDArray[np.bool_]
Thing = TypeVar("Thing")

CELL = 0.5  # m
BESIDE = 1.0  # m around a building that is drawn, in which no other is found: eaves hang over, and lines are off
_OVERLAP = 12  # class of points where two strips of an older survey lie on each other; they may be anything
_UNTOLD = (NEVER, UNCLASSIFIED, LOW_NOISE, HIGH_NOISE, _OVERLAP)


@dataclass(frozen=True, eq=False)
class FoundTree:
    """A crown, or a group, with what its points say."""

    crown: Crown
    figures: CrownFigures


@dataclass(frozen=True, eq=False)
class FoundBuilding:
    """A building with its roof; `outline` is found."""

    outline: Polygon
    roof: Roof


@dataclass(frozen=True, eq=False)
class Found:
    """What a survey shows.

    Attributes
    ----------
    grid : Grid
    ground : ndarray, shape (rows, columns)
        Elevation. [m]
    seen : ndarray of bool, shape (rows, columns)
        Cells in which a point lies on the ground.
    canopy : Canopy
    returns : Returns
        Those that count.
    trees, buildings, rows : tuple
        Those that matter, nearest first.
    lone : int
        How many points hang alone in the air, or are noise by the survey's own word, and were left out.
    by_filter : bool
        Whether the ground was found by its shape, and not by the survey's own classes.
    """

    grid: Grid
    ground: Floats
    seen: Flags
    canopy: Canopy
    returns: Returns
    trees: tuple[FoundTree, ...]
    buildings: tuple[FoundBuilding, ...]
    rows: tuple[LowRow, ...]
    lone: int
    by_filter: bool


def is_classified(returns: Returns) -> bool:
    """Return whether a survey tells what its points are; not where all are unclassified, noise or overlap.

    Examples
    --------
    >>> def two(*kinds):
    ...     return Returns(*np.zeros((3, 2)), np.array(kinds, dtype=np.uint8), *np.ones((2, 2), dtype=bool))
    >>> is_classified(two(1, 7)), is_classified(two(1, 2))
    (False, True)
    """
    return not bool(np.isin(returns.kind, _UNTOLD).all())


def has_ground(returns: Returns) -> bool:
    """Return whether a survey calls any of its points ground."""
    return bool(np.isin(returns.kind, (GROUND, KEY_POINT)).any())


def ground_of(returns: Returns, *, by_filter: bool) -> Flags:
    """Return which points lie on the ground, by the survey's classes or by its shape, shape (points,)."""
    if by_filter:
        return ground_by_filter(returns)
    return np.isin(returns.kind, (GROUND, KEY_POINT))


def find(
    returns: Returns,
    *,
    boundary: Polygon,
    built: Sequence[Area],
    lowest: float,
    by_filter: bool,
    grown: Sequence[Area] = (),
) -> Found:
    """Return what a survey shows of a property and of what matters around it.

    Parameters
    ----------
    returns : Returns
        In the local frame.
    boundary : Polygon
        Of the property. [m]
    built : sequence of Polygon or MultiPolygon
        Outlines of the buildings that are drawn. [m]
    lowest : float
        Elevation of the lowest sun that counts. [degrees]
    by_filter : bool
        Whether the ground is found by its shape.
    grown : sequence of Polygon or MultiPolygon, optional
        Crowns and hedges that are drawn: no roof is found there, unless the survey says so. [m]

    Raises
    ------
    ValueError
        Where no point lies on the ground.
    """
    kept = ~(lone(returns) | np.isin(returns.kind, (LOW_NOISE, HIGH_NOISE)))
    sound = returns.subset(kept)
    on_ground = ground_of(sound, by_filter=by_filter) if len(sound) else np.zeros(0, dtype=bool)
    if not on_ground.any():
        raise ValueError("no point lies on the ground")
    grid = _grid(sound)
    below = sound.subset(on_ground)
    ground = ground_surface(grid, below)
    drawn = _cells_of(built, grid)
    stands = canopy(sound, on_ground, grid, ground, built=drawn, grown=_cells_of(grown, grid))
    roofs = np.isfinite(stands.roof) & (stands.roof > LOWEST_ROOF)
    crowns = find_crowns(stands.plant, grid, apart=roofs)
    near = _Near(boundary, grid, ground, lowest)
    outlines = find_outlines(
        stands.roof, grid, drawn=_cells_of([one.buffer(BESIDE, join_style="mitre") for one in built], grid)
    )
    trees = [FoundTree(*one) for one in zip(crowns, _figures(crowns, stands, sound, roofs), strict=True)]
    return Found(
        grid=grid,
        ground=ground,
        seen=counted(grid, below.x, below.y) > 0,
        canopy=stands,
        returns=sound,
        trees=tuple(near.sifted(trees, lambda one: (one.crown.outline, one.crown.top))),
        buildings=tuple(near.sifted(_roofed(outlines, stands, sound), lambda one: (one.outline, one.roof.height))),
        rows=tuple(near.sifted(_rows(stands, sound, crowns, roofs | drawn), lambda one: (one.line, one.height))),
        lone=int((~kept).sum()),
        by_filter=by_filter,
    )


def _grid(returns: Returns) -> Grid:
    ends = shapely.box(returns.x.min(), returns.y.min(), returns.x.max(), returns.y.max())
    return grid_over(ends.buffer(CELL / 4), CELL)


def _cells_of(shapes: Sequence[BaseGeometry], grid: Grid) -> Flags:
    cells = np.zeros(grid.shape, dtype=bool)
    for shape in shapes:
        where, inside = grid.part(shape)
        cells[where] |= inside
    return cells


class _Near:
    """What is near enough to take sun from the property."""

    def __init__(self, boundary: Polygon, grid: Grid, ground: Floats, lowest: float) -> None:
        self.boundary, self.grid, self.ground, self.lowest = boundary, grid, ground, lowest
        own = ground[grid.inside(boundary)]
        self.own = float(np.quantile(own, 0.1)) if own.size else float(np.median(ground))

    def sifted(self, things: Sequence[Thing], of: Callable[[Thing], tuple[BaseGeometry, float]]) -> list[Thing]:
        """Return those whose shadow can reach the property, nearest first."""
        kept: list[tuple[float, float, int, Thing]] = []
        for thing in things:
            shape, height = of(thing)
            away = shapely.distance(shape, self.boundary)
            if away <= reach_of(height + self._rise(shape), self.lowest):
                kept.append((away, -height, len(kept), thing))
        return [thing for _, _, _, thing in sorted(kept, key=lambda one: one[:3])]

    def _rise(self, shape: BaseGeometry) -> float:
        """Return how much higher than the property a thing stands. [m]"""
        row, column = self.grid.cell_of(shape.centroid.x, shape.centroid.y)
        row, column = min(max(row, 0), self.grid.rows - 1), min(max(column, 0), self.grid.columns - 1)
        return float(self.ground[row, column]) - self.own


def _figures(crowns: Sequence[Crown], stands: Canopy, returns: Returns, roofs: Flags) -> list[CrownFigures]:
    """Return the figures of all crowns, each by the points in its cells where no roof is."""
    owner = np.zeros(stands.grid.rows * stands.grid.columns, dtype=np.int32)
    for number, crown in enumerate(crowns, 1):
        owner[crown.cells] = number
    owner[roofs.ravel()] = 0
    whose = owner[cell_numbers(stands.grid, returns.x, returns.y)]
    order = np.argsort(whose, kind="stable")
    starts = np.searchsorted(whose[order], np.arange(1, len(crowns) + 2))
    canopy_height = np.where(np.isfinite(stands.plant), stands.plant, LOWEST_TREE).ravel()
    found, pulsed = [], bool(returns.several.any())
    for number, crown in enumerate(crowns):
        own = order[starts[number] : starts[number + 1]]
        found.append(
            crown_figures(
                stands.height[own],
                stands.of_plant[own],
                returns.last[own],
                top=crown.top,
                deep=canopy_height[crown.cells],
                pulsed=pulsed,
            )
        )
    return found


def _roofed(outlines: Sequence[Polygon], stands: Canopy, returns: Returns) -> list[FoundBuilding]:
    roofs = roofs_over(outlines, stands, returns)
    return [FoundBuilding(outline, roof) for outline, roof in zip(outlines, roofs, strict=True) if roof is not None]


def roofs_over(outlines: Sequence[Area], stands: Canopy, returns: Returns) -> list[Roof | None]:
    """Return the roof over each outline, None where too few points lie on it."""
    x, y, height = returns.x[stands.of_roof], returns.y[stands.of_roof], stands.height[stands.of_roof]
    points = ByCell(stands.grid, x, y)
    found = []
    for outline in outlines:
        near = points.within(outline.bounds)
        found.append(roof_of(outline, x[near], y[near], height[near]))
    return found


def _rows(stands: Canopy, returns: Returns, crowns: Sequence[Crown], built: Flags) -> list[LowRow]:
    grid = stands.grid
    taken = built.copy()
    for crown in crowns:
        taken.ravel()[crown.cells] = True
    low = stands.of_plant
    x, y, several = returns.x[low], returns.y[low], returns.several[low]
    return find_rows(
        highest(grid, x, y, stands.height[low]),
        counted(grid, x[several], y[several]).astype(float),
        counted(grid, x, y),
        grid,
        taken=taken,
    )
