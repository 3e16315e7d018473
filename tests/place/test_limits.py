"""What forbids ground: each limit by hand, and the exact test of an outline."""

from __future__ import annotations

import numpy as np
import pytest
from shapely import LineString, Point, box

from siteplan.land.features import Bed, Building, Door, Fence, Gate, Hedge, Keepout, Pile, Surface, Tap, Tree
from siteplan.land.grid import grid_over
from siteplan.land.outline import rectangle
from siteplan.land.site import PlaceSettings
from siteplan.land.terrain import Terrain
from siteplan.place.limits.limits import REACH, LimitIndex, fit_check, ground_slope, limits, limits_by_width
from siteplan.say.place_limits import limit_text

SETTINGS = PlaceSettings(wall_setback=0.5, boundary_setback=0.25, aisle=0.6, barrow_aisle=0.9, max_slope=0.15)


def only(site, name, **options):
    grid = grid_over(site.boundary, site.sun.cell)
    found = [limit for limit in limits(site, grid, **options) if limit.kind == name]
    assert len(found) == 1, [limit.kind for limit in found]
    return found[0]


def mask(limit):
    """Return which cells a limit forbids, from the part of the grid about it."""
    found = np.zeros(limit.grid.shape, dtype=bool)
    where, there = limit.part
    found[where] = there
    assert np.array_equal(found, limit.grid.inside(limit.ground))
    return found


def test_an_empty_yard_forbids_its_edge_alone(yard):
    site = yard(place=SETTINGS, cell=0.5)
    grid = grid_over(site.boundary, 0.5)
    found = limits(site, grid)
    assert [limit.kind for limit in found] == ["boundary"]
    # cell centres stand 0.25 m from the edge, which the setback of 0.25 m just touches: the outermost ring of cells
    assert mask(found[0])[0].all()
    assert not mask(found[0])[1:-1, 1:-1].any()
    fits = fit_check(found)
    assert fits(box(0.25, 0.25, 2, 1)) is None  # touching is allowed
    assert fits(box(0.2, 1, 2, 2)).kind == "boundary"
    assert fits(box(-50, 1, -48, 2)).kind == "boundary"


@pytest.mark.parametrize("lot", [box(300, 0, 340, 20), box(0, 300, 20, 340), box(-150, -5, 150, 5)])
def test_all_around_a_property_is_beyond_it(yard, lot):
    """As far as 50 m on each side, wherever it lies and however long it is."""
    fits = fit_check(limits(yard(lot, place=SETTINGS, cell=1.0), grid_over(lot, 1.0)))
    west, south, east, north = lot.bounds
    middle = (west + east) / 2, (south + north) / 2
    for x, y in ((west - 50, middle[1]), (east + 50, middle[1]), (middle[0], south - 50), (middle[0], north + 50)):
        assert fits(box(x - 1, y - 1, x + 1, y + 1)).kind == "boundary"
    assert fits(box(middle[0] - 1, middle[1] - 1, middle[0] + 1, middle[1] + 1)) is None


@pytest.mark.parametrize(
    ("part", "name", "clear", "barred"),
    [
        # clear touches the limit, barred overlaps it by 2 cm
        ({"buildings": (Building(id="shed", outline=box(4, 3, 6, 5), height=2),)}, "building", 6.6, 6.58),
        ({"hedges": (Hedge(id="box", outline=box(5, 3, 6, 5), height=1),)}, "hedge", 6.6, 6.58),
        ({"fences": (Fence(id="run", line=LineString([(6, 1), (6, 7)]), height=1, thickness=0.1),)}, "fence", 6.65, 6.63),
        ({"surfaces": (Surface(id="drive", outline=box(4, 0, 6, 8), surface="paved"),)}, "surface", 6.0, 5.98),
        ({"keepouts": (Keepout(id="drain", outline=box(4, 3, 6, 5), reason="septic field", setback=1.0),)}, "keepout", 7.0, 6.98),
        ({"beds": (Bed(id="old", outline=box(4, 3, 6, 5), height=0.3),)}, "bed", 6.6, 6.58),
        ({"doors": (Door(id="back", place=Point(6, 4)),)}, "door", 6.9, 6.88),
        ({"taps": (Tap(id="tap", place=Point(6, 4)),)}, "tap", 6.3, 6.28),
        ({"piles": (Pile(id="heap", shape=box(4, 3, 6, 5)),)}, "pile", 6.9, 6.88),
    ],
)  # fmt: skip
def test_each_thing_keeps_its_distance(yard, part, name, clear, barred):
    site = yard(place=SETTINGS, cell=0.25, **part)
    limit = only(site, name)
    assert limit.feature in {feature.id for feature in site.features()}
    fits = fit_check((limit,))
    assert fits(box(clear, 3.5, clear + 1, 4.5)) is None
    assert fits(box(barred, 3.5, barred + 1, 4.5)) is limit
    x, y = np.meshgrid(limit.grid.x, limit.grid.y)
    beside = (np.abs(y - 4) < 0.5) & (x > clear)
    assert not mask(limit)[beside].any()
    assert mask(limit).any()


