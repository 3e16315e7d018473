"""The page's requests are answered, and nothing else is."""

from __future__ import annotations

import random
import socket
import string

import pytest

from siteplan.draw.bodies import MOST_JSON
from tests.draw.server.conftest import REMOVE

PAGE_POLICY = "default-src 'none'; script-src 'self'; style-src 'self'"


def test_the_printed_address_opens_the_page_once_the_secret_is_a_cookie(served):
    address = served.server.address
    answer = served.ask(
        "GET",
        f"/open/{address.secret}",
        Cookie=REMOVE,
        Origin=REMOVE,
        Sec_Fetch_Site="none",
        Sec_Fetch_Mode="navigate",
    )
    assert answer.status == 303
    assert answer.headers["location"] == "/"
    cookie = answer.headers["set-cookie"]
    assert cookie.startswith(f"{address.cookie}={address.secret};")
    assert "HttpOnly" in cookie
    assert "SameSite=strict" in cookie
    assert len(address.secret) >= 22  # 128 bits, six to a letter


def test_every_answer_says_what_a_browser_may_do_with_it(served):
    for path in ("/", "/api/property", "/nothing"):
        headers = served.ask("GET", path).headers
        assert headers["content-security-policy"].startswith(PAGE_POLICY)
        assert "unsafe" not in headers["content-security-policy"]
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["cache-control"] == "no-store"
        assert "access-control-allow-origin" not in headers


def test_it_listens_on_this_machine_alone(served):
    assert served.server._socket.getsockname()[0] == "127.0.0.1"
    with socket.socket() as other:
        assert other.connect_ex(("127.0.0.2", served.server.address.port)) != 0  # another address of this machine


def test_the_property_comes_and_an_edit_is_one_step(served):
    before = served.property()
    assert before["name"] == "14 Quillback Lane"
    bed = next(one for one in before["features"] if one["id"] == "new-bed")
    moved = bed | {
        "geometry": {"type": "Polygon", "coordinates": [[[x + 0.5, y] for x, y in bed["geometry"]["coordinates"][0]]]}
    }
    put = {"version": before["version"], "says": "moved new-bed", "put": [moved]}
    after = served.ask("POST", "/api/edit", put)
    assert after.status == 200
    assert after.json()["undo"] == "moved new-bed"
    stale = served.ask("POST", "/api/edit", put)
    assert stale.status == 409
    assert stale.json()["property"]["version"] == after.json()["version"]
    undone = served.ask("POST", "/api/undo", {"version": after.json()["version"]})
    assert undone.json()["version"] == before["version"]


@pytest.mark.parametrize(
    "path", ["/page/../server.py", "/page/%2e%2e/server.py", "/plan/..%2fsite.toml", "/leaflet/package.json"]
)
def test_no_other_file_is_given_away(served, path):
    answer = served.ask("GET", path)
    assert answer.status == 404
    assert b"siteplan" not in answer.content


@pytest.mark.parametrize(
    "headers",
    [
        {"Host": "evil.example"},
        {"Host": "localhost"},
        {"Origin": "http://evil.example"},
        {"Origin": "null"},
        {"Origin": REMOVE},
        {"Sec_Fetch_Site": "cross-site"},
        {"Sec_Fetch_Site": "same-site"},
        {"Cookie": REMOVE},
        {"Cookie": "siteplan=1"},
    ],
)
def test_what_is_not_our_page_changes_nothing_and_learns_nothing(served, headers):
    before, now = served.files(), served.property()["version"]
    answer = served.ask("POST", "/api/edit", {"version": now, "says": "x", "remove": ["maple"]}, **headers)
    assert answer.status == 403
    assert served.files() == before
    assert "maple" not in answer.content.decode()


