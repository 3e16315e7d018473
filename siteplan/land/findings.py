"""What deserves a word, without being a fault?

A kernel notes a finding: a code and its figures. `siteplan.say` makes a caution of it: the same, in words.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, order=True)
class Caution:
    """Something that deserves a word, without being a fault.

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
    """Something that deserves a word, as a kernel finds it: a code and its figures; `siteplan.say` has the words.

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
