"""What is done to a sound site? One to three damages, drawn from a seed, each said in words.

Bytes of any file; values, keys and branches of TOML and JSON; lines and cells of tables; tags of a raster; rows and
columns of a GeoPackage; the file itself. A file is bytes, or a `Thing` that is none.
"""

from __future__ import annotations

import copy
import json
import math
import sqlite3
import tempfile
import tomllib
import warnings
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from random import Random
from typing import Any

import rasterio

from .hostile import TEXTS, Again, Raw, as_json, as_toml, hostile_number, hostile_value


@dataclass(frozen=True)
class Thing:
    """What lies there in place of a file: a folder, a pipe, a socket, nothing, or a link to somewhere."""

    sort: str
    target: str = ""


Files = dict[str, "bytes | Thing"]

DEVICES = ("/dev/zero", "/dev/random", "/dev/tty", "/dev/stdin", "/proc/self/mem", "/proc/kmsg", "/dev/full")


def damage(random: Random, files: dict[str, bytes]) -> tuple[Files, list[str]]:
    """Return a site's files with one to three damages, and what was done."""
    damaged: Files = dict(files)
    said = []
    for _ in range(random.choice((1, 1, 1, 1, 2, 3))):
        name = random.choice(sorted(files))
        content = damaged.get(name)
        if not isinstance(content, bytes):
            continue
        do = random.choice(_ways(name))
        try:
            damaged[name], words = do(random, content)
        except (ValueError, KeyError, IndexError, RecursionError, sqlite3.Error, rasterio.errors.RasterioError):
            damaged[name], words = of_bytes(random, content)  # it is too damaged already for anything finer
        said.append(f"{name}: {words}")
    return damaged, said


def _ways(name: str) -> tuple[Callable[..., tuple[bytes | Thing, str]], ...]:
    ways = {
        "toml": (of_toml,) * 8 + (of_lines, of_cells),
        "json": (of_json,) * 9 + (of_lines,),
        "gpkg": (of_geopackage,) * 6,
        "tif": (of_raster,) * 4,
        "epw": (of_lines, of_cells, of_cells),
        "csv": (of_lines, of_cells, of_cells),
    }
    ending = name.rpartition(".")[2].removeprefix("geo")
    return (*ways[ending], of_bytes, of_bytes, of_file)


def of_bytes(random: Random, content: bytes) -> tuple[bytes, str]:
    """Flip, cut, double or insert bytes."""
    size = len(content)
    at, span = random.randrange(size + 1), random.choice((1, 4, 40, 400))
    sort = random.choice(("flipped", "cut", "doubled", "zeroed", "put in", "taken out", "moved", "re-encoded"))
    if not content:
        return random.randbytes(span), "bytes where none were"
    changed = bytearray(content)
    if sort == "flipped":
        for _ in range(random.choice((1, 1, 3, 30))):
            changed[random.randrange(size)] ^= 1 << random.randrange(8)
    elif sort == "cut":
        changed = changed[:at]
    elif sort == "doubled":
        changed[at:at] = changed[at : at + span]
    elif sort == "zeroed":
        changed[at : at + span] = bytes(len(changed[at : at + span]))
    elif sort == "put in":
        changed[at:at] = random.randbytes(span)
    elif sort == "taken out":
        del changed[at : at + span]
    elif sort == "moved":
        part = changed[at : at + span]
        del changed[at : at + span]
        place = random.randrange(len(changed) + 1)
        changed[place:place] = part
    else:
        code = random.choice(("utf-16", "utf-8-sig", "utf-32", "latin-1", "cp1252"))
        return content.decode("utf-8", "replace").encode(code, "replace"), f"saved as {code}"
    return bytes(changed), f"{sort} at byte {at}"


def of_file(random: Random, content: bytes) -> tuple[bytes | Thing, str]:
    """Put something in place of the file that is no file, or an empty one."""
    sort = random.choice(("nothing", "folder", "pipe", "socket", "device", "loop", "empty", "spaces"))
    if sort == "empty":
        return b"", "empty"
    if sort == "spaces":
        return b" \n" * 5000, "spaces alone"
    if sort == "device":
        target = random.choice(DEVICES)
        return Thing("link", target), f"a link to {target}"
    return Thing(sort), f"a {sort}"


