"""How far does the fill sink, how much more must be brought, and what tops it up in the years to come?

Each layer loses a share of its depth in its first year and a smaller one in each later year.
It leaves out frost, feet and the fines that wash into the gaps of the coarse base.

References
----------
Losses by material: data/materials.csv (common practice, no source; published figures disagree widely).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from siteplan.fill.recipe import known, upper_layers
from siteplan.fill.results import Layer, TopUp
from siteplan.land.materials import Material


def loose_volume(settled: float, loss: float) -> float:
    """Return the loose volume that must be brought for a settled volume.

    Parameters
    ----------
    settled : float
        Wanted when it has settled. [m3, or m of depth]
    loss : float
        Share lost by settling, 0 <= loss < 1.

    Returns
    -------
    float
        In the unit of `settled`.

    Raises
    ------
    ValueError
        Where the loss is below 0 or not below 1.

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
    """Return what a loose volume settles to. [the unit of `loose`]

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


def top_ups(layers: Sequence[Layer], materials: Mapping[str, Material], *, years: int = 3) -> tuple[TopUp, ...]:
    """Return what tops up each bed in each of the coming years.

    Parameters
    ----------
    layers : sequence of Layer
        Of any number of beds, filled to the brim.
    materials : mapping of str to Material
    years : int
        How many.

    Returns
    -------
    tuple of TopUp
        Bed by bed, year by year.

    Notes
    -----
    Each year's gap is filled to the brim with the blend of the layers above the coarse base in their own
    proportion, so that the share of compost stays as it was; what is added settles in its turn, by the
    first year's loss and then by the later one. A bed of coarse material alone is topped up with the same.

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
    by_bed: dict[str, list[Layer]] = {}
    for layer in layers:
        by_bed.setdefault(layer.bed, []).append(layer)
    return tuple(
        top_up for bed, bed_layers in by_bed.items() for top_up in _bed_top_ups(bed, bed_layers, materials, years)
    )


def _bed_top_ups(bed: str, layers: Sequence[Layer], materials: Mapping[str, Material], years: int) -> list[TopUp]:
    """Return one bed's top-ups: every parcel of depth is followed through the years."""
    height = sum(layer.top - layer.bottom for layer in layers)
    area = sum(layer.volume for layer in layers) / height
    blend = upper_blend(layers, materials)
    parcels = [(layer.material, layer.top - layer.bottom, 0) for layer in layers]
    result = []
    for year in range(1, years + 1):
        parcels = [
            (name, settled_volume(depth, _yearly_loss(known(name, materials), age)), age + 1)
            for name, depth, age in parcels
        ]
        drop = height - sum(depth for _, depth, _ in parcels)
        added = [(name, drop * share) for name, share in blend.items()]
        parcels += [(name, depth, 0) for name, depth in added]
        volumes = tuple((name, depth * area) for name, depth in added)
        result.append(TopUp(bed=bed, year=year, drop=drop, volumes=volumes))
    return result


def _yearly_loss(material: Material, age: int) -> float:
    return material.settling_first if age == 0 else material.settling_later


def upper_blend(layers: Sequence[Layer], materials: Mapping[str, Material]) -> dict[str, float]:
    """Return the shares by volume of the layers above the coarse base; of all where all is coarse."""
    upper = upper_layers(layers, materials) or layers
    total = sum(layer.volume for layer in upper)
    shares: dict[str, float] = {}
    for layer in upper:
        shares[layer.material] = shares.get(layer.material, 0.0) + layer.volume / total
    return shares
