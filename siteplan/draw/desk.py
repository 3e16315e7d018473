"""What answers the page's requests about one property?

It holds the property that is open, with the sun engine of its newest sound version, the map that is swept, and the
work under way. It leaves out HTTP.
"""

from __future__ import annotations

import threading
from pathlib import Path
from typing import Any

import numpy as np
from shapely import Polygon

from siteplan.draw.backdrop_answers import Shown, backdrop_answer, backdrop_picture, backdrop_view, place_answer
from siteplan.draw.live_bed import LiveSite, figures, heading_figures
from siteplan.draw.measure_answers import Here
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

MAP_FIRST_S = 0.3  # s; so long is what only the next questions need put off, for a map that may be asked for


class Desk:
    """All that the page of one property asks.

    Parameters
    ----------
    folder : Path
        The site's.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.open = Property(folder)
        self.found = Proposals(folder)
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
        return self._whole(self.open.view())

    def _whole(self, view: Json) -> Json:
        """Return the property with the picture that lies under it, and whether proposals lie beside it."""
        reading = self.open.reading()
        backdrop = backdrop_view(self.folder, reading.plane, units=_units(reading))
        return view | {"backdrop": backdrop, "proposals": self.found.stamp()}

    def proposals(self) -> Json:
        """Return what a survey proposes and is not taken yet."""
        return self.found.view(self.open.reading())

    def take_proposals(self, asked: Json) -> Json:
        """Take proposals into the property, and return it as it is then, with what there is to say of it."""
        said = self.found.take(self.open, asked)
        return self.view() | {"told": said}

    def take_backdrop(self, content: bytes, name: str) -> Json:
        """Keep a picture to lie under the drawing."""
        reading = self.open.reading()
        return backdrop_answer(content, name, self.folder, reading.plane, units=_units(reading))

    def lay_backdrop(self, asked: Json) -> Json:
        """Lay the picture, set how it is seen, or take it away."""
        values = {name: value for name, value in asked.items() if name != "version"}
        reading = self.open.reading()
        return place_answer(values, self.folder, reading.plane, units=_units(reading))

    def backdrop(self) -> Shown:
        """Return the picture that is shown under the drawing."""
        return backdrop_picture(self.folder, self.open.reading().plane)

    def units(self) -> System:
        """Return the units in which the page speaks; metric where the settings cannot be read."""
        return _units(self.open.reading())

    def here(self) -> Here:
        """Return where the property lies, for what depends on the sun or the compass there."""
        reading = self.open.reading()
        if reading.plane.place is None:
            text = "nobody has said yet where the property lies; say its latitude and longitude first"
            raise InputError([Fault("", "place", text)])
        latitude, longitude = reading.plane.place
        settings = reading.read.settings
        timezone = None if settings is None else settings.timezone
        return Here(
            latitude=latitude,
            longitude=longitude,
            timezone=timezone or zone_at(longitude, latitude),
            units=_units(reading),
            plain=reading.read.unit,
        )

    def edit(self, asked: Json) -> Json:
        """Save one change, and return the property as it is then."""
        version, says = _text(asked, "version"), _text(asked, "says")
        put, remove, settings = asked.get("put", []), asked.get("remove", []), asked.get("settings", {})
        faults = [Fault("request", name, "must be a list") for name in ("put", "remove") if not _is_list(asked, name)]
        if not isinstance(settings, dict):
            faults.append(Fault("request", "settings", "must be an object"))
        if faults:
            raise InputError(faults)
        return self._whole(self.open.edit(version, says[:200], put=put, remove=remove, settings=settings))

    def undo(self, asked: Json) -> Json:
        """Take back the last step."""
        return self._whole(self.open.undo(_text(asked, "version")))

    def redo(self, asked: Json) -> Json:
        """Do again the step that was taken back."""
        return self._whole(self.open.redo(_text(asked, "version")))

    def variants(self, asked: Json) -> Json:
        """Make, open, rename, remove or adopt a variant, and return the property as it is then."""
        name, to = asked.get("name"), asked.get("to", "")
        if not isinstance(name, str | None) or not isinstance(to, str):
            raise InputError([Fault("request", "name", "must be a text")])
        return self._whole(self.open.variants(_text(asked, "do"), name, _text(asked, "version"), to=to))

    def bed(self, asked: Json) -> Json:
        """Return what a bed gets where it is held; nothing is saved."""
        reading, live = self._live_now()
        bed = live.bed(_text(asked, "id"), self._outline(asked, reading, live.site))
        return {"version": live.version, "id": bed.id, **figures(live.at(bed))}

    def bed_headings(self, asked: Json) -> Json:
        """Return what turning the bed would bring there, and have its ways counted."""
        reading, live = self._live_now()
        bed = live.bed(_text(asked, "id"), self._outline(asked, reading, live.site))
        live.count_minutes(bed.id)
        return {"version": live.version, "id": bed.id, **heading_figures(live.headings(bed)), **figures(live.at(bed))}

    def map_view(self, month: str) -> Json:
        """Return the map of the sun of the newest sound version, as far as it is swept."""
        number = int(month) if month.isdecimal() and len(month) < 3 else MONTHS
        if number > MONTHS:
            raise InputError([Fault("request", "month", f"is {number}, must be 0 to {MONTHS}")])
        reading, live = self._live_now()
        self.sun_map.ask(live.version, live.site, lambda: live.engine)
        found = self.sun_map.found(live.version)
        if found is None:
            return {"state": "working", "version": live.version, "month": number}
        asked = found, reading.plane, number
        if self._picture[0] != asked:  # the page asks again and again until the map is whole
            self._picture = asked, picture_view(*asked)
        return self._picture[1]

    def sound(self) -> tuple[Reading, Site]:
        """Return what the files say, with the site, or raise what is wrong with it."""
        reading = self.open.reading()
        if reading.checked.site is None:
            raise InputError(reading.checked.faults)
        return reading, reading.checked.site

    def _live_now(self) -> tuple[Reading, LiveSite]:
        """Return the property with what answers for its sun, or raise what is wrong with it."""
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
        """Return whether a version is still the newest, once no map is being swept: somebody waits for that."""
        self.sun_map.resting.wait()
        return self._live is live

    def _outline(self, asked: Json, reading: Reading, site: Site) -> Polygon:
        """Return the outline that is asked about, in the site's frame."""
        corners = asked.get("outline")
        try:
            points = np.array(corners, dtype=float)
        except (TypeError, ValueError):
            points = np.zeros(0)
        if points.ndim != 2 or points.shape[1] != 2 or not 3 <= len(points) <= 1000 or np.abs(points).max() > 1e6:
            text = "must be a list of 3 to 1,000 corners, each of two numbers"
            raise InputError([Fault("request", "outline", text)])
        return to_site(Polygon(points), reading.plane, site)


def _units(reading: Reading) -> System:
    settings = reading.read.settings
    return "metric" if settings is None else settings.units


def _text(asked: Json, name: str) -> str:
    value = asked.get(name)
    if not isinstance(value, str):
        raise InputError([Fault("request", name, "must be a text")])
    return value


def _is_list(asked: Json, name: str) -> bool:
    return isinstance(asked.get(name, []), list)
