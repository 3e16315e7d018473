"""Does the page make, compare and plan variants, and is nothing else given away?"""

from __future__ import annotations

import time
from typing import Any

import pytest

NAME = "without the maple"


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


def test_a_variant_is_made_drawn_in_compared_and_adopted(served):
    settings = served.folder / "site.toml"
    coarse = (
        settings.read_text().replace('cell = "25 cm"', 'cell = "2 m"').replace('step = "10 min"', 'step = "60 min"')
    )
    settings.write_text(coarse)
    before = served.files()
    version = served.property()["version"]
    made = served.ask("POST", "/api/variants", {"do": "make", "name": NAME, "version": version})
    assert made.status == 200
    view = made.json()
    assert view["variant"] == NAME
    edit = {"version": view["version"], "says": "removed maple", "put": [], "remove": ["maple"], "settings": {}}
    view = served.ask("POST", "/api/edit", edit).json()
    assert served.files() == before
    rows = done(served, {"what": "compare"})["rows"]
    assert [row["name"] for row in rows] == [None, NAME]
    with_maple, without = ({bed["id"]: bed["season_h"] for bed in row["beds"]} for row in rows)
    assert without["new-bed"] > with_maple["new-bed"]
    opened = done(served, {"what": "plan"})["open"]
    assert (served.folder / f"plan-{NAME}" / "map.html").is_file()
    assert not (served.folder / "plan").exists()
    page = served.ask("GET", opened[0]["url"])
    assert (page.status, NAME.encode() in page.content) == (200, True)
    late = served.ask("POST", "/api/variants", {"do": "adopt", "name": NAME, "version": "old"})
    assert (late.status, late.json()["property"]["version"]) == (409, view["version"])
    after = served.ask("POST", "/api/variants", {"do": "adopt", "name": NAME, "version": view["version"]}).json()
    assert (after["variant"], after["variants"]) == (None, [])
    assert b'"maple"' not in served.files()["features.geojson"]


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
