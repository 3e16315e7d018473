"""What each kind of feature shades, drawn on a site and asked of lookup and exact rays, against plane geometry.

One sun in the south, on a winter's and a summer's day. North of an edge at height z its shadow ends z / tan(elevation)
away: the shadows below are those of the edges of each body.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely import LineString, MultiPolygon, Point, box

from siteplan.land.features import Bed, Building, Fence, Gate, Hedge, MonthDay, Tree
from siteplan.sun.engine import SunEngine, sun_engine
from siteplan.sun.obstacles.crowns import SLICES
from siteplan.sun.obstacles.prisms import obstacle_prisms
from siteplan.sun.path.solar_path import SunPath
from siteplan.sun.sun_maps import sun_maps

JANUARY, JULY = 0, 6
LEAVES = {"leaf_out": MonthDay(4, 10), "leaf_fall": MonthDay(10, 27)}
MONTH = np.repeat(np.arange(1, 13), [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])


def sun_in_the_south(elevation):
    """One sun on 15 January and 15 July, each so long that the month's mean is the share of it that is let through."""
    day = np.array([15, 196])
    return SunPath(
        azimuth=np.full(2, 180.0), elevation=np.full(2, float(elevation)), hours=np.full(2, 31.0), time=day * 24.0,
        clock=np.full(2, 12.0), day=day, month=MONTH[day - 1], day_month=MONTH,
    )  # fmt: skip


@pytest.fixture
def lit(tiny_yard):
    """Return a question: how much of a sun reaches points north of what stands, in January and in July?"""
    nothing = {"buildings": (), "trees": (), "hedges": (), "fences": (), "gates": (), "beds": ()}

    def ask(elevation, north, *, east=0.0, leaves=False, **features):
        site = replace(tiny_yard, **(nothing | features))
        engine = SunEngine(
            path=sun_in_the_south(elevation), prisms=obstacle_prisms(site), season=np.ones(365, dtype=bool)
        )
        points = np.column_stack([np.full(len(north), east), north, np.zeros(len(north))])
        looked, exact = (answer(points).month_h[[JANUARY, JULY]] for answer in (engine.hours, engine.exact_hours))
        # single precision; no point lies within a bin of an edge. One sun is too few for cells of leaves three degrees
        # high: tests/sun/test_leaves.py compares them over whole months
        assert leaves or looked == pytest.approx(exact, abs=1e-5)
        return exact

    return ask


def beside(edge, elevation):
    """Return points on either side of a shadow's edge.

    The lookup's levels are half a degree at the most, and the edge moves by L / (sin e cos e) for each radian.
    """
    away = np.radians(0.6) * edge / (np.sin(np.radians(elevation)) * np.cos(np.radians(elevation)))
    return np.array([edge - away, edge + away])


@pytest.mark.parametrize(("elevation", "edge"), [(35.0, 6 / np.tan(np.radians(35))), (60.0, 3 + 3 / np.sqrt(3))])
def test_a_gable_across_the_sun_shades_from_its_ridge_or_its_eaves(lit, elevation, edge):
    # 6 m wide, eaves at 3 m, ridge at 6 m over the middle: a roof of 45 degrees, so that the ridge is seen from the
    # ground by a sun below 45 degrees, and the eaves are what shades by one above
    house = Building(id="h", outline=box(-20, -3, 20, 3), height=6, eaves=3)
    assert lit(elevation, beside(edge, elevation), buildings=(house,)).tolist() == [[0, 1], [0, 1]]


def test_a_gable_end_shades_as_high_as_the_roof_is_there(lit):
    # the ridge runs towards the sun: over x = 0 the end wall is 6 m high, over x = 10, half way to the eaves, 4.5 m
    house = Building(id="h", outline=box(-20, -3, 20, 3), height=6, eaves=3, ridge_heading=0.0)
    for east, height in ((0.0, 6.0), (10.0, 4.5), (-10.0, 4.5)):
        edge = 3 + height / np.tan(np.radians(50))
        assert lit(50, beside(edge, 50), east=east, buildings=(house,)).tolist() == [[0, 1], [0, 1]]


