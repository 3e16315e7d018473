"""Which new bed and which beds do the options of a command describe?

Lengths with units, months and numbers of places are parsed, and all faults are reported together. Whether the site
has a place for the bed is not checked here.
"""

from __future__ import annotations

import argparse
from collections.abc import Collection
from dataclasses import replace
from typing import TYPE_CHECKING, Literal, TypedDict

from siteplan.land.errors import Fault, InputError

if TYPE_CHECKING:
    from shapely import Polygon

    from siteplan.land.site import Site
    from siteplan.land.units import LengthUnit


class BedOptions(TypedDict, total=False):
    """What a command's own options ask for in a new bed."""

    length: float
    width: float
    count: int
    sizes: list[tuple[float, float]]
    shape: Polygon
    months: list[int]


def ranks(text: str) -> list[int] | None:
    """Return the numbers of places from words such as 1 or 1,3, each once; None where they are none."""
    parts = [part.strip() for part in text.split(",")]
    if not all(part.isascii() and part.isdigit() and int(part) > 0 for part in parts):
        return None
    return list(dict.fromkeys(int(part) for part in parts))


def asked_bed(arguments: argparse.Namespace, site: Site, ask: Collection[str]) -> tuple[BedOptions, set[str] | None]:
    """Return the new bed and the beds that a command's own options ask for, or raise all that is wrong with them."""
    from siteplan.land.written import in_feet
    from siteplan.question import NewBed, question_faults

    options, faults = _new_bed(arguments, site)
    bed_ids = None if getattr(arguments, "bed", None) is None else {arguments.bed}
    named = {"sizes": "--size", "bed_ids": "--bed"}
    for fault in question_faults(site, ask=ask, bed_ids=bed_ids, new_bed=NewBed(**options)):
        text = in_feet(fault.text) if site.units == "imperial" else fault.text
        faults.append(replace(fault, where=named.get(fault.where, f"--{fault.where}"), text=text))
    adopt = getattr(arguments, "adopt", None)
    if adopt is not None and getattr(arguments, "variant", None) is not None:
        text = "writes into the property, and the places are those of a variant; leave one of the two options out"
        faults.append(Fault("", "--adopt", text))
    if adopt is not None and ranks(adopt) is None:
        faults.append(Fault("", "--adopt", f'{adopt[:40]!r} are no places, must be as "1" or "1,3"'))
    if faults:
        raise InputError(faults)
    return options, bed_ids


def _new_bed(arguments: argparse.Namespace, site: Site) -> tuple[BedOptions, list[Fault]]:
    """Return what new bed is asked for, as far as the words can be read, and which of them cannot.

    A length without a unit is in that of the site's drawing.
    """
    options: BedOptions = {}
    faults: list[Fault] = []
    unit = site.drawing_unit
    sides: tuple[Literal["length", "width"], ...] = ("length", "width")
    for name in sides:
        text = getattr(arguments, name, None)
        if text is not None and (side := _side(text, f"--{name}", unit, faults)) is not None:
            options[name] = side
    if getattr(arguments, "count", None) is not None:
        options["count"] = arguments.count
    words = getattr(arguments, "size", None) or ()
    if sizes := [size for text in words if (size := _size(text, unit, faults)) is not None]:
        options["sizes"] = sizes
    file = getattr(arguments, "shape", None)
    if file is not None:
        from siteplan.files.drawing.bed_shape import read_shape

        try:
            options["shape"] = read_shape(file, plain=unit, system=site.units)
        except InputError as error:
            faults += error.faults
    months = getattr(arguments, "months", None)
    if months is not None and (chosen := _months(months, faults)):
        options["months"] = chosen
    return options, faults


def _side(text: str, option: str, unit: LengthUnit, faults: list[Fault]) -> float | None:
    """Return a side of a bed, or note that it is no length. [m]"""
    from siteplan.land.units import si_value

    try:
        return si_value(text, "length", plain=unit)
    except ValueError as error:
        faults.append(Fault("", option, str(error)))
    return None


def _size(text: str, unit: LengthUnit, faults: list[Fault]) -> tuple[float, float] | None:
    """Return length and width from words such as "8 ft x 4 ft"; a unit said once holds for both. [m]"""
    parts = [part.strip() for part in text.lower().replace("\u00d7", "x").split("x")]
    if len(parts) != 2:
        faults.append(Fault("", "--size", f'{text[:40]!r} is no size, must be as "8 ft x 4 ft"'))
        return None
    said = parts[1].lstrip("0123456789./ ")
    if said and not parts[0].lstrip("0123456789./ "):
        parts[0] += f" {said}"
    length, width = (_side(part, "--size", unit, faults) for part in parts)
    return None if length is None or width is None else (length, width)


def _months(text: str, faults: list[Fault]) -> list[int]:
    """Return months from words such as 4-6 or 3,4,10; a span may run over the new year."""
    chosen: set[int] = set()
    for part in text.replace(" ", "").split(","):
        first, dash, last = part.partition("-")
        ends = (first, last if dash else first)
        if not all(end.isascii() and end.isdigit() and 1 <= int(end) <= 12 for end in ends):
            faults.append(Fault("", "--months", f'{text[:40]!r} are no months, must be as "4-6" or "3,4,10"'))
            return []
        start, end = (int(one) for one in ends)
        chosen.update((start - 1 + k) % 12 + 1 for k in range((end - start) % 12 + 1))
    return sorted(chosen)
