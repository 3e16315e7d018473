"""Where do the heaps of delivered material fit near the tipping spot?

Each heap is a cone at the angle of repose, or a ridge where no cone fits. Heaps keep off roots, beds, barrow routes
and, if set so, lawn. The lorry tips roughly there; the final shape is made with a rake.
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

from siteplan.haul.haul_results import Heap, Route
from siteplan.land.barriers import HEADROOM, barrow_reach
from siteplan.land.findings import Finding, finding
from siteplan.land.outline import smallest_rectangle
from siteplan.land.root_protection import root_protection_area
from siteplan.land.site import HaulSettings, Site

REPOSE = HaulSettings.heap_angle  # degrees
NARROWER = (0.85, 0.7, 0.55, 0.4)  # half widths of a ridge to try, as shares of the cone's radius
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
    """Return the length of a ridge's crest. [m]

    Parameters
    ----------
    volume : float
        [m3]
    half_width : float
        Half the width of its foot, less than the cone's radius. [m]
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


def no_heap_ground(site: Site) -> BaseGeometry:
    """Return the ground on which no heap may lie: features of all kinds, tree roots and, if set so, lawn. [m]

    Roots are those of `root_protection_area`, as for a bed.
    """
    shapes: list[BaseGeometry] = [building.outline for building in site.buildings if building.base < HEADROOM]
    shapes += [hedge.outline for hedge in site.hedges] + [bed.outline for bed in site.beds]
    shapes += [keepout.outline.buffer(keepout.setback) for keepout in site.keepouts]
    shapes += [fence.footprint for fence in site.fences]
    shapes += [root_protection_area(tree) for tree in site.trees]
    if site.haul.off_lawn:
        shapes.append(lawn(site))
    return shapely.union_all(shapes)


def lawn(site: Site) -> BaseGeometry:
    """Return the drawn grass, without smaller surfaces on it."""
    grass: BaseGeometry = Point()
    for surface in sorted(site.surfaces, key=lambda surface: (-surface.outline.area, surface.id)):
        outline = surface.outline
        grass = grass.union(outline) if surface.surface == "grass" else grass.difference(outline)
    return grass


@dataclass(frozen=True, eq=False)
class HeapGround:
    """Ground for heaps.

    Attributes
    ----------
    ground : shapely geometry
        Where heaps may lie. [m]
    repose : float
        Angle of repose. [degrees]
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
        """Return the part of the ground at least `far` inside its edge; cached. [m]"""
        if far not in self._within:
            self._within[far] = self.ground.buffer(-far)
        return self._within[far]


def heap_ground(site: Site, zone: BaseGeometry, lanes: BaseGeometry) -> HeapGround:
    """Return the part of a zone on which heaps may lie; `lanes` are kept free as well."""
    return HeapGround(zone.difference(no_heap_ground(site)).difference(lanes), site.haul.heap_angle)


def barrow_lanes(site: Site, routes: Sequence[Route], about: BaseGeometry) -> BaseGeometry:
    """Return the strips that the barrow needs along routes, out and back, where they are near some ground. [m]"""
    reach = barrow_reach(site.barrow)
    lines = [line for route in routes for line in (route.line, route.back)]
    if not lines or about.is_empty:
        return Point()
    clipped = shapely.clip_by_rect(lines, *about.buffer(2 * reach + _HAIR).bounds)
    parts = [line for line in clipped if not line.is_empty]
    return shapely.union_all(parts).buffer(reach) if parts else Point()


def fit_heaps(
    room: HeapGround, volumes: Mapping[str, float], spot: Point, *, all_or_none: bool = False
) -> tuple[list[Heap], list[str]]:
    """Return the heaps that fit, each as near to a point as possible, and the materials whose heaps do not fit.

    The largest heap is placed first. With `all_or_none` it stops at the first that does not fit.
    """
    heaps: list[Heap] = []
    crowded: list[str] = []
    for material in sorted(volumes, key=lambda material: (-volumes[material], material)):
        volume = volumes[material]
        occupied = shapely.union_all([heap.outline for heap in heaps]) if heaps else Point()
        heap = _cone(room, material, volume, spot, occupied) or _ridge(room, material, volume, spot, occupied)
        if heap is None:
            crowded.append(material)
            if all_or_none:
                break
        else:
            heaps.append(heap)
    return heaps, crowded


def _cone(room: HeapGround, material: str, volume: float, spot: Point, occupied: BaseGeometry) -> Heap | None:
    """Return a cone as near to a point as possible; None if it does not fit beside the ground taken."""
    radius, height = heap_size(volume, repose=room.repose)
    free = room.within(radius).difference(occupied.buffer(radius))
    if free.is_empty:
        return None
    return Heap(material, volume, Point(shapely.shortest_line(free, spot).coords[0]), radius, height)


def _ridge(room: HeapGround, material: str, volume: float, spot: Point, occupied: BaseGeometry) -> Heap | None:
    """Return the widest ridge that fits along the ground's longer or shorter side; None if none does."""
    widest, _ = heap_size(volume, repose=room.repose)
    if room.ground.area < _HAIR:
        return None
    for share in NARROWER:
        half = widest * share
        length = ridge_length(volume, half, repose=room.repose)
        free = room.within(half).difference(occupied.buffer(half))
        if free.is_empty:
            continue
        for heading in (room.along, (room.along + 90) % 180):
            east, north = (math.sin(math.radians(heading)) * length / 2, math.cos(math.radians(heading)) * length / 2)
            middles = translate(free, east, north).intersection(translate(free, -east, -north))
            if middles.is_empty:
                continue
            centre = Point(shapely.shortest_line(middles, spot).coords[0])
            ends = [(centre.x - east, centre.y - north), (centre.x + east, centre.y + north)]
            if free.buffer(_HAIR).covers(LineString(ends)):
                height = half * math.tan(math.radians(room.repose))
                return Heap(material, volume, centre, half, height, length, heading)
    return None


