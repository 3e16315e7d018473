"""Which features of a survey are drawn already, and which are new?

A crown is matched to the drawn tree with which it shares most area, or whose trunk stands in it. Drawn roofs are
measured within their outlines, drawn hedges and fences by the points on them. Each match, and each new feature,
becomes a proposal with its figures and their spreads. `files/survey/accepting.py` merges them.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from siteplan.heights.crowns import CrownFigures
from siteplan.heights.roofs import Roof
from siteplan.heights.survey_features import CELL, FoundTree, SurveyFeatures, roofs_over
from siteplan.land.features import Fence, Hedge, Tree
from siteplan.land.grid import Floats
from siteplan.land.proposals import Figure, Proposal, ProposedKind
from siteplan.land.site import Site

SHARED = 0.25  # intersection over union of two crowns, from which they are one tree
COVERED = 0.5  # share of a feature that lies on drawn ones of its kind, from which it is not new
BESIDE = 1.0  # m around a drawn hedge or fence
PATH = 6.0  # m of leaves for which transmittances are given, as in data/crowns.csv
LEAST_SHARE, MOST_SHARE = 0.02, 0.95  # range to which a crown's share of pulses is limited
HIGHEST_BASE = 0.8  # of a tree's height


@dataclass(frozen=True)
class Matched:
    """The proposals of a survey.

    Attributes
    ----------
    proposals : tuple of Proposal
        For drawn features first, then new features, nearest first.
    unseen : tuple of str
        Ids of drawn features that the survey does not show.
    """

    proposals: tuple[Proposal, ...]
    unseen: tuple[str, ...]


def match_features(survey: SurveyFeatures, site: Site, *, leafy: bool | None) -> Matched:
    """Return the proposals of a survey for a site.

    Parameters
    ----------
    survey : SurveyFeatures
    site : Site
    leafy : bool or None
        Whether trees were in leaf on the day of the flight; None if unknown.
    """
    buildings = [building for building in site.buildings if building.base == 0 and building.transmittance == 0]
    roofs = roofs_over([building.outline for building in buildings], survey.canopy, survey.returns)
    drawn: list[Proposal | None] = [
        None if roof is None else _roof_proposal(building.id, building.outline, roof, drawn=True)
        for building, roof in zip(buildings, roofs, strict=True)
    ]
    names = [building.id for building in buildings]
    pairs = _pairs(site.trees, survey.trees)
    for number, tree in enumerate(site.trees):
        names.append(tree.id)
        drawn.append(_drawn_tree(tree, pairs.get(number), survey, leafy=leafy))
    rows: tuple[Hedge | Fence, ...] = (*site.hedges, *site.fences)
    for row in rows:
        names.append(row.id)
        drawn.append(_drawn_row(row, survey))
    unseen = tuple(name for name, proposal in zip(names, drawn, strict=True) if proposal is None)
    of_drawn = [proposal for proposal in drawn if proposal is not None]
    return Matched((*of_drawn, *_new(survey, site, set(pairs.values()), leafy=leafy)), unseen)


def _new(survey: SurveyFeatures, site: Site, matched: set[int], *, leafy: bool | None) -> Iterator[Proposal]:
    """Yield proposals for features that are not drawn yet."""
    ids = _free_ids(site)
    drawn_crowns = shapely.union_all([tree.outline for tree in site.trees])
    barriers: tuple[Hedge | Fence, ...] = (*site.hedges, *site.fences)
    drawn_rows = shapely.union_all([_footprint(barrier).buffer(BESIDE) for barrier in barriers])
    plants = shapely.union_all([drawn_crowns, drawn_rows])
    for number, tree in enumerate(survey.trees):
        outline = tree.crown.outline
        if number not in matched and outline.intersection(plants).area < COVERED * outline.area:
            yield _tree_proposal(next(ids["tree"]), outline, tree, drawn=False, leafy=leafy)
    for building in survey.buildings:
        yield _roof_proposal(next(ids["building"]), building.outline, building.roof, drawn=False)
    for row in survey.rows:
        if row.line.intersection(drawn_rows).length < COVERED * row.line.length:
            across = Figure("width" if row.kind == "hedge" else "thickness", row.width)
            height = Figure("height", row.height, row.spread)
            yield Proposal(next(ids[row.kind]), row.kind, False, row.line, (height, across), row.points)


def _free_ids(site: Site) -> dict[ProposedKind, Iterator[str]]:
    """Return for each kind an endless supply of free ids."""
    used_ids = {feature.id for feature in site.features()}

    def free(kind: str) -> Iterator[str]:
        number = 0
        while True:
            number += 1
            if f"{kind}-{number}" not in used_ids:
                yield f"{kind}-{number}"

    kinds: tuple[ProposedKind, ...] = ("tree", "building", "hedge", "fence")
    return {kind: free(kind) for kind in kinds}


def _pairs(drawn: Sequence[Tree], surveyed: Sequence[FoundTree]) -> dict[int, int]:
    """Return the index of the found tree by that of the drawn one; each at most once, the largest overlap first."""
    if not drawn or not surveyed:
        return {}
    outlines = [found_tree.crown.outline for found_tree in surveyed]
    index = shapely.STRtree(outlines)
    matches = []
    for number, tree in enumerate(drawn):
        for candidate in index.query(tree.outline, predicate="intersects").tolist():
            shared_area = tree.outline.intersection(outlines[candidate]).area
            share = shared_area / (tree.outline.area + outlines[candidate].area - shared_area)
            inside = outlines[candidate].contains(tree.trunk) or tree.outline.contains(outlines[candidate].centroid)
            if not surveyed[candidate].crown.group and (share > SHARED or inside):
                matches.append((-share, number, candidate))
    pairs: dict[int, int] = {}
    for _, number, candidate in sorted(matches):
        if number not in pairs and candidate not in pairs.values():
            pairs[number] = candidate
    return pairs


def _drawn_tree(tree: Tree, number: int | None, survey: SurveyFeatures, *, leafy: bool | None) -> Proposal | None:
    """Return the figures of a drawn tree: from the crown matched to it, else from the points in its outline."""
    if number is not None:
        return _tree_proposal(tree.id, tree.outline, survey.trees[number], drawn=True, leafy=leafy)
    tops = _tops_within(tree.outline, survey.canopy.plant, survey)
    if not tops.size or tops.max() < 1.0:
        return None
    top = float(tops.max())
    height = Figure("height", top, max(0.5, 0.1 * top))
    return Proposal(tree.id, "tree", True, tree.outline, (height,), int(tops.size), trees=1)


def _drawn_row(row: Hedge | Fence, survey: SurveyFeatures) -> Proposal | None:
    """Return the height of a drawn hedge or fence, from the points on it that are higher than 0.3 m."""
    tops = _tops_within(_footprint(row).buffer(survey.grid.cell / 2), survey.canopy.plant, survey)
    tops = tops[(tops > 0.3) & (tops < 8.0)]
    if tops.size < 4:
        return None
    low, middle, high = np.quantile(tops, [0.5, 0.75, 0.9])
    figure = Figure("height", float(middle), max(0.15, float(high - low) / 2))
    kind: ProposedKind = "hedge" if isinstance(row, Hedge) else "fence"
    return Proposal(row.id, kind, True, _footprint(row), (figure,), int(tops.size))


def _footprint(row: Hedge | Fence) -> BaseGeometry:
    return row.outline if isinstance(row, Hedge) else row.footprint


def _tops_within(shape: BaseGeometry, heights: Floats, survey: SurveyFeatures) -> Floats:
    """Return the known heights of a map's cells within a shape. [m]"""
    window, inside = survey.grid.part(shape)
    heights_inside = heights[window][inside]
    return heights_inside[np.isfinite(heights_inside)]


