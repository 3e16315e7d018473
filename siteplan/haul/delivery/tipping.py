"""Where should a delivery be tipped?

In the cell of the tipping zones from which all deliveries are wheeled to their beds in the least time, and beside
which the heaps fit. Where a lorry can tip is in `lorry`.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Point
from shapely.geometry.base import BaseGeometry

from siteplan.haul.delivery.heaps import HeapGround, fit_heaps, heap_ground
from siteplan.haul.delivery.lorry import Zone, tipping_zones
from siteplan.haul.delivery.packaging import Part
from siteplan.haul.ground.standing_places import at_pile, centres_of
from siteplan.haul.loads.loads import supply_trips
from siteplan.haul.routes.bed_routes import NO_WAY, RouteFinder
from siteplan.land.findings import Finding
from siteplan.land.grid import Floats

Cells = NDArray[np.int32]

MOST_TRIED = 200  # about as many cells are tried for heaps
MANY_BEDS = 60  # with more beds than this, only some cells of the zones are tried, and routes start from them
MOST_CELLS_TRIED = 60  # most cells of all zones that are tried with so many beds
BESIDE = 3.0  # m; largest distance from the barrow to the edge of a heap. Common practice, no source


@dataclass(frozen=True, eq=False)
class TippingSpot:
    """Where the delivery is tipped.

    Attributes
    ----------
    id : str
        Id of the pile or surface.
    place : Point
    cells : ndarray, shape (n, 2)
        Where the barrow stands to be loaded.
    zone : shapely geometry
        Within which heaps may lie. [m]
    minutes : float
        Time of all ways out and back from here; a trip without a route counts as NO_WAY. [min]
    findings : tuple of Finding
    """

    id: str
    place: Point
    cells: Cells
    zone: BaseGeometry
    minutes: float
    findings: tuple[Finding, ...] = ()


def work_at(finder: RouteFinder, trips: Mapping[str, int], cells: Cells) -> Floats:
    """Return the time of all ways out and back if everything were tipped on that cell, shape (n,). [s]

    Parameters
    ----------
    finder : RouteFinder
    trips : mapping of str to int
        Number of trips to each bed. Beds that are reached from none of the cells are ignored.
    cells : ndarray, shape (n, 2)

    Notes
    -----
    A trip to a bed that is reached from other cells only takes NO_WAY: the fewest trips without a route count first.
    """
    beds = [finder.site.bed(bed_id) for bed_id in trips]
    seconds = finder.out_and_back(beds, cells)
    reached = np.isfinite(seconds).any(axis=1)
    trip_counts = np.array(list(trips.values()), dtype=float)
    trip_seconds = np.where(np.isfinite(seconds), seconds, NO_WAY)
    return np.asarray((trip_counts[reached, np.newaxis] * trip_seconds[reached]).sum(axis=0))


def tipping_spots(
    finder: RouteFinder,
    trips: Mapping[str, int],
    *,
    volumes: Mapping[str, float] | None = None,
    lanes: BaseGeometry | None = None,
    drop: str | None = None,
) -> tuple[TippingSpot, ...]:
    """Return the best spot of each zone, the one with the least work first.

    With many beds only cells of a coarser lattice are tried.

    Parameters
    ----------
    finder : RouteFinder
    trips : mapping of str to int
        Number of trips to each bed.
    volumes : mapping of str to float, optional
        Volume tipped loose, by material: a spot is preferred beside which all its heaps fit. [m3]
    lanes : shapely geometry, optional
        Ground that heaps keep off, such as routes from other piles. [m]
    drop : str, optional
        Id of the only zone to try.
    """
    zones = [zone for zone in tipping_zones(finder.site) if drop in (None, zone.id)]
    places = [at_pile(finder.ground, zone.pile) for zone in zones]
    if len(trips) > MANY_BEDS:
        places = [_lattice(cells, most=max(MOST_CELLS_TRIED // len(zones), 1)) for cells in places]
    work = work_at(finder, trips, np.vstack(places))
    ends = np.cumsum([len(cells) for cells in places])[:-1]
    spots = [
        _spot(finder, zone, cells, seconds, heap_ground(finder.site, zone.ground, lanes or Point()), volumes or {})
        for zone, cells, seconds in zip(zones, places, np.split(work, ends), strict=True)
    ]
    return tuple(sorted(spots, key=lambda spot: spot.minutes))


def _lattice(cells: Cells, *, most: int) -> Cells:
    """Return at most `most` of a zone's cells, evenly spread.

    Examples
    --------
    >>> cells = np.array([(row, column) for row in range(4) for column in range(6)])
    >>> _lattice(cells, most=6).tolist()
    [[0, 0], [0, 2], [0, 4], [2, 0], [2, 2], [2, 4]]
    """
    stride = 1
    while len(chosen_cells := cells[(cells % stride == 0).all(axis=1)]) > most:
        stride += 1
    return chosen_cells if len(chosen_cells) else cells[:1]


def choose_tipping_spot(
    finder: RouteFinder,
    parts: Sequence[Part],
    drop: str | None,
    *,
    volumes: Mapping[str, float],
    lanes: BaseGeometry | None = None,
) -> TippingSpot | None:
    """Return the tipping spot with the least work, of all zones or of one; None if nothing is delivered."""
    trips: Counter[str] = Counter()
    for part in parts:
        if not part.supply.at:
            trips[part.supply.bed] += supply_trips(part.supply, finder.site.barrow, part.bags).trips
    if not trips:
        return None
    return tipping_spots(finder, trips, volumes=volumes, lanes=lanes, drop=drop)[0]


def _spot(
    finder: RouteFinder, zone: Zone, cells: Cells, seconds: Floats, room: HeapGround, volumes: Mapping[str, float]
) -> TippingSpot:
    """Return the best spot of a zone; with infinite minutes if no barrow reaches it."""
    if not len(cells):
        middle = shapely.point_on_surface(zone.shape)
        return TippingSpot(zone.id, middle, cells, zone.ground, math.inf, zone.findings)
    centres = centres_of(finder.ground.grid, cells)
    quickest = best_cell(seconds, cells, lambda k: fits(room, volumes, centres[k]))
    place = Point(centres[quickest])
    return TippingSpot(
        zone.id, place, cells[quickest : quickest + 1], zone.ground, float(seconds[quickest]) / 60, zone.findings
    )


def best_cell(seconds: Floats, cells: Cells, fit: Callable[[int], bool]) -> int:
    """Return the number of the cell with the least time that fits; if none fits, of the one with the least time.

    Notes
    -----
    Of more than `MOST_TRIED` cells, a coarser lattice is tried first, then the better cells around its best.
    """
    order = [int(k) for k in np.argsort(seconds, kind="stable") if np.isfinite(seconds[k])]
    if not order:
        return 0  # no barrow gets to any of them
    if fit(order[0]):
        return order[0]
    stride = math.ceil(math.sqrt(len(order) / MOST_TRIED))
    coarse_cells = [k for k in order if not (cells[k] % stride).any()]
    coarse_best = next((k for k in coarse_cells if fit(k)), None)
    if coarse_best is None or stride == 1:
        return order[0] if coarse_best is None else coarse_best
    around = np.abs(cells - cells[coarse_best]).max(axis=1) < stride
    better = around & (seconds < seconds[coarse_best])
    return next((k for k in order if k == coarse_best or (better[k] and fit(k))), coarse_best)


def fits(room: HeapGround, volumes: Mapping[str, float], x_and_y: Floats) -> bool:
    """Return whether all heaps fit within reach of a point, given as x and y. [m]"""
    spot = Point(x_and_y)
    if not volumes:
        return True
    if room.ground.distance(spot) > BESIDE:
        return False
    heaps, crowded = fit_heaps(room, volumes, spot, all_or_none=True)
    return not crowded and all(heap.outline.distance(spot) <= BESIDE for heap in heaps)
