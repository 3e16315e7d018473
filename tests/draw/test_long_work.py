"""What a search for a place gives the page, and which numbers it takes."""

from __future__ import annotations

from types import SimpleNamespace

import pytest
from shapely import box
from shapely.geometry import shape

from siteplan.draw import long_work as module
from siteplan.draw.long_work import _number, _places, whole_plan
from siteplan.draw.plane import Plane
from siteplan.files.outputs.output_folder import Kept, Written
from siteplan.land.errors import InputError
from siteplan.land.features import Bed
from tests.place.conftest import bare_yard


def test_places_are_beds_ready_to_be_drawn():
    site = bare_yard()
    bed = Bed(id="new", outline=box(0, 0, 2, 1), height=0.4)
    spots = [
        SimpleNamespace(rank=rank, season_sun_h=7.126 - rank, outline=box(2 * rank, 2, 2 * rank + 2, 3))
        for rank in (1, 2)
    ]
    found = SimpleNamespace(places=spots, bed_at=lambda one: bed.on(one.outline))
    plan = SimpleNamespace(site=site, places=found, why=lambda rank: (f"why {rank}", "so"))
    drawn = _places(plan, Plane(frame=site.frame))
    assert [(one["rank"], one["season_h"], one["said"]) for one in drawn] == [
        (1, 6.13, ["why 1", "so"]), (2, 5.13, ["why 2", "so"]),
    ]  # fmt: skip
    for one, spot in zip(drawn, spots, strict=True):
        assert (one["feature"]["type"], one["feature"]["id"]) == ("Feature", "")
        assert one["feature"]["properties"]["kind"] == "bed"
        assert (
            shape(one["feature"]["geometry"]).symmetric_difference(spot.outline).area < 1e-3
        )  # the bed is written to a tenth of a millimetre
    assert _places(SimpleNamespace(site=site, places=None), Plane()) == []


def test_a_size_is_a_number():
    assert _number({"length": 2.4}, "length") == 2.4
    assert _number({"count": 3}, "count") == 3
    for value in (True, "2", None, [1]):
        with pytest.raises(InputError, match="request: length: must be a number"):
            _number({"length": value}, "length")


@pytest.mark.parametrize(("kept", "said"), [
    ((), ""),
    ((Kept("sun.csv", "sun (yours, 2026-11-26).csv"),),
     'Not as siteplan wrote it, so it is kept beside the new one: sun.csv as "sun (yours, 2026-11-26).csv".'),
])  # fmt: skip
def test_a_plan_says_which_changed_files_were_kept(tmp_path, monkeypatch, kept, said):
    monkeypatch.setattr(module, "plan_site", lambda *_, **__: "the plan")
    monkeypatch.setattr(module, "write_answers", lambda _, out, **__: Written(out, ("map.html",), kept))
    found = whole_plan("the site", tmp_path)(lambda *_: None)
    assert found["kept"] == said
    assert [one["url"] for one in found["open"]] == ["/plan/map.html", "/plan/report.html"]
