"""What is said about the fill: fill marks, bags and barrows, water and cost?

Text for the terminal and the work sheet, rounded as people buy and measure; exact values are in plan.json.
Templates do the layout; cautions come with the plan.

References
----------
Squeeze test for moisture: compost as moist as a wrung-out sponge, seen; a ball that shows finger marks, USDA NRCS
feel-and-appearance pages, seen; a few drops of water, common practice, no source.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from siteplan.fill.bed_ground import LAP
from siteplan.fill.bed_results import BedFill
from siteplan.fill.buying_programme import ENOUGH, SHORT
from siteplan.fill.fill_results import Layer, Supply
from siteplan.haul.loads.loads import supply_trips
from siteplan.land.layers import LOW_BELOW
from siteplan.land.unit_sizes import INCH
from siteplan.land.units import System, length_text, mass_text, pressure_text, water_text
from siteplan.say.figures import money_text, plural, volume_among
from siteplan.say.fill_prices import break_even_sentences, price_sentences
from siteplan.say.phrases import listed
from siteplan.say.safe_text import plain_text
from siteplan.say.topping_up import left_over_rows, top_up_rows

if TYPE_CHECKING:
    from siteplan.records import Answers

#: how any bed is filled, whatever the materials
HOW = (
    (
        "Start with the bottom layer, and rake each layer level at its mark before the next goes in. Press coarse "
        "pieces close together, and let soil fall into the gaps."
    ),
    (
        "Soil goes in by lifts of a hand's width at most, with a box to tick for each. Rake a lift level, wet it and "
        "let it settle before the next; tread on none of it."
    ),
    "Water each layer with the rose of a can. The amount named is for half-dry material; use less where it is wet.",
    (
        "Check by hand: squeeze a handful from the middle. It is right when it feels like a wrung-out sponge, keeps "
        "the marks of your fingers and gives a few drops at most. If it crumbles, water it; if water runs out, wait."
    ),
    "Fill to the brim, since the fill settles. Measure again after the first rain, and in autumn.",
)


#: how the ground under a bed is prepared
_GROUND_FIRST = {
    "paving": "Leave gaps at the foot of the walls for the water to run off.",
    "lawn": "Mow the grass as short as you can; there is no need to lift the turf.",
    "soil": "Pull the weeds and loosen the ground with a fork, if no service lies there.",
    "unknown": "Mow or weed the ground.",
}


def ground_first(plan: Answers, bed: BedFill) -> tuple[str, ...]:
    """Return how the ground is prepared before filling, in the order of the steps."""
    steps = [_GROUND_FIRST[bed.on]]
    if bed.barrier:
        steps.append("Line the whole floor and the walls with a root barrier that lets water through.")
    if bed.lining_area > 0:
        lap, lining = length_text(LAP, plan.site.units), plan.site.recipe.lining
        steps.append(
            f"Take tape and staples off. Lay {lining} over the whole floor with {lap} of overlap, and soak it."
        )
    return tuple(steps)


def fill_rows(plan: Answers, bed_id: str) -> list[dict[str, str]]:
    """Return the layers of one bed from the bottom up: material, fill mark, loose volume, supply, and water.

    All parts of a blend have the fill mark of the blend, since they are mixed before they go in. In a bed with tiers
    each row names the tier under whose open soil the layer lies. The first row of each higher frame says to set that
    frame.
    """
    fill, units = plan.fill, plan.site.units
    if fill is None:
        return []
    layers = [layer for layer in fill.layers if layer.bed == bed_id]
    water = next((bed.layer_water for bed in fill.beds if bed.bed == bed_id), ())
    tiered = len(plan.site.bed(bed_id).frames) > 1
    return [
        {
            "step": _frame_step(layer, layers),
            "material": _named(layer, tiered=tiered),
            "lifts": lifts_text(layer, layers, units),
            "boxes": str(layer.lifts),
            "top": length_text(_mark(layer, layers), units),
            "volume": volume_among(layer.volume, (other.volume for other in fill.layers), units),
            "comes": comes_text(plan, layer),
            "water": water_text(amount, units),
        }
        for layer, amount in zip(layers, water, strict=True)
    ]


def base_lines(plan: Answers) -> list[str]:
    """Return a sentence for each bed without a coarse base, on why it has none."""
    beds = [bed.bed for bed in plan.fill.beds] if plan.fill else []
    return [f"{plain_text(bed, longest=60)}: {line}" for bed in beds if (line := base_line(plan, bed))]


def lifts_text(layer: Layer, layers: list[Layer], units: System) -> str:
    """Return in how many lifts soil goes in, and how thick each is; empty if it goes in all at once."""
    if layer.lifts == 1:
        return ""
    blend = _whole(layer, layers)
    thickness = (blend[-1].top - blend[0].bottom) / layer.lifts
    return f"in {layer.lifts} lifts of {length_text(thickness, units)}"


def _named(layer: Layer, *, tiered: bool) -> str:
    """Return the material of a layer, and the tier that it lies under."""
    name = f"{layer.material}, mixed in" if layer.blend else layer.material
    return f"{name} (tier {layer.tier})" if tiered else name


def _frame_step(layer: Layer, layers: list[Layer]) -> str:
    """Return the step before a layer goes in, if a higher frame is set then; else empty."""
    if layer.frame == 1 or layers[layer.order - 1].frame == layer.frame:
        return ""
    return f"Set frame {layer.frame} on the soil, then go on"


def _mark(layer: Layer, layers: list[Layer]) -> float:
    """Return the height of a layer's top; for a part of a blend, the top of the blend. [m]"""
    return _whole(layer, layers)[-1].top


