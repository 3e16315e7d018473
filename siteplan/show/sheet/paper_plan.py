"""How is the plan drawn on paper, to scale and in black only?

As SVG in millimetres at a round scale, with the fixed points to tape from, beds, numbered runs, north and scale bars.
It leaves out the map of sun: printed in black, it would hide the lines.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from markupsafe import Markup
from shapely.geometry.base import BaseGeometry

from siteplan.land.features import Bed
from siteplan.land.outline import corners_of
from siteplan.land.unit_sizes import FOOT
from siteplan.say.safe_text import page_text, plain_text
from siteplan.show.listing import place_beds
from siteplan.show.page_parts import own_asset
from siteplan.show.sheet.paper_names import Box, Name, name_boxes
from siteplan.show.sheet.setting_out import FixedPoint
from siteplan.show.symbols import planned
from siteplan.show.symbols.property import property_layers

if TYPE_CHECKING:
    from siteplan.records import Answers

Item = dict[str, Any]

#: kinds of items that names should not cover
_SOLID = {"bed", "bed-proposed", "place", "pile", "drop", "heap", "tap", "door", "level"}
#: round scales, 1 : n
SCALES = (20, 25, 50, 75, 100, 125, 150, 200, 250, 300, 400, 500, 750, 1000, 1250, 1500, 2000, 2500, 5000, 10000)
_PATTERNS = (
    '<pattern id="roof" width="2.4" height="2.4" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
    '<rect width="2.4" height="2.4" fill="#fff"/><path class="hatch-soft" d="M0 0V2.4"/></pattern>'
    '<pattern id="keep" width="1.8" height="1.8" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
    '<path class="hatch" d="M0 0V1.8M0 0H1.8"/></pattern>'
    '<pattern id="leaf" width="1.6" height="1.6" patternUnits="userSpaceOnUse"><circle cx=".5" cy=".5" r=".18"/>'
    '<circle cx="1.3" cy="1.2" r=".18"/></pattern>'
    '<pattern id="pile" width="1.3" height="1.3" patternUnits="userSpaceOnUse">'
    '<circle cx=".4" cy=".4" r=".16"/></pattern>'
)


@dataclass(frozen=True)
class Paper:
    """The conversion from metres in the local frame to millimetres on the paper."""

    scale: int
    west: float
    north: float
    wide: float
    tall: float

    def at(self, point: Sequence[float]) -> tuple[float, float]:
        """Return the position of a point on the paper. [mm]"""
        millimetres = 1000 / self.scale
        return (point[0] - self.west) * millimetres, (self.north - point[1]) * millimetres

    def path(self, points: Sequence[Sequence[float]], *, closed: bool) -> str:
        """Return the commands of an SVG path."""
        spots = "L".join(f"{x:.2f} {y:.2f}" for x, y in map(self.at, points))
        return f"M{spots}{'z' if closed else ''}"


def paper_for(extent: Sequence[float], *, wide: float, tall: float) -> Paper:
    """Return the paper at the largest round scale at which an extent fits, centred.

    Parameters
    ----------
    extent : sequence of float
        West, south, east, north. [m]
    wide, tall : float
        Room on the paper. [mm]

    Examples
    --------
    >>> paper_for([0, 0, 30, 20], wide=180, tall=150).scale
    200
    """
    west, south, east, north = extent
    least_scale = max((east - west) / wide, (north - south) / tall) * 1000
    scale = next((scale for scale in SCALES if scale >= least_scale), math.ceil(least_scale / 1000) * 1000)
    margin_west = ((wide * scale / 1000) - (east - west)) / 2
    height = min(tall, (north - south) * 1000 / scale + 6)
    margin_north = ((height * scale / 1000) - (north - south)) / 2
    return Paper(scale=scale, west=west - margin_west, north=north + margin_north, wide=wide, tall=height)


def plan_drawing(
    plan: Answers,
    pair: tuple[FixedPoint, FixedPoint] | None,
    *,
    wide: float = 182,
    tall: float = 184,
    extent: Sequence[float] | None = None,
) -> tuple[Markup, int]:
    """Return the plan as SVG, and the n of its scale 1 : n.

    Parameters
    ----------
    plan : Answers
    pair : two FixedPoint, optional
        Drawn as A and B.
    wide, tall : float
        Room on the paper. [mm]
    extent : sequence of float, optional
        West, south, east and north of the part to draw; the whole property if None. [m]
    """
    paper = paper_for(extent or planned.site_extent(plan.site, margin=0.02), wide=wide, tall=tall)
    layers = property_layers(plan.site)
    order = [
        *layers["ground"], *layers["keepouts"], *layers["buildings"], *layers["plants"], *layers["fences"],
        *planned.route_items(plan, clear=_points_of(pair)), *planned.pile_items(plan), *layers["points"],
        *planned.bed_items(plan),
        *planned.place_items(plan),
    ]  # fmt: skip
    parts = [element for item in order for element in _item(item, paper)]
    parts += [badge for item in order if "badge" in item for badge in _badge(item, paper)]
    beds = [*plan.site.beds, *place_beds(plan)]
    corners = [spot for bed in beds for spot in _corner_spots(bed, paper)]
    parts += _names(order, pair, paper, clear=corners)
    parts += [number for bed in beds for number in _corner_numbers(bed, paper)]
    parts += _fixed(pair, paper) if pair else []
    parts += _furniture(paper)
    opening = (
        f'<svg class="plan" xmlns="http://www.w3.org/2000/svg" width="{paper.wide:g}mm" height="{paper.tall:g}mm" '
        f'viewBox="0 0 {paper.wide:g} {paper.tall:g}" role="img" aria-label="Plan to scale">'
        f"<style>{own_asset('paper_drawing.css')}</style><defs>{_PATTERNS}</defs>"
    )
    return Markup(opening + "".join(parts) + "</svg>"), paper.scale  # noqa: S704  # text inside is escaped


def _item(item: Item, paper: Paper) -> list[str]:
    """Return one drawn item as SVG."""
    kind = item["k"]
    if item["g"] == "area":
        path = "".join(paper.path(ring, closed=True) for polygon in item["c"] for ring in polygon)
        return [f'<path class="{kind}" fill-rule="evenodd" d="{path}"/>']
    if item["g"] == "line":
        path = "".join(paper.path(line, closed=False) for line in item["c"])
        elements = [f'<path class="{kind}" d="{path}"/>']
        if kind == "route":
            elements.insert(0, f'<path class="route-edge" d="{path}"/>')
        if kind == "fence":
            elements.append(f'<path class="fence-posts" d="{path}"/>')
        return [*elements, *(_arrow(mark, paper) for mark in item.get("arrows", ()))]
    x, y = paper.at(item["c"])
    if kind == "level":
        return [f'<path class="level" d="M{x - 1.4:.2f} {y - 2:.2f}h2.8L{x:.2f} {y:.2f}z"/>']
    radius = max(item["r"] * 1000 / paper.scale, 0.5) if "r" in item else 1.6
    symbol = [f'<circle class="{kind}" cx="{x:.2f}" cy="{y:.2f}" r="{radius:.2f}"/>']
    letter = {"tap": "T", "door": "D"}.get(kind)
    if letter:
        symbol.append(f'<text class="small" x="{x:.2f}" y="{y + 0.8:.2f}">{letter}</text>')
    return symbol


def _arrow(mark: Sequence[float], paper: Paper) -> str:
    x, y = paper.at(mark)
    return f'<path class="arrow" transform="translate({x:.2f} {y:.2f}) rotate({mark[2]})" d="M0 -1.1L.9 .9H-.9z"/>'


def _badge(item: Item, paper: Paper) -> list[str]:
    """Return the number of a run, in a disc, or the number of a place, on its shape."""
    x, y = paper.at(item.get("at") or _middle(item))
    disc = _disc(x, y, str(item["badge"])) if item["k"] == "route" else ""
    return [f'{disc}<text class="number" x="{x:.2f}" y="{y + 1:.2f}">{page_text(item["badge"])}</text>']


def _names(
    order: Sequence[Item],
    pair: tuple[FixedPoint, FixedPoint] | None,
    paper: Paper,
    *,
    clear: Sequence[tuple[float, float]],
) -> list[str]:
    """Return the names of beds and piles, beds first, placed so that they cover little and avoid `clear`. [mm]"""
    labelled = [item for item in order if "label" in item and "badge" not in item]
    labelled.sort(key=lambda item: not item["k"].startswith("bed"))
    texts = [plain_text(item["label"], longest=22) for item in labelled]
    names = [
        Name(text, bold=item["k"].startswith("bed"), shape=_box(item, paper))
        for item, text in zip(labelled, texts, strict=True)
    ]
    boxes_in_use = [_box(item, paper) for item in order if item["k"] in _SOLID]
    for item in order:
        if item["k"] == "route" and "badge" in item:
            x, y = paper.at(item["at"])
            half = _half_disc(str(item["badge"]))
            boxes_in_use.append((x - half, y - 2.1, x + half, y + 2.1))
    for point in pair or ():
        x, y = paper.at((point.x, point.y))
        boxes_in_use.append((x - 1.8, y - 7, x + 1.8, y + 0.5))
    boxes_in_use += [(x - 1, y - 1.3, x + 1, y + 1.3) for x, y in clear]
    boxes_in_use += [(1, paper.tall - 11, 69, paper.tall), (paper.wide - 14, 1, paper.wide, 21)]
    boxes = name_boxes(names, boxes_in_use, wide=paper.wide, tall=paper.tall)
    return [
        _written("bed-name" if name.bold else "name", (box[0] + box[2]) / 2, box[3] - 0.7, page_text(text))
        for name, box, text in zip(names, boxes, texts, strict=True)
    ]


def _box(item: Item, paper: Paper) -> Box:
    """Return the bounding box of a drawn item on the paper. [mm]"""
    spots = [paper.at(point) for point in _points(item)]
    reach = 0.5 if item["g"] == "area" else max(item.get("r", 0.0) * 1000 / paper.scale, 1.6)
    xs, ys = [spot[0] for spot in spots], [spot[1] for spot in spots]
    return min(xs) - reach, min(ys) - reach, max(xs) + reach, max(ys) + reach


def _points_of(pair: tuple[FixedPoint, FixedPoint] | None) -> list[shapely.Point]:
    return [shapely.Point(point.x, point.y) for point in pair or ()]


def _disc(x: float, y: float, text: str) -> str:
    """Return the disc behind a number; it is longer for a longer text."""
    half = _half_disc(text)
    return f'<rect class="disc" x="{x - half:.2f}" y="{y - 2.1:.2f}" width="{2 * half:.2f}" height="4.2" rx="2.1"/>'


def _half_disc(text: str) -> float:
    return max(2.1, 0.85 * len(text) + 0.6)


def _corner_numbers(bed: Bed, paper: Paper) -> list[str]:
    """Return the numbers of a bed's corners, as SVG."""
    spots = _corner_spots(bed, paper)
    return [_written("corner", x, y + 0.8, page_text(number)) for number, (x, y) in enumerate(spots, start=1)]


