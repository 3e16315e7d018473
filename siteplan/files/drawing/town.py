"""How does each of a town's lots become a drawing of its own?

The lots are one layer; other layers of features are shared by all lots. The features near enough to matter to a lot
are cut out by spatial index.
"""

from __future__ import annotations

import warnings
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from pyproj import CRS
from shapely.geometry.base import BaseGeometry

from siteplan.files.drawing.kinds import KINDS
from siteplan.files.drawing.large_layers import HeldLayer, Layer
from siteplan.files.drawing.layers import has_its_format
from siteplan.files.drawing.vector import Drawing, RawFeature, drawing_of_frames, is_null
from siteplan.files.remarks import Remarks, clean
from siteplan.files.site_toml.settings import Settings
from siteplan.files.text import no_file
from siteplan.land.values import LONGEST_TEXT, shown

if TYPE_CHECKING:
    from geopandas import GeoDataFrame

#: file endings of lots and layers: with a spatial index in the file, and without
INDEXED, HELD = (".gpkg", ".fgb"), (".parquet", ".geojson", ".json")
FORMATS = (*INDEXED, *HELD)
LOTS = ("lots", "lot", "boundary", "boundaries", "parcels")  # names that a layer of lots may have
BESIDE = 1.0  # m; beds, gates, piles and taps within this distance of a lot belong to it
#: plurals of kinds, as names of layers
_PLURALS = {"boundaries": "boundary"} | {f"{kind}s": kind for kind in KINDS if kind != "boundary"}


@dataclass(frozen=True)
class TownFiles:
    """The file of the lots, and the files of the layers that they share.

    Attributes
    ----------
    lots : Path
    layers : tuple of Path
        Files of features; further layers in the file `lots` are shared as well.
    lots_layer : str or None
        The layer of lots; None to find it by its name.
    """

    lots: Path
    layers: tuple[Path, ...] = ()
    lots_layer: str | None = None


def with_plurals(values: Mapping[str, object]) -> dict[str, object]:
    """Return settings in which a layer may have the plural of a kind as its name, such as buildings.

    Examples
    --------
    >>> with_plurals({"rename": {"kinds": {"trees": "ignore"}}})["rename"]["kinds"]["buildings"]
    'building'
    """
    rename = values.get("rename", {})
    kinds = rename.get("kinds", {}) if isinstance(rename, Mapping) else {}
    if not isinstance(rename, Mapping) or not isinstance(kinds, Mapping):
        return dict(values)  # a fault, which the reader of the settings reports
    return {**values, "rename": {**rename, "kinds": {**_PLURALS, **kinds}}}


class Town:
    """The lots of a town, and the layers that they share.

    Attributes
    ----------
    ids : list of str
        Of the lots, in their order.
    shapes : ndarray of shapely geometry or None
        As drawn.
    crs : CRS or None
    """

    def __init__(self, lots: GeoDataFrame, layers: Sequence[Layer], settings: Settings) -> None:
        self.crs = None if lots.crs is None else CRS.from_user_input(lots.crs)
        self.layers, self.settings = tuple(layers), settings
        self.shapes = lots.geometry.to_numpy()
        self.ids = _ids(lots, settings)

    def drawing(self, number: int) -> Drawing:
        """Return the drawing of a lot, by its number from 0: its boundary, and the features that matter to it."""
        shape = self.shapes[number]
        drawn = None if shape is None or shape.is_empty else shape
        lot = RawFeature(
            1, None, {"kind": "boundary", "id": f"lot {self.ids[number]}"}, drawn, "" if drawn else "has no geometry"
        )
        if drawn is None:
            return Drawing("lots", (lot,), self.crs, geographic_by_default=False)
        bounds = np.array(shapely.bounds(drawn))
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            frames = {layer.name: layer.beside(bounds, BESIDE) for layer in self.layers}
        around = drawing_of_frames(frames, Remarks(), file="lots")
        others = (_renumbered(feature, number) for number, feature in enumerate(around.features, 2))
        return Drawing("lots", (lot, *others), self.crs, geographic_by_default=False, whole=False)

    @cached_property
    def degrees(self) -> list[BaseGeometry | None]:
        """The lots in longitude and latitude; None for all if their coordinate system is unknown."""
        import geopandas as gpd

        if self.crs is None or self.settings.has_origin:
            return [None] * len(self.ids)
        return [*gpd.GeoSeries(self.shapes, crs=self.crs).to_crs("EPSG:4326")]


def _renumbered(feature: RawFeature, number: int) -> RawFeature:
    """Return a feature with a new number; an id that is a mere number gets its kind in front, to be unique."""
    properties = dict(feature.properties)
    for key in ("id", "fid"):
        if str(properties.get(key, "")).isdigit() and isinstance(kind := properties.get("kind"), str):
            properties[key] = f"{kind.removesuffix('s')} {properties[key]}"
    return RawFeature(number, feature.own_id, properties, feature.shape, feature.trouble)


