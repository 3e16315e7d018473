"""What a feature's values become: crowns, trunks, leaves, lines, and how far each figure may be off; by hand."""

from __future__ import annotations

import math

import pytest
from shapely import LineString, MultiPolygon, Point, Polygon, box

from siteplan.files.constant_tables import read_crowns, read_spreads
from siteplan.files.drawing.feature_records import made_feature
from siteplan.files.drawing.naming import NamedFeature
from siteplan.files.remarks import Remarks
from siteplan.land.features import MonthDay


def made(kind, shape, *, southern=False, **values):
    remarks = Remarks()
    found = made_feature(NamedFeature("n", kind, {}, shape), shape, values, southern=southern, remarks=remarks)
    return found, [one.text for one in remarks.cautions]


def tree(shape=None, **values):
    return made("tree", shape or Point(3, 4), **{"height": 8.0, "crown_diameter": 6.0} | values)[0]


def test_a_tree_drawn_as_a_point():
    for found in (tree(), made("tree", Point(3, 4), height=8.0, crown_radius=3.0)[0]):
        assert found.outline.area == pytest.approx(math.pi * 9, rel=2e-3)
        assert found.outline.bounds == pytest.approx((0, 1, 6, 7))
        assert (
            len(found.outline.exterior.coords) == 65
        )  # 16 to a quarter: the rim lies within 3 m (1 - cos 2.8°) = 4 mm
        assert found.trunk == Point(3, 4)
        assert found.crown_base == 2.0  # a quarter of its height
    assert tree(crown_base=0.5).crown_base == 0.5


def test_a_crown_has_a_diameter_or_a_radius():
    # the radius would be left out without a word, and it may be the right one: 3 m is no half of 8 m
    with pytest.raises(ValueError, match=r"^has both crown_diameter and crown_radius; give one of them$"):
        tree(crown_diameter=8.0, crown_radius=3.0)
    area = tree(box(0, 0, 4, 2), crown_diameter=8.0, crown_radius=3.0)
    assert area.outline.area == 8  # its crown is drawn


def test_a_tree_drawn_as_an_area_has_its_trunk_within():
    assert tree(box(0, 0, 4, 2)).trunk == Point(2, 1)
    bent = Polygon([(0, 0), (10, 0), (10, 10), (9, 10), (9, 1), (0, 1)])
    found = tree(bent)
    assert not bent.contains(bent.centroid)
    assert bent.contains(found.trunk)


def test_when_trees_are_in_leaf():
    """From day 100 to day 300, and half a year later in the south."""
    assert (tree().leaf_out, tree().leaf_fall) == (MonthDay(4, 10), MonthDay(10, 27))
    south = tree(southern=True)
    assert (south.leaf_out, south.leaf_fall) == (MonthDay(10, 9), MonthDay(4, 27))
    own = tree(leaf_out=MonthDay(5, 1))
    assert (own.leaf_out, own.leaf_fall) == (MonthDay(5, 1), MonthDay(10, 27))
    assert (tree(foliage="evergreen").leaf_out, tree(foliage="evergreen").leaf_fall) == (None, None)


def test_what_an_evergreen_tree_ignores():
    text = "It is evergreen, so leaf_out, leaf_fall and transmittance_bare are ignored."
    for more in ({"leaf_out": MonthDay(5, 1)}, {"leaf_fall": MonthDay(5, 1)}, {"transmittance_bare": 0.5}):
        found, said = made("tree", Point(0, 0), height=8.0, crown_diameter=6.0, foliage="evergreen", **more)
        assert said == [text]
        assert found.leaf_out is None
    assert made("tree", Point(0, 0), height=8.0, crown_diameter=6.0, foliage="evergreen")[1] == []
    found = tree(foliage="evergreen", transmittance_leafy=0.2, transmittance_bare=0.5)
    assert (found.transmittance_leafy, found.transmittance_bare) == (0.2, 0.2)


