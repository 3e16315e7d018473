"""What is drawn of a property whose heights are not known yet?

A survey is asked before anybody has measured: trees, buildings, hedges and fences may still lack their heights, and
trees drawn as points their crowns. Everything else must be sound. It leaves out what the survey says.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from siteplan.files.drawing.naming import Named, named_features
from siteplan.files.drawing.vector import Drawing
from siteplan.files.reader import check_site, site_of
from siteplan.files.remarks import Remarks
from siteplan.land.errors import InputError
from siteplan.land.site import Site

KINDS = frozenset({"tree", "building", "hedge", "fence"})
STANDS_IN = 3.0  # m, for a height or a crown that is to be found


@dataclass(frozen=True)
class Unfinished:
    """A site whose heights may be missing.

    Attributes
    ----------
    site : Site
        With stand-ins where they are.
    lacking : frozenset of str
        Ids of features without a height.
    """

    site: Site
    lacking: frozenset[str]


def read_unfinished(folder: Path) -> Unfinished:
    """Return a site that is sound but for heights that are missing.

    Raises
    ------
    InputError
        With all other faults.
    """
    checked = check_site(folder)
    if checked.site is not None:
        return Unfinished(checked.site, frozenset())
    settings, drawing = checked.read.settings, checked.read.drawing
    if settings is None or drawing is None:
        raise InputError(checked.faults)
    named = named_features(drawing, settings.renaming, Remarks())
    lacking = frozenset(one.id for one in named if one.kind in KINDS and "height" not in one.properties)
    remarks = Remarks(unit=checked.read.unit)
    site = site_of(settings, _stood_in(drawing, named), folder, remarks)
    if site is None or not lacking:
        raise InputError([fault for fault in checked.faults if fault in remarks.faults] or checked.faults)
    return Unfinished(site, lacking)


def _stood_in(drawing: Drawing, named: tuple[Named, ...]) -> Drawing:
    """Return a drawing whose missing heights, and crowns of points, have a stand-in."""
    stand_ins = {one.number: found for one in named if (found := _missing(one))}
    features = tuple(
        replace(raw, properties={**raw.properties, **stand_ins.get(raw.number, {})}) for raw in drawing.features
    )
    return replace(drawing, features=features)


def _missing(one: Named) -> dict[str, str]:
    if one.kind not in KINDS:
        return {}
    wanted = {} if "height" in one.properties else {"height": f"{STANDS_IN:g} m"}
    point = one.shape is not None and one.shape.geom_type == "Point"
    if one.kind == "tree" and point and not {"crown_diameter", "crown_radius"} & one.properties.keys():
        wanted["crown_diameter"] = f"{STANDS_IN:g} m"
    return wanted