def open_town(files: TownFiles, settings: Settings, remarks: Remarks) -> Town | None:
    """Return the lots and their shared layers, or None if a file is at fault; all faults are noted.

    Parameters
    ----------
    files : TownFiles
    settings : Settings
        With [rename] for columns and kinds under other names.
    remarks : Remarks
    """
    before = len(remarks.faults)
    for path in (files.lots, *files.layers):
        _check_file(path, remarks)
    if len(remarks.faults) > before:
        return None
    names = _layer_names(files.lots, remarks)
    lots_layer = _lots_layer(files, names, remarks)
    if lots_layer is None:
        return None
    lots = _frame(files.lots, lots_layer, remarks)
    layers = [_layer(files.lots, name, settings, remarks) for name in sorted(names) if name != lots_layer]
    for path in files.layers:
        layers += [_layer(path, name, settings, remarks) for name in sorted(_layer_names(path, remarks))]
    readable = [layer for layer in layers if layer is not None]
    if lots is None or len(readable) < len(layers):
        return None
    _check_names(readable, remarks)
    town = Town(lots, readable, settings)
    _check_lots(town, files.lots.name, remarks)
    return town if len(remarks.faults) == before else None


def _check_file(path: Path, remarks: Remarks) -> None:
    """Note a file that is missing, or in none of the formats."""
    if path.suffix.lower() not in FORMATS:
        remarks.fault(path.name, "", f"must be a file of {', '.join(FORMATS[:-1])}; export the layer as one of them")
    elif trouble := no_file(path):
        remarks.fault(path.name, "", trouble)
    elif path.suffix.lower() in INDEXED and not has_its_format(path):
        remarks.fault(path.name, "", "is not what its name says: it begins otherwise; export the layer anew")


def _layer_names(path: Path, remarks: Remarks) -> list[str]:
    """Return the names of a file's layers with shapes; for a format with a single layer, the file's name."""
    if path.suffix.lower() not in INDEXED:
        return [path.stem]
    import pyogrio

    try:
        return [str(name) for name, shapes in pyogrio.list_layers(path).tolist() if shapes is not None]
    except (pyogrio.errors.DataSourceError, ValueError, RuntimeError) as error:
        remarks.fault(path.name, "", f"cannot be read: {shown(str(error))}")
        return []


def _lots_layer(files: TownFiles, names: Sequence[str], remarks: Remarks) -> str | None:
    """Return the layer that holds the lots."""
    if files.lots_layer is not None:
        if files.lots_layer in names:
            return files.lots_layer
        text = f"has no layer {shown(files.lots_layer)} (layers: {', '.join(names) or 'none'})"
        remarks.fault(files.lots.name, "--lots", text)
        return None
    if len(names) == 1:
        return names[0]
    named = [name for name in names if name.lower() in LOTS]
    if len(named) == 1:
        return named[0]
    if names:
        text = f"has several layers ({', '.join(names)}); say which one holds the lots, as --lots {shown(names[0])}"
        remarks.fault(files.lots.name, "", text)
    return None


def _frame(path: Path, name: str, remarks: Remarks) -> GeoDataFrame | None:
    """Return a layer as a whole."""
    import geopandas as gpd
    import pyogrio

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            if path.suffix.lower() == ".parquet":
                return gpd.read_parquet(path)
            return gpd.GeoDataFrame(pyogrio.read_dataframe(path, **({"layer": name} if _indexed(path) else {})))
    except ImportError:
        remarks.fault(path.name, "", "needs pyarrow to be read: install siteplan[parquet], or save it as .gpkg")
    except Exception as error:  # noqa: BLE001  # the readers raise many kinds of errors for damaged files
        remarks.fault(path.name, "", f"cannot be read: {shown(str(error))}")
    return None


def _layer(path: Path, name: str, settings: Settings, remarks: Remarks) -> Layer | None:
    if _indexed(path):
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            return Layer(path, name, settings)
    frame = _frame(path, name, remarks)
    return None if frame is None else HeldLayer(path, name, settings, frame)


def _indexed(path: Path) -> bool:
    return path.suffix.lower() in INDEXED


def _check_names(layers: Iterable[Layer], remarks: Remarks) -> None:
    """Note layers with the same name: the name may be the only sign of their kind."""
    for name, count in Counter(layer.name for layer in layers).items():
        if count > 1:
            remarks.fault(name, "", f"is the name of {count} layers; give each a name of its own")


def _check_lots(town: Town, file: str, remarks: Remarks) -> None:
    """Note lots with the same id, and layers in another coordinate system than the lots."""
    if not town.ids:
        remarks.fault(file, "", "holds no lots")
    for lot_id, count in Counter(town.ids).items():
        if count > 1:
            remarks.fault(file, f"lot {shown(lot_id)}", f"is the id of {count} lots; each must have an id of its own")
    if town.crs is None and not town.settings.has_origin:
        text = "does not say in which coordinate system it is; save it in one, or give [origin] in the settings"
        remarks.fault(file, "", text)
    for layer in town.layers:
        if layer.crs != town.crs:
            systems = " and ".join("none" if crs is None else str(crs.name) for crs in (layer.crs, town.crs))
            text = f"is in another coordinate system than the lots ({systems}); save both in one"
            remarks.fault(layer.path.name, layer.name, text)


def _ids(lots: GeoDataFrame, settings: Settings) -> list[str]:
    """Return the lots' ids: from the column id (or renamed to id), else their numbers from 1."""
    renamed = [key for key, meaning in settings.renaming.keys.items() if meaning == "id"]
    column = next((key for key in (*renamed, "id") if key in lots.columns), None)
    values: list[Any] = [None] * len(lots) if column is None else lots[column].tolist()
    return [_id(value) or str(number) for number, value in enumerate(values, 1)]


def _id(value: object) -> str:
    if is_null(value):
        return ""
    is_whole = isinstance(value, float) and value.is_integer()
    return clean(str(int(value) if is_whole else value))[:LONGEST_TEXT]  # type: ignore[call-overload]
