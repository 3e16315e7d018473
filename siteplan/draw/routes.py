"""Which address is answered by what?

Each handler takes a request's JSON or bytes and gives an object; what is wrong with the input comes back in words. It
leaves out who may ask: the guard has seen to that.
"""

from __future__ import annotations

import mimetypes
from collections.abc import Awaitable, Callable
from importlib.resources import files
from pathlib import Path
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import FileResponse, JSONResponse, PlainTextResponse, Response
from starlette.routing import Route

from siteplan.draw.bodies import TooLargeError, json_body
from siteplan.draw.desk import Desk
from siteplan.draw.kinds_view import kinds_view
from siteplan.draw.long_work import PLAN, search, whole_plan
from siteplan.draw.property_files import StaleError
from siteplan.land.errors import Fault, InputError

Json = dict[str, Any]
Handler = Callable[[Request], Awaitable[Response]]
_TYPES = {".js": "text/javascript", ".css": "text/css", ".html": "text/html", ".png": "image/png"}
#: what the page shares with map.html
_SHARED = ("symbols.css",)
#: what the page loads of Leaflet
_LEAFLET = ("leaflet-src.esm.js", "leaflet.css")


def routes(desk: Desk, *, end: Callable[[], None]) -> list[Route]:
    """Return all addresses.

    Parameters
    ----------
    desk : Desk
    end : callable
        Ends the server.
    """

    def close(asked: Json) -> Json:  # noqa: ARG001
        end()
        return {"said": "The page is closed; all that was drawn is saved."}

    def work(asked: Json) -> Json:
        return start_work(desk, asked)

    def sun_map(request: Request) -> Json:
        return desk.map_view(request.query_params.get("month", ""))

    def on_job(request: Request) -> Json:
        return _job(desk, request.path_params["number"])

    def stop_job(request: Request) -> Json:
        _job(desk, request.path_params["number"])
        job = desk.jobs.job(request.path_params["number"])
        if job is not None:
            job.stopping.set()
        return _job(desk, request.path_params["number"])

    return [
        Route("/", _page, methods=["GET"]),
        Route("/page/{name}", _page_file, methods=["GET"]),
        Route("/shared/{name}", _shared_file, methods=["GET"]),
        Route("/leaflet/{name}", _leaflet_file, methods=["GET"]),
        Route(f"/{PLAN}/{{name}}", _plan_file(desk.folder / PLAN), methods=["GET"]),
        Route("/api/property", answered(desk, lambda request: desk.view()), methods=["GET"]),  # noqa: ARG005
        Route("/api/kinds", answered(desk, lambda request: kinds_view()), methods=["GET"]),  # noqa: ARG005
        Route("/api/sunmap", answered(desk, sun_map), methods=["GET"]),
        Route("/api/jobs/{number}", answered(desk, on_job), methods=["GET"]),
        Route("/api/jobs/{number}/stop", answered(desk, stop_job), methods=["POST"]),
        *(
            Route(f"/api/{name}", told(desk, handler), methods=["POST"])
            for name, handler in {
                "edit": desk.edit,
                "undo": desk.undo,
                "redo": desk.redo,
                "bed": desk.bed,
                "bed/headings": desk.bed_headings,
                "jobs": work,
                "close": close,
            }.items()
        ),
    ]


def told(desk: Desk, handler: Callable[[Json], Json]) -> Handler:
    """Return the endpoint of a handler that takes a JSON object."""

    async def endpoint(request: Request) -> Response:
        async def asked() -> Json:
            body = await json_body(request)
            return await run_in_threadpool(handler, body)

        return await _answer(desk, asked)

    return endpoint


def answered(desk: Desk, handler: Callable[[Request], Json]) -> Handler:
    """Return the endpoint of a handler that needs no body."""

    async def endpoint(request: Request) -> Response:
        async def asked() -> Json:
            return await run_in_threadpool(handler, request)

        return await _answer(desk, asked)

    return endpoint


async def _answer(desk: Desk, asked: Callable[[], Awaitable[Json]]) -> Response:
    """Return what was asked as JSON, or what is wrong."""
    try:
        return JSONResponse(await asked())
    except StaleError as error:
        now = await run_in_threadpool(desk.view)
        return JSONResponse({"faults": _faults(error), "property": now}, status_code=409)
    except TooLargeError as error:
        return JSONResponse({"faults": _faults(error)}, status_code=413)
    except InputError as error:
        return JSONResponse({"faults": _faults(error)}, status_code=400)


def _faults(error: InputError) -> list[Json]:
    return [{"file": one.file, "where": one.where, "text": one.text} for one in error.faults]


def start_work(desk: Desk, asked: Json) -> Json:
    """Start a search or a plan, and return the number of the work."""
    reading = desk.open.reading()
    site = reading.checked.site
    if site is None:
        raise InputError(reading.checked.faults)
    what = asked.get("what")
    if what == "place":
        return {"job": desk.jobs.start(what, search(site, reading.plane, asked))}
    if what == "plan":
        return {"job": desk.jobs.start(what, whole_plan(site, desk.folder))}
    raise InputError([Fault("request", "what", "must be place or plan")])


def _job(desk: Desk, number: str) -> Json:
    job = desk.jobs.job(number)
    if job is None:
        raise InputError([Fault("request", "job", "there is no such work")])
    return job.view()


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
    """Return one of our own files; its name is looked for among those that are there."""
    there = {one.name: one for one in folder.iterdir() if one.is_file()}
    suffix = Path(name).suffix
    if name not in there or suffix not in _TYPES:
        return _not_there()
    return Response(there[name].read_bytes(), media_type=_TYPES[suffix])


def _plan_file(folder: Path) -> Callable[[Request], Response]:
    """Return the endpoint of what a plan wrote."""

    def endpoint(request: Request) -> Response:
        name = request.path_params["name"]
        there = {one.name for one in folder.iterdir() if one.is_file()} if folder.is_dir() else set()
        if name not in there:
            return _not_there()
        kind = mimetypes.guess_type(name)[0] or "application/octet-stream"
        return FileResponse(folder / name, media_type=kind)

    return endpoint


def _not_there() -> Response:
    return PlainTextResponse("There is nothing at this address.", status_code=404)
