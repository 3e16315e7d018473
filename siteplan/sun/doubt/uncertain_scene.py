"""How many hours of sun does a bed's soil get when the uncertain figures take other values?

The uncertain figures are heights, crowns, transmittances, positions and leaf dates. For each set of values the
features are built anew, and the sun is looked up on a few cells of each bed or place. All draws share one table of
the sky: its periods of days are split on every day on which leaves may come or go. The values are chosen by the
caller.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from siteplan.land.features import Bed
from siteplan.land.site import Site
from siteplan.sun.bed_sun import soil_shares, tier_cells
from siteplan.sun.doubt.figures import (
    Figure,
    UncertainFeature,
    figures_of,
    leaf_calendars,
    prisms_with_values,
    uncertain_features,
    with_rounded_dates,
)
from siteplan.sun.engine import PointSet, SunEngine
from siteplan.sun.obstacles.bodies import Body
from siteplan.sun.obstacles.packed_prisms import Packed, pack
from siteplan.sun.obstacles.plant_rows import row_prisms
from siteplan.sun.obstacles.prisms import Prism, own_shade
from siteplan.sun.path.sky_table import Sky, sky

Floats = NDArray[np.float64]

CELLS_PER_LEDGE = 6  # enough: differences between draws are within a few hundredths of an hour of the whole ledge's


@dataclass(frozen=True, eq=False)
class Ledge:
    """Cells of one tier's soil, all shaded by the same obstacles.

    Attributes
    ----------
    cells : ndarray, shape (n, 3)
        East, north and elevation. [m]
    extra : Packed
        Obstacles that shade these cells alone, such as the bed's own trellis.
    share : float
        Share of the spot's soil that lies on this ledge. [0 to 1]
    """

    cells: Floats
    extra: Packed
    share: float


@dataclass(frozen=True, eq=False)
class Spot:
    """The soil of a bed, or of a place for one.

    Attributes
    ----------
    name : str
    ledges : tuple of Ledge
    without : tuple of str
        Ids of features that are left out, such as the bed itself.
    month_share : ndarray, shape (12,), or None
        Weight of each month in the mean; None for the mean over the growing season.
    """

    name: str
    ledges: tuple[Ledge, ...]
    without: tuple[str, ...]
    month_share: Floats | None = None


def spot_of(site: Site, bed: Bed, *, without: Collection[str] = (), month_share: Floats | None = None) -> Spot:
    """Return the soil of a bed, of the site or proposed, with the obstacles that the bed itself brings.

    Parameters are those of `Spot`; the bed itself is always left out.
    """
    shares, rows = soil_shares(bed), row_prisms(site, bed)
    ledges = tuple(
        Ledge(_evenly_chosen(cells), pack((*own_shade(site, bed, tier=tier), *rows)), shares[tier])
        for tier, cells in tier_cells(site, bed)
    )
    return Spot(bed.id, ledges, (bed.id, *without), month_share)


def _evenly_chosen(cells: Floats) -> Floats:
    """Return at most CELLS_PER_LEDGE of the cells, evenly spread."""
    count = min(len(cells), CELLS_PER_LEDGE)
    return cells[((np.arange(count) + 0.5) * len(cells) / count).astype(np.int64)]


@dataclass(frozen=True, eq=False)
class UncertainScene:
    """Spots and the obstacles around them, whose sun can be looked up with other values of the uncertain figures.

    Attributes
    ----------
    site : Site
    engine : SunEngine
        Of this site, with the obstacles near the spots alone.
    spots : tuple of Spot
    figures : tuple of Figure
        The uncertain figures of the obstacles that may shade a spot.
    """

    site: Site
    engine: SunEngine
    spots: tuple[Spot, ...]
    figures: tuple[Figure, ...]
    _spots_in_reach: dict[str, list[int]] = field(default_factory=dict, repr=False)

    @property
    def given_values(self) -> Floats:
        """Values of the figures as the site gives them, shape (figures,)."""
        return np.array([figure.value for figure in self.figures])

    def values_in_draws(self, shares: Floats) -> Floats:
        """Return the values that the figures take in draws, shape (draws, figures).

        Parameters
        ----------
        shares : ndarray, shape (draws, figures)
            Evenly spread from 0 to 1: each figure takes the quantile of this share.
        """
        columns = [figure.quantile(share) for figure, share in zip(self.figures, shares.T, strict=True)]
        return np.column_stack(columns or [shares])

    @cached_property
    def _certain(self) -> SunEngine:
        """The engine with those obstacles alone that are the same in every draw."""
        owners = {figure.owner for figure in self.figures}
        return replace(self.engine, prisms=tuple(prism for prism in self.engine.prisms if prism.owner not in owners))

    @cached_property
    def _sky(self) -> Sky:
        periods = self.engine.periods(leaf_calendars(self.figures, self.engine.prisms))
        return sky(self.engine.path, periods, passages=self.engine.passages)

    def _sky_of(self, bodies: Sequence[Body]) -> Sky:  # noqa: ARG002  # one table serves all bodies and draws
        return self._sky

    def spots_in_reach(self, owner: str) -> list[int]:
        """Return the numbers of the spots that a feature may shade."""
        if owner not in self._spots_in_reach:
            self._spots_in_reach[owner] = [
                number
                for number, spot in enumerate(self.spots)
                if any(self.engine.within_reach(ledge.cells, {owner}).any() for ledge in spot.ledges)
            ]
        return self._spots_in_reach[owner]

    def cell_hours(self, values: Floats) -> list[list[Floats]]:
        """Return the hours of sun on the cells of each spot, ledge by ledge, each of shape (13, n). [h a day]

        The rows are the twelve months, then the growing season or the weighted mean that counts for the spot.

        Parameters
        ----------
        values : ndarray, shape (figures,)
            Of `figures`, in their order and units.
        """
        return self._hours(self._certain, self.spots, (), self._features_with(values))

    def cell_hours_changing(self, number: int, value: float, spots: Sequence[int]) -> list[list[Floats]]:
        """Return the hours of `cell_hours` on some spots when one figure alone is changed.

        Parameters
        ----------
        number : int
            Number of the figure.
        value : float
            Its changed value.
        spots : sequence of int
            Numbers of the spots.
        """
        owner = self.figures[number].owner
        values = {figure.name: figure.value for figure in self.figures if figure.owner == owner}
        changed = self._feature(owner, values | {self.figures[number].name: value})
        return self._hours(self.engine, [self.spots[spot] for spot in spots], (owner,), pack(changed))

    def _hours(
        self, engine: SunEngine, spots: Sequence[Spot], without: tuple[str, ...], extra: Packed
    ) -> list[list[Floats]]:
        """Return the hours on the cells of spots, without some features and with extra obstacles for all of them."""
        ledges = [
            PointSet(ledge.cells, ledge.extra, (*spot.without, *without)) for spot in spots for ledge in spot.ledges
        ]
        hours = iter(engine.means_of_each(self._sky_of, ledges, extra=[extra]))
        return [[_with_counted_hours(spot, next(hours)) for _ in spot.ledges] for spot in spots]

    def _features_with(self, values: Floats) -> Packed:
        """Return the uncertain features, built with these values of all figures."""
        by_owner: dict[str, dict[str, float]] = {}
        for figure, value in zip(self.figures, values.tolist(), strict=True):
            by_owner.setdefault(figure.owner, {})[figure.name] = value
        return pack([prism for owner, its_values in by_owner.items() for prism in self._feature(owner, its_values)])

    @cached_property
    def _uncertain(self) -> dict[str, UncertainFeature]:
        return {feature.id: feature for feature in uncertain_features(self.site)}

    def _feature(self, owner: str, values: Mapping[str, float]) -> tuple[Prism, ...]:
        """Return the prisms of one feature, built with these values of its figures."""
        return prisms_with_values(self.site, self._uncertain[owner], values)


def _with_counted_hours(spot: Spot, hours: Floats) -> Floats:
    """Return a spot's hours, shape (13, n), their last row replaced by the spot's weighted mean if it has weights."""
    if spot.month_share is not None:
        hours[12] = spot.month_share @ hours[:12]
    return hours


def uncertain_scene(site: Site, engine: SunEngine, spots: Sequence[Spot]) -> UncertainScene:
    """Return spots with the obstacles around them; obstacles that cannot shade any of the spots are left out."""
    cells = np.concatenate([ledge.cells for spot in spots for ledge in spot.ledges] or [np.empty((0, 3))])
    owners = {prism.owner for prism in engine.prisms}
    near = frozenset(owner for owner in owners if len(cells) and engine.within_reach(cells, {owner}).any())
    figures = figures_of(site, near)
    standing = with_rounded_dates([prism for prism in engine.prisms if prism.owner in near], figures)
    return UncertainScene(site, replace(engine, prisms=standing), tuple(spots), figures)


def mean_hours(spot: Spot, hours: Sequence[Floats]) -> Floats:
    """Return the mean hours on a spot from those on its ledges' cells, weighted by area, shape (13,). [h a day]"""
    weighted = [ledge.share * ledge_hours.mean(axis=1) for ledge, ledge_hours in zip(spot.ledges, hours, strict=True)]
    return np.asarray(np.sum(weighted, axis=0))
