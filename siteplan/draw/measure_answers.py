"""How are the page's questions answered: which way is north, and how high is something?

Plain functions take the request's values and return an answer as JSON, or raise InputError for a faulty request.
Lengths without a unit are in the unit of the drawing. `where_answers` answers where the property lies.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from siteplan.draw.request_values import RequestValues
from siteplan.land.clock import read_clock, read_day, utc_seconds
from siteplan.land.declination import declination
from siteplan.land.heights import (
    ANGLE_OFF,
    EYE,
    STICK_OFF,
    SUN_RADIUS,
    TAPE_OFF,
    MeasuredHeight,
    height_by_angle,
    height_by_shadow,
    height_by_stick,
)
from siteplan.land.north import HAND_COMPASS, North, direction_on_plan, north_by_compass, north_by_line
from siteplan.land.units import METRE, LengthUnit, System, length_text
from siteplan.land.values import Quantity
from siteplan.say.measuring import (
    bearing_sentence,
    declination_sentences,
    height_sentences,
    no_shadow_text,
    shadow_sentences,
)
from siteplan.sun.shadows import CLOCK_OFF, Shadow, stick_shadow

TURN = Quantity("angle", least=-360, most=360)
DOUBT = Quantity("angle", least=0, most=45)
DISTANCE = Quantity("length", above=0, most=1000)
FARTHEST = 1e6  # m from the plan's zero point


@dataclass(frozen=True)
class PropertyPosition:
    """Where the property lies, and its units.

    Attributes
    ----------
    latitude, longitude : float
        [degrees]
    timezone : str
        IANA name.
    units : str
        Of the sentences: metric or imperial.
    plain : LengthUnit
        The unit of a length that is written without one: that of the drawing.
    """

    latitude: float
    longitude: float
    timezone: str
    units: System = "metric"
    plain: LengthUnit = METRE


def north_answer(values: Mapping[str, Any], position: PropertyPosition) -> dict[str, Any]:
    """Return the bearing of the plan's +y axis: `POST /api/north`.

    Parameters
    ----------
    values : mapping
        ``way``: ``compass``, ``shadow``, ``street`` or ``typed``; all but the last with the line along which it was
        measured, as ``line`` (two points of the page's plane, in the direction measured) or as ``direction`` (degrees
        clockwise from the plan's +y axis; 0 if neither is given).

        compass: ``reading`` [degrees], ``date`` (today if left out), ``reading_doubt`` [degrees].
        shadow: ``date``, ``time`` by the clocks of the place; the line runs from the stick to its shadow's tip.
        street, typed: ``bearing`` [degrees], ``doubt`` [degrees].
    position : PropertyPosition

    Returns
    -------
    dict
        ``bearing``, ``error_degrees``, ``said``; with a compass ``declination``, ``declination_error``, ``date`` and
        ``model`` too.
    """
    request = RequestValues(values, plain=position.plain, units=position.units)
    way = request.word("way", "compass", "shadow", "street", "typed")
    request.check()
    on_plan = 0.0 if way == "typed" else _on_plan(request)
    if way == "compass":
        return _by_compass(request, position, on_plan)
    if way == "shadow":
        shadow = _shadow(request, position)
        return _north(north_by_line(shadow.azimuth, on_plan=on_plan, doubt=shadow.doubt), shadow_sentences(shadow))
    bearing = request.quantity("bearing", TURN)
    doubt = request.quantity("doubt", DOUBT, default=1.0 if way == "street" else 0.0)
    request.check()
    return _north(north_by_line(bearing, on_plan=on_plan, doubt=doubt), [])


def _by_compass(request: RequestValues, position: PropertyPosition, on_plan: float) -> dict[str, Any]:
    reading = request.quantity("reading", TURN)
    doubt = request.quantity("reading_doubt", DOUBT, default=HAND_COMPASS)
    day = _day(request) if request.has("date") else dt.datetime.now(dt.UTC).date()
    request.check()
    year = day.year + (day.timetuple().tm_yday - 1) / (365 + (day.year % 4 == 0))
    try:
        magnetic = declination(position.latitude, position.longitude, year=year)
    except ValueError as error:
        request.fault("date", str(error))
        request.check()
        raise
    north = north_by_compass(reading, on_plan=on_plan, magnetic=magnetic, reading_doubt=doubt)
    details = {
        "declination": round(magnetic.east, 2),
        "declination_error": round(magnetic.error, 2),
        "date": str(day),
    }
    return _north(north, declination_sentences(magnetic, day=str(day))) | details


def _north(north: North, sentences: list[str]) -> dict[str, Any]:
    return {
        "bearing": round(north.bearing, 2) % 360,
        "error_degrees": round(north.doubt, 2),
        "said": [bearing_sentence(north), *sentences],
    }


def _on_plan(request: RequestValues) -> float:
    """Return the direction of the measured line on the plan. [degrees]"""
    if not request.has("line"):
        return request.quantity("direction", TURN, default=0.0)
    start, end = request.points("line", 2, most=FARTHEST)
    if math.dist(start, end) < 0.01:
        request.fault("line", "has its two points in one place, must run from one to another")
    return direction_on_plan(start, end) if math.isfinite(start[0]) else math.nan


def _day(request: RequestValues) -> dt.date:
    try:
        return read_day(request.text("date"))
    except ValueError as error:
        request.fault("date", str(error))
        return dt.date(2025, 1, 1)


def _shadow(request: RequestValues, position: PropertyPosition) -> Shadow:
    """Return the shadow of a stick at the noted time, or raise the request's faults."""
    day, clock = _day(request), dt.time(12)
    try:
        clock = read_clock(request.text("time"))
    except ValueError as error:
        request.fault("time", str(error))
    request.check()
    try:
        moment = utc_seconds(day, clock, position.timezone)
    except ValueError as error:
        request.fault("time", str(error))
        request.check()
        raise
    shadow = stick_shadow(position.latitude, position.longitude, moment)
    if shadow.state == "down":
        request.fault("time", no_shadow_text(shadow))
    request.check()
    return shadow


def height_answer(values: Mapping[str, Any], position: PropertyPosition) -> dict[str, Any]:
    """Return how high something is: `POST /api/height`.

    Parameters
    ----------
    values : mapping
        ``way``: ``angle``, ``shadow`` or ``stick``.

        angle: ``distance`` (level, to below the top), ``angle`` [degrees] of the top, and on level ground
        ``eye_height`` (1.6 m if left out), on a slope ``foot_angle`` [degrees], negative below the eye.
        shadow: ``shadow`` (its length, from below the top to the shadow of the top), ``date``, ``time``.
        stick: ``shadow``, ``stick``, ``stick_shadow``, measured at the same moment.
    position : PropertyPosition

    Returns
    -------
    dict
        ``height_m``, ``low_m``, ``high_m`` and ``said``.
    """
    request = RequestValues(values, plain=position.plain, units=position.units)
    way = request.word("way", "angle", "shadow", "stick")
    request.check()
    method = {"angle": _by_angle, "shadow": _by_shadow, "stick": _by_stick}[way]
    measured, assumption, sentences = method(request, position)
    if not (0 < measured.height <= 500 and math.isfinite(measured.high)):
        text = f"comes to {measured.height:.4g} m, must be above 0 and at most 500 m; look at the measures again"
        request.range_fault("height", text)
        request.check()
    return {
        "height_m": round(measured.height, 3),
        "low_m": round(measured.low, 3),
        "high_m": round(measured.high, 3),
        "said": [*height_sentences(measured, off=assumption, units=position.units), *sentences],
    }


_Measured = tuple[MeasuredHeight, str, list[str]]


def _by_angle(request: RequestValues, position: PropertyPosition) -> _Measured:  # noqa: ARG001  # all three are called alike
    distance = request.quantity("distance", DISTANCE)
    angle = request.quantity("angle", Quantity("angle", least=-45, most=80))
    eye = request.quantity("eye_height", Quantity("length", least=0, most=10), default=EYE)
    foot_rule = Quantity("angle", least=-80, most=45)
    foot = request.quantity("foot_angle", foot_rule) if request.has("foot_angle") else None
    request.check()
    measured = height_by_angle(distance, angle, eye=eye, foot_angle=foot)
    return measured, f"the angle is off by {ANGLE_OFF:.0f}°", []


def _by_shadow(request: RequestValues, position: PropertyPosition) -> _Measured:
    length = request.quantity("shadow", DISTANCE)
    shadow = _shadow(request, position)
    elevation_error = math.hypot(SUN_RADIUS, shadow.rise_rate * CLOCK_OFF / 60)
    measured = height_by_shadow(length, shadow.elevation, elevation_off=elevation_error)
    assumption = f"the shadow's end is off by {length_text(TAPE_OFF, position.units)}, and the clock by a minute"
    return measured, assumption, shadow_sentences(shadow)


def _by_stick(request: RequestValues, position: PropertyPosition) -> _Measured:
    length = request.quantity("shadow", DISTANCE)
    stick = request.quantity("stick", DISTANCE)
    stick_shadow = request.quantity("stick_shadow", DISTANCE)
    request.check()
    measured = height_by_stick(length, stick=stick, stick_shadow=stick_shadow)
    tape_error, stick_error = length_text(TAPE_OFF, position.units), length_text(STICK_OFF, position.units)
    return measured, f"its shadow's end is off by {tape_error}, and the stick's by {stick_error}", []