def test_what_leaves_let_through():
    medium, dense = read_crowns()["deciduous", "medium"], read_crowns()["deciduous", "dense"]
    assert (tree().transmittance_leafy, tree().transmittance_bare) == (
        medium.transmittance_leafy,
        medium.transmittance_bare,
    )
    assert tree(crown_density="dense").transmittance_leafy == dense.transmittance_leafy
    assert tree().transmittance_path is not None
    own = tree(transmittance_leafy=0.3)
    assert (own.transmittance_leafy, own.transmittance_path) == (0.3, None)  # through the crown at its own width
    assert tree(transmittance_bare=0.7).transmittance_bare == 0.7
    assert tree(transmittance_leafy=0.3, transmittance_path=5.0).transmittance_path == 5.0


def test_several_stems_are_one_of_their_area():
    """BS 5837: the root of the sum of the squares; of 30 and 40 cm 50 cm."""
    assert tree(trunk_diameters=(0.3, 0.4)).trunk_diameter == pytest.approx(0.5)
    assert tree(trunk_diameter=0.2).trunk_diameter == 0.2
    with pytest.raises(ValueError, match="has both trunk_diameter and trunk_diameters; give one of them"):
        tree(trunk_diameters=(0.3,), trunk_diameter=0.3)


def test_a_hedge_drawn_as_a_line_has_its_width():
    found, _ = made("hedge", LineString([(0, 0), (10, 0)]), height=1.5, width=0.8)
    assert found.outline.equals(box(0, -0.4, 10, 0.4))
    area, _ = made("hedge", box(0, 0, 10, 1), height=1.5, width=0.8)
    assert area.outline.equals(box(0, 0, 10, 1))
    assert made("hedge", box(0, 0, 10, 1), height=1.5, transmittance=0.2)[0].transmittance_path is None
    assert made("hedge", box(0, 0, 10, 1), height=1.5)[0].transmittance_path is not None
    own, _ = made("hedge", box(0, 0, 10, 1), height=1.5, transmittance=0.2, transmittance_path=2.0)
    assert own.transmittance_path == 2.0


def test_a_wall_drawn_as_an_area_has_its_edge_as_line():
    line = LineString([(0, 0), (10, 0)])
    fence, _ = made("fence", line, height=1.8)
    assert fence.line == line
    wall, _ = made("fence", box(0, 0, 10, 0.3), height=1.8)
    assert wall.line.equals(LineString(box(0, 0, 10, 0.3).exterior))
    assert wall.outline.equals(box(0, 0, 10, 0.3))
    ring = box(0, 0, 10, 10).difference(box(1, 1, 9, 9))
    assert [part.length for part in made("fence", ring, height=1.8)[0].line.geoms] == [40, 32]
    two = MultiPolygon([box(0, 0, 1, 1), box(5, 0, 6, 1)])
    assert len(made("fence", two, height=1.8)[0].line.geoms) == 2


def test_other_kinds_take_their_shape_under_their_own_name():
    assert made("tap", Point(1, 2))[0].place == Point(1, 2)
    assert made("pile", box(0, 0, 1, 1))[0].shape.equals(box(0, 0, 1, 1))
    house, _ = made("building", box(0, 0, 9, 6), height=5.0, eaves=3.0, ridge_heading=270.0)
    assert (house.ridge_heading, house.outline.area) == (90.0, 54)


def spreads(found):
    return {one.of: (one.below, one.above, one.how) for one in found.spreads}


def test_how_far_the_figures_of_a_building_may_be_off():
    """By the table of spreads: a share of the height, no less than the least and no more than the height itself."""
    usual = read_spreads()["typed"]
    house = made("building", box(0, 0, 9, 6), height=5.0, eaves=3.0, ridge_heading=0.0)[0]
    found = spreads(house)
    size = max(usual.built * 5.0, usual.least)
    assert found["height"] == (pytest.approx(size), pytest.approx(size), "typed")
    assert found["position"] == (usual.position, usual.position, "typed")
    assert found["eaves"][0] == pytest.approx(max(usual.built * 3.0, usual.least))
    low = made("building", box(0, 0, 9, 6), height=usual.least / 2)[0]
    assert spreads(low)["height"][0] == pytest.approx(usual.least / 2)
    guessed = spreads(made("building", box(0, 0, 9, 6), height=5.0, measured="guess")[0])
    assert guessed["height"][2] == "guess"
    assert guessed["height"][0] == pytest.approx(read_spreads()["guess"].built * 5.0)


