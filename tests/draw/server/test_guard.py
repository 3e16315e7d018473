"""Only our own page, in this run, gets an answer."""

from __future__ import annotations

import asyncio
import json

import pytest

from siteplan.draw.guard import Address, Guard, new_address, refusal

ADDRESS = Address(port=5123, secret="d" * 22)  # of this test
OURS = {"host": "127.0.0.1:5123", "cookie": f"siteplan-5123={'d' * 22}"}
POST = OURS | {"origin": "http://127.0.0.1:5123", "sec-fetch-site": "same-origin"}


def test_our_own_page_is_answered():
    assert refusal("GET", "/api/property", OURS, ADDRESS) == ""
    assert refusal("GET", "/api/property", OURS | {"sec-fetch-site": "same-origin"}, ADDRESS) == ""
    assert refusal("POST", "/api/edit", POST, ADDRESS) == ""


def test_the_printed_address_needs_no_cookie_yet():
    typed = {"host": OURS["host"], "sec-fetch-site": "none", "sec-fetch-mode": "navigate"}
    assert refusal("GET", "/open/" + "d" * 22, typed, ADDRESS) == ""


@pytest.mark.parametrize(
    "host", ["", "evil.example:5123", "localhost:5123", "127.0.0.1", "127.0.0.1:5124", "127.0.0.1:5123.evil"]
)
def test_another_host_is_refused(host):
    """A name that an attacker lets point to 127.0.0.1 (DNS rebinding) arrives as the Host."""
    assert "another host" in refusal("GET", "/api/property", OURS | {"host": host}, ADDRESS)


@pytest.mark.parametrize("site", ["cross-site", "same-site", "none"])
def test_a_request_that_another_page_caused_is_refused(site):
    assert "another page" in refusal("POST", "/api/edit", POST | {"sec-fetch-site": site}, ADDRESS)


def test_an_image_or_script_of_another_page_is_refused():
    sent = OURS | {"sec-fetch-site": "none", "sec-fetch-mode": "no-cors"}
    assert "another page" in refusal("GET", "/api/property", sent, ADDRESS)


@pytest.mark.parametrize(
    "origin", ["http://evil.example", "null", "http://127.0.0.1:5124", "https://127.0.0.1:5123", ""]
)
def test_another_origin_is_refused(origin):
    assert "this page" in refusal("POST", "/api/edit", POST | {"origin": origin}, ADDRESS)


def test_a_form_of_a_browser_that_says_no_origin_is_refused():
    sent = {name: value for name, value in POST.items() if name != "origin"}
    assert "this page" in refusal("POST", "/api/edit", sent, ADDRESS)


@pytest.mark.parametrize(
    "cookie",
    ["", "siteplan-5123=", "siteplan-5123=x", f"siteplan-5124={'d' * 22}", "siteplan-5123=ü", "a=b; ;;=", "\x00"],
)
def test_without_the_secret_of_this_run_nothing_is_answered(cookie):
    for path in ("/", "/page/main.js", "/api/property", "/plan/map.html"):
        assert "secret" in refusal("GET", path, OURS | {"cookie": cookie}, ADDRESS)


def asked(path, method="GET", **headers):
    """Return status, headers and body of what the guard answers before an app that says hello."""
    sent, reached = [], []

    async def app(scope, _, send):
        reached.append(scope["path"])
        await send({"type": "http.response.start", "status": 200, "headers": []})
        await send({"type": "http.response.body", "body": b"hello"})

    async def send(message):
        sent.append(message)

    scope = {"type": "http", "path": path, "method": method, "headers": [
        (name.replace("_", "-").encode(), value.encode()) for name, value in (OURS | headers).items()
    ]}  # fmt: skip
    asyncio.run(Guard(app, ADDRESS)(scope, None, send))
    found = {name.decode(): value.decode() for name, value in sent[0]["headers"]}
    return sent[0]["status"], found, sent[1]["body"].decode(), reached


@pytest.mark.parametrize(
    ("path", "sandboxed"), [("/", False), ("/api/property", False), ("/plan/map.html", True), ("/planets", False)]
)
def test_every_answer_carries_the_rules(path, sandboxed):
    status, headers, text, reached = asked(path)
    assert (status, text, reached) == (200, "hello", [path])
    assert headers["content-security-policy"].startswith(
        "sandbox allow-scripts " if sandboxed else "default-src 'none'; script-src 'self'"
    )
    assert (headers["x-content-type-options"], headers["referrer-policy"]) == ("nosniff", "no-referrer")
    assert headers["cross-origin-opener-policy"] == headers["cross-origin-resource-policy"] == "same-origin"
    assert headers["cache-control"] == "no-store"


def test_what_is_refused_never_reaches_the_app():
    status, headers, text, reached = asked("/api/property", cookie="")
    assert (status, reached) == (403, [])
    assert json.loads(text)["faults"][0]["text"].startswith("the secret of this run is missing")
    assert headers["cache-control"] == "no-store"
    status, headers, text, reached = asked("/page/main.js", cookie="")
    assert (status, reached) == (403, [])
    assert text.startswith("the secret of this run is missing")
    assert headers["content-type"].startswith("text/plain")


def test_the_printed_address_sets_the_cookie_once():
    status, headers, _, reached = asked("/open/" + "d" * 22, cookie="")
    assert (status, headers["location"], reached) == (303, "/", [])
    assert headers["set-cookie"] == f"siteplan-5123={'d' * 22}; HttpOnly; Path=/; SameSite=strict"
    status, headers, text, _ = asked("/open/" + "e" * 22, cookie="")
    assert status == 403
    assert text.startswith("this address is of another run")
    assert "set-cookie" not in headers


def test_nothing_but_http_is_spoken():
    async def app(scope, *_):
        reached.append(scope["type"])

    reached = []
    for kind in ("lifespan", "websocket"):
        asyncio.run(Guard(app, ADDRESS)({"type": kind}, None, None))
    assert reached == ["lifespan"]


def test_an_address_with_a_fresh_secret():
    one, other = new_address(8000), new_address(8000)
    assert one.link == f"http://127.0.0.1:8000/open/{one.secret}"
    assert one.secret != other.secret
    assert len(one.secret) == 22  # 16 bytes, six bits a letter
