"""Where should a raised bed go on a real property, and how does its fill get there?

Each folder asks one question: land, files, sun, place, fill, haul, show. Here stand the public names; each is
loaded when it is first used.

Examples
--------
A property is read from its folder, built from GeoDataFrames (`site_from_frames`), or made of its records, in metres
east and north of a point:

>>> from dataclasses import replace
>>> from shapely import LineString, Point, box
>>> import siteplan
>>> site = siteplan.Site(
...     name="Kitchen yard",
...     frame=siteplan.LocalFrame(longitude=8.0, latitude=45.0),
...     timezone="Europe/Rome",
...     boundary=box(-6, -5, 6, 5),
...     season=siteplan.Season(last_frost=siteplan.MonthDay(4, 15), first_frost=siteplan.MonthDay(10, 20)),
...     sun=siteplan.SunSettings(year=2026, cell=0.5, step=0.5),
...     recipe=siteplan.Recipe(layers=(siteplan.LayerSpec(material="topsoil", fraction=1.0),)),
...     buildings=(siteplan.Building(id="house", outline=box(-6, -5, 6, -3), height=6.0),),
...     fences=(siteplan.Fence(id="fence", line=LineString([(-6, 5), (6, 5)]), height=1.8),),
...     beds=(siteplan.Bed(id="bed", outline=box(-1.2, 1.0, 1.2, 2.2), height=0.4),),
... )
>>> site
<Site "Kitchen yard": 1 of 3 features are beds, latitude 45.0000, longitude 8.0000>

Asked about its sun, it gives a plan; what would be if a tree grew there is one replacement away:

>>> plan = siteplan.plan_site(site, ask=["sun"])
>>> pear = siteplan.Tree(
...     id="pear", outline=Point(0, -1).buffer(2.0), trunk=Point(0, -1), height=5.0, crown_base=1.5
... )
>>> shaded = siteplan.plan_site(replace(site, trees=(pear,)), ask=["sun"])
>>> shaded.beds[0].sun.season_sun_h < plan.beds[0].sun.season_sun_h
True

What cannot be read or answered is an `InputError`, with all its faults at once:

>>> try:
...     siteplan.read_site("nowhere")
... except siteplan.InputError as error:
...     print(error.faults[0])
nowhere: there is no such folder; start a site with: siteplan new nowhere
>>> issubclass(siteplan.InputError, siteplan.SitePlanError)  # whatever siteplan raises on purpose
True
"""

from __future__ import annotations

from importlib import import_module
from typing import Any

__version__ = "0.1.0"

_WHERE = {
    "Bed": "siteplan.land.features",
    "Building": "siteplan.land.features",
    "Fence": "siteplan.land.features",
    "InputError": "siteplan.land.errors",
    "LayerSpec": "siteplan.land.layers",
    "LocalFrame": "siteplan.land.frame",
    "MonthDay": "siteplan.land.features",
    "Plan": "siteplan.plan",
    "Recipe": "siteplan.land.layers",
    "Season": "siteplan.land.site",
    "Site": "siteplan.land.site",
    "SitePlanError": "siteplan.land.errors",
    "SunSettings": "siteplan.land.site",
    "Tree": "siteplan.land.features",
    "demo_site": "siteplan.files.demo",
    "plan_site": "siteplan.plan",
    "read_site": "siteplan.files.reader",
    "site_from_frames": "siteplan.files.frames",
    "sun_path": "siteplan.sun.path.solar_path",
}

__all__ = [
    "Bed",
    "Building",
    "Fence",
    "InputError",
    "LayerSpec",
    "LocalFrame",
    "MonthDay",
    "Plan",
    "Recipe",
    "Season",
    "Site",
    "SitePlanError",
    "SunSettings",
    "Tree",
    "__version__",
    "demo_site",
    "plan_site",
    "read_site",
    "site_from_frames",
    "sun_path",
]


def __getattr__(name: str) -> Any:
    """Load a public name when it is first asked for, so that importing siteplan stays cheap."""
    if name not in _WHERE:
        raise AttributeError(f"module 'siteplan' has no attribute {name!r}")
    return getattr(import_module(_WHERE[name]), name)


def __dir__() -> list[str]:
    """Return the public names."""
    return sorted(__all__)
