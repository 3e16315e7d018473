"""Which sound sites are damaged? A small yard, kept in four ways, as the bytes of its files by name."""

from __future__ import annotations

import json
import tempfile
from collections.abc import Callable, Sequence
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Any

import geopandas as gpd
import pyogrio
import shapely
from shapely import LineString, Point, box
from shapely.affinity import affine_transform

from siteplan.land.frame import LocalFrame

from ..files.rasters import steps, write_raster
from ..files.test_weather import epw

FRAME = LocalFrame(longitude=8.0, latitude=45.0)
FEET = 0.3048

TOML = """\
name = "Wren Yard"
features = "FEATURES"
timezone = "Europe/Rome"
currency = "EUR"
BESIDE
[season]
last_frost = "04-15"
first_frost = "10-20"
[sun]
cell = "1 m"
step = "60 min"
year = 2026
need = 6
plenty = 8
[barrow]
volume = "85 L"
load = "80 kg"
[labour]
people = 2
hours_per_day = 4
[haul]
rest = "10 min"
lorry_width = "2.5 m"
[place]
length = "1.8 m"
width = "90 cm"
count = 1
[fill]
lining = "cardboard"
layers = [
  { material = "topsoil", fraction = 0.6 },
  { mix = { compost = 0.7, topsoil = 0.3 }, fraction = 0.4 },
]
[water]
flow = "9 L/min"
[soil]
lead = 60
[rename.keys]
hoehe = "height"
[rename.kinds]
rasen = "surface:grass"
[[stock]]
material = "topsoil"
volume = "0.3 m^3"
at = "heap"
[[material]]
name = "leaf mould"
kind = "organic"
density = 400
density_wet = 600
settling_first = 0.2
settling_later = 0.08
shovel_rate = 0.5
[[offer]]
material = "topsoil"
loose = "0.5 m^3"
price = 30.00
delivery = 40.00
minimum = "1 m^3"
per_delivery = "5 m^3"
[[offer]]
material = "compost"
bag = "40 L"
price = 7.50
"""
ORIGIN = '[origin]\nlatitude = 45.0\nlongitude = 8.0\nbearing = 12.0\nunit = "ft"\n'

#: metres east and north of the middle of the lot
DRAWN: tuple[tuple[str, Any, dict[str, Any]], ...] = (
    ("lot", box(-7, -5, 7, 5), {"kind": "boundary"}),
    ("shed", box(-6, -4, -3, -2), {"kind": "building", "height": 2.6, "eaves": 2.0}),
    ("pear", Point(5, -3), {"kind": "tree", "hoehe": 4.0, "crown_diameter": 2.0, "trunk_diameter": "12 cm"}),
    ("privet", LineString([(-6, 4.5), (-2, 4.5)]), {"kind": "hedge", "height": "1.5 m", "width": "60 cm"}),
    ("fence", LineString([(-2, -4), (6, -4)]), {"kind": "fence", "height": 1.2, "transmittance": 0.3}),
    ("gate", Point(1, -4), {"kind": "gate", "width": "1 m"}),
    ("lawn", box(-6, -1, 6, 4), {"kind": "rasen"}),
    ("tap", Point(-2.9, -1.9), {"kind": "tap", "hose_length": "15 m"}),
    ("heap", Point(-1, -3), {"kind": "pile"}),
    ("kerb", box(2, -4.9, 4, -4.2), {"kind": "pile", "drop": True}),
    ("back", Point(-4, -1.9), {"kind": "door"}),
    ("north", box(0, 1, 0.9, 2.8), {"kind": "bed", "height": "45 cm", "trellis_height": 1.5, "crops": "tomato"}),
    ("south", box(3, 1, 3.9, 2.8), {"kind": "bed", "height": 0.3, "proposed": True, "need": 5}),
    ("gas", box(-7, -0.6, -1, -0.4), {"kind": "keepout", "reason": "gas pipe", "setback": 0.2}),
)


