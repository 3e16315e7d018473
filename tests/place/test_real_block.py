"""Is a whole real block planned, every question of it, and is its best place a place?

Delft: see `real_block`. Nothing is known about its beds, so that what is tested are laws.
"""

from __future__ import annotations

import json
import math
from dataclasses import replace

import numpy as np
import pytest
import shapely

from siteplan.files.reader import read_site
from siteplan.place.limits.limits import fit_check, limits
from siteplan.plan import plan_site
from siteplan.say.place_reasons import why

pytestmark = pytest.mark.slow


NEAR = 12.0  # m from the beds: of what stands farther off all is taken as known: half the time


@pytest.fixture(scope="module")
def plan(real_block):
    site = read_site(real_block)
    beds = shapely.union_all([bed.outline for bed in site.beds])
    known = {
        kind: tuple(
            one if one.outline.distance(beds) < NEAR else replace(one, spreads=()) for one in getattr(site, kind)
        )
        for kind in ("buildings", "trees", "fences")
    }
    plan = plan_site(replace(site, **known, sun=replace(site.sun, step=1.0)))
    assert all(report.doubt is not None for report in plan.beds)
    return plan


def test_the_beds_have_their_sun_and_headings(plan):
    assert [report.bed.id for report in plan.beds] == ["bed-1", "bed-2"]
    for report in plan.beds:
        assert 0 < report.sun.worst_cell_sun_h <= report.sun.season_sun_h < 16.6  # the longest day at 52 N
        assert report.sun.month_sun_h[5] > report.sun.month_sun_h[11]
        assert report.headings.season_h.shape == report.headings.fits.shape
        assert len(report.shifts.steps) >= 8
        assert report.crops


def test_the_best_place_fits_and_is_no_darker_than_a_spot_anywhere(plan):
    site, found = plan.site, plan.places
    (place,) = found.places
    assert fit_check(limits(site, found.grid))(place.outline) is None
    assert site.boundary.contains(place.outline)
    assert place.exact
    assert why(place, found, "metric")
    # nothing on the map beats it by more than a step between map and bed: 45 cm of height, and a cell
    assert np.nanmax(found.merit_map) <= place.merit + found.search_gap + 0.15
    assert found.ruled_out[0].spots > 0.3  # most of a town is built on


def test_the_whole_plan_is_written(plan, tmp_path):
    out = plan.write(tmp_path / "plan")
    document = json.loads((out / "plan.json").read_text(encoding="utf-8"))
    assert len(document["beds"]) == 2
    assert len(document["places"]) == 1
    assert document["fill"]["layers"]
    assert (out / "map.html").stat().st_size > 100_000
    sun = plan.maps.season_h
    assert sun.shape == plan.maps.grid.shape
    assert np.nanmin(sun) >= 0
    assert math.isfinite(float(np.nanmean(sun)))
