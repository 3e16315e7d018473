"""What can go wrong, and how is it reported?

Every error that the input causes is an InputError and carries all its faults at once.
Bugs of siteplan itself are not caught: they show their traceback.

    SitePlanError
    +-- InputError          the site's files, or a command's options, are at fault
    +-- MissingExtraError   an optional part is not installed
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from siteplan.land.alike import first_of_each_kind, gist


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
        """Return the fault as one line; control characters and invisible ones are written as their codes."""
        line = " ".join(": ".join(part for part in (self.file, self.where, self.text) if part).split())
        codes = (letter if letter.isprintable() else letter.encode("unicode_escape").decode() for letter in line)
        return "".join(codes)


def listed_faults(faults: Iterable[Fault]) -> list[Fault]:
    """Return the faults to show: of many that say the same of other features, the first ten and how many more.

    Examples
    --------
    >>> faults = [Fault("a.geojson", f'bed "{number}"', "height is missing") for number in range(3000)]
    >>> print(listed_faults(faults)[-1])
    a.geojson: 2990 more faults of this kind: height is missing
    """
    return first_of_each_kind(faults, lambda fault: (fault.file, gist(fault.where), gist(fault.text)), _more_of)


def _more_of(first: Fault, count: int) -> Fault:
    """Return the line that replaces faults which are not listed one by one."""
    return Fault(first.file, "", f"{count} more faults of this kind: {first.text}")


class SitePlanError(Exception):
    """Anything siteplan raises on purpose."""


class InputError(SitePlanError):
    """The input is at fault.

    Parameters
    ----------
    faults : iterable of Fault
        All that is wrong, at least one; the error's text lists the first ten of a kind.
    """

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults: tuple[Fault, ...] = tuple(faults)
        super().__init__("\n".join(str(fault) for fault in listed_faults(self.faults)))


class MissingExtraError(SitePlanError):
    """An optional part of siteplan is asked for but not installed."""
