"""The public list is what is there, and importing the package stays cheap."""

from __future__ import annotations

import doctest
import inspect
import re
import subprocess
import sys

import pytest

import siteplan
from siteplan.files.constant_tables import data_folder


def test_every_public_name_is_there_and_no_other():
    assert sorted(siteplan.__all__) == dir(siteplan)
    for name in siteplan.__all__:
        assert getattr(siteplan, name) is not None


def test_there_are_few_public_names():
    assert len(siteplan.__all__) <= 20
    assert set(siteplan.__all__) == {*siteplan._WHERE, "__version__"}


@pytest.mark.parametrize("name", sorted(siteplan._WHERE))
def test_a_public_name_has_a_docstring_and_an_example_that_runs(name):
    thing = getattr(siteplan, name)
    assert inspect.getdoc(thing)
    assert not inspect.getdoc(thing).startswith(f"{name}(")  # what a dataclass writes where nobody did
    finder = doctest.DocTestFinder(recurse=False)
    tests = [*finder.find(siteplan), *finder.find(thing)]  # both are run with the suite
    run = "\n".join(example.source for test in tests for example in test.examples)
    assert re.search(rf"\b{name}\b", run)


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


def test_checking_a_site_loads_no_solver_compiler_or_table():
    heavy = ("folium", "numba", "pvlib", "pandas", "geopandas", "rasterio", "scipy.ndimage", "scipy.optimize")
    site = data_folder() / "demo"
    script = (
        f"import sys\nfrom siteplan.cli import main\nmain(['check', {str(site)!r}, '--quiet'])\n"
        f"print([name for name in {heavy!r} if name in sys.modules])"
    )
    shown = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert shown.stdout.strip() == "[]"
