"""What goes into a bed, what is on hand, and what can be bought?

[fill], [[material]], [[stock]] and [[offer]] of site.toml.
It leaves out whether a pile of that name is drawn: the reader asks that when it has the drawing.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from siteplan.files.findings import shown
from siteplan.files.site_toml.keys import Keys, Quantity
from siteplan.files.site_toml.price import read_price
from siteplan.files.tables import read_materials
from siteplan.land.check import nearest
from siteplan.land.materials import TOUCHES, Material
from siteplan.land.site import FillSettings, LayerSpec, Offer, Recipe, Stock

FRACTIONS_TOLERANCE = 1e-3  # thirds and eighths are written to three or four decimals
SMALLEST_BAG = 0.005  # m3; what a plain number that was meant as cubic feet comes to

# common practice of the trade, no source: coarse to three eighths, topsoil to three quarters, then compost, castings
DEFAULT_RECIPE = Recipe(
    layers=(
        LayerSpec(material="coarse organic", fraction=0.375),
        LayerSpec(material="topsoil", fraction=0.375),
        LayerSpec(material="compost", fraction=0.2083),
        LayerSpec(material="worm castings", fraction=0.0417),
    ),
    lining="none",
)
_MATERIAL = {
    "density": Quantity("density", 0, 3000, above=True),
    "density_wet": Quantity("density", 0, 3000, above=True),
    "settling_first": Quantity("fraction", 0, 0.99),
    "settling_later": Quantity("fraction", 0, 0.99),
    "shovel_rate": Quantity("rate", 0, 20, above=True),
}
MATERIAL_KINDS = ("coarse", "mineral", "organic", "amendment", "sheet")
_MATERIAL_WORDS = {"kind": MATERIAL_KINDS, "touches": TOUCHES}
_STORAGE = Quantity("volume", 0, 10_000, above=True)
SMALL_STORAGE = 0.1  # m3; what a plain number that was meant as cubic yards comes to
DEAREST_BAG = 1e6  # in the site's currency
_OFFER = {
    "bag": Quantity("volume", 0.0005, 2),
    "loose": Quantity("volume", 0.001, 100),
    "minimum": Quantity("volume", 0, 1000),
    "per_delivery": Quantity("volume", 0, 1000, above=True),
    "fetch": Quantity("volume", 0, 100, above=True),
    "payload": Quantity("mass", 0, 50_000, above=True),
}


@dataclass(frozen=True, kw_only=True)
class Trade:
    """Recipe, what limits a purchase, stock, offers, and every material that may be named."""

    recipe: Recipe
    fill: FillSettings = field(default_factory=FillSettings)
    stock: tuple[Stock, ...]
    offers: tuple[Offer, ...]
    materials: Mapping[str, Material]


def read_trade(top: Keys) -> Trade:
    """Return what site.toml says of materials, recipe, stock and offers."""
    materials = _materials(top)
    stock = [
        _stock(keys, materials)
        for keys in _entries(top, "stock", 'material = "topsoil", volume = "1 yd^3", at = "bin"')
    ]
    currency = top.values.get("currency")
    site_currency = currency if isinstance(currency, str) else "USD"
    offers = [
        _offer(keys, materials, site_currency)
        for keys in _entries(top, "offer", 'material = "compost", bag = "1 ft^3", price = 5.50')
    ]
    keys = Keys(top.table("fill") or {}, top.findings, file=top.file, where="[fill]")
    fill = _fill(keys, site_currency)
    return Trade(
        recipe=_recipe(keys, materials),
        fill=fill,
        stock=tuple(entry for entry in stock if entry is not None),
        offers=tuple(entry for entry in offers if entry is not None),
        materials=materials,
    )


def _entries(top: Keys, name: str, example: str) -> list[Keys]:
    """Return the keys of each [[name]], called by its number in messages."""
    tables = top.tables(name, f"a list of tables, each of which starts with the line [[{name}]] and says {example}")
    return [
        Keys(table, top.findings, file=top.file, where=f"[[{name}]] {number}")
        for number, table in enumerate(tables, 1)
    ]


def _known(keys: Keys, key: str, materials: Mapping[str, Material]) -> str | None:
    """Return a material's name if it is known."""
    if not keys.require(key, "name the material"):
        return None
    name = keys.text(key)
    if name is None or name in materials:
        return name
    hint = next((known for known in materials if known.lower() == name.lower()), None) or nearest(name, materials)
    meant = f"did you mean {hint!r}?" if hint else f"known are {', '.join(sorted(materials))};"
    keys.fault(f"{key} {shown(name)} is not known; {meant} a material of your own goes in a [[material]] table")
    return None


