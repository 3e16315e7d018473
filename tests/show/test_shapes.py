"""Shapes are drawn where they are, and look like what they are."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from shapely import LineString, MultiPolygon, Point, Polygon, box

from siteplan.land.features import Building, Tree
from siteplan.land.outline import rectangle
from siteplan.show.symbols.property import property_layers
from siteplan.show.symbols.shapes import arrow_marks, crown_edges, drawn, ridge_line


def test_holes_and_parts_are_kept():
    court = Polygon([(0, 0), (4, 0), (4, 4), (0, 4)], [[(1, 1), (2, 1), (2, 2), (1, 2)]])
    assert [len(rings) for rings in drawn(MultiPolygon([court, box(6, 0, 7, 1)]))["c"]] == [2, 1]


@pytest.mark.parametrize("heading", [0, 30, 90, 151])
def test_ridge_runs_along_the_longer_side(heading):
    house = Building(id="h", outline=rectangle(3, 4, length=10, width=6, heading=heading), height=7, eaves=4)
    ridge = ridge_line(house)
    (x0, y0), (x1, y1) = ridge.coords
    assert ridge.length == pytest.approx(10, abs=1e-5)
    assert np.degrees(np.arctan2(x1 - x0, y1 - y0)) % 180 == pytest.approx(heading, abs=1e-3)


def test_ridge_heading_is_obeyed_and_flat_roofs_have_none():
    outline = box(0, 0, 10, 6)
    across = ridge_line(Building(id="h", outline=outline, height=7, eaves=4, ridge_heading=0))
    assert across.length == pytest.approx(6)
    assert ridge_line(Building(id="h", outline=outline, height=7)) is None


@pytest.mark.parametrize("foliage", ["deciduous", "evergreen"])
@pytest.mark.parametrize("radius", [0.4, 2.0, 6.0])
def test_a_crown_s_edge_holds_the_crown_and_little_more(foliage, radius):
    crown = Point(1, 2).buffer(radius, quad_segs=32)
    tree = Tree(id="t", outline=crown, trunk=Point(1, 2), height=9, crown_base=1, foliage=foliage)
    (edge,) = crown_edges(tree)
    assert edge.is_valid
    # lobes reach out by at most 45 cm, and their feet lie on the crown's own edge
    assert shapely.hausdorff_distance(edge.exterior, crown.exterior) < 0.46
    assert edge.area > 0.9 * crown.area


def test_arrows_point_along_the_way():
    marks = arrow_marks(LineString([(0, 0), (0, 10), (10, 10)]), every=5)
    assert marks[0][2] == pytest.approx(0)
    assert marks[-1][2] == pytest.approx(90)


def test_every_feature_is_drawn_with_its_name(drawn_site):
    layers = property_layers(drawn_site)
    said = {item["t"][0] for items in layers.values() for item in items if "t" in item}
    for feature in (*drawn_site.buildings, *drawn_site.trees, *drawn_site.hedges, *drawn_site.fences, *drawn_site.gates,
                    *drawn_site.surfaces, *drawn_site.taps, *drawn_site.doors, *drawn_site.keepouts):  # fmt: skip
        assert feature.id in said


def test_larger_surfaces_lie_under_smaller_ones(drawn_site):
    surfaces = [item["t"][0] for item in property_layers(drawn_site)["ground"] if item["k"] == "surface"]
    assert surfaces.index("lawn") < surfaces.index("path")


@pytest.mark.parametrize(
    ("foliage", "radius", "count", "rise"),
    [
        # edge 12.57 m: a lobe each 12.57/18 = 0.698 m, 0.698/3.2 m high; a spike each 12.57/26 = 0.483 m, half as high
        ("deciduous", 2.0, 18, 0.218),
        ("evergreen", 2.0, 26, 0.242),
        # edge 37.7 m: lobes at most 1.6 m wide and 40 cm high, spikes 37.7/26 = 1.45 m and at most 45 cm high
        ("deciduous", 6.0, 24, 0.400),
        ("evergreen", 6.0, 26, 0.450),
        # edge 2.5 m: none narrower than 35 cm, and eight at the least
        ("deciduous", 0.4, 8, 0.35 / 3.2),
        ("evergreen", 0.4, 8, 0.35 / 2),
    ],
)
@pytest.mark.parametrize("turned", [False, True])
def test_a_crown_has_as_many_lobes_and_spikes_as_its_edge_is_long(foliage, radius, count, rise, turned):
    crown = Point(1, 2).buffer(radius, quad_segs=64)
    crown = crown.reverse() if turned else crown
    tree = Tree(id="t", outline=crown, trunk=Point(1, 2), height=9, crown_base=1, foliage=foliage)
    (edge,) = crown_edges(tree)
    points = np.asarray(edge.exterior.coords)[:-1] - (1, 2)
    assert len(points) == count * (2 if foliage == "evergreen" else 5)
    away = np.hypot(*points.T)
    # each rises from the middle of its chord; a lobe's highest points stand at 0.4 and 0.6 of it: sin(72 degrees)
    half = np.pi / count
    beside, up = (0, 1) if foliage == "evergreen" else (0.1, np.sin(0.4 * np.pi))
    top = np.hypot(radius * np.cos(half) + rise * up, beside * 2 * radius * np.sin(half))
    assert away.max() == pytest.approx(
        top, abs=3e-3
    )  # points are rounded to the millimetre, the circle has 256 sides
    assert away[:: len(points) // count] == pytest.approx(radius, abs=2e-3)  # feet on the edge


def test_the_ridge_of_an_outline_with_a_court_runs_through_its_longer_part():
    court = Polygon([(0, 0), (12, 0), (12, 6), (0, 6)], [[(2, 2), (4, 2), (4, 4), (2, 4)]])
    ridge = ridge_line(Building(id="h", outline=court, height=7, eaves=4, ridge_heading=90))
    middle = shapely.centroid(court).y
    assert np.asarray(ridge.coords) == pytest.approx(np.array([[4, middle], [12, middle]]), abs=1e-6)


def test_arrows_share_a_way_evenly():
    marks = arrow_marks(LineString([(0, 0), (21, 0)]), every=4)  # four whole pieces of 4 m beside the ends
    assert [mark[0] for mark in marks] == pytest.approx([4.2, 8.4, 12.6, 16.8])
    assert {mark[2] for mark in marks} == {90.0}
    assert [mark[:2] for mark in arrow_marks(LineString([(0, 0), (0, 0.1)]), every=4)] == [(0.0, 0.05)]
    assert arrow_marks(LineString([(3, 3), (3, 3)]), every=4) == []


def test_an_arrow_at_a_corner_points_between_its_sides():
    # where it goes by the points 0.2 m before and behind
    assert arrow_marks(LineString([(0, 0), (0, 3), (3, 3)]), every=3.5) == [(0.0, 3.0, 45.0)]
    assert arrow_marks(LineString([(0, 0), (-4, 0)]), every=9) == [(-2.0, 0.0, 270.0)]
