"""Which work the page may start, and which files it is given; without a server."""

from __future__ import annotations

import asyncio
import json
from types import SimpleNamespace

import pytest

from siteplan.draw import routes
from siteplan.draw.pages import _leaflet_file, _page_file, _plan_file, _shared_file
from siteplan.draw.routes import _job, start_work
from siteplan.draw.work import Job
from siteplan.land.errors import Fault, InputError


def asked(**path):
    return SimpleNamespace(path_params=path)


@pytest.mark.parametrize(("endpoint", "name", "kind"), [
    (_page_file, "main.js", "text/javascript; charset=utf-8"), (_page_file, "index.html", "text/html; charset=utf-8"), (_shared_file, "sheet.css", "text/css; charset=utf-8"),
    (_leaflet_file, "leaflet.css", "text/css; charset=utf-8"), (_page_file, "__init__.py", None), (_page_file, "../desk.py", None), (_page_file, "", None),
    (_shared_file, "map.js", None), (_leaflet_file, "leaflet.js", None),
])  # fmt: skip
def test_our_own_files(endpoint, name, kind):
    answer = endpoint(asked(name=name))
    assert answer.status_code == (404 if kind is None else 200)
    if kind is not None:
        assert answer.headers["content-type"] == kind
    else:
        assert answer.body == b"There is nothing at this address."


def test_files_of_a_plan(tmp_path):
    for folder in ("plan", "plan-shed"):
        (tmp_path / folder / "inner").mkdir(parents=True)
    (tmp_path / "plan" / "map.html").write_text("x")
    (tmp_path / "plan-shed" / "beds.csv").write_text("x")
    (tmp_path / "plan-shed" / "odd.zzz").write_text("x")
    endpoint = _plan_file(tmp_path)
    assert endpoint(asked(name="map.html")).media_type == "text/html"
    assert endpoint(asked(name="beds.csv", variant="shed")).media_type == "text/csv"
    assert endpoint(asked(name="odd.zzz", variant="shed")).media_type == "application/octet-stream"
    for path in (
        {"name": "beds.csv"},
        {"name": "inner"},
        {"name": "map.html", "variant": "shed"},
        {"name": "map.html", "variant": "../plan"},
        {"name": "map.html", "variant": "x"},
    ):
        assert endpoint(asked(**path)).status_code == 404


def test_work_that_may_be_started(monkeypatch):
    started = []
    jobs = SimpleNamespace(start=lambda what, act: started.append((what, act)) or "7")
    reading = SimpleNamespace(plane="plane", variant="shed")
    desk = SimpleNamespace(jobs=jobs, folder="folder", sound=lambda: (reading, "site"))
    monkeypatch.setattr(routes, "variants_compared", lambda *parts: parts)
    monkeypatch.setattr(routes, "search", lambda *parts: parts)
    monkeypatch.setattr(routes, "whole_plan", lambda *parts: parts)
    values = {"what": "place", "count": 2}
    assert [start_work(desk, one) for one in ({"what": "compare"}, values, {"what": "plan"})] == [{"job": "7"}] * 3
    assert started == [
        ("compare", ("folder",)),
        ("place", ("site", "plane", values)),
        ("plan", ("site", "folder", "shed")),
    ]
    for wrong in ({}, {"what": "sun"}):
        with pytest.raises(InputError, match="what: must be place, plan or compare"):
            start_work(desk, wrong)


def test_a_job_by_its_number():
    job = Job("plan")
    desk = SimpleNamespace(jobs=SimpleNamespace(job={"1": job}.get))
    assert _job(desk, asked(number="1")) is job
    with pytest.raises(InputError, match="job: there is no such work"):
        _job(desk, asked(number="2"))


def test_a_picture_that_is_not_there():
    def none():
        raise InputError([Fault("", "backdrop", "there is no picture")])

    answer = asyncio.run(routes._picture(SimpleNamespace(backdrop=none))(None))
    assert answer.status_code == 404
    assert json.loads(answer.body) == {"faults": [{"file": "", "where": "backdrop", "text": "there is no picture"}]}
    shown = SimpleNamespace(content=b"x", media_type="image/png")
    answer = asyncio.run(routes._picture(SimpleNamespace(backdrop=lambda: shown))(None))
    assert (answer.status_code, answer.body, answer.media_type) == (200, b"x", "image/png")
