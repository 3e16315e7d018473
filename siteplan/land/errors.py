"""What can go wrong, and how is it said?

Every error that is the input's fault is an InputError and carries all its faults at once.
It leaves out bugs: those keep their traceback.

    SitePlanError
    +-- InputError          the site's files, or a command's options, are at fault
    +-- MissingExtraError   an optional part is not installed
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, order=True)
class Fault:
    """One thing that is wrong in the input.

    Attributes
    ----------
    file : str
        Name of the file, without its folder; empty for a command's own options.
    where : str
        The feature or the key, as ``bed "north"`` or ``[season] last_frost``; may be empty.
    text : str
        What came, what is allowed, how to mend it.

    Examples
    --------
    >>> print(Fault("features.geojson", 'bed "north"', "height is missing; measure it from the ground"))
    features.geojson: bed "north": height is missing; measure it from the ground
    """

    file: str
    where: str
    text: str

    def __str__(self) -> str:
        """Return the fault as one line."""
        line = ": ".join(part for part in (self.file, self.where, self.text) if part)
        return " ".join(line.split())


class SitePlanError(Exception):
    """Anything siteplan raises on purpose."""


class InputError(SitePlanError):
    """The input is at fault.

    Parameters
    ----------
    faults : iterable of Fault
        All that is wrong, at least one.
    """

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults: tuple[Fault, ...] = tuple(faults)
        super().__init__("\n".join(str(fault) for fault in self.faults))


class MissingExtraError(SitePlanError):
    """An optional part of siteplan is asked for but not installed."""
