"""Which files make up the page, and which files of a plan can be opened from it?

Our own files, and those that the commands wrote to the plan's folder. A name in a request is only used if it is among
the names in the folder; no path of a request is ever joined to a folder unchecked.
"""

from __future__ import annotations

import mimetypes
from collections.abc import Callable
from importlib.resources import files
from pathlib import Path
from typing import Any

from starlette.requests import Request
from starlette.responses import FileResponse, PlainTextResponse, Response
from starlette.routing import Route

from siteplan.draw.long_work import PLAN
from siteplan.files.variants import name_fault, plan_folder

_TYPES = {".js": "text/javascript", ".css": "text/css", ".html": "text/html", ".png": "image/png"}
#: style sheets that the page shares with map.html
_SHARED = ("sheet.css", "symbols.css")
#: files of Leaflet that the page loads
_LEAFLET = ("leaflet-src.esm.js", "leaflet.css")


def page_routes(folder: Path) -> list[Route]:
    """Return the addresses of files.

    Parameters
    ----------
    folder : Path
        The site's.
    """
    return [
        Route("/", _page, methods=["GET"]),
        Route("/page/{name}", _page_file, methods=["GET"]),
        Route("/shared/{name}", _shared_file, methods=["GET"]),
        Route("/leaflet/{name}", _leaflet_file, methods=["GET"]),
        Route(f"/{PLAN}/{{name}}", _plan_file(folder), methods=["GET"]),
        Route(f"/{PLAN}/{{variant}}/{{name}}", _plan_file(folder), methods=["GET"]),
    ]


def _page(request: Request) -> Response:  # noqa: ARG001
    return _file(files("siteplan.draw") / "page", "index.html")


def _page_file(request: Request) -> Response:
    return _file(files("siteplan.draw") / "page", request.path_params["name"])


def _shared_file(request: Request) -> Response:
    name = request.path_params["name"]
    return _file(files("siteplan.show") / "assets", name) if name in _SHARED else _not_there()


def _leaflet_file(request: Request) -> Response:
    name = request.path_params["name"]
    return _file(files("xstatic.pkg.leaflet") / "data", name) if name in _LEAFLET else _not_there()


def _file(folder: Any, name: str) -> Response:
    """Return one of our own files if its name is among those in the folder."""
    own_files = {path.name: path for path in folder.iterdir() if path.is_file()}
    suffix = Path(name).suffix
    if name not in own_files or suffix not in _TYPES:
        return _not_there()
    return Response(own_files[name].read_bytes(), media_type=_TYPES[suffix])


def _plan_file(site: Path) -> Callable[[Request], Response]:
    """Return the endpoint of the files that a plan of the property, or of a variant, wrote."""

    def endpoint(request: Request) -> Response:
        name, variant = request.path_params["name"], request.path_params.get("variant")
        if variant is not None and name_fault(variant):
            return _not_there()
        folder = site / plan_folder(variant)
        names = {path.name for path in folder.iterdir() if path.is_file()} if folder.is_dir() else set()
        if name not in names:
            return _not_there()
        kind = mimetypes.guess_type(name)[0] or "application/octet-stream"
        return FileResponse(folder / name, media_type=kind)

    return endpoint


def _not_there() -> Response:
    return PlainTextResponse("There is nothing at this address.", status_code=404)
