"""How are layers read of which little matters?

Kinds and heights first, without shapes; then, by the layers' spatial index, what lies as near as the tallest may
matter, and of that what does. It leaves out layers that are small: those are read whole.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from pyproj import CRS

from siteplan.files.drawing.nearness import (
    BOUNDARY,
    OWN,
    STANDS,
    Floats,
    Roles,
    Seen,
    near,
    place_of,
    reach,
)
from siteplan.files.site_toml.settings import Settings

if TYPE_CHECKING:
    import pandas as pd
    from geopandas import GeoDataFrame


def near_layers(path: Path, names: Sequence[str], settings: Settings) -> dict[str, GeoDataFrame]:
    """Return of each layer the features that are near enough to matter, and those that are always read.

    Parameters
    ----------
    path : Path
        Of a GeoPackage or FlatGeobuf.
    names : sequence of str
        Of its layers with shapes.
    settings : Settings
    """
    layers = [_Layer(path, name, settings) for name in names]
    edges = [frame.total_bounds for layer in layers if len(frame := layer.of_role({BOUNDARY}))]
    if not edges:
        return {layer.name: layer.of_role({OWN}) for layer in layers}
    edge = np.array(edges)
    about = np.concatenate([edge[:, :2].min(axis=0), edge[:, 2:].max(axis=0)])
    return {layer.name: layer.near(about) for layer in layers}


class _Layer:
    """One layer, its columns but for the shapes."""

    def __init__(self, path: Path, name: str, settings: Settings) -> None:
        import pyogrio

        self.path, self.name = path, name
        info = pyogrio.read_info(path, layer=name)
        self.crs = None if info["crs"] is None else CRS.from_user_input(info["crs"])
        self.place = place_of(settings, self.crs)
        roles = Roles(settings.renaming, self.place.unit)
        columns = set(info["fields"])
        wanted = [key for key in (*roles.kind_keys, *roles.height_keys) if key in columns]
        told = pyogrio.read_dataframe(path, layer=name, columns=wanted, read_geometry=False, fid_as_index=True)
        self.fids = told.index.to_numpy()
        kinds = (name if kind is None else kind for kind in _first(told, roles.kind_keys))
        self.role = np.array([roles.role(kind) for kind in kinds], dtype=np.uint8)
        self.height = np.array([roles.height(height) for height in _first(told, roles.height_keys)])

    def of_role(self, wanted: Iterable[int]) -> GeoDataFrame:
        """Return the features of some roles."""
        return self._read(fids=self.fids[np.isin(self.role, list(wanted))])

    def near(self, about: Floats) -> GeoDataFrame:
        """Return the features that matter about a boundary, given its bounds."""
        import pandas as pd  # half a second, for those who have a large layer

        standing = self.height[self.role == STANDS]
        inside = self._read(bbox=self.place.widened(about, reach(float(standing.max(initial=0.0)))))
        own = self.of_role({BOUNDARY, OWN})
        both = pd.concat([own, inside[~inside.index.isin(own.index)]]) if len(own) else inside
        at = np.searchsorted(self.fids, both.index.to_numpy())
        bounds = both.geometry.bounds.to_numpy(dtype=float)
        edge = np.vstack([bounds, about])
        seen = Seen(np.append(self.role[at], BOUNDARY), np.append(self.height[at], 0.0), edge)
        return both[near(seen, self.place)[:-1]].sort_index()

    def _read(self, **choice: Any) -> GeoDataFrame:
        import pyogrio

        if "fids" in choice and not len(choice["fids"]):
            choice = {"where": "1 = 0"}
        found: GeoDataFrame = pyogrio.read_dataframe(self.path, layer=self.name, fid_as_index=True, **choice)
        return found


def _first(table: pd.DataFrame, keys: Iterable[str]) -> list[object]:
    """Return for each row the first value that there is in some columns; None where there is none."""
    found: list[object] = [None] * len(table)
    for key in keys:
        if key in table.columns:
            column = table[key].astype(object).where(table[key].notna(), None).tolist()
            found = [one if one is not None else other for one, other in zip(found, column, strict=True)]
    return found
