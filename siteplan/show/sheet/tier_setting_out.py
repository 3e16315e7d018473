"""How is a higher frame of a bed set out on the frame below, with a tape?

Each corner is given by its distances from two corners of the frame below; sides and diagonals are a check.
It leaves out the lowest frame, which is set out from fixed points of the property.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from siteplan.land.features import Bed
from siteplan.land.outline import corners_of
from siteplan.land.units import System
from siteplan.show.sheet.setting_out import GOOD_CROSSING, Floats, sides_and_diagonals, tape_text, tapes_cross


@dataclass(frozen=True)
class TapedCorner:
    """One corner of a frame: the numbers (from 1) of two corners of the frame below, and its distance from each.

    Attributes
    ----------
    first, second : int
    from_first, from_second : float
        [m]
    """

    first: int
    second: int
    from_first: float
    from_second: float


@dataclass(frozen=True)
class TierSetOut:
    """All that has to be measured to set out one frame on the frame below.

    Attributes
    ----------
    tier : int
        Number of the frame; that of the frame below is one less.
    inset : float or None
        Distance from the frame below, if it is the same on all sides; None if the frame has its own outline. [m]
    corners : tuple of TapedCorner
        Clockwise from the north-west corner.
    sides, diagonals : tuple of float
        As in `SetOut`. [m]
    """

    tier: int
    inset: float | None
    corners: tuple[TapedCorner, ...]
    sides: tuple[float, ...]
    diagonals: tuple[float, ...]


def tier_set_outs(bed: Bed) -> Iterator[TierSetOut]:
    """Yield what to measure for each higher frame of a bed, from the second; a frame without an inset is left out.

    Examples
    --------
    >>> from shapely import box
    >>> tiers = (Bed.Tier(height=0.4), Bed.Tier(height=0.3, inset=0.3))
    >>> upper, = tier_set_outs(Bed(id="a", outline=box(0, 0, 2, 1.3), tiers=tiers))
    >>> corner = upper.corners[0]
    >>> corner.first, corner.second, round(corner.from_first, 3), round(corner.from_second, 3)
    (1, 4, 0.424, 1.044)
    """
    for below, frame, tier in zip(bed.frames, bed.frames[1:], bed.tiers[1:], strict=False):
        if frame.outline is below.outline:
            continue
        corners, corners_below = corners_of(frame.outline), corners_of(below.outline)
        sides, diagonals = sides_and_diagonals(corners)
        yield TierSetOut(
            tier=frame.number,
            inset=tier.inset if tier.outline is None else None,
            corners=tuple(_taped(corner, corners_below) for corner in corners),
            sides=sides,
            diagonals=diagonals,
        )


def tier_values(out: TierSetOut, units: System) -> dict[str, Any]:
    """Return the values for setting out one frame on another, for the sheet's template."""
    return {
        "tier": out.tier,
        "below": out.tier - 1,
        "inset": "" if out.inset is None else tape_text(out.inset, units),
        "diagonals": diagonals_text(out.diagonals, units),
        "corners": [
            {
                "number": number,
                "first": corner.first,
                "second": corner.second,
                "a": tape_text(corner.from_first, units),
                "b": tape_text(corner.from_second, units),
                "side": tape_text(side, units),
            }
            for number, (corner, side) in enumerate(zip(out.corners, out.sides, strict=True), 1)
        ],
    }


def diagonals_text(diagonals: Sequence[float], units: System) -> str:
    """Return the diagonals as text; empty if the outline does not have four corners.

    Examples
    --------
    >>> diagonals_text((2.5, 2.5), "metric"), diagonals_text((), "metric")
    ('1–3 and 2–4: 2.500 m each', '')
    """
    if not diagonals:
        return ""
    first, second = (tape_text(length, units) for length in diagonals)
    return f"1–3 and 2–4: {first} each" if first == second else f"1–3: {first}; 2–4: {second}"


def _taped(corner: Floats, corners_below: Floats) -> TapedCorner:
    """Return a corner by its distances from the two nearest known corners whose tapes cross at a good angle."""
    distances = np.hypot(*(corners_below - corner).T)
    pairs = itertools.combinations(range(len(corners_below)), 2)
    first, second = min(
        pairs, key=lambda pair: (-_crossing(corner, corners_below, pair), float(distances[list(pair)].sum()))
    )
    return TapedCorner(first + 1, second + 1, float(distances[first]), float(distances[second]))


def _crossing(corner: Floats, corners_below: Floats, pair: tuple[int, int]) -> float:
    """Return the sine of the angle between two tapes, capped at that of a good angle."""
    first, second = pair
    sine = float(tapes_cross(corners_below[first], corners_below[second], corner[np.newaxis])[0])
    return round(min(sine, GOOD_CROSSING), 6)
