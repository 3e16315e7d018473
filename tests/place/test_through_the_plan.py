"""Places through the whole plan: in the south, beyond the polar circle, with rows, and where nothing fits."""

from __future__ import annotations

import dataclasses
import json

import numpy as np
import pytest
from shapely import LineString, Point, Polygon, affinity, box

from siteplan.files.constant_tables import read_crops
from siteplan.land.features import Building, Door, Fence, Keepout, MonthDay
from siteplan.land.frame import LocalFrame
from siteplan.land.site import PlaceSettings, Season, SunSettings
from siteplan.plan import plan_site
from siteplan.say.place_reasons import result_sentences
from siteplan.show.map.site_map import site_map
from siteplan.show.sheet.work_sheet import report_html
from siteplan.show.tables.document import plan_document
from siteplan.show.terminal import print_plan
from siteplan.sun.bed_sun import bed_sun
from siteplan.sun.engine import sun_engine

PLACE = PlaceSettings(length=2.4, width=1.2, height=0.45, count=2)
NORTH = Season(last_frost=MonthDay(4, 15), first_frost=MonthDay(10, 20))
SOUTH = Season(last_frost=MonthDay(10, 15), first_frost=MonthDay(4, 20))


def at(tiny_yard, latitude, season, **parts):
    return dataclasses.replace(
        tiny_yard,
        frame=LocalFrame(longitude=8.0, latitude=latitude),
        season=season,
        sun=SunSettings(year=2026, cell=0.5, step=0.5),
        place=PLACE,
        crops=read_crops(),
        **parts,
    )


def upside_down(shape):
    """Return a shape mirrored at the east-west axis."""
    return affinity.scale(shape, 1, -1, origin=(0, 0))


@pytest.fixture(scope="module")
def bare_pair(tiny_yard):
    """Return plans of a yard with a wall on its equator side, in the north, and mirrored in the south."""
    wall = Fence(id="wall", line=LineString([(-6, -4.5), (6, -4.5)]), height=2.5)
    proposed = tuple(dataclasses.replace(bed, outline=bed.outline) for bed in tiny_yard.beds if bed.proposed)
    nothing = {"buildings": (), "trees": (), "hedges": (), "gates": (), "surfaces": (), "taps": ()}
    north = at(tiny_yard, 45.0, NORTH, fences=(wall,), beds=proposed, **nothing)
    flipped = tuple(dataclasses.replace(bed, outline=upside_down(bed.outline)) for bed in proposed)
    south = at(
        tiny_yard,
        -45.0,
        SOUTH,
        fences=(dataclasses.replace(wall, line=upside_down(wall.line)),),
        beds=flipped,
        **nothing,
    )
    south = dataclasses.replace(
        south,
        boundary=upside_down(south.boundary),
        piles=tuple(dataclasses.replace(pile, shape=upside_down(pile.shape)) for pile in south.piles),
    )
    ask = ("sun", "place", "turn")
    return plan_site(north, ask=ask), plan_site(south, ask=ask)


def test_in_the_south_all_of_it_turns_round(bare_pair):
    north, south = bare_pair
    for plan, side, noon in ((north, "north", "south"), (south, "south", "north")):
        assert f"its trellis stands along the {side} side, so that the noon sun from the {noon}" in " ".join(
            plan.why(1)
        )
    # the sun of the two is alike but for the seasons, which are no mirror images to the day, and the earth's path
    one, other = north.beds[0], south.beds[0]
    assert one.sun.season_sun_h == pytest.approx(other.sun.season_sun_h, abs=0.3)
    assert north.places.places[0].merit == pytest.approx(south.places.places[0].merit, abs=0.05)
    gains = {step.direction: step.gain_h for step in one.shifts.steps}
    mirrored = {step.direction: step.gain_h for step in other.shifts.steps}
    for here, there in (("north", "south"), ("south", "north"), ("east", "east"), ("northwest", "southwest")):
        assert gains[here] == pytest.approx(mirrored[there], abs=0.25)
    assert gains["north"] >= gains["south"] - 0.05  # away from the wall


@pytest.mark.parametrize("latitude", [69.0, pytest.param(-69.0, marks=pytest.mark.slow)])
def test_beyond_the_polar_circle_everything_answers(tiny_yard, latitude):
    site = at(tiny_yard, latitude, NORTH if latitude > 0 else SOUTH)
    plan = plan_site(site)
    assert plan.places.places
    dark = 11 if latitude > 0 else 5
    for report in plan.beds:
        assert np.isfinite(report.headings.month_h).all()
        assert report.sun.month_sun_h[dark] == pytest.approx(0.0, abs=0.3)  # the polar night, or nearly
        assert 0 <= (report.headings.orientation_score or 0) <= 100
    json.dumps(plan_document(plan), allow_nan=False)
    assert "Place 1" in site_map(plan).get_root().render()


