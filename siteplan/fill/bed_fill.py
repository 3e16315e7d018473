"""What are the volume, weight, pressure and water of one bed?

Sums over its layers; the water that moistens them, from the share of water that each kind of material holds; and a
week's watering, as a depth over the area. Rain and local climate are not considered.

References
----------
Available water: loam 1.5 to 2.1 in/ft, USDA NRCS feel-and-appearance pages, seen; sand 0.6 to 1.2 in/ft, memory;
compost and coarse wood: common practice, no source.
One inch a week: watering pages, seen. Drip 0.85, sprinkler 0.70: garden press, seen second-hand.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from siteplan.fill.bed_ground import bed_base, over_lead, volume_over_ground
from siteplan.fill.bed_results import BedFill
from siteplan.fill.bed_tiers import tier_fills
from siteplan.fill.earth_pressure import ground_pressure
from siteplan.fill.fill_results import Layer
from siteplan.fill.recipe import by_bed, inside, material_named
from siteplan.fill.settling import loose_volume
from siteplan.land.constants import Material
from siteplan.land.features import Bed
from siteplan.land.site import Site
from siteplan.land.unit_sizes import INCH

INCH_A_WEEK = INCH
#: available water capacity as a share of the volume, by kind and by name
HELD_BY_KIND = {"coarse": 0.10, "mineral": 0.15, "organic": 0.25, "amendment": 0.25, "sheet": 0.30}
HELD_BY_NAME = {"sand": 0.075, "gravel": 0.02}
#: share of it that the material already holds when delivered. Common practice, no source
HELD_ALREADY = 0.5


def bed_fills(site: Site, layers: Sequence[Layer]) -> tuple[BedFill, ...]:
    """Return the figures of each bed; beds without layers are left out."""
    return tuple(_bed_fill(site, site.bed(bed), of_bed) for bed, of_bed in by_bed(layers).items())


def _bed_fill(site: Site, bed: Bed, layers: Sequence[Layer]) -> BedFill:
    area = float(inside(bed).area)
    volume, mass_wet = sum(layer.volume for layer in layers), sum(layer.mass_wet for layer in layers)
    tiers = tier_fills(bed, layers, site.materials)
    lowest, highest = tiers[0], tiers[-1]
    over_ground = volume_over_ground(bed, site.terrain)
    base, flow = bed_base(site, bed), site.water.flow
    layer_water = tuple(moistening_water(layer, site.materials) for layer in layers)
    weekly_water = watering(
        sum(tier.area for tier in tiers), depth=site.water.weekly, efficiency=site.water.efficiency
    )
    return BedFill(
        bed=bed.id,
        area=area,
        depth=bed.height,
        volume=volume,
        mass=sum(layer.mass for layer in layers),
        mass_wet=mass_wet,
        settled_depth=highest.settled_depth,
        ground_pressure=ground_pressure(mass_wet, area),
        wall_pressure=lowest.wall_pressure,
        wall_thrust=lowest.wall_thrust,
        brace_spacing=lowest.brace_spacing,
        moistening_water=sum(layer_water),
        weekly_water=weekly_water,
        volume_over_ground=over_ground if math.isfinite(over_ground) else volume,
        lining_area=0.0 if site.recipe.lining in ("none", "") or base == "paving" else area,
        volume_full_after_a_year=sum(
            loose_volume(layer.volume, site.materials[layer.material].settling_first) for layer in layers
        ),
        on=base,
        barrier=over_lead(site, bed),
        layer_water=layer_water,
        moistening_hose=None if flow is None else sum(layer_water) / flow,
        weekly_hose=None if flow is None else weekly_water / flow,
        tiers=tiers,
    )


def moistening_water(layer: Layer, materials: Mapping[str, Material]) -> float:
    """Return the water that brings a fresh layer to field capacity: as moist as a wrung-out sponge. [m3]

    As delivered, it already holds half of that.

    Examples
    --------
    >>> soil = Material(name="topsoil", kind="mineral", density=1250, density_wet=1500, settling_first=0.1,
    ...                 settling_later=0.03, shovel_rate=0.5)
    >>> layer = Layer(bed="a", order=0, material="topsoil", bottom=0, top=1, volume=2, mass=2500, settled=0.9)
    >>> moistening_water(layer, {"topsoil": soil})
    0.15
    """
    by_kind = HELD_BY_KIND.get(material_named(layer.material, materials).kind, HELD_BY_KIND["mineral"])
    return layer.volume * HELD_BY_NAME.get(layer.material, by_kind) * (1 - HELD_ALREADY)


def watering(area: float, *, depth: float = INCH_A_WEEK, efficiency: float = 1.0) -> float:
    """Return the volume of water for watering an area to a depth.

    Parameters
    ----------
    area : float
        [m2]
    depth : float
        One inch, a usual week's need. [m]
    efficiency : float
        Share that reaches the roots, above 0 and at most 1: 0.85 by drip, 0.70 by sprinkler.

    Returns
    -------
    float
        [m3]

    Raises
    ------
    ValueError
        Where the efficiency is outside that range.

    Examples
    --------
    >>> round(watering(32 * 0.09290304) * 1000, 1)
    75.5
    """
    if not 0 < efficiency <= 1:
        raise ValueError(f"efficiency is {efficiency:g}, must be above 0 and at most 1")
    return area * depth / efficiency
