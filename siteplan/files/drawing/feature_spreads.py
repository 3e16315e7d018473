"""How far off may the figures of a drawn feature be?

By the spread given beside a figure; else by how the figures were measured (data/spreads.csv); for the transmittance
of a crown given by its density, by data/crowns.csv. Beds have no spreads: they are built as they are drawn.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any

from siteplan.files.constant_tables import read_crowns, read_spreads
from siteplan.land.constants import UsualSpread
from siteplan.land.features import Hedge, Tree
from siteplan.land.spread import Measured, Spread

_HEIGHTS = ("height", "base", "eaves", "crown_base")
_SCREEN = "transmittance"
_LEAVES = ("transmittance_leafy", "transmittance_bare")
_BARE = ("transmittance_bare", "leaf_out", "leaf_fall")


def with_spreads(feature: Any, values: Mapping[str, Any], spreads: Mapping[str, float]) -> Any:
    """Return a feature with the spreads of its figures; a kind without spreads is returned unchanged.

    Parameters
    ----------
    feature : record
    values : mapping
        Its values in the file, by key, in the kernels' units.
    spreads : mapping of str to float
        The spreads in the file, each way, by key.
    """
    if not isinstance(feature, Measured):
        return feature
    usual = read_spreads()[feature.measured]
    by_figure = {spread.of: spread for spread in _usual(feature, values, usual)}
    by_figure |= {
        key: Spread(of=key, below=size, above=size) for key, size in spreads.items() if key != "crown_radius"
    }
    if "crown_radius" in spreads:
        size = 2 * spreads["crown_radius"]
        by_figure["crown_diameter"] = Spread(of="crown_diameter", below=size, above=size)
    if feature.position_spread is not None:
        size = feature.position_spread
        by_figure["position"] = Spread(of="position", below=size, above=size)
    if isinstance(feature, Tree) and feature.foliage == "evergreen":
        by_figure = {key: spread for key, spread in by_figure.items() if key not in _BARE}
    return replace(feature, spreads=tuple(spread for spread in by_figure.values() if spread.below or spread.above))


def _usual(feature: Any, values: Mapping[str, Any], usual: UsualSpread) -> Iterator[Spread]:
    """Yield the spread of each figure by the way it was measured."""
    how, share = feature.measured, usual.tree if isinstance(feature, Tree) else usual.built
    for key in _HEIGHTS:
        if height := getattr(feature, key, None):
            size = min(max(share * height, usual.least), height)
            yield Spread(of=key, below=size, above=size, how=how)
    yield Spread(of="position", below=usual.position, above=usual.position, how=how)
    if isinstance(feature, Tree):
        yield from _of_crown(feature, values, usual)
    elif through := feature.transmittance:
        if isinstance(feature, Hedge):
            yield _of_leaves(feature, _SCREEN, usual)
        else:
            above = min(usual.share, 1 - through)
            yield Spread(of=_SCREEN, below=min(usual.share, through), above=above, how=how)


def _of_crown(tree: Tree, values: Mapping[str, Any], usual: UsualSpread) -> Iterator[Spread]:
    """Yield the spreads of a crown's width, of its transmittances, and of its leaf dates."""
    how = tree.measured
    width = tree.outline.convex_hull.length / math.pi  # mean width over all directions (Cauchy's formula)
    size = min(max(usual.width * width, usual.least), width)
    yield Spread(of="crown_diameter", below=size, above=size, how=how)
    shares_given = any(key in values for key in _LEAVES)
    crown = read_crowns()[tree.foliage, values.get("crown_density", "medium")]
    leafy, bare = (crown.leafy_least, crown.leafy_most), (crown.bare_least, crown.bare_most)
    for key, (low, high) in zip(_LEAVES, (leafy, bare), strict=True):
        through = getattr(tree, key)
        if shares_given:
            yield _of_leaves(tree, key, usual)
        else:
            yield Spread(of=key, below=through - low, above=high - through, how="crowns")
    for key in ("leaf_out", "leaf_fall"):
        yield Spread(of=key, below=usual.leaf_days, above=usual.leaf_days, how=how)


def _of_leaves(feature: Any, key: str, usual: UsualSpread) -> Spread:
    """Return the spread of leaves' transmittance: divided and multiplied by the factor `usual.leaves`."""
    through = getattr(feature, key)
    above = min(through * usual.leaves, 1.0) - through
    return Spread(of=key, below=through - through / usual.leaves, above=above, how=feature.measured)
