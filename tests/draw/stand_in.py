"""A stand-in for the server of the drawing page: it keeps a property in memory, and does what a test tells it to.

It answers as the real one does. Its figures are made up, so that a test can know them.
"""

from __future__ import annotations

import contextlib
import copy
import json
import socket
import threading
from collections.abc import Iterator
from importlib.resources import files
from typing import Any

import uvicorn
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from siteplan.land.units import length_unit

Json = dict[str, Any]

RULES = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; connect-src 'self'; "
    "base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
TYPES = {"js": "text/javascript", "css": "text/css", "html": "text/html"}
PIXEL = "data:image/png;base64,iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNk+M9QDwADhgGAWjR9awAAAABJRU5ErkJggg=="
LENGTH = {"type": "quantity", "dimension": "length"}


def key(name: str, says: str, rule: Json = LENGTH, **more: Any) -> Json:
    return {
        "name": name,
        "says": says,
        "rule": rule,
        "default": None,
        "source": None,
        "required": False,
        "required_of": [],
    } | more


def choice(*words: str) -> Json:
    return {"type": "choice", "choices": list(words)}


HEIGHT = key("height", "of its top", required=True)
KINDS: list[Json] = [
    {"kind": "boundary", "word": "boundary", "geometry": ["Polygon"], "keys": []},
    {"kind": "building", "word": "building", "geometry": ["Polygon"], "keys": [
        HEIGHT, key("eaves", "of a gabled roof: from here it rises to height at the ridge"),
        key("base", "above 0 for what stands on posts", default="0 ft", source="common practice, no source")]},
    {"kind": "tree", "word": "tree", "geometry": ["Polygon", "Point"], "keys": [
        HEIGHT, key("crown_diameter", "of a tree drawn as a point", required_of=["Point"]),
        key("foliage", "whether it is bare in winter", choice("deciduous", "evergreen"), default="deciduous")]},
    {"kind": "hedge", "word": "hedge", "geometry": ["LineString", "Polygon"], "keys": [
        HEIGHT, key("width", "of a hedge drawn as a line", required_of=["LineString"])]},
    {"kind": "fence", "word": "fence", "geometry": ["LineString"], "keys": [HEIGHT]},
    {"kind": "surface", "word": "surface", "geometry": ["Polygon"], "keys": [
        key("surface", "what lies there", choice("paved", "gravel", "grass", "mulch", "soil", "mud", "steps"), required=True)]},
    {"kind": "gate", "word": "gate", "geometry": ["Point", "LineString"], "keys": [key("width", "of the gap", required_of=["Point"])]},
    {"kind": "tap", "word": "tap", "geometry": ["Point"], "keys": [key("hose_length", "how far its hose reaches")]},
    {"kind": "door", "word": "door", "geometry": ["Point"], "keys": []},
    {"kind": "pile", "word": "pile", "geometry": ["Point", "Polygon"], "keys": [
        key("drop", "true where a delivery may be tipped", {"type": "flag"}, default=False)]},
    {"kind": "bed", "word": "bed", "geometry": ["Polygon"], "keys": [
        HEIGHT, key("wall_thickness", "of its walls", default="1.5 in", source="common practice, no source"),
        key("proposed", "true: its place may change", {"type": "flag"}, default=False),
        key("need", "hours of direct sun that its crops want", {"type": "quantity", "dimension": "time"})]},
    {"kind": "keepout", "word": "keep-out", "geometry": ["Polygon"], "keys": [
        key("reason", "why the ground must stay free", {"type": "text"}, required=True), key("setback", "how far around it")]},
    {"kind": "level", "word": "level", "geometry": ["Point"], "keys": [key("elevation", "of the ground there", required=True)]},
]  # fmt: skip


