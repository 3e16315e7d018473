"""How is a bed set out on the ground with two tapes?

Each corner is given by its distances from two fixed points; sides and diagonals are a check.
It leaves out slopes: tapes are held level, as the sheet says.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.land.features import Bed
from siteplan.land.outline import corners_of
from siteplan.land.site import Site
from siteplan.land.unit_sizes import INCH
from siteplan.land.units import EIGHTHS, System
from siteplan.say.directions import compass_point

Floats = NDArray[np.float64]

LONGEST_TAPE = 30.0  # m; the common long tape (common practice, no source)
#: sine of the smallest good angle between two tapes: 30 degrees (surveying practice, memory)
GOOD_CROSSING = 0.5
_OWN = 0.3  # m; a corner may be on the boundary itself, as that of a garage often is
_NEAREST = 14  # candidates that are compared: enough for a choice, and few enough to be quick among many houses


@dataclass(frozen=True)
class FixedPoint:
    """A lasting corner to measure from, of a building or of the boundary: its name and position. [m]"""

    name: str
    x: float
    y: float


@dataclass(frozen=True)
class SetOut:
    """All that has to be measured to set out one bed.

    Attributes
    ----------
    bed : str
    first, second : FixedPoint
        One tape is held at each.
    corners : tuple of (float, float)
        Clockwise from the north-west corner. [m]
    from_first, from_second : tuple of float
        Distance of each corner from that fixed point. [m]
    sides : tuple of float
        From each corner to the next. [m]
    diagonals : tuple of float
        From corner 1 to 3 and 2 to 4 of a bed with four corners; else empty. [m]
    side : str
        The side of the line between the fixed points on which the bed lies, as a compass word.
    crossing : float
        Sine of the smallest angle between the two tapes, over all corners. [0 to 1]
    clear : bool
        Whether no building stands in the way of a tape.
    """

    bed: str
    first: FixedPoint
    second: FixedPoint
    corners: tuple[tuple[float, float], ...]
    from_first: tuple[float, ...]
    from_second: tuple[float, ...]
    sides: tuple[float, ...]
    diagonals: tuple[float, ...]
    side: str
    crossing: float
    clear: bool


def set_out(site: Site, bed: Bed, pair: tuple[FixedPoint, FixedPoint] | None = None) -> SetOut | None:
    """Return what to measure to set out a bed; None if the property has no two fixed points.

    Parameters
    ----------
    site : Site
    bed : Bed
    pair : two FixedPoint, optional
        The fixed points to use; the best two for this bed if None.
    """
    corners = corners_of(bed.outline)
    chosen_pair = pair or best_pair(site, [bed])
    if chosen_pair is None:
        return None
    first, second = chosen_pair
    from_first, from_second = _distances(first, corners), _distances(second, corners)
    sides, diagonals = sides_and_diagonals(corners)
    middle = corners.mean(axis=0)
    return SetOut(
        bed=bed.id,
        first=first,
        second=second,
        corners=tuple((float(x), float(y)) for x, y in corners),
        from_first=tuple(from_first.tolist()),
        from_second=tuple(from_second.tolist()),
        sides=sides,
        diagonals=diagonals,
        side=_side_of(first, second, middle),
        crossing=float(_crossing(first, second, corners).min()),
        clear=bool(_free_lines(_blocking(site), chosen_pair, corners).all()),
    )


def sides_and_diagonals(corners: Floats) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Return the lengths of an outline's sides, and of its diagonals if it has four corners. [m]"""
    steps = np.roll(corners, -1, axis=0) - corners
    diagonals = tuple(float(math.dist(corners[n], corners[n + 2])) for n in (0, 1)) if len(corners) == 4 else ()
    return tuple(np.hypot(steps[:, 0], steps[:, 1]).tolist()), diagonals


