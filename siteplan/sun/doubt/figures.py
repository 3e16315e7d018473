"""Which figures of a property are in doubt, and what stands where they are otherwise?

A figure is one property of a feature with a spread; where a feature lies is two, east and north. A drawn value comes
from a share of the cases, 0 to 1, which is handed in. It leaves out beds: they are built as they are planned.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import chain
from typing import Any

import numpy as np
from numpy.typing import NDArray
from shapely import affinity

from siteplan.land.features import Building, Fence, Hedge, MonthDay, Tree
from siteplan.land.site import Site
from siteplan.land.spread import Spread
from siteplan.sun.obstacles.prisms import Prism, feature_prisms, mean_width

Floats = NDArray[np.float64]

Doubtful = Building | Tree | Hedge | Fence
DARK = 1e-3  # leaves let through no less: the eye sees none of it, and its logarithm stays small
SLIVER = 0.05  # m; the least that stays between a lower and an upper end
LEAF_STEP = 5  # days; leaves come and go on every fifth day alone, so that all draws share one table of the sky
_LEAVES = ("transmittance_leafy", "transmittance_bare")
_DATES = ("leaf_out", "leaf_fall")


@dataclass(frozen=True, kw_only=True)
class Figure:
    """One figure in doubt: a triangular distribution, whose peak is the value that is given.

    Attributes
    ----------
    owner, kind : str
        Id of the feature, and what it is.
    name : str
        The property; ``position_east`` and ``position_north`` of where it lies.
    value : float
        As given: metres, shares, days of the year; 0 of a position, which is told by how far it is off.
    low, high : float
        Ends of the distribution, in the same unit.
    how : str
        As of `land.spread.Spread`.
    by_ratio : bool
        Whether the logarithm is distributed so: leaves weaken light by a power (Beer and Lambert).
    """

    owner: str
    kind: str
    name: str
    value: float
    low: float
    high: float
    how: str
    by_ratio: bool = False

    def drawn(self, share: Floats) -> Floats:
        """Return the values below which these shares of the cases lie, of any shape.

        Examples
        --------
        >>> height = Figure(owner="a", kind="tree", name="height", value=10.0, low=8.0, high=14.0, how="given")
        >>> height.drawn(np.array([0.0, 1 / 3, 1.0])).round(9).tolist()  # a third of the cases lies below the peak
        [8.0, 10.0, 14.0]
        """
        found = triangular(share, *self._ends)
        return np.exp(found) if self.by_ratio else found

    @property
    def share_below(self) -> float:
        """The share of the cases that lies below the value as given. [0 to 1]"""
        low, peak, high = self._ends
        return (peak - low) / (high - low) if high > low else 0.5

    @property
    def _ends(self) -> tuple[float, float, float]:
        ends = (self.low, self.value, self.high)
        low, peak, high = (math.log(max(end, DARK)) for end in ends) if self.by_ratio else ends
        return low, peak, high


def triangular(share: Floats, low: float, peak: float, high: float) -> Floats:
    """Return the quantiles of a triangular distribution.

    Examples
    --------
    >>> triangular(np.array([0.1, 0.5]), -1.0, 0.0, 1.0).round(3).tolist()  # the root of 0.2, less 1
    [-0.553, 0.0]
    >>> triangular(np.array([0.3]), 2.0, 2.0, 2.0).tolist()
    [2.0]
    """
    whole = high - low
    if whole <= 0:
        return np.full(np.shape(share), peak)
    rising = low + np.sqrt(share * whole * (peak - low))
    falling = high - np.sqrt((1 - share) * whole * (high - peak))
    return np.where(share * whole < peak - low, rising, falling)


def figures_of(site: Site, owners: frozenset[str] | None = None) -> tuple[Figure, ...]:
    """Return the figures in doubt, feature by feature; of some features alone where `owners` are given."""
    return tuple(
        figure
        for feature in doubtful_features(site)
        if owners is None or feature.id in owners
        for spread in feature.spreads
        for figure in _figures(feature, spread, site.sun.year)
    )


def doubtful_features(site: Site) -> chain[Doubtful]:
    """Return the features of a site whose figures may be in doubt."""
    return chain[Doubtful](site.buildings, site.trees, site.hedges, site.fences)


def _figures(feature: Doubtful, spread: Spread, year: int) -> list[Figure]:
    if spread.below + spread.above <= 0:
        return []
    names = ("position_east", "position_north") if spread.of == "position" else (spread.of,)
    value = _value(feature, spread.of, year)
    if value is None:
        return []
    leaves = spread.of in _LEAVES or (isinstance(feature, Hedge) and spread.of == "transmittance")
    return [
        Figure(
            owner=feature.id,
            kind=type(feature).__name__.lower(),
            name=name,
            value=value,
            low=value - spread.below,
            high=value + spread.above,
            how=spread.how,
            by_ratio=leaves,
        )
        for name in names
    ]


def _value(feature: Doubtful, name: str, year: int) -> float | None:
    """Return a figure as it is given; None where the feature has none."""
    if name == "position":
        return 0.0
    if name == "crown_diameter" and isinstance(feature, Tree):
        return mean_width(feature.outline)
    value: float | MonthDay | None = getattr(feature, name, None)
    return float(value.day_of_year(year)) if isinstance(value, MonthDay) else value


def standing_feature(site: Site, feature: Doubtful, values: Mapping[str, float]) -> tuple[Prism, ...]:
    """Return the prisms of a feature whose figures have other values, by their names.

    A lower end stays below its upper end. A feature that lies elsewhere stands at the height of its old ground, and
    takes its gates along.
    """
    changed = replace(feature, **_changes(feature, values), spreads=())
    prisms = tuple(feature_prisms(site, changed))
    if isinstance(feature, Tree):
        prisms = tuple(_in_leaf_from(prism, values) for prism in prisms)
    east, north = values.get("position_east", 0.0), values.get("position_north", 0.0)
    return tuple(_moved(prism, east, north) for prism in prisms) if east or north else prisms


def _changes(feature: Doubtful, values: Mapping[str, float]) -> dict[str, Any]:
    """Return the fields of a feature that become otherwise."""
    found: dict[str, Any] = {}
    for name, value in values.items():
        if hasattr(feature, name) and name not in _DATES:
            found[name] = min(max(value, 0.0), 1.0) if "transmittance" in name else value
    height = found.get("height", feature.height)
    for name in ("base", "crown_base"):
        if name in found:
            found[name] = min(max(found[name], 0.0), height - min(SLIVER, height / 2))
    for name in ("base", "crown_base"):
        if getattr(feature, name, 0.0) >= height and name not in found:
            found[name] = height - min(SLIVER, height / 2)
    if isinstance(feature, Building) and feature.eaves is not None:
        base = found.get("base", feature.base)
        found["eaves"] = min(max(found.get("eaves", feature.eaves), base), height)
    if isinstance(feature, Tree) and "crown_diameter" in values:
        ratio = max(values["crown_diameter"] / mean_width(feature.outline), SLIVER)
        found["outline"] = affinity.scale(feature.outline, ratio, ratio, origin=feature.trunk)
        if feature.transmittance_path is None:  # the share is that of the crown as it was seen
            found["transmittance_path"] = mean_width(feature.outline)
    return found


def _in_leaf_from(prism: Prism, values: Mapping[str, float]) -> Prism:
    """Return a prism whose leaves come and go on other days of the year."""
    if prism.leaf_out is None or prism.leaf_fall is None:
        return prism
    out, fall = (leaf_day(values[name]) if name in values else getattr(prism, name) for name in _DATES)
    return replace(prism, leaf_out=out, leaf_fall=fall)


def leaf_day(day: float) -> int:
    """Return the nearest of the days on which leaves come or go, 1 to 366."""
    return int(round((day - 1) / LEAF_STEP) * LEAF_STEP) % 365 + 1


def _moved(prism: Prism, east: float, north: float) -> Prism:
    """Return a prism elsewhere, its sloping top with it. [m]"""
    outline = affinity.translate(prism.outline, east, north)
    if prism.top_plane is None:
        return replace(prism, outline=outline)
    a, b, c = prism.top_plane
    return replace(prism, outline=outline, top_plane=(a, b, c - a * east - b * north))


def leaf_calendars(figures: Sequence[Figure], prisms: Sequence[Prism]) -> tuple[tuple[int, int], ...]:
    """Return calendars between whose first and last days all that is drawn, and all that stands, is alike."""
    starts, ends = set[int](), set[int]()
    for figure in figures:
        if figure.name in _DATES:
            days = {leaf_day(day) for day in np.arange(figure.low, figure.high + LEAF_STEP, LEAF_STEP)}
            (starts if figure.name == "leaf_out" else ends).update(days)
    drawn = {figure.owner for figure in figures if figure.name in _DATES}
    calendars = {(prism.leaf_out, prism.leaf_fall) for prism in prisms if prism.owner not in drawn}
    fixed = {(out, fall) for out, fall in calendars if out is not None and fall is not None}
    longer = max(len(starts), len(ends))
    pairs = zip(_filled(starts, longer), _filled(ends, longer), strict=True)
    return tuple(sorted({*fixed, *pairs}))


def _filled(days: set[int], count: int) -> list[int]:
    """Return days in order, the last of them repeated up to a count; day 1 where there are none."""
    held = sorted(days) or [1]
    return held + held[-1:] * (count - len(held))
