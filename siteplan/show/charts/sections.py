"""How are a cross-section of a bed and the height profile of a route drawn?

The cross-section shows the layers to scale, each with its fill mark. The profile exaggerates heights so that slopes
show. See `siteplan.show.symbols` for beds and routes seen from above.
"""

from __future__ import annotations

from collections.abc import Sequence

from markupsafe import Markup

from siteplan.fill.fill_results import Layer
from siteplan.land.units import System, length_text
from siteplan.say.figures import volume_among
from siteplan.say.safe_text import page_text
from siteplan.show.charts.svg import picture

LEVEL = 0.005  # m; a smaller rise is none
#: pattern that fills each kind of material in a cross-section; the page defines patterns of these names
FILLS = {"coarse": "logs", "mineral": "grains", "organic": "crumbs", "amendment": "fine", "sheet": "sheet"}


def route_profile(along: Sequence[float], height: Sequence[float], units: System) -> Markup:
    """Return the height profile along a route, with heights exaggerated to fill the picture, at most 20 times.

    Parameters
    ----------
    along, height : sequence of float
        Distance from the start and height of the ground, at the same points. [m]
    units : str
    """
    wide, base, tall = 280.0, 52.0, 40.0
    lowest, highest, length = min(height), max(height), float(along[-1])
    upright = min(tall / max(highest - lowest, 0.05), 20 * wide / length)
    spots = [
        f"{4 + share / length * wide:.1f} {base - (level - lowest) * upright:.1f}"
        for share, level in zip(along, height, strict=True)
    ]
    range_text = page_text(length_text(highest - lowest, units))
    parts = [
        f'<path class="ground" d="M4 {base + 6}L{"L".join(spots)}V{base + 6}z"/>',
        f'<text class="start" x="4" y="{base + 18}">pile</text>',
        f'<text class="end" x="{4 + wide}" y="{base + 18}">bed</text>',
        f'<text x="{4 + wide / 2}" y="{base + 18}">{range_text} from low to high</text>',
    ]
    return picture(wide + 8, base + 24, f"Ground along the way: it ends {_rise(height, units)}.", parts, "profile")


def _rise(height: Sequence[float], units: System) -> str:
    """Return how much higher or lower a way ends than it starts."""
    rise = height[-1] - height[0]
    if abs(rise) < LEVEL:
        return "as high as it starts"
    return f"{length_text(abs(rise), units)} {'higher' if rise > 0 else 'lower'} than it starts"


def layer_cut(
    layers: Sequence[Layer], kinds: dict[str, str], units: System, *, among: Sequence[float] = (), style: str = ""
) -> Markup:
    """Return a cross-section of a bed: its layers to scale, each with its fill mark.

    Parameters
    ----------
    layers : sequence of Layer
        Of one bed, bottom to top.
    kinds : dict of str to str
        Kind of each material.
    units : str
        ``metric`` or ``imperial``.
    among : sequence of float
        Volumes of the table beside it, which is in the same unit. [m3]
    style : str
        CSS rules written into the picture, for use outside a page that has them.
    """
    beside = (*among, *(layer.volume for layer in layers))
    tall, box, left = 118.0, 70.0, 78.0
    depth = max((layer.top for layer in layers), default=0.0) or 1.0
    spots = spread([10 + tall * (1 - (layer.bottom + layer.top) / 2 / depth) for layer in layers], gap=13.0)
    marks = spread([10 + tall * (1 - layer.top / depth) for layer in layers], gap=11.5)
    parts = []
    for layer, spot, mark in zip(layers, spots, marks, strict=True):
        top, bottom = 10 + tall * (1 - layer.top / depth), 10 + tall * (1 - layer.bottom / depth)
        fill_to = length_text(layer.top, units)
        fill = FILLS.get(kinds.get(layer.material, ""), "crumbs")
        parts.append(
            f'<rect class="layer {fill}" x="{left}" y="{top:.1f}" width="{box}" height="{bottom - top:.1f}"/>'
            f'<text class="mark" x="{left - 9}" y="{mark + 3.5:.1f}">{page_text(fill_to)}</text>'
            f'<path class="tick" d="M{left - 7} {mark:.1f}L{left} {top:.1f}"/>'
            f'<path class="lead" d="M{left + box} {(top + bottom) / 2:.1f}L{left + box + 10} {spot:.1f}"/>'
            f'<text class="what" x="{left + box + 13}" y="{spot + 3.5:.1f}">{page_text(layer.material)}'
            f'<tspan class="much" dx="5">{page_text(volume_among(layer.volume, beside, units))}</tspan></text>',
        )
    parts.append(f'<path class="walls" d="M{left} 6V{10 + tall}H{left + box}V6"/>')
    spoken = ", ".join(f"{layer.material} to {length_text(layer.top, units)}" for layer in layers)
    return picture(300, tall + 18, f"Layers from the bottom: {spoken}.", parts, "cut", style=style)


def spread(heights: Sequence[float], *, gap: float) -> list[float]:
    """Return heights of labels near the wanted ones and at least `gap` apart, in order from the bottom up.

    Examples
    --------
    >>> spread([50, 48, 10], gap=13)
    [55.5, 42.5, 10.0]
    """
    spots = [float(height) for height in heights]
    for _ in range(40):
        for lower in range(len(spots) - 1):
            overlap = gap - (spots[lower] - spots[lower + 1])
            if overlap > 1e-9:
                spots[lower] += overlap / 2
                spots[lower + 1] -= overlap / 2
    return [round(spot, 1) for spot in spots]