def _tree_proposal(name: str, shape: BaseGeometry, tree: FoundTree, *, drawn: bool, leafy: bool | None) -> Proposal:
    figures = [Figure("height", tree.figures.height, tree.figures.height_spread)]
    base = tree.figures.base
    if base is not None:
        base = min(base, HIGHEST_BASE * tree.figures.height)
        figures.append(Figure("crown_base", base, min(tree.figures.base_spread, base)))
    figures += _transmittance_figures(tree.figures, leafy=leafy)
    if drawn:  # for a tree drawn as a point, which may have no crown yet
        figures.append(Figure("crown_diameter", 2 * math.sqrt(tree.crown.outline.area / math.pi), 2 * CELL))
    return Proposal(
        name,
        "tree",
        drawn,
        shape,
        tuple(figures),
        tree.figures.points,
        trees=tree.crown.tops,
        ground_share=tree.figures.ground_share,
        pulses=tree.figures.pulses,
    )


def _transmittance_figures(crown: CrownFigures, *, leafy: bool | None) -> Iterator[Figure]:
    """Yield a crown's transmittance in the season of the flight, for a path of `PATH` (Beer and Lambert)."""
    if crown.ground_share is None or leafy is None:
        return

    def limited(share: float) -> float:
        return min(max(share, LEAST_SHARE), MOST_SHARE)

    share, spread = limited(crown.ground_share), crown.ground_share_spread
    exponent = PATH / max(crown.depth, 0.5)
    low, middle, high = (limited(value) ** exponent for value in (share - spread, share, share + spread))
    if math.isfinite(middle) and middle > 0.001:
        key = "transmittance_leafy" if leafy else "transmittance_bare"
        yield Figure(key, middle, min((high - low) / 2, middle), "fraction")
        yield Figure("transmittance_path", PATH)


def _roof_proposal(name: str, shape: BaseGeometry, roof: Roof, *, drawn: bool) -> Proposal:
    figures = [Figure("height", roof.height, min(roof.spread, roof.height))]
    if roof.eaves is not None and roof.ridge_heading is not None:
        figures.append(Figure("eaves", roof.eaves, min(roof.spread, roof.eaves)))
        figures.append(Figure("ridge_heading", roof.ridge_heading, 0.0, "angle"))
    return Proposal(name, "building", drawn, shape, tuple(figures), roof.points)
