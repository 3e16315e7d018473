"""What other weights would choose, what is noticeably better, what a search asks for: by hand, without a search."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from shapely import Point, Polygon, box

from siteplan.land.features import Bed, Building, Tap
from siteplan.land.site import PlaceSettings, SunSettings
from siteplan.place.merit import tradeoff
from siteplan.place.merit.merit import COSTS, Weights, WorkMaps
from siteplan.place.merit.sensitivity import Change, Sensitivity, _best_that_fits, sensitivity
from siteplan.place.merit.tradeoff import _costs, _noticeably_better
from siteplan.place.reasons.comparison import other_spot
from siteplan.place.search.refinement import ScoredSpot
from siteplan.place.search.request import kinds_of, make_request, month_share

WORK = WorkMaps(water=None, door=None, walked=False, hose=5.0, trips=6)
SPOTS = {
    "x": [0.0, 3.0], "y": [0.0, 4.0], "heading": [10.0, 200.0], "merit": [0.60, 0.58], "mean": [6.0, 6.0],
    "worst": [6.0, 6.0], "minutes": [10.0, 0.0], "water": [10.0, 0.0], "door": [10.0, 0.0], "drop": [1.0, 0.0],
}  # fmt: skip


def search_of(fits=None, **values):
    """Return the parts of a search that are read here; without work at the second spot, nothing costs there."""
    arrays = {name: np.array(one, dtype=float) for name, one in (SPOTS | values).items()}
    fits = np.ones(len(arrays["x"]), dtype=bool) if fits is None else np.array(fits, dtype=bool)
    return SimpleNamespace(spots=SimpleNamespace(**arrays, plenty=8.0), fit=lambda which: fits[which])


def scored(index, **hours):
    fields = dict.fromkeys(ScoredSpot.__dataclass_fields__, 0.0)
    return ScoredSpot(**fields | {"index": index} | hours)


def changes(search, **weights):
    none = dict.fromkeys(COSTS, 0.0)
    found = sensitivity(search, WORK, Weights(worst=0.0, **none | weights), scored(0)).changes
    assert [(one.weight, one.factor) for one in found] == [(n, f) for n in ("worst", *COSTS) for f in (0.5, 2.0)]
    return {(one.weight, one.factor): one for one in found}


@pytest.mark.parametrize(("weight", "price", "quantity"), [
    ("wheeling", 0.3, 1.0),  # ten minutes for six trips are an hour
    ("water", 0.03, 10.0), ("beyond_hose", 0.06, 5.0), ("door", 0.03, 10.0), ("levelling", 0.3, 1.0),
])  # fmt: skip
def test_twice_a_price_turns_the_choice(weight, price, quantity):
    """The first choice costs 0.3 h more: 0.0375 of 8 h; it was better by 0.02, and loses 0.0175 of 8 h."""
    found = changes(search_of(), **{weight: price})
    turned = found[weight, 2.0]
    assert price * quantity == pytest.approx(0.3)
    assert turned.loss_h == pytest.approx(0.14)
    assert (turned.east, turned.north, turned.moved, turned.heading) == (3.0, 4.0, 5.0, 20.0)
    assert not turned.stays
    for which, one in found.items():
        if which != (weight, 2.0):
            assert (one.loss_h, one.east, one.north, one.heading, one.stays) == (0.0, 0.0, 0.0, 10.0, True)


def test_half_a_price_turns_the_choice_to_the_sunnier_spot():
    # the second spot is sunnier and costs 0.4 h: half of it is 0.025 of 8 h
    search = search_of(merit=[0.60, 0.58], water=[0.0, 10.0])
    half = changes(search, water=0.04)["water", 0.5]
    assert half.loss_h == pytest.approx((0.58 + 0.2 / 8 - 0.60) * 8)
    assert half.moved == 5.0


def test_what_the_first_choice_loses_already_is_no_effect():
    found = changes(search_of(merit=[0.60, 0.61]), water=0.03)
    assert found["water", 2.0].loss_h == pytest.approx((0.61 - 0.5625 - 0.01) * 8)
    assert found["door", 2.0].loss_h == 0.0
    assert found["door", 2.0].moved == 5.0  # by the maps the other is the best all along
    assert found["door", 2.0].stays


@pytest.mark.parametrize(("worst", "factor", "loss"), [
    # the first choice has 6 h on average and 4 h at worst, the second 5.9 h all over
    (0.2, 2.0, (0.2 * 2 / 8 - 0.02) * 8), (0.8, 2.0, (0.2 * 2 / 8 - 0.02) * 8), (0.05, 2.0, 0.0), (0.2, 0.5, 0.0),
])  # fmt: skip
def test_the_weight_of_the_worst_cell(worst, factor, loss):
    search = search_of(worst=[4.0, 9.0], mean=[6.0, 8.0])  # more than plenty counts as plenty: 8 h
    none = dict.fromkeys(COSTS, 0.0)
    found = sensitivity(search, WORK, Weights(worst=worst, **none), scored(0)).changes
    (one,) = (each for each in found if (each.weight, each.factor) == ("worst", factor))
    assert one.loss_h == pytest.approx(loss)


@pytest.mark.parametrize(("price", "away", "stays"), [
    (0.0205, (3.0, 4.0), True),  # loses 0.045 h: a tie
    (0.0215, (3.0, 4.0), False),  # 0.055 h
    (0.03, (0.6, 0.79), True),  # next to it
    (0.03, (0.6, 0.81), False),
])  # fmt: skip
def test_a_tie_or_the_spot_beside_it_stays(price, away, stays):
    found = changes(search_of(x=[0, away[0]], y=[0, away[1]]), water=price)["water", 2.0]
    assert found.loss_h == pytest.approx(price * 10 - 0.16)
    assert found.stays is stays


def test_which_weights_unsettle_the_choice():
    def change(weight, loss, stays):
        return Change(weight=weight, factor=2.0, east=0, north=0, heading=0, loss_h=loss, stays=stays)

    found = Sensitivity(
        changes=(change("a", 0.3, False), change("b", 0.9, True), change("c", 0.5, False), change("a", 0.2, False))
    )
    assert found.largest.weight == "c"
    assert found.unsettling == ("a", "c")
    steady = Sensitivity(changes=(change("b", 0.9, True),))
    assert (steady.largest, steady.unsettling) == (None, ())


@pytest.mark.parametrize("number", [0, 150, 250, 999, 2500])
def test_the_best_spot_that_fits_is_looked_for_among_all(number):
    count = 3000
    order = np.random.default_rng(2).permutation(count)
    merit = np.empty(count)
    merit[order] = np.linspace(1, 0, count)  # the spot order[0] is the best
    fits = np.zeros(count, dtype=bool)
    fits[order[number:]] = True
    nothing = {name: np.zeros(count) for name in SPOTS}
    assert _best_that_fits(search_of(fits=fits, **nothing), merit) == order[number]


def test_of_equal_spots_the_first():
    nothing = {name: np.zeros(4) for name in SPOTS}
    assert _best_that_fits(search_of(**nothing), np.array([0.5, 0.7, 0.7, 0.7])) == 1


@pytest.mark.parametrize(("sun", "minutes", "water", "better"), [
    (0.0, 0.0, 0.0, False), (0.051, 0.0, 0.0, True), (0.049, 0.0, 0.0, False), (-1.0, -0.17, 0.0, True),  # six trips: 1.02 min
    (0.0, -0.16, 0.0, False), (0.0, 0.0, -0.51, True), (0.0, 0.0, -0.49, False), (-1.0, 5.0, 5.0, False), (0.0, np.nan, 0.0, False),
])  # fmt: skip
def test_what_a_gardener_would_notice(sun, minutes, water, better):
    """Half a step: 0.05 h of sun, a minute of wheeling in all, half a metre of hose."""
    search = search_of(minutes=[3.0, 3.0 + minutes], water=[8.0, 8.0 + water])
    assert _noticeably_better(search, WORK, scored(1, sun=6.0 + sun), scored(0, sun=6.0)) is better


def test_costs_in_steps_of_what_is_noticed():
    search = search_of(minutes=[3.0, np.nan], water=[8.4, np.nan])
    found = _costs(search, WORK, np.array([0, 1]), np.array([6.04, 5.96]))
    assert found.tolist() == [[-60, 9, 8], [-60, 0, 0]]  # a tenth of an hour, 2 of 18 min, metres


def test_another_spot_is_compared_with_a_place():
    search = search_of(minutes=[10.0, 12.0], water=[10.0, np.nan], door=[4.0, 1.0])
    found = other_spot(search, WORK, scored(0), scored(1, season=7.0, worst=3.0, sun=5.0), rank=2)
    assert (found.rank, found.season_sun_h, found.worst_cell_sun_h, found.sun_h) == (2, 7.0, 3.0, 5.0)
    assert (found.east, found.north, found.more_minutes, found.more_door_m) == (3.0, 4.0, 12.0, -3.0)
    assert np.isnan(found.more_water_m)
    assert other_spot(search, WORK, scored(0), scored(1)).rank == 0


@pytest.mark.parametrize(("months", "year", "shares"), [
    ([1], 2026, {1: 1.0}), ([12, 1], 2026, {1: 0.5, 12: 0.5}), ([2, 3], 2026, {2: 28 / 59, 3: 31 / 59}),
    ([2, 3], 2028, {2: 29 / 60, 3: 31 / 60}), (range(1, 13), 2026, {7: 31 / 365, 6: 30 / 365}),
])  # fmt: skip
def test_months_count_by_their_days(months, year, shares):
    found = month_share(months, year)
    assert found.sum() == pytest.approx(1.0)
    assert {month: found[month - 1] for month in shares} == pytest.approx(shares)


@pytest.mark.parametrize("months", [[], [0], [13], [5, 13]])
def test_what_are_no_months(months):
    with pytest.raises(ValueError, match="must be some of 1 to 12"):
        month_share(months, 2026)
    assert month_share(None, 2026) is None


def asked(site, maps, **given):
    options = dict.fromkeys(
        ("shape", "count", "minutes", "water", "door", "soil_season_h", "like", "ignore", "weights", "months")
    )
    return make_request(site, maps, **options | {"size": (None, None, None), "step": 45.0} | given)


def test_what_is_asked_for_by_default(yard, maps_from):
    site = yard(place=PlaceSettings(length=2.0, width=1.0, height=0.4, count=4, weight_door=0.2))
    maps = maps_from(site, lambda x, y: x + 0 * y)
    found = asked(site, maps)
    assert (found.form.length, found.form.width, found.bed.height, found.count) == (2.0, 1.0, 0.4, 4)
    assert (found.need, found.plenty, found.weights.door) == (6.0, 8.0, 0.2)
    assert (found.bed.id, found.bed.proposed, found.ignore) == ("new bed", True, frozenset())
    assert np.nanmax(found.sun) == 8.0
    assert found.map_h is maps.season_h
    assert found.headings.tolist() == [0, 45, 90, 135]
    assert found.work.trips == 10  # 0.8 m3 of 1,000 kg/m3 at 80 kg
    other = asked(site, maps, size=(0.5, 3.0, 0.2), count=1, weights=Weights(door=0.9), months=[6])
    assert (other.form.length, other.form.width, other.bed.height, other.count) == (3.0, 0.5, 0.2, 1)
    assert other.weights.door == 0.9
    assert other.map_h == pytest.approx(maps.month_h[5], nan_ok=True)
    with pytest.raises(ValueError, match="length is 200 m"):
        asked(site, maps, size=(200.0, None, None))


def test_a_shape_without_half_turn_symmetry_is_tried_all_round(yard, maps_from):
    site = yard()
    maps = maps_from(site, lambda x, y: x + 0 * y)
    ell = Polygon([(0, 0), (2, 0), (2, 1), (1, 1), (1, 2), (0, 2)])
    assert asked(site, maps, shape=ell).headings.tolist() == list(range(0, 360, 45))


def test_a_bed_with_another_need_has_another_plenty(yard, maps_from):
    bed = Bed(id="b", outline=box(1, 1, 3, 2), height=0.5, need=3.0, proposed=True)
    site = yard(
        sun=SunSettings(year=2026, cell=0.5, need=6.0, plenty=9.0), beds=(bed, replace(bed, id="c", proposed=False))
    )
    maps = maps_from(site, lambda x, y: x + 0 * y)
    found = asked(site, maps, like=bed)
    assert (found.need, found.plenty, found.bed.id, found.bed.height) == (3.0, 4.5, "b", 0.5)
    assert np.nanmax(found.sun) == 4.5
    assert found.ignore == {"b"}
    there = asked(site, maps, like=bed, ignore=())
    assert (there.bed.id, there.ignore, there.bed.proposed) == ("new bed", frozenset(), True)
    assert asked(site, maps, like=bed, size=(None, None, 0.3)).bed.height == 0.3
    named = replace(site, buildings=(Building(id="new bed", outline=box(0, 0, 1, 1), height=2),))
    assert asked(named, maps).bed.id == "new bed+"


def test_arrays_of_other_cells_are_refused(yard, maps_from):
    site = yard()
    maps = maps_from(site, lambda x, y: x + 0 * y)
    for name in ("minutes", "water", "door", "soil_season_h"):
        with pytest.raises(ValueError, match=rf"{name} has the shape \(2, 2\), must have that of the maps"):
            asked(site, maps, **{name: np.zeros((2, 2))})


def test_kinds_of_limits_in_their_order():
    limits = [SimpleNamespace(kind=kind) for kind in ("boundary", "tap", "boundary", "bed")]
    assert kinds_of(limits) == ["boundary", "tap", "bed", "no way in"]


def test_each_kind_of_limit_forbids_its_own_spots(yard, maps_from):
    shed = Building(id="shed", outline=box(4, 3, 6, 5), height=2)
    site = yard(buildings=(shed,), taps=(Tap(id="tap", place=Point(2.25, 6.25)),))
    request = asked(site, maps_from(site, lambda x, y: x + 0 * y), size=(1.0, 1.0, 0.3))
    every = request.limits(request.form)
    assert kinds_of(every) == ["boundary", "building", "tap", "no way in"]
    found = request.scan(every, request.form)
    assert found.blocked[3] == found.alone[3] == 0  # no way is known: none is missing
    whole = dict(zip(kinds_of(every), found.blocked.tolist(), strict=False))  # there is room for more kinds
    for number, kind in (
        (1, "building"),
        (2, "tap"),
    ):  # what reaches beyond the map counts with the first, the boundary
        only = request.scan([one for one in every if one.kind in {"boundary", kind}], request.form)
        assert only.blocked[:2].tolist() == [whole["boundary"], whole[kind]]
        assert 0 < found.alone[number] <= whole[kind]
        assert only.scanned == found.scanned
    far = np.where(np.meshgrid(request.maps.grid.x, request.maps.grid.y)[0] < 5, 1.0, np.nan)
    timed = replace(request, minutes=far).scan(every, request.form)
    assert timed.blocked[3] > 0


def test_the_sunniest_cells_are_considered_beside_the_best(monkeypatch):
    """Of three cells the two sunniest, each at its sunniest spot; and spot 4, the best by merit."""
    spots = SimpleNamespace(cell=np.array([0, 0, 1, 1, 2]), sun=np.array([3.0, 5.0, 8.0, 7.0, 4.0]))
    search = SimpleNamespace(spots=spots, fit=lambda numbers: np.array([number != 2 for number in numbers]))
    monkeypatch.setattr(tradeoff, "pool", lambda *_: np.array([4]))
    monkeypatch.setattr(tradeoff, "CELLS", 2)
    assert tradeoff._candidates(search).tolist() == [1, 4]  # spot 2 does not fit
    monkeypatch.undo()
    monkeypatch.setattr(tradeoff, "pool", lambda *_: np.array([], dtype=int))
    assert tradeoff._candidates(search).tolist() == [1, 4]  # three cells are fewer than are looked at
