"""The public list is what is there, and importing the package stays cheap."""

from __future__ import annotations

import subprocess
import sys

import pytest

import siteplan


def test_every_public_name_is_there_and_no_other():
    assert sorted(siteplan.__all__) == dir(siteplan)
    for name in siteplan.__all__:
        assert getattr(siteplan, name) is not None


def test_an_unknown_name_is_an_attribute_error():
    with pytest.raises(AttributeError, match="nothing_of_the_kind"):
        _ = siteplan.nothing_of_the_kind


def test_importing_the_package_loads_nothing_heavy():
    heavy = ("folium", "numba", "pvlib", "pandas", "geopandas", "shapely", "pint", "rich")
    script = f"import sys, siteplan; print([name for name in {heavy!r} if name in sys.modules])"
    shown = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert shown.stdout.strip() == "[]"


def test_help_loads_nothing_heavy():
    heavy = ("folium", "numba", "pvlib", "pandas", "geopandas", "shapely", "pint", "rich")
    script = (
        "import sys\nfrom siteplan.cli import main\ntry:\n    main(['plan', '--help'])\nexcept SystemExit:\n    pass\n"
        f"print([name for name in {heavy!r} if name in sys.modules])"
    )
    shown = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert shown.stdout.strip().endswith("[]")