def settings(features: str, *, beside: str = "", end: str = "") -> bytes:
    """Return a site.toml that names a features file, with more at its top and at its end."""
    return (TOML.replace("FEATURES", features).replace("BESIDE\n", beside) + end).encode()


def as_geojson(shapes: Sequence[Any], *, unit: str = "") -> bytes:
    """Return the yard's features with these shapes; with a unit, lengths in metres are written with it."""
    features = [
        {
            "type": "Feature",
            "id": name,
            "properties": _with_unit(values, unit),
            "geometry": json.loads(shapely.to_geojson(shape)),
        }
        for (name, _, values), shape in zip(DRAWN, shapes, strict=True)
    ]
    return json.dumps({"type": "FeatureCollection", "features": features}).encode()


def _with_unit(values: dict[str, Any], unit: str) -> dict[str, Any]:
    lengths = {"height", "hoehe", "eaves", "crown_diameter", "trellis_height", "setback"}
    return {
        key: f"{value} {unit}" if unit and key in lengths and not isinstance(value, str) else value
        for key, value in values.items()
    }


def as_geopackage(
    crs: str = "EPSG:32632", *, layer_of: Callable[[str, Any], str] = lambda _, shape: shape.geom_type
) -> bytes:
    """Return the drawing as a GeoPackage in some coordinate system, each feature in a layer that is chosen by id and shape."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "yard.gpkg"
        for number, layer in enumerate(dict.fromkeys(layer_of(name, shape) for name, shape, _ in DRAWN)):
            some = [one for one in DRAWN if layer_of(one[0], one[1]) == layer]
            columns = sorted({key for _, _, values in some for key in values})
            rows = {key: [None if key not in v else str(v[key]) for _, _, v in some] for key in columns}
            rows["id"] = [name for name, _, _ in some]
            frame = gpd.GeoDataFrame(
                rows, geometry=[FRAME.to_lonlat(shape) for _, shape, _ in some], crs="EPSG:4326"
            ).to_crs(crs)
            pyogrio.write_dataframe(frame, path, layer=layer.lower(), append=number > 0)
        return path.read_bytes()


def _terrain(*, trees: bool = False) -> bytes:
    east, up, corner = steps(20, 1.0)
    height = 100 + 0.05 * east - 0.02 * up + 6 * (trees & (abs(up) > 15))
    with tempfile.TemporaryDirectory() as folder:
        write_raster(Path(folder) / "ground.tif", height, **corner)
        return (Path(folder) / "ground.tif").read_bytes()


@cache
def sound_sites() -> MappingProxyType[str, MappingProxyType[str, bytes]]:
    """Return the files of each sound site, by the site's name and theirs."""
    degrees = as_geojson([FRAME.to_lonlat(shape) for _, shape, _ in DRAWN])
    feet = as_geojson([affine_transform(shape, [1 / FEET, 0, 0, 1 / FEET, 0, 0]) for _, shape, _ in DRAWN], unit="m")
    beside = 'terrain = "ground.tif"\nweather = "year.epw"\nskyline = "hills.csv"\n'
    hills = b"azimuth_deg,elevation_deg\n0,2\n90,4.5\n180,3\n270,6\n"
    sites = {
        "plain": {"site.toml": settings("features.geojson"), "features.geojson": degrees},
        "measured": {"site.toml": settings("plan.json", end=ORIGIN), "plan.json": feet},
        "layers": {"site.toml": settings("yard.gpkg"), "yard.gpkg": as_geopackage()},
        "whole": {
            "site.toml": settings("features.geojson", beside=beside),
            "features.geojson": degrees,
            "ground.tif": _terrain(),
            "year.epw": epw().encode(),
            "hills.csv": hills,
        },
        "around": {
            "site.toml": settings(
                "features.geojson",
                beside='terrain = "ground.tif"\nsurface_model = "tops.tif"\nsurface_within = true\n',
            ),
            "features.geojson": degrees,
            "ground.tif": _terrain(),
            "tops.tif": _terrain(trees=True),
        },
    }
    return MappingProxyType({name: MappingProxyType(files) for name, files in sites.items()})
