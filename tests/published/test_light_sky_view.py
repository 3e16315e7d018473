"""Does the share of the sky seen agree with closed forms and with published values of four real buildings?"""

from __future__ import annotations

import json
from pathlib import Path

import geopandas as gpd
import numpy as np
import pytest
from shapely import LineString, Point, box

from siteplan.sun.engine import SunEngine
from siteplan.sun.obstacles.prisms import Prism

from ..skies import declination_path, sky_share

LEVEL = 2e-4  # half-degree levels and bins, and single precision: what an edge that is not straight in them may lose
LONG = 5000.0  # m; half the length of a wall that stands for an endless one


def seen(points, *prisms):
    engine = SunEngine(path=declination_path(45.0, 10.0), prisms=prisms, season=np.ones(1, dtype=bool))
    share = sky_share(engine, np.array(points, dtype=float))
    assert share[12] == pytest.approx(share[0])  # the season is the one day, and so is January
    return share[12]


def wall(west, south, east, north, *, top, owner="wall", **more):
    return Prism(outline=box(west, south, east, north), bottom=0, top=top, owner=owner, **more)


def hidden_by_rectangle(height, length, away):
    """Return the share that a rectangle hides from level ground before one of its lower corners.

    Configuration factor of an element to a rectangle at right angles to it, B-4 in J. R. Howell's catalogue of
    radiation configuration factors (from memory); Hamilton and Morgan (1952), NACA TN 2836.
    """
    slant = np.hypot(height, away)
    return (np.arctan(length / away) - away / slant * np.arctan(length / slant)) / (2 * np.pi)


@pytest.mark.parametrize("away", [0.5, 2.0, 5.0, 20.0])
def test_endless_wall(away):
    # (1 + cos e) / 2, with e the elevation of the wall's edge: Oke (1987), Boundary layer climates, appendix A (memory)
    height = 3.0
    expected = (1 + np.cos(np.arctan2(height, away))) / 2
    finite = 1 - 2 * hidden_by_rectangle(height, LONG, away)
    assert finite == pytest.approx(expected, abs=2e-6)  # how much a wall of 10 km falls short of an endless one
    assert seen([[0, -away, 0]], wall(-LONG, 0, LONG, 0.2, top=height)) == pytest.approx(expected, abs=LEVEL)


@pytest.mark.parametrize("length", [1.0, 4.0, 12.0])
def test_wall_of_some_length(length):
    # the closed form for a finite wall, half of it to either side of the point
    for away in (1.0, 3.0, 8.0):
        expected = 1 - 2 * hidden_by_rectangle(2.5, length, away)
        got = seen([[0, away, 0]], wall(-length, -0.2, length, 0, top=2.5))
        # its ends fall within a bin of half a degree, of which 720 make the circle: each half of one at the most
        assert got == pytest.approx(expected, abs=LEVEL + 1 / 720 * np.sin(np.arctan(2.5 / away)) ** 2)


@pytest.mark.parametrize("ratio", [0.5, 1.0, 2.0, 4.0])
def test_middle_of_a_street_canyon(ratio):
    # cos(arctan(2 H / W)) on the middle of the street's floor: Oke (1987), Boundary layer climates (memory)
    width = 10.0
    height = ratio * width
    sides = (
        wall(-LONG, width / 2, LONG, width / 2 + 1, top=height, owner="north"),
        wall(-LONG, -width / 2 - 1, LONG, -width / 2, top=height, owner="south"),
    )
    expected = np.cos(np.arctan(2 * ratio))
    # at 40 m the stand-in's open ends let in 2 (1 - cos) of a sector of 2 arctan(5 / 5000): 1e-7
    assert seen([[0, 0, 0]], *sides) == pytest.approx(expected, abs=2 * LEVEL)


