"""Every command answers, helps with an example, stands in the README, and fails cleanly."""

from __future__ import annotations

import contextlib
import csv
import html
import io
import json
import re
import shutil
import subprocess
import sys
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pytest
import rasterio

from siteplan import __version__
from siteplan.cli import QUESTIONS, main
from siteplan.say.lighting import SUN_HOURS

CHECKOUT = Path(__file__).parents[1]
COMMANDS = ("demo", "new", "check", *QUESTIONS)


@pytest.mark.parametrize("command", [*COMMANDS, "screen"])
def test_a_command_helps_with_an_example_and_stands_in_the_readme(command, capsys):
    with pytest.raises(SystemExit) as stop:
        main([command, "--help"])
    assert stop.value.code == 0
    shown = " ".join(capsys.readouterr().out.split())
    assert re.search(rf"Example: siteplan {command} \S+", shown)
    for option in ("--out", "--json", "--quiet"):
        assert option in shown
    assert f"siteplan {command}" in (CHECKOUT / "README.md").read_text(encoding="utf-8")


def test_the_version_is_said(capsys):
    with pytest.raises(SystemExit) as stop:
        main(["--version"])
    assert stop.value.code == 0
    assert capsys.readouterr().out.strip() == f"siteplan {__version__}"


@dataclass(frozen=True)
class Ran:
    """What a command said and wrote."""

    code: int
    out: str
    err: str
    folder: Path

    @property
    def files(self):
        return {path.name for path in self.folder.iterdir()} - {".siteplan"}


@pytest.fixture(scope="module")
def ran(yard, tmp_path_factory):
    """Return what runs a command on the yard, each set of words once, into a folder of its own."""

    @cache
    def run(command, *words):
        folder = tmp_path_factory.mktemp("ran") / "out"
        out, err = io.StringIO(), io.StringIO()
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            code = main([command, str(yard), *words, "--out", str(folder)])
        return Ran(code, out.getvalue(), err.getvalue(), folder)

    return run


@pytest.mark.parametrize(
    ("command", "files"),
    [
        ("check", None),
        ("sun", {"sun_hours.tif", "light.tif", "sun.csv"}),
        ("place", {"places.csv"}),
        ("turn", {"headings.csv"}),
        ("fill", {"shopping.csv"}),
        ("haul", {"loads.csv"}),
        ("map", {"map.html"}),
    ],
)
def test_a_command_answers_and_writes_its_own_files(command, files, ran):
    found = ran(command)
    assert (found.code, found.err) == (0, "")
    assert found.out
    assert max(len(line) for line in found.out.splitlines() if "/" not in line) <= 80
    assert found.folder.exists() == (files is not None)
    assert files is None or found.files == files


def test_where_enough_sun_is_sure_is_asked_for(ran):
    found = ran("sun", "--sure")
    assert (found.code, found.err) == (0, "")
    assert found.files == {"sun_hours.tif", "light.tif", "sure.tif", "sun.csv"}
    assert "% is sure to get" in " ".join(found.out.split())
    assert "% is sure to get" not in " ".join(ran("sun").out.split())


def test_every_question_is_asked_above():
    assert set(QUESTIONS) == {"sun", "place", "turn", "fill", "haul", "map", "plan"}


def test_a_plan_answers_in_lines_of_80(ran):
    found = ran("plan")
    assert (found.code, found.err) == (0, "")
    assert max(len(line) for line in found.out.splitlines() if "/" not in line) <= 80


def test_an_hour_of_sun_is_the_same_words_everywhere(ran):
    folder = ran("plan").folder
    with rasterio.open(folder / "sun_hours.tif") as raster:
        texts = [raster.tags()["TIFFTAG_IMAGEDESCRIPTION"]]
    texts += [html.unescape((folder / name).read_text(encoding="utf-8")) for name in ("map.html", "report.html")]
    for text in texts:
        assert SUN_HOURS in " ".join(text.split())


def test_json_is_all_that_goes_to_stdout(ran):
    found = ran("plan", "--json")
    assert (found.code, found.err) == (0, "")
    told = json.loads(found.out)
    kept = json.loads((found.folder / "plan.json").read_text(encoding="utf-8"))
    assert told == kept


def test_quiet_says_nothing(ran):
    found = ran("fill", "--quiet")
    assert (found.code, found.out, found.err) == (0, "", "")


def test_one_question_leaves_the_answers_to_the_others(ran, yard):
    found = ran("plan")
    before = found.files
    assert main(["fill", str(yard), "--quiet", "--out", str(found.folder)]) == 0
    assert found.files == before


