"""Where should a delivery be tipped?

The cell of the drop zones from which all that is delivered is wheeled in the least time; heaps are cones beside it.
It leaves out the lorry: whether it gets there, and what the ground bears, is for its driver to judge.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon, Point
from shapely.geometry.base import BaseGeometry

from siteplan.haul.barriers import HEADROOM, barrow_reach
from siteplan.haul.results import Heap, Route
from siteplan.haul.standing import at_pile, beside, centres_of
from siteplan.haul.ways import Ways
from siteplan.land.features import Pile
from siteplan.land.grid import Floats
from siteplan.land.site import Caution, Site

Cells = NDArray[np.int32]

AT_THE_EDGE = 0.5  # m; hard ground that ends so near the edge is reached from the street
TAILGATE = 3.0  # m from the edge within which a lorry that backs up to it tips. Common practice, no source
REPOSE = 35.0  # degrees, of loose soil, compost and chips; 30 to 45. Common practice, no source


@dataclass(frozen=True, eq=False)
class TippingSpot:
    """Where the delivery is tipped.

    Attributes
    ----------
    id : str
        Of the pile or surface.
    place : Point
    cells : ndarray, shape (n, 2)
        Where the barrow stands to be loaded.
    zone : shapely geometry
        Within which heaps may lie.
    minutes : float
        All ways out and back from here. [min]
    cautions : tuple of Caution
    """

    id: str
    place: Point
    cells: Cells
    zone: BaseGeometry
    minutes: float
    cautions: tuple[Caution, ...] = ()


def heap_size(volume: float, *, repose: float = REPOSE) -> tuple[float, float]:
    """Return radius and height of a cone of loose material. [m]

    Parameters
    ----------
    volume : float
        [m3]
    repose : float
        Angle of its side to the ground. [degrees]

    Notes
    -----
    V = pi r^2 h / 3 with h = r tan(repose).

    Examples
    --------
    >>> radius, height = heap_size(1.0)
    >>> round(radius, 2), round(height, 2)
    (1.11, 0.78)
    >>> heap_size(0.0)
    (0.0, 0.0)
    """
    slope = math.tan(math.radians(repose))
    radius = (3 * volume / (math.pi * slope)) ** (1 / 3)
    return radius, radius * slope


def work_map(ways: Ways, trips: Mapping[str, int], among: Cells) -> Floats:
    """Return the time of all ways out and back if everything lay on that cell, shape (rows, columns). [s]

    Parameters
    ----------
    ways : Ways
    trips : mapping of str to int
        How often each bed is wheeled to.
    among : ndarray, shape (n, 2)
        The cells that matter: a bed that no barrow reaches from any of them is left out.
    """
    total = np.zeros(ways.ground.grid.shape)
    for bed_id, count in trips.items():
        cells = beside(ways.ground, ways.site.bed(bed_id).outline, own=bed_id)
        if not len(cells):
            continue
        out = ways.router.field(cells, loaded=True, towards=True)
        home = ways.router.field(cells, loaded=False)
        seconds = out.seconds + home.seconds
        if np.isfinite(seconds[among[:, 0], among[:, 1]]).any():
            total += count * seconds
    return total


def tipping_spots(ways: Ways, trips: Mapping[str, int]) -> tuple[TippingSpot, ...]:
    """Return the best spot of each drop zone, the one with the least work first.

    Parameters
    ----------
    ways : Ways
    trips : mapping of str to int
        How often each bed is wheeled to from there.
    """
    drops = [pile for pile in ways.site.piles if pile.drop]
    said = bool(drops)
    drops = drops or _makeshift(ways.site)
    places = [at_pile(ways.ground, pile) for pile in drops]
    work = work_map(ways, trips, np.vstack(places))
    found = [_spot(ways, pile, cells, work) for pile, cells in zip(drops, places, strict=True)]
    if not said:
        found = [dataclasses.replace(spot, cautions=(_nobody_says(spot.id),)) for spot in found]
    return tuple(sorted(found, key=lambda spot: spot.minutes))


def _nobody_says(name: str) -> Caution:
    text = f'No pile says where a delivery may be tipped (drop = true), so it is taken to be tipped at "{name}".'
    return Caution("no-drop", name, text)


def _spot(ways: Ways, pile: Pile, cells: Cells, work: Floats) -> TippingSpot:
    if not len(cells):
        middle = shapely.point_on_surface(pile.shape)
        return TippingSpot(pile.id, middle, cells, pile.shape, math.inf)
    seconds = work[cells[:, 0], cells[:, 1]]
    best = int(np.argmin(seconds))
    chosen = cells[best : best + 1]
    x, y = centres_of(ways.ground.grid, chosen)[0]
    return TippingSpot(pile.id, Point(x, y), chosen, pile.shape, float(seconds[best]) / 60)


def _makeshift(site: Site) -> list[Pile]:
    """Return where a lorry might tip if nobody says: hard ground at the edge, else the gate nearest to it."""
    edge = site.boundary.exterior
    for hard in ("paved", "gravel"):
        grounds = [item for item in site.surfaces if item.surface == hard]
        if grounds:
            away = {item.id: item.outline.distance(edge) for item in grounds}
            near = [item for item in grounds if away[item.id] <= min(away.values()) + AT_THE_EDGE]
            strips = [(item.id, item.outline.intersection(edge.buffer(away[item.id] + TAILGATE))) for item in near]
            return [Pile(id=name, shape=_areas(strip), drop=True) for name, strip in strips]
    gate = min(site.gates, key=lambda item: item.place.distance(edge), default=None)
    if gate is not None:
        return [Pile(id=gate.id, shape=gate.place, drop=True)]
    return [Pile(id="edge of the property", shape=shapely.shortest_line(edge, site.boundary.centroid).interpolate(0))]


def _areas(shape: BaseGeometry) -> MultiPolygon:
    return MultiPolygon([part for part in shapely.get_parts(shape) if part.geom_type == "Polygon"])


def kept_free(site: Site) -> BaseGeometry:
    """Return where no heap may lie: on what stands, on keepouts, beds, and over the roots of trees.

    Notes
    -----
    Roots: a round of twelve trunk diameters, at most 15 m (BS 5837:2012, seen second-hand); none where no diameter
    is known.
    """
    shapes: list[BaseGeometry] = [item.outline for item in site.buildings if item.base < HEADROOM]
    shapes += [item.outline for item in site.hedges] + [item.outline for item in site.beds]
    shapes += [item.outline.buffer(item.setback) for item in site.keepouts]
    shapes += [item.line.buffer(item.thickness / 2) for item in site.fences]
    shapes += [tree.trunk.buffer(min(12 * (tree.trunk_diameter or 0.0), 15.0)) for tree in site.trees]
    return shapely.union_all(shapes)


def place_heaps(
    site: Site, spot: TippingSpot, volumes: Mapping[str, float], *, routes: Sequence[Route] = ()
) -> tuple[tuple[Heap, ...], list[Caution]]:
    """Return the heaps, each as near the spot as zone and neighbours allow, and a caution for what does not fit.

    Parameters
    ----------
    site : Site
        For what is kept free of heaps.
    spot : TippingSpot
    volumes : mapping of str to float
        Loose volume by material; the largest is placed first. [m3]
    routes : sequence of Route
        That are kept free: those that do not begin here.
    """
    passed = [route.line for route in routes if route.from_id != spot.id]
    lanes = shapely.union_all(passed).buffer(barrow_reach(site.barrow))
    zone = spot.zone.difference(kept_free(site)).difference(lanes) if spot.zone.area > 0 else spot.zone
    heaps: list[Heap] = []
    crowded: list[str] = []
    for material, volume in sorted(volumes.items(), key=lambda item: (-item[1], item[0])):
        radius, height = heap_size(volume)
        centre = _free_centre(zone, spot.place, radius, heaps)
        if centre is None:
            crowded.append(material)
            centre = shapely.point_on_surface(spot.zone)
        heaps.append(Heap(material, volume, centre, radius, height))
    cautions = _in_the_way(heaps, lanes)
    if not crowded or spot.zone.area <= 0:
        return tuple(heaps), cautions
    widest = max(heap.radius for heap in heaps if heap.material in crowded) * 2
    text = (
        f"Not everything fits here at once: {', '.join(sorted(crowded))} needs a round of up to {widest:.1f} m "
        "beside the other heaps. Take the deliveries one after the other, or give them more room."
    )
    return tuple(heaps), [Caution("heap-too-big", spot.id, text), *cautions]


def _in_the_way(heaps: Sequence[Heap], lanes: BaseGeometry) -> list[Caution]:
    """Return a caution for each heap that lies on a route which begins elsewhere."""
    text = "The heap of {} lies on a way that is used: tip it later, or somewhere else."
    blocking = [heap for heap in heaps if heap.centre.buffer(heap.radius - 1e-6).intersects(lanes)]
    return [Caution("heap-in-the-way", "", text.format(heap.material)) for heap in blocking]


def _free_centre(zone: BaseGeometry, near: Point, radius: float, heaps: Sequence[Heap]) -> Point | None:
    """Return the point nearest to `near` at which a heap lies inside the zone and on no other heap."""
    room: BaseGeometry = zone.buffer(-radius).difference(
        shapely.union_all([heap.centre.buffer(heap.radius + radius) for heap in heaps])
    )
    return None if room.is_empty else Point(shapely.shortest_line(room, near).coords[0])
