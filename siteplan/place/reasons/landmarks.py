"""Where on the ground is that, so that a person finds it without a map?

So far and which way from the nearest thing that everybody knows, and between which two it lies.
It leaves out setting it out to the inch: that is the work sheet's.
"""

from __future__ import annotations

import math

import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.land.site import Site
from siteplan.place.reasons.words import compass_point, distance_text

#: m; a door farther away is no help, and neither is a thing to lie between
FAR, BETWEEN = 25.0, 15.0
#: degrees; two things lie on opposite sides where their directions differ by at least as much
OPPOSITE = 130.0


def where_text(site: Site, outline: Polygon) -> str:
    """Return where a bed lies, in words.

    Parameters
    ----------
    site : Site
    outline : Polygon
        Of the bed. [m]

    Returns
    -------
    str
        As ``5 m east of back-door, between shed and maple``; empty where nothing stands near.
    """
    doors: list[tuple[str, BaseGeometry]] = [
        (door.id, door.place) for door in site.doors if door.place.distance(outline) <= FAR
    ]
    things = sorted(
        ((shape.distance(outline), name, shape) for name, shape in _things(site)), key=lambda thing: thing[:2]
    )
    things = [thing for thing in things if thing[0] <= BETWEEN]
    if doors:
        from_name, from_shape = min(doors, key=lambda door: (door[1].distance(outline), door[0]))
    elif things:
        _, from_name, from_shape = things.pop(0)
    else:
        return ""
    east, north = _step(from_shape, outline)
    away = from_shape.distance(outline)
    point = compass_point(east, north)
    text = f"{distance_text(away, site.units)} {point} of {from_name}" if away >= 0.3 else f"beside {from_name}"
    pair = _between(things, outline)
    return f"{text}, between {pair[0]} and {pair[1]}" if pair else text


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


def _between(things: list[tuple[float, str, BaseGeometry]], outline: Polygon) -> tuple[str, str] | None:
    """Return the nearest two things on opposite sides."""
    faced = [(name, math.degrees(math.atan2(*_step(shape, outline))) % 360) for _, name, shape in things]
    for later, (name, azimuth) in enumerate(faced):
        for other, facing in faced[:later]:
            apart = abs(azimuth - facing) % 360
            if min(apart, 360 - apart) >= OPPOSITE and name != other:
                return other, name
    return None
