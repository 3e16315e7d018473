"""What do bodies let through, and when are they in leaf?

A body is part of a feature, such as the crown of a tree. Its prisms count once. It leaves out where its prisms stand.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from siteplan.sun.obstacles.prisms import Prism

Floats = NDArray[np.float64]


class Body(NamedTuple):
    """Part of a feature that weakens a ray once, however many of its prisms the ray meets.

    Attributes
    ----------
    owner, part : str
        Id of the feature, and what of it.
    leafy, bare : float
        Transmittance in leaf and leafless. [0 to 1]
    leaf_out, leaf_fall : int or None
        First and last day of the year in leaf.
    """

    owner: str
    part: str
    leafy: float
    bare: float
    leaf_out: int | None
    leaf_fall: int | None

    @property
    def calendar(self) -> tuple[int, int] | None:
        """First and last day in leaf, or None where it makes no difference."""
        if self.leaf_out is None or self.leaf_fall is None or self.leafy == self.bare:
            return None
        return self.leaf_out, self.leaf_fall

    @property
    def always_opaque(self) -> bool:
        """Whether it lets nothing through on any day."""
        return self.leafy == 0 and (self.calendar is None or self.bare == 0)


def body_of(prism: Prism) -> Body:
    """Return the body that a prism belongs to."""
    return Body(
        prism.owner,
        prism.part,
        prism.transmittance_leafy,
        prism.transmittance_bare,
        prism.leaf_out,
        prism.leaf_fall,
    )


def transmittances(bodies: Sequence[Body], day: int) -> Floats:
    """Return the share of direct sun that each body lets through on a day of the year, shape (bodies,). [0 to 1]

    Examples
    --------
    >>> oak, wall = Body("oak", "crown", 0.2, 0.6, 120, 300), Body("wall", "body", 0.0, 0.0, None, None)
    >>> transmittances([oak, wall], 119), transmittances([oak, wall], 120)
    (array([0.6, 0. ]), array([0.2, 0. ]))
    """
    leafy = {calendar: in_leaf(calendar, day) for calendar in {body.calendar for body in bodies}}
    return np.array([body.leafy if leafy[body.calendar] else body.bare for body in bodies], dtype=np.float64)


def in_leaf(calendar: tuple[int, int] | None, day: int) -> bool:
    """Return whether a day lies in a leaf calendar; always where there is none."""
    if calendar is None:
        return True
    out, fall = calendar
    return out <= day <= fall if out <= fall else day >= out or day <= fall


def calendars_of(bodies: Sequence[Body]) -> tuple[tuple[int, int], ...]:
    """Return the leaf calendars of bodies, each once."""
    return tuple(sorted({body.calendar for body in bodies if body.calendar is not None}))
