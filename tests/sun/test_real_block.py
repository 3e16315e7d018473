"""Is the lookup as true on a real block as on an invented one?

Delft: see `real_block`. Terrain, gabled and flat buildings, trees in leaf and bare, walls.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from siteplan.files.reader import read_site
from siteplan.land.grid import grid_over
from siteplan.sun.engine import sun_engine
from siteplan.sun.sun_maps import cell_groups

pytestmark = pytest.mark.slow


def test_the_lookup_keeps_to_the_exact_test_in_delft(real_block):
    site = read_site(real_block)
    site = replace(site, sun=replace(site.sun, step=1 / 6))  # the exact test is out by half a step at each edge
    engine = sun_engine(site)
    ground = list(cell_groups(site, grid_over(site.boundary, site.sun.cell)))[-1].points
    # the whole property's cells are asked, so that they are pruned in the tiles and regions of a map
    sample = np.random.default_rng(8).permutation(len(ground))[:200]
    looked, exact = engine.hours(ground), engine.exact_hours(ground[sample])
    off = looked.month_h[:, sample] - exact.month_h
    assert exact.month_h.max() > 8  # some cells are open
    assert np.percentile(exact.month_h.mean(axis=0), 5) < 2  # and some are not
    assert np.abs(off).mean() <= 0.02, np.abs(off).mean()
    assert np.percentile(np.abs(off), 99) <= 0.12, np.percentile(np.abs(off), 99)
    assert np.abs(off.mean(axis=1)).max() <= 0.01, off.mean(axis=1)
