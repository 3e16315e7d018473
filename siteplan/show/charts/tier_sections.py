"""How is a cross-section of a bed with tiers drawn?

Across the bed, through the middle of its highest frame. It shows the layers under each tier's open soil, to scale.
Fill marks of the outer tier are on the left, all others on the right. `sections` draws beds of one frame.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from markupsafe import Markup
from shapely import LineString

from siteplan.fill.fill_results import Layer
from siteplan.land.features import Bed
from siteplan.land.outline import smallest_rectangle
from siteplan.land.units import System, length_text
from siteplan.say.safe_text import page_text
from siteplan.show.charts.sections import FILLS, spread
from siteplan.show.charts.svg import picture

Interval = tuple[float, float]
_TALL, _WIDE, _TOP = 118.0, 92.0, 10.0
_LETTER, _BESIDE = 4.9, 14.0  # width of a letter of a label, and from its end to the wall and the edge


@dataclass(frozen=True)
class _Scale:
    """The conversion from metres to the picture's units: across from the bed's edge, and up from its floor."""

    across: float
    up: float
    left: float

    def x(self, metres: float) -> float:
        return self.left + metres * self.across

    def y(self, metres: float) -> float:
        return _TOP + _TALL - metres * self.up


def tier_cut(bed: Bed, layers: Sequence[Layer], kinds: dict[str, str], units: System, *, style: str = "") -> Markup:
    """Return a cross-section of a bed with several frames: its layers to scale, each with its fill mark.

    Parameters
    ----------
    bed : Bed
    layers : sequence of Layer
        Layers of that bed.
    kinds : dict of str to str
        Kind of each material.
    units : str
        ``metric`` or ``imperial``.
    style : str
        CSS rules written into the picture, for use outside a page that has them.
    """
    across = frame_intervals(bed)
    outer = min(layer.tier for layer in layers)
    beside = [_joined(layers, outer, of_outer=of_outer) for of_outer in (True, False)]
    left, right = (
        _BESIDE + _LETTER * max((len(_label(layer, units)) for layer in side), default=0) for side in beside
    )
    scale = _Scale(_WIDE / max(across[0][1], 1e-6), _TALL / bed.height, left)
    parts = [part for layer in layers for part in _body(layer, across, kinds, scale)]
    for side, on_left in zip(beside, (True, False), strict=True):
        parts += _marks(side, across, scale, units, on_left=on_left)
    for frame, (low, high) in zip(bed.frames, across, strict=True):
        foot, rim = scale.y(frame.bottom), scale.y(frame.top) - 3
        parts += [f'<path class="walls" d="M{scale.x(end):.1f} {rim:.1f}V{foot:.1f}"/>' for end in (low, high)]
    ends = (scale.x(end) for end in across[0])
    parts.append('<path class="walls" d="M{1:.1f} {0:.1f}H{2:.1f}"/>'.format(scale.y(0), *ends))
    spoken = ", ".join(f"{layer.material} (tier {layer.tier}) to {length_text(layer.top, units)}" for layer in layers)
    return picture(left + _WIDE + right, _TALL + 18, f"Layers from the bottom: {spoken}.", parts, "cut", style=style)


def frame_intervals(bed: Bed) -> list[Interval]:
    """Return the interval of each frame on a line across the bed, through the middle of its highest frame. [m]

    Examples
    --------
    >>> from shapely import box
    >>> tiers = (Bed.Tier(height=0.4), Bed.Tier(height=0.3, inset=0.5))
    >>> bed = Bed(id="a", outline=box(0, 0, 4, 2), tiers=tiers)
    >>> [(round(low, 9), round(high, 9)) for low, high in frame_intervals(bed)]
    [(0.0, 2.0), (0.5, 1.5)]
    """
    long, _, heading = smallest_rectangle(bed.outline)
    turn = np.radians(heading)
    step = np.array([np.cos(turn), -np.sin(turn)]) * 2 * (long + 1)
    middle = shapely.get_coordinates(shapely.point_on_surface(bed.frames[-1].outline))[0]
    line = LineString([middle - step, middle + step])
    intervals: list[Interval] = []
    for frame in bed.frames:
        ends = [
            line.project(shapely.Point(point)) for point in shapely.get_coordinates(line & frame.outline).tolist()
        ]
        intervals.append((min(ends), max(ends)))
    start = intervals[0][0]
    return [(low - start, high - start) for low, high in intervals]


def _body(layer: Layer, across: Sequence[Interval], kinds: dict[str, str], scale: _Scale) -> Iterator[str]:
    """Yield the parts of one layer, on both sides of the frame that stands on its tier."""
    top, bottom = scale.y(layer.top), scale.y(layer.bottom)
    fill = FILLS.get(kinds.get(layer.material, ""), "crumbs")
    for low, high in _sides(layer.tier, across):
        if high - low > 1e-6:
            yield (
                f'<rect class="layer {fill}" x="{scale.x(low):.1f}" y="{top:.1f}" '
                f'width="{(high - low) * scale.across:.1f}" height="{bottom - top:.1f}"/>'
            )


def _sides(tier: int, across: Sequence[Interval]) -> list[Interval]:
    """Return the intervals of the soil under one tier's ledge along the cross-section."""
    low, high = across[tier - 1]
    if tier == len(across):
        return [(low, high)]
    inner_low, inner_high = across[tier]
    return [(low, inner_low), (inner_high, high)]


def _joined(layers: Sequence[Layer], outer: int, *, of_outer: bool) -> list[Layer]:
    """Return the layers of the outer tier, or of the others, from the bottom up, each material with its last mark."""
    side_layers = sorted(
        (layer for layer in layers if (layer.tier == outer) == of_outer), key=lambda layer: (layer.tier, layer.bottom)
    )
    runs = [list(run) for _, run in itertools.groupby(side_layers, key=lambda layer: (layer.tier, layer.material))]
    return sorted((run[-1] for run in runs), key=lambda layer: layer.top)


def _marks(
    layers: Sequence[Layer], across: Sequence[Interval], scale: _Scale, units: System, *, on_left: bool
) -> Iterator[str]:
    """Yield the labels beside the cross-section: fill mark and material of each layer."""
    spots = spread([scale.y(layer.top) for layer in layers], gap=11.5)
    edge = scale.x(across[0][0]) if on_left else scale.x(across[0][1])
    side, kind = (-1, "mark") if on_left else (1, "what")
    for layer, spot in zip(layers, spots, strict=True):
        reach = scale.x(_sides(layer.tier, across)[-1 if side > 0 else 0][1 if side > 0 else 0])
        words = page_text(_label(layer, units))
        yield (
            f'<path class="lead" d="M{edge + side * 8:.1f} {spot:.1f}L{reach:.1f} {scale.y(layer.top):.1f}"/>'
            f'<text class="{kind}" x="{edge + side * 10:.1f}" y="{spot + 3.5:.1f}">{words}</text>'
        )


def _label(layer: Layer, units: System) -> str:
    return f"{length_text(layer.top, units)} {layer.material}"
