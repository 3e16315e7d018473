"""The rows of tall plants in a bed that lies askew: every corner by hand."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from shapely import Polygon, box, union_all

from siteplan.land.features import Bed
from siteplan.land.outline import rectangle
from siteplan.sun.engine import sun_engine
from siteplan.sun.obstacles.packed_prisms import pack
from siteplan.sun.obstacles.plant_rows import between_rows, row_outlines, row_prisms

SINE, COSINE = 0.5, math.sqrt(3) / 2  # of 30 degrees


def askew(length=4.0, width=2.0, **more):
    outline = rectangle(10, 5, length=length, width=width, heading=30)
    return Bed(
        id="b", outline=outline, height=0.4, crop_height=1.5, **({"wall_thickness": 0.0, "rows": "along"} | more)
    )


def strip(along, across, half_length, half_width):
    """Return a rectangle about a point of the bed, in metres along and across it."""
    corners = [(along + a * half_length, across + b * half_width) for a, b in ((1, 1), (1, -1), (-1, -1), (-1, 1))]
    return Polygon([(10 + u * SINE + v * COSINE, 5 + u * COSINE - v * SINE) for u, v in corners])


@pytest.mark.parametrize(("bed", "rows"), [
    (askew(row_spacing=0.8), [(0, -0.4, 2, 0.05), (0, 0.4, 2, 0.05)]),  # two and a half would fit
    (askew(row_spacing=1.5, rows="across"), [(-0.75, 0, 0.05, 1), (0.75, 0, 0.05, 1)]),
    (askew(width=2.4, row_spacing=0.8), [(0, -0.8, 2, 0.05), (0, 0, 2, 0.05), (0, 0.8, 2, 0.05)]),  # just fit
    (askew(width=0.5, row_spacing=0.8), [(0, 0, 2, 0.05)]),
    (askew(wall_thickness=0.1, row_spacing=0.9), [(0, -0.45, 1.9, 0.05), (0, 0.45, 1.9, 0.05)]),
])  # fmt: skip
def test_rows_lie_evenly_about_the_middle(bed, rows):
    found = sorted(row_outlines(bed), key=lambda one: (one.centroid.x, one.centroid.y))
    expected = sorted((strip(*row) for row in rows), key=lambda one: (one.centroid.x, one.centroid.y))
    assert len(found) == len(expected)
    for one, other in zip(found, expected, strict=True):
        assert one.symmetric_difference(other).area < 1e-6


def test_where_no_row_stands():
    assert row_outlines(askew(rows=None)) == ()
    assert row_outlines(askew(width=0.3, wall_thickness=0.2)) == ()  # all wall


def test_a_notch_cuts_a_row_in_two():
    outline = box(0, 0, 6, 2).difference(box(2, 0.5, 3, 2))
    bed = Bed(id="b", outline=outline, height=0.4, wall_thickness=0.0, crop_height=1.5, rows="along", row_spacing=1.0)
    found = sorted(row_outlines(bed), key=lambda one: (round(one.centroid.y, 3), one.centroid.x))
    assert [[round(value, 6) for value in one.bounds] for one in found] == [
        [0, 0.45, 6, 0.55], [0, 1.45, 2, 1.55], [3, 1.45, 6, 1.55],
    ]  # fmt: skip
    assert found[0].area == pytest.approx(0.6 - 0.05)  # half of it is cut by the notch


def test_points_between_rows():
    bed = askew(row_spacing=0.8)
    # along the middle of the bed, on both rows, just beside them
    across = np.array([0.0, 0.4, -0.4, 0.46, 0.34, -0.46])
    x, y = 10 + across * COSINE, 5 - across * SINE
    assert between_rows(bed, x, y).tolist() == [True, False, False, True, True, True]
    assert between_rows(bed, x[1:3], y[1:3]).tolist() == [True, True]  # none would be left
    assert between_rows(replace(bed, rows=None), x, y).tolist() == [True] * 6


def test_rows_are_screens_of_leaves_from_the_soil_up(tiny_yard):
    first, second = row_prisms(tiny_yard, askew(row_spacing=0.8))
    for row, part in ((first, "row 1"), (second, "row 2")):
        assert (row.bottom, row.top, row.owner, row.part) == (0.4, 1.5, "b", part)
        assert (row.transmittance_leafy, row.transmittance_bare, row.transmittance_path) == (0.2, 1.0, None)
        assert (row.leaf_out, row.leaf_fall) == (105, 293)
    assert row_prisms(tiny_yard, replace(askew(), rows=None)) == ()


def test_a_ray_is_attenuated_by_each_row_that_it_meets(tiny_yard):
    bed = askew(row_spacing=0.8)
    bodies = pack(row_prisms(tiny_yard, bed))[1]
    assert [body.part for body in bodies] == ["row 1", "row 2"]
    # level with the middle of the bed, across both rows in summer: 0.2 of 0.2
    site = replace(
        tiny_yard, buildings=(), trees=(), hedges=(), fences=(), gates=(), beds=(), terrain=None, skyline=None
    )
    engine = sun_engine(site)
    beyond = np.array([[10 + 0.6 * COSINE, 5 - 0.6 * SINE, 0.4]])
    light = engine.exact_light(beyond, extra=row_prisms(tiny_yard, bed))
    assert set(light.round(3).ravel().tolist()) == {0.04, 0.2, 1.0}


def test_rows_stand_on_the_ledge_of_each_tier(tiny_yard):
    tiers = (Bed.Tier(height=0.4), Bed.Tier(height=0.3, inset=0.5))
    bed = Bed(
        id="b",
        outline=box(0, 0, 4, 2),
        tiers=tiers,
        wall_thickness=0.1,
        crop_height=1.5,
        rows="along",
        row_spacing=1.0,
    )
    rows = row_prisms(tiny_yard, bed)
    # one row along the middle, y from 0.95 to 1.05: on the lower ledge to the upper frame, then within its walls
    found = sorted((round(row.bottom, 6), *(round(value, 6) for value in row.outline.bounds)) for row in rows)
    assert found == [(0.4, 0.1, 0.95, 0.5, 1.05), (0.4, 3.5, 0.95, 3.9, 1.05), (0.7, 0.6, 0.95, 3.4, 1.05)]
    assert {row.top for row in rows} == {1.5}
    assert union_all([row.outline for row in rows]).area == pytest.approx(0.1 * (0.4 + 0.4 + 2.8))
