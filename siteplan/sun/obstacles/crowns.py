"""What shape has a tree's crown?

A stack of prisms: the crown's outline, scaled about its middle for each slice. Gaps and leaning trees are not
modelled: the leaves are equally dense throughout the crown.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely
from shapely import Polygon

SLICES = 8  # of an ellipsoid or a cone; the volume is exact, the surface off by at most a sixteenth of the height

DETAIL = 0.002  # m; no crown is known better than this, and fewer corners cost less


def crown_slices(outline: Polygon, base: float, top: float, form: str) -> Iterator[tuple[Polygon, float, float]]:
    """Yield outline, lower and upper height of each prism of a crown, bottom to top.

    Parameters
    ----------
    outline : Polygon
        The crown seen from above.
    base, top : float
        Lower and upper end of the crown. [m]
    form : str
        cylinder, ellipsoid or cone.

    Examples
    --------
    >>> from shapely import Point
    >>> circle = Point(0, 0).buffer(2.0, quad_segs=16)
    >>> [(round(low, 1), round(high, 1)) for _, low, high in crown_slices(circle, 2.0, 6.0, "cylinder")]
    [(2.0, 6.0)]
    >>> slices = list(crown_slices(circle, 2.0, 6.0, "cone"))
    >>> round(sum(ring.area * (high - low) for ring, low, high in slices) / (circle.area * 4.0 / 3), 2)
    1.0

    Notes
    -----
    A slice's outline is scaled by the root of the mean of the squared width over its height, so that every slice
    has the volume of the body it stands for: 1 - u of the outline at relative height u of a cone, the root of
    1 - (2 u - 1)^2 of an ellipsoid.
    """
    if form == "cylinder":
        yield _simplified(outline), base, top
        return
    levels = np.linspace(0.0, 1.0, SLICES + 1)
    volume_below = _squared_width_below(levels, form)
    middle = shapely.centroid(outline)
    centre = np.array([middle.x, middle.y])
    corners = shapely.get_coordinates(outline.exterior)
    for low, high, volume_share in zip(levels[:-1], levels[1:], np.diff(volume_below), strict=True):
        scale = np.sqrt(volume_share / (high - low))
        ring = Polygon(centre + (corners - centre) * scale)
        yield _simplified(ring), float(base + low * (top - base)), float(base + high * (top - base))


def _simplified(ring: Polygon) -> Polygon:
    """Return a ring without the corners that change it by less than DETAIL."""
    simpler = shapely.simplify(ring, DETAIL)
    return simpler if isinstance(simpler, Polygon) and not simpler.is_empty else ring


def _squared_width_below(level: np.ndarray, form: str) -> np.ndarray:
    """Return the integral of the squared relative width from 0 up to a relative height."""
    if form == "cone":
        return np.asarray((1 - (1 - level) ** 3) / 3)
    return np.asarray(2 * level**2 - 4 * level**3 / 3)
