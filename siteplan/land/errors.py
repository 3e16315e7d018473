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

from siteplan.land.alike import firsts, gist


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
        """Return the fault as one line; letters that steer a terminal, or are not seen, as their codes."""
        line = " ".join(": ".join(part for part in (self.file, self.where, self.text) if part).split())
        return "".join(each if each.isprintable() else each.encode("unicode_escape").decode() for each in line)


def told(faults: Iterable[Fault]) -> list[Fault]:
    """Return the faults that people are told: of many that say the same of other features, the first ten.

    Examples
    --------
    >>> faults = [Fault("a.geojson", f'bed "{number}"', "height is missing") for number in range(3000)]
    >>> print(told(faults)[-1])
    a.geojson: 2990 more faults of this kind: height is missing
    """
    return firsts(faults, lambda one: (one.file, gist(one.where), gist(one.text)), _others)


def _others(first: Fault, count: int) -> Fault:
    """Return what stands for faults that are not told one by one."""
    return Fault(first.file, "", f"{count} more faults of this kind: {first.text}")


class SitePlanError(Exception):
    """Anything siteplan raises on purpose."""


class InputError(SitePlanError):
    """The input is at fault.

    Parameters
    ----------
    faults : iterable of Fault
        All that is wrong, at least one; the error's text tells the first ten of a kind.
    """

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults: tuple[Fault, ...] = tuple(faults)
        super().__init__("\n".join(str(fault) for fault in told(self.faults)))


class MissingExtraError(SitePlanError):
    """An optional part of siteplan is asked for but not installed."""
