"""What the commands leave in an output folder: hers as it was, equal runs with equal bytes, refusals before the work."""

from __future__ import annotations

import os
import shutil
import sys
import time

import pytest

import siteplan.plan
from siteplan.cli import main

FULL = {"map.html", "report.html", "plan.json", "plan.gpkg", "sun_hours.tif", "light.tif"}
FULL |= {"shopping.csv", "loads.csv", "sun.csv", "places.csv", "headings.csv"}


@pytest.fixture
def out(yard, tmp_path):
    """Return an output of one question."""
    assert main(["fill", str(yard), "--quiet", "--out", str(tmp_path / "out")]) == 0
    return tmp_path / "out"


@pytest.fixture
def no_work(monkeypatch):
    """Let nobody plan."""

    def work(*_, **__):
        pytest.fail("worked for nothing")

    monkeypatch.setattr(siteplan.plan, "plan_site", work)


def everything(folder):
    """Return each path below a folder, with what tells whether it was touched."""
    found = sorted(folder.rglob("*"))
    states = [path.lstat() for path in found]
    return {path: (one.st_ino, one.st_size, one.st_mtime_ns) for path, one in zip(found, states, strict=True)}


def refused(words, capsys):
    """Run a command that must refuse, and return its one line."""
    assert main(words) == 2
    shown = capsys.readouterr()
    assert shown.out == ""
    assert len(shown.err.splitlines()) == 1
    return shown.err


def test_a_site_in_an_output_is_not_planned_over_itself(yard, out, capsys, no_work):
    shutil.copytree(yard, out / "yard", ignore=shutil.ignore_patterns("plan"))
    before = everything(out)
    assert "out: holds the site yard; choose" in refused(["plan", str(out / "yard"), "--out", str(out)], capsys)
    assert "out: holds the site yard; move it" in refused(["plan", str(yard), "--out", str(out)], capsys)
    assert everything(out) == before


@pytest.mark.parametrize("where", ["{yard}", "{yard}/..", "{yard}/plan/.."])
def test_no_site_is_planned_into_its_own_folder_or_one_above(where, yard, capsys, no_work):
    before = everything(yard.parent)
    (yard / "plan").mkdir()
    told = refused(["sun", str(yard), "--out", where.format(yard=yard)], capsys)
    (yard / "plan").rmdir()
    assert "is a site's folder" in told or "holds the site" in told
    assert everything(yard.parent).keys() == before.keys()


@pytest.mark.parametrize("with_plan", [True, False])
def test_a_strangers_folder_is_refused_before_the_work(with_plan, yard, tmp_path, capsys, no_work):
    (tmp_path / "out" / "photos").mkdir(parents=True)
    (tmp_path / "out" / "thesis.txt").write_text("mine")
    if with_plan:
        (tmp_path / "out" / "plan.json").write_text("{}")
    before = everything(tmp_path)
    assert "holds files that are not siteplan's" in refused(
        ["plan", str(yard), "--out", str(tmp_path / "out")], capsys
    )
    assert everything(tmp_path) == before


def test_hers_stays_in_an_output_folder(yard, out, capsys):
    (out / "photos").mkdir()
    (out / "photos" / "bed.jpg").write_bytes(b"\xff\xd8")
    (out / "notes.txt").write_text("beans")
    hers = {path: state for path, state in everything(out).items() if path.name in {"photos", "bed.jpg", "notes.txt"}}
    for command in ("plan", "fill", "plan"):
        assert main([command, str(yard), "--quiet", "--out", str(out)]) == 0
        assert {path: state for path, state in everything(out).items() if path in hers} == hers
    assert {path.name for path in out.iterdir()} == FULL | {".siteplan", "photos", "notes.txt"}
    assert capsys.readouterr().err == ""


@pytest.mark.parametrize("how", [[], ["--json"], ["--quiet"]])
def test_her_ticks_are_kept_and_she_is_told(how, yard, out, capsys):
    ticked = (out / "shopping.csv").read_text(encoding="utf-8").replace("\n", ",bought\n")
    (out / "shopping.csv").write_text(ticked, encoding="utf-8")
    noon = time.mktime((2026, 5, 17, 12, 0, 0, 0, 0, -1))
    os.utime(out / "shopping.csv", (noon, noon))
    assert main(["fill", str(yard), "--out", str(out), *how]) == 0
    kept = "shopping (yours, 2026-05-17).csv"
    assert f'kept beside the new one: shopping.csv as "{kept}".' in capsys.readouterr().err
    assert (out / kept).read_text(encoding="utf-8") == ticked
    assert "bought" not in (out / "shopping.csv").read_text(encoding="utf-8")


