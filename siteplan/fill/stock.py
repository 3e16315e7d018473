"""What is taken from the stock, and which pile serves which layer of which bed?

The piles of a material are emptied in their order. They serve the beds in the order given, each from the bottom up;
the rest is bought. Distances are not considered here: see `haul.loads.pile_service`.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

from siteplan.fill.buying_programme import SHORT, tolerated
from siteplan.fill.fill_results import Layer, StockUse, Supply
from siteplan.fill.recipe import material_named, volume_needs
from siteplan.land.constants import Material
from siteplan.land.layers import COARSE
from siteplan.land.site import Stock


def take_stock(needs: Mapping[str, float], stock: Sequence[Stock]) -> tuple[StockUse, ...]:
    """Return how much of each piece of stock is used for the needs, in the order of the stock.

    Examples
    --------
    >>> heaps = [Stock(material="topsoil", volume=1.0, at="drive"), Stock(material="topsoil", volume=1.0, at="shed")]
    >>> [(use.at, use.volume, use.left) for use in take_stock({"topsoil": 1.25}, heaps)]
    [('drive', 1.0, 0.0), ('shed', 0.25, 0.75)]
    """
    open_needs = dict(needs)
    uses = []
    for piece in stock:
        used = min(piece.volume, open_needs.get(piece.material, 0.0))
        open_needs[piece.material] = open_needs.get(piece.material, 0.0) - used
        uses.append(StockUse(material=piece.material, at=piece.at, volume=used, left=piece.volume - used))
    return tuple(uses)


def base_parts(
    needs: Mapping[str, float], stock: Sequence[Stock], materials: Mapping[str, Material]
) -> tuple[tuple[str, float], ...]:
    """Return the materials in stock of which the coarse organic base is made: logs, branches, leaves.

    Parameters
    ----------
    needs : mapping of str to float
        Loose volume of each material over all beds. [m3]
    stock : sequence of Stock
        Used in its order; what other layers need of a material is left for them.
    materials : mapping of str to Material
        Which of them count as coarse organic.

    Returns
    -------
    tuple of (str, float)
        Materials with their shares by volume, with the sum 1, in the order in which they are laid: the one that
        settles least first. What is lacking has the name of the base itself. Empty if no base is needed, or no stock
        can be used for it.

    Examples
    --------
    >>> from siteplan.files.constant_tables import read_materials
    >>> heaps = [Stock(material="leaves", volume=0.5, at="a"), Stock(material="logs", volume=0.25, at="b")]
    >>> base_parts({"coarse organic": 1.0}, heaps, read_materials())
    (('logs', 0.25), ('coarse organic', 0.25), ('leaves', 0.5))
    """
    base_need = needs.get(COARSE, 0.0)
    other_needs = {name: need for name, need in needs.items() if name != COARSE}
    lacking, base = base_need, dict[str, float]()
    for piece in stock:
        for_layers = min(piece.volume, other_needs.get(piece.material, 0.0))
        other_needs[piece.material] = other_needs.get(piece.material, 0.0) - for_layers
        if material_named(piece.material, materials).coarse_organic:
            for_base = min(piece.volume - for_layers, lacking)
            lacking -= for_base
            base[piece.material] = base.get(piece.material, 0.0) + for_base
    base = {name: volume for name, volume in base.items() if volume > SHORT}
    if not base.keys() - {COARSE}:
        return ()
    if lacking > tolerated(base_need):
        base[COARSE] = base.get(COARSE, 0.0) + lacking
    total = sum(base.values())
    lowest_first = sorted(base, key=lambda name: material_named(name, materials).settling_first)
    return tuple((name, base[name] / total) for name in lowest_first)


def layer_supplies(
    layers: Sequence[Layer],
    on_hand: Sequence[StockUse],
    *,
    priority: Sequence[str] = (),
    not_coming: Collection[str] = (),
) -> tuple[Supply, ...]:
    """Return the supplies of each layer, from piles and from purchases.

    Parameters
    ----------
    layers : sequence of Layer
    on_hand : sequence of StockUse
        What is taken of each pile.
    priority : sequence of str
        Ids of the beds that the stock serves first; the others follow in the order of `layers`.
    not_coming : collection of str
        Materials that are on offer but not bought for lack of storage: they come from the piles only.

    Returns
    -------
    tuple of Supply
        In the order of `layers`; within a layer the piles in their order, then what is bought.
        The volumes of a layer's supplies sum to that layer's, but for what is not coming; where the piles lack no
        more than a thousandth of a material, the last of them is counted for it.

    Examples
    --------
    >>> layer = Layer(bed="a", order=0, material="topsoil", bottom=0, top=1, volume=2, mass=2500, settled=0.9)
    >>> heap = StockUse(material="topsoil", at="drive", volume=1.5, left=0)
    >>> [(supply.at, supply.volume, supply.mass) for supply in layer_supplies([layer], [heap])]
    [('drive', 1.5, 1875.0), ('', 0.5, 625.0)]
    >>> [(supply.at, supply.volume) for supply in layer_supplies([layer], [heap], not_coming=["topsoil"])]
    [('drive', 1.5)]
    """
    ranks = {bed: rank for rank, bed in enumerate(dict.fromkeys([*priority, *(layer.bed for layer in layers)]))}
    served = sorted(range(len(layers)), key=lambda index: (ranks[layers[index].bed], layers[index].order))
    remaining = [use.volume for use in on_hand]
    covered = _covered(layers, on_hand)
    parts = {index: _draw(layers[index], on_hand, remaining, covered) for index in served}
    return tuple(
        _supply(layers[index], pile, volume)
        for index in range(len(layers))
        for pile, volume in parts[index]
        if pile or layers[index].material not in not_coming
    )


def _covered(layers: Sequence[Layer], on_hand: Sequence[StockUse]) -> set[str]:
    """Return the materials of which the piles have all that is needed, but for what may be lacking."""
    on_piles: dict[str, float] = {}
    for use in on_hand:
        on_piles[use.material] = on_piles.get(use.material, 0.0) + use.volume
    needs = volume_needs(layers)
    return {name for name, need in needs.items() if need - on_piles.get(name, 0.0) <= tolerated(need)}


def _draw(
    layer: Layer, on_hand: Sequence[StockUse], remaining: list[float], covered: Collection[str]
) -> list[tuple[str, float]]:
    """Return the piles that one layer comes from, and subtract its volumes from what is `remaining` in each."""
    lacking = layer.volume
    parts: list[tuple[str, float]] = []
    for number, use in enumerate(on_hand):
        drawn = min(remaining[number], lacking) if use.material == layer.material else 0.0
        if drawn > SHORT:
            remaining[number] -= drawn
            lacking -= drawn
            parts.append((use.at, drawn))
    if not parts or (lacking > SHORT and layer.material not in covered):
        return [*parts, ("", lacking)]
    last_pile, volume = parts[-1]
    return [*parts[:-1], (last_pile, volume + lacking)]


def _supply(layer: Layer, pile: str, volume: float) -> Supply:
    mass = layer.mass * volume / layer.volume
    return Supply(bed=layer.bed, material=layer.material, at=pile, volume=volume, mass=mass, order=layer.order)
