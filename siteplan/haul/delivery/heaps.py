"""How do heaps of what is delivered fit the spot?

Cones at the angle of repose side by side, or a ridge where no cone fits; off roots, beds, ways and, if asked, lawn.
It leaves out who tips them there: a lorry drops a rough heap, and a rake does the rest.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import shapely
from shapely import LineString, Point
from shapely.affinity import translate
from shapely.geometry.base import BaseGeometry

from siteplan.haul.ground.barriers import HEADROOM, barrow_reach
from siteplan.haul.haul_results import Heap, Route
from siteplan.land.findings import Finding, finding
from siteplan.land.outline import smallest_rectangle
from siteplan.land.site import HaulSettings, Site

REPOSE = HaulSettings.heap_angle  # degrees
NARROWER = (0.85, 0.7, 0.55, 0.4)  # of the cone's radius, tried as half the width of a ridge
_HAIR = 1e-6  # m


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


def ridge_length(volume: float, half_width: float, *, repose: float = REPOSE) -> float:
    """Return how long the crest of a ridge is. [m]

    Parameters
    ----------
    volume : float
        [m3]
    half_width : float
        Of its foot, less than the radius of the cone. [m]
    repose : float
        Angle of its sides and ends to the ground. [degrees]

    Notes
    -----
    V = r^2 tan(repose) L between the ends, which are half a cone each.

    Examples
    --------
    >>> round(ridge_length(1.0, 0.6), 2)
    3.34
    """
    slope = math.tan(math.radians(repose))
    return (volume - math.pi * half_width**3 * slope / 3) / (half_width**2 * slope)


def kept_free(site: Site) -> BaseGeometry:
    """Return where no heap may lie: on what stands, on keepouts, beds, over the roots of trees and, if asked, lawn.

    Notes
    -----
    Roots: a round of twelve trunk diameters, at most 15 m (BS 5837:2012, seen second-hand); the crown where no
    diameter is known.
    """
    shapes: list[BaseGeometry] = [item.outline for item in site.buildings if item.base < HEADROOM]
    shapes += [item.outline for item in site.hedges] + [item.outline for item in site.beds]
    shapes += [item.outline.buffer(item.setback) for item in site.keepouts]
    shapes += [item.footprint for item in site.fences]
    for tree in site.trees:
        known = tree.trunk_diameter
        shapes.append(tree.trunk.buffer(min(12 * known, 15.0)) if known else tree.outline)
    if site.haul.off_lawn:
        shapes.append(lawn(site))
    return shapely.union_all(shapes)


def lawn(site: Site) -> BaseGeometry:
    """Return the grass that is drawn, without the smaller surfaces that lie on it."""
    grass: BaseGeometry = Point()
    for surface in sorted(site.surfaces, key=lambda item: (-item.outline.area, item.id)):
        here = surface.outline
        grass = grass.union(here) if surface.surface == "grass" else grass.difference(here)
    return grass


@dataclass(frozen=True, eq=False)
class Room:
    """Where heaps may lie.

    Attributes
    ----------
    ground : shapely geometry
        Free of everything. [m]
    repose : float
        [degrees]
    """

    ground: BaseGeometry
    repose: float = REPOSE

    @functools.cached_property
    def along(self) -> float:
        """Heading of the ground's longer side. [degrees]"""
        return smallest_rectangle(self.ground.convex_hull)[2] if self.ground.area > _HAIR else 0.0

    @functools.cached_property
    def _within(self) -> dict[float, BaseGeometry]:
        return {}

    def within(self, far: float) -> BaseGeometry:
        """Return what lies at least so far inside; worked out once. [m]"""
        if far not in self._within:
            self._within[far] = self.ground.buffer(-far)
        return self._within[far]


def heap_room(site: Site, zone: BaseGeometry, lanes: BaseGeometry) -> Room:
    """Return what is left of a zone for heaps."""
    return Room(zone.difference(kept_free(site)).difference(lanes), site.haul.heap_angle)


def lanes_of(site: Site, routes: Sequence[Route], about: BaseGeometry) -> BaseGeometry:
    """Return what the barrow needs along routes, out and back, as far as it lies about some ground."""
    reach = barrow_reach(site.barrow)
    lines = [line for route in routes for line in (route.line, route.back)]
    if not lines or about.is_empty:
        return Point()
    there = shapely.clip_by_rect(lines, *about.buffer(2 * reach + _HAIR).bounds)
    parts = [line for line in there if not line.is_empty]
    return shapely.union_all(parts).buffer(reach) if parts else Point()