def best_pair(site: Site, beds: Sequence[Bed]) -> tuple[FixedPoint, FixedPoint] | None:
    """Return the two fixed points whose tapes cross at the best angles at all corners of all these beds.

    Pairs with free lines of sight, and with distances that a long tape can reach, come first.
    """
    if not beds:
        return None
    corners = np.vstack([corners_of(bed.outline) for bed in beds])
    candidates = _nearest(fixed_points(site), corners.mean(axis=0))
    is_free = dict(zip(candidates, _free_lines(_blocking(site), candidates, corners).tolist(), strict=True))
    best_so_far: tuple[tuple[float, ...], tuple[FixedPoint, FixedPoint]] | None = None
    for first, second in itertools.combinations(candidates, 2):
        if math.dist((first.x, first.y), (second.x, second.y)) < 1.0:
            continue
        crossing = float(_crossing(first, second, corners).min())
        reach = float(max(_distances(first, corners).max(), _distances(second, corners).max()))
        clear = is_free[first] and is_free[second]
        within_tape = reach <= LONGEST_TAPE
        one_side = all(_one_side(first, second, corners_of(bed.outline)) for bed in beds)
        merit = (float(clear), float(one_side), float(within_tape), min(crossing, GOOD_CROSSING), -reach)
        if best_so_far is None or merit > best_so_far[0]:
            best_so_far = (merit, (first, second))
    return best_so_far[1] if best_so_far else None


def shared_pair(site: Site, beds: Sequence[Bed]) -> tuple[FixedPoint, FixedPoint] | None:
    """Return one pair that serves every bed well, or None if each bed needs its own."""
    pair = best_pair(site, beds)
    return pair if pair is not None and all(serves(site, bed, pair) for bed in beds) else None


def serves(site: Site, bed: Bed, pair: tuple[FixedPoint, FixedPoint]) -> bool:
    """Return whether a pair of fixed points suits a bed: free lines, good angles, all corners on one side."""
    taped = set_out(site, bed, pair)
    is_good = taped is not None and taped.clear and taped.crossing >= GOOD_CROSSING * 0.7
    return is_good and _one_side(*pair, corners_of(bed.outline))


def fixed_points(site: Site) -> tuple[FixedPoint, ...]:
    """Return the corners of the boundary, and those of buildings on the ground that are on the property."""
    property_area = site.boundary.buffer(_OWN)
    corners: list[FixedPoint] = []
    for building in site.buildings:
        if building.base == 0:
            corners += _corners_named(building.id, building.outline)
    corners += _corners_named("boundary", site.boundary)
    return tuple(point for point in corners if shapely.intersects_xy(property_area, point.x, point.y))


def _corners_named(name: str, outline: BaseGeometry) -> Iterator[FixedPoint]:
    """Yield the clear corners of an outline, neither almost straight nor very sharp, named by compass direction."""
    for part in shapely.get_parts(outline):
        if not isinstance(part, Polygon):
            continue
        ring = shapely.get_coordinates(shapely.get_exterior_ring(shapely.simplify(part, 0.15)))[:-1]
        middle = ring.mean(axis=0)
        for previous, corner, following in zip(
            np.roll(ring, 1, axis=0), ring, np.roll(ring, -1, axis=0), strict=True
        ):
            to_previous, to_following = previous - corner, following - corner
            cosine = float(to_previous @ to_following) / max(
                float(np.hypot(*to_previous) * np.hypot(*to_following)), 1e-9
            )
            if cosine > -0.85 and cosine < 0.9:
                yield FixedPoint(
                    f"{compass_point(*(corner - middle))} corner of {name}", float(corner[0]), float(corner[1])
                )


def _nearest(points: Sequence[FixedPoint], middle: Floats) -> list[FixedPoint]:
    return sorted(points, key=lambda point: math.hypot(point.x - middle[0], point.y - middle[1]))[:_NEAREST]


def _distances(point: FixedPoint, corners: Floats) -> Floats:
    return np.asarray(np.hypot(corners[:, 0] - point.x, corners[:, 1] - point.y))


def _crossing(first: FixedPoint, second: FixedPoint, corners: Floats) -> Floats:
    """Return the sine of the angle between the tapes from two fixed points at each corner."""
    return tapes_cross(np.array([first.x, first.y]), np.array([second.x, second.y]), corners)


