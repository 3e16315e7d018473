"""How does the material get to the beds?

Routes from every pile that is used, where deliveries are tipped, whole loads with their minutes, the order of work.
It leaves out formulas: those stand in the modules beside it.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Collection, Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np
from scipy import ndimage

from siteplan.haul.delivery.heaps import lanes_of, place_heaps
from siteplan.haul.delivery.lorry import tipping_zones
from siteplan.haul.delivery.packaging import Part, delivered_parts, delivered_volumes, loose_volumes, tipping_for
from siteplan.haul.delivery.tipping import TippingSpot
from siteplan.haul.ground.standing_places import at_pile, what_bars
from siteplan.haul.guidelines import load_cautions, route_cautions, way_caution
from siteplan.haul.loads.crew import crew_choice
from siteplan.haul.loads.loads import supply_load
from siteplan.haul.loads.work_order import deliveries_of, order_of_work
from siteplan.haul.results import Barrier, GroundCost, HaulPlan, Heap, Load, Route, Run
from siteplan.haul.routes.bed_routes import Source, Ways
from siteplan.haul.routes.push_force import route_forces
from siteplan.land.cautions import Caution
from siteplan.land.features import Pile
from siteplan.land.grid import Floats, Grid
from siteplan.land.site import Site

if TYPE_CHECKING:
    from siteplan.fill.results import PurchaseLine, Supply

__all__ = ["Barrier", "GroundCost", "HaulPlan", "Load", "Route", "Run", "minutes_field", "plan_haul"]


def plan_haul(
    site: Site,
    supplies: Sequence[Supply],
    *,
    purchase: Sequence[PurchaseLine] = (),
    drop: str | None = None,
    grid: Grid | None = None,
    wet: bool | None = None,
    ways: Ways | None = None,
) -> HaulPlan:
    """Return how all supplies get to their beds.

    Parameters
    ----------
    site : Site
    supplies : sequence of Supply
        What goes from where into which bed; `at` is empty for what is delivered.
    purchase : sequence of PurchaseLine
        What is bought: what comes in bags is carried in bags, and needs no heap.
    drop : str, optional
        Id of the drop zone on which deliveries are tipped; the one with the least work when not given.
    grid : Grid, optional
        For the routes; one that is fine enough for the barrow when not given.
    wet : bool, optional
        Whether the ground is wet: the push is harder. As the site says when not given.
    ways : Ways, optional
        Over the site, where they are known already.

    Returns
    -------
    HaulPlan
        A supply to which there is no way has NaN minutes and a caution.

    Raises
    ------
    ValueError
        Where a supply names a bed or a pile that is not there.
    """
    _refuse_unknown(site, supplies, drop)
    ways = ways or Ways(site, grid=grid, wet=wet)
    parts = delivered_parts(supplies, purchase)
    sources = _pile_sources(ways, supplies)
    routes = _routes(ways, sources, [part.supply for part in parts if part.supply.at])
    lanes = lanes_of(site, [route for route in routes.values() if route is not None])
    spot = tipping_for(site, ways, parts, drop, lanes=lanes)
    if spot is not None:
        sources[""] = ways.source(spot.id, spot.cells)
        routes |= _routes(ways, {"": sources[""]}, [part.supply for part in parts if not part.supply.at])
    loads = tuple(
        _load(ways, part, sources[part.supply.at], routes[part.supply.at, part.supply.bed]) for part in parts
    )
    found = tuple(route for route in routes.values() if route is not None)
    heaps, crowded = _heaps(site, spot, parts, found)
    brought = [not part.supply.at for part in parts]
    runs = order_of_work(loads, [part.supply.order for part in parts], brought, site.labour, haul=site.haul)
    cautions = [*ways.ground.cautions, *(spot.cautions if spot else ()), *_way_cautions(ways, sources, routes, spot)]
    return HaulPlan(
        routes=found,
        loads=loads,
        total_minutes=sum(load.minutes for load in loads if math.isfinite(load.minutes)),
        drop=spot.id if spot else "",
        drop_place=spot.place if spot else None,
        heaps=heaps,
        order=runs,
        cautions=tuple(dict.fromkeys([*cautions, *crowded, *load_cautions(site, loads)])),
        deliveries=deliveries_of(runs, delivered_volumes(parts)),
        supplies=tuple(supplies),
    )


def _pile_sources(ways: Ways, supplies: Sequence[Supply]) -> dict[str, Source]:
    """Return the piles that are used, by their ids."""
    piles = {pile.id: pile for pile in ways.site.piles}
    used = dict.fromkeys(item.at for item in supplies if item.at)
    return ways.sources({name: at_pile(ways.ground, piles[name]) for name in used})


def _routes(
    ways: Ways, sources: Mapping[str, Source], supplies: Sequence[Supply]
) -> dict[tuple[str, str], Route | None]:
    """Return the route of each pair of place and bed."""
    pairs = list(dict.fromkeys((item.at, item.bed) for item in supplies))
    found = ways.routes([(sources[at], ways.site.bed(bed)) for at, bed in pairs])
    return dict(zip(pairs, found, strict=True))


def _heaps(
    site: Site, spot: TippingSpot | None, parts: Sequence[Part], routes: Sequence[Route]
) -> tuple[tuple[Heap, ...], list[Caution]]:
    volumes = loose_volumes(parts)
    if spot is None or not volumes:
        return (), []
    return place_heaps(site, spot.id, spot.zone, spot.place, volumes, routes=routes)


def _way_cautions(
    ways: Ways,
    sources: Mapping[str, Source],
    routes: Mapping[tuple[str, str], Route | None],
    spot: TippingSpot | None,
) -> list[Caution]:
    """Return what is to be said of each way, or of there being none."""
    site = ways.site
    shapes = {pile.id: pile.shape for pile in site.piles} | ({"": spot.place} if spot else {})
    cautions: list[Caution] = []
    for (at, bed), route in routes.items():
        if route is None:
            why = what_bars(site, ways.ground, shapes[at], site.bed(bed).outline, own=bed)
            cautions.append(way_caution(bed, sources[at].id, why))
        else:
            cautions += route_cautions(route, site.units)
    return cautions


def _refuse_unknown(site: Site, supplies: Sequence[Supply], drop: str | None) -> None:
    zones = [pile.id for pile in site.piles if pile.drop]
    if drop is not None and drop not in zones:
        raise ValueError(f"drop zone {drop!r} is not there; there are: {', '.join(sorted(zones)) or 'none'}")
    beds, piles = {bed.id for bed in site.beds}, {pile.id for pile in site.piles}
    for item in supplies:
        if item.bed not in beds:
            raise ValueError(f"supply of {item.material!r} goes to bed {item.bed!r}, which is not there")
        if item.at and item.at not in piles:
            raise ValueError(f"supply of {item.material!r} lies at pile {item.at!r}, which is not there")


def _load(ways: Ways, part: Part, source: Source, route: Route | None) -> Load:
    site, item = ways.site, part.supply
    load = supply_load(
        item,
        from_id=source.id,
        barrow=site.barrow,
        people=site.labour.people,
        material=site.materials.get(item.material),
        route=route,
        bag=part.bag,
        haul=site.haul,
        body_mass=site.labour.body_mass,
    )
    if route is None or load.trips == 0:
        return load
    keep, peak = route_forces(ways.router, route.line, mass=load.per_trip_mass, barrow=site.barrow.mass)
    load = dataclasses.replace(load, push_force=keep, peak_force=peak)
    crew = crew_choice(load, site.labour.people)
    if site.barrow.count < 2 or not crew.second_barrow_helps:
        return load
    return dataclasses.replace(load, minutes=crew.side_by_side, side_by_side=True)


def minutes_field(site: Site, grid: Grid, *, sources: Collection[str], without: Collection[str] = ()) -> Floats:
    """Return the minutes of one round trip from the nearest source to each cell, loaded out and empty back.

    Parameters
    ----------
    site : Site
    grid : Grid
        On which the answer is wanted; the routes have cells of their own.
    sources : collection of str
        Ids of piles. Where it is empty: all drop zones, else all piles, else where a lorry would tip.
    without : collection of str
        Ids of features thought away, as a bed that is to be moved.

    Returns
    -------
    ndarray, shape (rows, columns)
        Without shovelling and tipping; NaN where the barrow cannot get near. [min]

    Notes
    -----
    The barrow stands beside a bed: a cell on which it cannot stand itself, since a wall is near, has the minutes of
    the nearest that it can reach, as long as that is within the barrow's reach and a cell.
    """
    ways = Ways(site, without=without)
    found = [at_pile(ways.ground, pile) for pile in _sources(site, sources)]
    if not found:
        found = [at_pile(ways.ground, zone.pile) for zone in tipping_zones(site)]
    cells = np.vstack(found)
    if not len(cells):
        return np.full(grid.shape, np.nan)
    minutes = ways.source("", cells).round_trip / 60
    return _sampled(minutes, ways.ground, grid)


def _sources(site: Site, sources: Collection[str]) -> list[Pile]:
    known = {pile.id: pile for pile in site.piles}
    missing = sorted(set(sources) - set(known))
    if missing:
        raise ValueError(f"pile {missing[0]!r} is not there; there are: {', '.join(sorted(known)) or 'none'}")
    drops = [pile.id for pile in site.piles if pile.drop]
    return [known[pile_id] for pile_id in (sources or drops or known)]


def _sampled(minutes: Floats, ground: GroundCost, grid: Grid) -> Floats:
    """Return a map of the routes' cells on other cells, each with its nearest value within reach, else NaN."""
    fine = ground.grid
    reach = max((barrier.reach for barrier in ground.barriers), default=0.0) + max(grid.cell, fine.cell)
    known = np.isfinite(minutes)
    if not known.any():
        return np.full(grid.shape, np.nan)
    far, nearest = ndimage.distance_transform_edt(~known, sampling=fine.cell, return_indices=True)
    filled = np.where(far <= reach, minutes[nearest[0], nearest[1]], np.nan)
    rows = np.floor((fine.north - grid.y) / fine.cell).astype(int)
    columns = np.floor((grid.x - fine.west) / fine.cell).astype(int)
    inside = ((rows >= 0) & (rows < fine.rows))[:, None] & ((columns >= 0) & (columns < fine.columns))[None, :]
    at = np.ix_(np.clip(rows, 0, fine.rows - 1), np.clip(columns, 0, fine.columns - 1))
    return np.where(inside, filled[at], np.nan)
