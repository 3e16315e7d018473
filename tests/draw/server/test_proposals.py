"""Does the page take what a survey proposes, by the same merging as the command, and as one step that can be undone?"""

from __future__ import annotations

import json
import shutil
from typing import Any

import pytest
from shapely import Point
from shapely.geometry import shape

from siteplan.cli import main
from siteplan.draw.desk import Desk
from siteplan.draw.history import History
from siteplan.draw.property_files import StaleError
from siteplan.draw.server import Server
from siteplan.land.errors import InputError

from ..proposed import SOURCE, write_proposals
from .conftest import Asked


@pytest.fixture
def found(yard):
    """Return the yard with proposals beside it."""
    write_proposals(yard)
    return yard


def features(folder) -> dict[str, Any]:
    document = json.loads((folder / "features.geojson").read_text(encoding="utf-8"))
    return {one["id"]: one for one in document["features"]}


def take(desk: Desk, *ids: str, **more: Any) -> dict[str, Any]:
    return desk.take_proposals({"version": desk.view()["version"], "ids": list(ids), **more})


def waiting(desk: Desk) -> dict[str, dict[str, Any]]:
    return {one["id"]: one for one in desk.proposals()["proposals"]}


def test_each_is_told_with_its_figures_points_and_day(found):
    told = waiting(Desk(found))
    assert list(told) == ["house", "plum", "tree-1", "fence-1"]
    tree = told["tree-1"]
    assert tree["properties"]["kind"] == "tree"
    assert tree["properties"]["height"] == "29.53 ft +- 2 ft"
    assert (tree["points"], tree["properties"]["height_from"]) == (1204, SOURCE)
    crown = shape(tree["geometry"])  # in metres of the page, whatever the unit of the drawing
    assert crown.area == pytest.approx(Point(0, 0).buffer(2.5, quad_segs=4).area, rel=1e-3)
    assert told["plum"]["said"] == [
        "plum: height is 14 ft in features.geojson, the survey has 24.93 ft +- 1.6 ft. Yours stays."
    ]
    assert {name: one["waits"] for name, one in told.items()} == {
        "house": True,
        "plum": False,
        "tree-1": True,
        "fence-1": True,
    }


def test_one_is_taken_as_one_step_and_undone(found):
    desk = Desk(found)
    before, drawn = (found / "features.geojson").read_bytes(), features(found)
    steps = len(History.of(found).steps)
    view = take(desk, "tree-1")
    assert view["undo"] == "took tree-1 from the survey"
    assert len(History.of(found).steps) == steps + 1
    assert view["told"] == ["1 proposal is taken."]
    now = features(found)
    assert now.keys() - drawn.keys() == {"tree-1"}
    assert now["tree-1"]["properties"]["height_from"] == SOURCE
    assert "points" not in now["tree-1"]["properties"]
    assert "tree-1" not in waiting(desk)
    back = desk.undo({"version": view["version"]})
    assert (found / "features.geojson").read_bytes() == before
    assert back["redo"] == "took tree-1 from the survey"
    assert "tree-1" in waiting(desk)


def test_the_page_writes_what_the_command_writes(found, tmp_path):
    other = shutil.copytree(found, tmp_path / "by the command")
    take(Desk(found), "house", "plum", "tree-1", "fence-1")
    assert main(["heights", str(other), "--accept", "all", "--quiet"]) == 0
    assert (found / "features.geojson").read_bytes() == (other / "features.geojson").read_bytes()


def test_a_figure_of_yours_stays_until_you_say_otherwise(found):
    desk = Desk(found)
    before = desk.view()
    view = take(desk, "plum")
    assert view["version"] == before["version"]  # no step that changes nothing
    assert view["told"][0] == "Nothing was new; the drawing is as it was."
    assert "Yours stays" in view["told"][1]
    view = take(desk, "plum", replace=True)
    assert view["told"][1] == "plum: height was 14 ft, is now 24.93 ft +- 1.6 ft."
    assert features(found)["plum"]["properties"]["height"] == "24.93 ft +- 1.6 ft"
    assert "plum" not in waiting(desk)


def test_into_a_variant_the_property_stays(found):
    desk = Desk(found)
    before = (found / "features.geojson").read_bytes()
    view = desk.variants({"do": "make", "name": "with the fence", "version": desk.view()["version"]})
    view = desk.take_proposals({"version": view["version"], "ids": ["fence-1", "house"]})
    assert (found / "features.geojson").read_bytes() == before
    assert "fence-1" in {one["id"] for one in view["features"]}
    assert view["undo"] == "took 2 proposals from the survey"
    assert waiting(desk).keys() == {"plum", "tree-1"}
    desk.variants({"do": "open", "name": None, "version": view["version"]})
    assert waiting(desk).keys() == {"house", "plum", "tree-1", "fence-1"}