def _corner_spots(bed: Bed, paper: Paper) -> list[tuple[float, float]]:
    """Return where the corner numbers go, just outside the corners; only the first if the bed is small on paper."""
    corners = corners_of(bed.outline)
    middle = corners.mean(axis=0)
    large = shapely.length(bed.outline) * 1000 / paper.scale > 45
    steps = [(corner, corner - middle) for corner in (corners if large else corners[:1])]
    distance = 1.6 * paper.scale / 1000
    return [paper.at(corner + step * distance / max(float(np.hypot(*step)), 1e-9)) for corner, step in steps]


def around(
    shapes: Sequence[BaseGeometry], pair: tuple[FixedPoint, FixedPoint], *, margin: float = 1.5
) -> list[float]:
    """Return west, south, east, north around shapes and the two fixed points. [m]"""
    together = shapely.union_all([*shapes, *(shapely.Point(point.x, point.y) for point in pair)])
    west, south, east, north = together.bounds
    return [west - margin, south - margin, east + margin, north + margin]


def _written(kind: str, x: float, y: float, name: str) -> str:
    """Return text on a copy of itself with a white outline, since not every renderer supports ``paint-order``."""
    attributes = f'x="{x:.2f}" y="{y:.2f}">{name}</text>'
    return f'<text class="{kind} halo" {attributes}<text class="{kind}" {attributes}'


