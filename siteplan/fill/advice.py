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

from collections.abc import Mapping, Sequence

from siteplan.fill.dangers import Found, is_compost, job_dangers
from siteplan.fill.ground import bed_base, ground_findings
from siteplan.fill.recipe import adds_up, known, upper_layers
from siteplan.fill.results import Layer, PurchaseLine
from siteplan.fill.weight import brace_spacing, wall_load
from siteplan.land.cautions import Caution
from siteplan.land.constants import Material
from siteplan.land.features import Bed
from siteplan.land.outline import smallest_rectangle
from siteplan.land.site import Site
from siteplan.land.units import System, length_text

INCH = 0.0254  # m
MORE_ON_PAVING = 6 * INCH  # of soil, where roots cannot go deeper; several garden pages, seen second-hand
TIED_ABOVE = 96 * INCH  # a long side of 8 ft; common practice, no source
MOST_COMPOST, MOST_CASTINGS, MOST_COARSE = 0.50, 0.20, 0.50
MOST_CARBON = 40.0  # to one of nitrogen; 20 to 40 compost well
LEAST_SOIL, GOOD_SOIL = 8 * INCH, 12 * INCH
BRACED_ABOVE = 18 * INCH
_JUST = 1e-9


def fill_cautions(site: Site, layers: Sequence[Layer], purchase: Sequence[PurchaseLine]) -> tuple[Caution, ...]:
    """Return what to know before filling, each said once.

    Parameters
    ----------
    site : Site
    layers : sequence of Layer
        Of its beds.
    purchase : sequence of PurchaseLine

    Returns
    -------
    tuple of Caution
        First what concerns single beds (several beds of the same fault are named in one), then the job.
    """
    if not site.beds:
        return ()
    by_bed: dict[str, list[Layer]] = {bed.id: [] for bed in site.beds}
    for layer in layers:
        by_bed[layer.bed].append(layer)
    found: dict[tuple[str, str], list[str]] = {}
    for bed in site.beds:
        for code, text in _bed_findings(site, bed, by_bed[bed.id]):
            beds = found.setdefault((code, text), [])
            if bed.id not in beds:
                beds.append(bed.id)
    cautions = [
        Caution(code, beds[0], text) if len(beds) == 1 else Caution(code, "", f"Beds {', '.join(beds)}: {text}")
        for (code, text), beds in found.items()
    ]
    cautions += [Caution(code, "", text) for code, text in job_dangers(site, layers, purchase)]
    return tuple(dict.fromkeys(cautions))


def _bed_findings(site: Site, bed: Bed, layers: Sequence[Layer]) -> Found:
    if not layers:
        yield "no-inside", "The walls leave no inside to fill; check the wall thickness against the bed's width."
        return
    if not adds_up(site.recipe.layers, bed.height):
        deep = length_text(bed.height, site.units)
        yield (
            "recipe-scaled",
            (
                f"The recipe's layers do not add up to the inside depth of {deep}; "
                "they are stretched or squeezed to fill it."
            ),
        )
    yield from _share_findings(layers, site.materials)
    yield from _depth_findings(layers, site.materials, bed, site.units)
    yield from _crop_findings(site, bed, layers)
    yield from _wall_findings(bed, layers, site.units)
    yield from ground_findings(site, bed)


def _share_findings(layers: Sequence[Layer], materials: Mapping[str, Material]) -> Found:
    upper = upper_layers(layers, materials)
    volume = sum(layer.volume for layer in upper)
    if volume <= 0:
        yield "no-soil", "Nothing but coarse material: there is no soil for roots."
        return
    compost = sum(layer.volume for layer in upper if is_compost(known(layer.material, materials))) / volume
    castings = sum(layer.volume for layer in upper if "castings" in layer.material) / volume
    if compost > MOST_COMPOST + _JUST:
        yield (
            "compost-share",
            (
                f"Compost and the like make up {compost:.0%} of what lies above the "
                f"coarse base. Above half, salts and "
                "nutrients build up and the bed sinks; a third is the usual advice."
            ),
        )
    if castings > MOST_CASTINGS + _JUST:
        yield (
            "castings-share",
            (
                f"Worm castings make up {castings:.0%} of what lies above the coarse "
                f"base. Above a fifth they can slow "
                "growth; a twentieth is already of use."
            ),
        )


