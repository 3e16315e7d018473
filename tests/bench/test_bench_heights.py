"""How long does a survey take, how does that grow with its points, and how much memory does a large tile want?

Seconds are of the processor, of all threads, so that a busy machine tells the same as an idle one.
The Delft tile beside the time that laspy takes to read it; copies of it side by side for the growth, about one property;
and a tile of 2 GB, in a process of its own whose peak is VmHWM.
"""

from __future__ import annotations

import json
import subprocess
import sys
import time

import laspy
import numpy as np
import pytest
import shapely
from pyproj import CRS

from siteplan.files.remarks import Remarks
from siteplan.files.survey.tile_header import read_header
from siteplan.files.survey.tiles import read_tiles
from siteplan.heights.reach import reach_of
from siteplan.heights.survey_features import find_features
from siteplan.land.frame import LocalFrame

pytestmark = pytest.mark.bench
FRAME = LocalFrame(longitude=4.36664, latitude=52.01177)
LOWEST = 5.4  # degrees
SIZE = (192_000, 229_000)  # mm, of the tile
PROPERTY = (-110.0, -20.0, -50.0, 40.0)


def run(path):
    """Return the seconds of reading and of finding, how many points were kept, and what was found."""
    boundary = shapely.box(*PROPERTY)
    start = time.process_time()
    head = read_header(path, Remarks(), crs=CRS("EPSG:28992"), metres=None)
    points = read_tiles(
        [head], FRAME, boundary, farthest=500.0, reach=lambda high: reach_of(high, LOWEST), tell=lambda _: None
    )
    read = time.process_time()
    found = find_features(points.returns, boundary=boundary, built=[], lowest=LOWEST, by_filter=False)
    return read - start, time.process_time() - read, len(points.returns), found


def test_the_delft_tile_beside_laspy(shared, capsys):
    path = shared / "lidar" / "delft_ahn3_part.laz"
    run(path)
    seconds = []
    for _ in range(3):
        start = time.process_time()
        laspy.read(path)
        alone = time.process_time() - start
        seconds.append((alone, *run(path)[:2]))
    alone, read, find_s = np.min(seconds, axis=0)  # the machine may be busy
    with capsys.disabled():
        sys.stdout.write(
            f"\nlaspy reads it in {alone:.2f} s; read twice and sifted {read:.2f} s, found in {find_s:.2f} s" + "\n"
        )
    assert read + find_s < 15


def test_growth_with_the_points(shared, tmp_path, capsys):
    las = laspy.read(shared / "lidar" / "delft_ahn3_part.laz")
    with capsys.disabled():
        sys.stdout.write("\n| copies | points | read | kept | found in |\n|---|---|---|---|---|" + "\n")
        for side in (1, 2, 3):
            path = tmp_path / f"{side}.las"
            with laspy.open(path, mode="w", header=las.header) as writer:
                for right in range(side):
                    for up in range(side):
                        part = las.points.copy()
                        part["X"] = las.X + (right - side // 2) * SIZE[0]
                        part["Y"] = las.Y + (up - side // 2) * SIZE[1]
                        writer.write_points(part)
            read, found_in, kept, _ = run(path)
            sys.stdout.write(
                f"| {side**2} | {side**2 * len(las):,} | {read:.1f} s | {kept:,} | {found_in:.1f} s |" + "\n"
            )


def test_a_tile_of_two_gigabytes(shared, tmp_path, capsys):
    las = laspy.read(shared / "lidar" / "delft_ahn3_part.laz")
    path = tmp_path / "large.las"
    copies = round(2.0e9 / (len(las) * las.header.point_format.size))
    side = int(np.ceil(np.sqrt(copies)))
    with laspy.open(path, mode="w", header=las.header) as writer:
        for number in range(copies):
            part = las.points.copy()
            part["X"] = las.X + (number % side - side // 2) * SIZE[0]
            part["Y"] = las.Y + (number // side - side // 2) * SIZE[1]
            writer.write_points(part)
    code = (
        "import json, sys; from pathlib import Path; from tests.bench.test_bench_heights import run\n"
        "read, found, kept, _ = run(Path(sys.argv[1]))\n"
        "peak = next(line for line in open('/proc/self/status') if line.startswith('VmHWM'))\n"
        "print(json.dumps([read, found, kept, int(peak.split()[1]) / 1e6]))"
    )
    done = subprocess.run([sys.executable, "-c", code, str(path)], capture_output=True, text=True, check=True)
    read, found, kept, peak = json.loads(done.stdout.splitlines()[-1])
    with capsys.disabled():
        sys.stdout.write(
            f"\n{path.stat().st_size / 1e9:.2f} GB: read in {read:.0f} s, {kept:,} kept, found in {found:.0f} s, {peak:.2f} GB\n"
        )
    assert peak < 1.0
