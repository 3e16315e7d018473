"""The order of the folders: what stands above is asked first and knows nothing of what stands below."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[1] / "siteplan"
ORDER = (
    "land", "question", "files", "sun", "heights", "place", "fill", "walls", "haul", "records", "doubts", "first_run", "say",
    "answers", "survey", "show", "plan", "screen", "draw", "bed_arguments", "heights_command", "command_options", "cli",
)  # fmt: skip
#: whom each folder may ask, beside itself
MAY_ASK = {
    "land": set(),
    "question": {"land"},
    "files": {"land"},
    "sun": {"land"},
    "heights": {"land", "sun"},
    "place": {"land", "sun"},
    "fill": {"land"},
    "walls": {"land", "fill"},
    "haul": {"land", "fill"},
    "records": {"land", "sun", "place", "fill", "walls", "haul"},
    "doubts": {"land", "sun", "place", "records"},
    "first_run": {"land", "sun", "place"},
    "say": {"land", "sun", "place", "fill", "walls", "haul", "records"},
    "answers": {
        "land",
        "question",
        "files",
        "sun",
        "place",
        "fill",
        "walls",
        "haul",
        "records",
        "doubts",
        "first_run",
        "say",
    },
    "survey": {"land", "files", "heights", "say"},
    "show": {"land", "files", "sun", "place", "fill", "walls", "haul", "records", "say"},
    "plan": {"land", "question", "records", "answers", "say", "show"},
    "screen": {"land", "question", "files", "place", "records", "say", "answers", "show", "plan"},
    "draw": {"land", "question", "files", "sun", "place", "haul", "records", "say", "answers", "show", "plan"},
    "bed_arguments": {"land", "question", "files"},
    "heights_command": {"land", "files", "say", "survey", "show"},
    "command_options": {"screen"},
    "cli": {
        "land",
        "files",
        "say",
        "show",
        "plan",
        "screen",
        "draw",
        "bed_arguments",
        "heights_command",
        "command_options",
    },
}
#: packages that are imported in one place alone
ONLY_IN = {
    "numba": ("land/compiled.py",),
    "pvlib": ("sun", "files/weather"),
    "pint": ("land/units.py",),
    "folium": ("show",),
    "branca": ("show",),
    "rasterio": ("files",),
    "pyogrio": ("files",),
    "pyarrow": ("files",),
    "tomllib": ("files", "draw/property_files.py"),
    "csv": ("files",),
    "tomlkit": ("files",),
    "starlette": ("draw",),
    "uvicorn": ("draw",),
    "pygeomag": ("land/declination.py",),
    "PIL": ("files",),
    "distributed": ("screen/cluster.py",),
    "laspy": ("files/survey",),
    "lazrs": ("files/survey",),
}
#: what a kernel must not touch: files, network, clock, chance
KERNELS = ("sun", "heights", "place", "fill", "walls", "haul")
NOT_IN_KERNELS = {"pathlib", "io", "urllib", "socket", "time", "random", "logging", "rich", "print"}


def modules() -> list[Path]:
    return sorted(PACKAGE.rglob("*.py"))


def imported(path: Path) -> list[str]:
    """Return what a module imports, at once, late, or for the type checker alone."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    names = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            names += [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom) and node.level == 0 and node.module:
            if node.module == "siteplan":
                names += [f"siteplan.{alias.name}" for alias in node.names]
            else:
                names.append(node.module)
    return names


def folder_of(path: Path) -> str:
    return path.relative_to(PACKAGE).parts[0].removesuffix(".py")


@pytest.mark.parametrize("path", modules(), ids=lambda path: path.relative_to(PACKAGE).as_posix())
def test_a_module_asks_only_what_stands_above_it(path):
    folder = folder_of(path)
    if folder in {"__init__", "__main__"}:
        return
    for name in imported(path):
        if not name.startswith("siteplan.") or name == "siteplan.__version__":
            continue
        asked = name.split(".")[1]
        assert asked == folder or asked in MAY_ASK[folder], f"{folder} must not import {name}"


@pytest.mark.parametrize("path", modules(), ids=lambda path: path.relative_to(PACKAGE).as_posix())
def test_a_library_is_imported_where_it_belongs(path):
    place = path.relative_to(PACKAGE).as_posix()
    for name in imported(path):
        homes = ONLY_IN.get(name.split(".")[0])
        assert homes is None or place.startswith(homes), f"{name} must not be imported in {place}"


@pytest.mark.parametrize("path", modules(), ids=lambda path: path.relative_to(PACKAGE).as_posix())
def test_a_kernel_touches_no_file_network_clock_or_chance(path):
    if folder_of(path) not in KERNELS:
        return
    tree = ast.parse(path.read_text(encoding="utf-8"))
    touched = {name.split(".")[0] for name in imported(path)} & NOT_IN_KERNELS
    assert not touched
    calls = {
        node.func.id for node in ast.walk(tree) if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
    }
    assert not calls & {"print", "open", "input"}
    attributes = {node.attr for node in ast.walk(tree) if isinstance(node, ast.Attribute)}
    assert not attributes & {"now", "today", "utcnow", "default_rng"}
    asked = {
        node.attr for node in ast.walk(tree)
        if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name) and node.value.id == "os"
    }  # fmt: skip
    assert asked <= {"cpu_count", "sched_getaffinity"}, "a kernel may ask how many cores there are, nothing else"
    assert "siteplan.land.units" not in imported(path), "people's units and words stand in say/ and at the edges"


def test_every_folder_stands_in_the_order():
    folders = {path.name for path in PACKAGE.iterdir() if path.is_dir() and (path / "__init__.py").exists()}
    assert folders <= set(ORDER)
    for folder, asked in MAY_ASK.items():
        assert all(ORDER.index(one) < ORDER.index(folder) for one in asked)


@pytest.mark.parametrize("path", modules(), ids=lambda path: path.relative_to(PACKAGE).as_posix())
def test_a_module_stays_short(path):
    assert len(path.read_text(encoding="utf-8").splitlines()) <= 400
