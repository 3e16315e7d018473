"""The search: by hand, against trying everything, mirrored, and where nothing fits."""

from __future__ import annotations

import dataclasses
import itertools

import numpy as np
import pytest
import shapely
from shapely import LineString, Point, Polygon, box

from siteplan.land.features import Bed, Building, Door, Fence, Keepout, Tap, Tree
from siteplan.land.grid import grid_over
from siteplan.land.outline import rectangle
from siteplan.land.site import PlaceSettings
from siteplan.land.terrain import Terrain
from siteplan.place.limits.limits import fit_check, limits
from siteplan.place.merit.merit import Weights
from siteplan.place.search import selection
from siteplan.place.search.search import find_places
from siteplan.say.place_reasons import result_sentences, why

SUN_ONLY = Weights(wheeling=0, water=0, beyond_hose=0, door=0)


def test_a_ramp_of_sun_puts_the_bed_at_its_top(yard, maps_from, sun_of):
    # sun grows eastward by 0.2 h/m from 5 h; a bed 2 m by 1 m lies best with its long side north to south, its
    # middle as far east as the setback of 0.3 m and half its width allow: 10 - 0.3 - 0.5 = 9.2, so the cell at 9.0
    site = yard(cell=0.25)

    def field(x, y):
        return 5 + 0.2 * x + 0 * y

    found = find_places(site, maps_from(site, field), exact=sun_of(site, field))
    place = found.places[0]
    assert (place.x, place.heading) == (9.125, 0.0)
    assert place.season_sun_h == pytest.approx(field(9.125, 0))
    assert place.worst_cell_sun_h == pytest.approx(field(9.125 - 0.4, 0))  # the made-up sun's points lie 0.4 m out
    assert place.exact
    assert place.outline.equals(rectangle(place.x, place.y, length=2, width=1, heading=0))
    assert place.merit == pytest.approx((0.5 * field(9.125, 0) + 0.5 * field(8.725, 0)) / 8)
    assert found.computed >= 1
    assert found.gap == 0.0  # one alone keeps nobody out
    assert why(place, found, "metric")[0] == "6.8 h of sun a day over the season, 6.7 h at its darkest spot"


def test_beyond_plenty_the_nearer_spot_wins(yard, maps_from):
    # more than 8 h everywhere: the tap in the southwest corner decides, and the bed comes as near as it may
    site = yard(taps=(Tap(id="tap", place=Point(0.2, 0.2)),), cell=0.25)
    found = find_places(site, maps_from(site, lambda x, y: 9 + 0.1 * x + 0 * y))
    place = found.places[0]
    assert found.computed == 0  # the map alone
    assert np.hypot(place.x - 0.2, place.y - 0.2) < 1.5  # 0.3 m of setback and half the bed, to the next cell
    assert place.merit == pytest.approx(1 - 0.010 * place.water_m / 8)
    assert "from the nearest tap in a straight line" in " ".join(why(place, found, "metric"))


def test_wheeling_is_weighed_against_sun(yard, maps_from):
    # 0.01 h/m more sun eastward, 1 min a trip more for each metre: a bed of 0.8 m3 takes 10 loads of 80 kg, so
    # a metre costs 10 min, which are worth 0.083 h: the west wins; without the weight the east
    site = yard(cell=0.25)
    maps = maps_from(site, lambda x, y: 6 + 0.01 * x + 0 * y)
    minutes = np.broadcast_to(maps.grid.x, maps.grid.shape).copy()
    west = find_places(site, maps, minutes=minutes).places[0]
    assert west.outline.bounds[0] < 0.7
    assert find_places(site, maps, minutes=minutes, weights=SUN_ONLY).places[0].x > 8.5
    assert west.minutes == pytest.approx(1.25)  # ten trips to the westernmost cell, 0.125 m from the edge


