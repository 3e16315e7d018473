"""How are the outlines of a bed's tiers read, and moved into the local frame?

They are written in the coordinates of the drawing and converted together with the features. The bed's record checks
that each tier stands on the one below.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.files.drawing.feature_records import Values
from siteplan.files.drawing.kinds import KINDS
from siteplan.files.drawing.naming import NamedFeature
from siteplan.files.drawing.sound_shape import sound_shape
from siteplan.files.remarks import Remarks


@dataclass(frozen=True)
class DrawnTier:
    """The outline of one tier.

    Attributes
    ----------
    bed : int
        Index of its bed among the features.
    tier : int
        0 for the lowest.
    named : NamedFeature
        The tier as a feature, for messages.
    shape : shapely geometry or None
        In the file's coordinates; None if it is not sound.
    """

    bed: int
    tier: int
    named: NamedFeature
    shape: BaseGeometry | None


def drawn_tiers(
    named: Sequence[NamedFeature], values: Mapping[int, Values], file: str, remarks: Remarks
) -> tuple[DrawnTier, ...]:
    """Return the outlines of tiers among the values of features; `values` is by the feature's index."""
    outlines: list[DrawnTier] = []
    for bed, bed_values in values.items():
        for number, tier in enumerate(bed_values.get("tiers", ())):
            if tier.outline is None:
                continue
            as_drawn = replace(named[bed], id=f"{named[bed].id}, tier {number + 1}", shape=tier.outline)
            checked = sound_shape(tier.outline, KINDS["bed"])
            if checked.shape is None:
                remarks.fault(file, as_drawn.where, checked.trouble)
            outlines.append(DrawnTier(bed, number, as_drawn, checked.shape))
    return tuple(outlines)


def with_outlines(
    values: Mapping[int, Values], tiers: Sequence[DrawnTier], local: Sequence[BaseGeometry | None]
) -> dict[int, Values]:
    """Return the values of features with the outlines of tiers in the local frame.

    Parameters
    ----------
    local : sequence of shapely geometry or None
        The outlines of `tiers` in the frame; None for a faulty one, whose bed is left out. [m]
    """
    localized = dict(values)
    for tier, outline in zip(tiers, local, strict=True):
        if not isinstance(outline, Polygon):
            localized.pop(tier.bed, None)
        elif tier.bed in localized:
            bed_tiers = list(localized[tier.bed]["tiers"])
            bed_tiers[tier.tier] = replace(bed_tiers[tier.tier], outline=outline)
            localized[tier.bed] = localized[tier.bed] | {"tiers": tuple(bed_tiers)}
    return localized
