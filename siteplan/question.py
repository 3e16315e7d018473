"""Which questions can be asked about a site, and is a question valid?

The five questions, the new bed to find a place for, and the check of both, shared by Python and command line. The
site itself was checked when it was read.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from numbers import Integral

import numpy as np
from shapely import Polygon

from siteplan.land.errors import Fault, InputError
from siteplan.land.outline import longer_side
from siteplan.land.site import BED_SIDE, Site
from siteplan.land.values import OneOf, Whole, nearest

#: the questions, in the order in which they are asked
QUESTIONS = ("sun", "place", "turn", "fill", "haul")

MOST_BEDS = 50  # that one search places

_COUNT = Whole(1, MOST_BEDS)

#: called with the question's name and how much of it is done, 0 to 1
Progress = Callable[[str, float], None]


@dataclass(frozen=True, kw_only=True)
class NewBed:
    """The new bed to find a place for; a field that is None is taken from the first proposed bed, else from the site.

    Attributes
    ----------
    length, width : float or None
        Its sides. [m]
    count : int or None
        How many places to find.
    sizes : sequence of (float, float), or None
        Length and width of several new beds, one place for each, instead of `length`, `width` and `count`. [m]
    shape : Polygon or None
        The outline of a bed that is no rectangle; its position and direction do not matter. [m]
    months : collection of int, or None
        Months over which the sun is counted, 1 to 12; the growing season if None.
    """

    length: float | None = None
    width: float | None = None
    count: int | None = None
    sizes: Sequence[tuple[float, float]] | None = None
    shape: Polygon | None = None
    months: Collection[int] | None = None

    def named_fields(self) -> tuple[str, ...]:
        """Return the names of the fields that are not None.

        Examples
        --------
        >>> NewBed(length=2.4, months=[4, 5]).named_fields()
        ('length', 'months')
        """
        return tuple(name for name, value in vars(self).items() if value is not None)


@dataclass(frozen=True, kw_only=True)
class Question:
    """A checked question about a site.

    Attributes
    ----------
    ask : frozenset of str
        Of `QUESTIONS`.
    bed_ids : frozenset of str, or None
        The beds to look at; all where None.
    new_bed : NewBed
    sure : bool
        Whether to compute where enough sun is sure.
    hours_alone : bool
        Whether to compute only the hours of sun, without light and ranges, in half the time.
    """

    ask: frozenset[str]
    bed_ids: frozenset[str] | None
    new_bed: NewBed
    sure: bool = False
    hours_alone: bool = False


def checked_question(
    site: Site,
    *,
    ask: Collection[str],
    bed_ids: Collection[str] | None = None,
    new_bed: NewBed | None = None,
    sure: bool = False,
) -> Question:
    """Return a checked question.

    Parameters
    ----------
    site, ask, bed_ids, new_bed, sure
        As for `question_faults`.

    Raises
    ------
    InputError
        With all faults of the question.
    """
    faults = question_faults(site, ask=ask, bed_ids=bed_ids, new_bed=new_bed, sure=sure)
    if faults:
        raise InputError(faults)
    new_bed = new_bed or NewBed()
    sizes = None if new_bed.sizes is None else tuple((float(long), float(wide)) for long, wide in new_bed.sizes)
    months = None if new_bed.months is None else tuple(sorted({int(month) for month in new_bed.months}))
    count = None if new_bed.count is None else int(new_bed.count)
    return Question(
        ask=frozenset(map(str, ask)),
        bed_ids=None if bed_ids is None else frozenset(map(str, bed_ids)),
        new_bed=replace(new_bed, sizes=sizes, months=months, count=count),
        sure=bool(sure),
    )


def question_faults(
    site: Site,
    *,
    ask: Collection[str],
    bed_ids: Collection[str] | None = None,
    new_bed: NewBed | None = None,
    sure: bool = False,
) -> list[Fault]:
    """Return all faults of a question; `where` of each fault is the name of the argument.

    Parameters
    ----------
    site : Site
    ask : collection of str
        Of `QUESTIONS`.
    bed_ids : collection of str, optional
    new_bed : NewBed, optional
    sure : bool
    """
    new_bed = new_bed or NewBed()
    faults = [("ask", text) for text in _ask_faults(ask)]
    questions = set() if faults else set(ask)
    if bed_ids is not None:
        faults += [("bed_ids", text) for text in bed_faults(bed_ids, [bed.id for bed in site.beds])]
        if questions and not questions & {"sun", "turn"}:
            faults.append(("bed_ids", "chooses beds for the questions sun and turn, and neither is asked"))
    if questions and "place" not in questions:
        faults += [(name, "is of a new bed, and the question place is not asked") for name in new_bed.named_fields()]
    if not isinstance(sure, (bool, np.bool_)):
        faults.append(("sure", f"it is {sure!r}, must be True or False"))
    elif sure and questions and "sun" not in questions:
        faults.append(("sure", "is about the map of the sun, and the question sun is not asked"))
    faults += _size_faults(new_bed)
    faults += [("shape", text) for text in _shape_faults(new_bed)]
    faults += [("months", text) for text in _month_faults(new_bed.months)]
    return [Fault("", where, text) for where, text in faults]


def _ask_faults(ask: Collection[str]) -> Iterator[str]:
    """Yield the faults of the names of the questions."""
    if _is_no_collection(ask):
        example = ask if ask in QUESTIONS else "sun"
        known = ", ".join(QUESTIONS)
        yield f'it is {ask!r}, must be a collection of questions, such as ["{example}"] (known: {known})'
        return
    for name in ask:
        if wrong := OneOf(QUESTIONS).fault(str(name), "question"):
            yield wrong


def bed_faults(bed_ids: Collection[str], known_ids: Collection[str]) -> Iterator[str]:
    """Yield the faults of a choice of beds; `known_ids` holds the ids of all beds."""
    if _is_no_collection(bed_ids):
        example = next(iter(known_ids), "north bed")
        yield f'it is {bed_ids!r}, must be a collection of ids of beds, such as ["{example}"]'
        return
    for bed in bed_ids:
        if bed not in known_ids:
            hint = nearest(str(bed), known_ids)
            advice = f'; did you mean "{hint}"?' if hint else ""
            yield f'there is no bed "{bed}"{advice} (beds: {", ".join(known_ids) or "none"})'


def _size_faults(new_bed: NewBed) -> Iterator[tuple[str, str]]:
    """Yield the faults of the sides, the count and the sizes, each with its argument."""
    for name, side in (("length", new_bed.length), ("width", new_bed.width)):
        if wrong := "" if side is None else BED_SIDE.fault(side, "it"):
            yield name, wrong
    if wrong := "" if new_bed.count is None else _COUNT.fault(new_bed.count, "it"):
        yield "count", wrong
    if new_bed.sizes is None:
        return
    if {"length", "width", "count"} & {*new_bed.named_fields()}:
        yield "sizes", "stands for length, width and count: leave those out"
    yield from (("sizes", text) for text in _sizes_faults(new_bed.sizes))


def _sizes_faults(sizes: Sequence[tuple[float, float]]) -> Iterator[str]:
    """Yield the faults of a list of sizes."""
    if _is_no_collection(sizes) or not 1 <= len(sizes) <= MOST_BEDS:
        yield f"it is {sizes!r}, must be 1 to {MOST_BEDS} pairs of length and width in m, such as [(2.4, 1.2)]"
        return
    for size in sizes:
        if _is_no_collection(size) or len(size) != 2:
            yield f"has {size!r}, must have pairs of length and width in m, such as (2.4, 1.2)"
        else:
            yield from (wrong for side in size if (wrong := BED_SIDE.fault(side, "a side")))


def _shape_faults(new_bed: NewBed) -> Iterator[str]:
    """Yield the faults of the outline of a bed that is no rectangle."""
    shape = new_bed.shape
    if shape is None:
        return
    if {"length", "width", "sizes"} & {*new_bed.named_fields()}:
        yield "has its own size: leave length, width and sizes out"
    if not isinstance(shape, Polygon) or shape.is_empty or not shape.is_valid or shape.interiors:
        yield "must be one simple Polygon without holes, such as an L or a keyhole"
        return
    if wrong := BED_SIDE.fault(longer_side(shape), "its longer side"):
        yield wrong


def _month_faults(months: Collection[int] | None) -> Iterator[str]:
    """Yield the faults of the months over which the sun is counted."""
    if months is None:
        return
    is_collection = not _is_no_collection(months) and len(months) > 0
    if not is_collection or not all(_is_whole(month) and 1 <= month <= 12 for month in months):
        yield f"it is {months!r}, must be a collection of months from 1 to 12, such as [4, 5, 6]"


def _is_no_collection(value: object) -> bool:
    """Return whether a value is a text, or is no collection."""
    return isinstance(value, str) or not isinstance(value, Collection)


def _is_whole(value: object) -> bool:
    return isinstance(value, Integral) and not isinstance(value, bool)