def place_heaps(
    site: Site,
    spot_id: str,
    zone: BaseGeometry,
    spot: Point,
    volumes: Mapping[str, float],
    *,
    routes: Sequence[Route] = (),
) -> tuple[tuple[Heap, ...], list[Finding]]:
    """Return the heaps, each as near to a point as possible, and findings about those too big or in the way.

    Parameters
    ----------
    site : Site
        Gives the ground that heaps keep off.
    spot_id : str
        Id of the pile or surface on which they are tipped.
    zone : shapely geometry
        Within which they may lie. [m]
    spot : Point
        Where the barrow is loaded.
    volumes : mapping of str to float
        Loose volume by material; the largest is placed first. [m3]
    routes : sequence of Route
        Routes to keep free. Routes that begin at this spot are kept free only if all heaps fit beside them.
    """
    sizes = [heap_size(volume, repose=site.haul.heap_angle)[0] for volume in volumes.values()]
    about = zone.buffer(max(sizes, default=0.0))  # a heap that is too big extends beyond the zone
    other_lanes = barrow_lanes(site, [route for route in routes if route.from_id != spot_id], about)
    heaps, crowded = fit_heaps(heap_ground(site, zone, barrow_lanes(site, routes, zone)), volumes, spot)
    if crowded:
        heaps, crowded = fit_heaps(heap_ground(site, zone, other_lanes), volumes, spot)
    middle = shapely.point_on_surface(zone)
    too_big = [
        Heap(name, volumes[name], middle, *heap_size(volumes[name], repose=site.haul.heap_angle)) for name in crowded
    ]
    heaps += too_big
    heaps.sort(key=lambda heap: (-heap.volume, heap.material))
    findings = []
    if too_big:
        widest = 2 * max(heap.radius for heap in too_big)
        names = tuple(sorted(heap.material for heap in too_big))
        findings.append(finding("heap-too-big", spot_id, materials=names, widest=widest))
    blocking = [heap for heap in heaps if heap.outline.buffer(-_HAIR).intersects(other_lanes)]
    return tuple(heaps), [*findings, *(finding("heap-in-the-way", material=heap.material) for heap in blocking)]
