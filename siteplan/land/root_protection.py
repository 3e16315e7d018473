"""How much ground around a tree must be left to its roots?

A circle of twelve stem diameters, capped, after the British standard for trees near building work. Without a stem
diameter, the ground under the crown. The standard also lets an arborist shift the area where a wall stops the roots;
that is not done here.
"""

from __future__ import annotations

from shapely.geometry.base import BaseGeometry

from siteplan.land.features import Tree

#: BS 5837:2012 clause 4.6 and its table, seen second-hand: radius is 12 stem diameters, area at most 707 m2
DIAMETERS = 12.0
LARGEST_RADIUS = 15.0  # m


def root_protection_radius(stem_diameter: float, *, diameters: float = DIAMETERS) -> float:
    """Return the radius of the root protection area around a stem.

    Parameters
    ----------
    stem_diameter : float
        Measured 1.5 m above the ground. [m]
    diameters : float
        Radius in stem diameters; 12 is one foot for each inch, some towns require 18.

    Returns
    -------
    float
        At most 15 m. [m]

    References
    ----------
    BS 5837:2012, clause 4.6, seen second-hand; Vancouver (Washington) municipal code 20.170.100, seen: 1 ft an inch.

    Examples
    --------
    >>> round(root_protection_radius(0.300), 2), root_protection_radius(1.5)
    (3.6, 15.0)
    """
    return min(diameters * stem_diameter, LARGEST_RADIUS)


def root_protection_area(tree: Tree) -> BaseGeometry:
    """Return the ground around a tree that neither bed nor heap may overlap. [m]

    Examples
    --------
    >>> from shapely import Point
    >>> pear = Tree(id="pear", outline=Point(0, 0).buffer(2), trunk=Point(0, 0), height=5, crown_base=2)
    >>> root_protection_area(pear) == pear.outline
    True
    """
    if tree.trunk_diameter is None:
        return tree.outline
    return tree.trunk.buffer(root_protection_radius(tree.trunk_diameter), quad_segs=32)
