from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely import Point, Polygon, box
from shapely.affinity import rotate, scale

from siteplan.land.terrain import Skyline
from siteplan.place.headings.headings import turned_beds
from siteplan.place.headings.shifts import moved
from siteplan.sun.bed_sun import bed_sun, bed_suns
from siteplan.sun.engine import SunEngine, sun_engine
from siteplan.sun.obstacles.prisms import Prism
from siteplan.sun.path.solar_path import sun_path

from ..skies import declination_path, sun_at

ORIGIN = np.zeros((1, 3))


def spread(count, seed=0, *, extent=10.0, height=0.02):
    rng = np.random.default_rng(seed)
    return np.column_stack([rng.uniform(-extent, extent, (count, 2)), np.full(count, height)])


def test_an_open_point_sees_the_whole_day(engine_of, middle_path):
    lit = engine_of().hours(np.array([[0.0, 0.0, 0.0], [5.0, 5.0, 2.0]]))
    for month in range(12):
        length = middle_path.day_length[middle_path.day_month == month + 1].mean()
        assert lit.month_h[month] == pytest.approx([length, length], abs=1e-4)  # single precision
    season = engine_of().season
    assert lit.season_h[0] == pytest.approx(middle_path.day_length[season].mean(), abs=1e-4)


def test_no_points_give_no_hours(engine_of, clutter):
    lit = engine_of(*clutter).hours(np.empty((0, 3)))
    assert lit.month_h.shape == (12, 0)
    assert engine_of(*clutter).exact_hours(np.empty((0, 3))).season_h.shape == (0,)


@pytest.mark.parametrize("points", [np.zeros((2, 2)), np.zeros(3), np.array([[0.0, np.nan, 0.0]])])
def test_points_that_are_none_are_refused(engine_of, points):
    with pytest.raises(ValueError, match="points"):
        engine_of().hours(points)


def test_the_lookup_agrees_with_the_exact_rays_on_everything_that_can_stand(engine_of, clutter, middle_path):
    fine = sun_path(45.0, 8.0, year=2026, timezone="Europe/Rome", step=1 / 12)
    points = spread(60)
    looked = engine_of(*clutter, path=fine).hours(points)
    exact = engine_of(*clutter, path=fine).exact_hours(points)
    off = looked.month_h - exact.month_h
    # what is asked of the lookup: 0.02 h a day on average, 0.12 for one in a hundred; the bias of so few points is 0.01
    assert np.abs(off).mean() < 0.02
    assert np.percentile(np.abs(off), 99) < 0.12
    assert np.abs(off.mean(axis=1)).max() < 0.01
    assert np.abs(looked.season_h - exact.season_h).mean() < 0.02
    assert 0.2 < exact.season_h.mean() / middle_path.day_length.mean() < 0.9


def test_inside_something_solid_it_is_dark_and_on_its_roof_light(engine_of):
    engine = engine_of(Prism(outline=box(-5, -5, 5, 5), bottom=0, top=3, owner="house"))
    points = np.array([[0, 0, 0], [0, 0, 2.9], [0, 0, 3.0], [0, 0, 4.0]])
    lit = engine.hours(points).season_h
    assert lit[:2].tolist() == [0, 0]
    assert lit[2:] == pytest.approx(engine_of().hours(ORIGIN).season_h[0])
    assert engine.exact_hours(points).season_h[:2].tolist() == [0, 0]


def test_a_courtyard_is_lit_from_above(engine_of):
    ring = box(-10, -10, 10, 10).difference(box(-6, -6, 6, 6))
    court = engine_of(Prism(outline=ring, bottom=0, top=3, owner="house")).hours(ORIGIN)
    hall = engine_of(Prism(outline=box(-10, -10, 10, 10), bottom=0, top=3, owner="house")).hours(ORIGIN)
    assert hall.season_h[0] == 0
    assert 5 < court.season_h[0] < engine_of().hours(ORIGIN).season_h[0]


def test_under_a_deck_only_the_low_sun_shines(engine_of):
    # 2 m under a deck that reaches 4 m east and west and endlessly north and south: the sun's profile angle towards
    # east or west must be below 2 in 4
    engine = engine_of(
        Prism(outline=box(-4, -900, 4, 900), bottom=2, top=2.1, owner="deck"),
        path=declination_path(0, 0, step=1 / 60),
    )
    # at the equator at the equinox the sun climbs 15 degrees an hour straight from east to west
    expected = 2 * np.degrees(np.arctan(0.5)) / 15
    assert engine.exact_hours(ORIGIN).month_h[0, 0] == pytest.approx(expected, abs=2 / 60)  # a step at each end
    assert engine.hours(ORIGIN).month_h[0, 0] == pytest.approx(expected, abs=2 / 60)


