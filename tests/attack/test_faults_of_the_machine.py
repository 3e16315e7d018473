"""A whole plan while the machine fails it: killed, out of room, read-only, two at once, without a network.

What becomes of single files of an output, line by line, is tried in tests/files/test_output_folder.py; here the whole
command runs, in namespaces of its own where this machine allows them.
"""

from __future__ import annotations

import hashlib
import os
import random
import shutil
import signal
import subprocess
import sys
import time

import pytest

from .oracle import write
from .sound import sound_sites

pytestmark = [pytest.mark.slow, pytest.mark.skipif(os.name != "posix", reason="signals and mounts of POSIX")]
UNSHARE = shutil.which("unshare")
PLANNED = {
    "plan.json", "map.html", "report.html", "plan.gpkg", "sun_hours.tif", "light.tif", "sun.csv", "places.csv",
    "headings.csv", "shopping.csv", "loads.csv",
}  # fmt: skip


def command(*words):
    return [sys.executable, "-m", "siteplan", *map(str, words)]


def apart(script, *flags):
    """Return what runs a shell script in namespaces of its own; skip where this machine allows none."""
    words = [UNSHARE or "unshare", *flags, "--map-root-user", "sh", "-c"]
    if UNSHARE is None or subprocess.run([*words, "true"], capture_output=True).returncode:
        pytest.skip("this user may make no namespaces here")
    return subprocess.run([*words, script], capture_output=True, text=True, timeout=300)


@pytest.fixture
def site(tmp_path):
    """Return a sound site with everything in it, and notes of the gardener's own beside it."""
    folder = tmp_path / "yard"
    write(folder, dict(sound_sites()["whole"]))
    (folder / "notes.txt").write_text("beans after the 15th")
    return folder


def contents(folder):
    """Return a digest of each file of a folder, but for siteplan's own marker."""
    return {
        str(path.relative_to(folder)): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and path.name != ".siteplan"
    }


def test_killed_at_random_moments_the_site_and_a_whole_plan_are_there(site):
    out = site / "plan"
    assert subprocess.run(command("plan", site, "--quiet")).returncode == 0
    (out / "ticks.txt").write_text("topsoil ordered")
    before = contents(site)
    assert {name.removeprefix("plan/") for name in before if name.startswith("plan/")} == PLANNED | {"ticks.txt"}
    chance = random.Random(5)
    for how in (signal.SIGKILL, signal.SIGTERM, signal.SIGINT):
        with subprocess.Popen(command("plan", site, "--quiet")) as running:
            time.sleep(chance.uniform(0.2, 9))
            running.send_signal(how)
            assert running.wait(60) in {-signal.SIGKILL, -signal.SIGTERM, 130, -signal.SIGINT, 0}
        held = {name: one for name, one in contents(site).items() if "/.siteplan-" not in name}
        assert held == before  # equal runs write equal bytes
    assert subprocess.run(command("plan", site, "--quiet")).returncode == 0
    assert contents(site) == before  # and what the killed ones left is cleared
    assert [path.name for path in out.iterdir() if path.is_dir()] == []


def test_two_at_once_both_end_and_leave_one_whole_plan(site):
    runs = [subprocess.Popen(command("plan", site, "--quiet"), stderr=subprocess.PIPE, text=True) for _ in range(2)]
    said = [run.communicate(timeout=300)[1] for run in runs]
    assert [run.returncode for run in runs] == [0, 0], said
    assert said == ["", ""]
    assert {path.name for path in (site / "plan").iterdir()} == PLANNED | {".siteplan"}


def test_a_disk_that_fills_up_is_told_and_holds_nothing(site):
    script = f'mkdir "{site}/disk" && mount -t tmpfs -o size=700k tmpfs "{site}/disk" || exit 77\n'
    script += f'"{sys.executable}" -m siteplan plan "{site}" --out "{site}/disk/plan" --quiet; code=$?\n'
    script += f'ls -A "{site}/disk/plan" "{site}/disk"; exit $code'
    ran = apart(script, "--mount", "--user")
    if ran.returncode == 77:
        pytest.skip("no disk in memory may be mounted here")
    assert ran.returncode == 2, ran.stderr
    assert "No space left on device" in ran.stderr
    assert "Traceback" not in ran.stderr
    assert "plan.json" not in ran.stdout
    assert contents(site).keys() == dict(sound_sites()["whole"]).keys() | {"notes.txt"}


def test_a_read_only_site_is_checked_and_planned_elsewhere_and_said_at_once(site, tmp_path):
    script = f'mount --bind "{site}" "{site}" && mount -o remount,ro,bind "{site}" || exit 77\n'
    script += f'"{sys.executable}" -m siteplan fill "{site}" --out "{tmp_path}/out" --quiet || exit 3\n'
    script += f'"{sys.executable}" -m siteplan plan "{site}" --quiet'
    begun = time.monotonic()
    ran = apart(script, "--mount", "--user")
    if ran.returncode == 77:
        pytest.skip("nothing may be mounted anew here")
    assert (ran.returncode, ran.stdout) == (2, "")
    assert ran.stderr == "plan: cannot be written: Read-only file system; choose another folder for the output\n"
    assert time.monotonic() - begun < 60
    assert (tmp_path / "out" / "shopping.csv").is_file()


def test_without_any_network_all_of_it_works(site):
    """No address can be reached, not even one's own: what wants the network fails or waits."""
    ran = apart(f'"{sys.executable}" -m siteplan plan "{site}" --quiet', "--net", "--user")
    assert (ran.returncode, ran.stdout, ran.stderr) == (0, "", "")
    assert {path.name for path in (site / "plan").iterdir()} == PLANNED | {".siteplan"}
