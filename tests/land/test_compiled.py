"""Compiled loops work where nothing can be written."""

from __future__ import annotations

import importlib
import os
import shutil
import subprocess
import sys
from pathlib import Path
from typing import NamedTuple

import pytest

from siteplan.land.compiled import compiled, compiled_fused, loop_sources, waits_for_compiler

PACKAGE = Path(__file__).parents[2] / "siteplan"
#: loops of every room that has some, each asked for something small
LOOPS = """
import numpy as np
from siteplan.haul.routes.least_time import room_at
from siteplan.place.search.footprint_sums import best_of_each
from siteplan.sun.lookup.horizon import bearing
print(room_at(1.0, 1.0, np.full((2, 2), 3.0)))
print(best_of_each(np.array([0, 0]), np.array([1.0, 2.0]), 1))
print(round(bearing(*np.float32([1, 0, 0]))))
"""


class Pair(NamedTuple):
    x: int


@pytest.mark.parametrize("decorate", [compiled, compiled_fused])
def test_a_function_without_a_file_is_compiled_all_the_same(decorate):
    # numba has no folder for the cache of such a function: the same error as on a read-only disk
    space: dict = {}
    exec("def double(x):\n    return 2 * x\n", space)  # noqa: S102
    assert decorate(space["double"])(21) == 42


def test_an_installation_that_nobody_can_write_to_and_no_home(tmp_path):
    # a file stands where each folder of caches would be made: that stops the machine's administrator too
    shutil.copytree(PACKAGE, tmp_path / "siteplan", ignore=shutil.ignore_patterns("__pycache__"))
    for module in (tmp_path / "siteplan").rglob("*.py"):
        (module.parent / "__pycache__").touch()
    home = tmp_path / "home"
    home.touch()
    environment = {name: text for name, text in os.environ.items() if not name.startswith(("NUMBA_", "XDG_"))}
    environment |= {"HOME": str(home / "nobody"), "USERPROFILE": str(home), "LOCALAPPDATA": str(home)}
    environment |= {"PYTHONPATH": str(tmp_path)}  # and the folder it runs in, which comes first
    ran = subprocess.run([sys.executable, "-c", LOOPS], env=environment, cwd=tmp_path, capture_output=True, text=True)
    assert ran.returncode == 0, ran.stderr
    assert ran.stdout.split() == ["3.0", "[1]", "180"]
    assert not list(tmp_path.rglob("*.nb?"))


def test_machine_code_is_compiled_anew_when_any_loop_has_changed(tmp_path, monkeypatch):
    module = tmp_path / "loops.py"
    module.write_text("def double(x):\n    return 2 * x\n", encoding="utf-8")
    monkeypatch.syspath_prepend(str(tmp_path))
    double = importlib.import_module("loops").double

    def read_from_disk():
        loop = compiled(double)
        waits = waits_for_compiler(loop)
        assert loop(21) == 42
        assert not waits_for_compiler(loop)
        return sum(loop.stats.cache_hits.values()), waits

    assert [read_from_disk(), read_from_disk()] == [(0, True), (1, False)]
    monkeypatch.setattr("siteplan.land.compiled.loop_sources", lambda: "another version")
    assert [read_from_disk(), read_from_disk()] == [(0, True), (1, False)]


def test_no_other_process_waits_for_what_is_kept_nowhere():
    space: dict = {}
    exec("def double(x):\n    return 2 * x\n", space)  # noqa: S102
    assert not waits_for_compiler(compiled(space["double"]))
    assert not waits_for_compiler(space["double"])


def test_machine_code_whose_class_has_another_name_is_compiled_anew(tmp_path, monkeypatch):
    # the cache's index names the class: numba cannot unpickle it once the class is gone
    module = tmp_path / "renamed.py"
    text = "from typing import NamedTuple\nclass Old(NamedTuple):\n    x: int\ndef first(pair):\n    return pair.x\n"
    module.write_text(text, encoding="utf-8")
    monkeypatch.syspath_prepend(str(tmp_path))
    loops = importlib.import_module("renamed")
    assert compiled(loops.first)(loops.Old(42)) == 42
    del loops.Old
    monkeypatch.setattr("siteplan.land.compiled.loop_sources", lambda: "another version")
    assert compiled(loops.first)(Pair(42)) == 42


def test_what_loops_are_made_of_is_their_modules_and_what_those_import(tmp_path, monkeypatch):
    package = tmp_path / "siteplan"
    shutil.copytree(PACKAGE, package, ignore=shutil.ignore_patterns("__pycache__", "page", "data"))
    monkeypatch.setattr("siteplan.land.compiled.PACKAGE", package)

    def digest_with(more, module):
        before = (package / module).read_text(encoding="utf-8")
        (package / module).write_text(before + more, encoding="utf-8")
        found = loop_sources.__wrapped__()
        (package / module).write_text(before, encoding="utf-8")
        return found

    same = loop_sources.__wrapped__()
    assert same == loop_sources()
    assert digest_with("# more", "sun/lookup/table_sums.py") != same
    assert digest_with("# more", "sun/path/sky_table.py") != same  # it gives them their numbers
    assert digest_with("# more", "show/writing.py") == same
