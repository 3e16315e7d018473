"""How is the page served to the browser?

On the loopback address only, on a free port, with a secret of this run. Ctrl-C or a button on the page ends the
server.
"""

from __future__ import annotations

import asyncio
import contextlib
import logging
import socket
import threading
import webbrowser
from collections.abc import Callable, Iterator
from pathlib import Path

import uvicorn
from starlette.applications import Starlette

from siteplan.draw.desk import Desk
from siteplan.draw.guard import Address, Guard, new_address
from siteplan.draw.routes import routes
from siteplan.land.errors import Fault, InputError

HOST = "127.0.0.1"
_PATIENCE = 2  # seconds that open requests get when the server ends


class Server:
    """The server of one property.

    Parameters
    ----------
    folder : Path
        The site's.
    """

    def __init__(self, folder: Path) -> None:
        self._socket = _free_socket()
        self.address: Address = new_address(self._socket.getsockname()[1])
        self.desk = Desk(folder)
        app = Starlette(routes=routes(self.desk, end=self.end))
        settings = uvicorn.Config(
            Guard(app, self.address),
            log_config=None,
            access_log=False,
            server_header=False,
            timeout_graceful_shutdown=_PATIENCE,
            ws="none",
            lifespan="off",
        )
        logging.getLogger("uvicorn.error").addFilter(_END_IS_NO_FAULT)
        self._server = uvicorn.Server(settings)

    def run(self) -> None:
        """Serve until the page or Ctrl-C ends it."""
        try:
            self._server.run(sockets=[self._socket])
        finally:
            self.desk.close()
            self._socket.close()

    def end(self) -> None:
        """End the server once open requests are answered."""
        self._server.should_exit = True

    @contextlib.contextmanager
    def running(self) -> Iterator[Address]:
        """Serve in a thread, for as long as the context lasts."""
        thread = threading.Thread(target=self.run, name="draw", daemon=True)
        thread.start()
        try:
            yield self.address
        finally:
            self.end()
            thread.join(_PATIENCE * 3)


class _EndIsNoFault(logging.Filter):
    """Hides log lines on requests that are broken off because the server ends; bugs are still shown."""

    def filter(self, record: logging.LogRecord) -> bool:
        """Return whether a line is shown."""
        broken_off = record.exc_info is not None and isinstance(record.exc_info, tuple)
        ended = broken_off and record.exc_info[0] is asyncio.CancelledError  # type: ignore[index]
        return not ended and not record.getMessage().startswith("Cancel ")


_END_IS_NO_FAULT = _EndIsNoFault()


def _free_socket() -> socket.socket:
    """Return a socket that listens on a free port, for this machine only."""
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    try:
        listening.bind((HOST, 0))
        listening.listen()
    except OSError as error:
        listening.close()
        text = f"no port of this machine is free for the page ({error.strerror or error})"
        raise InputError([Fault("draw", "", text)]) from error
    return listening


def serve(folder: Path, *, browser: bool, say: Callable[[str], None]) -> None:
    """Serve the page of a property, and say where it is.

    Parameters
    ----------
    folder : Path
        The site's.
    browser : bool
        Whether to open it in the browser.
    say : callable
        Called with each line for the terminal.
    """
    server = Server(folder)
    with contextlib.suppress(KeyboardInterrupt):
        _say_where(folder, server.address.link, browser=browser, say=say)
        server.run()
    say("The page is closed. All that was drawn is saved.")


def _say_where(folder: Path, link: str, *, browser: bool, say: Callable[[str], None]) -> None:
    """Open the page, or say how it is opened."""
    if browser and _opened(link):
        say(f"Drawing {folder} in your browser. If no page shows, open this address on this machine:")
    else:
        say(_NO_BROWSER if browser else f"To draw {folder}, open this address in a browser on this machine:")
    say(link)
    say("It works until you end it: with the button on the page, or with Ctrl-C here.")


_NO_BROWSER = (
    "No browser could be started here. Open this address in a browser on this machine. Where the machine has none, "
    "run siteplan draw on one that has; the site is only its folder, which can be copied:"
)


def _opened(link: str) -> bool:
    """Open an address in the browser, and return whether one was found."""
    try:
        return webbrowser.open(link)
    except webbrowser.Error:
        return False