def laid(
    room: Room, volumes: Mapping[str, float], near: Point, *, all_or_none: bool = False
) -> tuple[list[Heap], list[str]]:
    """Return the heaps that fit, each as near a point as may be, the largest first; and the materials that do not.

    With `all_or_none` it stops at the first that does not.
    """
    heaps: list[Heap] = []
    crowded: list[str] = []
    for material, volume in sorted(volumes.items(), key=lambda item: (-item[1], item[0])):
        taken = shapely.union_all([heap.outline for heap in heaps]) if heaps else Point()
        heap = _cone(room, material, volume, near, taken) or _ridge(room, material, volume, near, taken)
        if heap is None:
            crowded.append(material)
            if all_or_none:
                break
        else:
            heaps.append(heap)
    return heaps, crowded


def _cone(room: Room, material: str, volume: float, near: Point, taken: BaseGeometry) -> Heap | None:
    radius, height = heap_size(volume, repose=room.repose)
    free = room.within(radius).difference(taken.buffer(radius))
    if free.is_empty:
        return None
    return Heap(material, volume, Point(shapely.shortest_line(free, near).coords[0]), radius, height)


def _ridge(room: Room, material: str, volume: float, near: Point, taken: BaseGeometry) -> Heap | None:
    """Return the widest ridge that fits along the ground's longer or shorter side, None where none does."""
    widest, _ = heap_size(volume, repose=room.repose)
    if room.ground.area < _HAIR:
        return None
    for share in NARROWER:
        half = widest * share
        length = ridge_length(volume, half, repose=room.repose)
        free = room.within(half).difference(taken.buffer(half))
        if free.is_empty:
            continue
        for heading in (room.along, (room.along + 90) % 180):
            east, north = (math.sin(math.radians(heading)) * length / 2, math.cos(math.radians(heading)) * length / 2)
            middles = translate(free, east, north).intersection(translate(free, -east, -north))
            if middles.is_empty:
                continue
            centre = Point(shapely.shortest_line(middles, near).coords[0])
            ends = [(centre.x - east, centre.y - north), (centre.x + east, centre.y + north)]
            if free.buffer(_HAIR).covers(LineString(ends)):
                height = half * math.tan(math.radians(room.repose))
                return Heap(material, volume, centre, half, height, length, heading)
    return None


def place_heaps(
    site: Site,
    spot_id: str,
    zone: BaseGeometry,
    near: Point,
    volumes: Mapping[str, float],
    *,
    routes: Sequence[Route] = (),
) -> tuple[tuple[Heap, ...], list[Finding]]:
    """Return the heaps, each as near a point as zone and neighbours allow, and what does not fit or is in the way.

    Parameters
    ----------
    site : Site
        For what is kept free of heaps.
    spot_id : str
        Of the pile or surface on which they are tipped.
    zone : shapely geometry
        Within which they may lie.
    near : Point
        Where the barrow is loaded.
    volumes : mapping of str to float
        Loose volume by material; the largest is placed first. [m3]
    routes : sequence of Route
        That are kept free; those that begin here only where there is room enough.
    """
    sizes = [heap_size(volume, repose=site.haul.heap_angle)[0] for volume in volumes.values()]
    about = zone.buffer(max(sizes, default=0.0))  # a heap that is too big sticks out
    others = lanes_of(site, [route for route in routes if route.from_id != spot_id], about)
    heaps, crowded = laid(heap_room(site, zone, lanes_of(site, routes, zone)), volumes, near)
    if crowded:
        heaps, crowded = laid(heap_room(site, zone, others), volumes, near)
    middle = shapely.point_on_surface(zone)
    too_big = [
        Heap(name, volumes[name], middle, *heap_size(volumes[name], repose=site.haul.heap_angle)) for name in crowded
    ]
    heaps += too_big
    heaps.sort(key=lambda heap: (-heap.volume, heap.material))
    found = []
    if too_big:
        widest = 2 * max(heap.radius for heap in too_big)
        names = tuple(sorted(heap.material for heap in too_big))
        found.append(finding("heap-too-big", spot_id, materials=names, widest=widest))
    blocking = [heap for heap in heaps if heap.outline.buffer(-_HAIR).intersects(others)]
    return tuple(heaps), [*found, *(finding("heap-in-the-way", material=heap.material) for heap in blocking)]