def test_a_gate_is_kept_clear_on_both_sides(yard):
    gate = Gate(id="gate", place=Point(5, 4), line=LineString([(4.5, 4), (5.5, 4)]), width=1.0)
    limit = only(yard(place=SETTINGS, gates=(gate,)), "gate")
    assert limit.ground.contains(Point(5, 4.85))
    assert limit.ground.contains(Point(5, 3.15))
    assert not limit.ground.contains(Point(5, 4.95))


def test_a_narrow_bed_may_stand_nearer_to_a_wall(yard):
    shed = Building(id="shed", outline=box(4, 3, 6, 5), height=2)
    site = yard(place=PlaceSettings(wall_setback=0.1, aisle=0.6), buildings=(shed,))
    narrow, wide = (fit_check((only(site, "building", width=width),)) for width in (REACH, REACH + 0.01))
    beside = box(6.1, 3, 6.7, 5)
    assert narrow(beside) is None
    assert wide(beside).cause == "walk"
    assert (
        limit_text(wide(beside), "metric")
        == "stand on building shed or within 60 cm of it (room to walk around the bed)"
    )


def test_the_limits_of_a_bed_go_by_its_width(yard):
    shed = Building(id="shed", outline=box(4, 3, 6, 5), height=2)
    limits_for = limits_by_width(yard(place=PlaceSettings(wall_setback=0.1, aisle=0.6), buildings=(shed,)))

    def broken(width):
        bed = Bed(id="b", outline=rectangle(6.2 + width / 2, 4, length=2, width=width, heading=0), height=0.4)
        near = limits_for(bed).near(np.array(bed.outline.exterior.coords), ignore="")
        return fit_check(near)(bed.outline)

    assert broken(REACH - 0.01) is None
    assert broken(REACH + 0.01).feature == "shed"


@pytest.mark.parametrize(("base", "bars"), [(1.99, True), (2.0, False), (2.4, False)])
def test_what_starts_two_metres_up_lets_a_bed_pass_beneath(yard, base, bars):
    roof = Building(id="pergola", outline=box(4, 3, 6, 5), height=2.6, base=base)
    wires = Fence(id="wires", line=LineString([(6, 1), (6, 7)]), height=2.6, base=base)
    for site in (yard(buildings=(roof,)), yard(fences=(wires,))):
        kinds = [limit.kind for limit in limits(site, grid_over(site.boundary, 0.5))]
        assert (len(kinds) > 1) is bars


def test_a_lawn_in_a_paved_yard_stays_free(yard):
    paved = Surface(id="court", outline=box(0, 0, 10, 8), surface="paved")
    lawn = Surface(id="lawn", outline=box(3, 3, 6, 6), surface="grass")
    fits = fit_check((only(yard(surfaces=(paved, lawn)), "surface"),))
    assert fits(box(3, 3, 6, 6)) is None
    assert fits(box(2.9, 3, 6, 6)) is not None