def test_a_crown_of_many_slices_counts_once(engine_of):
    whole = Prism(outline=box(-2, -4, 2, -1), bottom=1, top=7, owner="t", part="crown", transmittance_leafy=0.3)
    slices = [replace(whole, bottom=1 + n, top=2 + n) for n in range(6)]
    points = spread(20, extent=5)
    one = engine_of(whole)
    for order in ([0, 1, 2, 3, 4, 5], [0, 2, 1, 5, 3, 4], [5, 1, 3, 0, 4, 2]):  # whichever of them comes first
        many = engine_of(*(slices[n] for n in order))
        assert many.hours(points).month_h == pytest.approx(one.hours(points).month_h, abs=1e-4)
        assert many.exact_hours(points).month_h == pytest.approx(one.exact_hours(points).month_h, abs=1e-12)


def test_two_crowns_in_a_row_multiply(engine_of):
    crown = Prism(outline=box(-90, -4, 90, -1), bottom=0, top=900, owner="a", transmittance_leafy=0.5)
    behind = replace(crown, outline=box(-90, -9, 90, -6), owner="b", transmittance_leafy=0.4)
    path = declination_path(45.0, 0.0, day_length=6.0)
    lit = engine_of(crown, behind, path=path)
    assert lit.hours(ORIGIN).month_h[0, 0] == pytest.approx(6 * 0.2, abs=1e-3)
    assert lit.exact_hours(ORIGIN).month_h[0, 0] == pytest.approx(6 * 0.2, abs=1e-9)


def test_leaves_change_the_light_on_their_day(engine_of, middle_path):
    crown = Prism(
        outline=box(-90, -90, 90, 90), bottom=3, top=9, owner="t", transmittance_leafy=0.2, transmittance_bare=0.6,
        leaf_out=106, leaf_fall=305,
    )  # fmt: skip
    lit, free = engine_of(crown).exact_hours(ORIGIN), engine_of().exact_hours(ORIGIN)
    looked = engine_of(crown).hours(ORIGIN)
    share = lit.month_h[:, 0] / free.month_h[:, 0]
    assert share[[5, 6, 8]] == pytest.approx(0.2, abs=0.08)  # the low sun comes in under the crown's edge
    assert share[[0, 1, 11]] == pytest.approx(0.6, abs=0.12)
    assert share[3] == pytest.approx((share[2] + share[4]) / 2, abs=0.05)  # out in the middle of April
    assert looked.month_h == pytest.approx(lit.month_h, abs=0.1)  # the exact test has steps of half an hour here


def test_a_calendar_may_run_across_the_new_year(engine_of):
    crown = Prism(
        outline=box(-900, -900, 900, 900), bottom=0, top=9, owner="t", transmittance_leafy=0.0, transmittance_bare=1.0,
        leaf_out=300, leaf_fall=100,
    )  # fmt: skip
    lit = engine_of(crown).hours(ORIGIN).month_h[:, 0]
    assert lit[[0, 1, 10, 11]].max() < 1e-3
    assert lit[[5, 6]].min() > 14


def test_more_veils_than_there_is_room_for_are_all_counted(engine_of):
    veils = [
        Prism(outline=box(-90, -n - 1.5, 90, -n - 1), bottom=0, top=900, owner=str(n), transmittance_leafy=0.9)
        for n in range(40)
    ]
    lit = engine_of(*veils, path=declination_path(45.0, 0.0, day_length=4.0))
    assert lit.hours(ORIGIN).month_h[0, 0] == pytest.approx(4 * 0.9**40, abs=1e-3)


def test_what_is_left_out_and_what_comes_besides(engine_of, clutter):
    points = spread(10)
    without = engine_of(*clutter).hours(points, without=["cone", "deck"])
    built = engine_of(*(prism for prism in clutter if prism.owner not in ("cone", "deck")))
    assert without.month_h == pytest.approx(built.hours(points).month_h, abs=1e-4)
    extra = built.hours(points, extra=[prism for prism in clutter if prism.owner in ("cone", "deck")])
    assert extra.month_h == pytest.approx(engine_of(*clutter).hours(points).month_h, abs=1e-3)