def random_yard(yard, seed):
    """Return a small yard of random clutter with a made-up sun on the ground and another at the soil."""
    random = np.random.default_rng(seed)
    corners = np.array([[0, 0], [8, 0.5], [7.5, 6], [0.5, 6.5]]) + random.uniform(-0.4, 0.4, (4, 2))
    shed = rectangle(*random.uniform(1, 6, 2), length=2, width=1.2, heading=float(random.uniform(0, 180)))
    trunk = Point(*random.uniform(0, 7, 2))
    site = yard(
        Polygon(corners),
        cell=0.5,
        buildings=(Building(id="shed", outline=shed, height=2.2),),
        trees=(
            Tree(id="elder", outline=trunk.buffer(0.8), trunk=trunk, height=3, crown_base=1, trunk_diameter=0.08),
        ),
        taps=(Tap(id="tap", place=Point(*random.uniform(0, 6, 2)), hose_length=3.0),),
        doors=(Door(id="door", place=Point(*random.uniform(0, 6, 2))),),
    )
    sway = random.uniform(0, 6, 4)

    def ground(x, y):
        return 5.5 + 1.5 * np.sin(0.9 * x + sway[0]) * np.cos(0.7 * y + sway[1]) + 0.1 * x

    def soil(x, y):  # higher up it is lighter, by up to 0.7 h, in another pattern
        return ground(x, y) + 0.35 * (1 + np.sin(0.5 * x + sway[2]) * np.sin(0.6 * y + sway[3]))

    return site, ground, soil


def exact_merits(site, grid, sun_at):
    """Return the best of 36 headings on each cell where one fits, asked exactly; written out anew."""
    fits = fit_check(limits(site, grid, width=1.0))
    tap, door = site.taps[0], site.doors[0]
    found = []
    for x, y in grid.centres():
        here = []
        for heading in range(0, 180, 5):
            outline = rectangle(x, y, length=2.0, width=1.0, heading=heading)
            if fits(outline) is None:
                cells = sun_at(Bed(id="any", outline=outline, height=0.4)).cell_season_h
                sun = 0.5 * np.minimum(cells, 8).mean() + 0.5 * min(cells.min(), 8)
                hose = tap.place.distance(Point(x, y))
                cost = 0.010 * hose + 0.020 * max(hose - 3.0, 0) + 0.005 * door.place.distance(Point(x, y))
                here.append(((sun - cost) / 8, heading, outline))
        if here:
            found.append(max(here, key=lambda one: one[:2]))
    return found


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_trying_everything_finds_nothing_better(yard, maps_from, sun_of, seed):
    site, ground, soil = random_yard(yard, seed)
    sun_at = sun_of(site, soil)
    found = find_places(site, maps_from(site, ground), exact=sun_at)
    best = max(merit for merit, *_ in exact_merits(site, found.grid, sun_at))
    # a tie of 0.05 h for a bed that lies square is 0.006 of merit, and the search stops within 0.0015 of its promise
    assert found.places[0].merit >= best - 0.01
    assert found.places[0].merit <= best + 0.01  # 36 headings hold the best to within a breath
    assert found.computed < 0.05 * found.scanned


def test_crops_that_want_no_sun_have_a_place_too(yard, maps_from, sun_of):
    """Sun is worth next to nothing to them, so the way to the tap decides: the bed lies beside it, in the shade."""
    site = yard(taps=(Tap(id="tap", place=Point(1, 1)),))

    def field(x, y):
        return 1 + 7 * (x > 5)

    def found(need):
        like = Bed(id="b", outline=rectangle(0, 0, length=2, width=1, heading=90), height=0.4, need=need)
        return find_places(site, maps_from(site, field), exact=sun_of(site, field), like=like)

    assert found(0.0).plenty == 0.25
    assert found(0.0).places[0].outline.distance(Point(1, 1)) < 1
    assert found(6.0).places[0].outline.bounds[0] > 4


