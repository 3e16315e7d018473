"""Which new features, or figures of drawn features, does a survey propose?

One record for each feature, in metres of the local frame, with how far off each figure may be.
`heights` finds them.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from shapely.geometry.base import BaseGeometry

ProposedKind = Literal["tree", "building", "hedge", "fence"]


@dataclass(frozen=True)
class Figure:
    """One figure of a proposal.

    Attributes
    ----------
    key : str
        The property of the feature that it sets, such as ``height``.
    value : float
        In the kernels' unit.
    spread : float
        How far off it may be, each way; 0 if unknown.
    dimension : str
        ``length``, ``angle`` or ``fraction``.
    """

    key: str
    value: float
    spread: float = 0.0
    dimension: Literal["length", "angle", "fraction"] = "length"


@dataclass(frozen=True)
class Proposal:
    """One feature that a survey shows.

    Attributes
    ----------
    id : str
        Of the drawn feature, else a new one that is free.
    kind : str
    drawn : bool
        Whether the feature is drawn already: then only its figures are proposed.
    shape : shapely geometry
        In the local frame. [m]
    figures : tuple of Figure
    points : int
        How many points of the survey its height is taken from.
    trees : int
        How many tree tops: several in a group, 1 in a single tree, 0 if it is no tree.
    ground_share : float or None
        Share of pulses that reach the ground through a crown.
    pulses : int
        How many pulses `ground_share` is a share of.
    """

    id: str
    kind: ProposedKind
    drawn: bool
    shape: BaseGeometry
    figures: tuple[Figure, ...]
    points: int
    trees: int = 0
    ground_share: float | None = None
    pulses: int = 0

    def figure(self, key: str) -> Figure | None:
        """Return the figure of a property, None if it has none."""
        return next((figure for figure in self.figures if figure.key == key), None)


@dataclass(frozen=True)
class Conflict:
    """A figure for which the drawing and the survey have different values.

    Attributes
    ----------
    id, key : str
        The feature and its property.
    own, found : object
        The drawing's value and the survey's, as they are written.
    taken : bool
        Whether the survey's value has replaced the drawing's.
    """

    id: str
    key: str
    own: object
    found: object
    taken: bool


@dataclass
class Accepted:
    """What was merged into a features file.

    Attributes
    ----------
    file : str
    added, changed : list of str
        Ids of new features, and of drawn features that got figures.
    same : list of str
        Ids of drawn features in which nothing changed.
    conflicts : list of Conflict
    """

    file: str
    added: list[str] = field(default_factory=list)
    changed: list[str] = field(default_factory=list)
    same: list[str] = field(default_factory=list)
    conflicts: list[Conflict] = field(default_factory=list)