def test_roots_by_the_stem_else_by_the_crown(yard):
    crown = Point(5, 4).buffer(2.0)
    stem = {"trunk": Point(5, 4), "outline": crown, "height": 6, "crown_base": 2}
    known = only(yard(trees=(Tree(id="plum", trunk_diameter=0.2, **stem),)), "roots").ground
    assert known.bounds == pytest.approx((2.6, 1.6, 7.4, 6.4))  # 12 x 0.2 m around the trunk
    assert only(yard(trees=(Tree(id="plum", **stem),)), "roots").ground.equals(crown)


def test_a_neighbours_tree_counts_where_its_roots_reach_over(yard):
    def tree(x):
        place = Point(x, 4)
        return Tree(id="oak", outline=place.buffer(1), trunk=place, height=9, crown_base=2, trunk_diameter=0.25)

    assert mask(only(yard(trees=(tree(-2.5),)), "roots")).any()
    site = yard(trees=(tree(-3.1),))
    assert "roots" not in {limit.kind for limit in limits(site, grid_over(site.boundary, 0.5))}


def test_steep_ground(yard):
    site = yard()
    grid = grid_over(box(-2, -2, 12, 10), 0.5)
    x = np.meshgrid(grid.x, grid.y)[0]
    ramp = Terrain(grid, np.where(x < 5, 0.1 * x, 0.5 + 0.2 * (x - 5)))  # 10 % in the west, 20 % in the east
    site = yard(terrain=ramp, place=SETTINGS)
    cells = grid_over(site.boundary, 0.5)
    slope = ground_slope(site, cells)
    assert slope[:, :8] == pytest.approx(0.1)
    assert slope[:, 12:] == pytest.approx(0.2)
    # over a metre about x = 5.25: from 0.475 at 4.75 to 0.65 at 5.75
    assert slope[:, 10] == pytest.approx(0.175)
    limit = only(site, "slope")
    assert mask(limit)[:, 12:].all()
    assert not mask(limit)[:, :8].any()
    assert fit_check((limit,))(box(1, 1, 3, 2)) is None
    steep = fit_check((limit,))(box(7, 1, 9, 2))
    assert steep is limit
    assert limit_text(limit, "metric") == "lie on ground steeper than 15 %"


def test_ground_that_is_not_known_is_not_held_steep(yard):
    site = yard()
    grid = grid_over(site.boundary, 0.5)
    site = yard(terrain=Terrain(grid, np.full(grid.shape, np.nan)))
    assert [limit.kind for limit in limits(site, grid)] == ["boundary"]


def test_a_bed_that_is_moved_does_not_stand_in_its_own_way(yard):
    site = yard(beds=(Bed(id="old", outline=box(4, 3, 6, 5), height=0.3),))
    grid = grid_over(site.boundary, 0.5)
    assert fit_check(limits(site, grid))(box(4, 3, 6, 5)) is not None
    assert fit_check(limits(site, grid, ignore={"old"}))(box(4, 3, 6, 5)) is None


def test_a_bed_that_stands_too_near_already_may_be_turned_but_not_into_the_wall(yard):
    shed = Building(id="shed", outline=box(0, 0, 4, 8), height=2)
    site = yard(place=SETTINGS, buildings=(shed,))
    grid = grid_over(site.boundary, 0.5)
    standing = rectangle(4.8, 4, length=2, width=1, heading=0)  # 0.3 m from the shed
    strict, lenient = fit_check(limits(site, grid)), fit_check(limits(site, grid), standing=standing)
    assert strict(standing) is not None
    assert lenient(standing) is None
    assert lenient(rectangle(4.9, 4, length=2, width=1, heading=20)) is None
    assert lenient(rectangle(4.8, 4, length=2, width=1, heading=90)) is not None  # its end would be in the shed
    assert lenient(rectangle(9.0, 4, length=2.4, width=1, heading=90)) is not None  # over the boundary


