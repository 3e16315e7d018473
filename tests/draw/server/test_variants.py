"""Does the page make, compare and plan variants, and is nothing else given away?"""

from __future__ import annotations

import time
from typing import Any

import pytest

from siteplan.draw.server import Server

from ..conftest import write_yard
from .conftest import Asked

NAME = "without the house"


def done(served, asked: dict[str, Any]) -> dict[str, Any]:
    """Start some work, and return what it found."""
    number = served.ask("POST", "/api/jobs", asked).json()["job"]
    for _ in range(600):
        job = served.ask("GET", f"/api/jobs/{number}").json()
        if job["state"] != "working":
            assert job["state"] == "done", job
            return job["result"]
        time.sleep(0.2)
    pytest.fail("the work does not end")


@pytest.fixture
def small(tmp_path):
    """Serve a yard of a house, two trees and a bed: three plans of the demo would take four times as long."""
    server = Server(write_yard(tmp_path / "yard", "plan ft"))
    with server.running():
        yield Asked(server, tmp_path / "yard")


@pytest.mark.slow
def test_a_variant_is_made_drawn_in_compared_and_adopted(small):
    served = small
    before = served.files()
    version = served.property()["version"]
    made = served.ask("POST", "/api/variants", {"do": "make", "name": NAME, "version": version})
    assert made.status == 200
    view = made.json()
    assert view["variant"] == NAME
    edit = {"version": view["version"], "says": "removed house", "put": [], "remove": ["house"], "settings": {}}
    view = served.ask("POST", "/api/edit", edit).json()
    assert served.files() == before
    rows = done(served, {"what": "compare"})["rows"]
    assert [row["name"] for row in rows] == [None, NAME]
    with_house, without = ({bed["id"]: bed["season_h"] for bed in row["beds"]} for row in rows)
    assert without["north"] > with_house["north"]
    opened = done(served, {"what": "plan"})["open"]
    assert (served.folder / f"plan-{NAME}" / "map.html").is_file()
    assert not (served.folder / "plan").exists()
    page = served.ask("GET", opened[0]["url"])
    assert (page.status, NAME.encode() in page.content) == (200, True)
    late = served.ask("POST", "/api/variants", {"do": "adopt", "name": NAME, "version": "old"})
    assert (late.status, late.json()["property"]["version"]) == (409, view["version"])
    after = served.ask("POST", "/api/variants", {"do": "adopt", "name": NAME, "version": view["version"]}).json()
    assert (after["variant"], after["variants"]) == (None, [])
    assert b'"house"' not in served.files()["features.geojson"]


@pytest.mark.parametrize(
    "asked",
    [{}, {"do": "make"}, {"do": "make", "name": 3}, {"do": "make", "name": "../x"}, {"do": "burn", "name": "x"}],
)
def test_what_cannot_be_made_is_refused_in_words(served, asked):
    before = {path: path.read_bytes() for path in served.folder.rglob("*") if path.is_file()}
    answer = served.ask("POST", "/api/variants", {"version": served.property()["version"], **asked})
    assert answer.status == 400
    assert answer.json()["faults"][0]["text"]
    assert {path: path.read_bytes() for path in served.folder.rglob("*") if path.is_file()} == before


@pytest.mark.parametrize(
    "path", ["/plan/../site.toml", "/plan/%2e%2e/site.toml", "/plan/x%2f..%2f../site.toml", "/plan/.git/config"]
)
def test_no_other_folder_is_given_away(served, path):
    assert served.ask("GET", path).status == 404
