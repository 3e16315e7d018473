"""How is the sun map shown on the page?

Its cells lie along true north, the page along the plan. So the picture is made in the page's plane: each pixel shows
the hours of the cell under it, in the colours and on the scale of map.html.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from shapely import MultiPoint, get_coordinates

from siteplan.draw.plane import Plane
from siteplan.draw.site_plane import from_site, to_site
from siteplan.draw.sun_map import SunMap
from siteplan.show.charts.colours import png_address, scale_colours, scale_steps, sun_picture

MONTHS = 12  # the number of the season's map, after the months' 0 to 11
STOPS = 16  # colours of the scale


def picture_view(sun_map: SunMap, plane: Plane, month: int) -> dict[str, Any]:
    """Return a sun map for the page.

    Parameters
    ----------
    sun_map : SunMap
    plane : Plane
    month : int
        0 for January to 11, 12 for the growing season.

    Returns
    -------
    dict
        ``image`` as a ``data:`` address, ``bounds`` in the page's plane [m], ``scale`` with its top [h], marks and
        colours.
    """
    maps, grid = sun_map.maps, sun_map.maps.grid
    hours = maps.season_h if month == MONTHS else maps.month_h[month]
    west, south, east, north = from_site(sun_map.site.boundary, plane, sun_map.site).bounds
    cell = grid.cell
    columns, rows = math.ceil((east - west) / cell), math.ceil((north - south) / cell)
    x = west + (np.arange(columns) + 0.5) * cell
    y = north - (np.arange(rows) + 0.5) * cell
    points = np.column_stack([axis.ravel() for axis in np.meshgrid(x, y)])
    site_points = get_coordinates(to_site(MultiPoint(points), plane, sun_map.site))
    column = np.floor((site_points[:, 0] - grid.west) / cell).astype(int)
    row = np.floor((grid.north - site_points[:, 1]) / cell).astype(int)
    inside = (column >= 0) & (column < grid.columns) & (row >= 0) & (row < grid.rows)
    shown = np.full(len(points), np.nan)
    shown[inside] = hours[row[inside], column[inside]]
    top = max(math.ceil(float(np.nanmax(maps.month_h))), 1)
    return {
        "state": "whole" if sun_map.whole else "coarse",
        "version": sun_map.version,
        "month": month,
        "bounds": [[west, north - rows * cell], [west + columns * cell, north]],
        "image": png_address(sun_picture(shown.reshape(rows, columns), top=top)),
        "scale": {
            "top": top,
            "marks": [{"share": share, "label": label} for share, label in scale_steps(top)],
            "colours": ["#" + "".join(f"{part:02x}" for part in colour) for colour in scale_colours(STOPS).tolist()],
            "need": sun_map.site.sun.need,
            "plenty": sun_map.site.sun.plenty,
        },
    }
