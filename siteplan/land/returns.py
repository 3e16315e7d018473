"""What does a laser survey from the air hold?

Points in the local frame, each where a pulse of light was reflected (a return), with its class by the ASPRS standard.
`files/survey` reads them, `heights` finds trees and roofs in them.

References
----------
LAS specification 1.4 R15, table 17 (ASPRS 2019): the classes; memory.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from siteplan.land.grid import Floats

Flags = NDArray[np.bool_]

#: classes by the ASPRS standard
NEVER, UNCLASSIFIED, GROUND, BUILDING, LOW_NOISE, KEY_POINT, HIGH_NOISE = 0, 1, 2, 6, 7, 8, 18
#: classes that are ignored, since they cast no shade that matters: rails, roads, wires with their guards and joints,
#: towers, bridges; 26 is a bridge in the Dutch survey
IGNORED = (10, 11, 13, 14, 15, 16, 17, 26)


@dataclass(frozen=True, eq=False)
class Returns:
    """Points of a survey.

    Attributes
    ----------
    x, y : ndarray, shape (points,)
        In the local frame. [m]
    z : ndarray, shape (points,)
        Elevation. [m]
    kind : ndarray of uint8, shape (points,)
        Class by the ASPRS standard.
    last : ndarray of bool, shape (points,)
        Whether it is the last return of its pulse, so that there is one for each pulse.
    several : ndarray of bool, shape (points,)
        Whether its pulse had more than one return, as from leaves and edges.
    """

    x: Floats
    y: Floats
    z: Floats
    kind: NDArray[np.uint8]
    last: Flags
    several: Flags

    def __len__(self) -> int:
        """Return how many there are."""
        return len(self.x)

    def subset(self, chosen: Flags | NDArray[np.intp]) -> Returns:
        """Return some of the points, by a mask or by their indices."""
        names = ("x", "y", "z", "kind", "last", "several")
        return Returns(*(getattr(self, name)[chosen] for name in names))

    def as_unclassified(self) -> Returns:
        """Return the same points without their classes, except noise."""
        noise = np.isin(self.kind, (LOW_NOISE, HIGH_NOISE))
        return replace(self, kind=np.where(noise, self.kind, UNCLASSIFIED).astype(np.uint8))


def concatenated(parts: list[Returns]) -> Returns:
    """Return the points of several parts as one."""
    names = ("x", "y", "z", "kind", "last", "several")
    if not parts:
        no_points, no_flags = np.zeros(0), np.zeros(0, dtype=bool)
        return Returns(no_points, no_points, no_points, np.zeros(0, dtype=np.uint8), no_flags, no_flags)
    return Returns(*(np.concatenate([getattr(returns, name) for returns in parts]) for name in names))


@dataclass(frozen=True)
class Flight:
    """When a survey was flown.

    Attributes
    ----------
    first, last : datetime.date or None
        Days; None if the files do not say.
    by_pulses : bool
        Whether the days come from the time stamps of the pulses, not from the day on which the file was made.
    source : str
        ``laser``, or ``rasters`` for a pair of rasters.
    """

    first: dt.date | None = None
    last: dt.date | None = None
    by_pulses: bool = False
    source: str = "laser"
