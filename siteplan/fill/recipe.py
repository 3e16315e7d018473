"""Which layers go into each bed, how thick, how much and how heavy?

A bed's inside is its outline less the thickness of its walls. Layers with a thickness keep it; those with a fraction
share the rest of the depth. In a bed in tiers, the soil under each ledge has the whole recipe over its own depth. The
ground is taken as level here: a bed's height is that at its middle (see `bed_ground` for slopes).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

from siteplan.fill.fill_results import Layer
from siteplan.fill.tier_layers import in_frames
from siteplan.land.constants import Material
from siteplan.land.features import Area, Bed
from siteplan.land.layers import COARSE, LayerSpec, Recipe
from siteplan.land.values import nearest

#: replaces coarse material where that is left out
SOIL = "topsoil"
LIFT = 0.1016  # m, 4 in; thickest layer of soil that is filled in before it is wetted. Common practice, no source


def inside(bed: Bed) -> Area:
    """Return the area within the walls of a bed's lowest frame, see `land.tiers.within_walls`. [m]"""
    return bed.frames[0].inside


def thicknesses(layers: Sequence[LayerSpec], depth: float) -> tuple[float, ...]:
    """Return the thickness of each layer of a recipe in a bed of a given depth.

    Parameters
    ----------
    layers : sequence of LayerSpec
        Bottom to top, each with a thickness [m] or a fraction of the depth.
    depth : float
        Inside depth of the bed. [m]

    Returns
    -------
    tuple of float
        They sum to `depth`. [m]

    Raises
    ------
    ValueError
        If there is no layer.

    Notes
    -----
    Thicknesses are kept, and fractions share the rest of the depth in proportion. A recipe without fractions, or with
    more thickness than the depth, does not add up: then all layers are scaled by the same factor (see `adds_up`).

    Examples
    --------
    >>> specs = [LayerSpec(material="wood chips", thickness=0.1), LayerSpec(material="topsoil", fraction=1.0)]
    >>> thicknesses(specs, 0.4)
    (0.1, 0.30000000000000004)
    >>> [round(thickness, 4) for thickness in thicknesses(specs[:1], 0.4)]
    [0.4]
    """
    if not layers:
        raise ValueError("the recipe has no layers; name at least one")
    fixed = sum(spec.thickness or 0.0 for spec in layers)
    shares = sum(spec.fraction or 0.0 for spec in layers)
    remaining = depth - fixed
    if shares > 0 and remaining > 0:
        return tuple(spec.thickness or remaining * (spec.fraction or 0.0) / shares for spec in layers)
    relative = [spec.thickness or (spec.fraction or 0.0) * depth for spec in layers]
    return tuple(thickness * depth / sum(relative) for thickness in relative)


def adds_up(layers: Sequence[LayerSpec], depth: float, *, within: float = 2e-3) -> bool:
    """Return whether a recipe fills a bed of a given depth without scaling.

    Parameters
    ----------
    layers : sequence of LayerSpec
        Fractions beside thicknesses are of the whole depth or, if they sum to 1, of the rest of it.
    depth : float
        [m]
    within : float
        Tolerance as a share of the depth.

    Examples
    --------
    >>> halves = [LayerSpec(material="topsoil", fraction=0.5), LayerSpec(material="compost", fraction=0.5)]
    >>> adds_up(halves, 0.3), adds_up(halves[:1], 0.3)
    (True, False)
    >>> adds_up([LayerSpec(material="wood chips", thickness=0.1), *halves], 0.3)
    True
    """
    fixed = sum(spec.thickness or 0.0 for spec in layers)
    shares = sum(spec.fraction or 0.0 for spec in layers)
    of_whole_depth = abs(fixed + shares * depth - depth) <= within * depth
    return of_whole_depth or (fixed < depth and abs(shares - 1) <= within)


def layers_of(bed: Bed, recipe: Recipe, depth: float) -> tuple[LayerSpec, ...]:
    """Return the layers of a bed: its own, else those of the property, else the usual ones for its height."""
    return bed.layers or recipe.layers_at(depth)


def fill_layers(
    beds: Sequence[Bed],
    recipe: Recipe,
    materials: Mapping[str, Material],
    *,
    base: Sequence[tuple[str, float]] = (),
    coarse: bool = True,
) -> tuple[Layer, ...]:
    """Return the layers of all beds, bed by bed, bottom to top, as filled to the brim.

    Parameters
    ----------
    beds : sequence of Bed
        Beds without any space within their walls get no layers.
    recipe : Recipe
        Of the beds that have no layers of their own.
    materials : mapping of str to Material
        Densities and settling of the recipe's materials.
    base : sequence of (str, float)
        Materials of the coarse organic base with their shares by volume, from `fill.stock.base_parts`.
    coarse : bool
        If False, coarse materials are replaced by topsoil.

    Returns
    -------
    tuple of Layer
        Their volumes sum to inside area times height; of a bed in tiers, to the sum of that over its frames.

    Raises
    ------
    ValueError
        If the recipe names a material that is not among `materials`.

    Examples
    --------
    >>> from siteplan.land.outline import rectangle
    >>> bed = Bed(id="a", outline=rectangle(0, 0, length=2, width=1, heading=0), height=0.5, wall_thickness=0)
    >>> soil = Material(name="topsoil", kind="mineral", density=1250, density_wet=1500, settling_first=0.1,
    ...                 settling_later=0.03, shovel_rate=0.5)
    >>> specs = (LayerSpec(material="topsoil", fraction=1),)
    >>> layer, = fill_layers([bed], Recipe(layers=specs), {"topsoil": soil})
    >>> layer.volume, layer.mass, layer.settled
    (1.0, 1250.0, 0.45)
    """
    layers: list[Layer] = []
    # an unknown material is an error even if no bed uses it
    for spec in (*recipe.layers, *(layer for bed in beds for layer in bed.layers)):
        for name, _ in spec.parts:
            material_named(name, materials)
    for bed in beds:
        columns: dict[int, list[Layer]] = {}
        for frame in bed.frames:
            if (area := float(frame.column.area)) > 0:
                specs = layers_of(bed, recipe, frame.top)
                specs = specs if coarse else without_coarse(specs, materials)
                columns[frame.number] = _column(bed, area, frame.top, specs, materials, base)
        tiered = len(bed.frames) > 1
        tops = [frame.top for frame in bed.frames]
        layers += in_frames(columns, tops, lift=LIFT) if tiered else columns.get(1, [])
    return tuple(layers)


