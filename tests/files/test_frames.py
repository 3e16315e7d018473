"""A site from GeoDataFrames is the site that the same files describe, by the same checks."""

from __future__ import annotations

import json
import tomllib

import geopandas
import numpy as np
import pandas as pd
import pytest
from shapely import Point, box

from siteplan import InputError, demo_site, plan_site, site_from_frames
from siteplan.files.constant_tables import data_folder
from siteplan.land.features import MonthDay
from siteplan.land.site import Barrow, Season, SunSettings

LOT, HOUSE, BED = box(0, 0, 20, 15), box(2, 2, 10, 6), box(12, 8, 14.4, 9.2)
ORIGIN = {"latitude": 45.0, "longitude": 8.0}


def frame(**more):
    columns = {"id": ["lot", "house", "bed"], "kind": ["boundary", "building", "bed"], "height": [None, 6.0, 0.4]}
    return geopandas.GeoDataFrame(columns | more, geometry=[LOT, HOUSE, BED])


def demo_frame():
    """Return the demo's features as a frame, its ids and properties as columns."""
    features = json.loads((data_folder() / "demo" / "features.geojson").read_text(encoding="utf-8"))["features"]
    for feature in features:
        feature["properties"]["id"] = feature.get("id", feature["properties"].get("id"))
    return geopandas.GeoDataFrame.from_features(features)


def test_the_demo_as_frames_is_the_demo():
    settings = tomllib.loads((data_folder() / "demo" / "site.toml").read_text(encoding="utf-8"))
    del settings["features"]
    assert site_from_frames(demo_frame(), settings) == demo_site()


def test_frames_by_kind_need_no_column_of_kinds():
    drawn = frame()
    split = {kind: rows.drop(columns="kind") for kind, rows in drawn.groupby("kind")}
    assert site_from_frames(split, {"origin": ORIGIN}).beds == site_from_frames(drawn, {"origin": ORIGIN}).beds


def test_a_frame_may_lie_in_any_coordinate_system():
    plan = site_from_frames(frame(), {"origin": ORIGIN, "timezone": "Europe/Rome"})
    shapes = [plan.boundary, plan.buildings[0].outline, plan.beds[0].outline]
    lonlat = frame().set_geometry([plan.frame.to_lonlat(shape) for shape in shapes]).set_crs("EPSG:4326")
    for crs in ("EPSG:4326", "EPSG:32632"):
        site = site_from_frames(lonlat.to_crs(crs))
        assert site.beds[0].outline.equals_exact(plan.beds[0].outline, tolerance=1e-4)


def test_quantities_and_nulls_are_read_as_in_files():
    columns = {"height": ["", "20 ft", "18 in"], "crops": [None, None, "tomato, basil"], "proposed": [None, None, 1]}
    drawn = frame().assign(**columns)
    drawn.loc[0, "height"] = pd.NA
    (bed,) = site_from_frames(drawn, {"origin": ORIGIN}).beds
    assert bed.height == pytest.approx(0.4572)
    assert bed.crops == ("tomato", "basil")
    assert bed.proposed


def test_a_table_of_the_settings_may_be_its_record():
    season = Season(last_frost=MonthDay(5, 1), first_frost=MonthDay(9, 30))
    settings = {
        "origin": ORIGIN,
        "sun": SunSettings(year=2025, cell=0.5),
        "barrow": Barrow(count=2),
        "season": season,
    }
    site = site_from_frames(frame(), settings)
    assert (site.sun, site.barrow, site.season) == (settings["sun"], settings["barrow"], season)
    table = {"origin": ORIGIN, "sun": {"year": 2025, "cell": "50 cm"}, "barrow": {"count": 2}}
    table["season"] = {"last_frost": "05-01", "first_frost": "09-30"}
    assert site_from_frames(frame(), table) == site


@pytest.mark.parametrize(
    ("drawn", "settings", "said"),
    [
        (frame().iloc[1:], {"origin": ORIGIN}, "features: has no boundary"),
        (frame(), {}, "give [origin] if it is a measured plan"),
        (frame().drop(columns="kind"), {"origin": ORIGIN}, "kind is missing"),
        (frame(height=[None, -6.0, 0.4]), {"origin": ORIGIN}, 'features: building "house": height is -6 m'),
        (frame(), {"origin": ORIGIN, "colour": "red"}, "settings: 'colour' is not known"),
        (frame(), {"origin": ORIGIN, "sun": {"need": "six"}}, "settings: [sun]: need"),
        (
            frame(),
            {"origin": ORIGIN, "sun": Barrow()},
            "settings: sun: is a Barrow, must be a table or a SunSettings",
        ),
        (frame(), {"origin": ORIGIN, "features": "a.geojson"}, "settings: features: is handed in as frames"),
        (frame(), {"origin": ORIGIN, "terrain": "no such.tif"}, "the file is not there"),
        (pd.DataFrame(frame()), {"origin": ORIGIN}, "features: is of type DataFrame, must be a GeoDataFrame"),
        ({"bed": 3}, {"origin": ORIGIN}, "features: bed: is of type int, must be a GeoDataFrame"),
        ({}, {"origin": ORIGIN}, "features: holds no features"),
    ],
)
def test_what_is_wrong_is_said_without_a_file(drawn, settings, said):
    with pytest.raises(InputError) as refused:
        site_from_frames(drawn, settings)
    assert said in str(refused.value)
    assert "site.toml" not in str(refused.value)


def test_all_faults_come_at_once():
    with pytest.raises(InputError) as refused:
        site_from_frames(frame(height=[None, -6.0, -0.4]), {"origin": ORIGIN, "units": "feet", "sun": Barrow()})
    assert len(refused.value.faults) == 4


def test_neither_frame_nor_settings_are_changed():
    drawn, settings = frame(), {"origin": dict(ORIGIN)}
    site_from_frames(drawn, settings)
    assert drawn.equals(frame())
    assert settings == {"origin": ORIGIN}


def test_such_a_site_is_planned_like_any_other():
    drawn = pd.concat([frame(), geopandas.GeoDataFrame({"id": ["tap"], "kind": ["tap"]}, geometry=[Point(11, 3)])])
    site = site_from_frames(drawn, {"origin": ORIGIN, "sun": SunSettings(year=2026, cell=0.5, step=0.5)})
    plan = plan_site(site, ask=["sun", "fill"])
    assert np.isfinite(plan.beds[0].sun.season_sun_h)
    assert plan.document()["site"]["name"] == "Site plan"
