"""Where can a lorry tip?

On hard ground that is joined to an open edge of the property and as wide as the lorry, and as far as it tips from it.
It leaves out what the ground bears, overhead lines and how tightly it turns: its driver is to judge.
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

AT_THE_EDGE = 0.5  # m; hard ground that ends so near the edge is reached from the street
TAILGATE = 3.0  # m from where it stands to the far side of the heap. Common practice, no source
LORRY_HEIGHT = 4.0  # m; a crown or roof that begins higher is driven under. Common practice, no source
JOINT = 0.05  # m; surfaces that are drawn so near each other join
HARD = ("paved", "gravel")


@dataclass(frozen=True)
class Zone:
    """Where a delivery may be tipped.

    Attributes
    ----------
    id : str
        Of the pile, or what it is called.
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
    """Return where a delivery may be tipped: the drop zones; wherever a lorry gets to, if asked or if there are none.

    Where no hard ground bears it, the lorry tips from outside: onto a path at the edge, at a gate, else anywhere.
    """
    zones = [Zone(pile.id, pile.shape, _around(site, pile.shape)) for pile in site.piles if pile.drop]
    if zones and not site.haul.tip_anywhere:
        return tuple(zones)
    hard = lorry_ground(site)
    if not hard.is_empty:
        zones.append(_beside_lorry(site, hard, said=bool(zones)))
    return tuple(zones or [_makeshift(site)])


def _around(site: Site, shape: BaseGeometry) -> BaseGeometry:
    """Return a drawn zone, or as far around a point as a lorry tips."""
    return shape if shape.area > 0 else shape.buffer(TAILGATE).intersection(site.boundary)


def lorry_ground(site: Site) -> BaseGeometry:
    """Return the hard ground that a lorry gets to from an open edge of the property; empty where there is none.

    Notes
    -----
    Gravel and paving, less what stands there lower than a lorry, opened by a disc as wide as the lorry; of the pieces
    those that come within half a metre of an edge on which no fence, hedge or building stands.
    """
    half = site.haul.lorry_width / 2
    hard = shapely.union_all([item.outline for item in site.surfaces if item.surface in HARD])
    if hard.is_empty:
        return Point()
    standing = _standing(site)
    open_edge = _open_edge(site, standing)
    beyond = hard.intersection(open_edge.buffer(AT_THE_EDGE)).buffer(2 * half).difference(site.boundary)
    drive = hard.union(beyond).buffer(JOINT, join_style="mitre").buffer(-JOINT, join_style="mitre")
    middle = drive.difference(standing).buffer(-half + JOINT).intersection(site.boundary)
    reach = half + AT_THE_EDGE
    pieces = [piece for piece in shapely.get_parts(middle) if piece.distance(open_edge) <= reach]
    if not pieces:
        return Point()
    return shapely.union_all(pieces).buffer(half).intersection(hard).intersection(site.boundary)


def _open_edge(site: Site, standing: BaseGeometry) -> BaseGeometry:
    """Return the edge of the property where nothing of what stands is near."""
    return shapely.line_merge(site.boundary.exterior.difference(standing.buffer(AT_THE_EDGE)))


def _standing(site: Site) -> BaseGeometry:
    """Return what a lorry cannot drive over or under, gates that are wide enough taken out."""
    wide = [gate for gate in site.gates if gate.width >= site.haul.lorry_width]
    barriers: list[Fence | Hedge] = [*(item for item in site.fences if item.base < LORRY_HEIGHT), *site.hedges]
    gaps = shapely.union_all([gate.line.buffer(AT_THE_EDGE) for gate in wide])
    walls = shapely.union_all([open_ground(item, wide) for item in barriers]).difference(gaps)
    shapes: list[BaseGeometry] = [walls]
    shapes += [item.outline for item in site.buildings if item.base < LORRY_HEIGHT]
    shapes += [tree.outline if tree.crown_base < LORRY_HEIGHT else tree.trunk.buffer(0.3) for tree in site.trees]
    shapes += [item.outline for item in site.beds] + [item.outline for item in site.keepouts]
    return shapely.union_all(shapes)


def _beside_lorry(site: Site, hard: BaseGeometry, *, said: bool) -> Zone:
    """Return the zone within reach of a lorry, on its own side of walls and fences.

    `said` is whether the site itself says where a delivery may be tipped.
    """
    walls = shapely.union_all(
        [
            *(item.footprint for item in site.fences),
            *(item.outline for item in site.hedges),
            *(item.outline for item in site.buildings),
        ]
    )
    near = hard.buffer(TAILGATE).intersection(site.boundary).difference(walls)
    parts = [part for part in shapely.get_parts(near) if part.intersects(hard)]
    surfaces = [item for item in site.surfaces if item.surface in HARD]
    name = max(surfaces, key=lambda item: item.outline.intersection(hard).area).id
    shape = shapely.union_all(parts)
    note = finding("lorry" if said else "no-drop", name, hard=True, width=site.haul.lorry_width, reach=TAILGATE)
    return Zone(name, shape, shape, (note,))


def _makeshift(site: Site) -> Zone:
    """Return where a lorry might tip if no hard ground bears it: onto a path at the edge, at a gate, or anywhere.

    Anywhere is where the edge is open as wide as the lorry, and as near the middle as may be.
    """
    edge = site.boundary.exterior
    paths = [item for item in site.surfaces if item.surface in HARD and item.outline.distance(edge) <= AT_THE_EDGE]
    gate = min(site.gates, key=lambda item: item.place.distance(edge), default=None)
    if paths:
        name = min(item.id for item in paths)
        strip = shapely.union_all([item.outline for item in paths]).intersection(edge.buffer(TAILGATE))
        zone = Zone(name, strip, strip)
    elif gate is not None:
        zone = Zone(gate.id, gate.place, _around(site, gate.place))
    else:
        free = shapely.get_parts(_open_edge(site, _standing(site)))
        wide = shapely.union_all(free[shapely.length(free) >= site.haul.lorry_width])
        place = shapely.shortest_line(edge if wide.is_empty else wide, site.boundary.centroid).interpolate(0)
        zone = Zone("edge of the property", place, _around(site, place))
    return replace(zone, findings=(finding("no-drop", zone.id, hard=False, width=site.haul.lorry_width),))
