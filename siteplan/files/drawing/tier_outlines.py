"""Where do the tiers of a bed stand that have an outline of their own?

Their corners are written in the coordinates of the drawing; they are laid in the frame with everything else that is
drawn. It leaves out whether one tier stands on another: the bed itself says that.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.files.drawing.feature_records import Values
from siteplan.files.drawing.kinds import KINDS
from siteplan.files.drawing.naming import Named
from siteplan.files.drawing.sound_shape import sound_shape
from siteplan.files.remarks import Remarks


@dataclass(frozen=True)
class DrawnTier:
    """The outline of one tier.

    Attributes
    ----------
    bed : int
        Position of its bed among the features.
    tier : int
        0 for the lowest.
    named : Named
        What messages call it.
    shape : shapely geometry or None
        In the file's coordinates; None where it is not sound.
    """

    bed: int
    tier: int
    named: Named
    shape: BaseGeometry | None


def drawn_tiers(
    named: Sequence[Named], values: Mapping[int, Values], file: str, remarks: Remarks
) -> tuple[DrawnTier, ...]:
    """Return the outlines of tiers among the values of features, by position."""
    found: list[DrawnTier] = []
    for bed, given in values.items():
        for number, tier in enumerate(given.get("tiers", ())):
            if tier.outline is None:
                continue
            as_drawn = replace(named[bed], id=f"{named[bed].id}, tier {number + 1}", shape=tier.outline)
            checked = sound_shape(tier.outline, KINDS["bed"])
            if checked.shape is None:
                remarks.fault(file, as_drawn.where, checked.trouble)
            found.append(DrawnTier(bed, number, as_drawn, checked.shape))
    return tuple(found)


def with_outlines(
    values: Mapping[int, Values], tiers: Sequence[DrawnTier], laid: Sequence[BaseGeometry | None]
) -> dict[int, Values]:
    """Return the values of features with the outlines of tiers in the local frame.

    Parameters
    ----------
    laid : sequence of shapely geometry or None
        The outlines of `tiers` in the frame; None where one is at fault, and its bed is left out. [m]
    """
    found = dict(values)
    for tier, outline in zip(tiers, laid, strict=True):
        if not isinstance(outline, Polygon):
            found.pop(tier.bed, None)
        elif tier.bed in found:
            own = list(found[tier.bed]["tiers"])
            own[tier.tier] = replace(own[tier.tier], outline=outline)
            found[tier.bed] = found[tier.bed] | {"tiers": tuple(own)}
    return found
