"""A person at the drawing page: what she sees, clicks and types, and what the page asked for meanwhile."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from typing import Any

from tests.heard import Heard

from .stand_in import StandIn, serving

FOOT = 0.3048
WIDTH, HEIGHT = 1280, 800


def lot(*more: dict[str, Any]) -> list[dict[str, Any]]:
    """Return a boundary of 20 m by 30 m, a house and a bed, in metres."""
    return [
        area("lot", "boundary", [[0, 0], [20, 0], [20, 30], [0, 30]]),
        area("house", "building", [[4, 2], [14, 2], [14, 10], [4, 10]], height="6 m"),
        area("bed-1", "bed", [[8, 20], [10, 20], [10, 21], [8, 21]], height="45 cm"),
        *more,
    ]


def area(name: str, kind: str, ring: list, **properties: Any) -> dict[str, Any]:
    geometry = {"type": "Polygon", "coordinates": [[*ring, ring[0]]]}
    return {"type": "Feature", "id": name, "properties": {"kind": kind, **properties}, "geometry": geometry}


SETTINGS = {"name": "Larkspur Rise", "origin.latitude": 41.35, "origin.longitude": -92.2, "origin.bearing": 12.0,
            "origin.unit": "ft", "season.last_frost": "05-04", "season.first_frost": "10-04"}  # fmt: skip


#: pages that visits have left, in a browser that stays: a page in a process of its own costs twice as much
FREE: list[Any] = []


class Visit:
    """The page of a stand-in, opened.

    It opens in a page that an earlier visit left, with nothing of that visit in it: another port is another origin,
    cookies are deleted, and the modules are loaded anew. What asks for a touch screen gets a context of its own.
    """

    def __init__(self, chromium: Any, held: Any, address: str, **view: Any) -> None:
        size = {"width": view.pop("width", WIDTH), "height": view.pop("height", HEIGHT)}
        self.held, self.alone = held, bool(view)
        self.page = FREE.pop() if FREE and not view else chromium.new_context(viewport=size, **view).new_page()
        self.page.set_viewport_size(size)
        self.context = self.page.context
        self.heard = Heard(self.page)
        self.asked, self.said = self.heard.asked, self.heard.said
        self.page.goto(address)
        self.page.wait_for_selector("html[data-ready]", timeout=15_000)

    def close(self) -> None:
        """Leave the page to the next visit, as a new one would be."""
        if self.alone:
            self.context.close()
            return
        self.heard.stop()
        for other in self.context.pages:
            if other is not self.page:
                other.close()
        self.page.on("dialog", leave := lambda dialog: dialog.accept())  # where a change still waits, it asks
        self.page.goto("about:blank")
        self.page.remove_listener("dialog", leave)
        self.page.mouse.move(0, 0)
        self.context.clear_cookies()
        FREE.append(self.page)

    def at(self, x: float, y: float) -> tuple[float, float]:
        """Return where a point of the plane lies on the screen. [m] in, pixels out."""
        spot = self.page.evaluate(
            """async ([x, y]) => {
                const { map } = await import("/page/canvas.js");
                const box = document.getElementById("paper").getBoundingClientRect();
                const at = map.latLngToContainerPoint([y, x]);
                return [box.left + at.x, box.top + at.y];
            }""",
            [x, y],
        )
        edge = 1.5  # of the paper's own line
        return spot[0] + edge, spot[1] + edge

    def click(self, x: float, y: float, **more: Any) -> None:
        self.page.mouse.click(*self.at(x, y), **more)

    def drag(self, start: tuple[float, float], end: tuple[float, float]) -> None:
        self.page.mouse.move(*self.at(*start))
        self.page.mouse.down()
        self.page.mouse.move(*self.at(*[(a + b) / 2 for a, b in zip(start, end, strict=True)]), steps=3)
        self.page.mouse.move(*self.at(*end), steps=3)
        self.page.mouse.up()

    def type(self, *texts: str) -> None:
        """Type lengths while a line is in hand, each ended by Enter."""
        for text in texts:
            self.page.keyboard.type(text)
            self.page.keyboard.press("Enter")

    def saved(self) -> None:
        self.page.wait_for_selector('#saving[data-state="saved"]', timeout=10_000)

    def foot(self) -> str:
        return self.page.locator("#foot-said").inner_text()


@contextlib.contextmanager
def visiting(chromium: Any, held: StandIn, **view: Any) -> Iterator[Visit]:
    with serving(held) as address:
        visit = Visit(chromium, held, address, **view)
        try:
            yield visit
        finally:
            visit.close()
