"""A sound yard as files, to be broken one piece at a time."""

from __future__ import annotations

import copy
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import shapely
from shapely import LineString, Point, box
from shapely.geometry.base import BaseGeometry

from siteplan.files.reader import check_site
from siteplan.land.frame import LocalFrame

FRAME = LocalFrame(longitude=8.0, latitude=45.0)

SITE_TOML = """\
name = "Sparrow Court"
features = "features.geojson"
timezone = "Europe/Rome"
units = "metric"
currency = "EUR"

[season]
last_frost = "04-15"
first_frost = "10-20"

[sun]
cell = "50 cm"
year = 2026

[barrow]
volume = "85 L"

[[stock]]
material = "topsoil"
volume = "0.5 m^3"
at = "heap"

[[offer]]
material = "topsoil"
loose = "0.5 m^3"
price = 30.00
delivery = 40.00

[[offer]]
material = "compost"
bag = "40 L"
price = 7.50

[[offer]]
material = "coarse organic"
loose = "0.5 m^3"
price = 9.00

[[offer]]
material = "worm castings"
bag = "20 L"
price = 14.00
"""

# metres east and north of the middle of the lot; the bed, the tree and the gate lie free of everything else
DRAWN: dict[str, tuple[BaseGeometry, dict[str, Any]]] = {
    "lot": (box(-15, -10, 15, 10), {"kind": "boundary"}),
    "house": (box(-12, -8, -2, 0), {"kind": "building", "height": 7.5, "eaves": 5.0, "ridge_heading": 90}),
    "porch": (box(-2, -6, 0, -3), {"kind": "building", "height": 3.0, "base": "2.6 m", "transmittance": "50 %"}),
    "pear": (Point(8, -5), {"kind": "tree", "height": 6.0, "crown_diameter": 4.0, "trunk_diameter": "20 cm"}),
    "yew": (
        box(11, 5, 13, 8),
        {"kind": "tree", "height": 4.0, "foliage": "evergreen", "crown_base": 0.5, "crown_form": "cone"},
    ),
    "box": (LineString([(-14, 9.5), (0, 9.5)]), {"kind": "hedge", "height": 1.5, "width": "60 cm"}),
    "fence": (LineString([(-2, -8), (14, -8)]), {"kind": "fence", "height": 1.8}),
    "wall": (box(14, -8, 14.3, 8), {"kind": "fence", "height": 2.0}),
    "lawn": (box(-12, 1, 13, 9), {"kind": "surface", "surface": "grass"}),
    "gate": (Point(3, -8.1), {"kind": "gate", "width": "1 m"}),
    "tap": (Point(-2, -1), {"kind": "tap", "hose_length": "15 m"}),
    "heap": (Point(12, -3), {"kind": "pile"}),
    "kerb": (box(2, -9.5, 4, -8.5), {"kind": "pile", "drop": True}),
    "back": (Point(-5, 0.1), {"kind": "door"}),
    "north": (
        box(0, 4, 1.2, 6.4),
        {"kind": "bed", "height": "45 cm", "trellis_height": 1.8, "trellis_side": "north", "need": 5},
    ),
    "south": (box(4, 4, 5.2, 6.4), {"kind": "bed", "height": 0.3, "proposed": True, "crop_height": "1 m"}),
    "gas": (LineString([(-15, -9), (15, -9)]).buffer(0.5), {"kind": "keepout", "reason": "gas pipe", "setback": 0.5}),
}

Features = dict[str, dict[str, Any]]


def geojson_features() -> Features:
    """Return the yard's features by id, in longitude and latitude."""
    return {
        feature_id: {
            "type": "Feature",
            "id": feature_id,
            "properties": copy.deepcopy(properties),
            "geometry": json.loads(shapely.to_geojson(FRAME.to_lonlat(shape))),
        }
        for feature_id, (shape, properties) in DRAWN.items()
    }


class Yard:
    """The yard's files in a folder, and what is wrong with them."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.toml = SITE_TOML
        self.features = geojson_features()
        self.write_features = True

    def change(self, old: str, new: str) -> None:
        assert old in self.toml
        self.toml = self.toml.replace(old, new, 1)

    def draw(self, feature_id: str, shape: BaseGeometry, **properties: Any) -> None:
        """Draw a feature, or draw one anew; in metres."""
        known = self.features.get(feature_id, {"type": "Feature", "id": feature_id, "properties": {}})
        known["properties"] |= properties
        known["geometry"] = json.loads(shapely.to_geojson(FRAME.to_lonlat(shape)))
        self.features[feature_id] = known

    def say_metres(self) -> None:
        """Give each length of a feature its unit, as a drawing in feet needs it."""
        for feature in self.features.values():
            for key, value in feature["properties"].items():
                if type(value) in {float, int} and key not in {"need", "ridge_heading"}:
                    feature["properties"][key] = f"{value} m"

    def write(self) -> Path:
        (self.folder / "site.toml").write_text(self.toml, encoding="utf-8")
        if self.write_features:
            document = {"type": "FeatureCollection", "features": list(self.features.values())}
            (self.folder / "features.geojson").write_text(json.dumps(document), encoding="utf-8")
        return self.folder

    def faults(self) -> list[str]:
        return [str(fault) for fault in check_site(self.write()).faults]

    def cautions(self) -> dict[str, str]:
        checked = check_site(self.write())
        assert not checked.faults, checked.faults
        return {caution.code: f"{caution.feature}: {caution.text}" for caution in checked.cautions}


@pytest.fixture
def yard(tmp_path: Path) -> Yard:
    """Return the sound yard, not yet written."""
    folder = tmp_path / "yard"
    folder.mkdir()
    return Yard(folder)


@pytest.fixture
def another_yard(tmp_path: Path) -> Callable[[str], Yard]:
    """Return a maker of more yards, each in its own folder."""

    def make(name: str) -> Yard:
        folder = tmp_path / name
        folder.mkdir()
        return Yard(folder)

    return make
