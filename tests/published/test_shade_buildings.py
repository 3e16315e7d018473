"""Do shadow heights and sky view of four real buildings agree with published values?

Tests of the R package shadow (Dorman, Erell, Vulkan and Kloog 2019, The R Journal 11(1)), MIT licence.
"""

from __future__ import annotations

import json
from pathlib import Path

import geopandas as gpd
import numpy as np
import pytest
from shapely import LineString, Point

from siteplan.sun.engine import SunEngine
from siteplan.sun.obstacles.prisms import Prism
from siteplan.sun.path.solar_path import SunPath
from siteplan.sun.ray_casting import TOUCH


@pytest.fixture(scope="module")
def expected(shared: Path) -> dict:
    return json.loads((shared / "shadow" / "rishon_expected.json").read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def buildings(shared: Path, expected: dict) -> tuple[Prism, ...]:
    """The four buildings around the middle of their union, which is the origin."""
    table = gpd.read_file(shared / "shadow" / "rishon_4_buildings_utm36.gpkg")
    east, north = expected["centroid_of_union_xy"]
    parts = table.set_geometry(table.geometry.translate(-east, -north)).explode()
    return tuple(
        Prism(outline=row.geometry, bottom=0, top=float(row.height_m), owner=str(n))
        for n, row in enumerate(parts.itertuples())
    )


def suns(azimuth, elevation):
    """Suns of one hour each, on the first of January."""
    azimuth = np.atleast_1d(np.asarray(azimuth, dtype=float))
    one = np.ones(len(azimuth), dtype=np.int64)
    return SunPath(
        azimuth=azimuth, elevation=np.broadcast_to(elevation, azimuth.shape).astype(float), hours=np.ones(len(azimuth)),
        time=np.arange(len(azimuth)) * 24.0, clock=np.zeros(len(azimuth)), day=one, month=one, day_month=one[:1],
    )  # fmt: skip


def lit(prisms, point, azimuth, elevation):
    engine = SunEngine(path=suns(azimuth, elevation), prisms=prisms, season=np.ones(1, dtype=bool))
    return engine.exact_light(np.array([point], dtype=float))[0] > 0.5


def highest_hidden(prisms, point, azimuth):
    """Return the elevation up to which each direction is hidden, by halving. [degrees]"""
    low, high = np.zeros(len(azimuth)), np.full(len(azimuth), 89.99)
    for _ in range(45):
        middle = (low + high) / 2
        free = lit(prisms, point, azimuth, middle)
        low, high = np.where(free, low, middle), np.where(free, middle, high)
    return (low + high) / 2


def dark_up_to(answer, high):
    """Return the height at the origin up to which the sun does not reach, by halving. [m]"""
    low = 0.0
    for _ in range(50):
        middle = (low + high) / 2
        low, high = (low, middle) if answer(middle) else (middle, high)
    return low


def test_shadow_heights(buildings, expected):
    for row in expected["shadow_height_at_centroid_m"]:
        if row["height_m"] is None:
            assert lit(buildings, (0, 0, 0), row["az_deg"], row["el_deg"]).all()
            continue
        sun = (row["az_deg"], row["el_deg"])
        edge = dark_up_to(lambda height, sun=sun: lit(buildings, (0, 0, height), *sun).all(), 30.0)
        # what rises less than 1e-6 m above a point does not count as standing over it
        assert TOUCH <= 1e-6
        assert edge + TOUCH == pytest.approx(row["height_m"], abs=1e-7)


def test_sky_view_factors(buildings, expected):
    azimuth = np.arange(0, 360, 5.0)
    for row in expected["sky_view_factor_5deg"]:
        hidden = highest_hidden(buildings, (row["dx"], row["dy"], 0), azimuth)
        seen = 1 - np.mean(np.sin(np.radians(hidden)) ** 2)
        assert seen == pytest.approx(row["svf"], abs=1e-6)  # the formula of the publication, to our touch of 1e-6 m


def test_the_lookup_finds_the_same_heights_within_its_bins(buildings, expected):
    for row in expected["shadow_height_at_centroid_m"]:
        engine = SunEngine(path=suns([row["az_deg"]], row["el_deg"]), prisms=buildings, season=np.ones(1, dtype=bool))

        def half_lit(height, engine=engine):
            return engine.hours(np.array([[0, 0, height]])).month_h[0, 0] > 0.5

        if row["height_m"] is None:
            assert half_lit(0.0)
            continue
        # the building stands so far off that its top is seen at the sun's elevation from the published height; seen
        # from the middle of the sun's bin, a quarter of a degree aside at most, and through a level of half a degree
        up = np.radians(row["el_deg"])
        around = [by_hand(buildings, np.radians(row["az_deg"] + aside), np.tan(up)) for aside in (-0.25, 0.25)]
        away = (max(prism.top for prism in buildings) - row["height_m"]) / np.tan(up)
        level = away * np.radians(0.5) / np.cos(up) ** 2
        assert min(around) - level <= dark_up_to(half_lit, 30.0) <= max(around) + level


def by_hand(prisms, bearing, slope):
    """Return the height up to which a sun of that slope is hidden from the upright line over the origin. [m]"""
    ray = LineString([(0, 0), (500 * np.sin(bearing), 500 * np.cos(bearing))])
    met = (prism for prism in prisms if ray.intersects(prism.outline))
    origin = Point(0, 0)
    return max(prism.top - slope * origin.distance(ray.intersection(prism.outline)) for prism in met)
