"""What does a survey propose to draw, or to say of what is drawn?

One record for each thing, in metres of the local frame, with how far off each figure may be.
It leaves out how it was found.
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
        The property of features that it is for.
    value : float
        In the kernels' unit.
    spread : float
        How far off it may be, each way; 0 where that is not told.
    dimension : str
        ``length``, ``angle`` or ``fraction``.
    """

    key: str
    value: float
    spread: float = 0.0
    dimension: Literal["length", "angle", "fraction"] = "length"


@dataclass(frozen=True)
class Proposal:
    """One thing that a survey shows.

    Attributes
    ----------
    id : str
        Of the feature that is drawn, else one that is free.
    kind : str
    drawn : bool
        Whether it is drawn already: then its figures alone are proposed.
    shape : shapely geometry
        In the local frame. [m]
    figures : tuple of Figure
    points : int
        Of the survey, that tell its height.
    trees : int
        How many tops a group has; 1 of a tree that stands for itself, 0 of what is no tree.
    through : float or None
        Share of pulses that reach the ground through a crown.
    pulses : int
        How many that are a share of.
    """

    id: str
    kind: ProposedKind
    drawn: bool
    shape: BaseGeometry
    figures: tuple[Figure, ...]
    points: int
    trees: int = 0
    through: float | None = None
    pulses: int = 0

    def figure(self, key: str) -> Figure | None:
        """Return one of its figures, None where it has no such one."""
        return next((one for one in self.figures if one.key == key), None)


@dataclass(frozen=True)
class Conflict:
    """A figure that somebody gave, and that a survey has otherwise.

    Attributes
    ----------
    id, key : str
    own, found : object
        As they are written.
    taken : bool
        Whether the survey's has taken the place of the other.
    """

    id: str
    key: str
    own: object
    found: object
    taken: bool


@dataclass
class Accepted:
    """What came into a features file.

    Attributes
    ----------
    file : str
    added, changed : list of str
        Ids of new features, and of drawn ones that got figures.
    same : list of str
        Ids of drawn ones in which nothing changed.
    conflicts : list of Conflict
    """

    file: str
    added: list[str] = field(default_factory=list)
    changed: list[str] = field(default_factory=list)
    same: list[str] = field(default_factory=list)
    conflicts: list[Conflict] = field(default_factory=list)
