"""The sun on the ledges of a bed in tiers: against an independent ray caster, and by laws."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import trimesh
from shapely import box

from siteplan.land.features import Bed
from siteplan.land.grid import grid_over
from siteplan.place.headings.headings import turned_beds
from siteplan.sun.bed_sun import bed_sun, bed_suns, lit_share, soil_shares, tier_cells
from siteplan.sun.engine import sun_engine
from siteplan.sun.obstacles.plant_rows import row_prisms
from siteplan.sun.obstacles.prisms import bed_prisms, own_shade
from siteplan.sun.sun_maps import cell_groups, sun_maps

LOWER, UPPER = 0.35, 0.30


@pytest.fixture(scope="module")
def tiered():
    """A bed of 3 m by 1.6 m along the parallel, with a frame half a metre high on it, set in by 0.4 m."""
    tiers = (Bed.Tier(height=LOWER), Bed.Tier(height=UPPER, inset=0.4))
    return Bed(id="two", outline=box(-1.5, -0.8, 1.5, 0.8), wall_thickness=0.04, tiers=tiers)


@pytest.fixture(scope="module")
def open_site(tiny_yard, tiered):
    """The yard with nothing on it but the bed."""
    bare = dict.fromkeys(("buildings", "trees", "fences", "gates", "surfaces", "taps", "piles"), ())
    return replace(tiny_yard, beds=(tiered,), sun=replace(tiny_yard.sun, cell=0.25, step=0.25), **bare)


@pytest.fixture(scope="module")
def engine(open_site):
    return sun_engine(open_site)


def test_cells_stand_on_their_ledges(open_site, tiered):
    (low, below), (high, above) = tier_cells(open_site, tiered)
    assert (low, high) == (1, 2)
    assert set(below[:, 2]) == {LOWER}
    assert above[:, 2] == pytest.approx(LOWER + UPPER)
    for frame, cells in zip(tiered.frames, (below, above), strict=True):
        assert all(frame.ledge.buffer(1e-9).intersects(box(x, y, x, y)) for x, y, _ in cells)
    # 2.92 x 1.52 - 2.2 x 0.8 = 2.6784 m2 of soil below, 2.12 x 0.72 = 1.5264 m2 above
    assert soil_shares(tiered) == pytest.approx({1: 2.6784 / 4.2048, 2: 1.5264 / 4.2048})


def test_the_ledge_against_independent_rays(open_site, tiered, engine):
    # only the upper frame can hide the sun from the lower ledge: its walls as a mesh, a ray for each step of the path
    lower = tiered.frames[1]
    mesh = trimesh.creation.extrude_polygon(lower.outline, UPPER).apply_translation((0, 0, LOWER))
    path = engine.path
    up, bearing = np.radians(path.elevation), np.radians(path.azimuth)
    suns = np.column_stack([np.cos(up) * np.sin(bearing), np.cos(up) * np.cos(bearing), np.sin(up)])
    sun = bed_sun(open_site, tiered, engine)
    for tier, cells in tier_cells(open_site, tiered):
        here = cells + np.array([0, 0, 1e-4])  # not on the very surface
        hit = mesh.ray.intersects_any(np.repeat(here, len(suns), axis=0), np.tile(suns, (len(here), 1)))
        hours = (~hit).reshape(len(here), -1) * path.hours
        months = np.array(
            [hours[:, path.month == month].sum(axis=1) / path.month_days[month - 1] for month in range(1, 13)]
        )
        found = sun.tiers[tier - 1]
        assert found.tier == tier
        # half a bin of azimuth, a quarter of a degree, and single precision in the ray caster
        assert found.month_sun_h == pytest.approx(months.mean(axis=1), abs=0.05)
    # what the upper frame takes: nothing from its own soil, an hour and more from the ledge
    assert sun.tiers[0].season_sun_h < sun.tiers[1].season_sun_h - 1
    assert sun.worst_cell_sun_h == sun.tiers[0].worst_cell_sun_h < sun.tiers[0].season_sun_h


def test_positions_looked_up_together_are_as_each_alone(open_site, tiered, engine):
    positions = [*turned_beds(tiered, step=45), replace(tiered, rows="along", crop_height=1.2)]
    for one, sun in zip(positions, bed_suns(open_site, positions, engine), strict=True):
        alone = bed_sun(open_site, one, engine)
        assert [tier.tier for tier in sun.tiers] == [1, 2]
        for tier, there in zip(sun.tiers, alone.tiers, strict=True):
            # tiles of other points may drop other pieces: 0.002 h a day at the most
            assert tier.month_sun_h == pytest.approx(there.month_sun_h, abs=0.0021)
        assert np.array_equal(sun.cells, alone.cells)


def test_the_bed_is_the_mean_of_its_soil(open_site, tiered, engine):
    sun = bed_sun(open_site, tiered, engine)
    mean = np.average([tier.season_sun_h for tier in sun.tiers], weights=[2.6784, 1.5264])
    assert sun.season_sun_h == pytest.approx(mean)
    assert len(sun.cells) == len(sun.cell_season_h) == sum(len(cells) for _, cells in tier_cells(open_site, tiered))
    lit = lit_share(open_site, tiered, engine)
    assert (lit.sum(axis=1) / 2) == pytest.approx(sun.month_sun_h, abs=0.05)  # half hours of the clock


def test_the_upper_tier_is_lit_as_a_bed_of_its_height(open_site, tiered, engine):
    alone = Bed(id="two", outline=tiered.frames[1].outline, wall_thickness=0.04, height=LOWER + UPPER)
    there = bed_sun(open_site, alone, engine)
    (only,) = there.tiers
    assert only.season_sun_h == there.season_sun_h
    assert there.season_sun_h == pytest.approx(bed_sun(open_site, tiered, engine).tiers[1].season_sun_h, abs=1e-9)


def test_its_frames_are_its_bodies(open_site, tiered):
    bodies = bed_prisms(open_site, tiered)
    assert [(body.outline.area, body.bottom, body.top) for body in bodies] == [
        (pytest.approx(4.8), 0.0, LOWER),
        (pytest.approx(2.2 * 0.8), LOWER, pytest.approx(LOWER + UPPER)),
    ]
    assert own_shade(open_site, tiered, tier=1) == bodies[1:]
    assert own_shade(open_site, tiered, tier=2) == ()


def test_a_crop_stands_on_each_ledge_and_so_do_its_rows(open_site, tiered):
    planted = replace(tiered, crop_height=1.2, rows="along", row_spacing=0.5)
    crop = [body for body in bed_prisms(open_site, planted) if body.part == "crop"]
    assert [(body.bottom, body.top) for body in crop] == [(LOWER, 1.2), (pytest.approx(LOWER + UPPER), 1.2)]
    assert sum(body.outline.area for body in crop) == pytest.approx(4.8)
    rows = row_prisms(open_site, planted)
    assert {round(row.bottom, 9) for row in rows} == {0.35, 0.65}
    # three rows of 2.92 m; the middle one is cut by the walls of the upper frame, the others lie on the ledge
    assert sum(row.outline.area for row in rows) == pytest.approx(0.1 * (2 * 2.92 + 2.92 - 2 * 0.04), abs=1e-6)


def test_the_map_knows_the_tiers(open_site, tiered, engine):
    grid = grid_over(open_site.boundary, 0.25)
    heights = [set(cells.points[:, 2].round(9)) for cells in cell_groups(open_site, grid)]
    assert heights == [{0.65}, {0.35}, {0.0}]
    maps = sun_maps(open_site, engine)
    above = maps.grid.inside(tiered.frames[1].outline)
    below = maps.grid.inside(tiered.outline) & ~above
    assert maps.season_h[below].max() < maps.season_h[above].min()


def test_a_frame_that_stands_flush_leaves_no_ledge(open_site, tiered, engine):
    flush = replace(tiered, tiers=(Bed.Tier(height=LOWER), Bed.Tier(height=UPPER)))
    single = replace(tiered, tiers=(), height=LOWER + UPPER)
    (only,) = bed_sun(open_site, flush, engine).tiers
    assert only.tier == 2
    assert only.season_sun_h == pytest.approx(bed_sun(open_site, single, engine).season_sun_h, abs=1e-9)