def of_lines(random: Random, content: bytes) -> tuple[bytes, str]:
    """Drop, double, swap or cut lines."""
    lines = content.split(b"\n")
    one, other = random.randrange(len(lines)), random.randrange(len(lines))
    sort = random.choice(
        ("dropped", "doubled", "swapped", "cut in half", "dropped from there on", "ended as on a Mac")
    )
    if sort == "dropped":
        del lines[one]
    elif sort == "doubled":
        lines.insert(other, lines[one])
    elif sort == "swapped":
        lines[one], lines[other] = lines[other], lines[one]
    elif sort == "cut in half":
        lines[one] = lines[one][: len(lines[one]) // 2]
    elif sort == "dropped from there on":
        del lines[one:]
    else:
        return b"\r".join(lines), "lines ended by carriage returns"
    return b"\n".join(lines), f"line {one + 1} {sort}"


def of_cells(random: Random, content: bytes) -> tuple[bytes, str]:
    """Put something hostile in a cell of a line with commas, or after an equals sign."""
    lines = content.split(b"\n")
    at = random.randrange(len(lines))
    cells = lines[at].split(b",")
    cell = random.randrange(len(cells))
    value = random.choice((hostile_number(random), random.choice(TEXTS)))
    key, equals, _ = cells[cell].partition(b"=")
    cells[cell] = (key + equals if equals else b"") + str(value).encode("utf-8", "surrogatepass")
    lines[at] = b",".join(cells)
    return b"\n".join(lines), f"line {at + 1}, cell {cell + 1} is {ascii(str(value))[:60]}"


def of_toml(random: Random, content: bytes) -> tuple[bytes, str]:
    """Change the tree of site.toml."""
    tree = tomllib.loads(content.decode())
    words = of_tree(random, tree)
    return as_toml(tree).encode("utf-8", "surrogatepass"), words


def of_json(random: Random, content: bytes) -> tuple[bytes, str]:
    """Change the tree of a GeoJSON document."""
    tree = json.loads(content)
    words = of_tree(random, tree)
    return as_json(tree).encode("utf-8", "surrogatepass"), words


def of_tree(random: Random, tree: Any) -> str:
    """Change one value, key or branch of a tree in place, and say what."""
    path: list[Any] = []
    parent: Any = tree
    while True:
        keys = list(parent) if isinstance(parent, dict) else range(len(parent))
        if not keys:
            return "nothing, the branch is empty"
        key = random.choice(list(keys))
        path.append(key)
        below = parent[key]
        if not isinstance(below, dict | list) or not below or random.random() < 0.15:
            break
        parent = below
    where = ".".join(str(part) for part in path)[-80:]
    sort = random.choice(("value", "value", "value", "type", "dropped", "doubled", "renamed", "scaled", "swapped"))
    return f"{where!a}: {_CHANGES[sort](random, parent, key, tree)}"


def _value(random: Random, parent: Any, key: Any, _: Any) -> str:
    parent[key] = hostile_value(random)
    return f"is now {ascii(parent[key])[:60]}"


def _type(random: Random, parent: Any, key: Any, _: Any) -> str:
    value = parent[key]
    parent[key] = random.choice(
        (lambda: [value], lambda: {"a": value}, lambda: str(value), list, dict, lambda: True,
         lambda: 7, lambda: [[value], value], lambda: f" {value} ")
    )()  # fmt: skip
    return f"is now {ascii(parent[key])[:60]}"


def _dropped(_: Random, parent: Any, key: Any, __: Any) -> str:
    del parent[key]
    return "dropped"


def _doubled(random: Random, parent: Any, key: Any, _: Any) -> str:
    twice = copy.deepcopy(parent[key])
    if isinstance(parent, list):
        parent.insert(random.randrange(len(parent) + 1), twice)
    else:
        parent[Again(key)] = twice
    return "doubled"


def _renamed(random: Random, parent: Any, key: Any, _: Any) -> str:
    if isinstance(parent, list):
        random.shuffle(parent)
        return "its list shuffled"
    new = random.choice((key.upper(), key[:-1], key + "s", key + "\u200b", "\u00a0" + key, "", "__proto__", key * 50))
    parent[new] = parent.pop(key)
    return f"renamed to {ascii(new)[:60]}"


def _scaled(random: Random, parent: Any, key: Any, _: Any) -> str:
    value = parent[key]
    factor = random.choice((-1, 0, 1e-300, 1e-9, 1.0001, 3.28, 1e3, 1e9, 1e300, math.nan))
    if isinstance(value, int | float):
        parent[key] = value * factor
    elif isinstance(value, str):
        parent[key] = f"{factor:g} {value.rpartition(' ')[2]}"
    elif isinstance(value, list):
        parent[key] = value * random.choice((2, 30))
    return f"scaled by {factor:g}"


def _swapped(random: Random, parent: Any, key: Any, tree: Any) -> str:
    other: Any = tree
    while isinstance(other, dict | list) and other and random.random() < 0.8:
        other = random.choice(list(other.values())) if isinstance(other, dict) else random.choice(other)
    parent[key] = copy.deepcopy(other)
    return f"is now {ascii(parent[key])[:60]}, from elsewhere in the file"


_CHANGES: dict[str, Callable[..., str]] = {
    "value": _value, "type": _type, "dropped": _dropped, "doubled": _doubled, "renamed": _renamed,
    "scaled": _scaled, "swapped": _swapped,
}  # fmt: skip


def of_raster(random: Random, content: bytes) -> tuple[bytes, str]:
    """Write the raster anew with other values, another place, another system, or scramble its head."""
    if random.random() < 0.3:
        head = random.randrange(8, min(400, len(content)))
        return content[:head] + random.randbytes(4) + content[head + 4 :], f"its head scrambled at {head}"
    with tempfile.TemporaryDirectory() as folder, warnings.catch_warnings():
        warnings.simplefilter("ignore", rasterio.errors.NotGeoreferencedWarning)  # a place that is none, meant so
        path = Path(folder) / "ground.tif"
        path.write_bytes(content)
        with rasterio.open(path) as raster:
            values, profile = raster.read(), raster.profile
        words = _RASTERS[sort := random.choice(sorted(_RASTERS))](random, values, profile)
        with rasterio.open(path, "w", **profile) as raster:
            raster.write(values.astype(profile["dtype"]))
            if sort == "scale":
                raster.scales, raster.offsets = (hostile_number(random),), (hostile_number(random),)
            if sort == "unit":
                raster.units = (random.choice(("ft", "", "furlong", "\x1b[31m", "m" * 3000)),)
        return path.read_bytes(), words


def _raster_values(random: Random, values: Any, _: Any) -> str:
    row, column = random.randrange(values.shape[1]), random.randrange(values.shape[2])
    some = random.choice((slice(None), slice(row, row + 5)))
    values[:, some, column:] = new = random.choice((math.nan, math.inf, -math.inf, 0, -9999, 1e30, 8848, -430, 3e38))
    return f"elevations from column {column} are {new}"


def _raster_place(random: Random, _: Any, profile: Any) -> str:
    place = list(profile["transform"])[:6]
    place[random.randrange(6)] = random.choice((0, math.nan, math.inf, 1e300, -1e300, 1e-300, -1, 45.0, 5e5))
    profile["transform"] = rasterio.Affine(*place)
    return f"laid by {place}"


def _raster_system(random: Random, _: Any, profile: Any) -> str:
    profile["crs"] = random.choice(
        (None, "EPSG:4326", "EPSG:3857", "EPSG:2229", "EPSG:4978", "EPSG:32732", "+proj=ortho +lat_0=-45 +lon_0=-172",
         'LOCAL_CS["here",UNIT["metre",1]]')
    )  # fmt: skip
    return f"in {profile['crs']}"


def _raster_type(random: Random, _: Any, profile: Any) -> str:
    profile["dtype"] = random.choice(("uint8", "int16", "float64", "complex64", "int8", "uint32"))
    profile["nodata"] = random.choice((None, 0, 100))
    return f"of {profile['dtype']} with nodata {profile['nodata']}"


def _raster_kept(_: Random, __: Any, ___: Any) -> str:
    return "its band's unit, scale or offset is odd"


_RASTERS: dict[str, Callable[..., str]] = {
    "values": _raster_values, "place": _raster_place, "system": _raster_system, "type": _raster_type,
    "scale": _raster_kept, "unit": _raster_kept,
}  # fmt: skip


def of_geopackage(random: Random, content: bytes) -> tuple[bytes, str]:
    """Change a row, a column or a table of a GeoPackage."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "yard.gpkg"
        path.write_bytes(content)
        base = sqlite3.connect(path, isolation_level=None)
        try:
            for (name,) in base.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
                base.execute(f'DROP TRIGGER "{name}"')  # GDAL's own functions are not at hand here
            tables = [name for (name,) in base.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
            words = _changed_table(random, base, random.choice([one for one in tables if "rtree" not in one]))
        finally:
            base.close()
        return path.read_bytes(), words


def _changed_table(random: Random, base: sqlite3.Connection, table: str) -> str:
    columns = [row[1] for row in base.execute(f'PRAGMA table_info("{table}")')]
    column = random.choice(columns)
    sort = random.choice(("cell", "cell", "cell", "blob", "blob", "dropped", "emptied", "renamed", "column"))
    if sort == "dropped":
        base.execute(f'DROP TABLE "{table}"')
    elif sort == "emptied":
        base.execute(f'DELETE FROM "{table}"')
    elif sort == "renamed":
        base.execute(f'ALTER TABLE "{table}" RENAME TO "{random.choice(("", "a b", "<b>", "kind"))}{table}"')
    elif sort == "column":
        base.execute(f'ALTER TABLE "{table}" RENAME COLUMN "{column}" TO "{random.choice(("geom2", "kind", "é"))}"')
    elif sort == "blob":
        value: Any = random.choice((random.randbytes(40), b"GP\x00\x01" + bytes(60), b"", b"GP"))
        base.execute(f'UPDATE "{table}" SET "{column}" = ?', (value,))
    else:
        value = hostile_value(random)
        value = str(value) if isinstance(value, Raw | list | dict) else value
        value = str(value) if isinstance(value, int) and abs(value) > 2**62 else value
        value = value.encode("utf-8", "replace").decode() if isinstance(value, str) else value
        base.execute(f'UPDATE "{table}" SET "{column}" = ? WHERE rowid % 2', (value,))
    return f"table {table}, column {column}: {sort}"
