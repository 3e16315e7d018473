"""Skies made for tests: one sun, one idealised day; and what is read off a path: rise, noon and set."""

from __future__ import annotations

from functools import cache

import numpy as np

from siteplan.land.weather import Air
from siteplan.sun.light.daily_light import LightEngine
from siteplan.sun.light.irradiance import clear_radiation
from siteplan.sun.path.solar_path import SunPath


def sun_at(azimuth, elevation):
    """Return one hour of one sun, in January. [degrees]"""
    one = np.ones(1, dtype=np.int64)
    return SunPath(
        azimuth=np.array([float(azimuth)]), elevation=np.array([float(elevation)]), hours=np.ones(1),
        time=np.array([12.0]), clock=np.array([12.0]), day=one, month=one, day_month=one,
    )  # fmt: skip


def declination_path(latitude, declination, *, step=1 / 6, day_length=24.0):
    """Return one idealised day: fixed declination, no refraction, month 1; time is solar. [degrees, h]

    For checks against closed forms, where the real sun's wandering would be in the way. `day_length` cuts the day to
    so many hours around noon.
    """
    phi, delta = np.radians(latitude), np.radians(declination)
    cos_set = np.clip(-np.tan(phi) * np.tan(delta), -1, 1)
    half = min(float(np.degrees(np.arccos(cos_set))) / 15, day_length / 2)
    count = int(np.ceil(2 * half / step - 1e-9))
    edges = np.linspace(-half, half, count + 1) if count else np.empty(0)
    middle = (edges[:-1] + edges[1:]) / 2
    angle = np.radians(15 * middle)
    sine = np.sin(phi) * np.sin(delta) + np.cos(phi) * np.cos(delta) * np.cos(angle)
    east = -np.cos(delta) * np.sin(angle)
    north = np.cos(phi) * np.sin(delta) - np.sin(phi) * np.cos(delta) * np.cos(angle)
    day = np.ones(len(middle), dtype=np.int64)
    return SunPath(
        azimuth=np.degrees(np.arctan2(east, north)) % 360,
        elevation=np.degrees(np.arcsin(np.clip(sine, -1, 1))),
        hours=np.diff(edges),
        time=middle + 12,
        clock=middle + 12,
        day=day,
        month=day,
        day_month=np.ones(1, dtype=np.int64),
    )


def rise_and_set(path, day):
    """Return when the first step of a day begins and its last ends, in hours after midnight; `day` 1 is 1 January."""
    today = np.flatnonzero(path.day == day)
    begin, end = today[0], today[-1]
    midnight = 24 * (day - 1)  # in a zone without summer time
    return (
        float(path.time[begin] - path.hours[begin] / 2 - midnight),
        float(path.time[end] + path.hours[end] / 2 - midnight),
    )


def transit(path, day):
    """Return when the sun passes the meridian, in hours after midnight, by a cubic through the steps around it."""
    today = path.day == day
    time, azimuth = path.time[today] - 24 * (day - 1), path.azimuth[today]
    meridian = 180.0 if abs(azimuth[path.elevation[today].argmax()] - 180) < 90 else 0.0
    off = (azimuth - meridian + 180) % 360 - 180
    near = np.argsort(np.abs(off))[:8]
    return float(np.polyval(np.polyfit(off[near], time[near], 3), 0.0))


def sky_share(engine, points, **standing):
    """Return the share of the sky seen from points, shape (13, n), as the maps and cards of a plan have it."""
    return LightEngine(engine, _clear(engine.path)).light(points, **standing).sky_share


@cache
def _clear(path):
    air = Air(turbidity=np.full(max(len(path.day_month), 366), 3.0), altitude=0.0)
    return clear_radiation(path, air)


def path_of(time, azimuth, elevation, hours=0.5):
    """Return a path of three days in January with steps at these times [h]."""
    time = np.array(time, dtype=float)
    count = len(time)
    day = (time // 24).astype(np.int64) + 1
    return SunPath(
        azimuth=np.broadcast_to(np.array(azimuth, dtype=float) % 360, count),
        elevation=np.broadcast_to(np.array(elevation, dtype=float), count),
        hours=np.broadcast_to(np.array(hours, dtype=float), count), time=time, clock=time % 24, day=day,
        month=np.ones(count, dtype=np.int64), day_month=np.ones(3, dtype=np.int64),
    )  # fmt: skip
