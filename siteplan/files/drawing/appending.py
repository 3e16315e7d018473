"""How is a bed added to the features file without changing anything else?

GeoJSON: its text is inserted after the last feature, in that feature's layout, and no other byte changes. GeoPackage:
it is appended to a layer that can hold it. `adopting.py` writes the file safely and checks that the bed fits.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import shapely
from shapely import MultiPolygon, Polygon
from shapely.geometry import mapping

from siteplan.files.drawing.geojson_text import feature_spans, like
from siteplan.files.site_toml.renaming import Renaming
from siteplan.land.errors import Fault, InputError


@dataclass(frozen=True)
class NewFeature:
    """A feature to add.

    Attributes
    ----------
    id : str
    outline : Polygon
        In the file's own coordinates.
    properties : mapping of str to value
        Under siteplan's keys, ``kind`` among them: texts, numbers, booleans. A length is a text with its unit.
    lengths : mapping of str to float
        The same lengths as plain numbers in the drawing's unit, for columns of numbers.
    """

    id: str
    outline: Polygon
    properties: Mapping[str, Any]
    lengths: Mapping[str, float]


def append_features(path: Path, new: Sequence[NewFeature], renaming: Renaming) -> None:
    """Add features to a features file that can be read.

    Parameters
    ----------
    path : Path
        Ends in .geojson, .json or .gpkg.
    new : sequence of NewFeature
    renaming : Renaming
        From the file's own names to siteplan's.

    Raises
    ------
    InputError
        If no layer of a GeoPackage can hold them; the message says how to add one.
    """
    if path.suffix.lower() == ".gpkg":
        _append_rows(path, new, renaming)
        return
    content = path.read_bytes().decode("utf-8")
    path.write_bytes(with_features(content, new).encode("utf-8"))


def with_features(text: str, new: Sequence[NewFeature]) -> str:
    r"""Return the text of a GeoJSON FeatureCollection with features added after its last one.

    Examples
    --------
    >>> bed = NewFeature("b", Polygon([(0, 0), (2, 0), (2, 1)]), {}, {})
    >>> print(with_features('{"features":[\n{"id":"a"}\n]}', [bed]).replace('"geometry":', '"geometry":\n'))
    {"features":[
    {"id":"a"},
    {"type":"Feature","id":"b","properties":{},"geometry":
    {"type":"Polygon","coordinates":[[[0,0],[2,0],[2,1],[0,0]]]}}
    ]}
    """
    bracket, spans = feature_spans(text)
    begin = bracket + 1
    if not spans:
        written = [like(_document(feature, own_id=True), "", text) for feature in new]
        return text[:begin] + ",".join(written) + text[begin:]
    # the text between the last two features (a comma and white space) is repeated before each new one
    start, end = spans[-1]
    before = spans[-2].end if len(spans) > 1 else begin
    between = text[before:start].strip(",") if len(spans) == 1 else text[before:start]
    between = between if between.strip() else f",{between}"
    last = text[start:end]
    own_id = '"id"' not in last or "id" in json.loads(last)
    added = "".join(between + like(_document(feature, own_id=own_id), last, between) for feature in new)
    return text[:end] + added + text[end:]


def _document(new: NewFeature, *, own_id: bool) -> dict[str, Any]:
    """Return a feature as GeoJSON, with its id as a member (`own_id`) or among the properties."""
    ring = [[_short(x), _short(y)] for x, y in shapely.get_coordinates(shapely.orient_polygons(new.outline))]
    return {
        "type": "Feature",
        **({"id": new.id} if own_id else {}),
        "properties": {**({} if own_id else {"id": new.id}), **new.properties},
        "geometry": {"type": mapping(new.outline)["type"], "coordinates": [ring]},
    }


def _short(value: float) -> float | int:
    return int(value) if float(value).is_integer() else float(value)


def _append_rows(path: Path, new: Sequence[NewFeature], renaming: Renaming) -> None:
    """Add rows to the layer of a GeoPackage that can hold beds."""
    import geopandas as gpd
    import pyogrio

    layer, info = _layer_of_beds(path, renaming)
    types = dict(zip(map(str, info["fields"]), map(str, info["dtypes"]), strict=True))
    renamed = {key: column for column, key in renaming.keys.items() if column in types}
    columns: dict[str, list[Any]] = {}
    for key in dict.fromkeys(key for feature in new for key in ("id", *feature.properties)):
        column = key if key in types else renamed.get(key)
        if column is not None:
            columns[column] = [_cell(feature, key, types[column]) for feature in new]
        elif not (key == "id" or (key == "kind" and layer == "bed")):
            text = (
                f'its layer "{layer}" has no column {key}, which a new bed wants; add one (text) and run this again'
            )
            raise InputError([Fault(path.name, "", text)])
    # every column of the layer in its order: older versions of pyogrio append by position, not by name
    columns = {name: columns.get(name, [None] * len(new)) for name in types}
    outlines: list[Any] = [feature.outline for feature in new]
    if "Multi" in info["geometry_type"]:
        outlines = [MultiPolygon([outline]) for outline in outlines]
    if " Z" in info["geometry_type"]:
        outlines = [shapely.force_3d(outline) for outline in outlines]
    frame = gpd.GeoDataFrame(columns, geometry=outlines, crs=info["crs"])
    pyogrio.write_dataframe(frame, path, layer=layer, driver="GPKG", append=True)


def _layer_of_beds(path: Path, renaming: Renaming) -> tuple[str, dict[str, Any]]:
    """Return the layer that a bed is added to (called "bed", or with a column for the kind), and pyogrio's info."""
    import pyogrio

    candidates = []
    kinds = {"kind", *(column for column, key in renaming.keys.items() if key == "kind")}
    for name, geometry_type in pyogrio.list_layers(path):
        plain = str(geometry_type).removesuffix(" Z")
        if plain in {"Polygon", "MultiPolygon", "Unknown", "Geometry"}:
            info = pyogrio.read_info(path, layer=name)
            if name == "bed" or kinds & set(map(str, info["fields"])):
                candidates.append((name != "bed", str(name), info))
    if not candidates:
        text = (
            'has no layer for a new bed: add a layer of polygons called "bed", with the columns height and proposed'
        )
        raise InputError([Fault(path.name, "", f"{text} (text), and run this again")])
    return min(candidates, key=lambda candidate: candidate[0])[1:]


def _cell(new: NewFeature, key: str, kind: str) -> Any:
    """Return a value in the type of its column."""
    if key == "id":
        return new.id
    value = new.properties.get(key)
    if key in new.lengths and kind != "object":
        return new.lengths[key]
    if isinstance(value, bool) and kind == "object":
        return "true" if value else "false"
    return json.dumps(value) if isinstance(value, list) else value