def _materials(top: Keys) -> dict[str, Material]:
    """Return the tables' materials with the site's own over them."""
    materials = dict(read_materials())
    for keys in _entries(top, "material", 'name = "leaf mould", density = 400'):
        if not keys.require("name", "call the material something"):
            continue
        name = keys.text("name")
        given: dict[str, object] = dict(keys.quantities(_MATERIAL))
        given |= {key: value for key in ("caution", "source") if (value := keys.text(key, longest=2000)) is not None}
        words = {key: keys.word(key, allowed) for key, allowed in _MATERIAL_WORDS.items()}
        given |= {key: word for key, word in words.items() if word is not None}
        if (ratio := keys.quantity("carbon_nitrogen", Quantity("fraction", 1, 2000))) is not None:
            given["carbon_nitrogen"] = ratio
        keys.no_others()
        if name is None:
            continue
        made = _material(keys, name, given, materials.get(name))
        if made is not None:
            materials[name] = made
    return materials


def _material(keys: Keys, name: str, given: dict[str, object], known: Material | None) -> Material | None:
    given.setdefault("source", "site.toml")
    if known is None:
        missing = [key for key in ("kind", *_MATERIAL) if key not in keys.values]
        if missing:
            keys.fault(f"{shown(name)} is new, so it needs {', '.join(missing)} as well")
            return None
    elif "density" in given and "density_wet" not in keys.values:  # a wet day adds as large a share as before
        wetter = float(str(given["density"])) * known.density_wet / known.density
        given["density_wet"] = min(wetter, 3000.0)
    try:
        return dataclasses.replace(known, **given) if known else Material(name=name, **given)  # type: ignore[arg-type]
    except ValueError as error:
        keys.fault(str(error))
    except TypeError:  # a required value is there but faulty, which is noted already
        pass
    return None


def _fill(keys: Keys, currency: str) -> FillSettings:
    """Return what limits a purchase; `Keys` notes unknown keys when the recipe has been read."""
    storage = keys.quantity("storage", _STORAGE)
    if storage is not None and storage < SMALL_STORAGE and not isinstance(keys.values["storage"], str):
        text = f"[fill] storage is {storage * 1000:g}: a plain number is litres. Give the unit."
        keys.findings.caution("small-unit", "", text)
    handling = read_price(keys, "bag_handling", size=None, currency=currency)
    if handling is not None and handling > DEAREST_BAG:
        keys.fault(f"bag_handling is {handling:g}, must be at most {DEAREST_BAG:g}; it is for one bag")
        handling = None
    return FillSettings(storage=math.inf if storage is None else storage, bag_handling=handling or 0.0)


def _recipe(keys: Keys, materials: Mapping[str, Material]) -> Recipe:
    example = 'a list such as [{ material = "topsoil", fraction = 1.0 }]'
    tables = keys.tables("layers", example)
    lining = keys.text("lining") or "none"
    keys.no_others()
    if lining not in {"none", *materials}:
        hint = nearest(lining, ["none", *materials])
        keys.fault(f"lining {shown(lining)} is not known" + (f"; did you mean {hint!r}?" if hint else '; or "none"'))
    if not keys.has("layers"):
        return Recipe(layers=DEFAULT_RECIPE.layers, lining=lining)
    if keys.values["layers"] == []:
        keys.fault(f"layers is empty; it must be {example}")
    layers = [
        _layer(Keys(table, keys.findings, file=keys.file, where=f"[fill] layer {number}"), materials)
        for number, table in enumerate(tables, 1)
    ]
    sound = tuple(layer for layer in layers if layer is not None)
    if len(sound) == len(layers) and layers:
        _check_sum(keys, sound)
    return Recipe(layers=sound or DEFAULT_RECIPE.layers, lining=lining)


def _layer(keys: Keys, materials: Mapping[str, Material]) -> LayerSpec | None:
    mix = _mix(keys, materials)
    material = (keys.text("material") or " and ".join(dict(mix))) if mix else _known(keys, "material", materials)
    fraction = keys.quantity("fraction", Quantity("fraction", 0, 1, above=True))
    thickness = keys.quantity("thickness", Quantity("length", 0, 3, above=True))
    keys.no_others()
    given = [key for key in ("fraction", "thickness") if key in keys.values]
    if len(given) != 1:
        came = "both fraction and thickness" if given else "neither fraction nor thickness"
        keys.fault(f"has {came}; give one of them")
        return None
    if material is None or (fraction is None and thickness is None):
        return None
    return LayerSpec(material=material, fraction=fraction, thickness=thickness, mix=mix)


