from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely import box

from siteplan.land.features import Building
from siteplan.land.grid import Grid
from siteplan.land.site import SunSettings
from siteplan.land.terrain import Terrain
from siteplan.sun.bed_sun import bed_sun, light_class, lit_share, sun_score, tier_cells
from siteplan.sun.engine import sun_engine
from siteplan.sun.lookup.culling import NEGLIGIBLE
from siteplan.sun.obstacles.prisms import Prism
from siteplan.sun.sun_maps import maps_after, maps_without, sun_maps


@pytest.fixture(scope="module")
def yard(tiny_yard):
    return replace(tiny_yard, sun=SunSettings(year=2026, cell=0.5, step=0.5))


@pytest.fixture(scope="module")
def engine(yard):
    return sun_engine(yard)


@pytest.fixture(scope="module")
def maps(yard, engine):
    return sun_maps(yard, engine)


def test_the_map_covers_the_boundary(maps):
    assert maps.month_h.shape == (12, 20, 24)
    assert maps.season_h.shape == maps.grid.shape
    inside = np.isfinite(maps.season_h)
    assert inside.sum() == 20 * 24 - 6 * 4  # all but the shed's cells
    assert np.all(np.isfinite(maps.month_h) == inside)


def test_the_shed_is_not_on_the_map_and_shades_its_north(maps):
    row, column = maps.grid.cell_of(0.3, -4.0)
    assert np.isnan(maps.season_h[row, column])
    north, _ = maps.grid.cell_of(0.3, -2.7)
    assert maps.month_h[11, north, column] < 1.0
    assert maps.month_h[5, north, column] > maps.month_h[11, north, column]


def test_cells_in_a_bed_stand_on_its_soil(yard, engine, maps):
    bed = yard.beds[0]
    ((_, cells),) = tier_cells(yard, bed)
    lit = bed_sun(yard, bed, engine)
    held = maps.grid.inside(bed.outline)
    assert cells[:, 2] == pytest.approx(0.45)
    assert np.nanmean(maps.season_h[held]) == pytest.approx(lit.season_sun_h, abs=0.2)  # other points of the same bed


@pytest.mark.parametrize("what", ["trees", "buildings", "fences", "beds"])
def test_maps_follow_what_comes_and_what_goes(yard, engine, what):
    """Swept where it may matter alone, they are those of the whole sweep."""
    without = replace(yard, **{what: getattr(yard, what)[1:]})
    there, gone = (yard, engine), (without, replace(engine, prisms=sun_engine(without).prisms))
    for before, after in ((there, gone), (gone, there)):
        whole = sun_maps(*after)
        swept = maps_after(sun_maps(*before), before, after)
        assert np.array_equal(np.isnan(swept.season_h), np.isnan(whole.season_h))
        assert np.nanmax(np.abs(swept.month_h - whole.month_h)) <= 2 * NEGLIGIBLE


def test_a_deck_stays_on_the_map(yard, engine):
    deck = Building(id="deck", outline=box(-5, 2, -3, 4), height=2.6, base=2.4)
    with_deck = replace(yard, buildings=(*yard.buildings, deck))
    maps = sun_maps(with_deck, sun_engine(with_deck))
    row, column = maps.grid.cell_of(-4, 3)
    assert 0 < maps.season_h[row, column] < 10


def test_cells_stand_on_the_terrain_and_are_missing_beyond_it(yard):
    grid = Grid(west=-6, north=5, cell=1, rows=10, columns=9)  # the eastern 3 m are not known
    site = replace(yard, terrain=Terrain(grid, np.full(grid.shape, 321.0)))
    level, raised = sun_maps(yard, sun_engine(yard)), sun_maps(site, sun_engine(site))
    assert np.isnan(raised.season_h[:, -6:]).all()
    known = np.isfinite(raised.season_h)
    assert raised.season_h[known] == pytest.approx(level.season_h[known], abs=1e-3)  # all of it is lifted alike


def test_a_bed_by_hand(yard, engine):
    sun = bed_sun(yard, yard.beds[0], engine)
    assert sun.bed == "north bed"
    assert sun.month_sun_h.shape == (12,)
    assert sun.worst_cell_sun_h == pytest.approx(sun.cell_season_h.min())
    assert sun.light_class == light_class(sun.season_sun_h)
    assert sun.sun_score == pytest.approx(sun_score(sun.cell_season_h, plenty=8.0))


def test_a_bed_that_needs_less_is_sooner_served(yard, engine):
    bed = yard.beds[1]
    lettuce = replace(bed, need=3.0)
    assert bed_sun(yard, lettuce, engine).sun_score >= bed_sun(yard, bed, engine).sun_score
    assert bed_sun(yard, replace(bed, need=0.0), engine).sun_score == 100


