"""What is on the page of many lots?

A map of all of them, coloured by what the reader picks, their ranking, and some side by side; one file that needs
no network. All lots are one layer drawn on a canvas, so that even thousands are shown quickly. The figures come from
`screen.rows`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import shapely
from branca.element import MacroElement
from folium.template import Template
from shapely import LinearRing
from shapely.geometry.base import BaseGeometry

import siteplan
from siteplan.land.frame import LocalFrame
from siteplan.say.figures import plural
from siteplan.say.lighting import SUN_HOURS
from siteplan.say.safe_text import script_data
from siteplan.show.map.figure import QuietFigure, QuietMap, Raw, element
from siteplan.show.page_parts import own_asset, templates

Row = Mapping[str, Any]

_MOST_FAULTS = 200  # lots without figures that the page lists
_STYLES = ("symbols.css", "sheet.css", "map.css", "map_narrow.css", "lots.css")
#: what lots can be ranked by: column, name, head of a column, as "lots by ...", unit, digits, whether less is better,
#: and the question that answers it
_MEASURES = (
    ("place_season_sun_h", "Sun at the best place", "Sun", "the sun at the best place", "h", 1, False, "place"),
    ("place_worst_cell_sun_h", "Its darkest spot", "Darkest", "its place's darkest spot", "h", 1, False, "place"),
    ("ground_6h_m2", "Ground with 6 hours", "6 h", "the ground with six hours", "m²", 0, False, "sun"),
    ("ground_8h_m2", "Ground with 8 hours", "8 h", "the ground with eight hours", "m²", 0, False, "sun"),
    ("mean_season_sun_h", "Sun over the whole lot", "Mean sun", "the sun over the whole lot", "h", 1, False, "sun"),
    ("beds_fit", "Beds that fit in rows", "Beds", "how many beds fit", "", 0, False, "place"),
    ("cost", "Cost", "Cost", "what a bed costs", "", 0, True, "fill"),
    ("work_h", "Work", "Work", "the hours of work", "h", 1, True, "haul"),
    ("lot_m2", "Size of the lot", "Size", "their size", "m²", 0, False, ""),
    ("cautions", "Cautions", "Cautions", "how many cautions there are", "", 0, True, ""),
)  # fmt: skip


class _Start(MacroElement):
    """The call that starts the page's script."""

    _template = Template("{% macro script(this, kwargs) %}lots.start({{ this._parent.get_name() }});{% endmacro %}")

    def __init__(self) -> None:
        super().__init__()  # type: ignore[no-untyped-call]
        self._name, self._id = "Start", "page"


class _LotsMap(QuietMap):
    """The map with the page around it; coordinates are [y, x] in metres."""

    def __init__(self, page: str, data: str) -> None:
        super().__init__("Screen of lots", zoom_start=0, zoom_snap=0.25, zoom_delta=0.5, wheel_px_per_zoom_level=120)
        self._page, self._data = page, data
        _Start().add_to(self)

    def render(self, **kwargs: Any) -> str:
        """Put the map and the page around it into the figure."""
        super().render(**kwargs)  # type: ignore[no-untyped-call]
        figure = self.get_root()
        assert isinstance(figure, QuietFigure)  # noqa: S101  # the map never leaves the figure it was made with
        figure.header.add_child(Raw(element("style", own_asset(*_STYLES)), "own_style"), name="own_style")
        data = f'<script type="application/json" id="siteplan-data">{self._data}</script>'
        figure.html.add_child(Raw(self._page, "page"), name="page")
        figure.html.add_child(Raw(data, "data"), name="data")
        figure.html.add_child(Raw(element("script", own_asset("lots.js")), "own_script"), name="own_script")
        return ""


def lots_page(rows: Sequence[Row], *, ask: Sequence[str]) -> str:
    """Return the page as HTML.

    Parameters
    ----------
    rows : sequence of mapping
        The lots in order: ``lot``, ``status``, ``why``, figures by their columns' names, ``outline`` as WKB in
        hexadecimal digits, ``plan``: the folder of the whole plan, from the page on.
    ask : sequence of str
        The questions that were asked.
    """
    measures = _measures(rows, ask)
    page = templates().get_template("lots_page.html.jinja").render(_values(rows, measures))
    return str(_LotsMap(page, script_data(_data(rows, measures))).get_root().render())


