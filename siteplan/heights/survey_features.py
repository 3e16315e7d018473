"""Which trees, buildings and rows does a survey show on and around a property?

The steps in their order: ground, cells, crowns, roofs, rows. Features too far away to cast shade on the property are
left out. `matching.py` compares the result with the drawing.
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
from siteplan.heights.cells import PointIndex, cell_numbers, highest, point_counts
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
Feature = TypeVar("Feature")

CELL = 0.5  # m
BESIDE = 1.0  # m around a drawn building within which no other is found: eaves overhang, and lines are inexact
_OVERLAP = 12  # class of points where two strips of an older survey overlap; they may be anything
_NO_CLASS = (NEVER, UNCLASSIFIED, LOW_NOISE, HIGH_NOISE, _OVERLAP)


@dataclass(frozen=True, eq=False)
class FoundTree:
    """A crown or a group of trees, with its figures."""

    crown: Crown
    figures: CrownFigures


@dataclass(frozen=True, eq=False)
class FoundBuilding:
    """A building that the survey shows: its outline and its roof."""

    outline: Polygon
    roof: Roof


@dataclass(frozen=True, eq=False)
class SurveyFeatures:
    """The ground and the features that a survey shows.

    Attributes
    ----------
    grid : Grid
    ground : ndarray, shape (rows, columns)
        Elevation. [m]
    has_ground_points : ndarray of bool, shape (rows, columns)
        Cells in which a point lies on the ground.
    canopy : Canopy
    returns : Returns
        Without lone points and noise.
    trees, buildings, rows : tuple
        Those that can shade the property, nearest first.
    lone : int
        How many points were removed: alone in the air, or noise by the survey's classes.
    by_filter : bool
        Whether the ground was found by its shape, and not by the survey's own classes.
    """

    grid: Grid
    ground: Floats
    has_ground_points: Flags
    canopy: Canopy
    returns: Returns
    trees: tuple[FoundTree, ...]
    buildings: tuple[FoundBuilding, ...]
    rows: tuple[LowRow, ...]
    lone: int
    by_filter: bool


def is_classified(returns: Returns) -> bool:
    """Return whether a survey has classes: false if all points are unclassified, noise or overlap.

    Examples
    --------
    >>> def two(*kinds):
    ...     return Returns(*np.zeros((3, 2)), np.array(kinds, dtype=np.uint8), *np.ones((2, 2), dtype=bool))
    >>> is_classified(two(1, 7)), is_classified(two(1, 2))
    (False, True)
    """
    return not bool(np.isin(returns.kind, _NO_CLASS).all())


def has_ground(returns: Returns) -> bool:
    """Return whether any point has a class of ground."""
    return bool(np.isin(returns.kind, (GROUND, KEY_POINT)).any())


def ground_of(returns: Returns, *, by_filter: bool) -> Flags:
    """Return which points lie on the ground, by the ground filter or by the survey's classes, shape (points,)."""
    if by_filter:
        return ground_by_filter(returns)
    return np.isin(returns.kind, (GROUND, KEY_POINT))


def find_features(
    returns: Returns,
    *,
    boundary: Polygon,
    built: Sequence[Area],
    lowest: float,
    by_filter: bool,
    grown: Sequence[Area] = (),
) -> SurveyFeatures:
    """Return the features that a survey shows on and around a property.

    Parameters
    ----------
    returns : Returns
        In the local frame.
    boundary : Polygon
        Of the property. [m]
    built : sequence of Polygon or MultiPolygon
        Outlines of the drawn buildings. [m]
    lowest : float
        Elevation of the lowest sun that counts. [degrees]
    by_filter : bool
        Whether the ground is found by its shape.
    grown : sequence of Polygon or MultiPolygon, optional
        Drawn crowns and hedges: no roof is found there, unless the survey's classes say so. [m]

    Raises
    ------
    ValueError
        If no point lies on the ground.
    """
    noise = lone(returns) | np.isin(returns.kind, (LOW_NOISE, HIGH_NOISE))
    sound = returns.subset(~noise)
    on_ground = ground_of(sound, by_filter=by_filter) if len(sound) else np.zeros(0, dtype=bool)
    if not on_ground.any():
        raise ValueError("no point lies on the ground")
    grid = _grid(sound)
    ground_points = sound.subset(on_ground)
    ground = ground_surface(grid, ground_points)
    drawn = _cells_of(built, grid)
    tops = canopy(sound, on_ground, grid, ground, built=drawn, grown=_cells_of(grown, grid))
    roofs = np.isfinite(tops.roof) & (tops.roof > LOWEST_ROOF)
    trees = _trees(tops, sound, roofs)
    buildings = _buildings(tops, sound, built)
    rows = _rows(tops, sound, [tree.crown for tree in trees], roofs | drawn)
    reach = _ShadowReach(boundary, grid, ground, lowest)
    return SurveyFeatures(
        grid=grid,
        ground=ground,
        has_ground_points=point_counts(grid, ground_points.x, ground_points.y) > 0,
        canopy=tops,
        returns=sound,
        trees=tuple(reach.filtered(trees, lambda tree: (tree.crown.outline, tree.crown.top))),
        buildings=tuple(reach.filtered(buildings, lambda building: (building.outline, building.roof.height))),
        rows=tuple(reach.filtered(rows, lambda row: (row.line, row.height))),
        lone=int(noise.sum()),
        by_filter=by_filter,
    )


