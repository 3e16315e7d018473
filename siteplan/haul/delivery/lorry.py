"""Where can a lorry tip?

Within reach of hard ground that is as wide as the lorry and connected to an open edge of the property. Bearing
capacity, overhead lines and turning circles are not checked: the driver must judge them.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import shapely
from shapely import MultiPolygon, Point
from shapely.geometry.base import BaseGeometry

from siteplan.land.features import Fence, Hedge, Pile
from siteplan.land.findings import Finding, finding
from siteplan.land.openings import open_ground
from siteplan.land.site import Site

AT_THE_EDGE = 0.5  # m; hard ground that ends this near the property's edge is reached from the street
TAILGATE = 3.0  # m from the lorry to the far side of the heap. Common practice, no source
LORRY_HEIGHT = 4.0  # m; a lorry passes under a crown or roof that begins higher. Common practice, no source
JOINT = 0.05  # m; surfaces drawn this near to each other are connected
HARD = ("paved", "gravel")


@dataclass(frozen=True)
class Zone:
    """Where a delivery may be tipped.

    Attributes
    ----------
    id : str
        Id of the pile, surface or gate, or a name.
    shape : shapely geometry
        Where the barrow may be loaded. [m]
    ground : shapely geometry
        Where heaps may lie. [m]
    findings : tuple of Finding
    """

    id: str
    shape: BaseGeometry
    ground: BaseGeometry
    findings: tuple[Finding, ...] = ()

    @property
    def pile(self) -> Pile:
        """The zone as a pile."""
        areas = [part for part in shapely.get_parts(self.shape) if part.geom_type == "Polygon"]
        shape = self.shape if isinstance(self.shape, Point) else MultiPolygon(areas)
        return Pile(id=self.id, shape=shape, drop=True)


def tipping_zones(site: Site) -> tuple[Zone, ...]:
    """Return where a delivery may be tipped: the drop zones, else the hard ground that a lorry reaches.

    With the setting `tip_anywhere`, both. If there is no hard ground for a lorry, it tips from outside: onto a path
    or at a gate at the edge, else over the edge.
    """
    zones = [Zone(pile.id, pile.shape, _heap_area(site, pile.shape)) for pile in site.piles if pile.drop]
    if zones and not site.haul.tip_anywhere:
        return tuple(zones)
    hard = lorry_ground(site)
    if not hard.is_empty:
        zones.append(_zone_around_lorry(site, hard, has_drop_zones=bool(zones)))
    return tuple(zones or [_fallback_zone(site)])


def _heap_area(site: Site, shape: BaseGeometry) -> BaseGeometry:
    """Return the ground for heaps: a drawn zone itself, or a circle around a point. [m]"""
    return shape if shape.area > 0 else shape.buffer(TAILGATE).intersection(site.boundary)


def lorry_ground(site: Site) -> BaseGeometry:
    """Return the hard ground that a lorry reaches from an open edge of the property; empty if there is none. [m]

    Notes
    -----
    Gravel and paving without obstacles lower than a lorry, opened (morphologically) by a disc as wide as the lorry.
    Of the pieces, those within half a metre of an edge without fence, hedge or building.
    """
    half = site.haul.lorry_width / 2
    hard = shapely.union_all([surface.outline for surface in site.surfaces if surface.surface in HARD])
    if hard.is_empty:
        return Point()
    obstacles = _impassable(site)
    open_edge = _open_edge(site, obstacles)
    beyond = hard.intersection(open_edge.buffer(AT_THE_EDGE)).buffer(2 * half).difference(site.boundary)
    drive = hard.union(beyond).buffer(JOINT, join_style="mitre").buffer(-JOINT, join_style="mitre")
    middle = drive.difference(obstacles).buffer(-half + JOINT).intersection(site.boundary)
    reach = half + AT_THE_EDGE
    pieces = [piece for piece in shapely.get_parts(middle) if piece.distance(open_edge) <= reach]
    if not pieces:
        return Point()
    return shapely.union_all(pieces).buffer(half).intersection(hard).intersection(site.boundary)


def _open_edge(site: Site, obstacles: BaseGeometry) -> BaseGeometry:
    """Return the parts of the property's edge without obstacles near."""
    return shapely.line_merge(site.boundary.exterior.difference(obstacles.buffer(AT_THE_EDGE)))


