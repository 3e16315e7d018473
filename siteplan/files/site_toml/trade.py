"""What goes into a bed, what is on hand, and what can be bought?

[fill], [[recipe]], [[material]], [[stock]] and [[offer]] of site.toml, and the layers of a bed.
`crosscheck.py` checks that the piles of the stock are drawn.
"""

from __future__ import annotations

import dataclasses
import json
import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from siteplan.files.constant_tables import read_materials
from siteplan.files.site_toml.keys import Keys
from siteplan.land.constants import DENSITY, Material
from siteplan.land.layers import SHARES_TOLERANCE, LayerSpec, NamedRecipe, Recipe
from siteplan.land.record import fields_of
from siteplan.land.site import SHARE, FillSettings, Offer, Stock
from siteplan.land.unit_sizes import POUND
from siteplan.land.values import Money, nearest, shown
from siteplan.land.walls import PIECES, PieceOffer

_EXAMPLE = 'a list such as [{ material = "topsoil", fraction = 1.0 }]'
_EXAMPLE_JSON = 'a list such as [{"material": "topsoil", "fraction": 1.0}]'


@dataclass(frozen=True, kw_only=True)
class Trade:
    """Recipes, limits of a purchase, stock, offers, and all known materials."""

    recipe: Recipe
    fill: FillSettings = field(default_factory=FillSettings)
    stock: tuple[Stock, ...]
    offers: tuple[Offer, ...]
    piece_offers: tuple[PieceOffer, ...] = ()
    materials: Mapping[str, Material]
    recipes: Mapping[str, tuple[LayerSpec, ...]] = field(default_factory=dict)


def read_trade(top: Keys) -> Trade:
    """Return the materials, recipes, stock and offers of site.toml."""
    materials = _materials(top)
    stock = [
        _stock(keys, materials)
        for keys in _entries(top, "stock", 'material = "topsoil", volume = "1 yd^3", at = "bin"')
    ]
    offered = _entries(top, "offer", 'material = "compost", bag = "1 ft^3", price = 5.50')
    by_piece = [keys for keys in offered if keys.values.get("material") in PIECES]
    offers = [_offer(keys, materials) for keys in offered if keys not in by_piece]
    pieces = [_piece_offer(keys) for keys in by_piece]
    keys = top.table_keys("fill")
    fill = _fill(keys)
    return Trade(
        recipe=_recipe(keys, materials),
        fill=fill,
        stock=tuple(entry for entry in stock if entry is not None),
        offers=tuple(entry for entry in offers if entry is not None),
        piece_offers=tuple(entry for entry in pieces if entry is not None),
        materials=materials,
        recipes=_recipes(top, materials),
    )


def _entries(top: Keys, name: str, example: str) -> list[Keys]:
    """Return the keys of each [[name]]; messages call it by its number."""
    tables = top.tables(name, f"a list of tables, each of which starts with the line [[{name}]] and says {example}")
    return [top.nested(table, f"[[{name}]] {number}") for number, table in enumerate(tables, 1)]


def _known_material(keys: Keys, key: str, materials: Mapping[str, Material]) -> str | None:
    """Return a material's name; None if it is missing or not known."""
    if not keys.require(key, "name the material"):
        return None
    name = keys.text(key)
    if name is None or name in materials:
        return name
    in_other_case = next((material for material in materials if material.lower() == name.lower()), None)
    hint = in_other_case or nearest(name, materials)
    meant = f"did you mean {hint!r}?" if hint else f"known are {', '.join(sorted(materials))};"
    keys.fault(f"{key} {shown(name)} is not known; {meant} a material of your own goes in a [[material]] table")
    return None


def _materials(top: Keys) -> dict[str, Material]:
    """Return the materials of data/materials.csv, changed and extended by the site's own."""
    materials = dict(read_materials())
    for keys in _entries(top, "material", 'name = "leaf mould", density = 400'):
        if not keys.require("name", "call the material something"):
            continue
        values = keys.field_values(Material)
        keys.no_others()
        material = _material(keys, values, materials.get(values.get("name", "")))
        if material is not None:
            materials[material.name] = material
    return materials


