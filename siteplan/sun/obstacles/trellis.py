"""Where does the trellis of a bed stand?

Along the edge on the side that the bed names, else along the poleward edge.
"""

from __future__ import annotations

import numpy as np
import shapely
from shapely import Polygon

from siteplan.land.features import Bed
from siteplan.land.outline import poleward_azimuth, side_facing

TRELLIS_THICKNESS = 0.05  # m; common practice, no source


def trellis_outline(bed: Bed, latitude: float) -> Polygon:
    """Return the footprint of a bed's trellis: a strip along the inside of one edge.

    Examples
    --------
    >>> from siteplan.land.outline import rectangle
    >>> bed = Bed(id="a", outline=rectangle(0, 0, length=4, width=2, heading=90), height=0.5, trellis_height=2.0)
    >>> [round(value, 3) for value in trellis_outline(bed, 40.0).bounds]  # the north side
    [-2.0, 0.95, 2.0, 1.0]
    """
    side = bed.trellis_side if bed.trellis_side is not None else poleward_azimuth(latitude)
    edge = side_facing(bed.outline, side)
    middle = shapely.centroid(bed.outline)
    start, end = shapely.get_coordinates(edge)
    along = (end - start) / np.hypot(*(end - start))
    inward = np.array([-along[1], along[0]])
    if inward @ (np.array([middle.x, middle.y]) - start) < 0:
        inward = -inward
    shift = inward * TRELLIS_THICKNESS
    return Polygon([start, end, end + shift, start + shift])
