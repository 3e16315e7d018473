"""Which address is answered by what?

Each handler takes a request's JSON or bytes and gives an object; what is wrong with the input comes back in words. It
leaves out who may ask: the guard has seen to that.
"""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from siteplan.draw.bodies import TooLargeError, json_body
from siteplan.draw.desk import Desk
from siteplan.draw.kinds_view import kinds_view
from siteplan.draw.long_work import search, whole_plan
from siteplan.draw.measure_answers import height_answer, north_answer
from siteplan.draw.pages import page_routes
from siteplan.draw.property_files import StaleError
from siteplan.draw.where_answers import towns_answer, where_answer
from siteplan.land.errors import Fault, InputError

Json = dict[str, Any]
Handler = Callable[[Request], Awaitable[Response]]


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

    def where(asked: Json) -> Json:
        return where_answer(asked, units=desk.units())

    def north(asked: Json) -> Json:
        return north_answer(asked, desk.here())

    def height(asked: Json) -> Json:
        return height_answer(asked, desk.here())

    def towns(request: Request) -> Json:
        return towns_answer(request.query_params.get("q", ""))

    def on_job(request: Request) -> Json:
        return _job(desk, request.path_params["number"])

    def stop_job(request: Request) -> Json:
        _job(desk, request.path_params["number"])
        job = desk.jobs.job(request.path_params["number"])
        if job is not None:
            job.stopping.set()
        return _job(desk, request.path_params["number"])

    return [
        *page_routes(desk.folder),
        Route("/api/property", answered(desk, lambda request: desk.view()), methods=["GET"]),  # noqa: ARG005
        Route("/api/kinds", answered(desk, lambda request: kinds_view()), methods=["GET"]),  # noqa: ARG005
        Route("/api/sunmap", answered(desk, sun_map), methods=["GET"]),
        Route("/api/towns", answered(desk, towns), methods=["GET"]),
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
                "where": where,
                "north": north,
                "height": height,
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
