"""How is the property drawn as it is now?

Each feature becomes one or more drawn items, with the text shown under the pointer.
See `siteplan.show.symbols.planned` for what is planned (beds, places, heaps, runs).
"""

from __future__ import annotations

from typing import Any

from siteplan.land.features import Building, Tree
from siteplan.land.site import Site
from siteplan.land.spread import Measured
from siteplan.land.units import length_text
from siteplan.say.figures import day_text
from siteplan.show.symbols.shapes import crown_edges, drawn, ridge_line

Item = dict[str, Any]


def property_layers(site: Site) -> dict[str, list[Item]]:
    """Return the drawn items of each layer, under the layer's key, in metres of the local frame."""
    return {
        "ground": [{"k": "boundary", **drawn(site.boundary), "t": ["Boundary"]}, *_surfaces(site)],
        "buildings": [item for building in site.buildings for item in _building(building, site)],
        "plants": [item for tree in site.trees for item in _tree(tree, site)] + _hedges(site),
        "fences": _fences(site),
        "keepouts": _keepouts(site),
        "points": _points(site),
    }


def _surfaces(site: Site) -> list[Item]:
    largest_first = sorted(site.surfaces, key=lambda surface: -surface.outline.area)
    return [
        {"k": "surface", "s": surface.surface, **drawn(surface.outline), "t": [surface.id, surface.surface]}
        for surface in largest_first
    ]


def _building(building: Building, site: Site) -> list[Item]:
    """Return the roof, and its ridge."""
    tall = length_text(building.height, site.units)
    if building.base > 0:
        words = f"from {length_text(building.base, site.units)} to {tall} above the ground"
    elif building.eaves is not None and building.eaves < building.height:
        words = f"eaves {length_text(building.eaves, site.units)}, ridge {tall}"
    else:
        words = f"{tall} high"
    kind = "roof-open" if building.base > 0 else "roof"
    items: list[Item] = [{"k": kind, **drawn(building.outline), "t": [building.id, words, *_source(building)]}]
    ridge = ridge_line(building)
    if ridge is not None:
        items.append({"k": "ridge", **drawn(ridge)})
    return items


def _tree(tree: Tree, site: Site) -> list[Item]:
    """Return the crown's edge and the trunk."""
    words = (
        f"{tree.foliage}, {length_text(tree.height, site.units)} high, "
        f"crown from {length_text(tree.crown_base, site.units)}"
    )
    title = [tree.id, words]
    if tree.leaf_out and tree.leaf_fall:
        title.append(f"in leaf from {day_text(tree.leaf_out)} to {day_text(tree.leaf_fall)}")
    title += _source(tree)
    crowns: list[Item] = [{"k": f"crown-{tree.foliage}", **drawn(edge), "t": title} for edge in crown_edges(tree)]
    return [*crowns, {"k": "trunk", **drawn(tree.trunk), "r": round((tree.trunk_diameter or 0.3) / 2, 3)}]


def _source(feature: Measured) -> list[str]:
    """Return what a height was taken from, such as a survey; empty if that is not known."""
    return [f"heights: {feature.height_from}"] if feature.height_from else []


def _hedges(site: Site) -> list[Item]:
    return [
        {
            "k": "hedge",
            **drawn(hedge.outline),
            "t": [hedge.id, f"hedge, {length_text(hedge.height, site.units)} high", *_source(hedge)],
        }
        for hedge in site.hedges
    ]


def _fences(site: Site) -> list[Item]:
    """Return the fences, and the gates as gaps drawn over them."""
    fences: list[Item] = []
    for fence in site.fences:
        open_to = f", lets {fence.transmittance:.0%} of the sun through" if fence.transmittance else ""
        words = f"{length_text(fence.height, site.units)} high{open_to}"
        fences.append({"k": "fence", **drawn(fence.line), "t": [fence.id, words, *_source(fence)]})
    for gate in site.gates:
        words = f"gate, {length_text(gate.width, site.units)} wide"
        fences.append({"k": "gate", **drawn(gate.line), "t": [gate.id, words]})
    return fences


def _keepouts(site: Site) -> list[Item]:
    items: list[Item] = []
    for keepout in site.keepouts:
        words = [keepout.id, f"keep out: {keepout.reason}"]
        if keepout.setback:
            words.append(f"and {length_text(keepout.setback, site.units)} around it")
            grown = keepout.outline.buffer(keepout.setback, quad_segs=6)
            items.append({"k": "setback", **drawn(grown)})
        items.append({"k": "keepout", **drawn(keepout.outline), "t": words})
    return items


def _points(site: Site) -> list[Item]:
    """Return taps, doors, and measured levels with their heights."""
    items: list[Item] = []
    for tap in site.taps:
        hose = f"hose of {length_text(tap.hose_length, site.units)}" if tap.hose_length else "no hose named"
        items.append({"k": "tap", **drawn(tap.place), "t": [tap.id, f"tap, {hose}"]})
    items += [{"k": "door", **drawn(door.place), "t": [door.id, "door"]} for door in site.doors]
    for level in site.levels:
        high = length_text(level.elevation, site.units)
        items.append({"k": "level", **drawn(level.place), "t": [level.id, f"level, {high}"], "label": high})
    return items
