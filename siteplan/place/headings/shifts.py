"""How much sun would a bed gain if it were moved a little?

The exact sun is computed a step away in eight directions, and a second step in the best of them. Turning the bed is
compared in `headings`.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated

from shapely import Polygon, affinity

from siteplan.land.document import Hidden, Metres, Named
from siteplan.land.features import Bed
from siteplan.land.outline import COMPASS
from siteplan.place.headings.headings import TIE
from siteplan.place.limits.limits import Limit
from siteplan.sun.bed_sun import BedSun

STEP = 1.0  # m
FURTHEST = 2 * STEP  # m; largest distance that a bed is moved


@dataclass(frozen=True, kw_only=True)
class Shift:
    """A bed moved by one step.

    Attributes
    ----------
    direction : str
        Compass point.
    distance : float
        [m]
    outline : Polygon
        Of the bed there.
    gain_h, worst_gain_h : float
        Gain of sun against its present position, on average and in its worst cell; negative for a loss. [h a day]
    obstacle : Limit or None
        The limit that forbids it; None if the bed fits there.
    """

    direction: str
    distance: Metres
    outline: Hidden[Polygon]
    gain_h: float
    worst_gain_h: Annotated[float, Named("worst_cell_gain_h")]
    obstacle: Hidden[Limit | None]


@dataclass(frozen=True, kw_only=True)
class Shifts:
    """Eight steps around a bed.

    Attributes
    ----------
    bed : str
        Its id.
    steps : tuple of Shift
        Clockwise from north, all as long.
    further : Shift or None
        The best step taken twice; None where no step is worth it.
    best : Shift or None
        That fits with the most gain; None where none is worth it.
    """

    bed: Hidden[str]
    steps: Hidden[tuple[Shift, ...]]
    further: Hidden[Shift | None] = None
    best: Hidden[Shift | None] = None


def moved(bed: Bed, direction: str, distance: float = STEP) -> Bed:
    """Return a bed moved towards a compass point. [m]"""
    azimuth = math.radians(COMPASS[direction])
    east, north = distance * math.sin(azimuth), distance * math.cos(azimuth)
    return bed.moved(lambda outline: affinity.translate(outline, round(east, 9), round(north, 9)))


def compare_shifts(
    bed: Bed, sun_at: Callable[[Bed], BedSun], *, fits: Callable[[Polygon], Limit | None], distance: float = STEP
) -> Shifts:
    """Return the gains of sun of a step in each of eight directions.

    Parameters
    ----------
    bed : Bed
    sun_at : callable
        Returns the exact sun on a bed.
    fits : callable
        Returns None if an outline fits, else the limit that it breaks.
    distance : float
        Of one step. [m]

    Returns
    -------
    Shifts
    """
    sun_here = sun_at(bed)

    def shifted(direction: str, distance: float) -> Shift:
        moved_bed = moved(bed, direction, distance)
        sun, outline = sun_at(moved_bed), moved_bed.outline
        return Shift(
            direction=direction,
            distance=distance,
            outline=outline,
            gain_h=sun.season_sun_h - sun_here.season_sun_h,
            worst_gain_h=sun.worst_cell_sun_h - sun_here.worst_cell_sun_h,
            obstacle=fits(outline),
        )

    steps = tuple(shifted(direction, distance) for direction in COMPASS)
    best = max((step for step in steps if step.obstacle is None), key=lambda step: step.gain_h, default=None)
    if best is None or best.gain_h < TIE:
        return Shifts(bed=bed.id, steps=steps)
    further = shifted(best.direction, 2 * distance)
    if further.obstacle is None and further.gain_h >= best.gain_h + TIE:
        best = further
    return Shifts(bed=bed.id, steps=steps, further=further, best=best)
