"""Installed as a wheel, outside the checkout, everything works: tables and demo travel along."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

CHECKOUT = Path(__file__).parents[1]
pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def installed(tmp_path_factory) -> dict[str, str]:
    """Return an environment in which only the wheel's siteplan is found."""
    folder = tmp_path_factory.mktemp("wheel")
    pip = [sys.executable, "-m", "pip", "--disable-pip-version-check", "-q"]
    subprocess.run([*pip, "wheel", "--no-deps", "-w", str(folder), str(CHECKOUT)], check=True, cwd=folder)
    (wheel,) = folder.glob("siteplan-*.whl")
    subprocess.run(
        [*pip, "install", "--no-deps", "--target", str(folder / "site"), str(wheel)], check=True, cwd=folder
    )
    return os.environ | {"PYTHONPATH": str(folder / "site"), "COLUMNS": "80"}


def test_the_wheel_is_what_runs(installed, tmp_path):
    script = "import siteplan; print(siteplan.__file__)"
    shown = subprocess.run(
        [sys.executable, "-c", script], env=installed, cwd=tmp_path, capture_output=True, text=True
    )
    assert shown.stdout.strip().startswith(installed["PYTHONPATH"])


def test_the_demo_is_planned_from_the_wheel(installed, tmp_path):
    done = subprocess.run(
        [sys.executable, "-m", "siteplan", "demo"], env=installed, cwd=tmp_path, capture_output=True, text=True
    )
    assert done.returncode == 0, done.stderr
    out = tmp_path / "demo-yard" / "plan"
    assert {path.name for path in out.iterdir()} >= {
        "plan.json", "sun_hours.tif", "light.tif", "plan.gpkg", "map.html", "report.html", "shopping.csv", "loads.csv",
        "sun.csv",
    }  # fmt: skip
    assert json.loads((out / "plan.json").read_text(encoding="utf-8"))["schema"]
