"""How far does the fill sink, and what tops it up in the years to come?

Each layer loses a share of its depth in its first year and a smaller one in each later year; the gap is filled with
the mix of the layers in the root zone. Not modelled: frost, compaction by feet, and fines that wash into the gaps of
the coarse base.

References
----------
Losses by material: data/materials.csv (common practice, no source; published figures disagree widely).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from siteplan.fill.fill_results import Layer, LeftOver, TopUp, TopUpYear
from siteplan.fill.purchase import buy
from siteplan.fill.recipe import SOIL, by_bed, material_named, root_layers
from siteplan.fill.tier_layers import by_tier
from siteplan.land.constants import Material
from siteplan.land.site import Offer, Stock

YEARS = 3


def loose_volume(settled: float, loss: float) -> float:
    """Return the loose volume needed for a settled volume.

    Parameters
    ----------
    settled : float
        Volume or depth after settling. [m3 or m]
    loss : float
        Share lost by settling, 0 <= loss < 1.

    Returns
    -------
    float
        In the unit of `settled`.

    Raises
    ------
    ValueError
        If the loss is not at least 0 and below 1.

    Notes
    -----
    loose = settled / (1 - loss). Adding the loss as a percentage falls short: at 15 % it brings 115 for 100,
    which settle to 97.75.

    Examples
    --------
    >>> round(loose_volume(100, 0.15), 2), loose_volume(100, 0)
    (117.65, 100.0)
    """
    return settled / (1 - _loss(loss))


def settled_volume(loose: float, loss: float) -> float:
    """Return the settled volume of a loose volume. [the unit of `loose`]

    Examples
    --------
    >>> settled_volume(100, 0.15)
    85.0
    """
    return loose * (1 - _loss(loss))


def _loss(loss: float) -> float:
    if not 0 <= loss < 1:
        raise ValueError(f"loss is {loss:g}, must be at least 0 and below 1")
    return loss


def top_ups(
    layers: Sequence[Layer], materials: Mapping[str, Material], *, years: int = YEARS, age: int = 0
) -> tuple[TopUp, ...]:
    """Return what tops up each bed in each of the coming years.

    Parameters
    ----------
    layers : sequence of Layer
        Of any number of beds, filled to the brim.
    materials : mapping of str to Material
    years : int
        How many.
    age : int
        Years since the beds were filled; from 1 on they have settled for the first time.

    Returns
    -------
    tuple of TopUp
        Bed by bed, year by year.

    Notes
    -----
    The gap is filled with the layers that roots live in, in their own proportion, so that the share of compost stays
    as it was. Where there are none it is topsoil: fresh wood on top would bind nitrogen where seeds are sown, and
    sink again. What is added settles in its turn.

    Examples
    --------
    >>> soil = Material(name="topsoil", kind="mineral", density=1250, density_wet=1500, settling_first=0.1,
    ...                 settling_later=0.05, shovel_rate=0.5)
    >>> layer = Layer(bed="a", order=0, material="topsoil", bottom=0, top=1, volume=2, mass=2500, settled=0.9)
    >>> for year in top_ups([layer], {"topsoil": soil}):
    ...     print(year.year, round(year.drop, 4), [(name, round(volume, 4)) for name, volume in year.volumes])
    1 0.1 [('topsoil', 0.2)]
    2 0.055 [('topsoil', 0.11)]
    3 0.0528 [('topsoil', 0.1055)]
    """
    return tuple(
        top_up
        for bed, of_bed in by_bed(layers).items()
        for top_up in _bed_top_ups(bed, of_bed, materials, years, age)
    )


def _bed_top_ups(
    bed: str, layers: Sequence[Layer], materials: Mapping[str, Material], years: int, age: int
) -> list[TopUp]:
    """Return one bed's top-ups, all its tiers together."""
    by_year: dict[int, list[TopUp]] = {}
    for column in by_tier(layers).values():
        for top_up in _column_top_ups(bed, column, materials, years, age):
            by_year.setdefault(top_up.year, []).append(top_up)
    return [_together(columns) for columns in by_year.values()]


