"""What stands on a property and can shade it?

Every feature becomes upright prisms, each with an outline, a bottom, a top and the share of sun it lets through.
It leaves out the lie of the ground itself and the far hills: those are a horizon.
"""

from __future__ import annotations

from dataclasses import dataclass

from shapely import Polygon


@dataclass(frozen=True, kw_only=True)
class Prism:
    """An upright prism with a level or a slanted top.

    All prisms with the same owner and part are one body: however many of them a ray meets,
    their transmittance counts once.

    Attributes
    ----------
    outline : Polygon
        Seen from above, in the local frame; it may have holes.
    bottom, top : float
        Absolute heights of its lowest and its highest point, on the scale of the terrain. [m]
    owner : str
        Id of the feature that it belongs to.
    part : str
        What of the feature it is: body, roof, crown, trunk, soil, trellis, crop.
    transmittance_leafy, transmittance_bare : float
        Share of direct sun let through in leaf and leafless, 0 to 1; the first holds where there are no leaf dates.
    leaf_out, leaf_fall : int or None
        First and last day of the year in leaf, both included; across the new year where reversed.
    top_plane : tuple of three floats, or None
        East slope, north slope and constant of a slanted top: height = a x + b y + c; None where it is level.
    """

    outline: Polygon
    bottom: float
    top: float
    owner: str
    part: str = "body"
    transmittance_leafy: float = 0.0
    transmittance_bare: float = 0.0
    leaf_out: int | None = None
    leaf_fall: int | None = None
    top_plane: tuple[float, float, float] | None = None