def _check_sum(keys: Keys, layers: tuple[LayerSpec, ...]) -> None:
    total = math.fsum(layer.fraction or 0.0 for layer in layers)
    by_thickness = any(layer.thickness is not None for layer in layers)
    if total > 1 + FRACTIONS_TOLERANCE or (not by_thickness and total < 1 - FRACTIONS_TOLERANCE):
        rule = "must sum to at most 1 beside a thickness" if by_thickness else "must sum to 1"
        shares = " + ".join(f"{layer.fraction:g}" for layer in layers if layer.fraction is not None)
        keys.fault(f"layers: the fractions {shares} sum to {total:g}, {rule}")


def _stock(keys: Keys, materials: Mapping[str, Material]) -> Stock | None:
    material = _known(keys, "material", materials)
    keys.require("volume", 'say how much there is, such as "1.2 yd^3"')
    keys.require("at", "name the pile at which it lies")
    volume = keys.quantity("volume", Quantity("volume", 0, 1000, above=True))
    at = keys.text("at")
    keys.no_others()
    if material is None or volume is None or at is None:
        return None
    return Stock(material=material, volume=volume, at=at)


def _offer(keys: Keys, materials: Mapping[str, Material], currency: str) -> Offer | None:
    mix = _mix(keys, materials)
    blend = keys.has("mix")
    material = (keys.text("material") or " and ".join(dict(mix))) if blend else _known(keys, "material", materials)
    keys.require("price", "say what one bag, or one loose step, costs")
    sizes = keys.quantities(_OFFER)
    price = read_price(keys, "price", size=sizes.get("bag", sizes.get("loose")), currency=currency)
    delivery = read_price(keys, "delivery", size=None, currency=currency)
    name = keys.text("name") or ""
    keys.no_others()
    given = [key for key in ("bag", "loose") if key in keys.values]
    if len(given) != 1:
        keys.fault(f"has {'both bag and loose' if given else 'neither bag nor loose'}; an offer is one or the other")
        return None
    size = sizes.get(given[0])
    if size is not None:
        _check_sizes(keys, given[0], size, sizes)
    if material is None or price is None or size is None:
        return None
    return Offer(
        material=material,
        price=price,
        bag=sizes.get("bag"),
        loose=sizes.get("loose"),
        minimum=sizes.get("minimum", 0.0),
        delivery=delivery or 0.0,
        per_delivery=sizes.get("per_delivery"),
        name=name,
        fetch=sizes.get("fetch"),
        payload=sizes.get("payload"),
        mix=mix,
    )


def _check_sizes(keys: Keys, key: str, size: float, sizes: Mapping[str, float]) -> None:
    """Note what no delivery or trip could bring, and a size that looks like another unit."""
    for most in ("per_delivery", "fetch"):
        if most in sizes and sizes[most] < size * (1 - 1e-9):
            keys.fault(f"{most} is {sizes[most]:.3g} m3, less than one {key} ({size:.3g} m3)")
    if "payload" in sizes and "fetch" not in keys.values:
        keys.fault("payload is what one own trip carries; give fetch, the volume of one trip, as well")
    if size < SMALLEST_BAG and not isinstance(keys.values[key], str):
        what = keys.values.get("material", "a blend")
        text = f"An offer of {what} has {key} = {size * 1000:g}: a plain number is litres."
        keys.findings.caution("small-unit", "", f"{text} Give the unit.")


def _mix(keys: Keys, materials: Mapping[str, Material]) -> tuple[tuple[str, float], ...]:
    """Return a blend's materials with their shares by volume; empty where it is no blend."""
    table = keys.table("mix")
    if table is None:
        return ()
    shares = Keys(table, keys.findings, file=keys.file, where=f"{keys.where} mix")
    before = len(keys.findings.faults)
    found = {name: shares.quantity(name, Quantity("fraction", 0, 1, above=True)) for name in table}
    for name in found:
        if name not in materials:
            hint = nearest(name, materials)
            shares.fault(f"{shown(name)} is not known" + (f"; did you mean {hint!r}?" if hint else ""))
    total = math.fsum(share or 0.0 for share in found.values())
    if len(keys.findings.faults) > before:
        return ()
    if abs(total - 1) > FRACTIONS_TOLERANCE:
        shares.fault(f"the shares sum to {total:g}, must sum to 1")
    return tuple((name, share / total) for name, share in found.items() if share is not None)
