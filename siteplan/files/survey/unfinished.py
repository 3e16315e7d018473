"""How is a site read whose heights are not known yet?

A survey is used before anybody has measured: trees, buildings, hedges and fences may still lack their heights, and
trees drawn as points their crowns. Placeholders are filled in for these. Everything else must be sound.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from siteplan.files.drawing.naming import NamedFeature, named_features
from siteplan.files.drawing.vector import Drawing
from siteplan.files.reader import check_site, site_of
from siteplan.files.remarks import Remarks
from siteplan.land.errors import InputError
from siteplan.land.site import Site

KINDS = frozenset({"tree", "building", "hedge", "fence"})
PLACEHOLDER = 3.0  # m, for a height or a crown that the survey is to find


@dataclass(frozen=True)
class Unfinished:
    """A site whose heights may be missing.

    Attributes
    ----------
    site : Site
        With placeholders for missing heights and crowns.
    lacking : frozenset of str
        Ids of features without a height.
    """

    site: Site
    lacking: frozenset[str]


def read_unfinished(folder: Path) -> Unfinished:
    """Return a site that is sound except for missing heights.

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
    lacking = frozenset(
        feature.id for feature in named if feature.kind in KINDS and "height" not in feature.properties
    )
    remarks = Remarks(unit=checked.read.unit)
    site = site_of(settings, _with_placeholders(drawing, named), folder, remarks)
    if site is None or not lacking:
        raise InputError([fault for fault in checked.faults if fault in remarks.faults] or checked.faults)
    return Unfinished(site, lacking)


def _with_placeholders(drawing: Drawing, named: tuple[NamedFeature, ...]) -> Drawing:
    """Return a drawing with placeholders for missing heights, and for missing crowns of trees drawn as points."""
    missing = {feature.number: placeholders for feature in named if (placeholders := _missing(feature))}
    features = tuple(
        replace(raw, properties={**raw.properties, **missing.get(raw.number, {})}) for raw in drawing.features
    )
    return replace(drawing, features=features)


def _missing(feature: NamedFeature) -> dict[str, str]:
    """Return the placeholders that a feature needs, by key."""
    if feature.kind not in KINDS:
        return {}
    placeholders = {} if "height" in feature.properties else {"height": f"{PLACEHOLDER:g} m"}
    point = feature.shape is not None and feature.shape.geom_type == "Point"
    if feature.kind == "tree" and point and not {"crown_diameter", "crown_radius"} & feature.properties.keys():
        placeholders["crown_diameter"] = f"{PLACEHOLDER:g} m"
    return placeholders
