"""The words of `siteplan screen`: what is wrong with them comes at once, and nothing is written."""

from __future__ import annotations

import argparse
import json
import math
from pathlib import Path
from types import SimpleNamespace

import pytest

from siteplan.cli import main
from siteplan.land.errors import InputError
from siteplan.screen import command
from siteplan.screen.options import add_options
from siteplan.screen.planner import Limits
from tests.screen.engines import MadeUp, Writes


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


def said_of(*words):
    parser = argparse.ArgumentParser()
    add_options(parser)
    return parser.parse_args(["lots", "--out", "out", *words])


def test_what_is_not_said_of_a_screen_is_as_its_help_says(monkeypatch):
    monkeypatch.setattr(command, "core_count", lambda: 4)
    words = said_of("--processes", "4")
    faults = []
    assert command._ask(words.ask, faults) == ("sun", "place", "fill", "haul")
    assert command._plans(words.plans, faults) == "none"
    assert command._limits(words, faults) == Limits(seconds=600.0, memory=4e9, cores=1)
    assert faults == []
    assert Limits() == Limits(600.0, 4e9, 1)  # ten minutes, 4 GB, a core
    assert (words.settings, words.layers, words.lots_layer, words.scheduler) == (None, [], None, None)
    assert (words.json, words.quiet) == (False, False)


@pytest.mark.parametrize(("text", "questions"), [
    ("haul,sun", ("sun", "haul")), (" place , place ", ("place",)), ("fill,", ("fill",)),
])  # fmt: skip
def test_questions_have_their_own_order(text, questions):
    faults = []
    assert command._ask(text, faults) == questions
    assert faults == []


@pytest.mark.parametrize(("text", "said"), [
    ("plac", '"plac" is no question of a screen; did you mean "place"? (known: sun, place, fill, haul)'),
    ("xyzzy", '"xyzzy" is no question of a screen (known: sun, place, fill, haul)'),
    (" , ", "asks nothing; say some of sun, place, fill, haul"), ("", "asks nothing; say some of sun, place, fill, haul"),
])  # fmt: skip
def test_what_is_no_question_is_refused(text, said):
    faults = []
    command._ask(text, faults)
    assert [(fault.file, fault.where, fault.text.replace("'", '"')) for fault in faults] == [("", "--ask", said)]


@pytest.mark.parametrize(("text", "read"), [
    ("none", "none"), ("all", "all"), ("best 1", "best 1"), ("best  20", "best 20"), ("best 0", None), ("best", None),
    ("best -1", None), ("best \u0663", None), ("some 3", None), ("best 1 2", None), ("best x", None), ("", None), ("20 best", None),
])  # fmt: skip
def test_which_whole_plans_are_written(text, read):
    faults = []
    found = command._plans(text, faults)
    if read is None:
        assert [fault.where for fault in faults] == ["--plans"]
        assert faults[0].text.endswith('must be none, all, or as "best 20"')
    else:
        assert (found, faults) == (read, [])


@pytest.mark.parametrize(("text", "seconds"), [
    ("10 min", 600.0), ("90 s", 90.0), ("90s", 90.0), ("2 sec", 2.0), ("1.5h", 5400.0), (" 1 H ", 3600.0), ("9e14 s", 9e14),
    ("0 s", None), ("-1 s", None), ("1e15 s", None), ("4", None), ("soon", None), ("nan s", None), ("inf s", None), ("1 min 5 s", None),
])  # fmt: skip
def test_a_time_has_its_unit(text, seconds):
    faults = []
    found = command._measure(text, command._SECONDS, "--lot-time", "10 min", faults)
    if seconds is None:
        ((where, said),) = [(fault.where, fault.text) for fault in faults]
        assert where == "--lot-time"
        assert said.endswith('must be as "10 min" (units: s, sec, min, h)')
    else:
        assert (found, faults) == (seconds, [])


