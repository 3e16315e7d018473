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
