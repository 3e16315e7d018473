"""Sites far larger than a garden, seeded: how do time, memory and the map grow with them?

``python -m tests.sizes beds 500 FOLDER`` writes one. Invented, drawn in metres from a zero point.
"""

from __future__ import annotations

import argparse
import json
import math
from collections.abc import Callable
from pathlib import Path
from random import Random
from typing import Any

LATITUDE, LONGITUDE = 47.0, 8.0
METRES_PER_DEGREE = 111_200.0

SETTINGS = """\
name = "{name}"
features = "{features}"
currency = "EUR"
{more}
[season]
last_frost = "04-20"
first_frost = "10-20"
[sun]
year = 2026
cell = "{cell} cm"
[fill]
layers = [
  {{ material = "coarse organic", fraction = 0.4 }},
  {{ material = "topsoil", fraction = 0.4 }},
  {{ material = "compost", fraction = 0.2 }},
]
[[stock]]
material = "topsoil"
volume = "2 m^3"
at = "heap"
[[offer]]
material = "topsoil"
bag = "40 L"
price = 4.0
[[offer]]
material = "topsoil"
loose = "0.5 m^3"
price = 20.0
minimum = "1 m^3"
delivery = 60.0
per_delivery = "8 m^3"
[[offer]]
material = "compost"
bag = "50 L"
price = 6.0
[[offer]]
material = "compost"
loose = "1 m^3"
price = 40.0
delivery = 60.0
per_delivery = "8 m^3"
[[offer]]
material = "coarse organic"
loose = "1 m^3"
price = 18.0
delivery = 60.0
"""
PLAN = f"[origin]\nlatitude = {LATITUDE}\nlongitude = {LONGITUDE}\n"

Feature = dict[str, Any]


def _feature(kind: str, shape: str, coordinates: object, **properties: object) -> Feature:
    return {
        "type": "Feature",
        "id": properties.pop("id", None),
        "properties": {"kind": kind, **properties},
        "geometry": {"type": shape, "coordinates": coordinates},
    }


def _box(kind: str, x: float, y: float, wide: float, deep: float, **properties: object) -> Feature:
    """Return a rectangle with its south-west corner at a point. [m]"""
    ring = [(x, y), (x + wide, y), (x + wide, y + deep), (x, y + deep), (x, y)]
    return _feature(kind, "Polygon", [[[round(east, 3), round(north, 3)] for east, north in ring]], **properties)


def _written(folder: Path, features: list[Feature], *, name: str, cell: int, more: str = PLAN) -> Path:
    folder.mkdir(parents=True, exist_ok=True)
    for feature in features:
        if feature["id"] is None:
            del feature["id"]
    text = SETTINGS.format(name=name, features="features.geojson", cell=cell, more=more)
    (folder / "site.toml").write_text(text, encoding="utf-8")
    lines = ",\n".join(json.dumps(feature) for feature in features)
    document = f'{{"type":"FeatureCollection","features":[\n{lines}\n]}}\n'
    (folder / "features.geojson").write_text(document, encoding="utf-8")
    return folder


