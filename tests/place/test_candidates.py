"""How much the ground falls under a bed, by hand."""

from __future__ import annotations

import numpy as np
import pytest

from siteplan.place.merit.merit import WorkMaps
from siteplan.place.search.candidates import _drop
from siteplan.place.search.footprint import form_of_size


@pytest.mark.parametrize(("heading", "fall"), [
    (0.0, 2 * 0.03 + 0.1), (90.0, 2 * 0.1 + 0.03),
    (30.0, 2 * (0.05 + 0.03 * 0.8660254) + (0.08660254 - 0.015)),  # 2 m along it, 1 m across
    (150.0, 2 * (0.05 - 0.03 * 0.8660254) + (0.08660254 + 0.015)),
])  # fmt: skip
def test_the_ground_falls_along_and_across_a_bed(heading, fall):
    east, north = np.array([[0.1, 9.0], [9.0, np.nan]]), np.array([[0.03, 9.0], [9.0, 0.0]])
    work = WorkMaps(water=None, door=None, walked=False, hose=9.0, trips=1, rise_east=east, rise_north=north)
    row, column = np.array([0, 1], dtype=np.int32), np.array([0, 1], dtype=np.int32)
    found = _drop(work, row, column, np.full(2, heading), form_of_size(2, 1))
    assert found == pytest.approx([fall, 0.0])  # unknown ground is level
