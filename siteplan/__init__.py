"""Where should a raised bed go on a real property, and how does its fill get there?

Each folder asks one question: land, files, sun, place, fill, haul, show.
This module only lists the public names; each is loaded when it is first used.
"""

from __future__ import annotations

from importlib import import_module
from typing import Any

__version__ = "0.1.0"

_WHERE = {
    "InputError": "siteplan.land.errors",
    "Plan": "siteplan.plan",
    "Site": "siteplan.land.site",
    "SitePlanError": "siteplan.land.errors",
    "demo_site": "siteplan.files.demo",
    "plan_site": "siteplan.plan",
    "read_site": "siteplan.files.reader",
    "site_from_frames": "siteplan.files.frames",
}

__all__ = [
    "InputError",
    "Plan",
    "Site",
    "SitePlanError",
    "__version__",
    "demo_site",
    "plan_site",
    "read_site",
    "site_from_frames",
]


def __getattr__(name: str) -> Any:
    """Load a public name when it is first asked for, so that importing siteplan stays cheap."""
    if name not in _WHERE:
        raise AttributeError(f"module 'siteplan' has no attribute {name!r}")
    return getattr(import_module(_WHERE[name]), name)


def __dir__() -> list[str]:
    """Return the public names."""
    return sorted(__all__)
