"""How long do large sites take, how much memory, and how large is the map?

``pytest -n 0 -m bench tests/bench/test_bench_sizes.py -s`` prints it; each is a process of its own.
"""

from __future__ import annotations

import subprocess
import sys
import time

import pytest

from tests import sizes

pytestmark = pytest.mark.bench

RUN = """
import pathlib, sys
from siteplan.cli import main
code = main(sys.argv[1:])
peak = next(line for line in pathlib.Path("/proc/self/status").open() if line.startswith("VmHWM"))
print("peak", peak.split()[1], file=sys.stderr)
sys.exit(code)
"""


@pytest.mark.parametrize(
    ("command", "site", "count", "most_s", "most_mb"),
    [
        ("plan", "beds", 100, 60, 1000),
        ("plan", "beds", 500, 120, 1000),
        ("plan", "obstacles", 1000, 120, 1000),
        ("plan", "obstacles", 5000, 240, 2000),
        ("check", "town", 380_000, 20, 500),
        ("check", "skyline", 360_000, 5, 500),
        ("check", "faults", 5000, 5, 500),
    ],
)
def test_large_site(command, site, count, most_s, most_mb, tmp_path):
    folder = sizes.SITES[site](tmp_path / "site", count)
    start = time.perf_counter()
    ran = subprocess.run(
        [sys.executable, "-c", RUN, command, str(folder)], capture_output=True, text=True, check=False
    )
    took = time.perf_counter() - start
    assert ran.returncode == (2 if site == "faults" else 0), ran.stderr
    lines = ran.stderr.splitlines()
    peak = int(lines[-1].split()[1]) / 1000
    page = folder / "plan" / "map.html"
    size = f", map {page.stat().st_size / 1e6:.2f} MB" if page.exists() else ""
    sys.stdout.write(f"\n{command} of {count} {site}: {took:.1f} s, peak {peak:.0f} MB{size}\n")
    assert took < most_s
    assert peak < most_mb
