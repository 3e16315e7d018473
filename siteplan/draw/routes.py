"""Which handler answers which address?

Each handler takes a request's JSON or bytes and returns an object; faults of the input come back as sentences. The
guard has already turned away requests that are not from our page.
"""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from typing import Any
from urllib.parse import unquote

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from siteplan.draw.bodies import MOST_PICTURE, TooLargeError, body, json_body
from siteplan.draw.comparing import variants_compared
from siteplan.draw.desk import Desk
from siteplan.draw.kinds_view import kinds_view
from siteplan.draw.long_work import search, whole_plan
from siteplan.draw.measure_answers import height_answer, north_answer
from siteplan.draw.pages import page_routes
from siteplan.draw.property_files import StaleError
from siteplan.draw.where_answers import towns_answer, where_answer
from siteplan.draw.work import Job
from siteplan.land.errors import Fault, InputError

Json = dict[str, Any]
MOST_NAME = 200  # letters of a picture's name, for messages alone
Handler = Callable[[Request], Awaitable[Response]]


def routes(desk: Desk, *, end: Callable[[], None]) -> list[Route]:
    """Return all addresses.

    Parameters
    ----------
    desk : Desk
    end : callable
        Ends the server.
    """

    def close(values: Json) -> Json:  # noqa: ARG001
        end()
        return {"said": "The page is closed; all that was drawn is saved."}

    gets: dict[str, Callable[[Request], Json]] = {
        "property": lambda request: desk.view(),  # noqa: ARG005
        "kinds": lambda request: kinds_view(),  # noqa: ARG005
        "sunmap": lambda request: desk.map_view(request.query_params.get("month", "")),
        "towns": lambda request: towns_answer(request.query_params.get("q", "")),
        "proposals": lambda request: desk.proposals(),  # noqa: ARG005
        "jobs/{number}": lambda request: _job(desk, request).view(),
    }
    posts: dict[str, Callable[[Json], Json]] = {
        "edit": desk.edit,
        "undo": desk.undo,
        "redo": desk.redo,
        "proposals/take": desk.take_proposals,
        "variants": desk.variants,
        "bed": desk.bed,
        "bed/headings": desk.bed_headings,
        "backdrop/place": desk.lay_backdrop,
        "where": lambda values: where_answer(values, units=desk.units()),
        "north": lambda values: north_answer(values, desk.position()),
        "height": lambda values: height_answer(values, desk.position()),
        "jobs": lambda values: start_work(desk, values),
        "close": close,
    }
    return [
        *page_routes(desk.folder),
        *(Route(f"/api/{name}", get_endpoint(desk, handler), methods=["GET"]) for name, handler in gets.items()),
        Route("/api/jobs/{number}/stop", _stopper(desk), methods=["POST"]),
        Route("/api/backdrop", _picture_taker(desk), methods=["POST"]),
        Route("/api/backdrop/picture", _picture(desk), methods=["GET"]),
        *(Route(f"/api/{name}", post_endpoint(desk, handler), methods=["POST"]) for name, handler in posts.items()),
    ]


def post_endpoint(desk: Desk, handler: Callable[[Json], Json]) -> Handler:
    """Return the endpoint of a handler that takes a JSON object."""

    async def endpoint(request: Request) -> Response:
        async def answer() -> Json:
            return await run_in_threadpool(handler, await json_body(request))

        return await _response(desk, answer)

    return endpoint


def get_endpoint(desk: Desk, handler: Callable[[Request], Json]) -> Handler:
    """Return the endpoint of a handler that needs no body."""

    async def endpoint(request: Request) -> Response:
        async def answer() -> Json:
            return await run_in_threadpool(handler, request)

        return await _response(desk, answer)

    return endpoint


def _picture_taker(desk: Desk) -> Handler:
    """Return the endpoint that takes the picture to show under the drawing."""

    async def endpoint(request: Request) -> Response:
        async def answer() -> Json:
            content = await body(request, MOST_PICTURE)
            name = unquote(request.headers.get("x-name", ""), errors="replace")[:MOST_NAME]
            return await run_in_threadpool(desk.take_backdrop, content, name)

        return await _response(desk, answer)

    return endpoint


def _picture(desk: Desk) -> Handler:
    """Return the endpoint that gives the picture under the drawing."""

    async def endpoint(request: Request) -> Response:  # noqa: ARG001
        try:
            shown = await run_in_threadpool(desk.backdrop)
        except InputError as error:
            return JSONResponse({"faults": _faults(error)}, status_code=404)
        return Response(shown.content, media_type=shown.media_type)

    return endpoint


async def _response(desk: Desk, answer: Callable[[], Awaitable[Json]]) -> Response:
    """Return the answer as JSON, or the faults with the status that fits."""
    try:
        return JSONResponse(await answer())
    except StaleError as error:
        now = await run_in_threadpool(desk.view)
        return JSONResponse({"faults": _faults(error), "property": now}, status_code=409)
    except TooLargeError as error:
        return JSONResponse({"faults": _faults(error)}, status_code=413)
    except InputError as error:
        return JSONResponse({"faults": _faults(error)}, status_code=400)


def _faults(error: InputError) -> list[Json]:
    return [{"file": fault.file, "where": fault.where, "text": fault.text} for fault in error.faults]


def start_work(desk: Desk, values: Json) -> Json:
    """Start a search, a plan or a comparison, and return the number of the job."""
    work = values.get("what")
    if work == "compare":
        return {"job": desk.jobs.start(work, variants_compared(desk.folder))}
    reading, site = desk.sound()
    if work == "place":
        return {"job": desk.jobs.start(work, search(site, reading.plane, values))}
    if work == "plan":
        return {"job": desk.jobs.start(work, whole_plan(site, desk.folder, reading.variant))}
    raise InputError([Fault("request", "what", "must be place, plan or compare")])


def _job(desk: Desk, request: Request) -> Job:
    job = desk.jobs.job(request.path_params["number"])
    if job is None:
        raise InputError([Fault("request", "job", "there is no such work")])
    return job


def _stopper(desk: Desk) -> Handler:
    """Return the endpoint that asks a job to stop; it does at its next report of progress."""

    async def endpoint(request: Request) -> Response:
        async def answer() -> Json:
            await json_body(request)
            job = _job(desk, request)
            job.stopping.set()
            return job.view()

        return await _response(desk, answer)

    return endpoint
