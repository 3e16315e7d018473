"""A look at a map in a browser: what it asked for, and what it complained of."""

from __future__ import annotations

from typing import Any

from tests.heard import Heard

#: pages that earlier looks left: a page in a process of its own takes twice as long
FREE: list[Any] = []
#: looks that nobody has left yet
OPENED: list[Visit] = []


class Visit:
    """A page with what it asked for and what it complained of; it is left at the end of the test that opened it."""

    def __init__(self, chromium, path, *, width=1280, height=800, before=""):
        self.alone = bool(before)
        self.page = FREE.pop() if FREE and not before else chromium.new_page()
        self.page.set_viewport_size({"width": width, "height": height})
        if before:
            self.page.add_init_script(before)
        self.heard = Heard(self.page)
        self.asked, self.said = self.heard.asked, self.heard.said
        self.page.route(
            "**/*", lambda route: route.continue_() if route.request.url.startswith("file:") else route.abort()
        )
        OPENED.append(self)
        self.page.goto(path.as_uri())
        self.page.wait_for_selector("html[data-ready]", timeout=10_000)

    def leave(self):
        """Leave the page to the next look, as a new one would be."""
        OPENED.remove(self)
        if self.alone:
            self.page.close()
            return
        self.heard.stop()
        self.page.unroute_all()
        self.page.goto("about:blank")
        self.page.mouse.move(0, 0)
        FREE.append(self.page)

    @property
    def outside(self):
        return [url for url in self.asked if not url.startswith(("file:", "data:", "blob:"))]
