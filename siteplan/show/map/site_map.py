"""What is on the interactive map?

A folium map with siteplan's own layers, in metres of the local frame. Around it a page with months and cards.
It leaves out computing: every figure is in the plan already.
"""

from __future__ import annotations

import base64
from typing import TYPE_CHECKING, Any

import folium
import numpy as np
from branca.element import MacroElement
from folium.map import Layer
from folium.template import Template

import siteplan
from siteplan.files.backdrop.under_map import flat_picture
from siteplan.land.site import Site
from siteplan.say.adopting import next_step
from siteplan.say.cautions import listed_cautions
from siteplan.say.doubt import RANGES, place_doubts
from siteplan.say.figures import MONTH_NAMES, day_text, plural
from siteplan.say.fill_prices import price_sentences
from siteplan.say.hauling import unreached_lines, work_text
from siteplan.say.lighting import METHOD, SUN_HOURS, cloud_sentence
from siteplan.say.place_reasons import counting_sentence, result_sentences, steady_sentence
from siteplan.say.placing import proof_sentence
from siteplan.say.safe_text import script_data
from siteplan.say.surfaces import surface_sentence
from siteplan.show.charts.colours import png_address
from siteplan.show.listing import purchase_rows
from siteplan.show.map import cards
from siteplan.show.map.figure import QuietFigure, QuietMap, Raw, element
from siteplan.show.map.packing import HeldInsides, packed_units
from siteplan.show.map.painting import paintings
from siteplan.show.map.sure_layer import sure_data, sure_key, sure_words
from siteplan.show.page_parts import own_asset, templates
from siteplan.show.symbols import planned
from siteplan.show.symbols.property import property_layers

if TYPE_CHECKING:
    from siteplan.records import Answers

#: the basemap that `tiles=True` loads, its attribution, and the servers that it comes from
BASEMAP = "https://tile.openstreetmap.org/{z}/{x}/{y}.png"
ATTRIBUTION = (
    '&copy; <a href="https://www.openstreetmap.org/copyright" rel="noreferrer">OpenStreetMap</a> contributors'
)
BASEMAP_HOST = "https://tile.openstreetmap.org"
GIVEN_AWAY = (
    "This page holds where the property is, and its basemap asks tile.openstreetmap.org for pictures: "
    "that server learns your address on the net and which property you look at. "
    "Make the map without tiles before you pass it on."
)

#: layers of drawn items, from the lowest up, and whether each is shown at first
_DRAWN = ("ground", "keepouts", "buildings", "plants", "fences", "routes", "piles", "points", "beds", "places")
#: the first two are those of the drawing page too
_STYLES = ("symbols.css", "sheet.css", "map.css", "charts.css", "map_narrow.css")
_CLEAR_PICTURE = png_address(np.zeros((1, 1, 4), dtype=np.uint8))


class DrawnLayer(Layer):
    """A layer of drawn items, found in the page's data by its key."""

    _template = Template(
        "{% macro script(this, kwargs) %}var {{ this.get_name() }} = "
        "siteplan.layer({{ this._parent.get_name() }}, {{ this.key|tojson }});{% endmacro %}",
    )

    def __init__(self, key: str, *, show: bool = True) -> None:
        super().__init__(name=key, overlay=True, control=False, show=show)
        self._name = "DrawnLayer"
        self._id = key
        self.key = key


class PictureLayer(Layer):
    """A layer with one picture over the grid, which the page's script repaints."""

    _template = Template(
        "{% macro script(this, kwargs) %}var {{ this.get_name() }} = siteplan.picture({{ this._parent.get_name() }}, "
        "{{ this.key|tojson }}, {{ this.address|tojson }}, {{ this.words|tojson }});{% endmacro %}",
    )

    def __init__(self, key: str, address: str, words: str, *, show: bool = True) -> None:
        super().__init__(name=key, overlay=True, control=False, show=show)
        self._name = "PictureLayer"
        self._id = key
        self.key, self.address, self.words = key, address, words


class BackdropLayer(Layer):
    """The picture under the drawing, north up, below all else."""

    _template = Template(
        "{% macro script(this, kwargs) %}var {{ this.get_name() }} = siteplan.backdrop("
        "{{ this._parent.get_name() }}, {{ this.address|tojson }}, {{ this.bounds|tojson }}, "
        "{{ this.strength|tojson }});{% endmacro %}",
    )

    def __init__(self, content: bytes, bounds: tuple[float, float, float, float], strength: float) -> None:
        super().__init__(name="backdrop", overlay=True, control=False, show=True)
        self._name = "BackdropLayer"
        self._id = "backdrop"
        self.address = f"data:image/webp;base64,{base64.b64encode(content).decode()}"
        self.bounds, self.strength = [round(edge, 3) for edge in bounds], strength


