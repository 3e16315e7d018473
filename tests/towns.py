"""An invented town from a seed: blocks of plots along streets, most of them built on, some vacant.

``python -m tests.towns FOLDER --lots 2000`` writes one: town.gpkg with lots, buildings, trees and fences, and the
settings that all lots share. Some of its features have faults.
"""

from __future__ import annotations

import argparse
import math
from pathlib import Path
from random import Random

import geopandas as gpd
from shapely import LineString, MultiPolygon, Point, Polygon, affinity, box

#: a plane in metres somewhere in middle latitudes; nothing in it is a real place
CRS, EAST, NORTH = "EPSG:32632", 610_000.0, 5_790_000.0
WIDE, DEEP, ROW, STREET = 14.0, 30.0, 12, 12.0  # m; plots of a block's row, and the street around it

SETTINGS = """\
name = "Town lots"
currency = "EUR"
[season]
last_frost = "05-01"
first_frost = "10-10"
[sun]
year = 2026
cell = "{cell} cm"
[place]
length = "2.4 m"
width = "1.2 m"
height = "40 cm"
count = 1
[fill]
layers = [
  {{ material = "topsoil", fraction = 0.6 }},
  {{ material = "compost", fraction = 0.4 }},
]
[[offer]]
material = "topsoil"
loose = "0.5 m^3"
price = 22.0
delivery = 60.0
[[offer]]
material = "topsoil"
bag = "40 L"
price = 5.0
[[offer]]
material = "compost"
bag = "50 L"
price = 6.0
"""


def town(
    folder: Path, *, lots: int = 2000, buildings: int = 10_000, trees: int = 6000, seed: int = 1, cell: int = 50,
    faults: bool = True,
) -> Path:  # fmt: skip
    """Write a town of so many vacant lots, buildings and trees, and return its folder."""
    chance = Random(seed)  # noqa: S311
    plots = _plots(lots + buildings)
    vacant = set(chance.sample(range(len(plots)), lots))
    drawn: dict[str, list[dict[str, object]]] = {"lots": [], "buildings": [], "trees": [], "fences": []}
    for number, plot in enumerate(plots):
        if number in vacant:
            drawn["lots"].append({"plot": f"L{number:05d}", "geometry": _lot(plot, chance)})
            if chance.random() < 0.3:
                west, south, east, north = plot.bounds
                line = LineString([(west, south), (west, north), (east, north), (east, south)])
                drawn["fences"].append({"height": round(chance.uniform(0.9, 1.9), 2), "geometry": line})
        else:
            storeys = chance.choice([1, 2, 2, 2, 3, 3, 4])
            drawn["buildings"].append(
                {
                    "no": number,
                    "roof": round(2.9 * storeys + chance.uniform(0, 1.5), 2),
                    "geometry": _house(plot, chance),
                }
            )
    for _ in range(trees):
        x0, y0, x1, y1 = chance.choice(plots).bounds
        at = Point(chance.uniform(x0, x1), chance.choice([y0, y1]) + chance.uniform(-2, 2))
        tall = chance.uniform(4, 15)
        drawn["trees"].append({"height": round(tall, 1), "crown_diameter": round(tall * 0.5, 1), "geometry": at})
    if faults:
        _spoil(drawn)
    folder.mkdir(parents=True, exist_ok=True)
    for name, rows in drawn.items():
        if rows:
            gpd.GeoDataFrame(rows, crs=CRS).to_file(folder / "town.gpkg", layer=name, driver="GPKG")
    rename = '[rename.keys]\nplot = "id"\nroof = "height"\nno = "id"\n'
    (folder / "site.toml").write_text(SETTINGS.format(cell=cell) + rename, encoding="utf-8")
    return folder


def _plots(count: int) -> list[Polygon]:
    """Return plots in blocks of two rows back to back, as near to a square of a town as they make."""
    block_wide, block_deep = ROW * WIDE + STREET, 2 * DEEP + STREET
    blocks = math.ceil(count / (2 * ROW))
    across = max(1, round(math.sqrt(blocks * block_deep / block_wide)))
    found = []
    for block in range(blocks):
        down, along = divmod(block, across)
        west, south = EAST + along * block_wide, NORTH + down * block_deep
        found += [
            box(west + k * WIDE, south + row * DEEP, west + (k + 1) * WIDE, south + (row + 1) * DEEP)
            for row in (0, 1)
            for k in range(ROW)
        ]
    return found[:count]


def _lot(plot: Polygon, chance: Random) -> Polygon:
    """Return a vacant plot, its corners as surveyed: not quite square."""
    return Polygon(
        [(x + chance.uniform(-0.4, 0.4), y + chance.uniform(-0.4, 0.4)) for x, y in plot.exterior.coords[:4]]
    )


def _house(plot: Polygon, chance: Random) -> Polygon:
    west, south, _, _ = plot.bounds
    wide, deep = chance.uniform(7, 12), chance.uniform(8, 14)
    x, y = west + chance.uniform(0.5, 13.5 - wide), south + chance.uniform(3, 29 - deep)
    return affinity.rotate(box(x, y, x + wide, y + deep), chance.uniform(-2, 2))


def _spoil(drawn: dict[str, list[dict[str, object]]]) -> None:
    """Put faults into a town: lots that are no one area, buildings and trees that lack something."""
    lots, houses = drawn["lots"], drawn["buildings"]
    west, south, east, north = lots[1]["geometry"].bounds
    lots[1]["geometry"] = Polygon([(west, south), (east, north), (east, south), (west, north)])
    lots[2]["geometry"] = None
    shape = lots[3]["geometry"]
    lots[3]["geometry"] = MultiPolygon([shape, affinity.translate(shape, 40, 0)])
    west, south, _, _ = lots[4]["geometry"].bounds
    lots[4]["geometry"] = box(west, south, west + 0.4, south + 0.4)
    houses[len(houses) // 2]["roof"] = None
    drawn["trees"][0]["crown_diameter"] = None


if __name__ == "__main__":
    words = argparse.ArgumentParser(description="Write an invented town.")
    words.add_argument("folder", type=Path)
    words.add_argument("--lots", type=int, default=2000)
    words.add_argument("--seed", type=int, default=1)
    asked = words.parse_args()
    town(asked.folder, lots=asked.lots, buildings=5 * asked.lots, trees=3 * asked.lots, seed=asked.seed)