def _depth_findings(layers: Sequence[Layer], materials: Mapping[str, Material], bed: Bed, units: System) -> Found:
    coarse = [layer for layer in layers if known(layer.material, materials).kind == "coarse"]
    depth = sum(layer.top - layer.bottom for layer in coarse)
    soil = sum(layer.top - layer.bottom for layer in upper_layers(layers, materials))
    if depth > MOST_COARSE * bed.height * (1 + _JUST):
        yield (
            "coarse-share",
            (
                f"The coarse layers take {depth / bed.height:.0%} of the depth. A third to half is the usual most: "
                "they sink for years, and roots want the rest."
            ),
        )
    if coarse and soil < LEAST_SOIL - _JUST:
        yield (
            "shallow-soil",
            (
                f"Only {length_text(soil, units)} of soil lie above the coarse base. Roots want "
                f"{length_text(LEAST_SOIL, units)} at least, better {length_text(GOOD_SOIL, units)}: "
                "less coarse material, or a higher bed."
            ),
        )
    yield from _nitrogen_findings(layers, materials)


def _crop_findings(site: Site, bed: Bed, layers: Sequence[Layer]) -> Found:
    """Yield a word where the crops named for a bed want more soil than lies above its coarse base."""
    soil = sum(layer.top - layer.bottom for layer in upper_layers(layers, site.materials))
    more = MORE_ON_PAVING if bed_base(site, bed) == "paving" else 0.0
    wanted = {name: site.crops[name].bed_depth + more for name in bed.crops if name in site.crops}
    shallow = {name: depth for name, depth in wanted.items() if depth > soil + 0.005}
    if shallow:
        listed = ", ".join(f"{name} ({length_text(depth, site.units)})" for name, depth in shallow.items())
        yield (
            "crop-depth",
            (
                f"{length_text(soil, site.units)} of soil lie above the coarse base, less than these want: {listed}. "
                "Less coarse material, a higher bed, or crops with shallower roots."
            ),
        )


def _nitrogen_findings(layers: Sequence[Layer], materials: Mapping[str, Material]) -> Found:
    hungry = dict.fromkeys(
        layer.material
        for layer in layers
        if _takes_nitrogen(known(layer.material, materials)) and _touches_roots(layer, layers, materials)
    )
    if not hungry:
        return
    name = next(iter(hungry))
    ratio = known(name, materials).carbon_nitrogen
    about = f" ({name}: about {ratio:.0f} parts of carbon to one of nitrogen)" if ratio else ""
    yield (
        "nitrogen",
        (
            f"Fresh wood or straw within the reach of roots takes up nitrogen while it decays{about}, worst when "
            "mixed in. Keep it at the bottom under the soil, or on top as a mulch, or feed more nitrogen in the "
            "first years."
        ),
    )


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


def _wall_findings(bed: Bed, layers: Sequence[Layer], units: System) -> Found:
    if bed.wall_thickness == 0:
        return
    span, _, _ = smallest_rectangle(bed.outline)
    if bed.height <= BRACED_ABOVE + 1e-6:
        if span > TIED_ABOVE + 0.02:
            braced = length_text(brace_spacing(bed.height), units)
            yield (
                "wall-span",
                (
                    f"Walls longer than {length_text(TIED_ABOVE, units)} bulge: boards of this height are commonly "
                    f"braced every {braced} and tied across at the middle of the long side. Ask a builder."
                ),
            )
        return
    density = sum(layer.mass_wet for layer in layers) / sum(layer.volume for layer in layers)
    load = wall_load(bed.height, density)
    thrust = f"{load.thrust / 1000:.1f} kN per metre"
    if units == "imperial":
        thrust = f"{load.thrust / 14.5939:.0f} lb per foot"  # 1 lbf/ft = 14.5939 N/m
    yield (
        "wall-bracing",
        (
            f"Walls over {length_text(BRACED_ABOVE, units)} high want bracing: wet "
            f"fill pushes with about {thrust} of "
            f"wall. Boards are commonly braced every "
            f"{length_text(brace_spacing(bed.height), units)} and tied across at "
            "the middle of a long side. Ask a builder, and the local code."
        ),
    )