class _Start(MacroElement):
    """The call that starts the page's script, after all layers are made."""

    _template = Template(
        "{% macro script(this, kwargs) %}siteplan.start({{ this._parent.get_name() }});{% endmacro %}"
    )

    def __init__(self) -> None:
        super().__init__()  # type: ignore[no-untyped-call]
        self._name = "Start"
        self._id = "page"


class SiteMap(QuietMap):
    """The interactive map of a plan. Further folium layers can be added as to any folium map.

    Without tiles, coordinates are [y, x] in metres of the site's local frame.

    Parameters
    ----------
    plan : Answers
    tiles : bool
        Whether a basemap is drawn under it, in longitude and latitude. It is loaded from a server outside.
    """

    def __init__(self, plan: Answers, *, tiles: bool = False) -> None:
        zoom = {"zoom_snap": 0.25, "zoom_delta": 0.5, "wheel_px_per_zoom_level": 120}
        super().__init__(
            plan.site.name or "Site plan",
            simple=not tiles,
            picture_hosts=(BASEMAP_HOST,) if tiles else (),
            zoom_start=4,
            zooms=(15, 23) if tiles else (0, 8.5),
            max_bounds_viscosity=0.5,
            **zoom,
        )
        if tiles:
            folium.TileLayer(
                BASEMAP, attr=ATTRIBUTION, control=False, max_native_zoom=19, max_zoom=23, opacity=0.55
            ).add_to(self)
        has_backdrop = self._add_backdrop(plan.site)
        self._add_paintings(plan)
        for key in _DRAWN:
            DrawnLayer(key).add_to(self)
        DrawnLayer("contours", show=True).add_to(self)
        _Start().add_to(self)
        data = page_data(plan, tiles=tiles)
        values = page_values(plan, tiles=tiles)
        values |= {"has_backdrop": has_backdrop, "has_forbidden": data["forbidden"] is not None}
        insides = HeldInsides(len(values["beds"]) + len(values["runs"]))
        self._page = templates().get_template("map_page.html.jinja").render(values, held=insides)
        self._data = script_data(data | {"cards": insides.packed})

    def _add_backdrop(self, site: Site) -> bool:
        """Add the picture under the drawing; return whether there is one."""
        picture = site.backdrop
        flat = None if picture is None else flat_picture(picture, site.boundary.bounds)
        if picture is None or flat is None:
            return False
        BackdropLayer(*flat, picture.strength).add_to(self)
        return True

    def _add_paintings(self, plan: Answers) -> None:
        """Add the maps of sun and light, and those of forbidden and of sure ground, which the page paints."""
        all_paintings = paintings(plan)
        for painting in all_paintings:
            words = f"{painting.words} in the growing season"
            PictureLayer(painting.key, painting.season_picture(), words, show=painting.key == "sun").add_to(self)
        if all_paintings:
            PictureLayer("forbidden", _CLEAR_PICTURE, "Ground where no bed may stand", show=False).add_to(self)
        if all_paintings and plan.sure_map is not None:
            PictureLayer("sure", _CLEAR_PICTURE, sure_words(plan.sure_map), show=False).add_to(self)

    def render(self, **kwargs: Any) -> str:
        """Put the map and the page around it into the figure."""
        super().render(**kwargs)  # type: ignore[no-untyped-call]
        figure = self.get_root()
        assert isinstance(figure, QuietFigure)  # noqa: S101  # the map never leaves the figure it was made with
        figure.header.add_child(Raw(element("style", own_asset(*_STYLES)), "own_style"), name="own_style")
        data = f'<script type="application/json" id="siteplan-data">{self._data}</script>'
        scripts = own_asset(
            "drawing.js", "labels.js", "maps.js", "painting.js", "sure.js", "instruments.js", "page.js"
        )
        figure.html.add_child(Raw(self._page, "page"), name="page")
        figure.html.add_child(Raw(data, "data"), name="data")
        figure.html.add_child(Raw(element("script", scripts), "own_script"), name="own_script")
        return ""