class StandIn:
    """The property, its steps, and what a test may change behind the page's back."""

    def __init__(self, features: list[Json], settings: Json, *, unit: str = "ft") -> None:
        self.features, self.settings, self.unit = features, dict(settings), unit
        self.past: list[tuple[str, list[Json], Json]] = []
        self.future: list[tuple[str, list[Json], Json]] = []
        self.number = 0
        self.asked: list[tuple[str, Json]] = []
        self.backdrop: Json | None = None
        self.variants: list[str] = []
        self.variant: str | None = None
        self.jobs: list[Json] = []
        self.refuse: str | None = None
        self.picture = b""
        self.lock = threading.Lock()

    def given(self, name: str) -> Json:
        return {"given": self.settings.get(name), "default": None, "says": ""}

    def view(self) -> Json:
        faults = [] if any(one["properties"]["kind"] == "boundary" for one in self.features) else [
            {"file": "features.geojson", "where": "", "text": "holds no boundary; draw one"}]  # fmt: skip
        for one in self.features:
            wanted = next(kind for kind in KINDS if kind["kind"] == one["properties"]["kind"])["keys"]
            faults += [
                {"file": "features.geojson", "where": one["id"], "text": f"{key['name']} is missing"}
                for key in wanted
                if (key["required"] or one["geometry"]["type"] in key["required_of"]) and key["name"] not in one["properties"]
            ]  # fmt: skip
        names = ("name", "units", "origin.latitude", "origin.longitude", "origin.bearing", "origin.unit",
                 "season.last_frost", "season.first_frost")  # fmt: skip
        placed = self.settings.get("origin.latitude") is not None
        place = {
            "latitude": self.settings["origin.latitude"],
            "longitude": self.settings["origin.longitude"],
            "bearing": self.settings.get("origin.bearing") or 0,
        } if placed else None  # fmt: skip
        unit = length_unit(self.settings.get("origin.unit", self.unit))
        trees = [one["id"] for one in self.features if one["properties"]["kind"] == "tree"]
        return {
            "version": str(self.number), "name": self.settings.get("name", ""), "folder": "yard",
            "units": self.settings.get("units", "imperial"), "unit": unit.sign, "unit_metres": unit.metres,
            "place": place, "settings": {name: self.given(name) for name in names}, "features": self.features,
            "sound": not faults, "faults": faults,
            "cautions": [{"code": "roots", "feature": one, "text": "its roots reach the bed"} for one in trees[:1]],
            "undo": self.past[-1][0] if self.past else None, "redo": self.future[-1][0] if self.future else None,
            "backdrop": self.backdrop, "variants": self.variants, "variant": self.variant,
        }  # fmt: skip

    def edit(self, asked: Json) -> Json:
        with self.lock:
            self.past.append((asked["says"], copy.deepcopy(self.features), dict(self.settings)))
            self.future.clear()
            held = {one["id"]: one for one in self.features}
            for name in asked.get("remove", []):
                held.pop(name, None)
            held |= {one["id"]: one for one in asked.get("put", [])}
            self.features = list(held.values())
            self.settings |= asked.get("settings", {})
            self.number += 1
        return self.view()

    def turn(self, here: list, there: list) -> Json:
        if here:
            says, features, settings = here.pop()
            there.append((says, self.features, self.settings))
            self.features, self.settings = features, settings
            self.number += 1
        return self.view()

    def of(self, name: str) -> Json:
        return next(one for one in self.features if one["id"] == name)


def bed_figures(outline: list) -> Json:
    """Made up: the farther up the paper the bed lies, the more sun."""
    up = sum(corner[1] for corner in outline) / len(outline)
    hours = round(max(0.0, min(14.0, up / 5)), 2)
    return {
        "season_h": hours, "worst_h": round(hours / 2, 2), "months": [hours] * 12, "sun_score": hours * 10,
        "light_class": "part sun", "forbidden": "Here the bed would stand on the house." if up < 5 else None,
        "minutes": 1.5, "no_way": False,
    }  # fmt: skip


def compared(name: str | None) -> Json:
    """Made up: the property has 6 h in the season, a variant 7 h."""
    hours = 6.0 if name is None else 7.0
    bed = {"id": "bed-1", "season_h": hours, "worst_h": 4.0, "month_h": [hours] * 12}
    return {"name": name, "faults": [], "beds": [bed], "cost": 120.5, "currency": "USD", "hours": 3.5, "hours_with_rests": 4.0,
            "trips": 22, "cautions": []}  # fmt: skip


