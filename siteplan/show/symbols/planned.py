"""How are beds, places, forbidden ground, heaps and barrow runs drawn?

Each becomes drawn items, with the text shown under the pointer and the card to open.
See `siteplan.show.symbols.property` for the property as it is now.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, Point
from shapely.geometry.base import BaseGeometry

from siteplan.haul.haul_results import Load, Route
from siteplan.land.grid import Grid
from siteplan.land.site import Site
from siteplan.land.units import System, length_text, volume_text
from siteplan.say.figures import hours_text, plural, time_text
from siteplan.say.hauling import numbers_text
from siteplan.say.place_limits import limit_text
from siteplan.show.symbols.shapes import arrow_marks, drawn

if TYPE_CHECKING:
    from siteplan.place.limits.limits import Limit
    from siteplan.records import Answers

Item = dict[str, Any]

LONGEST_BADGE = 9  # characters


@dataclass(frozen=True)
class NumberedRoute:
    """A route, its number in the order of first use, and the runs that go along it."""

    number: int
    route: Route
    loads: tuple[Load, ...]
    runs: tuple[int, ...] = ()

    @property
    def label(self) -> str:
        """The numbers of its runs in the order of work; the route's own number if it has no runs."""
        return numbers_text(self.runs) or str(self.number)

    @property
    def badge(self) -> str:
        """The label, shortened to fit the disc on the map."""
        return self.label if len(self.label) <= LONGEST_BADGE else f"{self.runs[0]} …"

    @property
    def trips(self) -> int:
        """Number of loads along the route."""
        return sum(load.trips for load in self.loads)

    @property
    def minutes(self) -> float:
        """Time that all its runs take. [min]"""
        return sum(load.minutes for load in self.loads)


def numbered_routes(plan: Answers) -> tuple[NumberedRoute, ...]:
    """Return the routes in the order of their first use."""
    if plan.haul is None:
        return ()
    first_runs: dict[tuple[str, str], int] = {}
    for run in plan.haul.order:
        first_runs.setdefault((run.from_id, run.bed), run.number)
    after_all = len(plan.haul.order) + 1
    ordered = sorted(plan.haul.routes, key=lambda route: first_runs.get((route.from_id, route.to_id), after_all))
    return tuple(
        NumberedRoute(
            number,
            route,
            tuple(load for load in plan.haul.loads if (load.from_id, load.bed) == (route.from_id, route.to_id)),
            tuple(run.number for run in plan.haul.order if (run.from_id, run.bed) == (route.from_id, route.to_id)),
        )
        for number, route in enumerate(ordered, start=1)
    )


def bed_items(plan: Answers) -> list[Item]:
    """Return the beds: outline, inner edge of the walls, and both edges of the walls of higher frames."""
    suns = {report.bed.id: report.sun for report in plan.beds}
    items: list[Item] = []
    for number, bed in enumerate(plan.site.beds):
        sun = suns.get(bed.id)
        words = [bed.id]
        if sun is not None:
            words.append(f"{hours_text(sun.season_sun_h)} of sun a day in the season, {sun.light_class}")
        kind = "bed-proposed" if bed.proposed else "bed"
        items.append({"k": kind, **drawn(bed.outline), "t": words, "card": f"bed-{number}", "label": bed.id})
        for frame in bed.frames:
            walls = (frame.outline, frame.inside) if frame.number > 1 else (frame.inside,)
            items += [{"k": "bed-inside", **drawn(edge)} for edge in walls if not edge.is_empty]
    return items


def place_items(plan: Answers) -> list[Item]:
    """Return the places found, best first."""
    if plan.places is None:
        return []
    return [
        {
            "k": "place",
            **drawn(place.outline),
            "t": [f"Place {place.rank}", f"{hours_text(place.season_sun_h)} of sun a day in the season"],
            "card": f"place-{place.rank}",
            "badge": str(place.rank),
        }
        for place in plan.places.places
    ]


def forbidden_cells(limits: Iterable[Limit], grid: Grid, units: System) -> tuple[NDArray[np.uint16], list[str]]:
    """Return a map of which reason forbids each cell (0 for none, else 1 + its index), and the list of reasons."""
    cells = np.zeros(grid.shape, dtype=np.uint16)
    reasons: list[str] = []
    for limit in limits:
        window, is_barred = limit.part
        not_yet_forbidden = is_barred & (cells[window] == 0)
        if not not_yet_forbidden.any():
            continue
        reason = limit_text(limit, units)
        if reason not in reasons:
            reasons.append(reason)
        cells[window][not_yet_forbidden] = reasons.index(reason) + 1
    return cells, reasons