def test_an_extra_of_a_left_out_id_stands(engine_of):
    wall = Prism(outline=box(-9, -2, 9, -1), bottom=0, top=4, owner="bed")
    moved = replace(wall, outline=box(-9, 1, 9, 2))
    engine = engine_of(wall)
    assert engine.hours(ORIGIN, extra=[moved], without=["bed"]).month_h[0, 0] == pytest.approx(
        engine_of(moved).hours(ORIGIN).month_h[0, 0]
    )


def test_the_polar_night_is_dark_and_the_midnight_sun_goes_round(engine_of):
    path = sun_path(78.0, 15.0, year=2026, timezone="Europe/Oslo", step=0.5)
    tower = Prism(outline=box(-1, 9, 1, 11), bottom=0, top=60, owner="tower")
    lit = engine_of(tower, path=path)
    looked, exact = lit.hours(ORIGIN), lit.exact_hours(ORIGIN)
    assert looked.month_h[0, 0] == 0
    assert 23 < looked.month_h[5, 0] < 23.9  # a twelfth of a right angle of the northern sky is hidden at midnight
    assert looked.month_h == pytest.approx(exact.month_h, abs=0.1)


def test_far_hills_hide_the_low_sun(engine_of):
    hills = Skyline(np.array([0.0, 90.0, 180.0, 270.0]), np.array([10.0, 10.0, 10.0, 10.0]))
    path = declination_path(0.0, 0.0, step=1 / 60)
    engine = engine_of(path=path, skyline=hills)
    expected = 12 - 20 / 15  # ten degrees at fifteen an hour, twice
    assert engine.exact_hours(ORIGIN).month_h[0, 0] == pytest.approx(expected, abs=2 / 60)
    assert engine.hours(ORIGIN).month_h[0, 0] == pytest.approx(expected, abs=2 / 60)


def test_a_gabled_roof_hides_what_its_profile_does(engine_of):
    # seen square to the ridge, a roof of 45 degrees with eaves at 2 m hides up to its ridge only for a far point
    halves = (
        Prism(outline=box(-900, -6, 900, -4), bottom=0, top=4, top_plane=(0.0, 1.0, 8.0), owner="h"),
        Prism(outline=box(-900, -4, 900, -2), bottom=0, top=4, top_plane=(0.0, -1.0, 0.0), owner="h"),
    )
    path = declination_path(
        40.0, 0.0, day_length=2.0, step=1 / 60
    )  # the equinox sun: profile angle 50 degrees all day
    points = np.array([[0, -0.4, 0], [0, -0.2, 0], [0, 1.0, 0]])
    # from y the eaves stand at 2 / (y + 2), the ridge at 4 / (y + 4) in slope: 1.25, 1.11, 0.8 against tan 50 = 1.19
    assert engine_of(*halves, path=path).exact_hours(points).month_h[0] == pytest.approx([0, 2, 2])
    assert engine_of(*halves, path=path).hours(points).month_h[0] == pytest.approx([0, 2, 2], abs=1e-3)


def test_a_mirrored_property_gives_mirrored_hours(engine_of, clutter):
    path = declination_path(45.0, 15.0, step=1 / 20)
    points = spread(40)
    mirrored = [
        replace(
            prism, outline=scale(prism.outline, xfact=-1, origin=(0, 0)),
            top_plane=None if prism.top_plane is None else (-prism.top_plane[0], *prism.top_plane[1:]),
        )
        for prism in clutter
    ]  # fmt: skip
    here = engine_of(*clutter, path=path).hours(points).month_h[0]
    there = engine_of(*mirrored, path=path).hours(points * [-1, 1, 1]).month_h[0]
    # bins lie alike on both sides of north, so only an edge on a bin's very middle may fall to either side of it
    assert there == pytest.approx(here, abs=1e-3)
    assert here.std() > 1  # there is something to mirror
    exact = engine_of(*clutter, path=path).exact_hours(points).month_h[0]
    assert engine_of(*mirrored, path=path).exact_hours(points * [-1, 1, 1]).month_h[0] == pytest.approx(
        exact, abs=1e-9
    )