def _measures(rows: Sequence[Row], ask: Sequence[str]) -> list[dict[str, Any]]:
    """Return what the lots can be ranked by, as far as it was asked."""
    currency = next((str(row["currency"]) for row in rows if row.get("currency")), "")
    keys = ("key", "name", "short", "said", "unit", "digits", "low")
    measures = [
        dict(zip(keys, measure, strict=False)) for measure in _MEASURES if not measure[-1] or measure[-1] in ask
    ]
    return [measure | ({"unit": currency} if measure["key"] == "cost" else {}) for measure in measures]


def _values(rows: Sequence[Row], measures: Sequence[Mapping[str, Any]]) -> dict[str, Any]:
    """Return what the page's template prints."""
    lots_without = [row for row in rows if row["status"] != "planned"]
    faults = [{"lot": row["lot"], "why": f"{row['status']}: {row['why']}"} for row in lots_without]
    unlisted = len(lots_without) - _MOST_FAULTS
    if unlisted > 0:
        faults = [*faults[:_MOST_FAULTS], {"lot": "", "why": f"{unlisted:,} more stand in screen.csv"}]
    priced = any(measure["key"] == "cost" for measure in measures)
    return {
        "title": plural(len(rows), "lot"),
        "measures": measures,
        "facts": [
            {"name": "With a place", "value": f"{len(rows) - len(lots_without):,}"},
            {"name": "Without", "value": f"{len(lots_without):,}"},
            {"name": "Plans", "value": f"{sum(bool(row.get('plan')) for row in rows):,}"},
        ],
        "faults": faults,
        "fault_count": f"{plural(len(lots_without), 'lot')} of {len(rows):,}.",
        "sun_hours": SUN_HOURS,
        "costs": "Cost and work are those of the beds that are drawn; of a lot without beds those of one bed at its "
        "best place." if priced else "",
        "version": siteplan.__version__,
    }  # fmt: skip


def _data(rows: Sequence[Row], measures: Sequence[Mapping[str, Any]]) -> dict[str, Any]:
    """Return what the page's script draws and ranks."""
    keys = {str(measure["key"]) for measure in measures} | {"beds_fit"}
    return {
        "measures": list(measures),
        "ids": [row["lot"] for row in rows],
        "words": ["" if row["status"] == "planned" else f"{row['status']}: {row['why']}" for row in rows],
        "plans": [row.get("plan", "") for row in rows],
        "values": {key: [_figure(row.get(key)) for row in rows] for key in sorted(keys)},
        "shapes": _shapes(rows),
    }


def _figure(value: Any) -> float | None:
    return None if value is None else round(float(value), 4)


def _shapes(rows: Sequence[Row]) -> list[Any]:
    """Return each lot's rings in metres around the middle of all, to the decimetre; None where it has no outline."""
    degrees = [shapely.from_wkb(row["outline"]) if row.get("outline") else None for row in rows]
    shapes = [shape for shape in degrees if shape is not None]
    if not shapes:
        return [None] * len(rows)
    west, south, east, north = shapely.total_bounds(np.array(shapes, dtype=object)).tolist()
    frame = LocalFrame(longitude=(west + east) / 2, latitude=(south + north) / 2)
    return [None if shape is None else _rings(frame.to_local(shape)) for shape in degrees]


def _rings(shape: BaseGeometry) -> list[Any]:
    polygons = [part for part in shapely.get_parts(shape) if part.geom_type == "Polygon"]
    return [[_decimetres(ring) for ring in (polygon.exterior, *polygon.interiors)] for polygon in polygons]


def _decimetres(ring: LinearRing) -> list[list[float]]:
    return [[round(x, 1), round(y, 1)] for x, y in ring.coords]
