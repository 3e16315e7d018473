"""How high are the far hills?

A CSV with the header azimuth_deg,elevation_deg, azimuths rising from 0 to below 360. Rows out of order are a fault
and are not sorted. A sound table is read at once; only a faulty one is read row by row, to report its faults.
"""

from __future__ import annotations

import csv
import io
import itertools
import math
from pathlib import Path

import numpy as np

from siteplan.files.remarks import Remarks
from siteplan.files.text import read_text
from siteplan.land.grid import Floats
from siteplan.land.terrain import Skyline
from siteplan.land.values import shown

HEADER = ("azimuth_deg", "elevation_deg")
LOWEST, TOP = -10.0, 90.0  # degrees; range of an elevation, the second excluded
WIDEST = 90.0  # degrees between two rows; over a wider gap the horizon is hardly linear

_Row = tuple[int, float, float]  # line, azimuth and elevation [degrees]


def read_skyline(path: Path, remarks: Remarks) -> Skyline | None:
    """Return the skyline, or None if a fault is noted."""
    text = read_text(path, remarks, missing="site.toml names it")
    if text is None:
        return None
    columns = _sound_table(text) or _table_by_rows(path.name, text, remarks)
    if columns is None:
        return None
    azimuth, elevation = columns
    _check_gaps(path.name, azimuth, remarks)
    return Skyline(azimuth=azimuth, elevation=elevation)


def _sound_table(text: str) -> tuple[Floats, Floats] | None:
    """Return azimuths and elevations if nothing at all is wrong with them, else None."""
    header, _, table = text.partition("\n")
    if tuple(cell.strip().lower() for cell in header.split(",")) != HEADER or "\n" not in table.strip():
        return None
    try:
        azimuth, elevation = np.loadtxt(io.StringIO(table), delimiter=",", comments=None, ndmin=2).T
    except ValueError:
        return None
    rising = len(azimuth) > 1 and bool((np.diff(azimuth) > 0).all()) and azimuth[0] >= 0 and azimuth[-1] < 360
    within = bool(((elevation >= LOWEST) & (elevation < TOP)).all())
    return (azimuth, elevation) if rising and within else None


def _table_by_rows(file: str, text: str, remarks: Remarks) -> tuple[Floats, Floats] | None:
    """Return azimuths and elevations, read row by row; None if faults are noted."""
    before = len(remarks.faults)
    try:
        reader = csv.reader(io.StringIO(text))
        lines = [(reader.line_num, cells) for cells in reader if any(cell.strip() for cell in cells)]
    except csv.Error as error:
        remarks.fault(file, "", f"is not a CSV table: {error}")
        return None
    header = tuple(cell.strip().lower() for cell in lines[0][1]) if lines else ()
    if header != HEADER:
        first_line = shown(",".join(header)) if header else "empty"
        remarks.fault(file, "line 1", f"is {first_line}, must be the header {','.join(HEADER)}")
        return None
    rows = [row for line, cells in lines[1:] if (row := _row(file, line, cells, remarks))]
    _check_order(file, rows, remarks)
    if len(lines) < 3:
        count = "1 row" if len(lines) == 2 else "no row"
        text = f"has {count} under its header, must have at least 2 around the horizon; leave skyline out for none"
        remarks.fault(file, "", text)
    if len(remarks.faults) > before:
        return None
    _, azimuth, elevation = np.array(rows, dtype=float).T
    return azimuth, elevation


def _row(file: str, line: int, cells: list[str], remarks: Remarks) -> _Row | None:
    where = f"line {line}"
    try:
        azimuth, elevation = (float(cell) for cell in cells)
    except ValueError:
        remarks.fault(file, where, f"is {shown(','.join(cells))}, must be two numbers: azimuth and elevation")
        return None
    if azimuth == 360:
        remarks.fault(file, where, "azimuth 360 is north, as 0 is; leave the row out, the horizon runs round")
        return None
    if not 0 <= azimuth < 360:
        mend = f"; write {azimuth % 360:g}, and sort the rows" if math.isfinite(azimuth) else ""
        remarks.fault(file, where, f"azimuth is {azimuth:g}, must be at least 0 and below 360{mend}")
        return None
    if not LOWEST <= elevation < TOP:
        text = f"elevation is {elevation:g} degrees, must be from -10 to below 90; 0 is a level horizon"
        remarks.fault(file, where, text)
        return None
    return line, azimuth, elevation


def _check_order(file: str, rows: list[_Row], remarks: Remarks) -> None:
    """Note each repeated azimuth, and the first that is out of order, with the number of such rows."""
    lines_by_azimuth: dict[float, int] = {}
    for line, azimuth, _ in rows:
        if azimuth in lines_by_azimuth:
            text = f"azimuth {azimuth:g} is there already in line {lines_by_azimuth[azimuth]}; keep one of the two"
            remarks.fault(file, f"line {line}", text)
        lines_by_azimuth.setdefault(azimuth, line)
    falls = [(row, next_row) for row, next_row in itertools.pairwise(rows) if next_row[1] < row[1]]
    if falls:
        row, next_row = falls[0]
        count = f" ({len(falls)} such steps)" if len(falls) > 1 else ""
        text = f"azimuth {next_row[1]:g} comes after {row[1]:g}{count}; azimuths must rise: sort the rows by them"
        remarks.fault(file, f"line {next_row[0]}", text)


def _check_gaps(file: str, azimuth: Floats, remarks: Remarks) -> None:
    """Note the widest stretch of horizon without a row, if it is too wide."""
    round_to_first = np.append(azimuth, azimuth[0] + 360)
    widest = int(np.diff(round_to_first).argmax())
    start, end = (float(edge) for edge in round_to_first[widest : widest + 2])
    if end - start > WIDEST:
        text = f"{file} has no row from {start:g} to {end % 360:g} degrees; the horizon runs straight there."
        remarks.caution("skyline-gap", "", text)
