"""How many points are spread over a bed's soil, and where: counted by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely import Polygon, box

from siteplan.land.features import Bed, Building, Keepout
from siteplan.land.grid import Grid
from siteplan.land.site import SunSettings
from siteplan.land.terrain import Terrain
from siteplan.sun.bed_sun import (
    LIGHT_CLASSES,
    _bed_sun,
    light_class,
    need_for,
    plenty_for,
    soil_shares,
    sun_score,
    tier_cells,
)
from siteplan.sun.engine import SunHours
from siteplan.sun.sun_maps import SunMaps, _only_features_differ, cell_groups


@pytest.fixture(scope="module")
def lot(tiny_yard):
    nothing = dict.fromkeys(("buildings", "trees", "hedges", "fences", "gates", "beds", "surfaces"), ())
    return replace(tiny_yard, **nothing, terrain=None)


def cells(lot, bed, *, cell, **options):
    return tier_cells(replace(lot, sun=SunSettings(year=2026, cell=cell, need=6.0, plenty=8.0)), bed, **options)


USUAL = box(0, 0, 2.4, 1.2)


def bed(outline=USUAL, **given):
    return Bed(**{"id": "b", "outline": outline, "height": 0.4, "wall_thickness": 0.0} | given)


@pytest.mark.parametrize(("cell", "options", "along", "aside"), [
    (0.5, {}, 8, 4),  # a fourth of its width, 0.3 m
    (0.3, {}, 8, 4),
    (0.25, {}, 10, 5),  # a cell of the map
    (0.5, {"across": 2}, 4, 2), (0.1, {"across": 3}, 6, 3),  # fewer at will: then the map's cells do not count
    (0.5, {"across": 4}, 8, 4), (0.25, {"across": 5}, 10, 5), (0.25, {"across": 9}, 18, 9),
])  # fmt: skip
def test_points_of_a_bed(lot, cell, options, along, aside):
    ((tier, found),) = cells(lot, bed(), cell=cell, **options)
    assert tier == 1
    assert len(found) == along * aside
    assert np.unique(found[:, 0].round(9)) == pytest.approx(2.4 / along * (np.arange(along) + 0.5))
    assert np.unique(found[:, 1].round(9)) == pytest.approx(1.2 / aside * (np.arange(aside) + 0.5))
    assert (found[:, 2] == 0.4).all()


@pytest.mark.parametrize(("inset", "count"), [
    (0.2, 20 * 10),  # half the width of the ledge: 0.1 m
    (0.06, 40 * 20),  # no finer than 5 cm
    (0.4, 24 * 12),  # of the upper frame, 1.2 m by 0.2 m: half of 2 x 0.24 m2 over its rim of 2.8 m, 0.0857 m
])  # fmt: skip
def test_points_of_ledges_share_one_grid(lot, inset, count):
    tiers = (Bed.Tier(height=0.3), Bed.Tier(height=0.2, inset=inset))
    two = bed(box(0, 0, 2, 1), tiers=tiers, height=0.5)
    (low, below), (high, above) = cells(lot, two, cell=0.25)
    assert (low, high) == (1, 2)
    assert len(below) + len(above) == count
    assert set(below[:, 2]) == {0.3}
    assert set(above[:, 2]) == {0.5}


def test_a_tier_that_covers_the_one_below_leaves_one_ledge(lot):
    two = bed(box(0, 0, 2, 1), tiers=(Bed.Tier(height=0.3), Bed.Tier(height=0.2)), height=0.5)
    ((tier, found),) = cells(lot, two, cell=0.25)
    assert tier == 2
    assert (found[:, 2] == 0.5).all()
    assert soil_shares(two) == {2: 1.0}
    assert soil_shares(bed()) == {1: 1.0}


def test_a_bed_whose_walls_leave_no_soil_has_points_all_the_same(lot):
    full = bed(box(0, 0, 2, 0.2), wall_thickness=0.1)
    ((_, found),) = cells(lot, full, cell=0.25)
    assert len(found) == 40 * 4
    assert soil_shares(full) == {1: 1.0}


def test_soil_that_no_point_meets_has_one(lot):
    ring = bed(Polygon(box(0, 0, 3, 3).exterior.coords, [box(0.02, 0.02, 2.98, 2.98).exterior.coords]))
    ((_, found),) = cells(lot, ring, cell=20.0, across=1)
    assert len(found) == 1
    assert ring.outline.intersects(Polygon([(x, y) for x, y in found[0, :2] + [(0, 0), (1e-9, 0), (0, 1e-9)]]))


@pytest.mark.parametrize(("hours", "name"), [
    (24.0, "full sun"), (6.0, "full sun"), (5.99, "part sun"), (4.0, "part sun"), (3.99, "part shade"), (2.0, "part shade"),
    (1.99, "shade"), (0.0, "shade"), (-0.1, "shade"),
])  # fmt: skip
def test_classes_of_light(hours, name):
    assert light_class(hours) == name
    assert [least for _, least in LIGHT_CLASSES] == [6, 4, 2, 0]


@pytest.mark.parametrize(("hours", "plenty", "score"), [
    ([8.0], 8.0, 100.0), ([4.0], 8.0, 50.0), ([0.0, 16.0], 8.0, 50.0), ([3.0, 5.0], 4.0, 87.5), ([1.0], 0.0, 100.0), ([0.0], 5.0, 0.0),
])  # fmt: skip
def test_the_share_of_plenty(hours, plenty, score):
    assert sun_score(np.array(hours), plenty=plenty) == pytest.approx(score)


@pytest.mark.parametrize(("need", "plenty"), [(None, 8.0), (6.0, 8.0), (3.0, 4.0), (0.0, 0.0)])
def test_plenty_goes_with_the_need(lot, need, plenty):
    site = replace(lot, sun=SunSettings(year=2026, need=6.0, plenty=8.0))
    assert plenty_for(site, bed(need=need)) == plenty
    assert need_for(site, bed(need=need)) == (6.0 if need is None else need)


GRID = Grid(west=0, north=4, cell=1, rows=4, columns=6)
TWO = Bed(
    id="two", outline=box(2, 1, 5, 4), wall_thickness=0.04, trellis_height=1.5,
    tiers=(Bed.Tier(height=0.3), Bed.Tier(height=0.2, inset=1.0)),
)  # fmt: skip


def test_the_cells_of_a_property_in_groups(lot):
    shed, roof = (
        Building(id="s", outline=box(0, 0, 2, 2), height=2),
        Building(id="r", outline=box(5, 0, 6, 4), height=3, base=2),
    )
    site = replace(lot, boundary=box(0, 0, 6, 4), buildings=(shed, roof), beds=(TWO,))
    upper, lower, others = cell_groups(site, GRID)
    assert upper.numbers.tolist() == [1 * 6 + 3]
    assert upper.points.tolist() == [[3.5, 2.5, 0.5]]
    assert lower.numbers.tolist() == [2, 3, 4, 8, 10, 14, 15, 16]
    assert set(lower.points[:, 2]) == {0.3}
    assert (upper.without, lower.without, others.without) == (("two",), ("two",), ())
    assert {one.part for one in upper.extra} >= {"trellis"}
    assert others.extra == ()
    # without the shed's four and the bed's nine cells; what stands on posts lets the ground be
    assert others.numbers.tolist() == [0, 1, 5, 6, 7, 11, 17, 20, 21, 22, 23]
    assert (others.points[:, 2] == 0).all()
    assert others.points[0].tolist() == [0.5, 3.5, 0.0]


def test_cells_on_a_slope_and_where_the_ground_is_unknown(lot):
    height = np.add.outer(np.zeros(4), np.arange(6.0))
    height[0, 0] = np.nan
    bed = replace(TWO, tiers=(), height=0.4, trellis_height=None)
    site = replace(lot, boundary=box(0, 0, 6, 3), beds=(bed,), terrain=Terrain(GRID, height))
    inside, others = cell_groups(site, GRID)
    assert inside.numbers.tolist() == [8, 9, 10, 14, 15, 16]  # what lies beyond the boundary is left out
    assert set(inside.points[:, 2]) == {3.0 + 0.4}  # the ground at its middle
    assert others.points[:, 2].tolist() == (others.points[:, 0] - 0.5).tolist()
    whole = replace(site, boundary=box(0, 0, 6, 4))
    assert [len(one.numbers) for one in cell_groups(whole, GRID)] == [9, 24 - 9 - 1]


def test_the_longest_hours_of_a_map():
    hours = np.full((12, 4, 6), np.nan)
    assert np.isnan(SunMaps(GRID, hours, hours[0]).longest_h)
    hours[3, 1, 2], hours[5, 0, 0] = 7.0, 9.5
    assert SunMaps(GRID, hours, hours[0]).longest_h == 9.5


def test_whether_only_features_differ(lot):
    hills = Terrain(GRID, np.zeros((4, 6)))
    assert _only_features_differ(lot, lot)
    assert _only_features_differ(
        lot, replace(lot, beds=(TWO,), keepouts=(Keepout(id="k", outline=box(0, 0, 1, 1), reason="x"),))
    )
    assert _only_features_differ(lot, replace(lot, boundary=Polygon([*lot.boundary.exterior.coords][::-1])))
    season = replace(lot.season, last_frost=replace(lot.season.last_frost, day=1, month=6))
    others = (
        {"terrain": hills}, {"boundary": box(0, 0, 9, 9)}, {"sun": replace(lot.sun, cell=0.7)}, {"season": season},
        {"frame": replace(lot.frame, latitude=44.0)},
    )  # fmt: skip
    for other in others:
        assert not _only_features_differ(lot, replace(lot, **other))
        assert not _only_features_differ(replace(lot, **other), lot)
    assert not _only_features_differ(replace(lot, terrain=hills), replace(lot, terrain=hills))


def test_the_sun_of_a_bed_in_tiers_by_hand(lot):
    """Of a ledge with 2 and 6 h and an upper frame with 7 and 9 h, each with its share of the soil."""
    shares = soil_shares(TWO)
    assert sum(shares.values()) == pytest.approx(1.0)
    tiers = [(1, np.zeros((2, 3))), (2, np.ones((2, 3)))]
    lit = [SunHours(month_h=np.tile(hours, (12, 1)), season_h=np.array(hours)) for hours in ([2.0, 6.0], [7.0, 9.0])]
    site = replace(lot, sun=SunSettings(year=2026, need=6.0, plenty=8.0))
    for order in (slice(None), slice(None, None, -1)):
        found = _bed_sun(site, TWO, tiers[order], lit[order])
        assert found.season_sun_h == pytest.approx(shares[1] * 4 + shares[2] * 8)
        assert found.month_sun_h == pytest.approx(np.full(12, found.season_sun_h))
        assert found.worst_cell_sun_h == 2.0
        assert found.sun_score == pytest.approx(shares[1] * 50 + shares[2] * 93.75)
        assert found.light_class == light_class(found.season_sun_h)
        assert [(one.tier, one.season_sun_h, one.worst_cell_sun_h, one.light_class) for one in sorted(found.tiers, key=lambda one: one.tier)] == [
            (1, 4.0, 2.0, "part sun"), (2, 8.0, 7.0, "full sun"),
        ]  # fmt: skip
        assert sorted(found.cell_season_h) == [2, 6, 7, 9]
        assert found.cell_month_h.shape == (12, 4)
        assert len(found.cells) == 4
