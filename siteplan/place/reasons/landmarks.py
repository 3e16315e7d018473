"""Where on the ground is a place, so that a person finds it without a map?

How far and which way from the nearest door, or else the nearest thing that stands, and between which two things.
It leaves out setting the bed out to the inch: that is the work sheet's.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.land.site import Site

#: m; a door farther away is no help, and neither is a thing to lie between
FAR, BETWEEN = 25.0, 15.0
#: degrees; two things lie on opposite sides where their directions differ by at least as much
OPPOSITE = 130.0


@dataclass(frozen=True, kw_only=True)
class Whereabouts:
    """Where a bed lies, told from what stands near.

    Attributes
    ----------
    landmark : str
        Id of the door or thing that it is told from.
    distance : float
        From there to the bed's edge. [m]
    east, north : float
        From there to the bed's middle. [m]
    between : tuple of str
        Ids of two things on opposite sides of it; empty where there are none.
    """

    landmark: str
    distance: float
    east: float
    north: float
    between: tuple[str, ...] = ()


def whereabouts(site: Site, outline: Polygon) -> Whereabouts | None:
    """Return where a bed lies; None where nothing stands near.

    Parameters
    ----------
    site : Site
    outline : Polygon
        Of the bed. [m]
    """
    doors: list[tuple[float, str, BaseGeometry]] = [
        (door.place.distance(outline), door.id, door.place) for door in site.doors
    ]
    doors = [door for door in doors if door[0] <= FAR]
    standing = _things(site)
    away = shapely.distance([shape for _, shape in standing], outline).tolist()
    near = [(distance, *thing) for distance, thing in zip(away, standing, strict=True) if distance <= BETWEEN]
    things = sorted(near, key=lambda thing: thing[:2])
    if doors:
        distance, landmark, shape = min(doors, key=lambda door: door[:2])
    elif things:
        distance, landmark, shape = things.pop(0)
    else:
        return None
    east, north = _step(shape, outline)
    return Whereabouts(
        landmark=landmark, distance=distance, east=east, north=north, between=_between(things, outline)
    )


def _things(site: Site) -> list[tuple[str, BaseGeometry]]:
    """Return what stands there for all to see."""
    found: list[tuple[str, BaseGeometry]] = []
    for group in (site.buildings, site.trees, site.hedges):
        found += [(one.id, one.outline) for one in group]
    found += [(one.id, one.footprint) for one in site.fences]
    return found + [(one.id, one.outline) for one in site.beds if not one.proposed]


def _step(start: BaseGeometry, outline: Polygon) -> tuple[float, float]:
    """Return how far east and north a bed's middle lies from the nearest point of a thing. [m]"""
    near = shapely.get_coordinates(shapely.shortest_line(start, outline.centroid))[0]
    return outline.centroid.x - float(near[0]), outline.centroid.y - float(near[1])


def _between(things: list[tuple[float, str, BaseGeometry]], outline: Polygon) -> tuple[str, ...]:
    """Return the nearest two things on opposite sides; nothing where there are none."""
    faced = [(name, math.degrees(math.atan2(*_step(shape, outline))) % 360) for _, name, shape in things]
    for later, (name, azimuth) in enumerate(faced):
        for other, facing in faced[:later]:
            apart = abs(azimuth - facing) % 360
            if min(apart, 360 - apart) >= OPPOSITE and name != other:
                return other, name
    return ()
