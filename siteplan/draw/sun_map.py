"""How is the sun map kept up to date while the property changes?

In a thread of its own: first in coarse cells, then in the site's own. A newer version stops the work on an older one.
`sun_picture` colours the map.
"""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import dataclass, replace

from siteplan.land.site import Site
from siteplan.sun.engine import SunEngine
from siteplan.sun.sun_maps import SunMaps, maps_after, sun_maps

COARSE_CELLS = 250  # of the first map
Engine = Callable[[], SunEngine]


@dataclass(frozen=True, eq=False)
class SunMap:
    """The sun map of one version.

    Attributes
    ----------
    version : str
    site : Site
    maps : SunMaps
    whole : bool
        Whether it has the site's own cells, not the coarse ones.
    engine : SunEngine
        The engine that computed it.
    """

    version: str
    site: Site
    maps: SunMaps
    whole: bool
    engine: SunEngine


class _NewerError(Exception):
    """A newer version is asked for."""


class SunMapWork:
    """The sun map of the newest version, as far as it is done.

    Attributes
    ----------
    resting : threading.Event
        Set while nothing is being swept.
    """

    def __init__(self) -> None:
        self.resting = threading.Event()
        self.resting.set()
        self._lock = threading.Lock()
        self._wanted: tuple[str, Site, Engine] | None = None
        self._news = threading.Condition(self._lock)
        self._newest: SunMap | None = None
        self._last_whole: SunMap | None = None
        self._failed: tuple[str, Exception] | None = None
        self._ended = False
        self._thread = threading.Thread(target=self._run, name="sun map", daemon=True)
        self._thread.start()

    def ask(self, version: str, site: Site, engine: Engine) -> None:
        """Start the map of a version, unless it was the last one asked for."""
        with self._lock:
            if self._wanted is not None and self._wanted[0] == version:
                return
            self._wanted = version, site, engine
            self.resting.clear()
            self._news.notify_all()

    def map_of(self, version: str) -> SunMap | None:
        """Return the map of a version, None if there is none yet, or raise the error that stopped it."""
        with self._lock:
            if self._failed is not None and self._failed[0] == version:
                raise self._failed[1]
            return self._newest if self._newest is not None and self._newest.version == version else None

    def close(self) -> None:
        """Stop working."""
        with self._lock:
            self._ended = True
            self._wanted = None
            self.resting.set()
            self._news.notify_all()

    def _run(self) -> None:
        done = ""
        while True:
            with self._lock:
                while not self._ended and (self._wanted is None or self._wanted[0] == done):
                    self.resting.set()
                    self._news.wait()
                if self._ended or self._wanted is None:
                    return
                version, site, engine = self._wanted
            done = version
            try:
                self._sweep(version, site, engine())
            except _NewerError:
                continue
            except Exception as error:  # noqa: BLE001 - `map_of` raises it for this map; the next may succeed
                self._failed = version, error

    def _sweep(self, version: str, site: Site, engine: SunEngine) -> None:
        """Compute the map of one version, coarse, then whole; cells that a change cannot reach keep their hours."""

        def tell(share: float) -> None:  # noqa: ARG001
            if self._ended or self._wanted is None or self._wanted[0] != version:
                raise _NewerError

        cell = max(site.sun.cell, (site.boundary.area / COARSE_CELLS) ** 0.5)
        if cell > site.sun.cell:
            coarse = replace(site, sun=replace(site.sun, cell=cell))
            self._keep(SunMap(version, coarse, sun_maps(coarse, engine, progress=tell), whole=False, engine=engine))
        tell(0.0)
        last = self._last_whole
        if last is None:
            maps = sun_maps(site, engine, progress=tell)
        else:
            maps = maps_after(last.maps, (last.site, last.engine), (site, engine), progress=tell)
        self._keep(SunMap(version, site, maps, whole=True, engine=engine))

    def _keep(self, sun_map: SunMap) -> None:
        with self._lock:
            self._newest = sun_map
            if sun_map.whole:
                self._last_whole = sun_map