def _together(columns: Sequence[TopUp]) -> TopUp:
    """Return one year's top-up of a bed from those of its tiers; it sinks by as much as the deepest of them."""
    volumes: dict[str, float] = {}
    for name, volume in (pair for column in columns for pair in column.volumes):
        volumes[name] = volumes.get(name, 0.0) + volume
    return replace(columns[0], drop=max(column.drop for column in columns), volumes=tuple(volumes.items()))


def _column_top_ups(
    bed: str, layers: Sequence[Layer], materials: Mapping[str, Material], years: int, age: int
) -> list[TopUp]:
    """Return the top-ups of one tier: the depth of each layer, and of all that is added, through the years."""
    height = sum(layer.thickness for layer in layers)
    area = sum(layer.volume for layer in layers) / height
    blend = top_blend(layers, materials)
    parcels = [(layer.material, layer.thickness, age) for layer in layers]
    by_year = []
    for year in range(1, years + 1):
        parcels = [
            (name, settled_volume(depth, _yearly_loss(material_named(name, materials), years_in)), years_in + 1)
            for name, depth, years_in in parcels
        ]
        drop = height - sum(depth for _, depth, _ in parcels)
        added = [(name, drop * share) for name, share in blend.items()]
        parcels += [(name, depth, 0) for name, depth in added]
        by_year.append(
            TopUp(bed=bed, year=year, drop=drop, volumes=tuple((name, thickness * area) for name, thickness in added))
        )
    return by_year


def _yearly_loss(material: Material, age: int) -> float:
    return material.settling_first if age == 0 else material.settling_later


def top_blend(layers: Sequence[Layer], materials: Mapping[str, Material]) -> dict[str, float]:
    """Return the shares by volume of the mix that tops up a bed: its layers that may touch roots, else topsoil.

    Empty if topsoil is not among the materials either.
    """
    fit = [layer for layer in root_layers(layers, materials) if materials[layer.material].touches == "roots"]
    if not fit:
        return {SOIL: 1.0} if SOIL in materials else {}
    total = math.fsum(layer.volume for layer in fit)
    shares: dict[str, float] = {}
    for layer in fit:
        shares[layer.material] = shares.get(layer.material, 0.0) + layer.volume / total
    return shares


def top_up_years(
    sinking: Iterable[TopUp],
    left_over: Sequence[LeftOver],
    offers: Sequence[Offer],
    materials: Mapping[str, Material],
    *,
    stock: Sequence[Stock] = (),
) -> tuple[TopUpYear, ...]:
    """Return the top-ups of all beds year by year: left-over material is used first, the rest is bought.

    Parameters
    ----------
    sinking : iterable of TopUp
    left_over : sequence of LeftOver
        After the beds have been filled. What is left over of a year's purchase is used in the next.
    offers : sequence of Offer
    materials : mapping of str to Material
    stock : sequence of Stock
        The volume added to it each year is used before anything is bought.
    """
    by_year: dict[int, dict[str, float]] = {}
    for top_up in sinking:
        needs = by_year.setdefault(top_up.year, {})
        for name, volume in top_up.volumes:
            needs[name] = needs.get(name, 0.0) + volume
    years = []
    for year, needs in sorted(by_year.items()):
        on_hand = [
            Stock(material=piece.material, volume=piece.volume, at=piece.at or "left over") for piece in left_over
        ]
        on_hand += [replace(piece, volume=piece.each_year) for piece in stock if piece.each_year]
        bought = buy(needs, on_hand, offers, materials=materials, break_ties=False)
        used_volumes: dict[str, float] = {}
        for use in bought.on_hand:
            if use.volume > 0:
                used_volumes[use.material] = used_volumes.get(use.material, 0.0) + use.volume
        nothing_to_buy = bool(bought.missing) and len(bought.missing) == len(bought.lines)
        years.append(
            TopUpYear(
                year=year,
                volumes=tuple(needs.items()),
                left_over=tuple(used_volumes.items()),
                cost=None if nothing_to_buy else bought.cost,
                lacking=bought.missing,
            )
        )
        left_over = bought.left_over
    return tuple(years)