def _grid(returns: Returns) -> Grid:
    ends = shapely.box(returns.x.min(), returns.y.min(), returns.x.max(), returns.y.max())
    return grid_over(ends.buffer(CELL / 4), CELL)


def _cells_of(shapes: Sequence[BaseGeometry], grid: Grid) -> Flags:
    cells = np.zeros(grid.shape, dtype=bool)
    for shape in shapes:
        window, inside = grid.part(shape)
        cells[window] |= inside
    return cells


class _ShadowReach:
    """Chooses the features near enough to cast shade on the property."""

    def __init__(self, boundary: Polygon, grid: Grid, ground: Floats, lowest: float) -> None:
        self.boundary, self.grid, self.ground, self.lowest = boundary, grid, ground, lowest
        inside = ground[grid.inside(boundary)]
        self.property_level = float(np.quantile(inside, 0.1)) if inside.size else float(np.median(ground))

    def filtered(
        self, features: Sequence[Feature], shape_and_height: Callable[[Feature], tuple[BaseGeometry, float]]
    ) -> list[Feature]:
        """Return the features whose shadow can reach the property, nearest first, then highest first."""
        in_reach: list[tuple[float, float, Feature]] = []
        for feature in features:
            shape, height = shape_and_height(feature)
            distance = shapely.distance(shape, self.boundary)
            if distance <= reach_of(height + self._rise(shape), self.lowest):
                in_reach.append((distance, -height, feature))
        return [feature for _, _, feature in sorted(in_reach, key=lambda entry: entry[:2])]

    def _rise(self, shape: BaseGeometry) -> float:
        """Return how much higher than the property the ground below a feature lies. [m]"""
        row, column = self.grid.cell_of(shape.centroid.x, shape.centroid.y)
        return float(self.ground[row, column]) - self.property_level


def _trees(tops: Canopy, returns: Returns, roofs: Flags) -> list[FoundTree]:
    crowns = find_crowns(tops.plant, tops.grid, roofs=roofs)
    figures = _figures(crowns, tops, returns, roofs)
    return [FoundTree(crown, figures_of_crown) for crown, figures_of_crown in zip(crowns, figures, strict=True)]


def _figures(crowns: Sequence[Crown], tops: Canopy, returns: Returns, roofs: Flags) -> list[CrownFigures]:
    """Return the figures of all crowns, each from the points in its cells, except cells with roofs."""
    owner = np.zeros(tops.grid.rows * tops.grid.columns, dtype=np.int32)
    for number, crown in enumerate(crowns, 1):
        owner[crown.cells] = number
    owner[roofs.ravel()] = 0
    crown_of_point = owner[cell_numbers(tops.grid, returns.x, returns.y)]
    order = np.argsort(crown_of_point, kind="stable")
    starts = np.searchsorted(crown_of_point[order], np.arange(1, len(crowns) + 2))
    canopy_height = np.where(np.isfinite(tops.plant), tops.plant, LOWEST_TREE).ravel()
    figures, has_pulses = [], bool(returns.several.any())
    for number, crown in enumerate(crowns):
        in_crown = order[starts[number] : starts[number + 1]]
        figures.append(
            crown_figures(
                tops.height[in_crown],
                tops.of_plant[in_crown],
                returns.last[in_crown],
                top=crown.top,
                canopy_heights=canopy_height[crown.cells],
                pulsed=has_pulses,
            )
        )
    return figures


def _buildings(tops: Canopy, returns: Returns, built: Sequence[Area]) -> list[FoundBuilding]:
    with_eaves = [outline.buffer(BESIDE, join_style="mitre") for outline in built]
    outlines = find_outlines(tops.roof, tops.grid, drawn=_cells_of(with_eaves, tops.grid))
    roofs = roofs_over(outlines, tops, returns)
    return [FoundBuilding(outline, roof) for outline, roof in zip(outlines, roofs, strict=True) if roof is not None]


def roofs_over(outlines: Sequence[Area], tops: Canopy, returns: Returns) -> list[Roof | None]:
    """Return the roof over each outline, None if it has too few points."""
    x, y, height = returns.x[tops.of_roof], returns.y[tops.of_roof], tops.height[tops.of_roof]
    points = PointIndex(tops.grid, x, y)
    roofs = []
    for outline in outlines:
        nearby = points.within(outline.bounds)
        roofs.append(roof_of(outline, x[nearby], y[nearby], height[nearby]))
    return roofs


def _rows(tops: Canopy, returns: Returns, crowns: Sequence[Crown], built: Flags) -> list[LowRow]:
    grid = tops.grid
    occupied = built.copy()
    for crown in crowns:
        occupied.ravel()[crown.cells] = True
    low = tops.of_plant
    x, y, several = returns.x[low], returns.y[low], returns.several[low]
    return find_rows(
        highest(grid, x, y, tops.height[low]),
        point_counts(grid, x[several], y[several]).astype(float),
        point_counts(grid, x, y),
        grid,
        occupied=occupied,
    )