@pytest.mark.parametrize(("text", "size"), [
    ("4 GB", 4e9), ("500mb", 5e8), ("1 MiB", 1_048_576.0), ("2 GiB", 2_147_483_648.0), ("0.5 gb", 5e8), ("4", None), ("4 TB", None),
])  # fmt: skip
def test_a_memory_has_its_unit(text, size):
    # decimal and binary prefixes: IEC 80000-13
    faults = []
    found = command._measure(text, command._BYTES, "--lot-memory", "4 GB", faults)
    assert (found if size else [fault.where for fault in faults]) == (size or ["--lot-memory"])


@pytest.mark.parametrize(
    ("processes", "cores"), [(1, 8), (2, 4), (3, 2), (8, 1), (9, 1), (256, 1), (0, None), (-1, None), (257, None)]
)
def test_processes_share_the_cores(processes, cores, monkeypatch):
    monkeypatch.setattr(command, "core_count", lambda: 8)
    faults = []
    found = command._limits(
        said_of("--processes", str(processes), "--lot-time", "5 s", "--lot-memory", "1 GB"), faults
    )
    if cores is None:
        assert [(fault.where, fault.text) for fault in faults] == [
            ("--processes", f"is {processes}, must be from 1 to 256")
        ]
    else:
        assert (found, faults) == (Limits(5.0, 1e9, cores), [])


def test_on_a_cluster_each_lot_has_one_core(monkeypatch):
    monkeypatch.setattr(command, "core_count", lambda: 8)
    words = said_of("--processes", "1", "--scheduler", "tcp://10.0.0.7:8786")
    assert command._limits(words, []).cores == 1


def test_lots_are_planned_by_as_many_processes_as_asked(monkeypatch):
    monkeypatch.setattr(command, "on_this_machine", lambda *asked: asked)
    engine = command._engine(said_of("--processes", "3"), [])
    assert engine("request", "limits", "tasks") == ("request", "limits", "tasks", 3)


def test_sites_are_listed_one_a_line_from_where_the_list_lies(tmp_path):
    for name in ("north", "south", "# west"):
        (tmp_path / name).mkdir()
    file = tmp_path / "some.list"
    file.write_text("# the sites\n\n south \nnorth\n")
    assert command._listed(file) == [tmp_path / "south", tmp_path / "north"]
    file.write_text("south\ngone\nsouth\nnorth\nlost\nnorth\n")
    with pytest.raises(InputError) as refused:
        command._listed(file)
    there = "there is no such folder; say it as it lies from the list"
    assert [(one.file, one.where, one.text) for one in refused.value.faults] == [
        ("some.list", "gone", there), ("some.list", "lost", there), ("some.list", "north", "is listed more than once"),
        ("some.list", "south", "is listed more than once"),
    ]  # fmt: skip


def test_a_remark_in_a_list_may_be_indented(tmp_path):
    (tmp_path / "south").mkdir()
    file = tmp_path / "some.txt"
    file.write_text("  # the sites\nsouth\n\t# gone\n")
    assert command._listed(file) == [tmp_path / "south"]
    file.write_text("  # the sites\n")
    with pytest.raises(InputError, match="lists no sites"):
        command._listed(file)


def test_a_folder_is_listed_once_however_it_is_written(tmp_path):
    for name in ("north", "south"):
        (tmp_path / name).mkdir()
    file = tmp_path / "some.txt"
    file.write_text("south\nnorth\nsouth/\n./south\nsouth\nnorth/../south\n")
    with pytest.raises(InputError) as refused:
        command._listed(file)
    assert [(one.where, one.text) for one in refused.value.faults] == [
        ("south, south/, ./south, north/../south", "is listed more than once")
    ]


def test_a_file_that_names_no_lots_is_refused(tmp_path):
    (tmp_path / "lots.pdf").write_text("")
    faults = []
    assert command._lots(said_of(), ("sun",), faults) is None
    assert [(one.file, one.text) for one in faults] == [("lots", "is not there")]
    faults = []
    words = said_of("--settings", "a.toml", "--layers", "b.gpkg", "--lots", "plots")
    words.lots = str(tmp_path / "lots.pdf")
    assert command._lots(words, ("sun",), faults) is None
    text = "is for a layer of lots, and lots.pdf is none"
    assert [(one.where, one.text) for one in faults[:3]] == [
        ("--settings", text),
        ("--layers", text),
        ("--lots", text),
    ]
    assert faults[3].text.startswith("is no folder of sites, no list (.txt) and no layer of lots (.gpkg, ")