def test_where_nothing_fits_terminal_and_pages_say_why(tiny_yard, capsys):
    field = Keepout(id="drain field", outline=box(-5, -4, 5, 4), reason="septic field", setback=1.0)
    plan = plan_site(at(tiny_yard, 45.0, NORTH, keepouts=(field,)), ask=("sun", "place", "turn"))
    assert plan.places.places == ()
    print_plan(plan, command="place", written=[])
    said = " ".join(capsys.readouterr().out.split())
    pages = (said, site_map(plan).get_root().render(), report_html(plan))
    for page in pages:
        assert "o bed of 2.40 m by 1.20 m fits anywhere on this property" in page
        assert "drain field (septic field)" in page
        assert "he one change that would open the most ground" in page


def test_hours_of_several_places_are_those_with_all_of_them_standing(tiny_yard):
    # asked again from scratch: the property with the other place as a bed on it
    site = at(tiny_yard, 45.0, NORTH)
    plan = plan_site(site, ask=("place",))
    first, second = plan.places.places
    pattern = site.bed("new bed")
    kept = tuple(bed for bed in site.beds if not bed.proposed)
    other = dataclasses.replace(pattern, id="other", outline=second.outline)
    mine = dataclasses.replace(pattern, id="mine", outline=first.outline)
    standing = dataclasses.replace(site, beds=(*kept, other))
    answer = bed_sun(standing, mine, sun_engine(standing))
    assert first.season_sun_h == pytest.approx(answer.season_sun_h, abs=1e-6)  # the same lookup
    assert first.crops
    assert any(
        "throw on each other" in line or "hardly shade" in line for line in result_sentences(plan.places, "metric")
    )


def test_the_way_to_the_tap_is_walked(tiny_yard):
    # a fence across the yard with a gate in the far west: what lies behind it is farther than in a straight line
    fence = Fence(id="divide", line=LineString([(-6, 0.2), (6, 0.2)]), height=1.2)
    site = at(tiny_yard, 45.0, NORTH, fences=(fence,), gates=(), doors=(Door(id="door", place=Point(3.0, -4.6)),))
    plan = plan_site(site, ask=("place",), count=1)
    (place,) = plan.places.places
    tap = site.taps[0].place
    assert place.water_m >= tap.distance(Point(place.x, place.y)) - 0.4  # cells of 25 cm at both ends
    assert "on foot" in " ".join(plan.why(1))
    assert "to walk from the door" in " ".join(plan.why(1))


def test_a_shape_is_placed_whole(tiny_yard):
    ell = Polygon([(0, 0), (2.4, 0), (2.4, 0.8), (0.8, 0.8), (0.8, 2.4), (0, 2.4)])
    plan = plan_site(at(tiny_yard, 45.0, NORTH), ask=("place",), shape=ell, count=1)
    (place,) = plan.places.places
    assert place.outline.area == pytest.approx(ell.area)
    assert len(place.outline.exterior.coords) == 7


def test_a_shed_is_named_where_a_place_lies_beside_it(tiny_yard):
    site = at(tiny_yard, 45.0, NORTH, buildings=(Building(id="red shed", outline=box(-2, -1, 0, 1), height=2.2),))
    plan = plan_site(site, ask=("place",), count=1)
    assert any(sentence.startswith("it lies ") for sentence in plan.why(1))


def test_a_bed_still_to_be_placed_does_not_shade_its_own_search(tiny_yard):
    # wherever the proposed bed stands drawn, with its trellis 1.8 m high, the search sees the same ground
    here = at(tiny_yard, 45.0, NORTH)
    coarse = dataclasses.replace(here, sun=SunSettings(year=2026, cell=1.0, step=1.0))
    proposed = next(bed for bed in coarse.beds if bed.proposed)
    rest = tuple(bed for bed in coarse.beds if not bed.proposed)
    moved = dataclasses.replace(proposed, outline=affinity.translate(proposed.outline, -2.5, -1.5))
    found = [
        plan_site(dataclasses.replace(coarse, beds=(*rest, bed)), ask=("sun", "place")) for bed in (proposed, moved)
    ]
    merits = [plan.places.merit_map for plan in found]
    assert np.isfinite(merits[0]).sum() > 10
    np.testing.assert_allclose(merits[0], merits[1], atol=1e-6)  # single precision
    assert not np.allclose(found[0].maps.season_h, found[1].maps.season_h, equal_nan=True)  # drawn it does shade
