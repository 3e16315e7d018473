"""Is a request from our own page?

Any page that a browser shows can send requests to this machine. Only ours knows the secret of this run, and the
browser says which page sent a request.
"""

from __future__ import annotations

import secrets
from collections.abc import Mapping
from dataclasses import dataclass
from http.cookies import CookieError, SimpleCookie

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import JSONResponse, PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

SECRET_BYTES = 16  # 128 bits
OPEN = "/open/"  # the address that is printed; it carries the secret once, then the cookie does
WHOLE_PLAN = "/plan/"  # what the commands write: pages with scripts of their own

_PAGE = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; font-src 'self'; "
    "connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
#: a page of a plan may run its own scripts, but sandboxed: it can request nothing from this server
_WRITTEN = (
    "sandbox allow-scripts allow-modals allow-downloads; default-src 'none'; script-src 'unsafe-inline' data: blob:; "
    "style-src 'unsafe-inline' data:; img-src data: blob:; font-src data:; base-uri 'none'; form-action 'none'; "
    "frame-ancestors 'none'"
)


@dataclass(frozen=True)
class Address:
    """Where the server listens, and the secret of this run.

    Attributes
    ----------
    port : int
    secret : str
    """

    port: int
    secret: str

    @property
    def origin(self) -> str:
        """What a browser sends as the origin of our page."""
        return f"http://127.0.0.1:{self.port}"

    @property
    def link(self) -> str:
        """The address to open: with the secret."""
        return f"{self.origin}{OPEN}{self.secret}"

    @property
    def cookie(self) -> str:
        """The cookie's name; cookies know no ports, and two properties may be drawn at once."""
        return f"siteplan-{self.port}"


def new_address(port: int) -> Address:
    """Return an address with a fresh secret."""
    return Address(port, secrets.token_urlsafe(SECRET_BYTES))


def refusal(method: str, path: str, headers: Mapping[str, str], address: Address) -> str:
    """Return why a request is refused; an empty text if it is ours.

    Parameters
    ----------
    method, path : str
    headers : mapping
        With names in lower case.
    address : Address
    """
    if headers.get("host", "") != f"127.0.0.1:{address.port}":
        return "the request names another host; open the address that siteplan draw printed"
    site = headers.get("sec-fetch-site", "")
    opened = method == "GET" and site == "none" and headers.get("sec-fetch-mode", "navigate") == "navigate"
    if site not in {"", "same-origin"} and not opened:
        return "the request comes from another page"
    origin = headers.get("origin")
    if origin not in {None, address.origin} or (origin is None and method != "GET"):
        return "the request does not say that it comes from this page"
    if not path.startswith(OPEN) and not _knows(headers.get("cookie", ""), address):
        return "the secret of this run is missing; open the address that siteplan draw printed"
    return ""


def _knows(cookie: str, address: Address) -> bool:
    try:
        secret_cookie = SimpleCookie(cookie).get(address.cookie)
    except CookieError:
        return False
    return secret_cookie is not None and secrets.compare_digest(secret_cookie.value.encode(), address.secret.encode())


class Guard:
    """Passes on the requests of our page, refuses all others with a reason, and sets the security headers."""

    def __init__(self, app: ASGIApp, address: Address) -> None:
        self.app, self.address = app, address

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        if scope["type"] != "http":  # nothing here speaks anything but HTTP
            return
        path = scope["path"]
        reason = refusal(scope["method"], path, Headers(scope=scope), self.address)

        async def guarded(message: Message) -> None:
            if message["type"] == "http.response.start":
                _set_rules(MutableHeaders(scope=message), path)
            await send(message)

        if reason:
            await _refused(reason, path)(scope, receive, guarded)
        elif path.startswith(OPEN):
            await self._opened(path.removeprefix(OPEN))(scope, receive, guarded)
        else:
            await self.app(scope, receive, guarded)

    def _opened(self, secret: str) -> Response:
        """Return the answer to the printed address: it sets the cookie and redirects to the page."""
        if not secrets.compare_digest(secret.encode(), self.address.secret.encode()):
            return _refused("this address is of another run; open the one that siteplan draw printed", OPEN)
        answer = RedirectResponse("/", status_code=303)
        answer.set_cookie(self.address.cookie, secret, httponly=True, samesite="strict", path="/")
        return answer


def _refused(reason: str, path: str) -> Response:
    if path.startswith("/api/"):
        return JSONResponse({"faults": [{"where": "", "text": reason}]}, status_code=403)
    return PlainTextResponse(reason, status_code=403)


def _set_rules(headers: MutableHeaders, path: str) -> None:
    headers["Content-Security-Policy"] = _WRITTEN if path.startswith(WHOLE_PLAN) else _PAGE
    headers["X-Content-Type-Options"] = "nosniff"
    headers["Referrer-Policy"] = "no-referrer"
    headers["Cross-Origin-Opener-Policy"] = "same-origin"
    headers["Cross-Origin-Resource-Policy"] = "same-origin"
    headers["Cache-Control"] = "no-store"