def beds(folder: Path, count: int, *, seed: int = 1) -> Path:
    """Write a community garden of so many beds of 2.4 m by 1.2 m in rows, one of them proposed; a tree to 25 beds."""
    chance = Random(seed)  # noqa: S311
    across = max(1, round(math.sqrt(count * 2.2 / 3.4)))
    down = math.ceil(count / across)
    wide, deep = across * 3.4 + 10, down * 2.2 + 10
    features = [
        _box("boundary", 0, 0, wide, deep, id="garden"),
        _box("building", 1, 1, 4, 3, id="shed", height=2.6),
        _feature("pile", "Point", [7, 2], id="heap"),
        _box("pile", 9, 1, 3, 2.5, id="tip", drop=True),
        _feature("tap", "Point", [6, 1.5], id="tap", hose_length=40),
        _feature("fence", "LineString", [[0, 0], [wide, 0], [wide, deep], [0, deep], [0, 0]], height=1.2, id="fence"),
        _feature("gate", "Point", [8, 0], id="gate", width=2),
    ]
    for number in range(count):
        row, column = divmod(number, across)
        more: dict[str, object] = {"trellis_height": 1.8} if chance.random() < 0.2 else {}
        if number == count // 2:
            more["proposed"] = True
        x, y = 5 + column * 3.4, 5 + row * 2.2
        height = chance.choice([0.3, 0.45, 0.6])
        features.append(_box("bed", x, y, 2.4, 1.2, id=f"plot {number + 1}", height=height, **more))
    for _ in range(max(1, count // 25)):
        place = [round(chance.uniform(-20, -3), 2), round(chance.uniform(0, deep), 2)]
        features.append(_tree(chance, place))
    return _written(folder, features, name=f"Garden of {count} beds", cell=25)


def _tree(chance: Random, place: list[float]) -> Feature:
    height, crown = round(chance.uniform(3, 14), 1), round(chance.uniform(1.5, 6), 1)
    return _feature("tree", "Point", place, height=height, crown_diameter=crown)


def obstacles(folder: Path, count: int, *, seed: int = 1) -> Path:
    """Write one hectare with so many obstacles on it and within 50 m of it, and six beds in a clearing."""
    chance = Random(seed)  # noqa: S311
    features = [
        _box("boundary", 0, 0, 100, 100, id="field"),
        _feature("pile", "Point", [41, 41], id="heap"),
        _box("pile", 43, 40, 3, 2.5, id="tip", drop=True),
        _feature("tap", "Point", [42, 58], id="tap", hose_length=40),
    ]
    features += [_box("bed", 44 + 4 * (k % 3), 46 + 4 * (k // 3), 2.4, 1.2, id=f"bed {k + 1}", height=0.45,
                      proposed=k == 0) for k in range(6)]  # fmt: skip
    while len(features) < count + 10:
        x, y = (round(chance.uniform(-50, 150), 2) for _ in range(2))
        if 38 < x < 60 and 38 < y < 60:
            continue
        kind = chance.choices(["tree", "building", "fence", "hedge"], [0.6, 0.2, 0.1, 0.1])[0]
        if kind == "tree":
            features.append(_tree(chance, [x, y]))
        elif kind == "building":
            sides = [round(chance.uniform(1.5, 5), 2) for _ in range(2)]
            features.append(_box("building", x, y, *sides, height=round(chance.uniform(2, 8), 1)))
        else:
            line = [[x, y], [round(x + chance.uniform(-8, 8), 2), round(y + chance.uniform(-8, 8), 2)]]
            more: dict[str, object] = {"width": 0.8} if kind == "hedge" else {}
            features.append(_feature(kind, "LineString", line, height=round(chance.uniform(1, 2.5), 1), **more))
    return _written(folder, features, name=f"Hectare with {count} obstacles", cell=25)


def town(folder: Path, count: int, *, seed: int = 1, near: int = 300) -> Path:
    """Write a yard in a town of so many buildings in longitude and latitude, of which about `near` are near it.

    The town is a square ring of 7 km around a green of 5 km, in whose middle the yard and what is near it lie.
    """
    chance = Random(seed)  # noqa: S311
    features = [
        _box("boundary", -12, -10, 24, 20, id="yard"),
        _feature("pile", "Point", [5, 5], id="heap"),
        _box("bed", -1, -1, 2.4, 1.2, id="bed", height=0.45),
    ]
    for number in range(count):
        x, y = _spot(chance, near=number < near)
        sides = [round(chance.uniform(6, 18), 1) for _ in range(2)]
        features.append(_box("building", x, y, *sides, height=round(chance.uniform(4, 16), 1)))
    for feature in features:
        feature["geometry"]["coordinates"] = _degrees(feature["geometry"]["coordinates"])
    return _written(folder, features, name=f"Yard in a town of {count}", cell=50, more="")


def _spot(chance: Random, *, near: bool) -> tuple[float, float]:
    while True:
        reach = 100.0 if near else 3450.0
        x, y = chance.uniform(-reach, reach), chance.uniform(-reach, reach)
        if max(abs(x), abs(y)) > (32 if near else 2500):
            return x, y


def _degrees(coordinates: Any) -> Any:
    if isinstance(coordinates[0], list | tuple):
        return [_degrees(one) for one in coordinates]
    x, y = coordinates
    east = x / METRES_PER_DEGREE / math.cos(math.radians(LATITUDE))
    return [round(LONGITUDE + east, 7), round(LATITUDE + y / METRES_PER_DEGREE, 7)]


def skyline(folder: Path, count: int, *, seed: int = 1) -> Path:
    """Write a yard whose skyline has so many rows."""
    chance = Random(seed)  # noqa: S311
    town(folder, 5, seed=seed)
    rows = (f"{360 * k / count:.6f},{5 + 3 * math.sin(k / count * 20) + chance.random():.3f}" for k in range(count))
    (folder / "hills.csv").write_text("azimuth_deg,elevation_deg\n" + "\n".join(rows) + "\n", encoding="utf-8")
    settings = (folder / "site.toml").read_text(encoding="utf-8")
    (folder / "site.toml").write_text('skyline = "hills.csv"\n' + settings, encoding="utf-8")
    return folder


def faults(folder: Path, count: int, *, seed: int = 1) -> Path:
    """Write a yard with so many buildings that have no height."""
    town(folder, count, seed=seed, near=count)
    document = json.loads((folder / "features.geojson").read_text(encoding="utf-8"))
    for feature in document["features"]:
        if feature["properties"]["kind"] == "building":
            del feature["properties"]["height"]
    (folder / "features.geojson").write_text(json.dumps(document), encoding="utf-8")
    return folder


SITES: dict[str, Callable[..., Path]] = {site.__name__: site for site in (beds, obstacles, town, skyline, faults)}


def main() -> None:
    """Write the site that the command's words name."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("site", choices=SITES)
    parser.add_argument("count", type=int)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--seed", type=int, default=1)
    words = parser.parse_args()
    SITES[words.site](words.folder, words.count, seed=words.seed)


if __name__ == "__main__":
    main()
