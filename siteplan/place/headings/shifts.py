"""What would moving a bed a step bring?

Eight steps around, each asked of the exact sun; the best is followed one step further.
It leaves out turning it: that is the headings'.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable
from dataclasses import dataclass

from shapely import Polygon, affinity

from siteplan.land.features import Bed
from siteplan.land.outline import COMPASS
from siteplan.land.units import System
from siteplan.place.headings.headings import TIE
from siteplan.place.reasons.words import distance_text
from siteplan.sun.bed_sun import BedSun


@dataclass(frozen=True, kw_only=True)
class Move:
    """One step.

    Attributes
    ----------
    direction : str
        Compass point.
    distance : float
        [m]
    outline : Polygon
        Of the bed there.
    gain_h, worst_gain_h : float
        More sun than where it stands, on average and in its worst cell; negative where less. [h a day]
    obstacle : str or None
        What is in the way.
    """

    direction: str
    distance: float
    outline: Polygon
    gain_h: float
    worst_gain_h: float
    obstacle: str | None


@dataclass(frozen=True, kw_only=True)
class Moves:
    """Eight steps around a bed.

    Attributes
    ----------
    bed : str
    moves : tuple of Move
        Clockwise from north, and the best followed further at the end.
    best : Move or None
        That fits with the most gain; None where none is worth it.
    sentence : str
    """

    bed: str
    moves: tuple[Move, ...]
    best: Move | None
    sentence: str


def compare_moves(
    bed: Bed,
    sun_at: Callable[[Bed], BedSun],
    *,
    fits: Callable[[Polygon], str | None],
    distance: float = 1.0,
    units: System = "metric",
) -> Moves:
    """Return what a step in each of eight directions brings.

    Parameters
    ----------
    bed : Bed
    sun_at : callable
        The exact sun on a bed.
    fits : callable
        None where an outline may lie, else what is in the way.
    distance : float
        Of one step. [m]
    units : str
        For the sentence.

    Returns
    -------
    Moves
    """
    here = sun_at(bed)
    moves = [_move(bed, here, sun_at, fits, direction, distance) for direction in COMPASS]
    free = [move for move in moves if move.obstacle is None]
    best = max(free, key=lambda move: move.gain_h, default=None)
    if best is not None and best.gain_h >= TIE:
        further = _move(bed, here, sun_at, fits, best.direction, 2 * distance)
        moves.append(further)
        if further.obstacle is None and further.gain_h >= best.gain_h + TIE:
            best = further
    else:
        best = None
    return Moves(bed=bed.id, moves=tuple(moves), best=best, sentence=_sentence(best, free, distance, units))


def _move(
    bed: Bed,
    here: BedSun,
    sun_at: Callable[[Bed], BedSun],
    fits: Callable[[Polygon], str | None],
    direction: str,
    distance: float,
) -> Move:
    azimuth = math.radians(COMPASS[direction])
    east, north = distance * math.sin(azimuth), distance * math.cos(azimuth)
    moved = dataclasses.replace(bed, outline=affinity.translate(bed.outline, round(east, 9), round(north, 9)))
    there = sun_at(moved)
    return Move(
        direction=direction,
        distance=distance,
        outline=moved.outline,
        gain_h=there.season_sun_h - here.season_sun_h,
        worst_gain_h=there.worst_cell_sun_h - here.worst_cell_sun_h,
        obstacle=fits(moved.outline),
    )


def _sentence(best: Move | None, free: list[Move], distance: float, units: System) -> str:
    if best is not None:
        step = distance_text(best.distance, units).replace(".0 ", " ")
        return f"moving it {step} {best.direction} gives {best.gain_h:.1f} h more sun a day"
    if not free:
        return f"it cannot be moved {distance_text(distance, units).replace('.0 ', ' ')} in any direction"
    return f"moving it {distance_text(distance, units).replace('.0 ', ' ')} brings no more sun in any direction"
