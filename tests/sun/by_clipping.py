"""Rays through prisms by clipping: another way to what the sun's loops compute, for a handful of rays.

A convex prism is where several planes bound it. A ray is clipped by one after the other (M. Cyrus and J. Beck,
Generalized two- and three-dimensional clipping, Computers and Graphics 3, 1978).
"""

from __future__ import annotations

import itertools

import numpy as np
from shapely import get_coordinates
from shapely.geometry.polygon import orient

from siteplan.sun.path.sky_table import LEVELS, Sky, sky_table


def clip(point, prism, azimuth, slope):
    """Return the horizontal distances at which rays enter and leave a convex prism; they miss it where the first is
    not the smaller. Azimuths [degrees] and slopes (rise over run, above 0) may be arrays of one shape."""
    azimuth, slope = np.broadcast_arrays(np.radians(azimuth), np.asarray(slope, dtype=float))
    east, north = np.sin(azimuth), np.cos(azimuth)
    begin, end = np.zeros(slope.shape), np.full(slope.shape, np.inf)
    ring = get_coordinates(orient(prism.outline))
    a, b, c = prism.top_plane or (0.0, 0.0, prism.top)
    planes = [(slope - a * east - b * north, a * point[0] + b * point[1] + c - point[2])]
    if prism.bottom > point[2]:
        planes.append((-slope, point[2] - prism.bottom))
    for (x, y), (next_x, next_y) in itertools.pairwise(ring):
        out_east, out_north = next_y - y, x - next_x
        room = out_east * (x - point[0]) + out_north * (y - point[1])
        planes.append((out_east * east + out_north * north, room))
    for outwards, room in planes:  # inside where distance * outwards <= room
        with np.errstate(divide="ignore", invalid="ignore"):
            at = room / outwards
        begin = np.where(outwards < 0, np.maximum(begin, at), begin)
        end = np.where(outwards > 0, np.minimum(end, at), end)
        end = np.where((outwards == 0) & (room < 0), -1.0, end)
    return begin, end


def shares_let_through(point, prisms, azimuth, slope, throughs):
    """Return the share of light along rays, for each of several transmittances of the bodies: by owner and part.

    Screens of one owner and part count once; leaves by the length of the way through all their prisms.
    """
    azimuth, slope = np.broadcast_arrays(np.asarray(azimuth, dtype=float), np.asarray(slope, dtype=float))
    met, ways = {}, {}
    for prism in prisms:
        begin, end = clip(point, prism, azimuth, slope)
        body = (prism.owner, prism.part)
        met[body] = met.get(body, False) | (end > begin)
        if prism.transmittance_path is not None:
            way = np.maximum(end - begin, 0) * np.hypot(1, slope) / prism.transmittance_path
            ways[body] = ways.get(body, 0.0) + way
    lights = []
    for through in throughs:
        light = np.ones(slope.shape)
        for body, hit in met.items():
            if body in ways:
                light = light * through[body] ** ways[body]
            else:
                light = np.where(hit, light * through[body], light)
        lights.append(light)
    return lights


def share_let_through(point, prisms, azimuth, slope):
    """Return the share of light along rays, by the transmittance in leaf of each body's first prism."""
    through = {(one.owner, one.part): one.transmittance_leafy for one in reversed(prisms)}
    return shares_let_through(point, prisms, azimuth, slope, [through])[0]


def even_sky(first, bins, levels, weight, *, lowest=0):
    """Return a sky that holds `weight[column]` hours in each level above `lowest`, 1 to 3 times as much by bin."""
    rows = np.maximum(np.arange(levels) - lowest, 0)
    below = bin_weight(bins)[:, None, None] * rows[:, None] * np.asarray(weight)
    table = sky_table(np.ascontiguousarray(below, dtype=np.float32), first)
    most = np.concatenate([np.zeros((1, levels)), np.cumsum(below.max(axis=2), axis=0)])
    count = len(weight)
    return Sky(table, tuple(range(1, count + 1)), np.arange(count), np.eye(count), most)


def middles(first, bins):
    """Return the azimuth of the middle of each bin, half a degree each. [degrees]"""
    return first + 0.25 + 0.5 * np.arange(bins)


def bin_weight(bins):
    """Return how many times the hours of `even_sky` each bin holds, shape (bins,)."""
    return 1 + np.arange(bins) % 3


def rays_over(first, bins, levels, *, lowest=0, parts=10):
    """Return azimuths, shape (bins, 1), and slopes, shape (m,), of rays to the middles of parts of the levels."""
    level = np.arange(lowest * parts, (levels - 1) * parts) / parts + 0.5 / parts
    return middles(first, bins)[:, None], level / (LEVELS - level)


def summed(light, *, parts=10):
    """Return the hours of an `even_sky` of weight 1 times a share of light along the rays of `rays_over`."""
    return float((bin_weight(len(light)) @ light).sum() / parts)
