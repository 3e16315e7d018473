"""What each address of the page answers, asked without a server."""

from __future__ import annotations

import asyncio
import json
from types import SimpleNamespace

import pytest
from starlette.requests import Request

from siteplan.draw.routes import routes
from siteplan.land.errors import Fault, InputError


def answer(desk, path, content=b"{}", method="POST", *, end=lambda: None, params=(), **headers):
    """Return the status, the type and the content of the answer of one address."""
    (route,) = [one for one in routes(desk, end=end) if one.path == path]
    assert method in route.methods
    given = [(name.replace("_", "-").encode(), value.encode()) for name, value in headers.items()]
    scope = {
        "type": "http",
        "method": method,
        "path": path,
        "headers": given,
        "query_string": b"",
        "path_params": dict(params),
    }

    async def receive():
        return {"type": "http.request", "body": content, "more_body": False}

    found = asyncio.run(route.endpoint(Request(scope, receive)))
    return found.status_code, found.media_type, found.body


def desk(**more):
    return SimpleNamespace(folder="yard", **dict.fromkeys(("edit", "undo", "redo", "take_proposals", "variants", "bed", "bed_headings", "lay_backdrop")) | more)  # fmt: skip


def test_closing_ends_the_server_and_says_so():
    ended = []
    status, _, content = answer(desk(), "/api/close", end=lambda: ended.append(True), content_type="application/json")
    assert (status, ended) == (200, [True])
    assert json.loads(content) == {"said": "The page is closed; all that was drawn is saved."}


def test_a_picture_is_taken_with_its_name():
    taken = []
    own = desk(take_backdrop=lambda content, name: taken.append((content, name)) or {"said": []})
    status, _, content = answer(own, "/api/backdrop", b"picture", x_name="my%20yard.png")
    assert (status, json.loads(content)) == (200, {"said": []})
    assert taken == [(b"picture", "my yard.png")]
    answer(own, "/api/backdrop", b"", x_name="x" * 300)
    assert taken[1] == (b"", "x" * 200)


def test_a_picture_is_given_with_its_type_or_is_not_there():
    def nothing():
        raise InputError([Fault("f", "w", "t")])

    own = desk(backdrop=lambda: SimpleNamespace(content=b"PNG", media_type="image/png"))
    assert answer(own, "/api/backdrop/picture", method="GET") == (200, "image/png", b"PNG")
    status, _, content = answer(desk(backdrop=nothing), "/api/backdrop/picture", method="GET")
    assert (status, json.loads(content)) == (404, {"faults": [{"file": "f", "where": "w", "text": "t"}]})


def test_a_job_is_stopped_and_told():
    job = SimpleNamespace(stopping=SimpleNamespace(set=lambda: done.append(True)), view=lambda: {"state": "stopping"})
    done = []
    own = desk(jobs=SimpleNamespace(job={"7": job}.get))
    asked = {"params": {"number": "7"}, "content_type": "application/json"}
    status, _, content = answer(own, "/api/jobs/{number}/stop", **asked)
    assert (status, json.loads(content), done) == (200, {"state": "stopping"}, [True])
    asked["params"] = {"number": "8"}
    assert answer(own, "/api/jobs/{number}/stop", **asked)[0] == 400


@pytest.mark.parametrize(("size", "status"), [(25_000_000, 200), (25_000_001, 413)])
def test_a_picture_has_25_million_bytes_at_most(size, status):
    own = desk(take_backdrop=lambda content, _name: {"bytes": len(content)})
    assert answer(own, "/api/backdrop", bytes(size))[0] == status
