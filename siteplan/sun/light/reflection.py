"""How much light do walls and ground reflect onto level soil?

One reflection off whatever hides the sky. Its share is 1 minus the sky view factor; it is lit like vertical surfaces
on average, and reflects equally in all directions. Further reflections, between walls and by way of the ground, are
not counted, nor on which side the walls stand.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from siteplan.land.site import Site
from siteplan.sun.obstacles.prisms import ground_under

Floats = NDArray[np.float64]

PIECE = 2.0  # m; longest piece into which walls are cut
FAR = 60.0  # m beyond the boundary; walls farther off hide next to nothing
NEAREST = 0.1  # m; least distance at which a piece counts
MOST_AT_ONCE = 2_000_000  # points times pieces computed at once, to limit memory


@dataclass(frozen=True, eq=False)
class Reflectors:
    """Edges of the obstacles that reflect light, in short pieces.

    Attributes
    ----------
    place : ndarray, shape (n, 3)
        Middle of each piece, and its top. [m]
    length : ndarray, shape (n,)
        [m]
    albedo : ndarray, shape (n,)
        Share of the light that it reflects. [0 to 1]
    ground : float
        Mean albedo of the property's ground. [0 to 1]
    """

    place: Floats
    length: Floats
    albedo: Floats
    ground: float

    def albedo_at(self, points: Floats) -> Floats:
        """Return the mean albedo of the obstacles around points, shape (n,); that of the ground without obstacles.

        Each piece is weighted by about the share of the sky that it hides: its length times its height squared, over
        the distance to its top cubed.
        """
        mean = np.full(len(points), self.ground)
        higher = self.place[:, 2] > points[:, 2].min(initial=np.inf)
        place, length, albedo = self.place[higher], self.length[higher], self.albedo[higher]
        if not len(length):
            return mean
        step = max(1, MOST_AT_ONCE // len(length))
        for first in range(0, len(points), step):
            some_points = points[first : first + step]
            east, north, rise = (place[None, :, axis] - some_points[:, None, axis] for axis in range(3))
            rise = np.maximum(rise, 0.0)
            distance = np.maximum(np.hypot(east, north), NEAREST)
            to_top = np.sqrt(distance**2 + rise**2)
            share = length * rise**2 / (to_top * to_top * to_top)  # a power of 1.5 takes ten times as long
            total = share.sum(axis=1)
            np.divide(share @ albedo, total, out=mean[first : first + step], where=total > 0)
        return mean


def reflectors(site: Site) -> Reflectors | None:
    """Return the reflecting obstacles of a site; None if its albedos are not known."""
    albedo = {kind: surface.albedo for kind, surface in site.albedos.items()}
    if not albedo:
        return None
    near = site.boundary.buffer(FAR)
    pieces = [np.empty((0, 5))]
    for kind, shape, top in _walls(site):
        near_part = shape.intersection(near)
        if not near_part.is_empty:
            pieces.append(_pieces(near_part, top, albedo[kind]))
    edges = np.concatenate(pieces)
    return Reflectors(edges[:, :3], edges[:, 3], edges[:, 4], _ground(site, albedo))


@dataclass(frozen=True, eq=False)
class OpenLight:
    """Light on open ground: twelve months, then the season, shape (13, 1) each. [kWh/m2 a day]

    Attributes
    ----------
    direct, diffuse : ndarray
        From the sun and from the sky on level ground.
    upright : ndarray
        From the sun on vertical surfaces, as a mean over all directions that they may face.
    """

    direct: Floats
    diffuse: Floats
    upright: Floats


def _walls(site: Site) -> Iterator[tuple[str, BaseGeometry, float]]:
    """Yield kind, outline and elevation of the top of each obstacle; the kind of trees and hedges is "plant"."""
    standing: list[tuple[str, BaseGeometry, float]] = []
    standing += [("building", feature.outline, feature.height) for feature in site.buildings]
    standing += [("fence", feature.line, feature.height) for feature in site.fences]
    standing += [("plant", feature.outline, feature.height) for feature in site.hedges]
    standing += [("plant", feature.outline, feature.height) for feature in site.trees]
    standing += [("bed", feature.outline, feature.height) for feature in site.beds]
    for kind, shape, height in standing:
        yield kind, shape, ground_under(site, shape) + height


def _pieces(shape: BaseGeometry, top: float, albedo: float) -> Floats:
    """Return the edges of a shape in short pieces: middle, top, length and albedo, shape (n, 5).

    Examples
    --------
    >>> _pieces(shapely.LineString([(4, 1), (4 + 2 * PIECE, 1)]), 3.0, 0.2)[:, 0] - 4 == np.array([0.5, 1.5]) * PIECE
    array([ True,  True])
    """
    pieces = []
    for part in shapely.get_parts(shapely.segmentize(shape, PIECE)):
        for line in shapely.get_parts(part.boundary if part.geom_type == "Polygon" else part):
            corners = shapely.get_coordinates(line)
            length = np.hypot(*np.diff(corners, axis=0).T)
            middle = (corners[1:] + corners[:-1]) / 2
            pieces.append(np.column_stack([middle, np.full(len(length), top), length, np.full(len(length), albedo)]))
    return np.concatenate(pieces) if pieces else np.empty((0, 5))


def _ground(site: Site, albedo: Mapping[str, float]) -> float:
    """Return the mean albedo of a property's ground; ground that is not drawn counts as grass."""
    grass, sum_of_drawn, drawn_area = albedo["grass"], 0.0, 0.0
    for surface in site.surfaces:
        area = surface.outline.intersection(site.boundary).area
        drawn_area += area
        sum_of_drawn += area * albedo.get(surface.surface, grass)
    return (sum_of_drawn + grass * max(site.boundary.area - drawn_area, 0.0)) / max(drawn_area, site.boundary.area)


