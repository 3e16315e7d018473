"""How are the layers of plan.gpkg drawn in a GIS?

A style in QML for each layer, the format of QGIS: a list of rules, each with a simple symbol.
See `siteplan.files.outputs.output` for how the style is stored.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal
from xml.etree.ElementTree import Element, SubElement, tostring

#: the layers of plan.gpkg, and what each holds
LAYERS = {
    "beds": "Beds drawn on the site and beds proposed, with their sun; hours a day in the growing season.",
    "tiers": "Frames of the beds, each with the open soil at its top and its sun; one where a bed has no tiers.",
    "places": "Places found for a new bed, best first, with the reasons for each.",
    "routes": "Ways of the wheelbarrow from each pile to each bed, with length, climb and seconds one way.",
    "piles": "Piles and drop zones, and what lies there.",
    "features": "Everything drawn on the site by kind, and the boundary.",
}


@dataclass(frozen=True)
class _Symbol:
    """The symbol of one kind of feature. Colours are red, green, blue and opacity, 0 to 255."""

    kind: Literal["fill", "line", "marker"]
    colour: str
    edge: str = "70,70,70,255"
    width: str = "0.3"  # of a line, or of the edge of an area [mm]
    shape: str = "circle"


#: the rules of each layer: label, kind of feature (empty for any), symbol. A kind may have several rules, since a
#: pile may be a point or an area, and a fence a line or an area. QGIS draws the rule whose symbol suits the shape.
_RULES: dict[str, tuple[tuple[str, str, _Symbol], ...]] = {
    "beds": (("bed", "", _Symbol("fill", "139,94,52,200", width="0.5")),),
    "tiers": (("frame of a bed", "", _Symbol("fill", "139,94,52,90", width="0.4")),),
    "places": (("place found", "", _Symbol("fill", "255,193,7,120", edge="140,90,0,255", width="0.6")),),
    "routes": (("way of the barrow", "", _Symbol("line", "200,60,40,255", width="0.7")),),
    "piles": (
        ("pile", "", _Symbol("fill", "190,160,110,180")),
        ("pile, a point", "", _Symbol("marker", "190,160,110,255", shape="triangle")),
    ),
    "features": (
        ("boundary", "boundary", _Symbol("fill", "0,0,0,0", edge="40,40,40,255", width="0.7")),
        ("surface", "surface", _Symbol("fill", "215,215,205,140", edge="160,160,150,255", width="0.1")),
        ("keep-out", "keepout", _Symbol("fill", "220,80,80,70", edge="180,40,40,255")),
        ("building", "building", _Symbol("fill", "150,150,155,255")),
        ("tree", "tree", _Symbol("fill", "70,140,70,120", edge="40,90,40,255")),
        ("hedge", "hedge", _Symbol("fill", "50,110,60,200", edge="30,70,35,255")),
        ("fence", "fence", _Symbol("line", "110,80,50,255", width="0.6")),
        ("fence, an area", "fence", _Symbol("fill", "110,80,50,255", edge="110,80,50,255", width="0.2")),
        ("gate", "gate", _Symbol("line", "240,150,30,255", width="1.2")),
        ("bed", "bed", _Symbol("fill", "139,94,52,200")),
        ("pile", "pile", _Symbol("fill", "190,160,110,180")),
        ("pile, a point", "pile", _Symbol("marker", "190,160,110,255", shape="triangle")),
        ("tap", "tap", _Symbol("marker", "40,120,200,255")),
        ("door", "door", _Symbol("marker", "120,70,30,255", shape="square")),
        ("level", "level", _Symbol("marker", "255,255,255,255", shape="triangle")),
    ),
}


def layer_styles() -> dict[str, str]:
    """Return the style of each layer, in QML."""
    return {name: _qml(rules) for name, rules in _RULES.items()}


def _qml(rules: tuple[tuple[str, str, _Symbol], ...]) -> str:
    """Return a style with these rules; it names no geometry type, so that it works for points, lines and areas."""
    root = Element("qgis", version="3.28.0", styleCategories="Symbology")
    renderer = SubElement(root, "renderer-v2", type="RuleRenderer", forceraster="0", symbollevels="0")
    rule_list = SubElement(renderer, "rules", key="root")
    symbols = SubElement(renderer, "symbols")
    for number, (label, kind, symbol) in enumerate(rules):
        rule = SubElement(rule_list, "rule", key=f"rule-{number}", label=label, symbol=str(number))
        if kind:
            rule.set("filter", f"\"kind\" = '{kind}'")
        symbol_element = SubElement(
            symbols, "symbol", name=str(number), type=symbol.kind, alpha="1", clip_to_extent="1"
        )
        classes = {"fill": "SimpleFill", "line": "SimpleLine", "marker": "SimpleMarker"}
        layer = SubElement(
            symbol_element, "layer", {"class": classes[symbol.kind], "enabled": "1", "pass": "0", "locked": "0"}
        )
        options = SubElement(layer, "Option", type="Map")
        for name, value in _options(symbol).items():
            SubElement(options, "Option", name=name, value=value, type="QString")
    return tostring(root, encoding="unicode")


def _options(symbol: _Symbol) -> dict[str, str]:
    """Return the options of QGIS's simple symbols."""
    if symbol.kind == "line":
        return {
            "line_color": symbol.colour,
            "line_width": symbol.width,
            "line_width_unit": "MM",
            "line_style": "solid",
        }
    edge = {"outline_color": symbol.edge, "outline_width": symbol.width, "outline_width_unit": "MM"}
    if symbol.kind == "fill":
        return {"color": symbol.colour, "style": "solid", "outline_style": "solid", **edge}
    return {"color": symbol.colour, "name": symbol.shape, "size": "3", "size_unit": "MM", **edge}
