"""What should a gardener know before the beds are filled?

The shares and depths of a bed's layers, its walls and its ground are compared with limits of extension services and
of common practice. They do not replace a builder's judgement; the texts of the findings say so.

References
----------
Compost above half: one all-compost bed of 27 urban gardens lost its peppers, Oregon State University news release,
seen second-hand. Castings above a fifth: Atiyeh et al. 2000 to 2002, memory.
Nitrogen: Missouri Department of Conservation 1994, and Cooperband 2002 for 20 to 40 parts of carbon, seen.
Deeper soil on paving: several garden pages, seen second-hand.
Coarse base at most a third to half, 8 to 12 inches of soil on top, bracing over 18 inches, a tie across a long side
over 8 ft, 18 inches of depth on paving: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Literal

from siteplan.fill.bed_ground import bed_base, ground_fall, native_soil, over_lead, volume_over_ground
from siteplan.fill.bed_tiers import tier_fills
from siteplan.fill.earth_pressure import even_spans
from siteplan.fill.fill_results import Layer
from siteplan.fill.recipe import adds_up, by_bed, layers_of, material_named, root_layers, soil_depth
from siteplan.fill.safety import is_compost
from siteplan.fill.tier_layers import by_tier
from siteplan.land.constants import Material
from siteplan.land.features import Bed
from siteplan.land.findings import Finding, finding
from siteplan.land.outline import smallest_rectangle
from siteplan.land.site import Site
from siteplan.land.unit_sizes import INCH

MOST_COMPOST, MOST_CASTINGS, MOST_COARSE = 0.50, 0.20, 0.50
MOST_CARBON = 40.0  # to one of nitrogen
LEAST_SOIL, GOOD_SOIL, MORE_ON_PAVING = 8 * INCH, 12 * INCH, 6 * INCH
PAVED_DEPTH = 18 * INCH
BRACED_ABOVE = 18 * INCH  # height of a wall
TIED_ABOVE = 96 * INCH  # length of a wall
LEVEL_WITHIN = 4 * INCH  # across a bed
UNEVEN_BY = 0.02  # of the volume
_JUST = 1e-9  # tolerance for rounding
_CROP_JUST = 0.005  # m; tolerance for depths of soil
_HIGH_JUST = 1e-6  # m; tolerance for the height of a wall
_CUT_JUST = 0.02  # m; tolerance for the length of a board

Columns = Mapping[int, Sequence[Layer]]


def why_braced(length: float, height: float) -> Literal["high", "long", ""]:
    """Return why the walls of a frame want braces across; empty if they want none.

    Parameters
    ----------
    length, height : float
        Length of its longer side, and height of the fill that loads its walls (`bed_tiers.wall_height`). [m]

    Examples
    --------
    >>> why_braced(2.4, 0.6), why_braced(3.6, 0.3), why_braced(2.4, 0.3)
    ('high', 'long', '')
    """
    if height > BRACED_ABOVE + _HIGH_JUST:
        return "high"
    return "long" if length > TIED_ABOVE + _CUT_JUST else ""


def bed_findings(site: Site, layers: Sequence[Layer]) -> Iterator[Finding]:
    """Yield the findings about each bed of a site, bed by bed.

    Parameters
    ----------
    site : Site
    layers : sequence of Layer
        Of its beds.
    """
    of_bed = by_bed(layers)
    for bed in site.beds:
        if bed.id not in of_bed:
            yield finding("no-inside", bed.id)
            continue
        columns = by_tier(of_bed[bed.id])
        for tier in columns:
            depth = bed.frames[tier - 1].top
            if not adds_up(layers_of(bed, site.recipe, depth), depth):
                yield finding("recipe-scaled", bed.id, depth=depth, **_which(bed, tier))
        yield from _shares(bed, of_bed[bed.id], site.materials)
        yield from _depths(bed, columns, site.materials)
        yield from _crops(site, bed, columns)
        yield from _walls(bed, of_bed[bed.id], site.materials)
        yield from _ground(site, bed)


def _which(bed: Bed, tier: int) -> dict[str, int]:
    """Return the figure that tells which tier a finding is about; none where the bed is one frame."""
    return {"tier": tier} if len(bed.frames) > 1 else {}


def _shares(bed: Bed, layers: Sequence[Layer], materials: Mapping[str, Material]) -> Iterator[Finding]:
    """Yield findings if there is too much compost or castings in the root zone."""
    roots = root_layers(layers, materials)
    volume = sum(layer.volume for layer in roots)
    if volume <= 0:
        yield finding("no-soil", bed.id)
        return
    compost = sum(layer.volume for layer in roots if is_compost(materials[layer.material])) / volume
    castings = sum(layer.volume for layer in roots if "castings" in layer.material) / volume
    if compost > MOST_COMPOST + _JUST:
        yield finding("compost-share", bed.id, share=compost)
    if castings > MOST_CASTINGS + _JUST:
        yield finding("castings-share", bed.id, share=castings)


def _depths(bed: Bed, columns: Columns, materials: Mapping[str, Material]) -> Iterator[Finding]:
    """Yield findings if the coarse base is too thick, the soil too shallow, or fresh wood lies among the roots."""
    base_thickness = {tier: _coarse(layers) for tier, layers in columns.items()}
    shares = {tier: base_thickness[tier] / bed.frames[tier - 1].top for tier in sorted(columns)}
    coarsest = max(shares, key=shares.__getitem__)  # of equal ones the lowest
    if shares[coarsest] > MOST_COARSE * (1 + _JUST):
        yield finding("coarse-share", bed.id, share=shares[coarsest], **_which(bed, coarsest))
    for tier, layers in columns.items():
        soil = soil_depth(layers, materials)
        if base_thickness[tier] and soil < LEAST_SOIL - _JUST:
            figures = {"soil": soil, "least": LEAST_SOIL, "good": GOOD_SOIL, **_which(bed, tier)}
            yield finding("shallow-soil", bed.id, **figures)
    wood = (
        materials[layer.material]
        for column in columns.values()
        for layer in column
        if _takes_nitrogen(materials[layer.material]) and _touches_roots(layer, column, materials)
    )
    if material := next(wood, None):
        yield finding("nitrogen", bed.id, material=material.name, carbon=material.carbon_nitrogen)


def _coarse(layers: Sequence[Layer]) -> float:
    """Return how thick the coarse base of one column is. [m]"""
    return sum(layer.thickness for layer in layers if layer.base)


def _takes_nitrogen(material: Material) -> bool:
    """Return whether a material binds nitrogen while it decays: coarse wood, or a C:N ratio above 40."""
    return material.kind == "coarse" or (material.carbon_nitrogen or 0.0) > MOST_CARBON


def _touches_roots(wood: Layer, layers: Sequence[Layer], materials: Mapping[str, Material]) -> bool:
    """Return whether wood is mixed with soil, lies between soil and soil, or has hardly any soil on it."""
    soil = [
        layer
        for layer in root_layers(layers, materials)
        if not _takes_nitrogen(material_named(layer.material, materials))
    ]
    is_mixed = wood.blend != "" and any(layer.mixture == wood.mixture for layer in soil)
    is_on_soil = any(layer.order < wood.order for layer in soil)
    soil_above = sum(layer.thickness for layer in soil if layer.order > wood.order)
    is_between = is_on_soil and soil_above > 0
    return is_mixed or is_between or 0 < soil_above < LEAST_SOIL - _JUST


def _crops(site: Site, bed: Bed, columns: Columns) -> Iterator[Finding]:
    """Yield findings for the crops of a bed that need more soil than the bed has, on all or some of its tiers."""
    depths = {tier: soil_depth(layers, site.materials) for tier, layers in columns.items()}
    soil = max(depths.values())
    extra_on_paving = MORE_ON_PAVING if bed_base(site, bed) == "paving" else 0.0
    needed = {name: site.crops[name].bed_depth + extra_on_paving for name in bed.crops if name in site.crops}
    native = native_soil(site, bed)
    shallow = tuple((name, depth) for name, depth in needed.items() if depth > soil + native + _CROP_JUST)
    if shallow:
        yield finding("crop-depth", bed.id, soil=soil, below=native, wanted=shallow)
    for tier, depth in depths.items():
        higher = tuple(
            (name, need) for name, need in needed.items() if depth + _CROP_JUST < need <= soil + _CROP_JUST
        )
        if higher:
            yield finding("crop-tier", bed.id, soil=depth, wanted=higher, tier=tier)


def _walls(bed: Bed, layers: Sequence[Layer], materials: Mapping[str, Material]) -> Iterator[Finding]:
    """Yield where walls are so high that they need braces, or so long that they need a tie."""
    if bed.wall_thickness == 0:
        return
    for tier, frame in zip(tier_fills(bed, layers, materials), bed.frames, strict=True):
        length, _, _ = smallest_rectangle(frame.outline)
        spans = even_spans(length, tier.wall_height)
        figures = {"count": spans - 1, "step": length / spans, **_which(bed, tier.tier)}
        why = why_braced(length, tier.wall_height)
        if why == "high":
            yield finding("wall-bracing", bed.id, high=BRACED_ABOVE, thrust=tier.wall_thrust, **figures)
        elif why == "long":
            yield finding("wall-span", bed.id, long=TIED_ABOVE, **figures)


def _ground(site: Site, bed: Bed) -> Iterator[Finding]:
    """Yield the findings about the ground under a bed."""
    if bed_base(site, bed) == "paving":
        if min(frame.top for frame in bed.frames if frame.column.area) < PAVED_DEPTH - 1e-6:
            yield finding("on-paving", bed.id, deep=PAVED_DEPTH)
        yield finding("ground-load", bed.id)
    elif over_lead(site, bed):
        yield finding("lead-barrier", bed.id)
    fall = ground_fall(site, bed)
    if fall > LEVEL_WITHIN:
        level = volume_over_ground(bed, None)
        excess = volume_over_ground(bed, site.terrain) / level - 1 if level else 0.0
        yield finding("uneven-ground", bed.id, fall=fall, more=excess if abs(excess) > UNEVEN_BY else 0.0)
