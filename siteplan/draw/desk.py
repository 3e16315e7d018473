"""How does the server answer the page's requests about one property?

The desk holds the open property, the sun engine of its newest sound version, the sun map in progress, and the jobs
that run. `routes` does the HTTP.
"""

from __future__ import annotations

import threading
from pathlib import Path
from typing import Any

import numpy as np
from shapely import Polygon

from siteplan.draw.backdrop_answers import Shown, backdrop_answer, backdrop_picture, backdrop_view, place_answer
from siteplan.draw.live_bed import LiveSite, figures, heading_figures
from siteplan.draw.measure_answers import PropertyPosition
from siteplan.draw.property import Property
from siteplan.draw.property_view import Reading
from siteplan.draw.proposal_answers import Proposals
from siteplan.draw.site_plane import to_site
from siteplan.draw.sun_map import SunMapWork
from siteplan.draw.sun_picture import MONTHS, picture_view
from siteplan.draw.work import Jobs
from siteplan.files.timezone import zone_at
from siteplan.land.errors import Fault, InputError
from siteplan.land.site import Site
from siteplan.land.units import System

Json = dict[str, Any]

MAP_FIRST_S = 0.3  # s to wait before warming up for later questions, since the page may ask for a map first


class Desk:
    """Answers to all requests of one property's page.

    Parameters
    ----------
    folder : Path
        The site's.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.property = Property(folder)
        self.survey = Proposals(folder)
        self.jobs = Jobs()
        self.sun_map = SunMapWork()
        self._live: LiveSite | None = None
        self._picture: tuple[object, Json] = None, {}
        self._lock = threading.Lock()

    def close(self) -> None:
        """Stop all work."""
        self._live = None
        self.jobs.close()
        self.sun_map.close()

    def view(self) -> Json:
        """Return the property."""
        return self._with_backdrop(self.property.view())

    def _with_backdrop(self, view: Json) -> Json:
        """Return the property with the picture under it, and the stamp of the proposals beside it."""
        reading = self.property.reading()
        backdrop = backdrop_view(self.folder, reading.plane, units=_units(reading))
        return view | {"backdrop": backdrop, "proposals": self.survey.stamp()}

    def proposals(self) -> Json:
        """Return the proposals of a survey that are not in the property yet."""
        return self.survey.view(self.property.reading())

    def take_proposals(self, request: Json) -> Json:
        """Merge proposals into the property; return the new property with sentences on what was done."""
        sentences = self.survey.take(self.property, request)
        return self.view() | {"told": sentences}

    def take_backdrop(self, content: bytes, name: str) -> Json:
        """Store a picture to show under the drawing."""
        reading = self.property.reading()
        return backdrop_answer(content, name, self.folder, reading.plane, units=_units(reading))

    def lay_backdrop(self, request: Json) -> Json:
        """Place the picture, set how it is shown, or remove it."""
        values = {name: value for name, value in request.items() if name != "version"}
        reading = self.property.reading()
        return place_answer(values, self.folder, reading.plane, units=_units(reading))

    def backdrop(self) -> Shown:
        """Return the picture to show under the drawing."""
        return backdrop_picture(self.folder, self.property.reading().plane)

    def units(self) -> System:
        """Return the units that the page uses; metric if the settings cannot be read."""
        return _units(self.property.reading())

    def position(self) -> PropertyPosition:
        """Return where the property lies, which the sun and the compass depend on."""
        reading = self.property.reading()
        if reading.plane.place is None:
            text = "nobody has said yet where the property lies; say its latitude and longitude first"
            raise InputError([Fault("", "place", text)])
        latitude, longitude = reading.plane.place
        settings = reading.read.settings
        timezone = None if settings is None else settings.timezone
        return PropertyPosition(
            latitude=latitude,
            longitude=longitude,
            timezone=timezone or zone_at(longitude, latitude),
            units=_units(reading),
            plain=reading.read.unit,
        )

    def edit(self, request: Json) -> Json:
        """Save one change, and return the new property."""
        version, says = _text(request, "version"), _text(request, "says")
        put, remove, settings = request.get("put", []), request.get("remove", []), request.get("settings", {})
        lists = ("put", "remove")
        faults = [Fault("request", name, "must be a list") for name in lists if not _is_list(request, name)]
        if not isinstance(settings, dict):
            faults.append(Fault("request", "settings", "must be an object"))
        if faults:
            raise InputError(faults)
        return self._with_backdrop(self.property.edit(version, says[:200], put=put, remove=remove, settings=settings))

    def undo(self, request: Json) -> Json:
        """Undo the last step."""
        return self._with_backdrop(self.property.undo(_text(request, "version")))

    def redo(self, request: Json) -> Json:
        """Redo the step that was undone."""
        return self._with_backdrop(self.property.redo(_text(request, "version")))

    def variants(self, request: Json) -> Json:
        """Make, open, rename, remove or adopt a variant, and return the property that is open afterwards."""
        name, to = request.get("name"), request.get("to", "")
        if not isinstance(name, str | None) or not isinstance(to, str):
            raise InputError([Fault("request", "name", "must be a text")])
        view = self.property.variants(_text(request, "do"), name, _text(request, "version"), to=to)
        return self._with_backdrop(view)

    def bed(self, request: Json) -> Json:
        """Return the sun and the limits of a bed at the spot it is dragged to; nothing is saved."""
        reading, live = self._live_now()
        bed = live.bed(_text(request, "id"), self._outline(request, reading, live.site))
        return {"version": live.version, "id": bed.id, **figures(live.at(bed))}

    def bed_headings(self, request: Json) -> Json:
        """Return what turning the bed there would bring, once the barrow's ways to it are known."""
        reading, live = self._live_now()
        bed = live.bed(_text(request, "id"), self._outline(request, reading, live.site))
        live.count_minutes(bed.id)
        return {"version": live.version, "id": bed.id, **heading_figures(live.headings(bed)), **figures(live.at(bed))}

    def map_view(self, month: str) -> Json:
        """Return the sun map of the newest sound version, as far as it is done."""
        number = int(month) if month.isdecimal() and len(month) < 3 else MONTHS
        if number > MONTHS:
            raise InputError([Fault("request", "month", f"is {number}, must be 0 to {MONTHS}")])
        reading, live = self._live_now()
        self.sun_map.ask(live.version, live.site, lambda: live.engine)
        sun_map = self.sun_map.map_of(live.version)
        if sun_map is None:
            return {"state": "working", "version": live.version, "month": number}
        shown = sun_map, reading.plane, number
        if self._picture[0] != shown:  # the page asks again and again until the map is whole
            self._picture = shown, picture_view(*shown)
        return self._picture[1]

    def sound(self) -> tuple[Reading, Site]:
        """Return what the files say, with the site, or raise its faults."""
        reading = self.property.reading()
        if reading.checked.site is None:
            raise InputError(reading.checked.faults)
        return reading, reading.checked.site

    def _live_now(self) -> tuple[Reading, LiveSite]:
        """Return the property with the live site that computes its sun, or raise its faults."""
        reading, site = self.sound()
        with self._lock:
            version = f"{reading.state.version} {reading.variant or ''}"
            if self._live is None or self._live.version != version:
                live = LiveSite(version, site)
                if self._live is not None:
                    live.take_over(self._live)
                self._live = live
                warm = threading.Timer(MAP_FIRST_S, live.warm, args=(lambda: self._may_warm(live),))
                warm.daemon = True
                warm.start()
            return reading, self._live

    def _may_warm(self, live: LiveSite) -> bool:
        """Wait until no map is being swept; return whether the version is still the newest."""
        self.sun_map.resting.wait()
        return self._live is live

    def _outline(self, request: Json, reading: Reading, site: Site) -> Polygon:
        """Return the outline given in a request, in the site's frame."""
        corners = request.get("outline")
        try:
            points = np.array(corners, dtype=float)
        except (TypeError, ValueError, OverflowError):
            points = np.zeros(0)
        are_corners = points.ndim == 2 and points.shape[1] == 2 and 3 <= len(points) <= 1000
        if not (are_corners and np.abs(points).max() <= 1e6):  # null is NaN here, which is not within
            text = "must be a list of 3 to 1,000 corners, each of two numbers"
            raise InputError([Fault("request", "outline", text)])
        return to_site(Polygon(points), reading.plane, site)


def _units(reading: Reading) -> System:
    settings = reading.read.settings
    return "metric" if settings is None else settings.units


def _text(request: Json, name: str) -> str:
    value = request.get(name)
    if not isinstance(value, str):
        raise InputError([Fault("request", name, "must be a text")])
    return value


def _is_list(request: Json, name: str) -> bool:
    return isinstance(request.get(name, []), list)
