"""Which new bed, and which of the site's beds, do the options of a command describe?

Lengths with units, months and numbers of places are parsed, and all faults are reported together. Whether the site
has a place for the bed is not checked here.
"""

from __future__ import annotations

import argparse
import re
import shlex
from collections.abc import Collection
from dataclasses import replace
from typing import TYPE_CHECKING, Literal, TypedDict

from siteplan.land.errors import Fault, InputError

if TYPE_CHECKING:
    from shapely import Polygon

    from siteplan.land.site import Site
    from siteplan.land.units import LengthUnit

_OPTIONS = {"sizes": "size", "bed_ids": "bed"}  # where the command line has another name than Python
_FIRST_UNIT = re.compile(r"['\"′″]+|[a-zµ]+\.?")  # of a length in small letters: ft of 4 ft 6 in


class BedOptions(TypedDict, total=False):
    """What the options of a command say about a new bed: arguments of `plan_site`. [m]"""

    length: float
    width: float
    count: int
    sizes: list[tuple[float, float]]
    shape: Polygon
    months: list[int]


def place_numbers(text: str) -> list[int] | None:
    """Return the numbers of places in a text such as 1 or 1,3, each once; None if it holds anything else."""
    parts = [part.strip() for part in text.split(",")]
    if not all(part.isascii() and part.isdigit() and int(part) > 0 for part in parts):
        return None
    return list(dict.fromkeys(int(part) for part in parts))


def new_bed_and_ids(
    arguments: argparse.Namespace, site: Site, ask: Collection[str]
) -> tuple[BedOptions, set[str] | None]:
    """Return the new bed that the options describe, and the id of `--bed`; None for all beds.

    Parameters
    ----------
    arguments : argparse.Namespace
        Of one of the commands that answer questions; options that the command lacks are not used.
    site : Site
    ask : collection of str
        The questions of the command.

    Raises
    ------
    InputError
        With all faults of these options.
    """
    from siteplan.land.written import in_units
    from siteplan.question import NewBed, question_faults

    options, faults = _new_bed(arguments, site)
    bed_ids = None if getattr(arguments, "bed", None) is None else {arguments.bed}
    for fault in question_faults(site, ask=ask, bed_ids=bed_ids, new_bed=NewBed(**options)):
        option = _OPTIONS.get(fault.where, fault.where)
        faults.append(replace(fault, where=f"--{option}", text=in_units(fault.text, site.units)))
    faults += _adopt_faults(arguments)
    if faults:
        raise InputError(faults)
    return options, bed_ids


def new_bed_words(arguments: argparse.Namespace) -> str:
    """Return the options that describe the new bed as a shell takes them; empty if none was given."""
    words: list[str] = []
    for name in BedOptions.__annotations__:
        option = _OPTIONS.get(name, name)
        given = getattr(arguments, option, None)
        if given is not None:
            values = given if isinstance(given, list) else [given]
            words += [word for value in values for word in (f"--{option}", shlex.quote(str(value)))]
    return " ".join(words)


def _adopt_faults(arguments: argparse.Namespace) -> list[Fault]:
    """Return the faults of `--adopt`."""
    adopt = getattr(arguments, "adopt", None)
    texts = []
    if adopt is not None and getattr(arguments, "variant", None) is not None:
        texts.append("writes into the property, but the places are those of a variant; leave out one of the options")
    if adopt is not None and place_numbers(adopt) is None:
        texts.append(f'{adopt[:40]!r} are no places, must be as "1" or "1,3"')
    return [Fault("", "--adopt", text) for text in texts]


def _new_bed(arguments: argparse.Namespace, site: Site) -> tuple[BedOptions, list[Fault]]:
    """Return the new bed, as far as the options can be read, and the faults of those that cannot.

    A length without a unit is in the unit of the site's drawing.
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
    size_texts = getattr(arguments, "size", None) or ()
    if sizes := [size for text in size_texts if (size := _size(text, unit, faults)) is not None]:
        options["sizes"] = sizes
    file = getattr(arguments, "shape", None)
    if file is not None:
        from siteplan.files.drawing.bed_shape import read_shape

        try:
            options["shape"] = read_shape(file, plain=unit, system=site.units)
        except InputError as error:
            faults += error.faults
    months = getattr(arguments, "months", None)
    if months is not None and (month_numbers := _months(months, faults)):
        options["months"] = month_numbers
    return options, faults


def _side(text: str, option: str, unit: LengthUnit, faults: list[Fault]) -> float | None:
    """Return the length of a side, or note the fault of the option. [m]"""
    from siteplan.land.units import si_value

    try:
        return si_value(text, "length", plain=unit)
    except ValueError as error:
        faults.append(Fault("", option, str(error)))
    return None


def _size(text: str, unit: LengthUnit, faults: list[Fault]) -> tuple[float, float] | None:
    """Return length and width from a text such as "8 ft x 4 ft", or note the faults. [m]

    A unit of the last side alone holds for both: "8 x 4 ft 6 in" is 8 ft by 4 ft 6 in. A unit of the first side alone
    is a fault: "8 ft x 4" may mean 4 ft, or 4 in the unit of the drawing.
    """
    parts = [part.strip() for part in text.lower().replace("\u00d7", "x").split("x")]
    if len(parts) != 2:
        faults.append(Fault("", "--size", f'{text[:40]!r} is no size, must be as "8 ft x 4 ft"'))
        return None
    first_unit, last_unit = (_FIRST_UNIT.search(part) for part in parts)
    if last_unit and not first_unit:
        parts[0] += f" {last_unit[0]}"
    if first_unit and not last_unit:
        text = f'{text[:40]!r} has a unit on its first side alone; give it on both, as in "8 ft x 4 ft"'
        faults.append(Fault("", "--size", text))
        return None
    length, width = (_side(part, "--size", unit, faults) for part in parts)
    return None if length is None or width is None else (length, width)


def _months(text: str, faults: list[Fault]) -> list[int]:
    """Return the months of a text such as 4-6 or 3,4,10; a span such as 11-2 runs over the new year."""
    months: set[int] = set()
    for part in text.replace(" ", "").split(","):
        start_text, dash, end_text = part.partition("-")
        ends = (start_text, end_text if dash else start_text)
        if not all(end.isascii() and end.isdigit() and 1 <= int(end) <= 12 for end in ends):
            faults.append(Fault("", "--months", f'{text[:40]!r} are no months, must be as "4-6" or "3,4,10"'))
            return []
        start, months_after = int(ends[0]), (int(ends[1]) - int(ends[0])) % 12
        months.update((start - 1 + k) % 12 + 1 for k in range(months_after + 1))
    return sorted(months)
