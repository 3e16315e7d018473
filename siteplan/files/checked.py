"""What is the result of checking a site's folder?

The site, or its faults; and the contents of its files, as far as they can be read. `reader.py` does the work.
"""

from __future__ import annotations

from dataclasses import dataclass

from siteplan.files.drawing.vector import Drawing
from siteplan.files.site_toml.settings import Settings
from siteplan.land.errors import Fault
from siteplan.land.findings import Caution
from siteplan.land.site import Site
from siteplan.land.units import METRE, LengthUnit


@dataclass(frozen=True)
class Checked:
    """The result of checking a site's folder: the site, or None and its faults; and its cautions.

    Attributes
    ----------
    site : Site or None
    faults, cautions : tuple
    read : SiteFiles
        The contents of its files, as far as they can be read.
    """

    site: Site | None
    faults: tuple[Fault, ...]
    cautions: tuple[Caution, ...]
    read: SiteFiles


@dataclass
class SiteFiles:
    """The contents of a site's files, each None if it cannot be read.

    Attributes
    ----------
    values : dict or None
        Key by key, as in site.toml.
    settings : Settings or None
    drawing : Drawing or None
    unit : LengthUnit
        Of the drawing.
    """

    values: dict[str, object] | None = None
    settings: Settings | None = None
    drawing: Drawing | None = None
    unit: LengthUnit = METRE
