"""How are shapes converted between the page's plane and the frame of the site?

Both are in metres: the page along the axes of the plan, the site with true north up about the boundary's middle.
"""

from __future__ import annotations

from siteplan.draw.plane import Plane
from siteplan.land.frame import LocalFrame, Shape, local_to_plan, plan_to_local
from siteplan.land.site import Site


def to_site(shape: Shape, plane: Plane, site: Site) -> Shape:
    """Return a shape of the page in the site's frame. [m]"""
    if plane.frame is not None:
        return site.frame.to_local(plane.frame.to_lonlat(shape))
    turned = plan_to_local(shape, bearing=plane.bearing, metres_per_unit=1.0)
    return site.frame.to_local(_zero_point(plane).to_lonlat(turned))


def from_site(shape: Shape, plane: Plane, site: Site) -> Shape:
    """Return a shape of the site's frame in the page's plane. [m]"""
    degrees = site.frame.to_lonlat(shape)
    if plane.frame is not None:
        return plane.frame.to_local(degrees)
    return local_to_plan(_zero_point(plane).to_local(degrees), bearing=plane.bearing, metres_per_unit=1.0)


def _zero_point(plane: Plane) -> LocalFrame:
    """Return the local frame about the zero point of a measured plan; a sound site has one."""
    if plane.place is None:
        raise ValueError("nobody has said where the plan lies")
    latitude, longitude = plane.place
    return LocalFrame(longitude=longitude, latitude=latitude)