def test_a_way_for_a_wheelchair_is_wider_and_flatter(yard):
    # 36 in of clear width and at most 1:20 by the ADA Standards, seen second-hand
    shed = Building(id="shed", outline=box(4, 3, 6, 5), height=2)
    grid = grid_over(box(-2, -2, 12, 10), 0.5)
    ramp = Terrain(grid, 0.06 * np.meshgrid(grid.x, grid.y)[0])
    site = yard(buildings=(shed,), place=PlaceSettings(accessible=True), terrain=ramp)
    assert only(site, "building", width=0.5).ground.bounds[0] == pytest.approx(4 - 36 * 0.0254)
    assert mask(only(site, "slope")).all()
    plain = yard(buildings=(shed,), place=PlaceSettings(), terrain=ramp)
    assert "slope" not in {limit.kind for limit in limits(plain, grid_over(plain.boundary, 0.5))}


def test_limits_near_a_spot_judge_as_all_of_them_do(yard):
    sheds = tuple(Building(id=f"shed {k}", outline=box(k, 0, k + 0.5, 0.5), height=2) for k in range(-4, 5))
    site = yard(place=SETTINGS, cell=0.5, buildings=sheds)
    every = limits(site, grid_over(site.boundary, 0.5))
    for x in range(-5, 5):
        outline = box(x + 0.5, 0.8, x + 1.5, 1.4)
        near = LimitIndex(every).near(np.array(outline.buffer(0.1).exterior.coords), ignore="shed 0")
        without = tuple(limit for limit in every if limit.feature != "shed 0")
        assert fit_check(near)(outline) is fit_check(without)(outline)
        assert [limit for limit in without if limit in near] == list(near)


@pytest.mark.parametrize(("surface", "stays"), [
    ("paved", True), ("gravel", True), ("steps", True), ("grass", False), ("mulch", False), ("soil", False), ("mud", False),
])  # fmt: skip
def test_surfaces_that_people_walk_on_stay(yard, surface, stays):
    site = yard(surfaces=(Surface(id="s", outline=box(4, 3, 6, 5), surface=surface),))
    found = [one for one in limits(site, grid_over(site.boundary, 0.5)) if one.kind == "surface"]
    assert [(one.feature, one.cause, one.margin) for one in found] == ([("s", surface, 0.0)] if stays else [])


def test_the_smaller_of_two_surfaces_counts(yard):
    court = Surface(id="court", outline=box(2, 2, 8, 6), surface="paved")
    large = Surface(id="large", outline=box(0, 0, 10, 8), surface="grass")
    path = Surface(id="path", outline=box(3, 3, 7, 4), surface="gravel")
    beds = (
        Surface(id="b1", outline=box(2, 5, 4, 6), surface="soil"),
        Surface(id="b2", outline=box(7, 1, 9, 4), surface="mulch"),
    )
    site = yard(surfaces=(large, court, path, *beds))
    found = {one.feature: one.ground for one in limits(site, grid_over(site.boundary, 0.5)) if one.kind == "surface"}
    assert found["court"].area == pytest.approx(24 - 2 - 2)  # the lawn about it and the path upon it take nothing
    assert found["path"].area == 4
    assert set(found) == {"court", "path"}


@pytest.mark.parametrize(("width", "margin"), [(0.5, 0.6), (0.61, 0.6), (0.62, 0.6), (None, 0.6)])
@pytest.mark.parametrize(("setback", "cause"), [(0.7, "setback"), (0.6, "walk"), (0.1, "walk")])
def test_the_larger_of_setback_and_walk_counts(yard, width, margin, setback, cause):
    """A bed of 61 cm is reached across from one side, and needs no walk behind it; two beds always have their aisle."""
    shed, old = Building(id="s", outline=box(4, 3, 6, 5), height=2), Bed(id="b", outline=box(8, 3, 9, 5), height=0.3)
    site = yard(place=PlaceSettings(wall_setback=setback, aisle=0.6), buildings=(shed,), beds=(old,))
    found = only(site, "building", width=width)
    narrow = width is not None and width <= 0.61
    assert found.margin == (setback if narrow else max(setback, margin))
    assert found.cause == ("setback" if narrow else cause)
    assert only(site, "bed", width=width).margin == 0.6
    assert only(site, "bed", width=width, aisle=0.9).margin == 0.9
    assert only(site, "building", width=None, aisle=0.9).margin == 0.9