def test_a_peak_that_the_map_does_not_show_is_climbed(yard, maps_from, sun_of):
    # the map is even, so it tells nothing; the exact sun has a hill of 1.5 h about (7.3, 2.6): what was asked first,
    # spread over the yard, only points towards it. On top of it a bed gets what it gets there, to a cell and 5 degrees.
    site = yard(cell=0.25)

    def hill(x, y):
        return 6 + 1.5 * np.exp(-((x - 7.3) ** 2 + (y - 2.6) ** 2) / 3)

    sun_at = sun_of(site, hill)
    found = find_places(site, maps_from(site, lambda x, y: 6 + 0 * x + 0 * y), exact=sun_at)
    cells = sun_at(Bed(id="any", outline=rectangle(7.3, 2.6, length=2, width=1, heading=0), height=0.4)).cell_season_h
    best = (0.5 * cells.mean() + 0.5 * cells.min()) / 8
    place = found.places[0]
    assert best - 0.006 <= place.merit <= best + 1e-9  # 0.05 h: half a cell aside
    assert np.hypot(place.x - 7.3, place.y - 2.6) < 0.2  # half a cell's diagonal
    assert found.search_gap == 0.0  # nowhere else is more promised
    assert found.computed <= 150 + 10  # the budget, and a round that was begun within it


def test_what_is_left_of_the_promise_when_the_asking_ends(yard, maps_from, sun_of, monkeypatch):
    # The map promises a ramp from 4 h to 7 h; the exact sun is 4 h everywhere. Where no more is asked than at first,
    # spots far from those asked still promise something, at most what the map says above them: 3 h of 8.
    site = yard(cell=0.25)
    monkeypatch.setattr(selection, "BUDGET", 0)
    maps = maps_from(site, lambda x, y: 4 + 0.3 * x + 0 * y)
    found = find_places(site, maps, exact=sun_of(site, lambda x, y: 4 + 0 * x + 0 * y))
    assert found.computed <= 24 + 1 + 10  # spread out at first, the sunniest, and what lies square to something
    assert 0 < found.search_gap < 3 / 8
    monkeypatch.undo()
    known = find_places(site, maps, exact=sun_of(site, lambda x, y: 4 + 0.3 * x + 0 * y))
    assert known.search_gap == 0.0  # the map is right: the first spot is the best, and none promises more


@pytest.mark.parametrize("seed", [1, 2])
def test_three_beds_against_every_choice(yard, maps_from, sun_of, seed):
    site, ground, soil = random_yard(yard, seed)
    sun_at = sun_of(site, soil)
    found = find_places(site, maps_from(site, ground), exact=sun_at, count=3)
    assert len(found.places) == 3
    for one, other in itertools.combinations(found.places, 2):
        assert one.outline.distance(other.outline) >= site.place.aisle - 0.002  # outlines count as apart to 1 mm
    # every choice of three, over the best heading of each cell, all asked exactly
    spots = exact_merits(site, found.grid, sun_at)
    merits = np.array([merit for merit, *_ in spots])
    outlines = np.array([outline for *_, outline in spots])
    apart = shapely.distance(outlines[:, None], outlines[None, :]) >= site.place.aisle
    best = max(
        merits[i] + merits[j] + merits[apart[i] & apart[j]].max()
        for i, j in zip(*np.nonzero(np.triu(apart)), strict=True)
        if (apart[i] & apart[j]).any()
    )
    mean = sum(place.merit for place in found.places) / 3
    # three times the ties and the search's own stop, as above, and what is said that better choices may gain
    assert best / 3 - found.gap - 0.02 <= mean <= best / 3 + 0.02


def test_every_place_fits_and_is_free(yard, maps_from):
    site, ground, _ = random_yard(yard, 5)
    found = find_places(site, maps_from(site, ground), count=4)
    fits = fit_check(limits(site, found.grid))
    assert [place.rank for place in found.places] == list(range(1, len(found.places) + 1))
    assert all(fits(place.outline) is None for place in found.places)
    merits = [place.merit for place in found.places]
    assert merits == sorted(merits, reverse=True)