def test_foot_of_a_round_basin():
    # a ring of elevation e all around leaves cos2(e): Oke (1987), Boundary layer climates, appendix A (memory)
    rim = Point(0, 0).buffer(11, quad_segs=90).difference(Point(0, 0).buffer(10, quad_segs=90))
    ring = Prism(outline=rim, bottom=0, top=4.0, owner="rim")
    expected = np.cos(np.arctan(0.4)) ** 2
    assert seen([[0, 0, 0]], ring) == pytest.approx(expected, abs=LEVEL)  # the polygon's sides are 1e-4 nearer


def test_translucent_wall_hides_its_share():
    opaque, half = (
        seen([[0, -2, 0]], wall(-9, 0, 9, 1, top=3)),
        seen([[0, -2, 0]], wall(-9, 0, 9, 1, top=3, transmittance_leafy=0.5)),
    )
    assert 1 - half[0] == pytest.approx((1 - opaque[0]) / 2, abs=LEVEL)


def test_roof_overhead_leaves_the_ring_around_it():
    # a disc of radius r at height h overhead hides r2 / (r2 + h2): Howell's catalogue B-12 (from memory)
    roof = Prism(outline=Point(0, 0).buffer(3, quad_segs=90), bottom=2.5, top=2.6, owner="roof")
    # the roof is 0.1 m thick: its rim hides a little more, between the elevations of its two edges
    assert seen([[0, 0, 0]], roof) == pytest.approx(1 - 9 / (9 + 2.5**2), abs=LEVEL)


@pytest.fixture(scope="module")
def published(shared: Path) -> tuple[dict, tuple[Prism, ...]]:
    """Return sky view factors and buildings from tests of the R package shadow (Dorman et al. 2019, R Journal 11)."""
    expected = json.loads((shared / "shadow" / "rishon_expected.json").read_text(encoding="utf-8"))
    table = gpd.read_file(shared / "shadow" / "rishon_4_buildings_utm36.gpkg")
    east, north = expected["centroid_of_union_xy"]
    parts = table.set_geometry(table.geometry.translate(-east, -north)).explode()
    prisms = tuple(
        Prism(outline=row.geometry, bottom=0, top=float(row.height_m), owner=str(n))
        for n, row in enumerate(parts.itertuples())
    )
    return expected, prisms


def test_four_buildings(published):
    # The publication looks along 72 rays, five degrees apart: an edge between two rays is out by half of one at the
    # most, 1/144 of the circle, weighed by the sin2 of what it hides; four buildings have eight such edges, whose
    # errors have either sign: three of them together are allowed for. The lookup's own bins are ten times finer.
    expected, prisms = published
    rows = expected["sky_view_factor_5deg"]
    got = seen([[row["dx"], row["dy"], 0] for row in rows], *prisms)
    assert got == pytest.approx([row["svf"] for row in rows], abs=3 / 144)
    assert np.abs(got - [row["svf"] for row in rows]).mean() < 1 / 144


def by_rays(point, prisms, azimuth):
    """Return the publication's formula, 1 - mean of sin2 of the highest edge, along any rays."""
    origin = Point(point)
    hidden = np.zeros(len(azimuth))
    for n, direction in enumerate(np.radians(azimuth)):
        ray = LineString([origin, (point[0] + 500 * np.sin(direction), point[1] + 500 * np.cos(direction))])
        for prism in prisms:
            if ray.intersects(prism.outline):
                away = origin.distance(ray.intersection(prism.outline))
                hidden[n] = max(hidden[n], prism.top**2 / (prism.top**2 + away**2))
    return 1 - hidden.mean()


def test_four_buildings_along_finer_rays(published):
    # the same formula, first along the published rays, to show that it is the same, then along the middles of our bins
    expected, prisms = published
    for row in expected["sky_view_factor_5deg"]:
        point = (row["dx"], row["dy"])
        assert by_rays(point, prisms, np.arange(0, 360, 5.0)) == pytest.approx(row["svf"], abs=1e-9)  # as printed
        fine = by_rays(point, prisms, np.arange(720) / 2 + 0.25)
        assert seen([[*point, 0]], *prisms)[0] == pytest.approx(fine, abs=LEVEL)