def _material(keys: Keys, values: dict[str, Any], listed: Material | None) -> Material | None:
    values.setdefault("source", "site.toml")
    if listed is None:
        missing = [name for name, field in fields_of(Material).items() if field.required and name not in keys.values]
        if missing:
            keys.fault(f"{shown(keys.values['name'])} is new, so it needs {', '.join(missing)} as well")
            return None
        return keys.make(Material, values)
    if "density" in values and "density_wet" not in keys.values:  # a wet day adds the same share as in the table
        values["density_wet"] = min(values["density"] * listed.density_wet / listed.density, DENSITY.most)
    return keys.make(Material, dataclasses.asdict(listed) | values)


def _fill(keys: Keys) -> FillSettings:
    """Return the limits of a purchase; unknown keys are noted later, after the recipe in the same table."""
    values = keys.field_values(FillSettings)
    return keys.make(FillSettings, values) or FillSettings()


def _recipe(keys: Keys, materials: Mapping[str, Material]) -> Recipe:
    layers = _layers(keys, materials)
    values = keys.field_values(Recipe)
    keys.no_others()
    lining = values.get("lining", "none")
    if lining not in {"none", *materials}:
        hint = nearest(lining, ["none", *materials])
        keys.fault(f"lining {shown(lining)} is not known" + (f"; did you mean {hint!r}?" if hint else '; or "none"'))
    return keys.make(Recipe, {"layers": layers, "lining": lining}) or Recipe(lining=lining)


def _recipes(top: Keys, materials: Mapping[str, Material]) -> dict[str, tuple[LayerSpec, ...]]:
    """Return the layers of each [[recipe]] by its name."""
    recipes: dict[str, tuple[LayerSpec, ...]] = {}
    for keys in _entries(top, "recipe", f'name = "deep", layers = {_EXAMPLE}'):
        has_name = keys.require("name", "beds ask for it by its name")
        keys.require("layers", f"give {_EXAMPLE}")
        name, layers = keys.text("name") if has_name else None, _layers(keys, materials)
        keys.no_others()
        if name in recipes:
            keys.fault(f"name {shown(name)} is there twice; each recipe has its own")
        recipe = keys.make(NamedRecipe, {"name": name, "layers": layers}) if name and layers else None
        if name:  # a recipe with a fault is kept without layers, so that beds may name it
            recipes[name] = recipe.layers if recipe else ()
    return recipes


def bed_layers(value: object, keys: Keys, trade: Trade) -> tuple[LayerSpec, ...] | None:
    """Return the layers of one bed; None if they have a fault.

    Parameters
    ----------
    value : object
        The name of a recipe; or a list of layers, which may be a text of JSON.
    keys : Keys
        Of the bed; they note the faults.
    trade : Trade
        With the recipes and materials.
    """
    if isinstance(value, str) and not value.lstrip().startswith("["):
        if value in trade.recipes:
            return trade.recipes[value]
        hint = nearest(value, trade.recipes)
        recipe_names = f"there are {', '.join(trade.recipes)}" if trade.recipes else "site.toml has no [[recipe]]"
        advice = f"did you mean {hint!r}?" if hint else recipe_names
        keys.fault(f"layers: there is no recipe {shown(value)}; {advice}")
        return None
    if isinstance(value, str):
        try:
            value = json.loads(value)
        except (ValueError, RecursionError):
            keys.fault(f"layers is {shown(value)}, must be {_EXAMPLE_JSON}, or the name of a recipe")
            return None
    before = len(keys.remarks.faults)
    layers = _layers(Keys({"layers": value}, keys.remarks, file=keys.file, where=keys.where), trade.materials)
    return layers if len(keys.remarks.faults) == before else None


def _layers(keys: Keys, materials: Mapping[str, Material]) -> tuple[LayerSpec, ...]:
    """Return a list of layers; empty if there is none, or if one has a fault, which is noted."""
    tables = keys.tables("layers", _EXAMPLE)
    if keys.values.get("layers") == []:
        keys.fault(f"layers is empty; it must be {_EXAMPLE}")
    layers = [
        _layer(keys.nested(table, f"{keys.where} layer {number}"), materials)
        for number, table in enumerate(tables, 1)
    ]
    sound = tuple(layer for layer in layers if layer is not None)
    return sound if len(sound) == len(layers) else ()