def test_a_mirrored_yard_has_the_mirrored_answer(yard, maps_from):
    shed = box(1, 2, 3, 4)
    site = yard(buildings=(Building(id="shed", outline=shed, height=2),), cell=0.5)
    mirrored = dataclasses.replace(site, buildings=(Building(id="shed", outline=box(7, 2, 9, 4), height=2),))

    def field(x, y):
        return 4 + 0.2 * x + np.sin(y) + 0.1 * np.cos(3 * x)

    east = find_places(site, maps_from(site, field)).places[0]
    west = find_places(mirrored, maps_from(mirrored, lambda x, y: field(10 - x, y))).places[0]
    assert west.merit == pytest.approx(east.merit)
    assert (west.x, west.y) == pytest.approx((10 - east.x, east.y))
    assert (west.heading + east.heading) % 180 == pytest.approx(0)


def test_a_bed_may_not_lie_where_the_barrow_cannot_get(yard, maps_from):
    site = yard(cell=0.25)
    maps = maps_from(site, lambda x, y: 5 + 0.2 * x + 0 * y)
    minutes = np.where(maps.grid.x < 5, 2.0, np.nan) + np.zeros(maps.grid.shape)
    found = find_places(site, maps, minutes=minutes)
    place = found.places[0]
    reach = place.outline.buffer(site.place.aisle + 0.25, join_style="mitre")  # a cell counts where it is touched
    assert reach.bounds[0] <= 5.0
    assert place.x < 7
    no_way = next(part for part in found.ruled_out if part.kind == "no way in")
    assert no_way.share == pytest.approx(0.5)
    nowhere = find_places(site, maps, minutes=np.full(maps.grid.shape, np.nan))
    assert nowhere.places == ()
    assert "a way in for the barrow" in " ".join(result_sentences(nowhere, "metric"))


def test_where_nothing_fits_it_says_why_and_what_would_help(yard, maps_from):
    site = yard(
        box(0, 0, 6, 5),
        keepouts=(Keepout(id="drain field", outline=box(1, 1, 5, 4), reason="septic field", setback=1.0),),
    )
    found = find_places(site, maps_from(site, lambda x, y: 7 + 0 * x + 0 * y))
    assert found.places == ()
    assert found.free == 0
    assert np.isnan(found.merit_map).all()
    said = " ".join(result_sentences(found, "metric"))
    assert result_sentences(found, "metric")[0] == "no bed of 2.00 m by 1.00 m fits anywhere on this property"
    assert "drain field (septic field)" in said
    assert "the one change that would open the most ground: giving up a keepout" in said
    first = found.ruled_out[0]
    assert (first.kind, first.features) == ("keepout", ("drain field",))
    assert first.spots == 1.0
    assert first.alone > 0.2


def test_where_only_a_smaller_bed_fits_it_says_so(yard, maps_from):
    site = yard(box(0, 0, 2.4, 1.7), place=PlaceSettings(length=2.0, width=1.2, count=1), cell=0.1)
    found = find_places(site, maps_from(site, lambda x, y: 7 + 0 * x + 0 * y))
    assert found.places == ()
    # inside the setback of 0.3 m the yard is 1.8 m by 1.1 m: half the length by the width fits across it
    assert result_sentences(found, "metric")[-1] == "a bed of 1.20 m by 1.00 m would fit"


def test_fewer_fit_than_asked_for(yard, maps_from):
    # within the setback of 0.3 m a strip of 1 m by 5.6 m: 2 m, an aisle of 0.6 m, 2 m take 4.6 m, and a third none
    site = yard(box(0, 0, 1.7, 6.2), cell=0.1, place=PlaceSettings(length=2.0, width=1.0, height=0.4, aisle=0.6))
    found = find_places(site, maps_from(site, lambda x, y: 7 + 0 * x + 0 * y), count=5)
    assert len(found.places) == 2
    assert found.places[0].outline.distance(found.places[1].outline) >= 0.6 - 0.002
    assert result_sentences(found, "metric") == ("only 2 of the 5 beds asked for fit without overlapping",)