def _impassable(site: Site) -> BaseGeometry:
    """Return the obstacles that a lorry cannot drive over or under, without the gates that are wide enough."""
    wide = [gate for gate in site.gates if gate.width >= site.haul.lorry_width]
    barriers: list[Fence | Hedge] = [*(fence for fence in site.fences if fence.base < LORRY_HEIGHT), *site.hedges]
    gaps = shapely.union_all([gate.line.buffer(AT_THE_EDGE) for gate in wide])
    walls = shapely.union_all([open_ground(barrier, wide) for barrier in barriers]).difference(gaps)
    shapes: list[BaseGeometry] = [walls]
    shapes += [building.outline for building in site.buildings if building.base < LORRY_HEIGHT]
    shapes += [tree.outline if tree.crown_base < LORRY_HEIGHT else tree.trunk.buffer(0.3) for tree in site.trees]
    shapes += [bed.outline for bed in site.beds] + [keepout.outline for keepout in site.keepouts]
    return shapely.union_all(shapes)


def _zone_around_lorry(site: Site, hard: BaseGeometry, *, has_drop_zones: bool) -> Zone:
    """Return the zone within reach of a lorry, on the lorry's side of walls and fences.

    `has_drop_zones` is whether the site has drop zones of its own; it decides on the finding.
    """
    walls = shapely.union_all(
        [
            *(fence.footprint for fence in site.fences),
            *(hedge.outline for hedge in site.hedges),
            *(building.outline for building in site.buildings),
        ]
    )
    within_reach = hard.buffer(TAILGATE).intersection(site.boundary).difference(walls)
    parts = [part for part in shapely.get_parts(within_reach) if part.intersects(hard)]
    surfaces = [surface for surface in site.surfaces if surface.surface in HARD]
    name = max(surfaces, key=lambda surface: surface.outline.intersection(hard).area).id
    shape = shapely.union_all(parts)
    note = finding(
        "lorry" if has_drop_zones else "no-drop", name, hard=True, width=site.haul.lorry_width, reach=TAILGATE
    )
    return Zone(name, shape, shape, (note,))


def _fallback_zone(site: Site) -> Zone:
    """Return where a lorry might tip without hard ground: onto a path, at a gate at the edge, or over the edge.

    Over the edge means at an open stretch as wide as the lorry, as near to the property's middle as possible.
    """
    edge = site.boundary.exterior
    hard = [surface for surface in site.surfaces if surface.surface in HARD]
    paths = [surface for surface in hard if surface.outline.distance(edge) <= AT_THE_EDGE]
    gates = [gate for gate in site.gates if gate.place.distance(edge) <= AT_THE_EDGE]
    gate = min(gates, key=lambda gate: gate.place.distance(edge), default=None)
    if paths:
        name = min(path.id for path in paths)
        strip = shapely.union_all([path.outline for path in paths]).intersection(edge.buffer(TAILGATE))
        zone = Zone(name, strip, strip)
    elif gate is not None:
        zone = Zone(gate.id, gate.place, _heap_area(site, gate.place))
    else:
        stretches = shapely.get_parts(_open_edge(site, _impassable(site)))
        wide_stretches = shapely.union_all(stretches[shapely.length(stretches) >= site.haul.lorry_width])
        place = shapely.shortest_line(
            edge if wide_stretches.is_empty else wide_stretches, site.boundary.centroid
        ).interpolate(0)
        zone = Zone("edge of the property", place, _heap_area(site, place))
    return replace(zone, findings=(finding("no-drop", zone.id, hard=False, width=site.haul.lorry_width),))
