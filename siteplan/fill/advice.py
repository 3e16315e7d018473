"""What should be known before this fill goes into these beds?

The shares and depths of the layers held against the limits of extension services and of common practice, and the
dangers of the work itself. It leaves out a builder's and a physician's judgement: each caution defers to them.

References
----------
Compost above half: one all-compost bed of 27 urban gardens lost its peppers, Oregon State University news release,
seen second-hand. Castings above a fifth: Atiyeh et al. 2000 to 2002, memory. Coarse base at most a third to half,
8 to 12 inches of soil on top, bracing over 18 inches: common practice, no source.
Nitrogen: Missouri Department of Conservation 1994, and Cooperband 2002 for 20 to 40 parts of carbon, seen.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from siteplan.fill.dangers import is_compost, job_dangers
from siteplan.fill.ground import bed_base, ground_findings
from siteplan.fill.recipe import adds_up, known, upper_layers
from siteplan.fill.results import Layer, PurchaseLine
from siteplan.fill.weight import brace_spacing, wall_load
from siteplan.land.cautions import Finding, finding
from siteplan.land.features import Bed
from siteplan.land.materials import Material
from siteplan.land.outline import smallest_rectangle
from siteplan.land.site import Site

INCH = 0.0254  # m
MORE_ON_PAVING = 6 * INCH  # of soil, where roots cannot go deeper; several garden pages, seen second-hand
TIED_ABOVE = 96 * INCH  # a long side of 8 ft; common practice, no source
MOST_COMPOST, MOST_CASTINGS, MOST_COARSE = 0.50, 0.20, 0.50
MOST_CARBON = 40.0  # to one of nitrogen; 20 to 40 compost well
LEAST_SOIL, GOOD_SOIL = 8 * INCH, 12 * INCH
BRACED_ABOVE = 18 * INCH
_JUST = 1e-9


def fill_findings(site: Site, layers: Sequence[Layer], purchase: Sequence[PurchaseLine]) -> tuple[Finding, ...]:
    """Return what to know before filling.

    Parameters
    ----------
    site : Site
    layers : sequence of Layer
        Of its beds.
    purchase : sequence of PurchaseLine

    Returns
    -------
    tuple of Finding
        First bed by bed, then what concerns the job.
    """
    if not site.beds:
        return ()
    by_bed: dict[str, list[Layer]] = {bed.id: [] for bed in site.beds}
    for layer in layers:
        by_bed[layer.bed].append(layer)
    of_beds = [found for bed in site.beds for found in _bed_findings(site, bed, by_bed[bed.id])]
    return (*of_beds, *job_dangers(site, layers, purchase))


def _bed_findings(site: Site, bed: Bed, layers: Sequence[Layer]) -> Iterator[Finding]:
    if not layers:
        yield finding("no-inside", bed.id)
        return
    if not adds_up(site.recipe.layers, bed.height):
        yield finding("recipe-scaled", bed.id, depth=bed.height)
    yield from _share_findings(layers, site.materials, bed)
    yield from _depth_findings(layers, site.materials, bed)
    yield from _crop_findings(site, bed, layers)
    yield from _wall_findings(bed, layers)
    yield from ground_findings(site, bed)


def _share_findings(layers: Sequence[Layer], materials: Mapping[str, Material], bed: Bed) -> Iterator[Finding]:
    upper = upper_layers(layers, materials)
    volume = sum(layer.volume for layer in upper)
    if volume <= 0:
        yield finding("no-soil", bed.id)
        return
    compost = sum(layer.volume for layer in upper if is_compost(known(layer.material, materials))) / volume
    castings = sum(layer.volume for layer in upper if "castings" in layer.material) / volume
    if compost > MOST_COMPOST + _JUST:
        yield finding("compost-share", bed.id, share=compost)
    if castings > MOST_CASTINGS + _JUST:
        yield finding("castings-share", bed.id, share=castings)


def _depth_findings(layers: Sequence[Layer], materials: Mapping[str, Material], bed: Bed) -> Iterator[Finding]:
    coarse = [layer for layer in layers if known(layer.material, materials).kind == "coarse"]
    depth = sum(layer.top - layer.bottom for layer in coarse)
    soil = sum(layer.top - layer.bottom for layer in upper_layers(layers, materials))
    if depth > MOST_COARSE * bed.height * (1 + _JUST):
        yield finding("coarse-share", bed.id, share=depth / bed.height)
    if coarse and soil < LEAST_SOIL - _JUST:
        yield finding("shallow-soil", bed.id, soil=soil, least=LEAST_SOIL, good=GOOD_SOIL)
    for layer in layers:
        material = known(layer.material, materials)
        if _takes_nitrogen(material) and _touches_roots(layer, layers, materials):
            yield finding("nitrogen", bed.id, material=material.name, carbon=material.carbon_nitrogen)
            return


def _crop_findings(site: Site, bed: Bed, layers: Sequence[Layer]) -> Iterator[Finding]:
    """Yield which of the crops named for a bed want more soil than lies above its coarse base."""
    soil = sum(layer.top - layer.bottom for layer in upper_layers(layers, site.materials))
    more = MORE_ON_PAVING if bed_base(site, bed) == "paving" else 0.0
    wanted = {name: site.crops[name].bed_depth + more for name in bed.crops if name in site.crops}
    shallow = tuple((name, depth) for name, depth in wanted.items() if depth > soil + 0.005)
    if shallow:
        yield finding("crop-depth", bed.id, soil=soil, wanted=shallow)


def _takes_nitrogen(material: Material) -> bool:
    """Return whether a material binds nitrogen while it decays: wood, and what has over 40 parts of carbon to one."""
    return material.kind == "coarse" or (material.carbon_nitrogen or 0.0) > MOST_CARBON


def _touches_roots(wood: Layer, layers: Sequence[Layer], materials: Mapping[str, Material]) -> bool:
    """Return whether wood is mixed with soil, lies between soil and soil, or has hardly any soil on it."""
    soil = [
        layer for layer in upper_layers(layers, materials) if not _takes_nitrogen(known(layer.material, materials))
    ]
    mixed = wood.blend != "" and any(layer.blend == wood.blend for layer in soil)
    below = any(layer.order < wood.order for layer in soil)
    above = sum(layer.top - layer.bottom for layer in soil if layer.order > wood.order)
    return mixed or (below and above > 0) or 0 < above < LEAST_SOIL - _JUST


def _wall_findings(bed: Bed, layers: Sequence[Layer]) -> Iterator[Finding]:
    if bed.wall_thickness == 0:
        return
    span, _, _ = smallest_rectangle(bed.outline)
    braces = brace_spacing(bed.height)
    if bed.height > BRACED_ABOVE + 1e-6:
        density = sum(layer.mass_wet for layer in layers) / sum(layer.volume for layer in layers)
        thrust = wall_load(bed.height, density).thrust
        yield finding("wall-bracing", bed.id, high=BRACED_ABOVE, thrust=thrust, braces=braces)
    elif span > TIED_ABOVE + 0.02:
        yield finding("wall-span", bed.id, long=TIED_ABOVE, braces=braces)