def test_a_near_tie_goes_to_the_bed_that_lies_square(yard, maps_from, sun_of):
    # the sun is the same everywhere but for a breath that favours a heading of 45: less than the tie of 0.05 h
    fence = Fence(id="run", line=LineString([(0, 1), (10, 2.763)]), height=1)  # heading 80
    site = yard(fences=(fence,), cell=0.25)

    def field(x, y):
        return 6 + 0.3 * np.exp(-((x - 5) ** 2 + (y - 3.6) ** 2) / 40)

    even = sun_of(site, field)

    def favours(bed):
        answer = even(bed)
        west, south, east, north = bed.outline.bounds
        bonus = 0.02 if abs((east - west) - (north - south)) < 0.2 else 0.0
        return dataclasses.replace(answer, cell_season_h=answer.cell_season_h + bonus)

    found = find_places(site, maps_from(site, field), exact=favours)
    place = found.places[0]
    assert any("square to fence run" in sentence for sentence in why(place, found, "metric"))
    assert place.heading % 90 == pytest.approx(80, abs=0.6)


@pytest.mark.parametrize(("latitude", "side"), [(45.0, "north"), (-35.0, "south"), (69.0, "north")])
def test_the_trellis_stands_poleward(yard, maps_from, sun_of, latitude, side):
    site = yard(latitude=latitude)
    like = Bed(id="beans", outline=box(0, 0, 2, 1), height=0.4, trellis_height=1.8)
    asked = []

    def exact(bed):
        asked.append(bed)
        return sun_of(site, lambda x, y: 6 + 0 * x + 0 * y)(bed)

    found = find_places(site, maps_from(site, lambda x, y: 6 + 0 * x + 0 * y), exact=exact, like=like)
    assert any(
        f"trellis stands along the {side} side" in sentence for sentence in why(found.places[0], found, "metric")
    )
    assert {bed.trellis_height for bed in asked} == {1.8}
    assert {bed.trellis_side for bed in asked} == {None}  # poleward, wherever that is
    assert {bed.id for bed in asked} == {"new bed"}


def test_too_little_sun_is_said(yard, maps_from):
    site = yard()
    found = find_places(site, maps_from(site, lambda x, y: 3 + 0 * x + 0 * y))
    place = found.places[0]
    assert "less than the 6.0 h that its crops want" in why(place, found, "metric")[0]


def test_a_proposed_bed_is_no_obstacle_and_a_lasting_one_is(yard, maps_from):
    taken = box(0.5, 0.5, 9.5, 7.5)
    for proposed, found in ((True, 1), (False, 0)):
        site = yard(beds=(Bed(id="b", outline=taken, height=0.4, proposed=proposed),))
        assert len(find_places(site, maps_from(site, lambda x, y: 6 + 0 * x + 0 * y)).places) == found


def test_nothing_given_is_altered(yard, maps_from):
    site = yard()
    maps = maps_from(site, lambda x, y: 9 + 0.1 * x + 0 * y)
    minutes = np.full(maps.grid.shape, 2.0)
    before = maps.season_h.copy()
    find_places(site, maps, minutes=minutes, water=minutes, soil_season_h=maps.season_h)
    np.testing.assert_array_equal(maps.season_h, before)
    assert (minutes == 2.0).all()


def test_maps_of_other_cells_are_refused(yard, maps_from):
    site = yard()
    with pytest.raises(ValueError, match="minutes has the shape"):
        find_places(site, maps_from(site, lambda x, y: 6 + 0 * x + 0 * y), minutes=np.zeros((3, 3)))


@pytest.mark.parametrize(("proposed", "name"), [(True, "b"), (False, "new bed")])
def test_a_bed_that_moves_keeps_its_name_so_that_its_old_shade_goes(yard, maps_from, sun_of, proposed, name):
    old = Bed(id="b", outline=box(4, 3, 6, 4), height=0.4, proposed=proposed)
    site = yard(beds=(old,))
    asked = set()

    def field(x, y):
        return 6 + 0.1 * x + 0 * y

    def exact(bed):
        asked.add(bed.id)
        return sun_of(site, field)(bed)

    find_places(site, maps_from(site, field), exact=exact, like=old)
    assert asked == {name}