@pytest.mark.parametrize(("accessible", "settings", "steepest"), [
    (False, {}, 0.15), (False, {"max_slope": 0.08}, 0.08), (True, {}, 0.05), (True, {"max_slope": 0.03}, 0.03),
])  # fmt: skip
def test_the_steepest_ground_of_a_bed(yard, accessible, settings, steepest):
    grid = grid_over(box(-2, -2, 12, 10), 0.5)
    for slope, steep in ((steepest - 1e-4, False), (steepest + 1e-4, True)):
        ramp = Terrain(grid, slope * np.meshgrid(grid.x, grid.y)[1])
        site = yard(terrain=ramp, place=PlaceSettings(accessible=accessible, **settings), cell=0.5)
        found = [one for one in limits(site, grid_over(site.boundary, 0.5)) if one.kind == "slope"]
        assert [(one.steepest, one.feature) for one in found] == ([(steepest, "")] if steep else [])
        assert not steep or found[0].ground.equals(site.boundary)


def test_one_steep_cell_is_where_it_is(yard):
    grid = grid_over(box(-2, -2, 12, 10), 0.5)
    x, y = np.meshgrid(grid.x, grid.y)
    wall = Terrain(grid, np.where((x > 7) & (y > 5), 2.0, 0.0))
    found = only(yard(terrain=wall, cell=0.5), "slope").ground
    assert found.bounds == (6.5, 4.5, 10, 8)
    assert found.contains(Point(6.75, 6))
    assert not found.intersects(box(0, 0, 6.4, 8))
    assert not found.intersects(box(8, 6, 9, 7))


@pytest.mark.parametrize(("width", "margin"), [(1.0, 0.9), (1.8, 0.9), (3.0, 1.5)])
def test_a_wide_gate_is_kept_clear_as_far_as_its_half(yard, width, margin):
    gate = Gate(id="gate", place=Point(5, 4), line=LineString([(5 - width / 2, 4), (5 + width / 2, 4)]), width=width)
    assert only(yard(place=SETTINGS, gates=(gate,)), "gate").margin == margin


@pytest.mark.parametrize(("over", "fits"), [(0.0009, True), (0.0011, False)])
def test_outlines_that_touch_do_not_overlap(yard, over, fits):
    shed = Building(id="s", outline=box(4, 3, 6, 5), height=2)
    limit = only(yard(place=PlaceSettings(wall_setback=0.0, aisle=0.0), buildings=(shed,)), "building")
    assert (fit_check((limit,))(box(6 - over, 3, 7, 5)) is None) is fits


@pytest.mark.parametrize(("part", "kind", "may"), [
    ({"keepouts": (Keepout(id="k", outline=box(4, 3, 6, 5), reason="pipe", setback=0.5),)}, "keepout", True),
    ({"trees": (Tree(id="t", outline=box(4, 3, 6, 5), trunk=Point(5, 4), height=4, crown_base=2),)}, "roots", True),
    ({"piles": (Pile(id="p", shape=box(4, 3, 6, 5)),)}, "pile", True),
    ({"surfaces": (Surface(id="s", outline=box(4, 3, 6, 5), surface="paved"),)}, "surface", True),
    ({"buildings": (Building(id="b", outline=box(4, 3, 6, 5), height=2),)}, "building", False),
    ({"hedges": (Hedge(id="h", outline=box(4, 3, 6, 5), height=2),)}, "hedge", False),
    ({"beds": (Bed(id="o", outline=box(4, 3, 6, 5), height=0.4),)}, "bed", False),
])  # fmt: skip
def test_what_a_bed_stands_on_already_forbids_nothing_that_it_may_turn_on(yard, part, kind, may):
    limit = only(yard(place=SETTINGS, **part), kind)
    on_it, beside = box(5, 3.5, 8, 4.5), box(6.2, 3.5, 8, 4.5)
    assert (fit_check((limit,), standing=on_it)(box(4.5, 3.5, 7.5, 4.5)) is None) is may
    moved = fit_check((limit,), standing=beside)
    assert moved(box(5.9, 3.5, 7.7, 4.5)) is limit  # that ground was free
    assert (moved(box(6.1, 3.5, 7.9, 4.5)) is None) is (limit.margin > 0.2 or kind in {"roots", "surface"})
