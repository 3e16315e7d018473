"""How many hours of sun does some soil get, where the figures of what stands are otherwise?

A few cells of each bed or place are looked up again, with what stands rebuilt. All draws share one table of the sky,
whose days are parted wherever leaves may come or go. It leaves out which figures are drawn: they are handed in.
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
    Doubtful,
    Figure,
    doubtful_features,
    figures_of,
    leaf_calendars,
    standing_feature,
)
from siteplan.sun.engine import Asked, SunEngine
from siteplan.sun.obstacles.bodies import Body
from siteplan.sun.obstacles.packed_prisms import Packed, pack
from siteplan.sun.obstacles.plant_rows import row_prisms
from siteplan.sun.obstacles.prisms import own_shade
from siteplan.sun.path.sky_table import Sky, sky

Floats = NDArray[np.float64]

CELLS = 6  # of a ledge; the differences between draws are those of the whole to a few hundredths of an hour


@dataclass(frozen=True, eq=False)
class Ledge:
    """Cells that see the same things standing.

    Attributes
    ----------
    cells : ndarray, shape (n, 3)
        East, north and elevation. [m]
    extra : Packed
        What stands for them besides.
    share : float
        Of the soil of the spot. [0 to 1]
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
        Ids of features that are not there.
    month_share : ndarray, shape (12,), or None
        How much each month counts, where not the growing season does.
    """

    name: str
    ledges: tuple[Ledge, ...]
    without: tuple[str, ...]
    month_share: Floats | None = None


def spot_of(site: Site, bed: Bed, *, without: Collection[str] = (), month_share: Floats | None = None) -> Spot:
    """Return the soil of a bed of the site, or of one that would stand somewhere, with its own trellis.

    Parameters are the fields of `Spot`.
    """
    shares, rows = soil_shares(bed), row_prisms(site, bed)
    ledges = tuple(
        Ledge(_some(cells), pack((*own_shade(site, bed, tier=tier), *rows)), shares[tier])
        for tier, cells in tier_cells(site, bed)
    )
    return Spot(bed.id, ledges, (bed.id, *without), month_share)


def _some(cells: Floats) -> Floats:
    """Return at most CELLS of some cells, evenly spread."""
    count = min(len(cells), CELLS)
    return cells[((np.arange(count) + 0.5) * len(cells) / count).astype(np.int64)]


@dataclass(frozen=True, eq=False)
class Otherwise:
    """Spots, and what stands around them, ready to be asked with other figures.

    Attributes
    ----------
    site : Site
    engine : SunEngine
        Of this site.
    spots : tuple of Spot
    figures : tuple of Figure
        In doubt, of what may take sun from the spots.
    """

    site: Site
    engine: SunEngine
    spots: tuple[Spot, ...]
    figures: tuple[Figure, ...]
    _reached: dict[str, list[int]] = field(default_factory=dict, repr=False)

    @property
    def given(self) -> Floats:
        """The figures as they are given, shape (figures,)."""
        return np.array([figure.value for figure in self.figures])

    @cached_property
    def _certain(self) -> SunEngine:
        """The engine of what stands as it is given in every draw."""
        owners = {figure.owner for figure in self.figures}
        return replace(self.engine, prisms=tuple(one for one in self.engine.prisms if one.owner not in owners))

    @cached_property
    def _sky(self) -> Sky:
        periods = self.engine.periods(leaf_calendars(self.figures, self.engine.prisms))
        return sky(self.engine.path, periods, through=self.engine.passages)

    def _sky_of(self, bodies: Sequence[Body]) -> Sky:  # noqa: ARG002  # the same for all that may stand
        return self._sky

    def reached(self, owner: str) -> list[int]:
        """Return the numbers of the spots from which a feature may take sun."""
        if owner not in self._reached:
            self._reached[owner] = [
                number
                for number, spot in enumerate(self.spots)
                if any(self.engine.within_reach(ledge.cells, {owner}).any() for ledge in spot.ledges)
            ]
        return self._reached[owner]

    def cell_hours(self, values: Floats) -> list[list[Floats]]:
        """Return the sun on the cells of each spot, ledge by ledge: twelve months and what counts, shape (13, n).

        Parameters
        ----------
        values : ndarray, shape (figures,)
            Those of `figures`, in their order and units.
        """
        return self._hours(self._certain, self.spots, (), self._drawn(values))

    def cell_hours_where(self, number: int, value: float, spots: Sequence[int]) -> list[list[Floats]]:
        """Return what `cell_hours` does of some spots, where one figure alone is otherwise.

        Parameters
        ----------
        number : int
            Of the figure.
        value : float
            Its other value.
        spots : sequence of int
            Numbers of the spots that are asked about.
        """
        owner = self.figures[number].owner
        values = {one.name: one.value for one in self.figures if one.owner == owner}
        changed = self._feature(owner, values | {self.figures[number].name: value})
        return self._hours(self.engine, [self.spots[spot] for spot in spots], (owner,), [changed])

    def _hours(
        self, engine: SunEngine, spots: Sequence[Spot], without: tuple[str, ...], extra: Sequence[Packed]
    ) -> list[list[Floats]]:
        """Return the sun on the cells of some spots without some features, and with what stands besides."""
        ledges = [Asked(one.cells, one.extra, (*spot.without, *without)) for spot in spots for one in spot.ledges]
        hours = iter(engine.means_of_each(self._sky_of, ledges, extra=extra))
        return [[_counting(spot, next(hours)) for _ in spot.ledges] for spot in spots]

    def _drawn(self, values: Floats) -> list[Packed]:
        """Return the features in doubt with other figures."""
        named: dict[str, dict[str, float]] = {}
        for figure, value in zip(self.figures, values.tolist(), strict=True):
            named.setdefault(figure.owner, {})[figure.name] = value
        return [self._feature(owner, ones) for owner, ones in named.items()]

    @cached_property
    def _doubtful(self) -> dict[str, Doubtful]:
        return {feature.id: feature for feature in doubtful_features(self.site)}

    def _feature(self, owner: str, values: Mapping[str, float]) -> Packed:
        """Return one feature with other figures."""
        return pack(standing_feature(self.site, self._doubtful[owner], values))


def _counting(spot: Spot, hours: Floats) -> Floats:
    """Return the hours of months and season on a spot's cells with what counts there as the last row."""
    if spot.month_share is not None:
        hours[12] = spot.month_share @ hours[:12]
    return hours


def otherwise(site: Site, engine: SunEngine, spots: Sequence[Spot]) -> Otherwise:
    """Return spots with what stands around them, without what cannot matter to any of them."""
    cells = np.concatenate([ledge.cells for spot in spots for ledge in spot.ledges] or [np.empty((0, 3))])
    owners = {prism.owner for prism in engine.prisms}
    near = frozenset(owner for owner in owners if len(cells) and engine.within_reach(cells, {owner}).any())
    standing = replace(engine, prisms=tuple(prism for prism in engine.prisms if prism.owner in near))
    return Otherwise(site, standing, tuple(spots), figures_of(site, near))


def mean_hours(spot: Spot, hours: Sequence[Floats]) -> Floats:
    """Return the mean sun on a spot from that on the cells of its ledges, shape (13,)."""
    parts = [ledge.share * part.mean(axis=1) for ledge, part in zip(spot.ledges, hours, strict=True)]
    return np.asarray(np.sum(parts, axis=0))
