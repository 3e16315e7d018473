"""Where should beds of several sizes go?

The largest bed is placed first; it is then an obstacle, with its aisle, for the next. Each bed gets a whole search.
Other orders are not tried: the spot that each bed would get alone gives a bound on what they could gain.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Sequence
from typing import Any

from siteplan.land.features import Bed
from siteplan.land.findings import Finding
from siteplan.land.site import Site
from siteplan.place.search.search import find_places
from siteplan.place.search.search_results import PlaceResult
from siteplan.sun.bed_sun import BedSun
from siteplan.sun.sun_maps import SunMaps


def find_several(
    site: Site,
    maps: SunMaps,
    sizes: Sequence[tuple[float, float]],
    *,
    exact: Callable[[Bed], BedSun] | None = None,
    **options: Any,
) -> tuple[PlaceResult, ...]:
    """Return a spot for a bed of each size.

    Parameters
    ----------
    site : Site
    maps : SunMaps
    sizes : sequence of (float, float)
        Length and width of each bed. [m]
    exact : callable or None
        Returns the sun on a bed; the new beds do not shade each other in it.
    **options
        Those of `find_places`, except length, width and count.

    Returns
    -------
    tuple of PlaceResult
        In the order of `sizes`; without places for a bed that does not fit beside the larger ones.
    """
    order = sorted(range(len(sizes)), key=lambda k: (-sizes[k][0] * sizes[k][1], k))
    ignored = options.pop("ignore", None)
    ignore = {bed.id for bed in site.beds if bed.proposed} if ignored is None else set(ignored)
    answers: dict[int, PlaceResult] = {}
    standing = site
    for number in order:
        length, width = sizes[number]
        result = find_places(
            standing, maps, length=length, width=width, count=1, exact=exact, ignore=ignore, **options
        )
        answers[number] = result
        for place in result.places:
            bed = Bed(id=_free_id(standing, f"new bed {number + 1}"), outline=place.outline, height=site.place.height)
            standing = dataclasses.replace(standing, beds=(*standing.beds, bed))
    return tuple(answers[number] for number in range(len(sizes)))


def places_of_sizes(
    site: Site,
    maps: SunMaps,
    sizes: Sequence[tuple[float, float]],
    *,
    exact: Callable[[Bed], BedSun] | None = None,
    **options: Any,
) -> PlaceResult:
    """Return a spot for a bed of each size as one answer, with a bound on what another choice could gain.

    Parameters
    ----------
    site, maps, sizes, exact, **options
        As for `find_several`.

    Returns
    -------
    PlaceResult
        Places in the order of `sizes`, of the beds that fit; maps, limits and trade-off are those of the largest bed.

    Notes
    -----
    No choice gives a bed more merit than the best spot for it alone. So the gap of the whole is at most the mean of
    what the beds lose against their best spots, if the searches for those are exact (see `search_gap`).
    """
    cached = _cached(exact) if exact is not None else None
    answers = find_several(site, maps, sizes, exact=cached, **options)
    largest = max(range(len(sizes)), key=lambda k: (sizes[k][0] * sizes[k][1], -k))
    alone: dict[tuple[float, float], PlaceResult] = {sizes[largest]: answers[largest]}
    losses = []
    for size, answer in zip(sizes, answers, strict=True):
        if answer.places and size not in alone:
            alone[size] = find_places(site, maps, length=size[0], width=size[1], count=1, exact=cached, **options)
        if answer.places:
            losses.append(alone[size].places[0].merit - answer.places[0].merit)
    gap = max(0.0, sum(losses) / len(losses)) if losses else 0.0
    placed = [number for number, answer in enumerate(answers) if answer.places]
    ranks = {number: rank for rank, number in enumerate(placed, start=1)}
    return dataclasses.replace(
        answers[largest],
        places=tuple(dataclasses.replace(answers[number].places[0], rank=rank) for number, rank in ranks.items()),
        trade_off=tuple(
            dataclasses.replace(choice, rank=ranks[largest] if choice.first else 0)
            for choice in answers[largest].trade_off
        ),
        scanned=sum(answer.scanned for answer in answers),
        free=sum(answer.free for answer in answers),
        computed=sum(answer.computed for answer in answers),
        gap=gap,
        search_gap=max(answer.search_gap for answer in answers),
        findings=_findings(sizes, answers),
    )


def _cached(exact: Callable[[Bed], BedSun]) -> Callable[[Bed], BedSun]:
    """Return the same function with a cache by outline."""
    suns: dict[bytes, BedSun] = {}

    def computed(bed: Bed) -> BedSun:
        if bed.outline.wkb not in suns:
            suns[bed.outline.wkb] = exact(bed)
        return suns[bed.outline.wkb]

    return computed


def _findings(sizes: Sequence[tuple[float, float]], answers: Sequence[PlaceResult]) -> tuple[Finding, ...]:
    """Return the findings of all answers without repeats; those of beds that do not fit carry the bed's number."""
    findings = [
        item if answer.places or len(sizes) == 1 else dataclasses.replace(item, feature=str(number))
        for number, answer in enumerate(answers, start=1)
        for item in answer.findings
    ]
    return tuple(item for number, item in enumerate(findings) if item not in findings[:number])


def _free_id(site: Site, name: str) -> str:
    """Return a name as an id, with plus signs added until no feature of the site has it."""
    ids = {feature.id for feature in site.features()}
    while name in ids:
        name += "+"
    return name
