"""The words of `siteplan screen`: what is wrong with them comes at once, and nothing is written."""

from __future__ import annotations

import json

import pytest

from siteplan.cli import main
from siteplan.screen import command
from tests.screen.engines import MadeUp


@pytest.fixture
def made_up(monkeypatch):
    """No lot is planned."""
    monkeypatch.setattr(command, "on_this_machine", lambda asked, limits, tasks, _: MadeUp()(asked, limits, tasks))


def test_all_that_is_wrong_comes_at_once(small_town, tmp_path, capsys):
    words = [
        "screen", str(small_town / "town.gpkg"), "--out", str(tmp_path / "out"), "--ask", "sum,turn", "--plans", "best",
        "--processes", "0", "--lot-time", "soon", "--lot-memory", "4", "--scheduler", "here", "--lots", "plots",
    ]  # fmt: skip
    assert main(words) == 2
    said = capsys.readouterr().err
    for part in (
        '"sum" is no question of a screen; did you mean "sun"?', '"turn" is no question', "--plans: is", "--processes: is 0",
        "--lot-time: is", "--lot-memory: is", "--scheduler: is", 'has no layer "plots"',
    ):  # fmt: skip
        assert part.replace('"', "") in said.replace('"', "").replace("'", ""), part
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["nowhere", "--out", "out"], "nowhere: is not there"),
        (["empty", "--out", "out"], "holds no site"),
        (["empty", "--out", "out", "--settings", "x.toml"], "--settings: is for a layer of lots"),
        (["list.txt", "--out", "out"], "there is no such folder"),
        (["twice.txt", "--out", "out"], "is listed more than once"),
        (["none.txt", "--out", "out"], "lists no sites"),
    ],
)
def test_lots_that_are_not_there(words, said, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "empty").mkdir()
    (tmp_path / "list.txt").write_text("gone\n")
    (tmp_path / "twice.txt").write_text("empty\nempty\n")
    (tmp_path / "none.txt").write_text("# nothing\n")
    assert main(["screen", *words]) == 2
    assert said in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


def test_the_terminal_says_what_came_of_it(small_town, tmp_path, made_up, capsys):
    assert main(["screen", str(small_town / "town.gpkg"), "--out", str(tmp_path / "out"), "--quiet"]) == 0
    assert capsys.readouterr() == ("", "")
    assert main(["screen", str(small_town / "town.gpkg"), "--out", str(tmp_path / "out")]) == 0
    said = capsys.readouterr().out
    assert "10 lots: 8 planned, 2 fault. 0 were worked out in this run." in said
    assert "<b>{{7*7}}</b>" in said
    assert main(["screen", str(small_town / "town.gpkg"), "--out", str(tmp_path / "out"), "--json"]) == 0
    rows = json.loads(capsys.readouterr().out)["lots"]
    assert [row["status"] for row in rows].count("planned") == 8


def test_ctrl_c_says_that_it_goes_on(small_town, tmp_path, monkeypatch, capsys):
    monkeypatch.setattr(command, "on_this_machine", lambda asked, limits, tasks, _: MadeUp(3)(asked, limits, tasks))
    assert main(["screen", str(small_town / "town.gpkg"), "--out", str(tmp_path / "out"), "--quiet"]) == 130
    assert "Run the same again: it goes on from there." in capsys.readouterr().err


def test_folders_of_sites_are_named_by_a_list_or_by_the_folder_around_them(tmp_path):
    for name in ("north", "south"):
        (tmp_path / name).mkdir()
        (tmp_path / name / "site.toml").write_text("")
    (tmp_path / "some.txt").write_text("south\n")
    assert [one.name for one in command._in_folder(tmp_path)] == ["north", "south"]
    assert [one.name for one in command._listed(tmp_path / "some.txt")] == ["south"]
