"""Which materials and which ground are known?

The tables of constants in data/, each row with its source; the columns are the fields of the records.
It leaves out the site's own materials, which come from site.toml.
"""

from __future__ import annotations

import csv
from functools import cache
from pathlib import Path
from types import MappingProxyType

from siteplan.land.materials import Ground, Material

_NUMBERS = ("density", "density_wet", "settling_first", "settling_later", "shovel_rate")


def data_folder() -> Path:
    """Return the folder of tables and demo: inside the installed package, or beside it in the checkout."""
    inside = Path(__file__).parents[1] / "data"
    return inside if inside.is_dir() else Path(__file__).parents[2] / "data"


def _rows(name: str) -> list[dict[str, str]]:
    with (data_folder() / name).open(encoding="utf-8", newline="") as table:
        return list(csv.DictReader(table))


@cache
def read_materials() -> MappingProxyType[str, Material]:
    """Return the materials by name.

    Examples
    --------
    >>> read_materials()["topsoil"].density
    1250.0
    """
    found = {}
    for row in _rows("materials.csv"):
        numbers = {key: float(row[key]) for key in _NUMBERS}
        texts = {key: row[key] for key in ("name", "kind", "touches", "caution", "source")}
        ratio = float(row["carbon_nitrogen"]) if row["carbon_nitrogen"] else None
        found[row["name"]] = Material(**texts, **numbers, carbon_nitrogen=ratio)  # type: ignore[arg-type]
    return MappingProxyType(found)


@cache
def read_grounds() -> MappingProxyType[str, Ground]:
    """Return what each surface asks of whoever pushes a barrow, by surface.

    Examples
    --------
    >>> read_grounds()["paved"].rolling, read_grounds()["steps"].loaded
    (0.02, False)
    """
    return MappingProxyType(
        {
            row["surface"]: Ground(
                surface=row["surface"],
                rolling=float(row["rolling"]),
                rolling_wet=float(row["rolling_wet"]),
                pace=float(row["pace"]),
                loaded=row["loaded"] == "true",
                source=row["source"],
            )
            for row in _rows("surfaces.csv")
        },
    )