@pytest.mark.parametrize("light", [0.0, 0.5])
def test_a_roof_on_posts_shades_between_the_shadows_of_its_two_edges(lit, light):
    # an overhang, or a pergola that lets half through: 2 m deep, 2.5 to 2.8 m up
    roof = Building(id="r", outline=box(-5, -2, 5, 0), height=2.8, base=2.5, transmittance=light)
    # at 45 degrees the shadow runs from -2 + 2.5 to 0 + 2.8; a low sun shines in under it, as far as its back edge
    got = lit(45, [-1.0, 0.4, 0.6, 2.7, 2.9], buildings=(roof,))
    assert got == pytest.approx(np.array([[1, 1, light, light, 1]] * 2), abs=1e-9)
    # at 70 degrees from -2 + 0.910 to 0 + 1.019: under its own outline as well, which lies above the ground
    got = lit(70, [-1.5, -0.7, 0.9, 1.2], buildings=(roof,))
    assert got == pytest.approx(np.array([[1, light, light, 1]] * 2), abs=1e-9)


@pytest.mark.parametrize(
    ("form", "begin", "end", "way"),
    [  # the way through the middle of the shadow, by plane geometry
        # crown from 2 m to 6 m, 2 m in radius; a sun of 45 degrees moves an edge at height z by z
        ("cylinder", -2 + 2, 2 + 6, 4 * np.sqrt(2)),
        # the ellipse with half axes 2 and 2 around 4 m is met by rays from 4 - sqrt(2^2 + 2^2) to 4 + sqrt(2^2 + 2^2)
        ("ellipsoid", 4 - np.sqrt(8), 4 + np.sqrt(8), 4.0),
        # a cone steeper than the sun shades from the near edge of its base to its tip
        ("cone", -2 + 2, 0 + 6, 2 * np.sqrt(2)),  # in at its base, out where z - 3 = 2 - (z - 2) / 2: at 4 m
    ],
)
def test_crowns_of_three_forms_shade_from_edge_to_edge(lit, form, begin, end, way):
    tree = Tree(
        id="t", outline=Point(0, 0).buffer(2, quad_segs=32), trunk=Point(0, 0), height=6, crown_base=2,
        crown_form=form, **LEAVES,
    )  # fmt: skip
    # a slice of a crown keeps its volume, and so its edge lies within half a slice's height and half a slice's width
    off = 0.06 if form == "cylinder" else 4 / SLICES
    north = [begin - off, begin + off, (begin + end) / 2, end - off, end + off]
    got = lit(45, north, trees=(tree,), leaves=True)
    assert (got[:, [0, 4]] == 1).all()
    assert (got[:, [1, 3]] < 1).all()
    assert (got[:, [1, 3]] > got[:, [2]]).all()  # the rim is brighter than the middle
    # 0.45 and 0.05 through 6 m by default: data/crowns.csv
    assert np.log(got[:, 2]) == pytest.approx(np.log([0.45, 0.05]) * way / 6, rel=1e-3 if form == "cylinder" else 0.1)


