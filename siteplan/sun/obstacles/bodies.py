"""What do bodies let through, and when are they in leaf?

A body is part of a feature, such as the crown of a tree. Leaves weaken a ray by the way it has gone through them
(Beer and Lambert's law, for foliage since M. Monsi and T. Saeki, Japanese Journal of Botany 14, 1953): a share t
through a way w is t^(d/w) through a way d. A screen takes the same share from every ray. It leaves out where prisms
stand.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from siteplan.sun.obstacles.prisms import Prism

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Integers = NDArray[np.int64]
Flags = NDArray[np.bool_]

LEAST = 1e-12  # a transmittance below this counts as this: no light is seen through either


class Body(NamedTuple):
    """Part of a feature: leaves, which weaken a ray by its way through all its prisms, or a screen, which does once.

    Attributes
    ----------
    owner, part : str
        Id of the feature, and what of it.
    leafy, bare : float
        Transmittance in leaf and leafless. [0 to 1]
    leaf_out, leaf_fall : int or None
        First and last day of the year in leaf.
    through : float or None
        How long a way through leaves has that transmittance; None for a screen. [m]
    """

    owner: str
    part: str
    leafy: float
    bare: float
    leaf_out: int | None
    leaf_fall: int | None
    through: float | None = None

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

    @property
    def is_leaves(self) -> bool:
        """Whether it weakens a ray by the way through it."""
        return self.through is not None and not self.always_opaque


class Weakening(NamedTuple):
    """What bodies take from the light.

    Attributes
    ----------
    opacity : ndarray of float32, shape (bodies, columns)
        Share that each screen takes in each column of the sky; 0 for leaves.
    extinction : ndarray of float32, shape (bodies, states)
        Of leaves, in each state of what is in leaf. [1/m]
    state : ndarray of int, shape (columns,)
        Of the sky's columns.
    """

    opacity: Singles
    extinction: Singles
    state: Integers


def body_of(prism: Prism) -> Body:
    """Return the body that a prism belongs to."""
    return Body(
        prism.owner,
        prism.part,
        prism.transmittance_leafy,
        prism.transmittance_bare,
        prism.leaf_out,
        prism.leaf_fall,
        prism.through,
    )


def extinctions(bodies: Sequence[Body], day: int | Integers) -> Floats:
    """Return by how much each body's leaves weaken a ray on days of the year. [1/m]

    One day gives the shape (bodies,), several give (bodies, days). The transmittance of a way d is
    exp(-extinction d). It is 0 for screens.

    Examples
    --------
    >>> oak, fence = Body("oak", "crown", 0.05, 0.45, 120, 300, 6.0), Body("fence", "body", 0.5, 0.5, None, None)
    >>> extinctions([oak, fence], 119).round(3), extinctions([oak, fence], 120).round(3)
    (array([0.133, 0.   ]), array([0.499, 0.   ]))
    """
    through = np.array([body.through if body.is_leaves else np.inf for body in bodies], dtype=np.float64)
    return (-np.log(np.maximum(transmittances(bodies, day), LEAST)).T / through).T


def transmittances(bodies: Sequence[Body], day: int | Integers) -> Floats:
    """Return the share of direct sun that each body lets through on days of the year. [0 to 1]

    One day gives the shape (bodies,), several give (bodies, days).

    Examples
    --------
    >>> oak, wall = Body("oak", "crown", 0.2, 0.6, 120, 300), Body("wall", "body", 0.0, 0.0, None, None)
    >>> transmittances([oak, wall], 119), transmittances([oak, wall], 120)
    (array([0.6, 0. ]), array([0.2, 0. ]))
    """
    alike: dict[tuple[int, int] | None, list[int]] = {}
    for number, body in enumerate(bodies):
        alike.setdefault(body.calendar, []).append(number)
    found = np.empty((len(bodies), np.size(day)))
    leafy, bare = (np.array([[getattr(body, name)] for body in bodies]) for name in ("leafy", "bare"))
    for calendar, numbers in alike.items():
        found[numbers] = np.where(in_leaf(calendar, day), leafy[numbers], bare[numbers])
    return found.reshape(len(bodies), *np.shape(day))


def in_leaf(calendar: tuple[int, int] | None, day: int | Integers) -> Flags:
    """Return whether days lie in a leaf calendar, in their shape; always where there is none."""
    days = np.asarray(day)
    if calendar is None:
        return np.ones(days.shape, dtype=np.bool_)
    out, fall = calendar
    return np.asarray((out <= days) & (days <= fall) if out <= fall else (days >= out) | (days <= fall))


def calendars_of(bodies: Sequence[Body]) -> tuple[tuple[int, int], ...]:
    """Return the leaf calendars of bodies, each once."""
    leaves = (body.calendar for body in bodies if body.leaf_out is not None)
    return tuple(sorted({calendar for calendar in leaves if calendar is not None}))


def weakening(bodies: Sequence[Body], days: Sequence[int], columns: int) -> Weakening:
    """Return what bodies take in each of so many columns of a sky.

    Parameters
    ----------
    days : sequence of int
        A day of the year of each of the first columns; the others hold nothing.
    """
    opacity, extinction = np.zeros((2, len(bodies), columns), dtype=np.float32)
    screens, known = np.array([not body.is_leaves for body in bodies], dtype=np.bool_), np.array(days, dtype=np.int64)
    opacity[:, : len(known)] = screens[:, None] * (1 - transmittances(bodies, known))
    if len(known):  # a column that holds nothing goes with the last that does, lest it be a state of its own
        extinction[:] = extinctions(bodies, known)[:, np.minimum(np.arange(columns), len(known) - 1)]
    return _in_states(opacity, extinction)


def with_more(one: Weakening, bodies: Sequence[Body], days: Sequence[int]) -> Weakening:
    """Return what is taken if more bodies stand; `days` are those of `weakening`."""
    if not bodies:
        return one
    other = weakening(bodies, days, len(one.state))
    extinction = [each.extinction[:, each.state] for each in (one, other)]
    return _in_states(np.concatenate([one.opacity, other.opacity]), np.concatenate(extinction))


def _in_states(opacity: Singles, extinction: Singles) -> Weakening:
    """Return what bodies take, by column, with equal columns of leaves put together as states."""
    some = extinction[extinction.any(axis=1)]
    _, first, state = np.unique(some, axis=1, return_index=True, return_inverse=True)
    return Weakening(opacity, np.ascontiguousarray(extinction[:, first]), state.reshape(-1).astype(np.int64))
