from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from scipy import ndimage
from shapely import LineString, Point, box
from shapely.affinity import rotate

from siteplan.haul.ground.cost_field import GRASS, cost_field, routing_grid
from siteplan.haul.loads.work_rates import EMPTY_SPEED, LOADED_SPEED
from siteplan.land.barriers import narrow_gates
from siteplan.land.constants import RollingSurface
from siteplan.land.features import Bed, Building, Fence, Gate, Hedge, Keepout, Surface, Tree
from siteplan.land.grid import Grid, grid_over
from siteplan.land.outline import rectangle
from siteplan.land.site import Barrow
from siteplan.land.terrain import Terrain
from siteplan.say.cautions import in_words

PAVED = RollingSurface(surface="paved", rolling=0.02, rolling_wet=0.02, pace=1.0, loaded=True)
STEPS = RollingSurface(surface="steps", rolling=0.02, rolling_wet=0.02, pace=0.6, loaded=False)
MUD = RollingSurface(surface="mud", rolling=0.2, rolling_wet=0.25, pace=0.5, loaded=True)


def at(site, x, y, *, cell=0.1, **options):
    """Return time per metre loaded and empty at a point."""
    ground = cost_field(site, Grid(x - 1.5 * cell, y + 1.5 * cell, cell, 3, 3), **options)
    return ground.loaded[1, 1], ground.empty[1, 1]


def test_uncovered_ground_is_grass(bare_yard):
    # by hand: 3 km/h and 4.5 km/h, times the pace on grass
    loaded, empty = at(bare_yard, 0.05, 0.05)
    assert loaded == pytest.approx(3.6 / 3.0 / GRASS.pace, rel=1e-12)
    assert empty == pytest.approx(3.6 / 4.5 / GRASS.pace, rel=1e-12)


def test_where_surfaces_overlap_the_smaller_counts(bare_yard):
    site = dataclasses.replace(
        bare_yard,
        surfaces=(
            Surface(id="mat", outline=box(-1, -1, 1, 1), surface="paved"),
            Surface(id="mire", outline=box(-4, -4, 4, 4), surface="mud"),
        ),
        rolling_surfaces={"paved": PAVED, "mud": MUD},
    )
    assert at(site, 0.05, 0.05)[0] == pytest.approx(1 / LOADED_SPEED, rel=1e-12)
    assert at(site, 3.05, 0.05)[0] == pytest.approx(2 / LOADED_SPEED, rel=1e-12)


def test_steps_let_the_empty_barrow_through(bare_yard):
    site = dataclasses.replace(
        bare_yard,
        surfaces=(Surface(id="stair", outline=box(-1, -1, 1, 1), surface="steps"),),
        rolling_surfaces={"steps": STEPS},
    )
    loaded, empty = at(site, 0.05, 0.05)
    assert np.isinf(loaded)
    assert empty == pytest.approx(1 / (EMPTY_SPEED * 0.6), rel=1e-12)


@pytest.mark.parametrize(
    ("feature", "edge"),
    [
        ({"buildings": (Building(id="a", outline=box(-1, -1, 1, 1), height=3),)}, 1 + 0.425),
        ({"beds": (Bed(id="a", outline=box(-1, -1, 1, 1), height=0.4),)}, 1 + 0.425),
        ({"beds": (Bed(id="a", outline=box(-1, -1, 1, 1), height=0.4, proposed=True),)}, 1 + 0.425),
        ({"hedges": (Hedge(id="a", outline=box(-1, -1, 1, 1), height=1),)}, 1 + 0.425),
        ({"fences": (Fence(id="a", line=LineString([(0, -3), (0, 3)]), height=1, thickness=0.1),)}, 0.05 + 0.425),
        ({"keepouts": (Keepout(id="a", outline=box(-1, -1, 1, 1), reason="septic field"),)}, 1 + 0.325),
    ],
    ids=["building", "bed", "proposed bed", "hedge", "fence", "keepout"],
)  # fmt: skip
def test_barriers_are_grown_by_half_the_barrow_and_its_clearance(bare_yard, feature, edge):
    # by hand: 0.65 / 2 + 0.10 = 0.425 m from what is hard, half the width from what is only not driven over
    site = dataclasses.replace(bare_yard, barrow=Barrow(width=0.65, clearance=0.10), **feature)
    assert np.isinf(at(site, 0.01, 0.0, cell=0.02)[1])
    assert np.isinf(at(site, edge - 0.03, 0.0, cell=0.02)[1])
    assert np.isfinite(at(site, edge + 0.03, 0.0, cell=0.02)[1])