def test_a_property_turned_with_its_sun_keeps_its_hours(engine_of, clutter, middle_path):
    points = spread(40)
    turned_path = replace(middle_path, azimuth=(middle_path.azimuth + 90) % 360)

    def plane(a, b, c):
        return b, -a, c  # a quarter turn clockwise

    turned = [
        replace(
            prism, outline=rotate(prism.outline, -90, origin=(0, 0)),
            top_plane=None if prism.top_plane is None else plane(*prism.top_plane),
        )
        for prism in clutter
    ]  # fmt: skip
    here = engine_of(*clutter).hours(points).season_h
    there = engine_of(*turned, path=turned_path).hours(points[:, [1, 0, 2]] * [1, -1, 1]).season_h
    # a right angle is a whole number of bins, so only an edge on a bin's very middle may fall to either side of it
    assert there == pytest.approx(here, abs=1e-3)
    exact, turned_exact = (
        engine_of(*standing, path=path).exact_hours(asked).season_h
        for standing, path, asked in (
            (clutter, middle_path, points), (turned, turned_path, points[:, [1, 0, 2]] * [1, -1, 1])
        )
    )  # fmt: skip
    assert turned_exact == pytest.approx(exact, abs=1e-9)


def test_the_light_of_each_step_is_that_of_the_rays(engine_of, clutter, middle_path):
    points = spread(60)
    engine = engine_of(*clutter)
    looked, exact = engine.mean_light(points), engine.exact_light(points).mean(axis=0)
    assert looked.shape == middle_path.hours.shape
    # a ray is out by a quarter of a degree at most, so that one point in many falls to the other side of an edge
    assert np.abs(looked - exact).mean() < 0.004
    assert looked.mean() == pytest.approx(exact.mean(), abs=5e-4)
    gone = engine.mean_light(points, without=["house"])
    assert gone == pytest.approx(engine_of(*(p for p in clutter if p.owner != "house")).mean_light(points), abs=1e-6)


def test_steps_in_the_open_and_behind_more_veils_than_there_is_room_for(engine_of):
    path = declination_path(45.0, 0.0, day_length=4.0)
    veils = [
        Prism(
            outline=box(-9, -9, 9, -1 - 0.1 * n), bottom=0, top=30, owner=f"v{n}", transmittance_leafy=0.9,
        )
        for n in range(40)
    ]  # fmt: skip
    assert engine_of(path=path).mean_light(ORIGIN).tolist() == [1.0] * len(path.hours)
    assert engine_of(*veils, path=path).mean_light(ORIGIN) == pytest.approx(0.9**40, abs=1e-6)
    assert engine_of(path=path).mean_light(np.empty((0, 3))).tolist() == [0.0] * len(path.hours)


def test_progress_runs_up_to_one(engine_of, clutter):
    seen = []
    engine_of(*clutter).hours(spread(50), progress=seen.append)
    assert seen == sorted(seen)
    assert seen[-1] == pytest.approx(1.0)


def test_the_same_question_gets_the_same_answer(engine_of, clutter):
    points = spread(50)
    first = engine_of(*clutter).hours(points)
    again = engine_of(*clutter).hours(points[::-1])
    # tiles hold the same points whatever their order
    assert np.array_equal(first.month_h, again.month_h[:, ::-1])


def test_a_trunk_at_the_point_s_own_place_does_not_break_it(engine_of):
    trunk = Prism(outline=Point(0, 0).buffer(0.2), bottom=0, top=2, owner="t")
    corner = Prism(outline=box(0, 0, 3, 3), bottom=0, top=2, owner="c")
    edge = Prism(outline=box(-3, 0, 3, 3), bottom=1, top=2, owner="e", transmittance_leafy=0.5)
    for prism in (trunk, corner, edge):
        lit = engine_of(prism).hours(ORIGIN)
        assert np.isfinite(lit.month_h).all()


def test_what_is_hidden_from_a_whole_tile_is_left_out_without_a_change(engine_of, clutter, monkeypatch):
    rng = np.random.default_rng(3)
    far = [
        Prism(outline=rotate(box(x, y, x + 5, y + 0.2), turn), bottom=0, top=high, owner=f"far {x}")
        for x, y, turn, high in rng.uniform([-40, -40, 0, 1], [40, 40, 180, 6], (60, 4))
    ]
    engine = engine_of(*clutter, *far)
    axis = np.arange(-10, 10, 0.5)
    points = np.stack(np.meshgrid(axis, axis, 0.0), axis=-1).reshape(-1, 3)
    pruned = engine.hours(points).month_h
    monkeypatch.setattr("siteplan.sun.lookup.tiles.FEW", len(points) + 1)
    assert pruned == pytest.approx(engine.hours(points).month_h, abs=2e-3)  # what the reach neglects


