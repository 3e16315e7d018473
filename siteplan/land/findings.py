"""What should the gardener be told that is not a fault?

A kernel returns a finding: a code and its figures. `siteplan.say` turns it into a caution: the same in words.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, order=True)
class Caution:
    """Something that the gardener should know and that is not a fault, in words.

    Attributes
    ----------
    code : str
        Short, stable, hyphenated.
    feature : str
        Id of the feature, or empty.
    text : str
        One or two plain sentences.
    """

    code: str
    feature: str
    text: str


@dataclass(frozen=True)
class Finding:
    """The same as a kernel returns it: a code and its figures; `siteplan.say` has the words.

    Attributes
    ----------
    code : str
        Short, stable, hyphenated.
    feature : str
        Id of the feature, or empty.
    figures : tuple of (str, value)
        What the words need: SI floats, names, tuples of names.
    """

    code: str
    feature: str
    figures: tuple[tuple[str, Any], ...] = ()


def finding(code: str, feature: str = "", **figures: Any) -> Finding:
    """Return a finding with its figures by name.

    Examples
    --------
    >>> finding("shallow-soil", "north", soil=0.2).figures
    (('soil', 0.2),)
    """
    return Finding(code, feature, tuple(figures.items()))