def test_from_python_a_warning_tells_of_what_was_kept(yard, tmp_path):
    plan = siteplan.plan.plan_site(siteplan.read_site(yard), ask=("fill",))
    out = plan.write(tmp_path / "out")
    (out / "sun.csv").write_text("mine")
    with pytest.warns(UserWarning, match=r'kept beside the new one: sun.csv as "sun \(yours, .*\).csv"') as told:
        plan.write(out)
    assert len(told) == 1
    assert told[0].filename == __file__
    assert len(list(out.glob("sun (yours, *).csv"))) == 1


@pytest.mark.slow
def test_equal_runs_write_equal_bytes(yard, tmp_path):
    outs = [tmp_path / "first", tmp_path / "second"]
    for out in outs:
        assert main(["plan", str(yard), "--quiet", "--out", str(out)]) == 0
    first, second = ({path.name: path.read_bytes() for path in out.iterdir()} for out in outs)
    assert first.keys() == FULL | {".siteplan"}
    assert [name for name in first if first[name] != second[name]] == []


def test_a_full_disk_ends_in_one_line_and_loses_nothing(yard, small_disk, capsys):
    out = small_disk(64) / "out"
    assert main(["fill", str(yard), "--quiet", "--out", str(out)]) == 0
    (out / "notes.txt").write_text("beans")
    before = everything(out)
    said = refused(["plan", str(yard), "--out", str(out)], capsys)
    assert said == "out: cannot be written: No space left on device; make room, or choose a folder on another disk\n"
    assert everything(out) == before


def test_a_read_only_disk_is_refused_before_the_work(yard, small_disk, capsys, no_work):
    disk = small_disk(64, ",ro")
    for out in (disk, disk / "out"):
        told = refused(["plan", str(yard), "--out", str(out)], capsys)
        assert "cannot be written: Read-only file system" in told


def test_a_demo_is_written_over_itself_and_not_over_her_changes(tmp_path, capsys, monkeypatch):
    demo = tmp_path / "demo-yard"
    seen = []
    monkeypatch.setattr("siteplan.cli._answer", lambda arguments: seen.append(arguments.site) or 0)
    assert main(["demo", str(demo)]) == 0
    (demo / "notes.txt").write_text("beans")
    (demo / "plan").mkdir()
    before = everything(demo)
    assert main(["demo", str(demo)]) == 0
    assert everything(demo) == before
    assert seen == [str(demo)] * 2
    (demo / "features.geojson").unlink()
    assert main(["demo", str(demo)]) == 0  # what is missing is written again
    assert everything(demo).keys() == before.keys()
    with (demo / "site.toml").open("a") as settings:
        settings.write("# mine\n")
    before = everything(demo)
    told = refused(["demo", str(demo)], capsys)
    assert f"holds site.toml with changes of yours; plan it with: siteplan plan {demo}" in told
    assert "is not empty" in refused(["new", str(demo)], capsys)
    assert everything(demo) == before


def test_a_demo_that_cannot_write_its_plan_is_not_begun(tmp_path, capsys):
    (tmp_path / "photos").mkdir()
    (tmp_path / "photos" / "bed.jpg").write_text("")
    words = ["demo", str(tmp_path / "demo"), "--out", str(tmp_path / "photos")]
    assert "holds files that are not siteplan's" in refused(words, capsys)
    assert [path.name for path in tmp_path.iterdir()] == ["photos"]


@pytest.mark.parametrize("command", ["new", "demo"])
def test_a_new_site_is_written_whole_or_not_at_all(command, small_disk, capsys):
    disk = small_disk(8)
    told = refused([command, str(disk / "deep" / "mine")], capsys)
    assert told.startswith("mine: cannot be written: No space left on device")
    assert list(disk.iterdir()) == []


def test_geoparquet_without_pyarrow_is_refused_before_the_work(yard, tmp_path, capsys, monkeypatch, no_work):
    monkeypatch.setitem(sys.modules, "pyarrow", None)
    monkeypatch.setitem(sys.modules, "pyarrow.parquet", None)
    words = ["plan", str(yard), "--parquet", "--out", str(tmp_path / "out")]
    assert "GeoParquet needs pyarrow: install siteplan[parquet]" in refused(words, capsys)
    assert not (tmp_path / "out").exists()


@pytest.mark.slow
@pytest.mark.extras
def test_geoparquet_goes_with_the_next_plan_that_is_not_asked_for_it(yard, tmp_path):
    pytest.importorskip("pyarrow")
    out = tmp_path / "out"
    assert main(["plan", str(yard), "--quiet", "--parquet", "--out", str(out)]) == 0
    layers = {f"{name}.parquet" for name in ("beds", "places", "routes", "piles", "features", "tiers")}
    assert {path.name for path in out.iterdir()} == FULL | layers | {".siteplan"}
    assert main(["plan", str(yard), "--quiet", "--out", str(out)]) == 0
    assert {path.name for path in out.iterdir()} == FULL | {".siteplan"}