def site_map(plan: Answers, *, tiles: bool = False) -> SiteMap:
    """Return the interactive map of a plan; `save` writes it as one file that needs no network.

    Parameters
    ----------
    plan : Answers
    tiles : bool
        Whether a basemap is loaded. The page then reveals where the property is, and says so.
    """
    return SiteMap(plan, tiles=tiles)


def page_data(plan: Answers, *, tiles: bool) -> dict[str, Any]:
    """Return the data that the page's scripts draw, in metres of the local frame."""
    site = plan.site
    layers = property_layers(site)
    layers |= {
        "beds": planned.bed_items(plan),
        "places": planned.place_items(plan),
        "piles": planned.pile_items(plan),
        "routes": planned.route_items(plan),
        "contours": [],
    }
    return {
        "units": site.units,
        "extent": planned.site_extent(site),
        "place": _geographic(site) if tiles else None,
        "paintings": {painting.key: painting.data() for painting in paintings(plan)},
        "forbidden": _forbidden_data(plan),
        "sure": sure_data(plan.sure_map) if plan.sure_map is not None else None,
        "layers": layers,
    }


def _geographic(site: Site) -> dict[str, float]:
    """Return the site's centre and the metres in a degree there, which is exact enough over one property."""
    from shapely import Point

    frame = site.frame
    reach = 100.0
    east, north = frame.to_lonlat(Point(reach, 0)), frame.to_lonlat(Point(0, reach))
    return {
        "longitude": frame.longitude,
        "latitude": frame.latitude,
        "east_m": reach / (east.x - frame.longitude),
        "north_m": reach / (north.y - frame.latitude),
    }


def _forbidden_data(plan: Answers) -> dict[str, Any] | None:
    """Return the reason that forbids each cell."""
    if plan.places is None or plan.maps is None or plan.places.grid != plan.maps.grid:
        return None
    cells, reasons = planned.forbidden_cells(plan.places.limits, plan.places.grid, plan.site.units)
    return {"packed": packed_units(cells[np.newaxis]), "reasons": reasons}


def page_values(plan: Answers, *, tiles: bool) -> dict[str, Any]:
    """Return the values for the page's template."""
    site = plan.site
    all_paintings = paintings(plan)
    return {
        "title": site.name or "Site plan",
        "version": siteplan.__version__,
        "year": site.sun.year,
        "season": f"{day_text(site.season.last_frost)} to {day_text(site.season.first_frost)}",
        "counts": {"beds": len(site.beds)},
        "given_away": GIVEN_AWAY if tiles else "",
        "cautions": listed_cautions(plan.cautions),
        "cautions_count": plural(len(plan.cautions), "caution"),
        "months": [{"name": name, "short": short} for name, short in zip(MONTH_NAMES, "JFMAMJJASOND", strict=True)]
        + [{"name": "Growing season", "short": "Season"}],
        "scales": [painting.scale() for painting in all_paintings],
        "sun_hours": SUN_HOURS,
        "surface": surface_sentence(site.surface_model, site.units) if site.surface_model else "",
        "light_method": f"{METHOD} {cloud_sentence(plan)}" if len(all_paintings) > 1 else "",
        "sure": sure_key(plan.sure_map) if all_paintings and plan.sure_map is not None else None,
        **_place_values(plan),
        "ranges": RANGES if any(report.doubt for report in plan.beds) else "",
        "beds": cards.bed_cards(plan),
        "purchase": purchase_rows(plan),
        "prices": price_sentences(plan),
        "work": _work_sentences(plan),
        "runs": cards.run_cards(plan),
        "piles": cards.pile_cards(plan),
    }


def _place_values(plan: Answers) -> dict[str, Any]:
    """Return the values about the places for a new bed."""
    places, units = plan.places, plan.site.units
    return {
        "places": cards.place_cards(plan),
        "place_sentences": (
            (*result_sentences(places, units), *place_doubts(places)[1:2], next_step(plan)) if places else ()
        ),
        "ruled_out": cards.ruled_out(plan),
        "trade_off": cards.trade_off(plan),
        "trade_picture": cards.trade_picture(plan),
        "proof": proof_sentence(places) if places else "",
        "steady": steady_sentence(places.sensitivity, units) if places else "",
        "counting": counting_sentence(places) if places else "",
    }


def _work_sentences(plan: Answers) -> str:
    """Return the loads that cannot reach a bed, and the work of all others with its days."""
    haul = plan.haul
    if haul is None:
        return ""
    days = f", on {plural(haul.days, 'day')}." if haul.days else "."
    return " ".join([*unreached_lines(plan), *([work_text(haul) + days] if haul.loads else [])])