@pytest.mark.parametrize("command", ["check", *QUESTIONS])
def test_a_faulty_site_ends_with_two_and_a_line_for_each_fault(command, yard, tmp_path, capsys):
    broken = tmp_path / "broken"
    broken.mkdir()
    for path in yard.iterdir():
        if path.is_file():
            (broken / path.name).write_bytes(path.read_bytes())
    with (broken / "site.toml").open("a", encoding="utf-8") as settings:
        settings.write('\n[[stock]]\nmateriel = "topsoil"\nvolume = "2 ft"\nat = "nowhere"\n')
    assert main([command, str(broken), "--out", str(tmp_path / "out")]) == 2
    shown = capsys.readouterr()
    assert shown.out == ""
    lines = shown.err.splitlines()
    assert len(lines) >= 3
    assert "Traceback" not in shown.err
    assert any("materiel" in line and "material" in line for line in lines)
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["place", "--length", "4 kg"], "--length"),
        (["place", "--width", "-1"], "--width"),
        (["place", "--count", "0"], "--count"),
        (["place", "--size", "8 ft"], "--size"),
        (["place", "--size", "8 ft x 4 kg"], "--size"),
        (["place", "--size", "2 x 1", "--count", "2"], "leave those out"),
        (["place", "--shape", "nowhere.geojson"], "nowhere.geojson"),
        (["place", "--months", "0-3"], "--months"),
        (["place", "--months", "spring"], "--months"),
        (["place", "--adopt", "first"], '--adopt: \'first\' are no places, must be as "1" or "1,3"'),
        (["place", "--adopt", "0"], "--adopt"),
        (["place", "--count", "1", "--adopt", "2,1"], "--adopt: there is no place 2; this run found 1"),
        (["turn", "--bed", "no such bed"], "there is no bed"),
    ],
)
def test_a_wrong_option_ends_with_two(words, said, yard, capsys):
    assert main([words[0], str(yard), *words[1:]]) == 2
    assert said in capsys.readouterr().err


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--size", "2 x 1 m", "--size", "1m x 1m"], ["2.00 m x 1.00 m", "1.00 m x 1.00 m"]),
        (["--months", "11-2"], ["over January, February, November and December"]),
        (["--shape", "{ell}", "--count", "1"], ["2.44 m x 2.44 m"]),
    ],
)
def test_sizes_months_and_a_shape_are_taken(words, said, ran, tmp_path):
    ell = tmp_path / "ell.geojson"
    ring = [[0, 0], [8, 0], [8, 3], [3, 3], [3, 8], [0, 8], [0, 0]]
    geometry = {"type": "Polygon", "coordinates": [ring]}
    ell.write_text(json.dumps({"type": "Feature", "properties": {"unit": "ft"}, "geometry": geometry}))
    found = ran("place", *(word.format(ell=ell) for word in words))
    assert found.code == 0
    shown = " ".join(found.out.split())
    for text in said:
        assert text in shown


def test_a_place_becomes_a_bed_and_is_planned(yard, tmp_path, capsys):
    own = tmp_path / "our yard"
    shutil.copytree(yard, own)
    drawn = json.loads((own / "features.geojson").read_text(encoding="utf-8"))["features"]
    bare = [feature for feature in drawn if feature["properties"]["kind"] != "bed"]
    (own / "features.geojson").write_text(json.dumps({"type": "FeatureCollection", "features": bare}))
    assert main(["place", str(own), "--out", str(tmp_path / "out")]) == 0
    asked = f"To make place 1 a bed: siteplan place --adopt 1 '{own}'. Then plan it: siteplan plan '{own}'."
    assert asked in " ".join(capsys.readouterr().out.split())
    places = list(csv.DictReader((tmp_path / "out" / "places.csv").read_text(encoding="utf-8").splitlines()))
    assert main(["place", str(own), "--adopt", "1,3", "--out", str(tmp_path / "out")]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "Written to features.geojson: bed-1, 2.40 m x 1.20 m, 45 cm high, proposed." in said
    assert f"Plan them: siteplan plan '{own}'." in said
    after = json.loads((own / "features.geojson").read_text(encoding="utf-8"))["features"]
    assert after[: len(bare)] == bare
    # the corners that places.csv names are those of the bed: the same four, wherever its outline begins
    for row, feature in zip((places[0], places[2]), after[len(bare) :], strict=True):
        corners = {tuple(map(float, corner.split())) for corner in row["corners_drawn"].split("; ")}
        assert {tuple(corner) for corner in feature["geometry"]["coordinates"][0]} == corners
    assert main(["check", str(own)]) == 0


def test_no_site_at_all_ends_with_two(tmp_path, capsys):
    assert main(["plan", str(tmp_path / "nothing here")]) == 2
    assert "nothing here" in capsys.readouterr().err


def test_an_output_folder_that_is_not_ours_is_left_alone(yard, tmp_path, capsys):
    out = tmp_path / "photos"
    out.mkdir()
    (out / "holiday.txt").write_text("keep me", encoding="utf-8")
    assert main(["fill", str(yard), "--out", str(out)]) == 2
    assert "photos" in capsys.readouterr().err
    assert (out / "holiday.txt").read_text(encoding="utf-8") == "keep me"


def test_a_reader_that_goes_away_is_no_bug(yard, tmp_path):
    words = [sys.executable, "-m", "siteplan", "fill", str(yard), "--out", str(tmp_path / "out")]
    with subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as running:
        running.stdout.close()
        said = running.stderr.read()
        assert running.wait() == 0
    assert "Traceback" not in said


def test_a_variant_is_answered_into_a_folder_of_its_own(yard, tmp_path, capsys):
    folder = shutil.copytree(yard, tmp_path / "yard")
    (folder / "variants").mkdir()
    (folder / "variants" / "no apple.json").write_text('{"removed": ["apple"]}', encoding="utf-8")
    assert main(["fill", str(folder), "--variant", "no apple"]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "plan-no apple: " in said
    assert (folder / "plan-no apple" / "shopping.csv").is_file()
    assert not (folder / "plan").exists()
    assert main(["check", str(folder), "--json", "--variant", "no apple"]) == 0
    document = json.loads(capsys.readouterr().out)
    assert document["site"]["name"].endswith("(no apple)")
    for words, fault in (
        (["plan", "--variant", "no appel"], "there is no variant 'no appel'; did you mean 'no apple'?"),
        (["check", "--variant", "../no apple"], "the name '../no apple' holds '/'; leave it out"),
        (["place", "--variant", "no apple", "--adopt", "1"], "--adopt: writes into the property, but the places are"),
    ):
        assert main([words[0], str(folder), *words[1:]]) == 2
        assert fault in " ".join(capsys.readouterr().err.split())
