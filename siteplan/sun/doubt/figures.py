"""Which figures of a property are uncertain, and which prisms does a feature have with other values of them?

A figure is one property of a feature that has a spread; a position makes two figures, east and north. Its value in a
draw is a quantile of its distribution, for a share from 0 to 1 that the caller hands in. Beds have no uncertain
figures: they are built as they are planned.
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
from siteplan.land.outline import mean_width
from siteplan.land.site import Site
from siteplan.land.spread import Spread
from siteplan.sun.obstacles.prisms import Prism, feature_prisms

Floats = NDArray[np.float64]

UncertainFeature = Building | Tree | Hedge | Fence
DARK = 1e-3  # least transmittance of leaves: as good as dark, and its logarithm stays small
SLIVER = 0.05  # m; least distance kept between a lower and an upper end
LEAF_STEP = 5  # days; leaf dates are rounded to every fifth day, so that all draws can share one table of the sky
_LEAVES = ("transmittance_leafy", "transmittance_bare")
_DATES = ("leaf_out", "leaf_fall")


@dataclass(frozen=True, kw_only=True)
class Figure:
    """One uncertain figure: a triangular distribution whose peak is the given value.

    Attributes
    ----------
    owner, kind : str
        Id of the feature, and what it is.
    name : str
        The property; ``position_east`` and ``position_north`` of where it lies.
    value : float
        As given, in metres, shares or days of the year; 0 for a position, whose figure is its error.
    low, high : float
        Ends of the distribution, in the same unit.
    how : str
        How the spread came about, as in `land.spread.Spread`.
    by_ratio : bool
        Whether the logarithm has the triangular distribution: so for transmittances of leaves, whose effect is a
        power (Beer and Lambert).
    """

    owner: str
    kind: str
    name: str
    value: float
    low: float
    high: float
    how: str
    by_ratio: bool = False

    def quantile(self, share: Floats) -> Floats:
        """Return the quantiles of these shares, in their shape.

        Examples
        --------
        >>> height = Figure(owner="a", kind="tree", name="height", value=10.0, low=8.0, high=14.0, how="given")
        >>> height.quantile(np.array([0.0, 1 / 3, 1.0])).round(9).tolist()  # a third of the cases lies below the peak
        [8.0, 10.0, 14.0]
        """
        quantile = triangular(share, *self._ends)
        return np.exp(quantile) if self.by_ratio else quantile

    @property
    def share_below(self) -> float:
        """Share of the distribution that lies below the given value. [0 to 1]"""
        low, peak, high = self._ends
        return (peak - low) / (high - low) if high > low else 0.5

    @property
    def _ends(self) -> tuple[float, float, float]:
        ends = (self.low, self.value, self.high)
        low, peak, high = (math.log(max(end, DARK)) for end in ends) if self.by_ratio else ends
        return low, peak, high


def triangular(share: Floats, low: float, peak: float, high: float) -> Floats:
    """Return the quantiles of a triangular distribution, in the shape of `share`.

    Examples
    --------
    >>> triangular(np.array([0.1, 0.5]), -1.0, 0.0, 1.0).round(3).tolist()  # the root of 0.2, less 1
    [-0.553, 0.0]
    >>> triangular(np.array([0.3]), 2.0, 2.0, 2.0).tolist()
    [2.0]
    """
    width = high - low
    if width <= 0:
        return np.full(np.shape(share), peak)
    rising = low + np.sqrt(share * width * (peak - low))
    falling = high - np.sqrt((1 - share) * width * (high - peak))
    return np.where(share * width < peak - low, rising, falling)


def figures_of(site: Site, owners: frozenset[str] | None = None) -> tuple[Figure, ...]:
    """Return the uncertain figures, feature by feature; those of some features alone if `owners` are given."""
    return tuple(
        figure
        for feature in uncertain_features(site)
        if owners is None or feature.id in owners
        for spread in feature.spreads
        for figure in _figures(feature, spread, site.sun.year)
    )


def uncertain_features(site: Site) -> chain[UncertainFeature]:
    """Return the features of a site that may have uncertain figures."""
    return chain[UncertainFeature](site.buildings, site.trees, site.hedges, site.fences)


def _figures(feature: UncertainFeature, spread: Spread, year: int) -> list[Figure]:
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


def _value(feature: UncertainFeature, name: str, year: int) -> float | None:
    """Return the given value of a figure; None where the feature has none."""
    if name == "position":
        return 0.0
    if name == "crown_diameter" and isinstance(feature, Tree):
        return mean_width(feature.outline)
    value: float | MonthDay | None = getattr(feature, name, None)
    return float(value.day_of_year(year)) if isinstance(value, MonthDay) else value


def prisms_with_values(site: Site, feature: UncertainFeature, values: Mapping[str, float]) -> tuple[Prism, ...]:
    """Return the prisms of a feature with other values of its figures; `values` are keyed by the figures' names.

    A lower end (base, crown base, eaves) is kept below its upper end. A feature that is moved keeps the elevation of
    its old ground, and its gates move with it.
    """
    changed = replace(feature, **_changes(feature, values), spreads=())
    prisms = tuple(feature_prisms(site, changed))
    if isinstance(feature, Tree):
        prisms = tuple(_in_leaf_from(prism, values) for prism in prisms)
    east, north = values.get("position_east", 0.0), values.get("position_north", 0.0)
    return tuple(_moved(prism, east, north) for prism in prisms) if east or north else prisms


def _changes(feature: UncertainFeature, values: Mapping[str, float]) -> dict[str, Any]:
    """Return the fields of a feature that change, with their new values."""
    fields: dict[str, Any] = {}
    for name, value in values.items():
        if hasattr(feature, name) and name not in _DATES:
            fields[name] = min(max(value, 0.0), 1.0) if "transmittance" in name else value
    height = fields.get("height", feature.height)
    highest_base = height - min(SLIVER, height / 2)
    for name in ("base", "crown_base"):
        if name in fields:
            fields[name] = min(max(fields[name], 0.0), highest_base)
        elif getattr(feature, name, 0.0) >= height:
            fields[name] = highest_base
    if isinstance(feature, Building) and feature.eaves is not None:
        base = fields.get("base", feature.base)
        fields["eaves"] = min(max(fields.get("eaves", feature.eaves), base), height)
    if isinstance(feature, Tree) and "crown_diameter" in values:
        ratio = max(values["crown_diameter"] / mean_width(feature.outline), SLIVER)
        fields["outline"] = affinity.scale(feature.outline, ratio, ratio, origin=feature.trunk)
        if feature.transmittance_path is None:  # the transmittance was given for the crown at its drawn width
            fields["transmittance_path"] = mean_width(feature.outline)
    return fields


def with_rounded_dates(prisms: Sequence[Prism], figures: Sequence[Figure]) -> tuple[Prism, ...]:
    """Return prisms with the leaf dates of uncertain features rounded as in every draw; the others stay."""
    dates: dict[str, dict[str, float]] = {}
    for figure in figures:
        if figure.name in _DATES:
            dates.setdefault(figure.owner, {})[figure.name] = figure.value
    return tuple(_in_leaf_from(prism, dates[prism.owner]) if prism.owner in dates else prism for prism in prisms)


def _in_leaf_from(prism: Prism, values: Mapping[str, float]) -> Prism:
    """Return a prism with other leaf dates."""
    if prism.leaf_out is None or prism.leaf_fall is None:
        return prism
    out, fall = (leaf_day(values[name]) if name in values else getattr(prism, name) for name in _DATES)
    return replace(prism, leaf_out=out, leaf_fall=fall)


def leaf_day(day: float) -> int:
    """Return a leaf date rounded to the nearest LEAF_STEP, as a day of the year, 1 to 361."""
    return int(round((day - 1) / LEAF_STEP) * LEAF_STEP) % 365 + 1


def _moved(prism: Prism, east: float, north: float) -> Prism:
    """Return a prism moved east and north, its sloping top with it. [m]"""
    outline = affinity.translate(prism.outline, east, north)
    if prism.top_plane is None:
        return replace(prism, outline=outline)
    a, b, c = prism.top_plane
    return replace(prism, outline=outline, top_plane=(a, b, c - a * east - b * north))


def leaf_calendars(figures: Sequence[Figure], prisms: Sequence[Prism]) -> tuple[tuple[int, int], ...]:
    """Return leaf calendars (first and last day in leaf) that split the year for all draws and all other prisms.

    Between two neighbouring dates of these calendars nothing comes into leaf or loses its leaves, in any draw.
    """
    starts, ends = set[int](), set[int]()
    for figure in figures:
        if figure.name in _DATES:
            days = {leaf_day(day) for day in np.arange(figure.low, figure.high + 1.0)}
            (starts if figure.name == "leaf_out" else ends).update(days)
    uncertain_owners = {figure.owner for figure in figures if figure.name in _DATES}
    calendars = {(prism.leaf_out, prism.leaf_fall) for prism in prisms if prism.owner not in uncertain_owners}
    fixed = {(out, fall) for out, fall in calendars if out is not None and fall is not None}
    longer = max(len(starts), len(ends))
    pairs = zip(_filled(starts, longer), _filled(ends, longer), strict=True)
    return tuple(sorted({*fixed, *pairs}))


def _filled(days: set[int], count: int) -> list[int]:
    """Return the days in order, padded to `count` by repeating the last; day 1 where there are none."""
    ordered = sorted(days) or [1]
    return ordered + ordered[-1:] * (count - len(ordered))
