"""Which sentence says that a surface raster hides the sun where nothing is drawn?

One for the terminal and the map: which raster, of which day, from where on and how far. Faults of the raster are
worded by its reader.
"""

from __future__ import annotations

from siteplan.land.surface_model import SurfaceModel
from siteplan.land.units import System, length_text
from siteplan.land.values import printable
from siteplan.say.directions import distance_text


def surface_sentence(surface: SurfaceModel, units: System) -> str:
    r"""Return where what is not drawn hides the sun, and by which raster.

    Examples
    --------
    >>> import datetime as dt
    >>> import numpy as np
    >>> from siteplan.land.surface_model import SurfaceLayer
    >>> layer = SurfaceLayer(np.zeros((1, 1), np.float32), np.eye(2, 3), 0.5)
    >>> model = SurfaceModel((layer,), "tops.tif", dt.date(2021, 3, 14), begins=2.0, reach=140.0)
    >>> print(*surface_sentence(model, "metric").split(", "), sep="\n")
    From 2.00 m beyond the boundary on
    what is not drawn hides the sun by tops.tif (surveyed on 2021-03-14)
    in cells of 50 cm near by
    out to 140 m on all sides. On the property it is not used.
    """
    surveyed = "" if surface.date is None else f" (surveyed on {surface.date.isoformat()})"
    area = "On the property and around it" if surface.within else "Beyond the boundary"
    if surface.begins:
        area = f"From {length_text(surface.begins, units)} beyond the boundary on"
    cell = length_text(surface.layers[0].cell, units)
    ends = f"out to {distance_text(surface.reach, units)} on all sides" if surface.reach else "as far as it reaches"
    return (
        f"{area}, what is not drawn hides the sun by {printable(surface.file)}{surveyed}, in cells of {cell} near "
        f"by, {ends}.{'' if surface.within else ' On the property it is not used.'}"
    )