def _points(item: Item) -> list[Sequence[float]]:
    if item["g"] == "point":
        return [item["c"]]
    return [point for polygon in item["c"] for ring in polygon for point in ring]


def _middle(item: Item) -> tuple[float, float]:
    points = _points(item)
    return sum(point[0] for point in points) / len(points), sum(point[1] for point in points) / len(points)


def _fixed(pair: tuple[FixedPoint, FixedPoint], paper: Paper) -> list[str]:
    """Return the two fixed points to tape from, and the line between them."""
    ends = [(point.x, point.y) for point in pair]
    elements = [f'<path class="baseline" d="{paper.path(ends, closed=False)}"/>']
    for letter, end in zip("AB", ends, strict=True):
        x, y = paper.at(end)
        elements.append(
            f'<path class="fixed" d="M{x:.2f} {y:.2f}l-1.6 -2.8h3.2z"/>' + _written("letter", x, y - 3.6, letter),
        )
    return elements


def _furniture(paper: Paper) -> list[str]:
    """Return the frame, the north arrow and two scale bars."""
    low = paper.tall
    right = paper.wide - 8
    bars = [_bar(metres * 1000 / paper.scale) for metres in (1.0, FOOT)]
    reach = max(length for _, length in bars) + 12  # with the figure behind a bar, and no wider: it covers the plan
    plates = (
        f'<rect class="plate" x="2" y="{low - 10:.1f}" width="{reach:.1f}" height="8.5"/>'
        f'<rect class="plate" x="{right - 6:.1f}" y="1" width="12.5" height="20"/>'
        f'<rect class="frame" x=".2" y=".2" width="{paper.wide - 0.4:g}" height="{low - 0.4:g}"/>'
    )
    elements = [plates]
    elements.append(
        f'<path class="bar" d="M{right} 7v12l-2.6 -2z"/><path class="bar-light" d="M{right} 7v12l2.6 -2z"/>'
        + _written("letter", right, 6, "N"),
    )
    for row, (unit, (count, length)) in enumerate(zip(("m", "ft"), bars, strict=True)):
        y = low - 8 + row * 4
        for field in range(4):
            kind = "bar" if field % 2 == 0 else "bar-light"
            x = 4 + field * length / 4
            elements.append(f'<rect class="{kind}" x="{x:.2f}" y="{y:.2f}" width="{length / 4:.2f}" height="1.2"/>')
        elements.append(f'<text class="scale-text" x="{5 + length:.2f}" y="{y + 1.7:.2f}">{count} {unit}</text>')
    return elements


def _bar(unit_length: float) -> tuple[int, float]:
    """Return how many units a scale bar shows, and its length, from the length of one unit. [mm on paper]"""
    count = next(step for step in (500, 200, 100, 50, 20, 10, 5, 2, 1) if step * unit_length <= 46 or step == 1)
    return count, count * unit_length