def test_its_own_walls_do_not_shade_a_bed_and_its_trellis_does(yard):
    alone = replace(yard, buildings=(), trees=(), fences=(), gates=(), beds=(yard.beds[1],))
    bare = replace(yard.beds[1], trellis_height=None)
    engine = sun_engine(alone)
    open_sky = bed_sun(alone, replace(bare, height=0.01), engine)
    assert bed_sun(alone, bare, engine).season_sun_h == pytest.approx(open_sky.season_sun_h, abs=1e-3)
    south = replace(yard.beds[1], trellis_side=180.0)
    assert bed_sun(alone, south, engine).season_sun_h < bed_sun(alone, yard.beds[1], engine).season_sun_h
    assert bed_sun(alone, yard.beds[1], engine).season_sun_h < open_sky.season_sun_h


def test_a_tall_crop_shades_its_neighbour_and_not_itself(yard):
    bed, neighbour = yard.beds[1], yard.beds[0]
    corn = replace(bed, crop_height=2.5, trellis_height=None, outline=box(-1.2, 0.8, 1.2, 2.0))
    bare = replace(corn, crop_height=None)
    tall, low = (sun_engine(replace(yard, beds=(neighbour, other))) for other in (corn, bare))
    assert bed_sun(yard, neighbour, tall).season_sun_h < bed_sun(yard, neighbour, low).season_sun_h - 0.5
    assert bed_sun(yard, corn, tall).season_sun_h == pytest.approx(bed_sun(yard, bare, low).season_sun_h, abs=1e-3)


def test_a_moved_bed_is_asked_as_if_the_site_had_been_built_so(yard, engine):
    moved = replace(yard.beds[1], outline=box(2.5, 1.0, 3.7, 3.4))
    rebuilt = replace(yard, beds=(yard.beds[0], moved))
    here, there = bed_sun(yard, moved, engine), bed_sun(rebuilt, moved, sun_engine(rebuilt))
    assert here.cell_season_h == pytest.approx(there.cell_season_h, abs=1e-3)


def test_cells_turn_with_the_bed_and_keep_off_its_walls(yard):
    ((_, cells),) = tier_cells(yard, yard.beds[0])
    soil = yard.beds[0].outline.buffer(-yard.beds[0].wall_thickness)
    assert len(cells) >= 4 * 8
    assert soil.buffer(1e-9).contains(soil.__class__(soil.exterior))
    assert cells[:, 0].min() > soil.bounds[0]
    assert cells[:, :2].mean(axis=0) == pytest.approx([0, 3], abs=1e-9)


def test_walls_thicker_than_the_bed_leave_one_way_out(yard):
    odd = replace(yard.beds[0], wall_thickness=0.9)
    assert all(len(cells) >= 1 for _, cells in tier_cells(yard, odd))


@pytest.mark.parametrize("gone", [("new bed",), ("north bed", "new bed"), ()])
def test_maps_without_a_bed_are_those_of_a_property_without_it(yard, engine, gone):
    # a tall bed amid others: its soil, trellis and crop reach cells all over the yard, and its own cells sink
    without = replace(yard, beds=tuple(bed for bed in yard.beds if bed.id not in gone))
    assert len(without.beds) == len(yard.beds) - len(gone)
    found = maps_without(sun_maps(yard, engine), yard, engine, gone)
    afresh = sun_maps(without, sun_engine(without))
    assert found.grid == afresh.grid
    for ours, theirs in ((found.month_h, afresh.month_h), (found.season_h, afresh.season_h)):
        assert np.array_equal(np.isnan(ours), np.isnan(theirs))
        # both leave out what takes less than this
        assert np.nanmax(np.abs(ours - theirs)) <= 2 * NEGLIGIBLE


def test_cells_out_of_a_bed_s_reach_are_not_swept_again(engine_of):
    low = Prism(outline=box(-1, -1, 1, 1), bottom=0, top=0.3, owner="low")
    wall = Prism(outline=box(-20, 8, 20, 8.2), bottom=0, top=3, owner="wall")
    engine = engine_of(low, wall)
    # south of it at 45 N it hides no sun; west of it it takes the sun after rise
    points = np.array([[0.0, -30.0, 0.0], [-4.0, 0.0, 0.0]])
    assert engine.within_reach(points, {"low"}).tolist() == [False, True]
    assert engine.within_reach(points, {"nobody"}).tolist() == [False, False]


def test_hours_by_the_clock_add_up_to_the_month_s(yard, engine):
    bed = yard.beds[0]
    share = lit_share(yard, bed, engine)
    assert share.shape == (12, 48)
    assert share.min() >= 0
    assert share.max() <= 1
    assert share[:, 0].max() == 0  # midnight
    by_month = bed_sun(yard, bed, engine).month_sun_h
    assert share.sum(axis=1) / 2 == pytest.approx(by_month, abs=0.15)  # exact half-hour steps against the lookup


def test_no_score_passes_a_hundred():
    full = [(np.full(count, hours), hours) for hours in np.linspace(0.1, 24, 240) for count in (3, 7, 48)]
    assert max(100 * cells.mean() / hours for cells, hours in full) > 100  # what rounding alone makes of full sun
    assert max(sun_score(cells, plenty=hours) for cells, hours in full) == 100
