"""How far does a thing matter, and is each found thing told by its own points? By hand, and by a law."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from shapely import box

from siteplan.heights.reach import lowest_sun, reach_of
from siteplan.heights.survey_features import find_features, ground_of, has_ground, is_classified
from siteplan.land.features import MonthDay
from siteplan.land.returns import Returns
from siteplan.land.site import Season
from siteplan.sun.path.solar_path import apparent_position

SUMMER = Season(last_frost=MonthDay(4, 20), first_frost=MonthDay(10, 20))


@pytest.mark.parametrize("latitude", [0.0, 52.0, -40.0])
def test_a_tenth_of_the_hours_of_sun_lie_below_the_lowest_sun(latitude):
    lowest = lowest_sun(latitude, 10.0, year=2026, season=SUMMER)
    first, last = (np.datetime64(day).astype(int) * 86400.0 for day in ("2026-04-20", "2026-10-21"))
    _, elevation = apparent_position(latitude, 10.0, np.arange(first, last, 1733.0))
    up = elevation[elevation > 0]
    assert (up < lowest).mean() == pytest.approx(0.10, abs=0.005)


def test_the_lowest_sun_asks_the_season_and_never_sets():
    winter = Season(last_frost=MonthDay(10, 20), first_frost=MonthDay(2, 20))
    assert lowest_sun(52.0, 4.4, year=2026, season=winter) < lowest_sun(52.0, 4.4, year=2026, season=SUMMER) - 1
    assert lowest_sun(52.0, 4.4, year=2026, season=SUMMER) == pytest.approx(
        lowest_sun(52.0, -120.0, year=2026, season=SUMMER), abs=0.05
    )
    dark = Season(last_frost=MonthDay(11, 25), first_frost=MonthDay(1, 10))
    assert lowest_sun(85.0, 20.0, year=2026, season=dark) == 1.0
    assert lowest_sun(68.5, 20.0, year=2026, season=dark) == 1.0  # it hardly rises


def test_how_far_a_shadow_reaches():
    assert reach_of(10.0, 45.0) == pytest.approx(10.0)
    assert reach_of(np.array([-3.0, 0.0, 2.0]), 30.0) == pytest.approx([0.0, 0.0, 2 * math.sqrt(3)])


def points(*parts, side=40):
    """Return a lawn at 100 m with more points: each x, y, height, class, whether its pulse split."""
    x, y = (each.ravel() for each in np.meshgrid(np.arange(0.25, side, 0.5), np.arange(0.25, side, 0.5)))
    rows = [np.column_stack([x, y, 100 + 0 * x, 2 + 0 * x, 0 * x]), *parts]
    every = np.concatenate(rows)
    kind, split = every[:, 3].astype(np.uint8), every[:, 4] > 0
    return Returns(*every[:, :3].T, kind, np.ones(len(every), dtype=bool), split)


def over(shape, height, kind, *, split=0):
    west, south, east, north = shape.bounds
    x, y = (
        each.ravel() for each in np.meshgrid(np.arange(west + 0.1, east, 0.25), np.arange(south + 0.1, north, 0.25))
    )
    return np.column_stack([x, y, 100 + height + 0 * x, kind + 0 * x, split + 0 * x])


def shown(*parts, lowest=20.0, boundary=None, **options):
    return find_features(
        points(*parts), boundary=boundary or box(5, 5, 15, 15), lowest=lowest,
        **({"built": [], "by_filter": False} | options),
    )  # fmt: skip


HOUSE, TREE = box(20, 20, 28, 26), box(8, 25, 12, 29)


def test_each_thing_is_told_by_its_own_points():
    found = shown(over(HOUSE, 6.0, 6), over(TREE, 8.0, 1, split=1), over(TREE, 4.0, 1, split=1))
    (house,), (tree,) = found.buildings, found.trees
    assert house.roof.height == pytest.approx(6.0)
    assert house.outline.symmetric_difference(HOUSE).area < 1e-6
    assert house.roof.points == np.sum(shapely.contains_xy(HOUSE.buffer(-0.3), *over(HOUSE, 6.0, 6)[:, :2].T))
    assert tree.crown.top == pytest.approx(8.0)
    # leaves at 8 and at 4 m, and the lawn below: 256 each, 64 of the lawn
    assert tree.figures.points == 2 * 256
    assert tree.figures.pulses == 2 * 256 + 64
    assert tree.figures.ground_share == pytest.approx(64 / 576)
    assert found.ground == pytest.approx(100.0)
    assert found.has_ground_points.all()
    assert (found.lone, found.by_filter) == (0, False)


def test_what_matters_is_what_shades():
    """The house stands sqrt(5² + 5²) = 7.07 m from the property: 6 m high it reaches there below 40.3 degrees."""
    just = math.degrees(math.atan(6.0 / math.hypot(5, 5)))
    assert len(shown(over(HOUSE, 6.0, 6), lowest=just - 0.5).buildings) == 1
    assert shown(over(HOUSE, 6.0, 6), lowest=just + 0.5).buildings == ()


def test_what_stands_on_higher_ground_reaches_farther():
    def raised(up):
        rows = points(over(HOUSE, 6.0, 6))
        z = rows.z + np.where((rows.x > 18) & (rows.y > 18), up, 0.0)
        rows = Returns(rows.x, rows.y, z, rows.kind, rows.last, rows.several)
        return find_features(rows, boundary=box(5, 5, 15, 15), built=[], lowest=45.0, by_filter=False).buildings

    assert raised(0.0) == ()
    assert len(raised(2.0)) == 1  # 8 m above the property, 7.07 m off


def test_the_nearest_comes_first_and_of_two_as_near_the_higher():
    near, far = box(16, 8, 20, 12), box(22, 8, 26, 12)
    tall = box(8, 16, 12, 20)
    found = shown(over(far, 6.0, 6), over(near, 5.0, 6), over(tall, 7.0, 6), lowest=5.0)
    assert [one.roof.height for one in found.buildings] == pytest.approx([7.0, 5.0, 6.0])


def test_a_drawn_house_is_not_found_again_nor_its_eaves():
    eaves = HOUSE.buffer(0.8, join_style="mitre")
    assert shown(over(eaves, 6.0, 6), built=[HOUSE]).buildings == ()
    annex = box(28, 20, 34, 26)  # a metre beside it counts to the house
    (one,) = shown(over(HOUSE, 6.0, 6), over(annex, 6.0, 6), built=[HOUSE], lowest=5.0).buildings
    assert one.outline.bounds[0] == pytest.approx(29.0)


def test_rows_are_none_of_trees_and_houses():
    hedge, wall = box(2, 30, 14, 31), box(30, 2, 30.5, 14)
    found = shown(over(hedge, 1.8, 1, split=1), over(wall, 2.1, 1), over(HOUSE, 1.5, 6), lowest=1.0)
    assert [(one.kind, round(one.height, 1)) for one in found.rows] == [("fence", 2.1), ("hedge", 1.8)]  # as near
    assert {one.kind: one.line.length for one in found.rows} == pytest.approx({"hedge": 12, "fence": 12}, abs=0.6)


def test_a_crown_over_a_roof_is_none_and_noise_is_left_out():
    noise = np.array([[30.0, 30.0, 70.0, 7, 0], [31.0, 31.0, 130.0, 18, 0], [10.0, 10.0, 120.0, 1, 0]])
    found = shown(over(HOUSE, 6.0, 6), over(HOUSE, 9.0, 1, split=1), noise, lowest=5.0)
    assert found.lone == 3
    assert found.trees == ()
    assert len(found.buildings) == 1


def test_no_ground_is_said():
    with pytest.raises(ValueError, match="no point lies on the ground"):
        find_features(
            points().subset(np.zeros(6400, dtype=bool)),
            boundary=box(5, 5, 15, 15),
            built=[],
            lowest=5.0,
            by_filter=False,
        )


def test_which_classes_tell_the_ground():
    kinds = np.array([0, 1, 2, 6, 8, 9, 12], dtype=np.uint8)
    rows = Returns(*np.zeros((3, 7)), kinds, *np.ones((2, 7), dtype=bool))
    assert ground_of(rows, by_filter=False).tolist() == [False, False, True, False, True, False, False]
    assert has_ground(rows)
    assert not has_ground(rows.subset(kinds < 2))
    assert is_classified(rows)
    assert not is_classified(rows.subset(np.isin(kinds, (0, 1, 12))))
    assert is_classified(rows.subset(kinds == 9))
