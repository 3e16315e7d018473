"""What would moving a bed a step bring?

Eight steps around, each asked of the exact sun; the best is followed one step further.
It leaves out turning it: the headings compare that.
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
FURTHEST = 2 * STEP  # m; how far a bed is moved at the most


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
        More sun than where it stands, on average and in its worst cell; negative where less. [h a day]
    obstacle : Limit or None
        The limit that forbids it; None where the bed fits there.
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
    return bed.laid(lambda outline: affinity.translate(outline, round(east, 9), round(north, 9)))


def compare_shifts(
    bed: Bed, sun_at: Callable[[Bed], BedSun], *, fits: Callable[[Polygon], Limit | None], distance: float = STEP
) -> Shifts:
    """Return what a step in each of eight directions brings.

    Parameters
    ----------
    bed : Bed
    sun_at : callable
        The exact sun on a bed.
    fits : callable
        None where an outline may lie, else the limit that it breaks.
    distance : float
        Of one step. [m]

    Returns
    -------
    Shifts
    """
    here = sun_at(bed)

    def shifted(direction: str, distance: float) -> Shift:
        there = moved(bed, direction, distance)
        sun, outline = sun_at(there), there.outline
        return Shift(
            direction=direction,
            distance=distance,
            outline=outline,
            gain_h=sun.season_sun_h - here.season_sun_h,
            worst_gain_h=sun.worst_cell_sun_h - here.worst_cell_sun_h,
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