def test_a_spread_in_the_file_comes_before_the_usual_one():
    found = spreads(made("building", box(0, 0, 9, 6), height=5.0, position_spread=0.7, spreads={"height": 0.25})[0])
    assert found["height"] == (0.25, 0.25, "given")
    assert found["position"] == (0.7, 0.7, "given")
    crown = spreads(made("tree", Point(0, 0), height=8.0, crown_radius=3.0, spreads={"crown_radius": 0.4})[0])
    assert crown["crown_diameter"] == (0.8, 0.8, "given")
    assert "crown_radius" not in crown
    assert "height" not in spreads(made("building", box(0, 0, 9, 6), height=5.0, spreads={"height": 0.0})[0])


def test_how_far_the_figures_of_a_tree_may_be_off():
    usual = read_spreads()["typed"]
    crown = read_crowns()["deciduous", "medium"]
    found = spreads(tree(Polygon([(0, 0), (6, 0), (6, 6), (0, 6)])))
    width = 24 / math.pi  # the mean over all directions of a square of 6 m, by Cauchy
    assert found["crown_diameter"][0] == pytest.approx(max(usual.width * width, usual.least))
    assert found["height"][0] == pytest.approx(max(usual.tree * 8.0, usual.least))
    assert found["transmittance_leafy"] == (
        pytest.approx(crown.transmittance_leafy - crown.leafy_least), pytest.approx(crown.leafy_most - crown.transmittance_leafy), "crowns",
    )  # fmt: skip
    assert found["transmittance_bare"][1] == pytest.approx(crown.bare_most - crown.transmittance_bare)
    assert found["leaf_out"] == found["leaf_fall"] == (usual.leaf_days, usual.leaf_days, "typed")
    given = spreads(tree(transmittance_leafy=0.3, transmittance_bare=0.9))
    factor = usual.leaves
    assert given["transmittance_leafy"] == (
        pytest.approx(0.3 - 0.3 / factor),
        pytest.approx(min(0.3 * factor, 1) - 0.3),
        "typed",
    )
    assert given["transmittance_bare"][1] == pytest.approx(min(0.9 * factor, 1) - 0.9)
    evergreen = spreads(tree(foliage="evergreen"))
    assert not {"leaf_out", "leaf_fall", "transmittance_bare"} & evergreen.keys()
    assert "transmittance_leafy" in evergreen


def test_how_far_a_screen_may_be_off():
    usual = read_spreads()["typed"]
    net = spreads(made("fence", LineString([(0, 0), (9, 0)]), height=1.8, transmittance=0.5)[0])
    assert net["transmittance"] == (
        pytest.approx(min(usual.share, 0.5)),
        pytest.approx(min(usual.share, 0.5)),
        "typed",
    )
    thin = spreads(made("fence", LineString([(0, 0), (9, 0)]), height=1.8, transmittance=0.99)[0])
    assert thin["transmittance"][1] == pytest.approx(0.01)
    thick = spreads(made("fence", LineString([(0, 0), (9, 0)]), height=1.8, transmittance=0.01)[0])
    assert thick["transmittance"][0] == pytest.approx(0.01)
    assert "transmittance" not in spreads(made("fence", LineString([(0, 0), (9, 0)]), height=1.8)[0])
    hedge = spreads(made("hedge", box(0, 0, 9, 1), height=1.8, transmittance=0.3)[0])
    assert hedge["transmittance"] == (
        pytest.approx(0.3 - 0.3 / usual.leaves), pytest.approx(min(0.3 * usual.leaves, 1) - 0.3), "typed",
    )  # fmt: skip