def test_trunks_bar_the_way_and_high_crowns_do_not(bare_yard):
    def tree(**options):
        form = {"height": 5, "crown_base": 1.8, "outline": Point(0, 0).buffer(2), "trunk": Point(0, 0)}
        return dataclasses.replace(bare_yard, trees=(Tree(id="a", **(form | options)),))

    known = tree(trunk_diameter=0.5)
    assert np.isinf(at(known, 0.62, 0.0, cell=0.05)[1])
    assert np.isfinite(at(known, 0.78, 0.0, cell=0.05)[1])
    assert np.isinf(at(tree(), 0.05, 0.0)[1])
    assert np.isinf(at(tree(crown_base=0.2), 1.5, 0.0)[1])


def test_an_overhang_is_passed_under_and_a_low_deck_is_not(bare_yard):
    def roof(base):
        return dataclasses.replace(
            bare_yard, buildings=(Building(id="a", outline=box(-1, -1, 1, 1), height=3, base=base),)
        )

    assert np.isfinite(at(roof(2.2), 0.05, 0.05)[1])
    assert np.isinf(at(roof(1.2), 0.05, 0.05)[1])


def test_no_wheel_leaves_the_property(bare_yard):
    assert np.isinf(at(bare_yard, 5.75, 0.0)[1])
    assert np.isfinite(at(bare_yard, 5.55, 0.0)[1])


def test_a_feature_can_be_thought_away(bare_yard):
    site = dataclasses.replace(bare_yard, beds=(Bed(id="a", outline=box(-1, -1, 1, 1), height=0.4),))
    assert np.isfinite(at(site, 0.05, 0.05, without=("a",))[1])


def fenced(yard, width, heading=0.0):
    """Return the yard parted by a fence through its middle, with a gate there."""
    line = LineString(rectangle(0, 0, length=20, width=0.001, heading=heading).exterior.coords[:2])
    gap = LineString([line.interpolate(10 - width / 2), line.interpolate(10 + width / 2)])
    return dataclasses.replace(
        yard,
        fences=(Fence(id="fence", line=line, height=1.2),),
        gates=(Gate(id="gate", place=gap.centroid, line=gap, width=width),),
    )


@pytest.mark.parametrize("heading", [0, 17, 45, 80])
def test_a_gate_that_just_fits_is_open(bare_yard, heading):
    ground = cost_field(fenced(bare_yard, 0.86, heading), grid_over(bare_yard.boundary, 0.1))
    assert np.isfinite(ground.loaded[ground.grid.cell_of(0.0, 0.0)])
    assert not narrow_gates(fenced(bare_yard, 0.86, heading))


def test_a_gate_that_is_too_narrow_stays_shut_and_says_so(bare_yard):
    ground = cost_field(fenced(bare_yard, 0.80), grid_over(bare_yard.boundary, 0.1))
    assert np.isinf(ground.loaded[ground.grid.cell_of(0.0, 0.0)])
    (said,) = in_words(narrow_gates(fenced(bare_yard, 0.80)), "metric")
    assert (said.code, said.feature) == ("gate-too-narrow", "gate")
    assert "80 cm wide" in said.text
    assert "85 cm" in said.text


def test_slope_is_read_from_the_terrain_and_unknown_ground_is_level(bare_yard):
    grid = Grid(-10, 10, 1, 20, 12)  # it ends at x = 2
    x, y = np.meshgrid(grid.x, grid.y)
    site = dataclasses.replace(bare_yard, terrain=Terrain(grid, 0.05 * x - 0.02 * y))
    ground = cost_field(site, grid_over(site.boundary, 0.25))
    where = ground.grid.cell_of(-1.0, 1.0)
    assert ground.rise_east[where] == pytest.approx(0.05, abs=1e-9)  # a plane is read exactly
    assert ground.rise_north[where] == pytest.approx(-0.02, abs=1e-9)
    beyond = ground.grid.cell_of(4.0, 1.0)
    assert (ground.rise_east[beyond], ground.rise_north[beyond]) == (0.0, 0.0)


def test_the_ground_along_a_line_by_hand(bare_yard):
    # a plane that rises 3 % eastward and 1 % northward, a way of 5 m that runs 3 m east and 4 m north: it rises by
    # 3 x 0.03 + 4 x 0.01 = 0.13 m in 5 m; to its left, 4 m west and 3 m north, by (3 x 0.01 - 4 x 0.03) / 5
    grid = grid_over(box(-10, -10, 10, 10), 1.0)
    x, y = np.meshgrid(grid.x, grid.y)
    site = dataclasses.replace(bare_yard, terrain=Terrain(grid, 0.03 * x + 0.01 * y))
    pieces = cost_field(site, grid_over(site.boundary, 0.25)).along(LineString([(-2, -2), (1, 2), (-2, -2)]))
    assert pieces.length.sum() == pytest.approx(10)
    assert pieces.length.max() <= 0.25
    half = len(pieces.length) // 2
    assert pieces.rise[:half] == pytest.approx(0.026)
    assert pieces.rise[half:] == pytest.approx(-0.026)
    assert pieces.cross_fall == pytest.approx(0.018)