def _whole(layer: Layer, layers: list[Layer]) -> list[Layer]:
    """Return a layer by itself, or all parts of its blend."""
    if not layer.blend:
        return [layer]
    lowest = highest = layer.order
    while lowest > 0 and _together(layers[lowest - 1], layer):
        lowest -= 1
    while highest + 1 < len(layers) and _together(layers[highest + 1], layer):
        highest += 1
    return layers[lowest : highest + 1]


def _together(layer: Layer, other: Layer) -> bool:
    """Return whether two layers are parts of the same blend in the same tier and frame."""
    return (layer.mixture, layer.tier, layer.frame) == (other.mixture, other.tier, other.frame)


def base_line(plan: Answers, bed_id: str) -> str:
    """Return why a bed, or a tier of it, has no coarse base; empty if it has one, or if its layers are given."""
    site = plan.site
    bed = site.bed(bed_id)
    low_frames = [frame.number for frame in bed.frames if frame.column.area and frame.top < LOW_BELOW]
    if bed.layers or site.recipe.layers or not low_frames:
        return ""
    numbers = listed([str(number) for number in low_frames])
    subject = "It is" if len(bed.frames) == 1 else f"Tier {numbers} is"
    gets, whose = "it gets", "its"
    if len(low_frames) > 1:
        subject, gets, whose = f"Tiers {numbers} are", "they get", "their"
    low = length_text(18 * INCH, "imperial") if site.units == "imperial" else "45 cm"
    return (
        f"{subject} lower than {low}, so {gets} no coarse base: roots want {whose} whole depth, and a base sinks for "
        "years (common practice)"
    )


def comes_text(plan: Answers, layer: Layer) -> str:
    """Return in how many bags or barrows a layer comes, and from which pile; or that nothing is bought."""
    if plan.fill is None:
        return ""
    from siteplan.haul.delivery.packaging import bag_volumes  # imported only when a bed is filled

    bags = bag_volumes(plan.fill.purchase)
    supplies = [supply for supply in plan.fill.supplies if (supply.bed, supply.order) == (layer.bed, layer.order)]
    parts = [_supply_text(plan, supply, bags) for supply in supplies]
    if math.fsum(supply.volume for supply in supplies) < layer.volume * (1 - ENOUGH) - SHORT:
        parts.append("the rest not bought" if parts else "not bought")
    return ", ".join(parts)