def test_another_path_has_a_sky_of_its_own():
    summer = SunEngine(path=declination_path(40.0, 23.44), prisms=(), season=np.ones(1, dtype=bool))
    assert summer.hours(ORIGIN).month_h[0, 0] == pytest.approx(14.845, abs=1e-3)
    winter = replace(summer, path=declination_path(40.0, -23.44))
    assert winter.hours(ORIGIN).month_h[0, 0] == pytest.approx(9.155, abs=1e-3)  # cos H = -tan(lat) tan(declination)


def test_a_ray_through_two_corners_of_a_diamond_meets_it_once(engine_of):
    # the sun exactly in the north: from the south the ray runs through the corners at (0, 2) and (0, 4), and meets the
    # diamond between them; at 30 degrees it has risen to 1.15 m and 2.3 m there
    for height, lights in ((1.0, 1.0), (1.3, 0.0)):
        diamond = Prism(
            outline=Polygon([(0, 2), (1, 3), (0, 4), (-1, 3)]), bottom=0, top=height, owner="diamond",
        )  # fmt: skip
        engine = SunEngine(path=sun_at(0.0, 30.0), prisms=(diamond,), season=np.ones(1, dtype=bool))
        assert engine.exact_hours(ORIGIN).month_h[0, 0] == lights


def test_a_small_roof_that_rises_away_hides_up_to_its_far_edge(engine_of):
    # half a metre wide, from 0.6 m off, 0.1 m high, to 1.4 m off, 1.7 m high: slopes of 0.17 and 1.21 (50.5 degrees)
    roof = Prism(
        outline=box(-0.25, 0.6, 0.25, 1.4), bottom=0, top=1.7, top_plane=(0.0, 2.0, -1.1), owner="roof",
    )  # fmt: skip
    for elevation, lights in ((45.0, 0.0), (49.0, 0.0), (52.0, 1.0), (60.0, 1.0)):
        engine = SunEngine(path=sun_at(0.1, elevation), prisms=(roof,), season=np.ones(1, dtype=bool))
        assert engine.exact_hours(ORIGIN).month_h[0, 0] == lights
        assert engine.hours(ORIGIN).month_h[0, 0] == pytest.approx(lights, abs=1e-6)


def test_engine_around_a_bed_answers_as_the_whole_one(engine_of, clutter, monkeypatch):
    far = [Prism(outline=box(x, 60, x + 3, 63), bottom=0, top=2.0, owner=f"far {x}") for x in range(-90, 90, 6)]
    whole = engine_of(*clutter, *far)
    corners = np.array([[-2.0, -2, 0.3], [2, -2, 0.3], [2, 2, 0.3], [-2, 2, 0.3]])
    assert whole.around(corners) is whole  # so few are not worth choosing from
    monkeypatch.setattr("siteplan.sun.engine.FEW_PRISMS", 10)
    near = whole.around(corners)
    assert {prism.owner for prism in clutter} <= {prism.owner for prism in near.prisms}
    assert len(near.prisms) < len(whole.prisms)
    points = np.random.default_rng(5).uniform([-2, -2, 0.3], [2, 2, 0.3], (40, 3))
    # each tile may drop what hides 0.002 h (`NEGLIGIBLE`), and what is left out hides a twentieth of it
    assert near.hours(points).month_h == pytest.approx(whole.hours(points).month_h, abs=0.0021)


def test_positions_looked_up_together_are_as_each_alone(tiny_yard):
    engine = sun_engine(tiny_yard)
    plain, netted = tiny_yard.beds
    for bed in (plain, netted):  # the second has a trellis, which shades it otherwise in each position
        beds = [*turned_beds(bed, step=30), moved(bed, "east"), replace(bed, rows="along", crop_height=1.5)]
        for one, sun in zip(beds, bed_suns(tiny_yard, beds, engine), strict=True):
            alone = bed_sun(tiny_yard, one, engine)
            # tiles of other points may drop other pieces: 0.002 h a day at the most
            assert sun.month_sun_h == pytest.approx(alone.month_sun_h, abs=0.0021)
            assert sun.worst_cell_sun_h == pytest.approx(alone.worst_cell_sun_h, abs=0.0021)
            assert np.array_equal(sun.cells, alone.cells)
