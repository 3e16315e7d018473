"""How much sun and light does a bed get, month by month and hour by hour, as a chart?

One bar for each month, or one field for each half hour of the clock.
It leaves out what the figures mean: the cards and the work sheet say that.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
from markupsafe import Markup
from numpy.typing import NDArray

from siteplan.say.figures import MONTH_NAMES, MONTHS, hours_text
from siteplan.show.charts.colours import scale_colours
from siteplan.show.charts.svg import picture

if TYPE_CHECKING:
    from siteplan.sun.light.daily_light import Light

Floats = NDArray[np.float64]


def month_bars(month_h: Sequence[float], *, need: float, top: float) -> Markup:
    """Return the hours of sun by month as a bar chart, with a line at what the crop needs.

    Parameters
    ----------
    month_h : sequence of float, length 12
        Sun in each month. [hours a day]
    need : float
        The least sun that the crop needs. [hours a day]
    top : float
        Upper end of the scale, the same for all beds. [hours a day]
    """
    left, base, tall, pitch = 4.0, 84.0, 64.0, 24.0
    colours = scale_colours()
    level = base - min(need / top, 1.0) * tall
    parts, figures = [], []
    for month, hours in enumerate(month_h):
        x = left + month * pitch
        drawn_hours = float(hours) if math.isfinite(hours) else 0.0
        height = max(drawn_hours / top * tall, 0.6)
        red, green, blue = colours[min(255, round(drawn_hours / top * 255))].tolist()
        parts.append(
            f'<rect class="bar" x="{x:.1f}" y="{base - height:.1f}" width="19" height="{height:.1f}" '
            f'fill="rgb({red},{green},{blue})"/>'
            f'<text class="name" x="{x + 9.5:.1f}" y="{base + 11:.1f}">{MONTHS[month][0]}</text>',
        )
        figures.append(f'<text class="value" x="{x + 9.5:.1f}" y="{base - height - 3:.1f}">{drawn_hours:.1f}</text>')
    parts.append(f'<path class="need" d="M0 {level:.1f}H{left + 12 * pitch:.0f}"/>')
    parts.append(f'<path class="base" d="M0 {base:.1f}H{left + 12 * pitch:.0f}"/>')
    parts += figures  # drawn after the line, so that the line does not cross a figure
    spoken = ", ".join(f"{name} {hours_text(hours)}" for name, hours in zip(MONTH_NAMES, month_h, strict=True))
    return picture(
        left * 2 + 12 * pitch - 5, 98, f"Sun a day by month: {spoken}. Needed: {hours_text(need)}.", parts, "by-month"
    )


def light_bars(bed: Light, open_ground: Light, *, days: str) -> Markup:
    """Return the light on a bed by month as a bar chart.

    The lower part of each bar is light from the sky and from walls, the upper part direct light from the sun. A dash
    marks the light on open ground.

    Parameters
    ----------
    bed, open_ground : Light
        The light at the bed and on open ground, in arrays of shape (13,): the months, then the season.
    days : str
        Which days the light is for, in words.
    """
    left, base, tall, pitch = 27.0, 62.0, 56.0, 22.0
    mol, of_open, energy = bed.dli_mol_m2[:12], open_ground.dli_mol_m2[:12], bed.total_kwh_m2[:12]
    top = max(float(np.nanmax(of_open)), float(np.nanmax(mol)), 1.0)
    from_sky_and_walls = bed.diffuse_kwh_m2[:12] + bed.reflected_kwh_m2[:12]
    from_sky = np.divide(from_sky_and_walls, energy, out=np.zeros(12), where=energy > 0) * mol / top * tall
    parts = []
    for month in range(12):
        x, height = left + month * pitch, float(mol[month]) / top * tall
        sky, open_level = float(from_sky[month]), base - float(of_open[month]) / top * tall
        middle = f'x="{x + 9:.1f}"'
        parts.append(
            f'<rect class="bar from-sun" x="{x:.1f}" y="{base - height:.1f}" width="18" height="{height - sky:.1f}"/>'
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
    return picture(left + 12 * pitch, base + 38, words, parts, "light-by-month")


def half_hours(lit: Floats, *, clock: str) -> Markup:
    """Return at what times a bed is lit: one row a month, one field for each half hour.

    The more of the soil is lit, the lighter the field.

    Parameters
    ----------
    lit : ndarray, shape (12, 48)
        Share of the soil that is lit. [0 to 1]
    clock : str
        Which clock the hours are read on, in words.
    """
    left, top, high, wide = 14.0, 4.0, 8.0, 264.0
    slots_lit = np.flatnonzero(lit.max(axis=0) > 0)
    first_slot, end_slot = (
        (int(slots_lit[0]) // 2 * 2, -(-(int(slots_lit[-1]) + 1) // 2) * 2) if len(slots_lit) else (12, 36)
    )
    pitch = wide / (end_slot - first_slot)
    steps = np.ceil(np.clip(lit, 0, 1) * 7 - 1e-9).astype(int)
    colours = scale_colours(8)
    parts = [f'<rect class="night" x="{left}" y="{top}" width="{wide}" height="{12 * high}"/>']
    for step in range(1, 8):
        fields = [
            f"M{left + (slot - first_slot) * pitch:.2f} {top + month * high:.0f}h{pitch:.2f}v{high:.0f}h-{pitch:.2f}z"
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
        f'<path class="tick" d="M{left + (2 * hour - first_slot) * pitch:.1f} {top + 12 * high}v3"/>'
        f'<text x="{left + (2 * hour - first_slot) * pitch:.1f}" y="{top + 12 * high + 12}">{hour}</text>'
        for hour in range(first_slot // 2, end_slot // 2 + 1)
        if hour % 3 == 0
    ]
    longest = ", ".join(f"{name} {lit[month].sum() / 2:.1f} h" for month, name in ((5, "June"), (11, "December")))
    words = f"When it is lit, by month and half hour, by the clocks of {clock}. In all: {longest}."
    return picture(left + wide + 8, top + 12 * high + 16, words, parts, "half-hours")
