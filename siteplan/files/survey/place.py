"""Does a tile lie where the property does, and are its heights those of the land there?

If not, the message says how far off the tile is and in which direction, so that the gardener finds the right tile or
notices a wrong coordinate system.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from pyproj import Geod, Transformer
from shapely import Polygon

from siteplan.files.remarks import Remarks
from siteplan.files.survey.fitted_transform import FittedTransform
from siteplan.files.survey.tile_header import TileHeader
from siteplan.land.frame import LocalFrame
from siteplan.land.outline import nearest_compass_point
from siteplan.land.unit_sizes import FOOT
from siteplan.land.values import shown

FAR = 100_000.0  # m; a tile farther off is likely in another coordinate system, and not just the wrong tile
LEAST, WHOLE = 0.5, 0.97  # share of the property that the tiles must cover; share that counts as all of it
TOO_HIGH, AS_USUAL = 350.0, 150.0  # m; if so far off the land around, but near to it in another unit: likely that
IMPOSSIBLE = 1500.0  # m off the land around; the coarse table of heights is never so wrong
_EARTH = Geod(ellps="WGS84")


def tiles_in_reach(
    heads: Sequence[TileHeader], frame: LocalFrame, boundary: Polygon, farthest: float, remarks: Remarks
) -> list[TileHeader]:
    """Return the tiles within reach of a property; faults are noted if none covers the property itself."""
    area = boundary.envelope.buffer(farthest, join_style="mitre")
    reached, misses = [], []
    on_property = False
    for head in heads:
        transform = FittedTransform(head.system, frame, area)
        if transform.known and _meet(transform.box(area), head.bounds):
            reached.append(head)
            on_property = on_property or _meet(transform.box(boundary.envelope), head.bounds)
        misses.append("" if on_property else _where(head, frame, remarks))
    if not on_property:
        for head, text in zip(heads, misses, strict=True):
            remarks.fault(head.path.name, "", text)
    return reached


def _meet(bounds: tuple[float, ...], other_bounds: tuple[float, ...]) -> bool:
    """Return whether two rectangles meet, each given by west, south, east, north."""
    west, south, east, north = bounds
    other_west, other_south, other_east, other_north = other_bounds
    return west <= other_east and east >= other_west and south <= other_north and north >= other_south


def _where(head: TileHeader, frame: LocalFrame, remarks: Remarks) -> str:
    """Return how far off a tile lies, and in which direction."""
    west, south, east, north = head.bounds
    x, y = np.meshgrid(np.linspace(west, east, 5), np.linspace(south, north, 5))
    to_degrees = Transformer.from_crs(head.system, "EPSG:4326", always_xy=True)
    longitude, latitude = (np.ravel(angles) for angles in to_degrees.transform(x, y))
    system = shown(head.system.name)
    if not np.isfinite(longitude).all() or np.abs(latitude).max() > 90:
        return (
            f"has x from {west:,.0f} to {east:,.0f} and y from {south:,.0f} to {north:,.0f}, which lie outside of "
            f"{system}; say the right coordinate system with --crs"
        )
    azimuth, _, distances = _EARTH.inv(
        np.full(25, frame.longitude), np.full(25, frame.latitude), longitude, latitude, radians=False
    )
    nearest = int(np.argmin(distances))
    far, point = float(distances[nearest]), nearest_compass_point(float(azimuth[nearest]))
    if far > FAR:
        return (
            f"lies {remarks.far(far)} to the {point} of the property by its coordinate system, {system}; is that the "
            "right one? Say it with --crs; or take the tile of the property"
        )
    return f"misses the property: it lies {remarks.far(far)} to the {point} of it; take the tile that it lies on"


def check_cover(covered: float, names: str, remarks: Remarks) -> None:
    """Note tiles that cover only a part of a property."""
    if covered < LEAST:
        part = "the property" if covered == 0 else f"more than {covered:.0%} of the property"
        remarks.fault(names, "", f"has no points on {part}; give the tiles beside it as well")
    elif covered < WHOLE:
        text = f"{names} has points on {covered:.0%} of the property; give the tiles beside it as well."
        remarks.caution("survey-part", "", text)


def check_ground(
    ground: float, names: str, frame: LocalFrame, metres: float, remarks: Remarks, *, unit_given: bool
) -> None:
    """Note ground at an elevation that is impossible there, or that looks like feet.

    Parameters
    ----------
    ground : float
        Median elevation over the property, as it was read. [m]
    names : str
        Of the files.
    frame : LocalFrame
    metres : float
        Length of the unit that it was read in. [m]
    remarks : Remarks
    unit_given : bool
        Whether the file or the gardener names that unit.
    """
    from siteplan.files.weather.weather_file import usual_altitude

    usual = usual_altitude(frame.latitude, frame.longitude)
    deviation = abs(ground - usual)
    if deviation < TOO_HIGH:
        return
    high = (
        f"has the ground of the property at {remarks.high(ground)} above the sea, but the land there lies at about "
    )
    high += remarks.high(usual)
    for name, unit in (("ft", FOOT), ("m", 1.0)):
        if not math.isclose(unit, metres, rel_tol=0.01) and abs(ground / metres * unit - usual) < AS_USUAL:
            remarks.fault(names, "", f"{high}; its heights are likely in {_WORDS[name]}: say --z-unit {name}")
            return
    if deviation > IMPOSSIBLE:
        mend = "is its coordinate system the right one (--crs), and its unit of height (--z-unit)?"
        remarks.fault(names, "", f"{high}; {mend}")
    elif not unit_given:
        remarks.caution("survey-ground", "", f"{names} {high}; are its heights in metres? Say --z-unit.")


_WORDS = {"ft": "feet", "m": "metres"}