def tapes_cross(first: Floats, second: Floats, corners: Floats) -> Floats:
    """Return the sine of the angle between the tapes from two points at each corner, shape (n,). [0 to 1]"""
    to_first, to_second = first - corners, second - corners
    product = np.hypot(to_first[:, 0], to_first[:, 1]) * np.hypot(to_second[:, 0], to_second[:, 1])
    return np.asarray(
        np.abs(to_first[:, 0] * to_second[:, 1] - to_first[:, 1] * to_second[:, 0]) / np.maximum(product, 1e-9)
    )


def _blocking(site: Site) -> BaseGeometry:
    """Return what a tape cannot pass through: buildings that reach the ground, shrunk a little at their edges."""
    nearby = site.boundary.buffer(20)
    shapes = [building.outline for building in site.buildings if building.base == 0]
    return shapely.unary_union([shape.buffer(-0.05) for shape in shapes if shape.intersects(nearby)])


def _free_lines(blocking: BaseGeometry, points: Sequence[FixedPoint], corners: Floats) -> NDArray[np.bool_]:
    """Return from which points a tape reaches every corner without anything in its way, shape (points,)."""
    ends = np.empty((len(points), len(corners), 2, 2))
    ends[:, :, 0] = np.array([(point.x, point.y) for point in points]).reshape(-1, 1, 2)
    ends[:, :, 1] = corners
    is_blocked: NDArray[np.bool_] = np.asarray(shapely.intersects(blocking, shapely.linestrings(ends)))
    return np.asarray(~is_blocked.any(axis=1))


def _one_side(first: FixedPoint, second: FixedPoint, corners: Floats) -> bool:
    """Return whether all corners lie on one side of the line; if not, two tapes could meet on the wrong side."""
    along = np.array([second.x - first.x, second.y - first.y])
    offset = corners - np.array([first.x, first.y])
    turn = along[0] * offset[:, 1] - along[1] * offset[:, 0]
    return bool((turn > 0).all() or (turn < 0).all())


def _side_of(first: FixedPoint, second: FixedPoint, middle: Floats) -> str:
    """Return the side of the line through the fixed points on which a spot lies."""
    along = np.array([second.x - first.x, second.y - first.y])
    normal = np.array([-along[1], along[0]])
    if (middle - np.array([first.x, first.y])) @ normal < 0:
        normal = -normal
    return compass_point(*normal)


def corner_rows(out: SetOut, units: System) -> list[dict[str, Any]]:
    """Return a row for each corner: its number, its tapes from A and B, and the side to the next corner."""
    return [
        {
            "number": number + 1,
            "a": tape_text(out.from_first[number], units),
            "b": tape_text(out.from_second[number], units),
            "side": tape_text(out.sides[number], units),
        }
        for number in range(len(out.corners))
    ]


def tape_text(metres: float, system: System) -> str:
    """Return a distance as read on a tape: to 5 mm, or to an eighth of an inch.

    Examples
    --------
    >>> tape_text(12.3456, "metric"), tape_text(12.3456, "imperial"), tape_text(0.3048, "imperial")
    ('12.345 m', '40 ft 6 in', '1 ft 0 in')
    """
    if system == "metric":
        return f"{round(metres * 200) / 200:.3f} m"
    eighths = round(metres / INCH * 8)
    feet, remainder = divmod(eighths, 96)
    inches, part = divmod(remainder, 8)
    return f"{feet} ft {inches}{EIGHTHS[part]} in"


def tape_value(text: str) -> float:
    """Return in metres a distance that `tape_text` wrote.

    Examples
    --------
    >>> round(tape_value("40 ft 6 1/8 in"), 4), tape_value("12.345 m")
    (12.3476, 12.345)
    """
    if text.endswith(" m"):
        return float(text[:-2])
    feet, _, inches_text = text.removesuffix(" in").partition(" ft ")
    inches, _, fraction = inches_text.partition(" ")
    numerator, _, denominator = fraction.partition("/")
    return (int(feet) * 12 + int(inches) + (int(numerator) / int(denominator) if fraction else 0.0)) * INCH