def _column(
    bed: Bed,
    area: float,
    depth: float,
    specs: Sequence[LayerSpec],
    materials: Mapping[str, Material],
    base: Sequence[tuple[str, float]],
) -> list[Layer]:
    """Return the layers under one ledge; a blend is split into layers of its parts, each as thick as its share."""
    layers: list[Layer] = []
    bottom = 0.0
    for number, (spec, thickness) in enumerate(zip(specs, thicknesses(specs, depth), strict=True)):
        parts = _parts(spec, base)
        blend = spec.material if spec.mix or len(parts) > 1 else ""
        soil = any(material_named(name, materials).kind == "mineral" for name, _, _ in parts)
        lifts = max(1, math.ceil(thickness / LIFT - 1e-6)) if soil else 1
        at_bottom = all(layer.base for layer in layers)
        for name, share, stands_in in parts:
            material, part_thickness = material_named(name, materials), thickness * share
            coarse_at_bottom = at_bottom and material.coarse_organic
            layers.append(
                Layer(
                    bed=bed.id,
                    order=len(layers),
                    material=name,
                    bottom=bottom,
                    top=bottom + part_thickness,
                    volume=area * part_thickness,
                    mass=area * part_thickness * material.density,
                    mass_wet=area * part_thickness * material.density_wet,
                    settled=part_thickness * (1 - material.settling_first),
                    blend=blend,
                    base=material.kind == "coarse" or stands_in or coarse_at_bottom,
                    lifts=lifts,
                    recipe_layer=number,
                )
            )
            bottom += part_thickness
    return layers


def _parts(spec: LayerSpec, base: Sequence[tuple[str, float]]) -> list[tuple[str, float, bool]]:
    """Return the materials of a layer with their shares, and whether each stands in for coarse organic material."""
    parts: list[tuple[str, float, bool]] = []
    for name, share in spec.parts:
        if name == COARSE and base:
            parts += [(part, share * part_share, True) for part, part_share in base]
        else:
            parts.append((name, share, False))
    return parts


def volume_needs(layers: Sequence[Layer]) -> dict[str, float]:
    """Return the loose volume of each material in all layers, by name. [m3]"""
    needs: dict[str, float] = {}
    for layer in layers:
        needs[layer.material] = needs.get(layer.material, 0.0) + layer.volume
    return needs


def without_coarse(layers: Sequence[LayerSpec], materials: Mapping[str, Material]) -> tuple[LayerSpec, ...]:
    """Return layers in which every coarse material, also in blends, is replaced by the same volume of topsoil.

    Examples
    --------
    >>> chips = Material(name="wood chips", kind="coarse", density=300, density_wet=420, settling_first=0.2,
    ...                  settling_later=0.08, shovel_rate=0.8)
    >>> layers = (LayerSpec(material="wood chips", fraction=1),)
    >>> without_coarse(layers, {"wood chips": chips})[0].material
    'topsoil'
    """

    def plain(name: str) -> str:
        return SOIL if material_named(name, materials).kind == "coarse" else name

    return tuple(
        replace(spec, mix=tuple((plain(name), share) for name, share in spec.mix))
        if spec.mix
        else replace(spec, material=plain(spec.material))
        for spec in layers
    )


def by_bed(layers: Sequence[Layer]) -> dict[str, list[Layer]]:
    """Return the layers of each bed, by its id."""
    beds: dict[str, list[Layer]] = {}
    for layer in layers:
        beds.setdefault(layer.bed, []).append(layer)
    return beds


def root_layers(layers: Sequence[Layer], materials: Mapping[str, Material]) -> tuple[Layer, ...]:
    """Return the layers of the root zone: without coarse base, sheets and materials that belong below the roots."""
    return tuple(
        layer
        for layer in layers
        if not layer.base
        and (material := material_named(layer.material, materials)).kind not in ("coarse", "sheet")
        and material.touches != "below"
    )


def soil_depth(layers: Sequence[Layer], materials: Mapping[str, Material]) -> float:
    """Return the depth of the root zone in the layers of one column. [m]"""
    return sum(layer.thickness for layer in root_layers(layers, materials))


def material_named(name: str, materials: Mapping[str, Material]) -> Material:
    """Return the material with a name.

    Raises
    ------
    ValueError
        If there is none; the message suggests the name that is nearest.
    """
    if name in materials:
        return materials[name]
    hint = nearest(name, materials)
    advice = f"did you mean {hint!r}?" if hint else "add it to the materials"
    raise ValueError(f"material {name!r} is not in the table of materials; {advice}")