def _layer(keys: Keys, materials: Mapping[str, Material]) -> LayerSpec | None:
    values = keys.field_values(LayerSpec, but=("material", "mix"))
    mix = _mix(keys, materials)
    material = _blend_name(keys, mix) if keys.has("mix") else _known_material(keys, "material", materials)
    keys.no_others()
    return keys.make(LayerSpec, values | _named(material, mix))


def _blend_name(keys: Keys, mix: tuple[tuple[str, float], ...]) -> str | None:
    """Return the name of a blend: its own, else those of its materials; None if it has neither, for a fault in it."""
    return keys.text("material") or " and ".join(dict(mix)) or None


def _named(material: str | None, mix: tuple[tuple[str, float], ...]) -> dict[str, Any]:
    """Return the fields of a material, or of a blend and its name; without the material if it has a fault."""
    return ({} if material is None else {"material": material}) | ({"mix": mix} if mix else {})


def _stock(keys: Keys, materials: Mapping[str, Material]) -> Stock | None:
    material = _known_material(keys, "material", materials)
    keys.require("volume", 'say how much there is, such as "1.2 yd^3"')
    keys.require("at", "name the pile at which it lies")
    values = keys.field_values(Stock, but=("material",))
    keys.no_others()
    return keys.make(Stock, values | _named(material, ()))


def _offer(keys: Keys, materials: Mapping[str, Material]) -> Offer | None:
    mix = _mix(keys, materials)
    is_blend = keys.has("mix")
    material = _blend_name(keys, mix) if is_blend else _known_material(keys, "material", materials)
    keys.require("price", "say what one bag, or one loose step, costs")
    values = keys.field_values(Offer, but=("material", "price", "mix"))
    size = values.get("bag" if "bag" in keys.values else "loose")
    price = keys.money("price", Money(), size=size)
    keys.no_others()
    offer = keys.make(Offer, values | _named(material, mix) | ({} if price is None else {"price": price}))
    if offer is not None:
        _check_payload(keys, offer, materials)
    return offer


def _check_payload(keys: Keys, offer: Offer, materials: Mapping[str, Material]) -> None:
    """Note a trip that does not carry even one bag on a wet day."""
    parts = offer.mix or ((offer.material, 1.0),)
    if offer.bag is None or offer.payload is None or not all(name in materials for name, _ in parts):
        return
    mass = offer.bag * math.fsum(share * materials[name].density_wet for name, share in parts)
    if offer.payload < mass * (1 - 1e-9):
        unit, size = ("lb", POUND) if keys.remarks.system == "imperial" else ("kg", 1.0)
        payload, least = (f"{kilograms / size:.4g} {unit}" for kilograms in (offer.payload, mass))
        keys.fault(f"payload is {payload}, less than one bag on a wet day ({least})")


def _piece_offer(keys: Keys) -> PieceOffer | None:
    keys.require("price", "say what one piece, or one box, costs")
    return keys.read(PieceOffer)


def _mix(keys: Keys, materials: Mapping[str, Material]) -> tuple[tuple[str, float], ...]:
    """Return a blend's materials with their shares by volume; empty if it is no blend, or has a fault."""
    table = keys.table("mix")
    if table is None:
        return ()
    shares = keys.nested(table, f"{keys.where} mix")
    before = len(keys.remarks.faults)
    fractions = {name: shares.quantity(name, SHARE) for name in table}
    for name in fractions:
        if name not in materials:
            hint = nearest(name, materials)
            shares.fault(f"{shown(name)} is not known" + (f"; did you mean {hint!r}?" if hint else ""))
    total = math.fsum(share or 0.0 for share in fractions.values())
    if len(keys.remarks.faults) > before:
        return ()
    if abs(total - 1) > SHARES_TOLERANCE:
        shares.fault(f"the shares sum to {total:g}, must sum to 1")
    return tuple((name, share / total) for name, share in fractions.items() if share is not None)