@pytest.mark.parametrize("size", [{"length": -1.0}, {"width": 0.0}, {"height": float("nan")}])
def test_a_size_that_is_none_is_refused(yard, maps_from, size):
    site = yard()
    with pytest.raises(ValueError, match=r"must be (above 0|at least 0\.1)"):
        find_places(site, maps_from(site, lambda x, y: 6 + 0 * x + 0 * y), **size)


def test_the_scan_agrees_with_sums_by_hand(yard, maps_from):
    # the mean on the map against shapely's own areas, at one random spot
    site = yard(cell=0.5)

    def field(x, y):
        return 4 + 0.3 * np.sin(3 * x) + 0.2 * y

    maps = maps_from(site, field)
    found = find_places(site, maps, weights=dataclasses.replace(SUN_ONLY, worst=0.0))
    place = found.places[0]
    grid = grid_over(site.boundary, 0.5)
    x, y = np.meshgrid(grid.x, grid.y)
    shares = shapely.area(shapely.intersection(shapely.box(x - 0.25, y - 0.25, x + 0.25, y + 0.25), place.outline))
    assert place.merit == pytest.approx((shares * maps.season_h).sum() / shares.sum() / 8, abs=1e-9)  # rounding alone


def test_on_a_slope_the_bed_lies_across_the_fall(yard, maps_from):
    # even sun, ground rising 8 % eastward: a bed 2 m by 1 m falls 8 cm with its long side north, 16 cm with it east
    grid = grid_over(box(-2, -2, 12, 10), 0.5)
    x = np.meshgrid(grid.x, grid.y)[0]
    site = yard(terrain=Terrain(grid, 0.08 * x), cell=0.25)
    found = find_places(site, maps_from(site, lambda x, y: 6 + 0 * x + 0 * y))
    place = found.places[0]
    assert place.heading == 0.0
    assert place.merit == pytest.approx((6 - 0.5 * 0.08) / 8)
    told = " ".join(why(place, found, "metric"))
    assert "the ground falls 8 cm under it: boards up to 48 cm on the lower side" in told
    assert "step it, or cut it in" not in told  # up to 10 cm a spade levels it
    steeper = yard(terrain=Terrain(grid, 0.12 * x), cell=0.25)
    found = find_places(steeper, maps_from(steeper, lambda x, y: 6 + 0 * x + 0 * y))
    told = " ".join(why(found.places[0], found, "metric"))
    assert "the ground falls 12 cm under it" in told
    assert "step it, or cut it in" in told


def test_a_spring_bed_wants_other_ground_than_a_summer_bed(yard, maps_from, sun_of):
    # in April the east is sunny, in July the west: 1 h more for each metre
    site = yard(cell=0.25)
    flat = maps_from(site, lambda x, y: 6 + 0 * x + 0 * y)
    east = np.meshgrid(flat.grid.x, flat.grid.y)[0]
    month_h = np.full((12, *flat.grid.shape), 1.0)
    month_h[3], month_h[6] = 0.5 * east, 5 - 0.5 * east
    maps = dataclasses.replace(flat, month_h=month_h)
    even = sun_of(site, lambda x, y: 6 + 0 * x + 0 * y)

    def exact(bed):
        answer = even(bed)
        cells = np.full((12, len(answer.cells)), 1.0)
        cells[3], cells[6] = 0.5 * answer.cells[:, 0], 5 - 0.5 * answer.cells[:, 0]
        return dataclasses.replace(answer, cell_month_h=cells)

    found = find_places(site, maps, exact=exact, months=[4])
    spring = found.places[0]
    summer = find_places(site, maps, exact=exact, months=[7]).places[0]
    assert spring.x > 9
    assert summer.x < 1
    assert spring.season_sun_h == pytest.approx(0.5 * spring.x)
    assert why(spring, found, "metric")[0].startswith("4.6 h of sun a day over April, ")
    assert find_places(site, maps, months=[4, 7]).places[0].season_sun_h == pytest.approx(2.5, abs=0.1)
    with pytest.raises(ValueError, match="needs the sun of each cell by month"):
        find_places(site, maps, exact=even, months=[4])
    with pytest.raises(ValueError, match="must be some of 1 to 12"):
        find_places(site, maps, months=[13])
