"""Small properties to draw on, each in its own folder."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import shapely
from pyproj import CRS, Transformer
from shapely import Point, box
from shapely.geometry.base import BaseGeometry

from siteplan.land.frame import LocalFrame, local_to_plan, projected

SETTINGS = """\
# our yard
name = "Sparrow Court"
units = "imperial"
{origin}
[season]
last_frost = "04-15"            # in spring
first_frost = "10-20"

[sun]
cell = "50 cm"
# need = "6 h"                  # of direct sun
"""
ORIGIN = '\n[origin]\nlatitude = 45.0\nlongitude = 8.0\nbearing = {bearing}\nunit = "{unit}"\n'
#: metres east and north of the middle of the lot
DRAWN: dict[str, tuple[BaseGeometry, dict[str, Any]]] = {
    "lot": (box(-15, -10, 15, 10), {"kind": "boundary"}),
    "house": (box(-12, -8, -2, 0), {"kind": "building", "height": "23 ft", "roof": {"tiles": ["red", 2.50]}}),
    "pear": (Point(8, -5), {"kind": "tree", "height": "20 ft", "crown_diameter": "13 ft"}),
    "plum": (Point(-5, 6), {"kind": "tree", "height": "14 ft", "crown_diameter": "10 ft"}),
    "north": (box(0, 4, 1.2, 6.4), {"kind": "bed", "height": "18 in"}),
}
FRAME = LocalFrame(longitude=8.0, latitude=45.0)


def laid(shape: BaseGeometry, way: str) -> BaseGeometry:
    """Return a shape of the yard in the coordinates of one way of drawing."""
    if way.startswith("plan"):
        unit = 0.3048 if way.endswith("ft") else 1.0
        return local_to_plan(shape, bearing=0.0, metres_per_unit=unit)
    degrees = FRAME.to_lonlat(shape)
    if way == "degrees":
        return degrees
    change = Transformer.from_crs("EPSG:4326", CRS(way), always_xy=True)
    return shapely.transform(degrees, lambda points: projected(change, points))


def write_yard(folder: Path, way: str) -> Path:
    """Write the yard as a plan in feet or metres, in degrees, or in another coordinate system."""
    origin = ORIGIN.format(bearing=12.5, unit=way.split()[1]) if way.startswith("plan") else ""
    folder.mkdir()
    (folder / "site.toml").write_text(SETTINGS.format(origin=origin), encoding="utf-8")
    features = [
        {
            "type": "Feature",
            "id": name,
            "properties": properties,
            "geometry": json.loads(shapely.to_geojson(laid(shape, way))),
        }
        for name, (shape, properties) in DRAWN.items()
    ]
    crs = {} if " " in way or way == "degrees" else {"crs": {"type": "name", "properties": {"name": way}}}
    lines = ",\n".join(json.dumps(one) for one in features)
    head = json.dumps({"type": "FeatureCollection", **crs})[:-1]
    (folder / "features.geojson").write_text(f'{head}, "features": [\n{lines}\n]}}\n', encoding="utf-8")
    return folder


WAYS = ("plan ft", "plan m", "degrees", "EPSG:32632", "EPSG:2263")


@pytest.fixture(params=WAYS)
def each_yard(tmp_path: Path, request: pytest.FixtureRequest) -> Path:
    """Return the yard, drawn in one of the ways."""
    return write_yard(tmp_path / "yard", request.param)


@pytest.fixture
def yard(tmp_path: Path) -> Path:
    """Return the yard as a plan in feet."""
    return write_yard(tmp_path / "yard", "plan ft")


@pytest.fixture
def another_yard(tmp_path: Path) -> Callable[[str], Path]:
    """Return a maker of yards that are drawn in some way."""
    return lambda way: write_yard(tmp_path / f"yard in {way.replace(':', ' ')}", way)
