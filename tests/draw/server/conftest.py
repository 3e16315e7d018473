"""A property that is served, and what asks it as the page does."""

from __future__ import annotations

import http.client
import json
import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from siteplan.draw.server import Server

DEMO = Path(__file__).parents[3] / "data" / "demo"
REMOVE = object()  # a header that is left out


@dataclass
class Answer:
    """What came back."""

    status: int
    headers: dict[str, str]
    content: bytes

    def json(self) -> Any:
        return json.loads(self.content)


@dataclass
class Asked:
    """A server under test."""

    server: Server
    folder: Path

    def ask(self, method: str, path: str, body: Any = None, *, raw: bytes | None = None, **headers: Any) -> Answer:
        """Ask as the page would, but for the headers that are given otherwise (underscores stand for hyphens)."""
        address = self.server.address
        sent: dict[str, Any] = {
            "Host": f"127.0.0.1:{address.port}",
            "Cookie": f"{address.cookie}={address.secret}",
            "Origin": address.origin,
            "Sec-Fetch-Site": "same-origin",
            "Content-Type": "application/json",
        }
        sent |= {name.replace("_", "-"): value for name, value in headers.items()}
        connection = http.client.HTTPConnection("127.0.0.1", address.port, timeout=600)  # it may compile first
        try:
            content = raw if raw is not None else None if body is None else json.dumps(body).encode()
            connection.request(
                method, path, content, {name: value for name, value in sent.items() if value is not REMOVE}
            )
            answer = connection.getresponse()
            return Answer(answer.status, {name.lower(): value for name, value in answer.getheaders()}, answer.read())
        finally:
            connection.close()

    def files(self) -> dict[str, bytes]:
        """Return the property's files."""
        return {name: (self.folder / name).read_bytes() for name in ("site.toml", "features.geojson")}

    def property(self) -> dict[str, Any]:
        return self.ask("GET", "/api/property").json()


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Asked]:
    """Serve the demo on cells of 50 cm and half-hour steps, which is quicker."""
    folder = tmp_path_factory.mktemp("drawn") / "yard"
    shutil.copytree(DEMO, folder)
    settings = (folder / "site.toml").read_text(encoding="utf-8")
    settings = settings.replace('cell = "25 cm"', 'cell = "50 cm"').replace('step = "10 min"', 'step = "30 min"')
    (folder / "site.toml").write_text(settings, encoding="utf-8")
    server = Server(folder)
    with server.running():
        yield Asked(server, folder)
