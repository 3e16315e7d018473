"""What does a page in a browser ask for and complain of, while somebody looks at it?"""

from __future__ import annotations

from typing import Any


class Heard:
    """The addresses that a page asks for, and what it says: errors, lines on its console, dialogs, which are closed."""

    def __init__(self, page: Any) -> None:
        self.asked: list[str] = []
        self.said: list[str] = []
        self._page = page
        self._ears = {
            "request": lambda request: self.asked.append(request.url),
            "console": lambda message: self.said.append(message.text),
            "pageerror": lambda error: self.said.append(str(error)),
            "dialog": lambda dialog: (self.said.append("dialog"), dialog.dismiss()),
        }
        for event, ear in self._ears.items():
            page.on(event, ear)

    def stop(self) -> None:
        """Hear no more, so that the page can be another's."""
        for event, ear in self._ears.items():
            self._page.remove_listener(event, ear)
