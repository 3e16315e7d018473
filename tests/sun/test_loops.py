"""The sun's loops: what they cost to import, and how exact their arc tangent is."""

from __future__ import annotations

import subprocess
import sys

import numpy as np
import pytest

from siteplan.sun.lookup.horizon import bearing
from siteplan.sun.lookup.intervals import add_pieces, empty_view
from siteplan.sun.lookup.leaves import no_leaves
from siteplan.sun.obstacles.packed_prisms import pack
from siteplan.sun.path.sky_table import AROUND, sky_table


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


def test_nothing_is_read_where_no_piece_is_chosen():
    # as the interpreter runs it: compiled, it would read whatever lies before the empty array
    table = sky_table(np.ones((2, 3, 8), dtype=np.float32), 0.0)
    view = empty_view(table, np.full(2, np.inf, dtype=np.float32), capacity=1, sides=3)
    leaves = no_leaves(table, np.zeros((0, 1), dtype=np.float32), np.zeros(8, dtype=np.int64))
    pieces, nobody = pack(())[0], np.empty(0, dtype=np.int64)
    assert add_pieces.py_func(np.zeros(3), pieces, nobody, view, leaves) is False
