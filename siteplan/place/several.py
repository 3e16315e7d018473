"""Where should beds of several sizes go?

The largest first, each then stands in the way of the next and keeps its aisle; each by the whole search.
It leaves out a proof that no other order does better: the gap is stated for beds of one size only.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Sequence
from typing import Any

from siteplan.land.features import Bed
from siteplan.land.site import Site
from siteplan.place.result import PlaceResult
from siteplan.place.search import find_places
from siteplan.sun.beds import BedSun
from siteplan.sun.maps import SunMaps


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
        The sun on a bed; that the new beds shade each other is left out.
    **options
        As `find_places` takes them, but for length, width and count.

    Returns
    -------
    tuple of PlaceResult
        In the order of `sizes`; one without places where that bed does not fit beside the larger ones.
    """
    order = sorted(range(len(sizes)), key=lambda k: (-sizes[k][0] * sizes[k][1], k))
    ignored = options.pop("ignore", None)
    ignore = {bed.id for bed in site.beds if bed.proposed} if ignored is None else set(ignored)
    answers: dict[int, PlaceResult] = {}
    standing = site
    for number in order:
        length, width = sizes[number]
        found = find_places(
            standing, maps, length=length, width=width, count=1, exact=exact, ignore=ignore, **options
        )
        answers[number] = found
        for place in found.places:
            bed = Bed(id=_free_id(standing, f"new bed {number + 1}"), outline=place.outline, height=site.place.height)
            standing = dataclasses.replace(standing, beds=(*standing.beds, bed))
    return tuple(answers[number] for number in range(len(sizes)))


def _free_id(site: Site, name: str) -> str:
    """Return a name that nothing on the site has."""
    taken = {feature.id for feature in site.features()}
    while name in taken:
        name += "+"
    return name