def test_what_is_drawn_otherwise_by_now_is_told(found):
    desk = Desk(found)
    version = desk.view()["version"]
    stale = desk.edit({"version": version, "says": "removed house", "remove": ["house"]})
    with pytest.raises(StaleError):
        desk.take_proposals({"version": version, "ids": ["tree-1"]})
    house = waiting(desk)["house"]
    assert (house["waits"], "is not drawn any more" in house["wrong"]) == (False, True)
    before = (found / "features.geojson").read_bytes()
    with pytest.raises(InputError, match="is not drawn any more"):
        desk.take_proposals({"version": stale["version"], "ids": ["house", "tree-1"]})
    assert (found / "features.geojson").read_bytes() == before


def test_one_that_would_be_a_fault_is_refused(found):
    path = found / "heights" / "proposals.geojson"
    document = json.loads(path.read_text(encoding="utf-8"))
    document["features"][3]["properties"] |= {"height": "high <b>up</b>"}
    path.write_text(json.dumps(document), encoding="utf-8")
    before = (found / "features.geojson").read_bytes()
    with pytest.raises(InputError, match="height"):
        take(Desk(found), "fence-1")
    assert (found / "features.geojson").read_bytes() == before


def corners(*points: object) -> str:
    line = {"type": "LineString", "coordinates": list(points)}
    one = {"type": "Feature", "id": "x", "properties": {"kind": "fence", "drawn": False}, "geometry": line}
    return json.dumps({"type": "FeatureCollection", "features": [one]})


@pytest.mark.parametrize(
    "content",
    [
        "", "{", "[1]", '{"features": [1]}', '{"features": 3}', "[" * 100_000, corners([0, 0]), corners([0, "1"], [1, 1]),
        corners([0, 0], [float("inf"), 0]), corners([0, 0], [1]), corners([[0, 0]], 3),
        corners([0, 0], [1, 1]).replace("LineString", "Spiral"), corners([0, 0], [1, 1]).replace('"x"', '""'),
    ],
    ids=range(13),
)  # fmt: skip
def test_a_damaged_file_is_told_and_the_page_goes_on(found, content):
    (found / "heights" / "proposals.geojson").write_text(content, encoding="utf-8")
    desk = Desk(found)
    view = desk.view()
    told = desk.proposals()
    assert told["proposals"] == []
    assert told["faults"][0]["file"] == "proposals.geojson"
    assert told["faults"][0]["text"]
    json.dumps(told, allow_nan=False)
    with pytest.raises(InputError):
        take(desk, "tree-1")
    edit = {"version": view["version"], "says": "removed pear", "remove": ["pear"]}
    assert desk.edit(edit)["undo"] == "removed pear"


def test_a_folder_that_leads_elsewhere_is_not_read(found, tmp_path):
    (found / "heights").rename(tmp_path / "elsewhere")
    (found / "heights").symlink_to(tmp_path / "elsewhere")
    told = Desk(found).proposals()
    assert (told["proposals"], "outside" in told["faults"][0]["text"]) == ([], True)


def test_without_proposals_there_is_nothing_to_tell(yard):
    desk = Desk(yard)
    assert desk.view()["proposals"] is None
    assert desk.proposals() == {"proposals": [], "more": 0, "faults": []}


def test_the_guard_stands_before_them_and_wrong_requests_are_refused(found):
    server = Server(found)
    with server.running():
        served = Asked(server, found)
        before, version = served.files(), served.property()["version"]
        asked = {"version": version, "ids": ["tree-1"]}
        assert served.ask("GET", "/api/proposals", Cookie="x=1").status == 403
        assert served.ask("POST", "/api/proposals/take", asked, Origin="http://example.org").status == 403
        for wrong in (
            {"ids": "all"},
            {"ids": []},
            {"ids": [3]},
            {"ids": ["no such"]},
            {"ids": ["plum"], "replace": 1},
        ):
            answer = served.ask("POST", "/api/proposals/take", {"version": version, **wrong})
            assert (answer.status, bool(answer.json()["faults"][0]["text"])) == (400, True)
        assert served.ask("POST", "/api/proposals/take", asked | {"version": "old"}).status == 409
        assert served.files() == before
        assert served.ask("POST", "/api/proposals/take", asked).status == 200
        assert "tree-1" in features(found)