def test_a_folder_may_end_like_a_layer_of_lots(tmp_path):
    folder = tmp_path / "sites.gpkg"
    (folder / "one").mkdir(parents=True)
    (folder / "two").mkdir()
    (folder / "one" / "site.toml").write_text("")
    words, faults = said_of(), []
    words.lots = str(folder)
    assert command._lots(words, ("sun",), faults).ids == ("one",)
    assert faults == []


def test_rows_as_json_have_no_shapes():
    rows = ({"lot": "a", "cost": None, "outline": "00", "place": "01", "place_merit": 0.5},)
    assert json.loads(command.rows_json(SimpleNamespace(rows=rows))) == {
        "lots": [{"lot": "a", "cost": None, "place_merit": 0.5}]
    }


def test_nothing_is_planned_where_the_output_cannot_be_written(small_town, tmp_path, capsys):
    inside = Path(tmp_path / "file")
    inside.write_text("")
    assert main(["screen", str(small_town / "town.gpkg"), "--out", str(inside)]) == 2
    assert "file" in capsys.readouterr().err


def test_half_a_second_is_a_time():
    faults = []
    assert command._measure("0.5 s", command._SECONDS, "--lot-time", "10 min", faults) == 0.5
    assert faults == []


def test_rows_as_json_are_a_line_for_each_value_and_hold_no_nan():
    rows = ({"lot": "a", "cost": 1.5},)
    assert command.rows_json(SimpleNamespace(rows=rows)) == (
        '{\n "lots": [\n  {\n   "lot": "a",\n   "cost": 1.5\n  }\n ]\n}'
    )
    with pytest.raises(ValueError, match="not JSON compliant"):
        command.rows_json(SimpleNamespace(rows=({"lot": "a", "cost": math.nan},)))


def test_limits_are_the_usual_ones_where_the_processes_are_at_fault():
    faults = []
    assert command._limits(said_of("--processes", "0", "--lot-time", "5 s"), faults) == Limits()
    assert len(faults) == 1


def test_whole_plans_that_were_not_written_are_told_up_to_five():
    assert command.unwritten_lines({}) == []
    six = {f"L{number}": "took more than 600 s" for number in range(1, 7)}
    assert command.unwritten_lines({"L1": "it\x1b[31m"}) == ["no whole plan of L1: it\ufffd[31m"]
    five = [f"no whole plan of L{number}: took more than 600 s" for number in range(1, 6)]
    assert command.unwritten_lines(dict(list(six.items())[:5])) == five
    assert command.unwritten_lines(six) == [*five, "no whole plans of 1 more lots"]


def test_somebody_s_own_files_in_the_folder_of_a_plan_stay_and_the_terminal_says_so(
    small_town, lots_of, tmp_path, monkeypatch, capsys
):
    monkeypatch.setattr(command, "on_this_machine", lambda asked, limits, tasks, _: Writes()(asked, limits, tasks))
    words = ["screen", str(small_town / "town.gpkg"), "--out", str(tmp_path / "out"), "--quiet", "--plans"]
    assert main([*words, "none"]) == 0
    lot = lots_of(small_town).ids[9]
    own = tmp_path / "out" / "plans" / f"00010-{lot}" / "notes.txt"
    own.parent.mkdir(parents=True)
    own.write_text("dry")
    assert main([*words, "best 2"]) == 0
    assert capsys.readouterr().err == (
        f"no whole plan of {lot}: 00010-{lot}: holds files that are not siteplan's; "
        "choose a new or empty folder for the output\n"
    )
    assert [path.name for path in own.parent.iterdir()] == ["notes.txt"]