def pile_items(plan: Answers) -> list[Item]:
    """Return the piles with their contents, and the heaps of delivered material."""
    site = plan.site
    items: list[Item] = []
    for number, pile in enumerate(site.piles):
        words = [pile.id, *pile_words(plan, pile.id)]
        kind = "drop" if pile.drop else "pile"
        card = {"card": f"pile-{number}"}
        items.append({"k": kind, **drawn(pile.shape), "t": words, **card, "label": pile.id})
    if plan.haul is not None:
        for heap in plan.haul.heaps:
            volume = volume_text(heap.volume, site.units)
            words = [f"heap of {heap.material}", f"{volume}, {length_text(heap.height, site.units)} high"]
            if heap.length > 0:
                items.append({"k": "heap", **drawn(heap.outline), "t": words})
            else:
                items.append({"k": "heap", **drawn(heap.centre), "r": round(heap.radius, 3), "t": words})
        if plan.haul.drop_place is not None and not plan.haul.heaps:
            items.append({"k": "heap", **drawn(plan.haul.drop_place), "r": 0.6, "t": ["Deliveries are tipped here"]})
    return items


def pile_words(plan: Answers, pile_id: str) -> list[str]:
    """Return text on what a pile holds, and on whether deliveries are tipped there."""
    site = plan.site
    words = [
        f"{stock.material}: {volume_text(stock.volume, site.units)}" for stock in site.stock if stock.at == pile_id
    ]
    if plan.haul is not None and plan.haul.drop == pile_id:
        words.append("deliveries are tipped here")
    return words or ["nothing on hand"]


def route_items(plan: Answers, *, clear: Sequence[Point] = ()) -> list[Item]:
    """Return the runs: each a line, with arrows along it and a number.

    Parameters
    ----------
    plan : Answers
    clear : sequence of Point
        Points that numbers keep clear of, as they do of taps and doors. [m]
    """
    units = plan.site.units
    items: list[Item] = []
    marks = [*clear, *(tap.place for tap in plan.site.taps), *(door.place for door in plan.site.doors)]
    letter = _letter(plan.site)
    keep_clear = [
        *(mark.buffer(2 * letter) for mark in marks),
        *(bed.outline.buffer(letter) for bed in plan.site.beds),
    ]
    obstacles = _Busy([*_names(plan.site), *keep_clear])
    for numbered in numbered_routes(plan):
        route = numbered.route
        badge_place = _badge_place(route.line, obstacles)
        obstacles.add(badge_place.buffer(letter))
        words = [
            f"{'Run' if len(numbered.runs) < 2 else 'Runs'} {numbered.label}: {route.from_id} to {route.to_id}",
            f"{length_text(route.length_m, units)}, climbs {length_text(route.climb_m, units)}",
            f"{plural(numbered.trips, 'trip')}, {time_text(numbered.minutes)}",
        ]
        items.append(
            {
                "k": "route",
                **drawn(route.line),
                "t": words,
                "card": f"run-{numbered.number}",
                "badge": numbered.badge,
                "at": [round(badge_place.x, 3), round(badge_place.y, 3)],
                "arrows": arrow_marks(route.line, every=4.0),
            },
        )
    return items


class _Busy:
    """The shapes that numbers keep away from: those known at first, in a spatial index, and those added later."""

    def __init__(self, shapes: Sequence[BaseGeometry]) -> None:
        self._first = shapely.STRtree(shapes)
        self._added: list[BaseGeometry] = []

    def add(self, shape: BaseGeometry) -> None:
        """Add a shape."""
        self._added.append(shape)

    def away(self, points: NDArray[np.object_]) -> NDArray[np.float64]:
        """Return the distance of each point to the nearest shape, shape (n,). [m]"""
        distance = np.full(len(points), np.inf)
        if len(self._first.geometries):
            _, nearest = self._first.query_nearest(points, return_distance=True, all_matches=False)
            distance = nearest
        for shape in self._added:
            distance = np.minimum(distance, shapely.distance(points, shape))
        return distance


def _badge_place(line: LineString, busy: _Busy) -> Point:
    """Return where a run's number goes: about a third of the way along, or where it is farther from other text."""
    spots = shapely.line_interpolate_point(line, (0.35, 0.5, 0.65, 0.25, 0.75, 0.15, 0.85), normalized=True)
    start = shapely.line_interpolate_point(line, 0)
    room = np.minimum(np.minimum(busy.away(spots), shapely.distance(spots, start)), line.length)
    return Point(spots[int(np.argmax(room >= 0.8 * room.max()))])


def _names(site: Site) -> list[BaseGeometry]:
    """Return rough boxes of the names under beds and piles, as they are when the whole site is in view."""
    letter = _letter(site)
    names_and_shapes = [(bed.id, bed.outline) for bed in site.beds] + [(pile.id, pile.shape) for pile in site.piles]
    boxes: list[BaseGeometry] = []
    for name, shape in names_and_shapes:
        west, south, east, _ = shape.bounds
        middle, half = (west + east) / 2, 0.35 * letter * min(len(name), 22)
        boxes.append(shapely.box(middle - half, south - 2 * letter, middle + half, south))
    return boxes


def _letter(site: Site) -> float:
    """Return the rough height of a letter when the whole site is in view. [m]"""
    west, south, east, north = site_extent(site)
    return max(east - west, north - south) / 60


def site_extent(site: Site, *, margin: float = 0.06) -> list[float]:
    """Return west, south, east and north of the boundary, widened by a margin (a share of its longer side). [m]"""
    west, south, east, north = site.boundary.bounds
    margin *= max(east - west, north - south)
    return [round(edge, 3) for edge in (west - margin, south - margin, east + margin, north + margin)]
