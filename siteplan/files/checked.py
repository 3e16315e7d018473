"""What did a look at a site's folder find?

The site, or its faults; and what its files say, as far as they can be read. It leaves out how they are read.
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
    """What a look at a site folder found: the site, or None with its faults; and what deserves a word.

    Attributes
    ----------
    site : Site or None
    faults, cautions : tuple
    read : Read
        What its files say, as far as they can be read.
    """

    site: Site | None
    faults: tuple[Fault, ...]
    cautions: tuple[Caution, ...]
    read: Read


@dataclass
class Read:
    """What the files of a site say, each None where it cannot be read.

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
