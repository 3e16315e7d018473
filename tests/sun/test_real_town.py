"""Thousands of real buildings: does a map among them come soon, and right?"""

from __future__ import annotations

import json
import time

import numpy as np
import pytest
import shapely

from siteplan.land.frame import LocalFrame
from siteplan.sun.engine import SunEngine
from siteplan.sun.obstacles.prisms import Prism
from siteplan.sun.path.solar_path import sun_path

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def town(shared):
    """Return 3,077 buildings of Suzhou, 3 to 84 m high, around its middle (ni1o1/pybdshadow, BSD-3)."""
    document = json.loads((shared / "scale" / "suzhou_cn_3076_buildings.geojson").read_text())
    frame = LocalFrame(longitude=document["metadata"]["lon"], latitude=document["metadata"]["lat"])
    prisms = []
    for feature in document["features"]:
        shape = shapely.make_valid(frame.to_local(shapely.from_geojson(json.dumps(feature["geometry"]))))
        height = float(feature["properties"]["height_m"])
        prisms += [
            Prism(outline=part, bottom=0, top=height, owner=feature["properties"].get("id", str(len(prisms))))
            for part in shapely.get_parts(shape)
            if part.geom_type == "Polygon"
        ]
    assert len(document["features"]) == 3077
    path = sun_path(frame.latitude, frame.longitude, year=2026, timezone="Asia/Shanghai")
    season = np.isin(path.day_month, [4, 5, 6, 7, 8, 9])
    return SunEngine(path=path, prisms=tuple(prisms), season=season)


def test_a_map_in_a_town(town):
    # 50 m by 50 m in cells of half a metre, in the open courtyards of the middle
    middle = np.mean([shapely.get_coordinates(prism.outline).mean(axis=0) for prism in town.prisms], axis=0)
    axis = np.arange(-25, 25, 0.5) + 0.25
    x, y = (part.ravel() for part in np.meshgrid(axis + middle[0], axis + middle[1]))
    built = shapely.union_all([prism.outline for prism in town.prisms])
    outside = ~shapely.contains_xy(built, x, y)
    points = np.column_stack([x, y, np.zeros(len(x))])
    town.hours(points[:100])
    start = time.process_time()
    looked = town.hours(points)
    assert time.process_time() - start < 20  # of a processor; about 3 where nothing else runs
    assert looked.season_h[~outside].max(initial=0) == 0  # inside buildings
    some = np.flatnonzero(outside)[:: max(1, int(outside.sum()) // 150)]
    exact = town.exact_hours(points[some])
    off = looked.month_h[:, some] - exact.month_h
    assert exact.season_h.std() > 0.5  # neither all open nor all shaded
    assert np.abs(off).mean() <= 0.02, np.abs(off).mean()
    assert np.percentile(np.abs(off), 99) <= 0.12, np.percentile(np.abs(off), 99)
    assert np.abs(off.mean(axis=1)).max() <= 0.01, off.mean(axis=1)