def test_under_the_crown_only_the_trunk_takes_a_low_sun(lit):
    tree = Tree(
        id="t", outline=Point(0, 0).buffer(2, quad_segs=32), trunk=Point(0, 0), height=6, crown_base=2,
        trunk_diameter=0.5, **LEAVES,
    )  # fmt: skip
    # the trunk ends where the crown begins, 2 m up: its shadow at 30 degrees reaches 0.25 + 3.46 m, the crown's begins
    # at -2 + 3.46 m: the two overlap, and the trunk lets nothing through
    got = lit(30, [1.0, 2.5, 3.9], trees=(tree,), leaves=True)
    run = np.sqrt(3)  # on the level for each metre that the ray rises; out of the crown at -2 m, in at its base
    way = (3.9 + 2 - 2 * run) / np.cos(np.radians(30))
    assert got == pytest.approx(np.array([[0, 0, 0.45 ** (way / 6)], [0, 0, 0.05 ** (way / 6)]]), abs=1e-3)
    way = (2.5 + np.sqrt(2**2 - 0.6**2) - 2 * run) / np.cos(np.radians(30))
    beside = lit(30, [1.0, 2.5], east=0.6, trees=(tree,), leaves=True)
    assert beside == pytest.approx(np.array([[1, 0.45 ** (way / 6)], [1, 0.05 ** (way / 6)]]), abs=1e-3)
    bare = replace(tree, trunk_diameter=None)
    assert lit(30, [1.0], trees=(bare,)) == pytest.approx(np.ones((2, 1)))  # no trunk is drawn where none is known


def test_an_evergreen_is_as_dense_in_winter(lit):
    pine = Tree(
        id="t", outline=Point(0, 0).buffer(2), trunk=Point(0, 0), height=6, crown_base=2, foliage="evergreen",
        transmittance_leafy=0.1, **LEAVES,
    )  # fmt: skip
    got = lit(45, [4.0], trees=(pine,), leaves=True)
    assert got == pytest.approx(np.full((2, 1), 0.1 ** (4 * np.sqrt(2) / 6)), rel=1e-2)


def test_a_hedge_around_a_court_takes_by_the_way_and_leaves_the_court_lit(lit):
    ring = box(-6, -6, 6, 6).difference(box(-4, -4, 4, 4))
    hedge = Hedge(id="h", outline=MultiPolygon([ring, box(20, -1, 22, 0)]), height=2.0)

    def through(*level):  # a hedge 1 m thick lets a tenth through (common practice, no source)
        return 0.1 ** (sum(level) / np.cos(np.radians(60)))

    # at 60 degrees shadows are 1.155 m long: in the court behind its south side, in its middle, in the hedge itself,
    # behind all of it
    high = 2 / np.tan(np.radians(60))
    got = lit(60, [-3.5, 0.0, 5.0, 6.5, 7.5], hedges=(hedge,), leaves=True)
    assert got == pytest.approx(np.array([[through(high - 0.5), 1, through(1.0), through(high - 0.5), 1]] * 2))
    # at 10 degrees a ray meets its north side and, lower, its south side: both ways count
    assert lit(10, [6.1], hedges=(hedge,), leaves=True) == pytest.approx(
        np.full((2, 1), 0.1 ** ((2 + min(2, 2 / np.tan(np.radians(10)) - 10.1)) / np.cos(np.radians(10))))
    )
    # the other part stands by itself, with lit ground between the two
    alone = lit(60, [0.5, 2.0], east=21.0, hedges=(hedge,), leaves=True)
    assert alone == pytest.approx(np.array([[through(high - 0.5), 1]] * 2))
    assert lit(60, [0.5], east=13.0, hedges=(hedge,)) == pytest.approx(np.ones((2, 1)))


def test_a_house_of_two_parts_with_a_court_in_one(lit):
    court = box(-6, -6, 6, 6).difference(box(-4, -4, 4, 4))
    house = Building(id="h", outline=MultiPolygon([court, box(10, -6, 14, 6)]), height=3.0)
    got = lit(60, [-3.0, 0.0, 3.9, 5.0, 6.5, 8.5], buildings=(house,))  # shadows of 1.732 m
    assert got.tolist() == [[0, 1, 1, 0, 0, 1]] * 2
    assert lit(60, [0.0], east=8.0, buildings=(house,)).tolist() == [[1], [1]]  # the yard between its parts
    assert lit(60, [7.0], east=12.0, buildings=(house,)).tolist() == [[0], [0]]