def test_a_form_of_another_site_is_refused_even_with_the_cookie(served):
    before = served.files()
    answer = served.ask(
        "POST", "/api/edit", raw=b"version=1&says=x", Content_Type="application/x-www-form-urlencoded",
        Origin="http://evil.example", Sec_Fetch_Site="cross-site",
    )  # fmt: skip
    assert answer.status == 403
    own = served.ask("POST", "/api/edit", raw=b"version=1", Content_Type="text/plain")
    assert own.status == 400
    assert "application/json" in own.json()["faults"][0]["text"]
    assert served.files() == before


def test_too_much_is_refused_whatever_its_head_says(served):
    port, address = served.server.address.port, served.server.address
    head = (
        f"POST /api/edit HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nOrigin: {address.origin}\r\n"
        f"Cookie: {address.cookie}={address.secret}\r\nContent-Type: application/json\r\n"
    )
    for said in (f"Content-Length: {MOST_JSON + 1}", "Transfer-Encoding: chunked"):
        with socket.create_connection(("127.0.0.1", port), timeout=20) as connection:
            connection.sendall(f"{head}{said}\r\n\r\n".encode())
            answer = _sent_until_answered(connection) if "chunked" in said else connection.recv(4000)
        assert b"413" in answer.split(b"\r\n")[0]
    assert served.property()["name"] == "14 Quillback Lane"


def _sent_until_answered(connection: socket.socket) -> bytes:
    """Send a body without end in pieces, until the server answers."""
    piece = b"10000\r\n" + b" " * 0x10000 + b"\r\n"
    connection.settimeout(0.001)
    for _ in range(400):
        connection.settimeout(20)
        try:
            connection.sendall(piece)
        except OSError:
            break
        connection.settimeout(0.001)
        try:
            return connection.recv(4000)
        except TimeoutError:
            continue
    connection.settimeout(20)
    return connection.recv(4000)


def test_a_thousand_random_bodies_change_nothing_and_the_server_stays_up(served):
    before, draw = served.files(), random.Random(7)  # noqa: S311  # no secret
    paths = ["edit", "undo", "redo", "bed", "bed/headings", "jobs"]
    for number in range(1000):
        raw = _random_body(draw, served)
        answer = served.ask("POST", f"/api/{paths[number % len(paths)]}", raw=raw)
        assert answer.status in {400, 409}, (raw, answer)
        assert answer.json()["faults"]
    assert served.files() == before


def _random_body(draw: random.Random, served) -> bytes:
    kind = draw.randrange(4)
    if kind == 0:
        return bytes(draw.randrange(256) for _ in range(draw.randrange(60)))
    if kind == 1:
        return "".join(draw.choice(string.printable) for _ in range(draw.randrange(60))).encode()
    names = ["version", "says", "put", "remove", "settings", "id", "outline", "what"]
    values = [
        "1",
        '"a"',
        "[]",
        "null",
        "[[1,2],[3]]",
        "true",
        "-1e400",
        '{"a":1}',
        '["maple"]',
        "[[0,0],[1,0],[1,1]]",
    ]
    chosen = draw.sample(names, draw.randrange(1, 6))
    return ("{" + ",".join(f'"{name}":{draw.choice(values)}' for name in chosen) + "}").encode()


@pytest.mark.parametrize(
    ("asked", "why"),
    [
        ({"id": "new-bed", "outline": [[0, 0], [1, 1]]}, "3 to 1,000 corners"),
        ({"id": "new-bed", "outline": "x"}, "3 to 1,000 corners"),
        ({"id": "new-bed", "outline": [[0, 0], [1, 1], [1, 0], [0, 1]]}, "crosses itself"),
        ({"id": "maple", "outline": [[0, 0], [1, 0], [1, 1]]}, "no such bed"),
        ({"id": "new-bed", "outline": [[900, 900], [901, 900], [901, 901]]}, "outside the boundary"),
        ({"outline": [[0, 0], [1, 0], [1, 1]]}, "must be a text"),
    ],
)
def test_a_bed_that_cannot_be_is_refused_in_words(served, asked, why):
    answer = served.ask("POST", "/api/bed", asked)
    assert answer.status == 400
    assert why in answer.json()["faults"][0]["text"]
