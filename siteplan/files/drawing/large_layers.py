"""How are large layers read, of which only a few features matter?

Kinds and heights first, without shapes; then, by the layer's spatial index, the features within the reach of the
tallest; of these, the ones that matter. Small layers are read whole, by `vector.py`.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray
from pyproj import CRS

from siteplan.files.drawing.nearness import (
    ALWAYS,
    BOUNDARY,
    OBSTACLE,
    Floats,
    Outlook,
    Roles,
    near,
    place_of,
    reach,
)
from siteplan.files.site_toml.settings import Settings

if TYPE_CHECKING:
    import pandas as pd
    from geopandas import GeoDataFrame


def near_layers(path: Path, names: Sequence[str], settings: Settings) -> dict[str, GeoDataFrame]:
    """Return for each layer the features that are near enough to matter, and those that are always read.

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
        return {layer.name: layer.of_role({ALWAYS}) for layer in layers}
    edge = np.array(edges)
    about = np.concatenate([edge[:, :2].min(axis=0), edge[:, 2:].max(axis=0)])
    return {layer.name: layer.near(about) for layer in layers}


class Layer:
    """One layer of a file with a spatial index; kinds and heights are in memory, shapes are read when needed."""

    def __init__(self, path: Path, name: str, settings: Settings) -> None:
        self.path, self.name = path, name
        self.crs, columns = self._described()
        self.place = place_of(settings, self.crs)
        roles = Roles(settings.renaming, self.place.unit)
        table = self._columns([key for key in (*roles.kind_keys, *roles.height_keys) if key in columns])
        self.fids = table.index.to_numpy()
        kinds = (name if kind is None else kind for kind in _first_value(table, roles.kind_keys))
        self.role = np.array([roles.role(kind) for kind in kinds], dtype=np.uint8)
        self.height = np.array([roles.height(height) for height in _first_value(table, roles.height_keys)])

    def of_role(self, roles: Iterable[int]) -> GeoDataFrame:
        """Return the features of some roles."""
        return self._read(fids=self.fids[np.isin(self.role, list(roles))])

    def near(self, about: Floats) -> GeoDataFrame:
        """Return the features that matter around the bounds of a boundary, and those that are always read."""
        import pandas as pd  # imported here: it takes 0.5 s to load, and only large layers need it

        within_reach, always_read = self._within_reach(about), self.of_role({BOUNDARY, ALWAYS})
        if len(always_read):
            obstacles = within_reach[~within_reach.index.isin(always_read.index)]
            return self._that_matter(pd.concat([always_read, obstacles]), about).sort_index()
        return self._that_matter(within_reach, about).sort_index()

    def beside(self, about: Floats, metres: float) -> GeoDataFrame:
        """Return the features that matter around the bounds of one of many boundaries.

        Beds, piles and the like belong to one property: only those within `metres` of the bounds are returned.
        """
        within_reach = self._within_reach(about)
        role = self.role[self._rows(within_reach)]
        distance = self.place.distance(within_reach.geometry.bounds.to_numpy(dtype=float), about)  # NaN counts as far
        of_other_lots = (role == BOUNDARY) | ((role == ALWAYS) & ~(distance <= metres))
        return self._that_matter(within_reach[~of_other_lots], about).sort_index()

    def _within_reach(self, about: Floats) -> GeoDataFrame:
        """Return the features within the reach of the layer's tallest obstacle."""
        standing = self.height[self.role == OBSTACLE]
        return self._read(bbox=self.place.widened(about, reach(float(standing.max(initial=0.0)))))

    def _that_matter(self, features: GeoDataFrame, about: Floats) -> GeoDataFrame:
        rows = self._rows(features)
        bounds = np.vstack([features.geometry.bounds.to_numpy(dtype=float), about])
        outlook = Outlook(np.append(self.role[rows], BOUNDARY), np.append(self.height[rows], 0.0), bounds)
        return features[near(outlook, self.place)[:-1]]

    def _rows(self, features: GeoDataFrame) -> NDArray[np.intp]:
        return np.searchsorted(self.fids, features.index.to_numpy())

    def _described(self) -> tuple[CRS | None, set[str]]:
        """Return the coordinate system and the names of the columns."""
        import pyogrio

        info = pyogrio.read_info(self.path, layer=self.name)
        return None if info["crs"] is None else CRS.from_user_input(info["crs"]), set(info["fields"])

    def _columns(self, names: list[str]) -> pd.DataFrame:
        """Return some columns of all features, indexed by feature id."""
        import pyogrio

        table: pd.DataFrame = pyogrio.read_dataframe(
            self.path, layer=self.name, columns=names, read_geometry=False, fid_as_index=True
        )
        return table

    def _read(self, **choice: Any) -> GeoDataFrame:
        """Return the features of some ids (fids), or those that meet a box (bbox)."""
        import pyogrio

        if "fids" in choice and not len(choice["fids"]):
            choice = {"where": "1 = 0"}
        features: GeoDataFrame = pyogrio.read_dataframe(self.path, layer=self.name, fid_as_index=True, **choice)
        return features


class HeldLayer(Layer):
    """One layer of a file without a spatial index: it is held in memory and indexed there."""

    def __init__(self, path: Path, name: str, settings: Settings, frame: GeoDataFrame) -> None:
        self.frame = frame.reset_index(drop=True)
        super().__init__(path, name, settings)

    def _described(self) -> tuple[CRS | None, set[str]]:
        crs = self.frame.crs
        return None if crs is None else CRS.from_user_input(crs), set(map(str, self.frame.columns))

    def _columns(self, names: list[str]) -> pd.DataFrame:
        return self.frame[names]

    def _read(self, **choice: Any) -> GeoDataFrame:
        if "fids" in choice:
            return self.frame.iloc[np.asarray(choice["fids"], dtype=np.intp)]
        return self.frame.iloc[np.sort(self.frame.sindex.intersection(choice["bbox"]))]


def _first_value(table: pd.DataFrame, keys: Iterable[str]) -> list[object]:
    """Return for each row the first value in some columns that is not missing; None if all are."""
    values: list[object] = [None] * len(table)
    for key in keys:
        if key in table.columns:
            column = table[key].astype(object).where(table[key].notna(), None).tolist()
            pairs = zip(values, column, strict=True)
            values = [later_value if value is None else value for value, later_value in pairs]
    return values