def test_wet_ground_rolls_harder(bare_yard):
    grid = grid_over(bare_yard.boundary, 0.5)
    assert (cost_field(bare_yard, grid).rolling == GRASS.rolling).all()
    wet = cost_field(bare_yard, grid, wet=True)
    assert (wet.rolling == GRASS.rolling_wet).all()
    assert np.unique(wet.max_grade) == pytest.approx([0.125 - (0.12 - 0.07)])


def test_the_routes_grid_follows_the_clearance_and_the_size(bare_yard):
    assert routing_grid(bare_yard).cell == 0.10
    assert routing_grid(dataclasses.replace(bare_yard, barrow=Barrow(clearance=0.2))).cell == 0.20
    large = dataclasses.replace(bare_yard, boundary=box(0, 0, 400, 400))
    assert routing_grid(large).rows * routing_grid(large).columns <= 302_000


def gated(yard, kind, thick, turned, width):
    """Return the yard parted by a wall, a hedge or a fence of that thickness, its gate laid along its drawn line."""
    band = rotate(box(-10, -thick / 2, 10, thick / 2), turned, origin=(0, 0))
    middle = rotate(LineString([(-10, 0), (10, 0)]), turned, origin=(0, 0))
    edge = 0.0 if kind == "fence" else -thick / 2  # along the outline of what is drawn as an area
    gap = rotate(LineString([(-width / 2, edge), (width / 2, edge)]), turned, origin=(0, 0))
    barriers = {
        "wall": {"fences": (Fence(id="b", line=LineString(band.exterior), outline=band, height=1.5),)},
        "hedge": {"hedges": (Hedge(id="b", outline=band, height=1.5),)},
        "fence": {"fences": (Fence(id="b", line=middle, height=1.5, thickness=thick),)},
    }[kind]
    gate = Gate(id="gate", place=gap.centroid, line=gap, width=width)
    return dataclasses.replace(yard, gates=(gate,), **barriers)


@pytest.mark.parametrize("kind", ["wall", "hedge", "fence"])
@pytest.mark.parametrize("thick", [0.25, 0.6, 2.0])
@pytest.mark.parametrize("turned", [0.0, 33.0])
def test_a_gate_goes_all_the_way_through_whatever_it_stands_in(bare_yard, kind, thick, turned):
    for width, opens in ((1.0, True), (0.86, True), (0.84, False)):  # the barrow needs 0.65 + 2 x 0.10 m
        site = gated(bare_yard, kind, thick, turned, width)
        ground = cost_field(site, grid_over(site.boundary, 0.1))
        pieces, _ = ndimage.label(np.isfinite(ground.loaded), structure=np.ones((3, 3)))
        here, beyond = (pieces[ground.grid.cell_of(*at)] for at in ((0.5, -4.0), (-0.5, 4.0)))
        assert here
        assert beyond
        assert (here == beyond) == opens
        gap = width if opens else 0.0
        (barrier,) = ground.barriers
        assert barrier.shape.area == pytest.approx((20 - gap) * thick, rel=1e-6)


def test_what_stands_far_off_changes_no_cell_and_what_stands_at_the_edge_does(bare_yard):
    near = Fence(id="near", line=LineString([(-2, -5), (-2, 5)]), height=1.0)
    site = dataclasses.replace(bare_yard, fences=(near,))
    _, south, east, north = site.boundary.bounds
    far = [Building(id=f"far {k}", outline=box(x, y, x + 8, y + 8), height=6.0)
           for k, (x, y) in enumerate((east + 60 * k, south - 40 * k) for k in range(1, 9))]  # fmt: skip
    at_the_edge = Building(id="edge", outline=box(east + 0.1, south, east + 9, north), height=6.0)
    grid = routing_grid(site)
    alone = cost_field(site, grid)
    crowded = cost_field(dataclasses.replace(site, buildings=tuple(far)), grid)
    edged = cost_field(dataclasses.replace(site, buildings=(*far, at_the_edge)), grid)
    assert np.array_equal(alone.room, crowded.room)
    assert np.array_equal(alone.loaded, crowded.loaded)
    # by hand: its clearance, less what the boundary bars anyway
    column = int(np.searchsorted(grid.x, east - 0.3))
    assert (edged.room[:, column] < alone.room[:, column]).any()