def reflected_light(
    sky_share: Floats, lit: Floats, sent: OpenLight, *, wall_albedo: Floats, ground_albedo: float
) -> Floats:
    """Return the light that obstacles and ground reflect onto level soil, shape (13, n). [kWh/m2 a day]

    Parameters
    ----------
    sky_share : ndarray, shape (13, n)
        Share of the sky that each point sees. [0 to 1]
    lit : ndarray, shape (13, n)
        Share of open ground's direct light that reaches each point. [0 to 1]
    sent : OpenLight
        What open ground and open walls get.
    wall_albedo : ndarray, shape (n,)
        Of the obstacles around each point. [0 to 1]
    ground_albedo : float
        Of the ground in front of the obstacles. [0 to 1]

    Notes
    -----
    With S the share of the sky seen, the rest is taken as wall, of which each part sees S / (1 + S) of sky and as
    much of ground. That is the mean over the walls of a long street whose floor sees S on average, and one half for a
    wall that stands alone. Of the direct light on open vertical surfaces the wall gets a share (1 + L) / 2, with L
    the share of direct light that reaches the point: walls around a shaded spot are lit above and shaded below.

    In a long street, on the middle of its floor, the sky's light by way of the walls comes out within 8 % for walls
    as high as the street is wide, and at most twice as much for three times as high. The sun's comes within a factor
    of about two, by the side on which the sunny wall stands (`tests/published/test_light_reflection.py`).

    Light reflected more than once is left out, except from the ground onto the walls. In a long street under an even
    sky, with walls of albedo 0.3 and ground of 0.2, all reflections together give more than this one: by 4 % for
    walls a quarter as high as the street is wide, by 9 % for half, 16 % for as high, 29 % for three times as high.
    Of all the sky's light on the floor that is 0.2, 0.6, 1.8 and 5.0 %. White walls (0.6, ground 0.3) as high as the
    street is wide reflect 39 % more, 8 % of the floor's light.

    References
    ----------
    View factors of the long street: Oke, T. R. (1987), Boundary layer climates, appendix A (memory). All reflections
    as a system of equations: Harman, I. N., Best, M. J. and Belcher, S. E. (2004), Radiative exchange in an urban
    street canyon, Boundary-Layer Meteorology 110:301-316 (memory).
    """
    wall_sees = sky_share / (1 + sky_share)
    ground_light = sent.diffuse * sky_share + sent.direct * lit
    on_walls = wall_sees * (sent.diffuse + ground_albedo * ground_light) + sent.upright * (1 + lit) / 2
    return np.asarray((1 - sky_share) * wall_albedo * on_walls)
