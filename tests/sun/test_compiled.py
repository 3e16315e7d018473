"""Compiled loops work where nothing can be written."""

from __future__ import annotations

import os
import subprocess
import sys

import numpy as np
import pytest

from siteplan.sun.compiled import compiled
from siteplan.sun.lookup.walls import bearing
from siteplan.sun.path.sky_table import AROUND


def test_a_function_without_a_file_is_compiled_all_the_same():
    # numba has no folder for the cache of such a function: the same error as on a read-only disk
    space: dict = {}
    exec("def double(x):\n    return 2 * x\n", space)  # noqa: S102
    assert compiled(space["double"])(21) == 42


@pytest.mark.slow
def test_an_unwritable_cache_folder_does_not_stop_it(tmp_path):
    blocked = tmp_path / "file"
    blocked.write_text("not a folder")
    code = "import numpy; from siteplan.sun.lookup.walls import bearing; print(round(bearing(*numpy.float32([1, 0, 0]))))"
    environment = os.environ | {"NUMBA_CACHE_DIR": str(blocked / "below")}
    result = subprocess.run(
        [sys.executable, "-c", code], env=environment, capture_output=True, text=True, check=False
    )
    assert result.returncode == 0, result.stderr
    assert result.stdout.strip() == str(AROUND // 4)


def test_importing_the_engine_leaves_the_compiler_alone():
    code = (
        "import sys, siteplan.sun.engine, siteplan.sun.sun_maps, siteplan.sun.bed_sun; print('numba' in sys.modules)"
    )
    result = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert result.stdout.strip() == "False"


def test_the_polynomial_bearing_is_close_to_the_arc_tangent():
    rng = np.random.default_rng(1)
    for east, north in rng.normal(size=(500, 2)):
        exact = (np.degrees(np.arctan2(east, north)) - 57.5) % 360 * (AROUND / 360)
        seen = bearing(np.float32(east), np.float32(north), np.float32(57.5 * AROUND / 360))
        assert seen == pytest.approx(exact, abs=4e-4)  # Hastings' series: 1.2e-6 radians; single precision
    assert bearing(*np.zeros(3, dtype=np.float32)) == 0.0