def _supply_text(plan: Answers, supply: Supply, bags: dict[str, float]) -> str:
    bag = None if supply.at else bags.get(supply.material)
    if bag is not None:
        return count_text(supply.volume / bag, "bag")
    barrows = plural(supply_trips(supply, plan.site.barrow).trips, "barrow")
    if supply.at:
        return f"{barrows} from {supply.at}"
    lacking = plan.fill is not None and supply.material in plan.fill.lacking
    return f"{barrows}, still to be found" if lacking else f"{barrows} delivered"


def count_text(count: float, word: str) -> str:
    """Return a count rounded to halves, with its noun; a bag may be shared between beds.

    Examples
    --------
    >>> count_text(9.98, "bag"), count_text(2.6, "bag"), count_text(0.1, "bag"), count_text(1, "bag")
    ('10 bags', '2 1/2 bags', '1/2 bag', '1 bag')
    """
    wholes, half = divmod(max(round(count * 2), 1), 2)
    text = " ".join(part for part in (str(wholes) if wholes else "", "1/2" if half else "") if part)
    return f"{text} {word}" if wholes + half / 2 <= 1 else f"{text} {word}s"


def bed_line(plan: Answers, bed: BedFill) -> str:
    """Return a sentence on one bed's weight on the ground and its water."""
    units = plan.site.units
    weight = (
        f"{mass_text(bed.mass_wet, units)} on a wet day, {pressure_text(bed.ground_pressure, units)} on the ground"
    )
    return f"{weight}; {water_text(bed.moistening_water, units)} of water to moisten it{_hose(bed.moistening_hose)}"


def weekly_line(plan: Answers, bed: BedFill) -> str:
    """Return how much water one bed needs in a week, and how long the hose runs for it."""
    units = plan.site.units
    depth = _depth_text(plan)
    return f"{depth} of water a week is {water_text(bed.weekly_water, units)}{_hose(bed.weekly_hose)}"


def full_line(plan: Answers, bed: BedFill) -> str:
    """Return how much fill it would take for the bed still to be full to the brim after a year."""
    units = plan.site.units
    volumes = (bed.volume_full_after_a_year, bed.volume)
    full, now = (volume_among(volume, volumes, units) for volume in volumes)
    return f"to be full by then it would need {full} loose instead of {now}"


def _depth_text(plan: Answers) -> str:
    metres = plan.site.water.weekly
    return length_text(metres, "imperial") if plan.site.units == "imperial" else f"{metres * 1000:.0f} mm"


def _hose(hours: float | None) -> str:
    return "" if hours is None else f" ({hose_text(hours)} of hose)"


def hose_text(hours: float | None) -> str:
    """Return how long a hose runs.

    Examples
    --------
    >>> hose_text(0.1), hose_text(2.5), hose_text(0.001), hose_text(None)
    ('6 min', '2 h 30 min', '1 min', '')
    """
    if hours is None:
        return ""
    full_hours, minutes = divmod(max(round(hours * 60), 1), 60)
    return " ".join(
        part for part in (f"{full_hours} h" if full_hours else "", f"{minutes} min" if minutes else "") if part
    )


def full_sentence(plan: Answers) -> str:
    """Return which beds are full already; empty if none is."""
    full = plan.fill.full if plan.fill else ()
    if not full:
        return ""
    names = [plain_text(bed, longest=60) for bed in full]
    return f"{listed(names)} {'is' if len(full) == 1 else 'are'} full already: nothing to bring."


def sheet_values(plan: Answers) -> dict[str, Any]:
    """Return what the work sheet says about the fill, apart from the layers."""
    return {
        "fill_how": HOW if plan.fill and plan.fill.layers else (),
        "fill_full": full_sentence(plan),
        "total_cost": money_text(plan.fill.price if plan.fill else None, plan.site.currency),
        "prices": price_sentences(plan),
        "break_evens": break_even_sentences(plan),
        "top_ups": top_up_rows(plan),
        "left_over": left_over_rows(plan),
    }
