"""The search behind a long wall at the equinox, where geometry says to the centimetre where the sun begins."""

from __future__ import annotations

import math

import pytest
from shapely import Point, box

from siteplan.land.features import Building, MonthDay, Tap
from siteplan.land.frame import LocalFrame
from siteplan.land.layers import Recipe
from siteplan.land.site import PlaceSettings, Season, Site, SunSettings
from siteplan.place.search.search import find_places
from siteplan.sun.bed_sun import bed_sun
from siteplan.sun.engine import sun_engine
from siteplan.sun.sun_maps import sun_maps

HEIGHT, SOIL, CELL = 2.5, 0.4, 0.25


def behind_a_wall(latitude: float) -> Site:
    """Return a yard 8 m by 5 m on the poleward side of a wall 400 m long; the tap stands at its foot."""
    side = 1 if latitude > 0 else -1
    wall = box(-200, -0.2, 200, 0.0) if side > 0 else box(-200, 0.0, 200, 0.2)
    yard = box(-4, 0.05, 4, 5) if side > 0 else box(-4, -5, 4, -0.05)
    return Site(
        name="Long Wall",
        frame=LocalFrame(longitude=0.0, latitude=latitude),
        timezone="UTC",
        boundary=yard,
        season=Season(last_frost=MonthDay(3, 20), first_frost=MonthDay(3, 20)),  # the equinox alone
        sun=SunSettings(year=2026, cell=CELL),
        place=PlaceSettings(length=2.4, width=1.2, height=SOIL, count=1),
        recipe=Recipe(layers=()),
        buildings=(Building(id="wall", outline=wall, height=HEIGHT),),
        taps=(Tap(id="tap", place=Point(0, 0.3 * side)),),
    )


@pytest.mark.parametrize("latitude", [40.0, -40.0])
def test_the_bed_goes_just_beyond_the_edge_of_the_shade(latitude):
    # At the equinox the sun's path lies in a plane: poleward of a long east-west wall the shadow's edge stays at
    # H tan(latitude) all day (geometry: 0.839 H at 40 degrees); above soil 0.4 m high at (H - 0.4) tan(latitude).
    # Nearer there is no direct sun at all, farther all of it, so that the search, drawn to the tap at the wall's foot,
    # must lay the whole bed beyond the edge, and no farther than it must.
    site = behind_a_wall(latitude)
    engine = sun_engine(site)
    found = find_places(site, sun_maps(site, engine), exact=lambda bed: bed_sun(site, bed, engine))
    place = found.places[0]
    nearest = min(abs(y) for _, y in place.outline.exterior.coords)
    edge = (HEIGHT - SOIL) * math.tan(math.radians(40.0))
    # 2 % for the sun's declination of up to 0.2 degrees that day and for refraction, as far as the low sun goes; the
    # middle of a bed comes to stand on a cell's centre, so a cell farther out at the most
    assert edge * 0.98 - 0.05 <= nearest <= edge * 1.02 + 2 * CELL
    assert place.worst_cell_sun_h >= 6.0  # common practice of the trade: six to eight hours
    assert place.season_sun_h >= 11.5  # all day: twelve hours but for a step at each end
    assert place.heading == 90.0  # along the wall, which the tie between headings leaves to what is square


def test_ground_nearer_than_the_edge_has_no_sun():
    # the same geometry on the ground: 0.80 H is in the shade all day, 0.88 H in the sun
    site = behind_a_wall(40.0)
    engine = sun_engine(site)
    hours = engine.hours([[0.0, 0.80 * HEIGHT, 0.0], [0.0, 0.88 * HEIGHT, 0.0]]).season_h
    # refraction lifts a sun below 5 degrees by 0.16 degrees and more, a twentieth of its height: it looks over the wall
    # for the first and the last 25 minutes, and is weighed in steps of 10
    assert hours[0] < 1.0
    assert hours[1] > 11.0
