"""How high are the far hills?

A CSV with the header azimuth_deg,elevation_deg, its azimuths rising from 0 to below 360.
It leaves out the terrain near by, which comes as a raster.
"""

from __future__ import annotations

import csv
import io
import itertools
import math
from pathlib import Path

import numpy as np

from siteplan.files.findings import Findings, shown
from siteplan.files.text import read_text
from siteplan.land.terrain import Skyline

HEADER = ("azimuth_deg", "elevation_deg")


def read_skyline(path: Path, findings: Findings) -> Skyline | None:
    """Return the skyline, or None where a fault is noted."""
    text = read_text(path, findings, missing="site.toml names it")
    if text is None:
        return None
    before = len(findings.faults)
    try:
        rows = [row for row in csv.reader(io.StringIO(text)) if any(cell.strip() for cell in row)]
    except csv.Error as error:
        findings.fault(path.name, "", f"is no table: {error}")
        return None
    header = tuple(cell.strip().lower() for cell in rows[0]) if rows else ()
    if header != HEADER:
        findings.fault(path.name, "line 1", f"is {shown(','.join(header))}, must be the header {','.join(HEADER)}")
        return None
    points = [point for number, row in enumerate(rows[1:], 2) if (point := _point(path, number, row, findings))]
    _check_order(path, points, findings)
    if len(rows) < 3:
        findings.fault(path.name, "", f"has {len(rows) - 1} row, must have at least 2 around the horizon")
    if len(findings.faults) > before:
        return None
    azimuth, elevation = np.array(points, dtype=float).T
    return Skyline(azimuth=azimuth, elevation=elevation)


def _point(path: Path, number: int, row: list[str], findings: Findings) -> tuple[float, float] | None:
    where = f"row {number}"
    try:
        azimuth, elevation = (float(cell) for cell in row)
    except ValueError:
        findings.fault(path.name, where, f"is {shown(','.join(row))}, must be two numbers: azimuth and elevation")
        return None
    if azimuth == 360:
        findings.fault(path.name, where, "azimuth 360 is north, as 0 is; leave the row out, the horizon runs round")
        return None
    if not 0 <= azimuth < 360:
        findings.fault(path.name, where, f"azimuth is {azimuth:g}, must be at least 0 and below 360")
        return None
    if not -10 <= elevation < 90 or not math.isfinite(elevation):
        findings.fault(path.name, where, f"elevation is {elevation:g} degrees, must be from -10 to below 90")
        return None
    return azimuth, elevation


def _check_order(path: Path, points: list[tuple[float, float]], findings: Findings) -> None:
    for (first, _), (second, _) in itertools.pairwise(points):
        if second <= first:
            text = f"azimuth {second:g} comes after {first:g}; azimuths must rise, clockwise from north, each once"
            findings.fault(path.name, "", text)
            return