def app_of(held: StandIn) -> Starlette:  # noqa: C901, PLR0915  # one server, read in one piece
    def answer(request: Request, found: Json, status: int = 200) -> Response:
        return JSONResponse(found, status_code=status, headers={"Content-Security-Policy": RULES})

    async def posted(request: Request) -> Response:  # noqa: PLR0911
        name = request.path_params["name"]
        if name == "backdrop":
            held.picture = await request.body()
            held.backdrop = {
                "url": "/api/backdrop/picture",
                "width": 400,
                "height": 300,
                "corners": None,
                "strength": 0.6,
            }
            held.number += 1
            return answer(request, {"said": ["It has no place yet."]})
        asked = json.loads(await request.body())
        held.asked.append((name, asked))
        if held.refuse:
            return answer(request, {"faults": [{"where": "request", "text": held.refuse}]}, 400)
        if name in {"edit", "undo", "redo"} and asked["version"] != str(held.number):
            return answer(request, {"faults": [{"where": "", "text": "stale"}], "property": held.view()}, 409)
        if name == "edit":
            return answer(request, held.edit(asked))
        if name == "undo":
            return answer(request, held.turn(held.past, held.future))
        if name == "redo":
            return answer(request, held.turn(held.future, held.past))
        return answer(request, *told(name, asked))

    def told(name: str, asked: Json) -> tuple[Json, int]:  # noqa: C901, PLR0911
        if name == "bed":
            return bed_figures(asked["outline"]), 200
        if name == "bed/headings":
            return bed_figures(asked["outline"]) | {
                "orientation_score": 84.0,
                "best_heading": 90,
                "heading": 0,
                "said": ["Turning it would bring 0.4 h."],
            }, 200
        if name == "where":
            if "N" not in asked["text"]:
                return {"faults": [{"where": "text", "text": "is no latitude and longitude"}]}, 400
            return {"latitude": 41.35, "longitude": -92.2, "said": ["41.3500° north, 92.2000° west."]}, 200
        if name == "north":
            return {
                "bearing": 12.0,
                "said": ["The compass points 0.4° east of north there."],
                "error_degrees": 2,
            }, 200
        if name == "height":
            return {"height_m": 9.144, "low_m": 8.8, "high_m": 9.5, "said": ["One degree off moves it by 1 ft."]}, 200
        if name == "jobs":
            held.jobs.append(
                {
                    "what": asked["what"],
                    "state": "working",
                    "share": 0.25,
                    "question": "sun",
                    "faults": [],
                    "result": {},
                }
            )
            if asked["what"] == "compare":
                held.jobs[-1] |= {
                    "state": "done",
                    "result": {"rows": [compared(None), *map(compared, held.variants)]},
                }
            return {"job": len(held.jobs) - 1}, 200
        if name == "variants":
            if asked["do"] == "make":
                held.variants.append(asked["name"])
                held.variant = asked["name"]
            if asked["do"] == "open":
                held.variant = asked["name"]
            held.number += 1
            return held.view(), 200
        return {"faults": [{"where": "", "text": f"no such request: {name}"}]}, 400

    async def placed(request: Request) -> Response:
        asked = json.loads(await request.body())
        held.asked.append(("backdrop/place", asked))
        if asked.get("remove"):
            held.backdrop = None
        elif held.backdrop is not None:
            held.backdrop |= {name: asked[name] for name in ("strength", "under_map") if name in asked}
            if "distance" in asked:
                held.backdrop["corners"] = [[0, 15], [20, 15], [20, 0], [0, 0]]
        held.number += 1
        return answer(request, {})

    async def got(request: Request) -> Response:
        name = request.path_params["name"]
        if name == "property":
            return answer(request, held.view())
        if name == "kinds":
            return answer(request, {"kinds": KINDS})
        if name == "towns":
            town = {
                "name": "Harlan",
                "region": "Iowa",
                "country": "United States",
                "latitude": 41.65,
                "longitude": -95.3,
            }
            return answer(request, {"towns": [town], "said": [], "credit": "GeoNames, CC BY 4.0"})
        return answer(request, {
            "state": "whole", "version": str(held.number), "image": PIXEL, "bounds": [[0, 0], [20, 30]],
            "scale": {"top": 14, "marks": [{"share": 0, "label": "0"}, {"share": 1, "label": "14"}], "colours": ["#2c3e56", "#fff4b5"], "need": 6, "plenty": 8},
        })  # fmt: skip

    async def job(request: Request) -> Response:
        one = held.jobs[int(request.path_params["number"])]
        if request.method == "POST":
            one["state"] = "stopped"
        return answer(request, one)

    async def picture(request: Request) -> Response:
        return Response(held.picture, media_type="image/png")

    async def file(request: Request) -> Response:
        folder, name = request.path_params.get("folder", "page"), request.path_params.get("name", "index.html")
        shown = (
            files("xstatic.pkg.leaflet") / "data" / name
            if folder == "leaflet"
            else files("siteplan.draw") / "page" / name
        )
        if name in {"symbols.css", "sheet.css"}:
            shown = files("siteplan.show") / "assets" / name
        if not shown.is_file():
            return Response("", status_code=404)
        return Response(
            shown.read_bytes(), media_type=TYPES[name.rsplit(".", 1)[-1]], headers={"Content-Security-Policy": RULES}
        )

    return Starlette(routes=[
        Route("/", file), Route("/api/backdrop/picture", picture),
        Route("/api/backdrop/place", placed, methods=["POST"]), Route("/api/jobs/{number}", job),
        Route("/api/jobs/{number}/stop", job, methods=["POST"]), Route("/api/{name}", got, methods=["GET"]),
        Route("/api/{name:path}", posted, methods=["POST"]), Route("/{folder}/{name}", file),
    ])  # fmt: skip


@contextlib.contextmanager
def serving(held: StandIn, port: int = 0) -> Iterator[str]:
    """Serve it on a free port of this machine, for as long as the context lasts."""
    listening = socket.socket()
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    listening.bind(("127.0.0.1", port))
    listening.listen()  # before the server's own thread does: the page may be the first to run
    server = uvicorn.Server(
        uvicorn.Config(
            app_of(held), log_config=None, access_log=False, lifespan="off", ws="none", timeout_graceful_shutdown=1
        )
    )
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]}, daemon=True)
    thread.start()
    try:
        yield f"http://127.0.0.1:{listening.getsockname()[1]}/"
    finally:
        server.should_exit = True
        thread.join(5)
        listening.close()
