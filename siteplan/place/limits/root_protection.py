"""How much ground around a tree belongs to its roots?

Twelve stem diameters, capped, after the British standard for trees near building work; else the crown.
It leaves out shifting the area sideways where a wall stops the roots: that takes an arborist.
"""

from __future__ import annotations

from shapely.geometry.base import BaseGeometry

from siteplan.land.features import Tree

#: BS 5837:2012 clause 4.6 and its table, seen second-hand: radius is 12 stem diameters, area at most 707 m2
DIAMETERS = 12.0
LARGEST_RADIUS = 15.0  # m


def root_protection_radius(stem_diameter: float, *, diameters: float = DIAMETERS) -> float:
    """Return the radius of the ground to leave alone around a stem.

    Parameters
    ----------
    stem_diameter : float
        1.5 m above the ground. [m]
    diameters : float
        How many stem diameters; 12 is one foot for each inch, some towns ask for 18.

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
    """Return the ground around a tree that a bed must leave alone. [m]

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
