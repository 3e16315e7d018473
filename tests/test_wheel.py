"""Installed as a wheel, outside the checkout, everything works: tables and demo travel along."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

CHECKOUT = Path(__file__).parents[1]
pytestmark = pytest.mark.slow


PIP = [sys.executable, "-m", "pip", "--disable-pip-version-check", "-q"]


@pytest.fixture(scope="module")
def wheel(tmp_path_factory) -> Path:
    folder = tmp_path_factory.mktemp("wheel")
    subprocess.run([*PIP, "wheel", "--no-deps", "-w", str(folder), str(CHECKOUT)], check=True, cwd=folder)
    (built,) = folder.glob("siteplan-*.whl")
    return built


@pytest.fixture(scope="module")
def installed(wheel) -> dict[str, str]:
    """Return an environment in which only the wheel's siteplan is found, with the checkout's machine code beside it.

    The sources are the same, byte by byte: what numba has made of them need not be made once more.
    """
    folder = wheel.parent
    subprocess.run(
        [*PIP, "install", "--no-deps", "--target", str(folder / "site"), str(wheel)], check=True, cwd=folder
    )
    for source in (CHECKOUT / "siteplan").rglob("*.py"):
        copy = folder / "site" / source.relative_to(CHECKOUT)
        assert copy.read_bytes() == source.read_bytes()
        os.utime(copy, ns=(source.stat().st_atime_ns, source.stat().st_mtime_ns))  # by which numba knows it
        for made in (source.parent / "__pycache__").glob(f"{source.stem}.*.nb?"):
            copy.parent.joinpath("__pycache__").mkdir(exist_ok=True)
            shutil.copyfile(made, copy.parent / "__pycache__" / made.name)
    return os.environ | {"PYTHONPATH": str(folder / "site"), "COLUMNS": "80"}


def test_the_wheel_holds_the_data_and_the_mark_of_types_but_no_pictures(wheel):
    held = set(zipfile.ZipFile(wheel).namelist())
    tracked = subprocess.run(
        ["git", "ls-files", "data", "siteplan"], cwd=CHECKOUT, capture_output=True, text=True, check=True
    )
    wanted = [name for name in tracked.stdout.split() if not name.startswith("data/pictures/")]
    assert {f"siteplan/{name}" if name.startswith("data/") else name for name in wanted} <= held
    assert "siteplan/py.typed" in held
    assert not [name for name in held if name.endswith((".png", ".jpg"))]


def test_the_wheel_is_what_runs(installed, tmp_path):
    script = "import siteplan; print(siteplan.__file__)"
    shown = subprocess.run(
        [sys.executable, "-c", script], env=installed, cwd=tmp_path, capture_output=True, text=True
    )
    assert shown.stdout.strip().startswith(installed["PYTHONPATH"])


@pytest.fixture(scope="module")
def planned(installed, tmp_path_factory) -> Path:
    """Return the folder with the plan of the demo, by the wheel."""
    folder = tmp_path_factory.mktemp("planned")
    coarse = """
from pathlib import Path
from siteplan.cli import main
from siteplan.files.demo import write_demo
settings = write_demo("demo-yard") / "site.toml"
text = settings.read_text().replace("25 cm", "1 m").replace("10 min", "60 min")  # quicker
settings.write_text(text)
raise SystemExit(main(["plan", "demo-yard"]))
"""
    done = subprocess.run([sys.executable, "-c", coarse], env=installed, cwd=folder, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    return folder / "demo-yard" / "plan"


def test_the_demo_is_planned_from_the_wheel(planned):
    assert {path.name for path in planned.iterdir()} >= {
        "plan.json", "sun_hours.tif", "light.tif", "plan.gpkg", "map.html", "report.html", "shopping.csv", "loads.csv",
        "sun.csv",
    }  # fmt: skip
    assert json.loads((planned / "plan.json").read_text(encoding="utf-8"))["schema"]


@pytest.mark.filterwarnings("default")  # the printing library's own
def test_the_demo_prints_on_at_most_six_pages(planned):
    weasyprint = pytest.importorskip("weasyprint")
    pages = weasyprint.HTML(filename=planned / "report.html").render().pages
    assert 2 <= len(pages) <= 6  # with the walls, how to saw them, how sure the sun is and what to measure
