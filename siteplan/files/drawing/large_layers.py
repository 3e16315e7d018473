"""How are layers read of which little matters?

Kinds and heights first, without shapes; then, by the layers' spatial index, what lies as near as the tallest may
matter, and of that what does. It leaves out layers that are small: those are read whole.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray
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
    layers = [Layer(path, name, settings) for name in names]
    edges = [frame.total_bounds for layer in layers if len(frame := layer.of_role({BOUNDARY}))]
    if not edges:
        return {layer.name: layer.of_role({OWN}) for layer in layers}
    edge = np.array(edges)
    about = np.concatenate([edge[:, :2].min(axis=0), edge[:, 2:].max(axis=0)])
    return {layer.name: layer.near(about) for layer in layers}


class Layer:
    """One layer of a file with a spatial index, its columns but for the shapes."""

    def __init__(self, path: Path, name: str, settings: Settings) -> None:
        self.path, self.name = path, name
        self.crs, columns = self._described()
        self.place = place_of(settings, self.crs)
        roles = Roles(settings.renaming, self.place.unit)
        told = self._columns([key for key in (*roles.kind_keys, *roles.height_keys) if key in columns])
        self.fids = told.index.to_numpy()
        kinds = (name if kind is None else kind for kind in _first(told, roles.kind_keys))
        self.role = np.array([roles.role(kind) for kind in kinds], dtype=np.uint8)
        self.height = np.array([roles.height(height) for height in _first(told, roles.height_keys)])

    def of_role(self, wanted: Iterable[int]) -> GeoDataFrame:
        """Return the features of some roles."""
        return self._read(fids=self.fids[np.isin(self.role, list(wanted))])

    def near(self, about: Floats) -> GeoDataFrame:
        """Return the features that matter about a boundary, given its bounds, and those that are always read."""
        import pandas as pd  # half a second, for those who have a large layer

        inside, own = self._within_reach(about), self.of_role({BOUNDARY, OWN})
        both = pd.concat([own, inside[~inside.index.isin(own.index)]]) if len(own) else inside
        return self._that_matter(both, about).sort_index()

    def beside(self, about: Floats, metres: float) -> GeoDataFrame:
        """Return the features that matter about one of many boundaries, given its bounds.

        Beds, piles and the like belong to one property: they come from its own bounds and so many metres beside them.
        """
        inside = self._within_reach(about)
        role = self.role[self._rows(inside)]
        own = self.place.metres(inside.geometry.bounds.to_numpy(dtype=float), about)
        west, south, east, north = self.place.metres(about[np.newaxis], about)[0]
        aside = np.maximum(np.maximum(own[:, 0] - east, west - own[:, 2]), 0)
        away = np.hypot(aside, np.maximum(np.maximum(own[:, 1] - north, south - own[:, 3]), 0))
        theirs = (role == BOUNDARY) | ((role == OWN) & ~(away <= metres))
        return self._that_matter(inside[~theirs], about).sort_index()

    def _within_reach(self, about: Floats) -> GeoDataFrame:
        """Return what lies as near as the tallest that stands may matter."""
        standing = self.height[self.role == STANDS]
        return self._read(bbox=self.place.widened(about, reach(float(standing.max(initial=0.0)))))

    def _that_matter(self, found: GeoDataFrame, about: Floats) -> GeoDataFrame:
        at = self._rows(found)
        edge = np.vstack([found.geometry.bounds.to_numpy(dtype=float), about])
        seen = Seen(np.append(self.role[at], BOUNDARY), np.append(self.height[at], 0.0), edge)
        return found[near(seen, self.place)[:-1]]

    def _rows(self, found: GeoDataFrame) -> NDArray[np.intp]:
        return np.searchsorted(self.fids, found.index.to_numpy())

    def _described(self) -> tuple[CRS | None, set[str]]:
        """Return the coordinate system and the names of the columns."""
        import pyogrio

        info = pyogrio.read_info(self.path, layer=self.name)
        return None if info["crs"] is None else CRS.from_user_input(info["crs"]), set(info["fields"])

    def _columns(self, wanted: list[str]) -> pd.DataFrame:
        """Return some columns of all features, by their numbers."""
        import pyogrio

        table: pd.DataFrame = pyogrio.read_dataframe(
            self.path, layer=self.name, columns=wanted, read_geometry=False, fid_as_index=True
        )
        return table

    def _read(self, **choice: Any) -> GeoDataFrame:
        """Return the features of some numbers (fids), or those that meet a box (bbox)."""
        import pyogrio

        if "fids" in choice and not len(choice["fids"]):
            choice = {"where": "1 = 0"}
        found: GeoDataFrame = pyogrio.read_dataframe(self.path, layer=self.name, fid_as_index=True, **choice)
        return found


class HeldLayer(Layer):
    """One layer of a file without a spatial index: it is held in memory, and the index is made there."""

    def __init__(self, path: Path, name: str, settings: Settings, frame: GeoDataFrame) -> None:
        self.frame = frame.reset_index(drop=True)
        super().__init__(path, name, settings)

    def _described(self) -> tuple[CRS | None, set[str]]:
        crs = self.frame.crs
        return None if crs is None else CRS.from_user_input(crs), set(map(str, self.frame.columns))

    def _columns(self, wanted: list[str]) -> pd.DataFrame:
        return self.frame[wanted]

    def _read(self, **choice: Any) -> GeoDataFrame:
        if "fids" in choice:
            return self.frame.iloc[np.asarray(choice["fids"], dtype=np.intp)]
        return self.frame.iloc[np.sort(self.frame.sindex.intersection(choice["bbox"]))]


def _first(table: pd.DataFrame, keys: Iterable[str]) -> list[object]:
    """Return for each row the first value that there is in some columns; None where there is none."""
    found: list[object] = [None] * len(table)
    for key in keys:
        if key in table.columns:
            column = table[key].astype(object).where(table[key].notna(), None).tolist()
            found = [one if one is not None else other for one, other in zip(found, column, strict=True)]
    return found
