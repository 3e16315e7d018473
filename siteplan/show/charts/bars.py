"""How do a bed's sun and its layers look, small enough for a card or a work sheet?

Plain SVG with a sentence that says the same to a screen reader; told apart by form and words, not by colour alone.
It leaves out what the figures mean: the cards and the sheet say that.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
from markupsafe import Markup
from numpy.typing import NDArray

from siteplan.fill.results import Layer
from siteplan.land.units import System, length_text, volume_text
from siteplan.say.figures import MONTH_NAMES, MONTHS, hours_text
from siteplan.say.safe_text import page_text
from siteplan.show.charts.colours import Scale, scale_colours

if TYPE_CHECKING:
    from siteplan.sun.light.daily_light import Light

Floats = NDArray[np.float64]

#: pattern of a material's kind in a cut through a bed; the page's patterns carry these names
_FILLS = {"coarse": "logs", "mineral": "grains", "organic": "crumbs", "amendment": "fine", "sheet": "sheet"}


def _svg(width: float, height: float, words: str, parts: Sequence[str], kind: str, *, style: str = "") -> Markup:
    """Return a picture with its sentence; every part is made here, from numbers and from text passed by the door."""
    opening = (
        f'<svg class="chart {kind}" viewBox="0 0 {width:g} {height:g}" role="img" aria-label="{page_text(words)}">'
    )
    sheet = f"<style>{style}</style>" if style else ""
    return Markup(opening + sheet + "".join(parts) + "</svg>")  # noqa: S704  # text inside went through the door


def month_bars(month_h: Sequence[float], *, need: float, top: float) -> Markup:
    """Return the hours of sun by month as bars, with a line at what the crop needs.

    Parameters
    ----------
    month_h : sequence of float, length 12
        Hours a day.
    need : float
        Hours that the crop wants at least.
    top : float
        Hours at the upper end, the same for all beds.
    """
    left, base, tall, pitch = 4.0, 84.0, 64.0, 24.0
    colours = scale_colours()
    parts = []
    for month, hours in enumerate(month_h):
        x = left + month * pitch
        known = float(hours) if math.isfinite(hours) else 0.0
        height = max(known / top * tall, 0.6)
        red, green, blue = colours[min(255, round(known / top * 255))].tolist()
        parts.append(
            f'<rect class="bar" x="{x:.1f}" y="{base - height:.1f}" width="19" height="{height:.1f}" '
            f'fill="rgb({red},{green},{blue})"/>'
            f'<text class="value" x="{x + 9.5:.1f}" y="{base - height - 3:.1f}">{known:.1f}</text>'
            f'<text class="name" x="{x + 9.5:.1f}" y="{base + 11:.1f}">{MONTHS[month][0]}</text>',
        )
    level = base - min(need / top, 1.0) * tall
    parts.append(f'<path class="need" d="M0 {level:.1f}H{left + 12 * pitch:.0f}"/>')
    parts.append(f'<path class="base" d="M0 {base:.1f}H{left + 12 * pitch:.0f}"/>')
    spoken = ", ".join(f"{name} {hours_text(hours)}" for name, hours in zip(MONTH_NAMES, month_h, strict=True))
    return _svg(
        left * 2 + 12 * pitch - 5, 98, f"Sun a day by month: {spoken}. Needed: {hours_text(need)}.", parts, "by-month"
    )


def light_bars(here: Light, there: Light, *, days: str) -> Markup:
    """Return the light on a bed by month: from the sky below, from the sun above, a dash at that of open ground.

    Parameters
    ----------
    here, there : Light
        At the bed and on open ground, its arrays of shape (13,).
    days : str
        Of which days it is.
    """
    left, base, tall, pitch = 27.0, 62.0, 56.0, 22.0
    mol, of_open, energy = here.dli_mol_m2[:12], there.dli_mol_m2[:12], here.total_kwh_m2[:12]
    top = max(float(np.nanmax(of_open)), float(np.nanmax(mol)), 1.0)
    from_sky = np.divide(here.diffuse_kwh_m2[:12], energy, out=np.zeros(12), where=energy > 0) * mol / top * tall
    parts = []
    for month in range(12):
        x, high = left + month * pitch, float(mol[month]) / top * tall
        sky, open_level = float(from_sky[month]), base - float(of_open[month]) / top * tall
        middle = f'x="{x + 9:.1f}"'
        parts.append(
            f'<rect class="bar from-sun" x="{x:.1f}" y="{base - high:.1f}" width="18" height="{high - sky:.1f}"/>'
            f'<rect class="bar from-sky" x="{x:.1f}" y="{base - sky:.1f}" width="18" height="{sky:.1f}"/>'
            f'<path class="open" d="M{x - 1:.1f} {open_level:.1f}h20"/>'
            f'<text class="name" {middle} y="{base + 11:.0f}">{MONTHS[month][0]}</text>'
            f'<text {middle} y="{base + 23:.0f}">{mol[month]:.0f}</text>'
            f'<text class="value" {middle} y="{base + 34:.0f}">{energy[month]:.1f}</text>',
        )
    parts.append(f'<path class="base" d="M{left - 4:.0f} {base:.1f}H{left + 12 * pitch:.0f}"/>')
    for row, unit in ((23, "mol"), (34, "kWh")):
        parts.append(f'<text class="side value" x="{left - 6:.0f}" y="{base + row:.0f}">{unit}</text>')
    spoken = ", ".join(f"{name} {mol[n]:.0f} of {of_open[n]:.0f}" for n, name in enumerate(MONTH_NAMES))
    words = f"Light for plants {days} by month, of that on open ground, mol/m² a day: {spoken}."
    return _svg(left + 12 * pitch, base + 38, words, parts, "light-by-month")


def half_hours(lit: Floats, *, clock: str) -> Markup:
    """Return when a bed is lit: a row a month, a field for each half hour, lighter where more of it is lit.

    Parameters
    ----------
    lit : ndarray, shape (12, 48)
        Share of the soil that is lit. [0 to 1]
    clock : str
        Whose clock the hours are.
    """
    left, top, high, wide = 14.0, 4.0, 8.0, 264.0
    seen = np.flatnonzero(lit.max(axis=0) > 0)
    first, last = (int(seen[0]) // 2 * 2, -(-(int(seen[-1]) + 1) // 2) * 2) if len(seen) else (12, 36)
    pitch = wide / (last - first)
    steps = np.ceil(np.clip(lit, 0, 1) * 7 - 1e-9).astype(int)
    colours = scale_colours(8)
    parts = [f'<rect class="night" x="{left}" y="{top}" width="{wide}" height="{12 * high}"/>']
    for step in range(1, 8):
        fields = [
            f"M{left + (slot - first) * pitch:.2f} {top + month * high:.0f}h{pitch:.2f}v{high:.0f}h-{pitch:.2f}z"
            for month, slot in zip(*np.nonzero(steps == step), strict=True)
        ]
        if fields:
            red, green, blue = colours[step].tolist()
            parts.append(f'<path class="lit" style="fill:rgb({red},{green},{blue})" d="{"".join(fields)}"/>')
    parts += [
        f'<text class="side" x="{left - 3}" y="{top + month * high + 7:.0f}">{MONTHS[month][0]}</text>'
        for month in range(12)
    ]
    parts += [
        f'<path class="tick" d="M{left + (2 * hour - first) * pitch:.1f} {top + 12 * high}v3"/>'
        f'<text x="{left + (2 * hour - first) * pitch:.1f}" y="{top + 12 * high + 12}">{hour}</text>'
        for hour in range(first // 2, last // 2 + 1)
        if hour % 3 == 0
    ]
    longest = ", ".join(f"{name} {lit[month].sum() / 2:.1f} h" for month, name in ((5, "June"), (11, "December")))
    words = f"When it is lit, by month and half hour, by the clocks of {clock}. In all: {longest}."
    return _svg(left + wide + 8, top + 12 * high + 16, words, parts, "half-hours")


def route_profile(along: Sequence[float], height: Sequence[float], units: System) -> Markup:
    """Return the ground along a way, its height drawn five times too large at the least.

    Parameters
    ----------
    along, height : sequence of float
        From the start, and of the ground, at the same stops. [m]
    units : str
    """
    wide, base, tall = 280.0, 52.0, 40.0
    lowest, highest, length = min(height), max(height), float(along[-1])
    upright = min(tall / max(highest - lowest, 0.05), 5 * wide / length * 4)
    spots = [
        f"{4 + share / length * wide:.1f} {base - (level - lowest) * upright:.1f}"
        for share, level in zip(along, height, strict=True)
    ]
    rise = page_text(length_text(highest - lowest, units))
    parts = [
        f'<path class="ground" d="M4 {base + 6}L{"L".join(spots)}V{base + 6}z"/>',
        f'<text class="start" x="4" y="{base + 18}">pile</text>',
        f'<text class="end" x="{4 + wide}" y="{base + 18}">bed</text>',
        f'<text x="{4 + wide / 2}" y="{base + 18}">{rise} from low to high</text>',
    ]
    words = f"Ground along the way: it ends {length_text(height[-1] - height[0], units)} higher than it starts."
    return _svg(wide + 8, base + 24, words, parts, "profile")


def layer_cut(layers: Sequence[Layer], kinds: dict[str, str], units: System, *, style: str = "") -> Markup:
    """Return a cut through a bed: its layers to scale, with the mark to which each is filled.

    Parameters
    ----------
    layers : sequence of Layer
        Of one bed, bottom to top.
    kinds : dict of str to str
        Kind of each material.
    units : str
        ``metric`` or ``imperial``.
    style : str
        Rules that the picture carries itself, where the page's own do not reach it.
    """
    tall, box, left = 118.0, 70.0, 66.0
    depth = max((layer.top for layer in layers), default=0.0) or 1.0
    spots = _spread([10 + tall * (1 - (layer.bottom + layer.top) / 2 / depth) for layer in layers], gap=13.0)
    marks = _spread([10 + tall * (1 - layer.top / depth) for layer in layers], gap=11.5)
    parts = []
    for layer, spot, mark in zip(layers, spots, marks, strict=True):
        top, bottom = 10 + tall * (1 - layer.top / depth), 10 + tall * (1 - layer.bottom / depth)
        fill_to = length_text(layer.top, units)
        fill = _FILLS.get(kinds.get(layer.material, ""), "crumbs")
        parts.append(
            f'<rect class="layer {fill}" x="{left}" y="{top:.1f}" width="{box}" height="{bottom - top:.1f}"/>'
            f'<text class="mark" x="{left - 9}" y="{mark + 3.5:.1f}">{page_text(fill_to)}</text>'
            f'<path class="tick" d="M{left - 7} {mark:.1f}L{left} {top:.1f}"/>'
            f'<path class="lead" d="M{left + box} {(top + bottom) / 2:.1f}L{left + box + 10} {spot:.1f}"/>'
            f'<text class="what" x="{left + box + 13}" y="{spot + 3.5:.1f}">{page_text(layer.material)}'
            f'<tspan class="much" dx="5">{page_text(volume_text(layer.volume, units))}</tspan></text>',
        )
    parts.append(f'<path class="walls" d="M{left} 6V{10 + tall}H{left + box}V6"/>')
    spoken = ", ".join(f"{layer.material} to {length_text(layer.top, units)}" for layer in layers)
    return _svg(290, tall + 18, f"Layers from the bottom: {spoken}.", parts, "cut", style=style)


def _spread(wanted: Sequence[float], *, gap: float) -> list[float]:
    """Return heights of labels near those wanted, `gap` apart, whose order is from the bottom up.

    Examples
    --------
    >>> _spread([50, 48, 10], gap=13)
    [55.5, 42.5, 10.0]
    """
    spots = [float(value) for value in wanted]
    for _ in range(40):
        for lower in range(len(spots) - 1):
            close = gap - (spots[lower] - spots[lower + 1])
            if close > 1e-9:
                spots[lower] += close / 2
                spots[lower + 1] -= close / 2
    return [round(spot, 1) for spot in spots]


def scale_steps(top: float) -> list[tuple[float, str]]:
    """Return share of the way and label of the scale's whole-hour marks, every second hour above 8.

    Examples
    --------
    >>> scale_steps(4)
    [(0.0, '0'), (0.25, '1'), (0.5, '2'), (0.75, '3'), (1.0, '4')]
    """
    step = 1 if top <= 8 else 2
    return [(hour / top, str(hour)) for hour in range(0, int(top) + 1, step)]


def scale_gradient(stops: int = 16, *, of: Scale = "sun") -> str:
    """Return a scale as the stops of a style sheet's gradient."""
    colours = scale_colours(stops, of=of)
    return ",".join(f"rgb({red},{green},{blue})" for red, green, blue in colours.tolist())
