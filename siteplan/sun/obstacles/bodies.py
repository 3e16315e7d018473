"""How much light do bodies let through, and when are they in leaf?

A body is part of a feature, such as the crown of a tree. Leaves attenuate a ray by the length of its path through
them (Beer and Lambert's law, for foliage since M. Monsi and T. Saeki, Japanese Journal of Botany 14, 1953): a
transmittance t over a path w is t^(d/w) over a path d. A screen takes the same share from every ray. The geometry of
bodies is in `packed_prisms`.
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

LEAST_TRANSMITTANCE = 1e-12  # smaller ones are raised to this, so that their logarithm is finite


class Body(NamedTuple):
    """Part of a feature: leaves, which attenuate a ray by its path through all their prisms, or a screen.

    Attributes
    ----------
    owner, part : str
        Id of the feature, and which part of it.
    leafy, bare : float
        Transmittance in leaf and leafless. [0 to 1]
    leaf_out, leaf_fall : int or None
        First and last day of the year in leaf.
    transmittance_path : float or None
        Length of the path through leaves that has that transmittance; None for a screen. [m]
    """

    owner: str
    part: str
    leafy: float
    bare: float
    leaf_out: int | None
    leaf_fall: int | None
    transmittance_path: float | None = None

    @property
    def calendar(self) -> tuple[int, int] | None:
        """First and last day in leaf, or None where leaves make no difference."""
        if self.leaf_out is None or self.leaf_fall is None or self.leafy == self.bare:
            return None
        return self.leaf_out, self.leaf_fall

    @property
    def always_opaque(self) -> bool:
        """Whether it lets nothing through on any day."""
        return self.leafy == 0 and (self.calendar is None or self.bare == 0)

    @property
    def is_leaves(self) -> bool:
        """Whether it attenuates a ray by the length of its path through it."""
        return self.transmittance_path is not None and not self.always_opaque


class Attenuation(NamedTuple):
    """How much bodies attenuate light, in each column of a sky.

    Columns in which the same leaves are out share a leaf state.

    Attributes
    ----------
    opacity : ndarray of float32, shape (bodies, columns)
        Share of the light that each screen takes; 0 for leaves. [0 to 1]
    extinction : ndarray of float32, shape (bodies, states)
        Extinction coefficient of leaves in each leaf state; 0 for screens. [1/m]
    state : ndarray of int, shape (columns,)
        Leaf state of each column.
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
        prism.transmittance_path,
    )


def extinctions(bodies: Sequence[Body], day: int | Integers) -> Floats:
    """Return the extinction coefficient of each body's leaves on days of the year; 0 for screens. [1/m]

    One day gives the shape (bodies,), several give (bodies, days). The transmittance of a path d is
    exp(-extinction d).

    Examples
    --------
    >>> oak, fence = Body("oak", "crown", 0.05, 0.45, 120, 300, 6.0), Body("fence", "body", 0.5, 0.5, None, None)
    >>> extinctions([oak, fence], 119).round(3), extinctions([oak, fence], 120).round(3)
    (array([0.133, 0.   ]), array([0.499, 0.   ]))
    """
    path = np.array([body.transmittance_path if body.is_leaves else np.inf for body in bodies], dtype=np.float64)
    optical_depth = -np.log(np.maximum(transmittances(bodies, day), LEAST_TRANSMITTANCE))
    return (optical_depth.T / path).T


def transmittances(bodies: Sequence[Body], day: int | Integers) -> Floats:
    """Return the share of direct sun that each body lets through on days of the year. [0 to 1]

    One day gives the shape (bodies,), several give (bodies, days).

    Examples
    --------
    >>> oak, wall = Body("oak", "crown", 0.2, 0.6, 120, 300), Body("wall", "body", 0.0, 0.0, None, None)
    >>> transmittances([oak, wall], 119), transmittances([oak, wall], 120)
    (array([0.6, 0. ]), array([0.2, 0. ]))
    """
    by_calendar: dict[tuple[int, int] | None, list[int]] = {}
    for number, body in enumerate(bodies):
        by_calendar.setdefault(body.calendar, []).append(number)
    transmittance = np.empty((len(bodies), np.size(day)))
    leafy, bare = (np.array([[getattr(body, name)] for body in bodies]) for name in ("leafy", "bare"))
    for calendar, numbers in by_calendar.items():
        transmittance[numbers] = np.where(in_leaf(calendar, day), leafy[numbers], bare[numbers])
    return transmittance.reshape(len(bodies), *np.shape(day))


def in_leaf(calendar: tuple[int, int] | None, day: int | Integers) -> Flags:
    """Return whether days of the year lie in a leaf calendar, in their shape; all do where it is None."""
    days = np.asarray(day)
    if calendar is None:
        return np.ones(days.shape, dtype=np.bool_)
    out, fall = calendar
    if out <= fall:
        return np.asarray((out <= days) & (days <= fall))
    return np.asarray((days >= out) | (days <= fall))  # in leaf across the new year


def calendars_of(bodies: Sequence[Body]) -> tuple[tuple[int, int], ...]:
    """Return the leaf calendars of bodies, each once."""
    leaves = (body.calendar for body in bodies if body.leaf_out is not None)
    return tuple(sorted({calendar for calendar in leaves if calendar is not None}))


def attenuation(bodies: Sequence[Body], days: Sequence[int], columns: int) -> Attenuation:
    """Return how much bodies attenuate light in each column of a sky.

    Parameters
    ----------
    bodies : sequence of Body
    days : sequence of int
        One day of the year for each of the first columns; the columns after them are padding.
    columns : int
        Number of columns, padding included.
    """
    opacity, extinction = np.zeros((2, len(bodies), columns), dtype=np.float32)
    screens = np.array([not body.is_leaves for body in bodies], dtype=np.bool_)
    day = np.array(days, dtype=np.int64)
    opacity[:, : len(day)] = screens[:, None] * (1 - transmittances(bodies, day))
    if len(day):  # padding takes the last day, so that it makes no leaf state of its own
        extinction[:] = extinctions(bodies, day)[:, np.minimum(np.arange(columns), len(day) - 1)]
    return _in_states(opacity, extinction)


def with_more_bodies(attenuated: Attenuation, bodies: Sequence[Body], days: Sequence[int]) -> Attenuation:
    """Return an attenuation with further bodies; `days` are those that `attenuation` was given."""
    if not bodies:
        return attenuated
    further = attenuation(bodies, days, len(attenuated.state))
    extinction = [part.extinction[:, part.state] for part in (attenuated, further)]
    return _in_states(np.concatenate([attenuated.opacity, further.opacity]), np.concatenate(extinction))


def _in_states(opacity: Singles, extinction: Singles) -> Attenuation:
    """Return an attenuation from arrays by column; columns with equal extinctions share a leaf state."""
    of_leaves = extinction[extinction.any(axis=1)]
    _, first_column, state = np.unique(of_leaves, axis=1, return_index=True, return_inverse=True)
    return Attenuation(opacity, np.ascontiguousarray(extinction[:, first_column]), state.reshape(-1).astype(np.int64))
