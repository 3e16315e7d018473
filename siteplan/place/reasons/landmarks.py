"""Where on the ground is a place, so that a person finds it without a map?

Distance and direction from the nearest door, or else from the nearest feature, and between which two features it
lies. Exact measures for setting the bed out are on the work sheet.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.land.site import Site

#: m; a door farther away is no landmark; nor is any other feature farther away than the second
FAR, BETWEEN = 25.0, 15.0
#: degrees; two features are on opposite sides if their directions differ by at least this
OPPOSITE = 130.0


@dataclass(frozen=True, kw_only=True)
class Whereabouts:
    """Where a bed lies relative to landmarks.

    Attributes
    ----------
    landmark : str
        Id of the nearest door or other feature.
    distance : float
        From the landmark to the bed's edge. [m]
    east, north : float
        From the landmark to the bed's middle. [m]
    between : tuple of str
        Ids of two features on opposite sides of the bed; empty if there are none.
    """

    landmark: str
    distance: float
    east: float
    north: float
    between: tuple[str, ...] = ()


def whereabouts(site: Site, outline: Polygon) -> Whereabouts | None:
    """Return where a bed lies relative to landmarks; None if there are none near.

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
    shapes = _landmark_shapes(site)
    distances = shapely.distance([shape for _, shape in shapes], outline).tolist()
    near = [(distance, *feature) for distance, feature in zip(distances, shapes, strict=True) if distance <= BETWEEN]
    landmarks = sorted(near, key=lambda feature: feature[:2])
    if doors:
        distance, landmark, shape = min(doors, key=lambda door: door[:2])
    elif landmarks:
        distance, landmark, shape = landmarks.pop(0)
    else:
        return None
    east, north = _step(shape, outline)
    return Whereabouts(
        landmark=landmark, distance=distance, east=east, north=north, between=_between(landmarks, outline)
    )


def _landmark_shapes(site: Site) -> list[tuple[str, BaseGeometry]]:
    """Return id and outline of the features that can be seen on the ground, other than doors."""
    shapes: list[tuple[str, BaseGeometry]] = []
    for group in (site.buildings, site.trees, site.hedges):
        shapes += [(feature.id, feature.outline) for feature in group]
    shapes += [(feature.id, feature.footprint) for feature in site.fences]
    return shapes + [(feature.id, feature.outline) for feature in site.beds if not feature.proposed]


def _step(start: BaseGeometry, outline: Polygon) -> tuple[float, float]:
    """Return how far east and north a bed's middle lies from the nearest point of a shape. [m]"""
    near = shapely.get_coordinates(shapely.shortest_line(start, outline.centroid))[0]
    return outline.centroid.x - float(near[0]), outline.centroid.y - float(near[1])


def _between(landmarks: list[tuple[float, str, BaseGeometry]], outline: Polygon) -> tuple[str, ...]:
    """Return the ids of the nearest two landmarks on opposite sides of a bed; empty if there are none."""
    azimuths = [(name, math.degrees(math.atan2(*_step(shape, outline))) % 360) for _, name, shape in landmarks]
    for number, (name, azimuth) in enumerate(azimuths):
        for earlier, earlier_azimuth in azimuths[:number]:
            angle = abs(azimuth - earlier_azimuth) % 360
            if min(angle, 360 - angle) >= OPPOSITE and name != earlier:
                return earlier, name
    return ()
