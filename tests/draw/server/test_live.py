"""The live figures are those of the commands on the saved files."""

from __future__ import annotations

import time

import numpy as np
import pytest
from shapely import Polygon

from siteplan.draw.live_bed import LiveSite, figures
from siteplan.draw.plane import Plane
from siteplan.draw.site_plane import from_site, to_site
from siteplan.draw.sun_map import SunMapWork
from siteplan.files.reader import read_site
from siteplan.plan import plan_site
from siteplan.sun.engine import sun_engine


def test_page_and_site_frame_are_each_others_inverse(served):
    site = read_site(served.folder)
    drawn = site.drawn
    plane = Plane(metres_per_unit=drawn.metres_per_unit, drawn=drawn, place=(41.352, -92.204), bearing=12.0)
    shape = Polygon([(1, 2), (5, 2), (5, 9)])
    back = from_site(to_site(shape, plane, site), plane, site)
    assert np.abs(np.array(back.exterior.coords) - np.array(shape.exterior.coords)).max() < 1e-6
    #: the plan's y axis runs 12 degrees east of north
    a, b = to_site(Polygon([(0, 0), (0, 10), (1, 0)]), plane, site).exterior.coords[:2]
    assert np.degrees(np.arctan2(b[0] - a[0], b[1] - a[1])) == pytest.approx(12.0, abs=0.02)


def test_a_moved_bed_has_the_figures_that_the_commands_give_once_it_is_saved(served):
    before = served.property()
    bed = next(one for one in before["features"] if one["id"] == "new-bed")
    turned = np.array(bed["geometry"]["coordinates"][0]) @ np.array([[0.8, 0.6], [-0.6, 0.8]])
    corners = (
        turned - turned.mean(axis=0) + np.array(bed["geometry"]["coordinates"][0]).mean(axis=0) + [0.4, -0.7]
    ).round(3)
    asked = {"version": before["version"], "id": "new-bed", "outline": corners.tolist()}
    live = served.ask("POST", "/api/bed", asked).json()
    facing = served.ask("POST", "/api/bed/headings", asked).json()
    moved = bed | {"geometry": {"type": "Polygon", "coordinates": [corners.tolist()]}}
    after = served.ask("POST", "/api/edit", {"version": before["version"], "says": "moved", "put": [moved]}).json()
    try:
        plan = plan_site(read_site(served.folder), ask=["sun", "turn"], bed_ids=["new-bed"])
        report = plan.beds[0]
        assert live["season_h"] == pytest.approx(
            report.sun.season_sun_h, abs=0.011
        )  # written to 2 decimals, corners to 1 mm
        assert live["worst_h"] == pytest.approx(report.sun.worst_cell_sun_h, abs=0.02)
        assert live["months"] == pytest.approx(report.sun.month_sun_h.tolist(), abs=0.015)
        assert facing["orientation_score"] == pytest.approx(report.headings.orientation_score, abs=0.2)
        assert facing["best_heading"] == pytest.approx(report.headings.heading[report.headings.best], abs=0.2)
    finally:
        served.ask("POST", "/api/undo", {"version": after["version"]})


@pytest.mark.slow
def test_the_map_ends_whole_and_equals_the_commands_map(served):
    site = read_site(served.folder)
    live, work = LiveSite("1", site), SunMapWork()
    try:
        work.ask("1", site, lambda: live.engine)
        found = _whole(work, "1")
        plan = plan_site(site, ask=["sun"])
        assert np.array_equal(found.maps.season_h, plan.maps.season_h, equal_nan=True)
    finally:
        work.close()


def _whole(work: SunMapWork, version: str):
    for _ in range(600):
        found = work.map_of(version)
        if found is not None and found.whole:
            return found
        time.sleep(0.1)
    raise AssertionError("the map was not swept in a minute")


def test_the_newest_version_wins(served):
    site = read_site(served.folder)
    live, work = LiveSite("1", site), SunMapWork()
    try:
        for version in ("1", "2", "3"):
            work.ask(version, site, lambda: live.engine)
        assert _whole(work, "3").version == "3"
        assert work.map_of("1") is None
    finally:
        work.close()


def test_a_map_that_fails_is_told_and_the_next_is_swept(served):
    site, work = read_site(served.folder), SunMapWork()

    def broken():
        raise ArithmeticError("no sun today")

    try:
        work.ask("1", site, broken)
        assert work.resting.wait(30)
        with pytest.raises(ArithmeticError, match="no sun today"):
            work.map_of("1")
        work.ask("2", site, lambda: sun_engine(site))
        assert _whole(work, "2").version == "2"
    finally:
        work.close()


def test_minutes_are_those_of_a_place_on_the_same_ground(served):
    site = read_site(served.folder)
    live = LiveSite("1", site)
    bed = next(one for one in site.beds if one.id == "new-bed")
    assert figures(live.at(bed))["minutes"] is None
    live.count_minutes("new-bed")
    found = figures(live.at(bed))
    assert 0.1 < found["minutes"] < 20
    assert found["no_way"] is False


def test_what_is_made_ready_for_a_version_that_is_gone_stops(served):
    site = read_site(served.folder)
    live, asked = LiveSite("1", site), []

    def wanted():
        asked.append(True)
        return len(asked) < 2

    live.warm(wanted)
    assert list(live._minutes) == ["new-bed"]  # the one that may move comes first, the other two are left
