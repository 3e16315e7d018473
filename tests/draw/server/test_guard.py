"""Only our own page, in this run, gets an answer."""

from __future__ import annotations

import pytest

from siteplan.draw.guard import Address, refusal

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