def test_a_slatted_fence_shades_by_its_share_above_its_gap_and_not_in_its_gate(lit):
    fence = Fence(id="f", line=LineString([(-5, 0), (5, 0)]), height=1.8, base=0.3, transmittance=0.4)
    gate = Gate(id="g", place=Point(0, 0), line=LineString([(-0.6, 0), (0.6, 0)]), width=1.2)
    # at 30 degrees from 0.52 m (the gap below) to 3.12 m
    north = [0.4, 0.7, 2.9, 3.3]
    assert lit(30, north, fences=(fence,)) == pytest.approx(np.array([[1, 0.4, 0.4, 1]] * 2))
    assert lit(30, north, fences=(fence,), gates=(gate,)) == pytest.approx(np.ones((2, 4)))
    assert lit(30, north, east=1.0, fences=(fence,), gates=(gate,)) == pytest.approx(np.array([[1, 0.4, 0.4, 1]] * 2))


def test_another_bed_shades_with_soil_trellis_and_crop(lit):
    bed = Bed(id="b", outline=box(-1.2, 0, 1.2, 1.2), height=0.4, trellis_height=2.0)
    # 45 degrees: the soil's shadow ends 0.4 m behind the bed, the trellis' 2 m behind; a net with climbers lets 0.3
    # through, the net alone 0.9, a crop 0.2 through 1.2 m (common practice, no source)
    north = [1.5, 2.2, 3.1, 3.3]
    assert lit(45, north, beds=(bed,)) == pytest.approx(np.array([[0, 0.9, 0.9, 1], [0, 0.3, 0.3, 1]]))
    tall = replace(bed, crop_height=1.4)  # its shadow ends at 2.6 m; from 2.2 m the ray is in it from 1 m up to 1.4 m
    crop = 0.2 ** (0.4 * np.sqrt(2) / 1.2)
    got = lit(45, [1.5, 2.2, 3.1, 3.3], beds=(tall,), leaves=True)
    assert got == pytest.approx(np.array([[0, 0.9, 0.9, 1], [0, crop * 0.3, 0.3, 1]]))
    alone = lit(45, [2.2, 2.8], beds=(replace(tall, trellis_height=None),), leaves=True)
    assert alone == pytest.approx(np.array([[1, 1], [crop, 1]]))


def test_what_stands_beyond_the_boundary_shades_the_map(tiny_yard):
    tower = Building(id="tower", outline=box(-40, -14, 40, -10), height=8)
    bare = replace(
        tiny_yard, buildings=(tower,), trees=(), hedges=(), fences=(), gates=(), beds=()
    )  # its boundary runs from -5 to 5
    engine = SunEngine(path=sun_in_the_south(45), prisms=obstacle_prisms(bare), season=np.ones(365, dtype=bool))
    maps = sun_maps(bare, engine)
    dark = maps.month_h[JULY][:, maps.grid.columns // 2] < 0.5
    assert dark.tolist() == (maps.grid.y < -10 + 8).tolist()


def test_leaves_come_and_go_on_their_day(tiny_yard):
    # a crown all around a point, 6 m to its edge: of each ray 0.05 in leaf, first and last day included, and 0.45 before
    # and after, to the power of its length over 6 m
    oak = Tree(
        id="oak", outline=Point(0, 0).buffer(6, quad_segs=256), trunk=Point(0, 0), height=200, crown_base=0,
        leaf_out=MonthDay(4, 13), leaf_fall=MonthDay(10, 20),
    )  # fmt: skip
    engine = sun_engine(replace(tiny_yard, trees=(oak,), buildings=(), fences=(), gates=(), beds=()))
    path, month_days = engine.path, engine.path.month_days
    share = np.where((path.day >= 103) & (path.day <= 293), 0.05, 0.45) ** (1 / np.cos(np.radians(path.elevation)))
    by_hand = np.bincount(path.month - 1, weights=path.hours * share) / month_days
    point = np.zeros((1, 3))
    assert engine.exact_hours(point).month_h[:, 0] == pytest.approx(by_hand, abs=2e-3)
    assert engine.hours(point).month_h[:, 0] == pytest.approx(by_hand, abs=0.01)
