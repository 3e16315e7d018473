"""Which materials, surfaces, crops, crowns, albedos and spreads are known?

The tables of constants in data/, each row with its source; a column is a field of the record.
The site's own materials come from site.toml (`site_toml/trade.py`).
"""

from __future__ import annotations

import csv
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Any, TypeVar

from siteplan.land.constants import Albedo, Crop, Crown, Material, RollingSurface, UsualSpread
from siteplan.land.record import fields_of

Row = TypeVar("Row", Material, RollingSurface, Crop, Crown, Albedo, UsualSpread)


def data_folder() -> Path:
    """Return the folder of tables and demo: inside the installed package, or beside it in the checkout."""
    inside = Path(__file__).parents[1] / "data"
    return inside if inside.is_dir() else Path(__file__).parents[2] / "data"


@cache
def read_materials() -> Mapping[str, Material]:
    """Return the materials by name.

    Examples
    --------
    >>> read_materials()["topsoil"].density
    1250.0
    """
    return MappingProxyType({material.name: material for material in _rows("materials.csv", Material)})


@cache
def read_rolling_surfaces() -> Mapping[str, RollingSurface]:
    """Return how a barrow rolls on each surface, by surface.

    Examples
    --------
    >>> read_rolling_surfaces()["paved"].rolling, read_rolling_surfaces()["steps"].loaded
    (0.02, False)
    """
    return MappingProxyType({surface.surface: surface for surface in _rows("surfaces.csv", RollingSurface)})


@cache
def read_crops() -> Mapping[str, Crop]:
    """Return the crops by name, in the table's order.

    Examples
    --------
    >>> list(read_crops())[:3]
    ['tomato', 'pepper', 'cucumber']
    """
    return MappingProxyType({crop.name: crop for crop in _rows("crops.csv", Crop)})


@cache
def read_crowns() -> Mapping[tuple[str, str], Crown]:
    """Return the transmittances of crowns, by foliage and density.

    Examples
    --------
    >>> read_crowns()["deciduous", "medium"].transmittance_leafy
    0.05
    """
    return MappingProxyType({(crown.foliage, crown.crown_density): crown for crown in _rows("crowns.csv", Crown)})


@cache
def read_albedos() -> Mapping[str, Albedo]:
    """Return the albedo of each kind of feature and surface.

    Examples
    --------
    >>> read_albedos()["building"].albedo, read_albedos()["grass"].albedo
    (0.3, 0.2)
    """
    return MappingProxyType({albedo.kind: albedo for albedo in _rows("albedo.csv", Albedo)})


@cache
def read_spreads() -> Mapping[str, UsualSpread]:
    """Return how far off figures may be, by how they were measured.

    Examples
    --------
    >>> read_spreads()["tape"].tree
    0.05
    """
    return MappingProxyType({spread.measured: spread for spread in _rows("spreads.csv", UsualSpread)})


def _rows(name: str, record: type[Row]) -> list[Row]:
    """Return the rows of a table as records; an empty cell stands for the field's default."""
    fields = fields_of(record)
    with (data_folder() / name).open(encoding="utf-8", newline="") as table:
        return [
            record(**{key: _value(cell, fields[key].kind) for key, cell in row.items() if cell})
            for row in csv.DictReader(table)
        ]


def _value(cell: str, kind: Any) -> Any:
    """Return a cell in the type of its field."""
    if kind is bool:
        return cell == "true"
    return float(cell) if kind is float else cell
