"""Beds in tiers in the features file: as a list, as a text, with outlines; and all that may be wrong with them."""

from __future__ import annotations

import json

import geopandas
import pytest
from shapely import box

from siteplan import read_site, site_from_frames

TIERS = [{"height": "14 in"}, {"height": "10 in", "inset": "1 ft"}]
FOOT, INCH = 0.3048, 0.0254


def in_tiers(yard, tiers):
    properties = yard.features["north"]["properties"]
    del properties["height"]
    properties["tiers"] = tiers
    return yard


def north(site):
    return next(bed for bed in site.beds if bed.id == "north")


@pytest.mark.parametrize("tiers", [TIERS, json.dumps(TIERS)])
def test_tiers_are_read_from_a_list_and_from_a_text(yard, tiers):
    # 1.2 m x 2.4 m, set in by a foot: 0.5904 m x 1.7904 m
    bed = north(read_site(in_tiers(yard, tiers).write()))
    assert bed.height == pytest.approx(24 * INCH)
    assert [frame.top for frame in bed.frames] == pytest.approx([14 * INCH, 24 * INCH])
    assert bed.frames[1].outline.area == pytest.approx(0.5904 * 1.7904, rel=1e-6)  # degrees are rounded


def test_a_geopackage_holds_them_as_a_text(yard, tmp_path):
    path = in_tiers(yard, json.dumps(TIERS)).write() / "features.geojson"
    drawn = geopandas.read_file(path)
    (path.parent / "site.toml").write_text(yard.toml.replace("features.geojson", "features.gpkg"), encoding="utf-8")
    drawn.to_file(path.parent / "features.gpkg", layer="yard")
    assert [tier.height for tier in north(read_site(path.parent)).tiers] == pytest.approx([14 * INCH, 10 * INCH])


def test_an_outline_lies_in_the_coordinates_of_the_drawing():
    # a plan in feet whose +y axis points east: the upper tier covers the eastern half of the bed
    drawn = geopandas.GeoDataFrame(
        {
            "id": ["lot", "bed"],
            "kind": ["boundary", "bed"],
            "tiers": [None, [{"height": 0.4}, {"height": 0.3, "outline": [[10, 14], [14, 14], [14, 18], [10, 18]]}]],
        },
        geometry=[box(0, 0, 60, 60), box(10, 10, 14, 18)],
    )
    origin = {"latitude": 45.0, "longitude": 8.0, "bearing": 90, "unit": "ft"}
    lower, upper = site_from_frames(drawn, {"origin": origin}).beds[0].frames
    assert upper.outline.area == pytest.approx(16 * FOOT**2, rel=1e-6)
    assert upper.outline.centroid.x - lower.outline.centroid.x == pytest.approx(2 * FOOT, rel=1e-5)


@pytest.mark.parametrize(
    ("tiers", "said"),
    [
        ("14 in, 10 in", "tiers is '14 in, 10 in', must be a list of tiers, such as [{"),
        ([], "tiers is [], must be a list of tiers"),
        ([14], "tiers is [14], must be a list of tiers"),
        ([{"height": "14 in"}, {"inset": "1 ft"}], ", tier 2: height is missing; each tier has one"),
        ([{"hieght": 0.4}], "is 'hieght' meant for it?"),
        ([{"height": "4 kg"}], "'4 kg' is a mass, not a length"),
        ([{"height": 0.4}, {"height": 0.2, "inset": -1}], "inset is -1 m, must be at least 0"),
        ([{"height": 0.4}, {"height": 0.2, "outset": 1}], "'outset' is not known; did you mean 'outline'?"),
        (
            [{"height": 0.4}, {"height": 0.2, "outline": [[0, 0], [1, 1]]}],
            "outline is [[0, 0], [1, 1]], must be three",
        ),
        ([{"height": 0.4}, {"height": 0.2, "outline": "box"}], "outline is 'box', must be three corners or more"),
        (
            [{"height": 0.4}, {"height": 0.2, "outline": [[8, 45], [8.001, 45.001], [8.001, 45], [8, 45.001]]}],
            'north, tier 2": its outline crosses itself',
        ),
        (
            [{"height": 0.4}, {"height": 0.2, "outline": [[8, 45], [8.1, 45], [8.1, 45.1]]}],
            "tier 2 is larger than the",
        ),
        ([{"height": 0.4}, {"height": 0.2, "inset": 0.7}], "so that nothing is left of it"),
        (
            [{"height": 0.4}, {"height": 0.2, "inset": 0.58}],
            'bed "north", tier 2: its walls of 4 cm leave no room',
        ),
        ([{"height": "2.9 m"}, {"height": "2 ft"}], "height is 3.5096 m, must be above 0 and at most 3 m"),
    ],
)
def test_what_is_wrong_is_said_in_words(yard, tiers, said):
    faults = in_tiers(yard, tiers).faults()
    assert all(fault.startswith('features.geojson: bed "north') for fault in faults)
    assert any(said in fault for fault in faults)


def test_a_height_beside_them_agrees(yard):
    in_tiers(yard, TIERS).features["north"]["properties"]["height"] = "24 in"
    assert yard.faults() == []
    yard.features["north"]["properties"]["height"] = "18 in"
    assert yard.faults() == [
        'features.geojson: bed "north": height is 0.4572 m, but its tiers are 0.3556 + 0.254 m high; leave height out'
    ]


def test_neither_height_nor_tiers_is_a_fault(yard):
    del yard.features["north"]["properties"]["height"]
    (fault,) = yard.faults()
    assert "height is missing; measure it from the ground, or give tiers" in fault
