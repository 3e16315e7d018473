"""What a command prints, returns and hands on: everything it calls is stood in for."""

from __future__ import annotations

import argparse
import atexit
import contextlib
import gc
import sys
from pathlib import Path
from types import SimpleNamespace

import pytest

from siteplan import cli
from siteplan.land.errors import Fault, InputError


def shown(text, end=""):
    sys.stdout.write(f"{text}{end}")


def words(**given):
    return argparse.Namespace(**{"quiet": False, "json": False, **given})


@pytest.fixture
def running(monkeypatch):
    """Return a function that runs the command line with this in place of the command."""
    monkeypatch.setattr(cli, "parse_arguments", lambda given: given)
    threshold = gc.get_threshold()

    def run(act):
        monkeypatch.setattr(cli, "_run", act)
        return cli.main(["x"])

    yield run
    gc.set_threshold(*threshold)


def test_the_exit_code_is_the_commands_two_or_130(running, capsys):
    def faulty(_):
        raise InputError([Fault("", "--size", "it is 0 m")])

    def stopped(_):
        raise KeyboardInterrupt

    assert running(lambda _: 0) == 0
    assert running(lambda given: len(given) + 6) == 7
    assert capsys.readouterr().err == ""
    assert running(faulty) == 2
    assert "--size: it is 0 m" in capsys.readouterr().err
    assert running(stopped) == 130
    assert "stopped; no file is half-written" in capsys.readouterr().err
    assert gc.get_threshold()[0] == 20_000


def test_the_garbage_is_not_looked_through_at_the_end(running, monkeypatch):
    at_the_end = []
    monkeypatch.setattr(atexit, "register", at_the_end.append)
    running(lambda _: 0)
    assert at_the_end == [gc.freeze]


def test_a_bug_shows_itself(running):
    def bug(_):
        raise ZeroDivisionError("a bug")

    with pytest.raises(ZeroDivisionError, match="a bug"):
        running(bug)


@pytest.mark.parametrize(("command", "done_by"), [
    *((name, f"_{name}") for name in ("demo", "new", "draw", "check", "heights", "screen")),
    *((name, "_answer") for name in ("plan", "sun", "place", "turn", "fill", "haul")),
])  # fmt: skip
def test_each_command_is_done_by_its_own_part(monkeypatch, command, done_by):
    for name in ("_demo", "_new", "_draw", "_check", "_heights", "_screen", "_answer"):
        monkeypatch.setattr(cli, name, lambda _, name=name: name)
    assert cli._run(words(command=command)) == done_by


@pytest.mark.parametrize("quiet", [False, True])
def test_a_new_site_says_what_comes_next(monkeypatch, capsys, quiet):
    begun = []
    monkeypatch.setattr("siteplan.files.new.new_site", begun.append)
    assert cli._new(words(folder="garden", quiet=quiet)) == 0
    assert begun == [Path("garden")]
    said = "Started garden: edit site.toml, draw features.geojson, then: siteplan check garden\n"
    assert capsys.readouterr().out == ("" if quiet else said)


@pytest.mark.parametrize(("exists", "begun"), [(True, []), (False, ["drawing"])])
def test_a_drawing_is_begun_where_there_is_none(monkeypatch, tmp_path, exists, begun):
    folder, done = tmp_path / "garden", []
    if exists:
        folder.mkdir()
    monkeypatch.setattr("siteplan.files.new.new_drawing", lambda _: done.append("drawing"))
    monkeypatch.setattr("siteplan.draw.server.serve", lambda at, browser, say: done.append((at, browser, say)))
    assert cli._draw(words(site=str(folder), no_browser=True)) == 0
    assert done == [*begun, (folder, False, cli._print_now)]


@pytest.mark.parametrize(("given", "printed"), [
    ({}, ["lots in out of a.html"]), ({"quiet": True}, []), ({"json": True}, ["the rows\n"]),
    ({"quiet": True, "json": True}, ["the rows\n"]),
])  # fmt: skip
@pytest.mark.parametrize("kept", [(), ("b.html",)])
def test_lots_are_printed_unless_told_otherwise(monkeypatch, capsys, given, printed, kept):
    unwritten = {"L1": "took more than 600 s"} if kept else {}
    written = SimpleNamespace(kept=kept, names=["a.html"])
    screened = SimpleNamespace(written=written, rows=[], planned=3, unwritten=unwritten)
    monkeypatch.setattr("siteplan.screen.command.run", lambda _: screened)
    monkeypatch.setattr("siteplan.screen.command.rows_json", lambda _: "the rows")
    monkeypatch.setattr("siteplan.show.writing.kept_words", lambda names: f"kept {names}")
    told = []
    monkeypatch.setattr(cli, "say_fault", told.append)
    monkeypatch.setattr(
        "siteplan.show.terminal_lots.print_lots",
        lambda _rows, planned, out, names: shown(f"lots in {out} of {', '.join(names)}", end="" if planned else "?"),
    )
    assert cli._screen(words(out="out", **given)) == 0
    assert capsys.readouterr().out == "".join(printed)
    assert told == ([f"kept {kept}", "no whole plan of L1: took more than 600 s"] if kept else [])


@pytest.mark.parametrize(("given", "printed"), [
    ({}, "the site"), ({"quiet": True}, ""), ({"json": True}, '{\n "a": 1\n}\n'),
])  # fmt: skip
def test_a_check_prints_the_site(monkeypatch, capsys, given, printed):
    monkeypatch.setattr("siteplan.files.reader.read_site", lambda *_, **__: "a site")
    monkeypatch.setattr("siteplan.show.terminal.print_site", lambda _: shown("the site", end=""))
    monkeypatch.setattr("siteplan.show.tables.document.site_document", lambda _: {"a": 1})
    assert cli._check(words(site="garden", variant=None, **given)) == 0
    assert capsys.readouterr().out == printed


@pytest.mark.parametrize(("given", "printed"), [
    ({}, "  one|  two|"), ({"quiet": True}, ""), ({"json": True}, '{\n "b": 2\n}\n'),
])  # fmt: skip
def test_heights_are_told_line_by_line(monkeypatch, capsys, given, printed):
    monkeypatch.setattr("siteplan.heights_command.run_heights", lambda _: (["one", "two"], {"b": 2}))
    monkeypatch.setattr(
        "siteplan.show.terminal_layout.say", lambda line, indent, whole: shown(indent + line, end="|" * whole)
    )
    assert cli._heights(words(**given)) == 0
    assert capsys.readouterr().out == printed


def test_json_has_codes_for_letters_that_nobody_sees(monkeypatch, capsys):
    monkeypatch.setattr(cli, "takes_all_letters", lambda: True)
    cli._print_json({"name": "B\u00e9d\u200b\x1f"})
    assert capsys.readouterr().out == '{\n "name": "B\u00e9d\\u200b\\u001f"\n}\n'
    monkeypatch.setattr(cli, "takes_all_letters", lambda: False)
    cli._print_json({"name": "B\u00e9d"})
    assert capsys.readouterr().out == '{\n "name": "B\\u00e9d"\n}\n'
    with pytest.raises(ValueError, match="JSON"):
        cli._print_json(float("nan"))


class Places:
    """Two places of a search."""

    places = (SimpleNamespace(rank=1), SimpleNamespace(rank=2))

    def bed_at(self, place):
        return f"bed {place.rank}"


def test_places_are_adopted_in_the_order_asked_for(monkeypatch):
    monkeypatch.setattr("siteplan.files.adopting.adopt_beds", lambda folder, site, beds: (folder, site, beds))
    plan = SimpleNamespace(places=Places(), site="a site")
    assert cli._adopt(words(site="garden", adopt="2,1"), plan) == ("garden", "a site", ["bed 2", "bed 1"])
    assert cli._adopt(words(site="garden", adopt=None), plan) is None
    assert cli._adopt(words(site="garden"), plan) is None
    assert cli._adopt(words(site="garden", adopt="1"), SimpleNamespace(places=None)) is None
    with pytest.raises(InputError) as refused:
        cli._adopt(words(site="garden", adopt="1,3,4"), plan)
    assert [(fault.where, fault.text) for fault in refused.value.faults] == [
        ("--adopt", f"there is no place {rank}; this run found 2") for rank in (3, 4)
    ]
    plan.places.places = ()
    with pytest.raises(InputError, match="there is no place 1; this run found none"):
        cli._adopt(words(site="garden", adopt="1"), plan)


def test_files_go_to_the_folder_asked_for_or_the_sites_own(monkeypatch):
    monkeypatch.setattr("siteplan.files.variants.plan_folder", lambda variant: f"plan of {variant}")
    assert cli._output_folder(words(out="there", site="garden", variant=None)) == Path("there")
    assert cli._output_folder(words(out=None, site="garden", variant="north")) == Path("garden/plan of north")
    told, seen = [], []

    def write(plan, folder, **options):
        seen.append((plan, folder, options))
        return SimpleNamespace(names=["a.csv", "b.html"], kept=["old.txt"])

    monkeypatch.setattr("siteplan.show.writing.write_answers", write)
    monkeypatch.setattr("siteplan.show.writing.kept_words", lambda names: f"kept {names}")
    monkeypatch.setattr(cli, "say_fault", told.append)
    paths = cli._write(words(out="there", command="sun", tiles=True), "a plan", None)
    assert paths == [Path("there/a.csv"), Path("there/b.html")]
    options = {"command": "sun", "progress": None, "tiles": True, "pdf": False, "parquet": False}
    assert seen == [("a plan", Path("there"), options)]
    assert told == ["kept ['old.txt']"]


@pytest.mark.parametrize(("given", "needed"), [
    ({}, []), ({"pdf": True}, ["printing"]), ({"parquet": True}, ["parquet"]), ({"pdf": False, "parquet": False}, []),
    ({"pdf": True, "parquet": True}, ["printing", "parquet"]),
])  # fmt: skip
def test_libraries_are_asked_for_before_the_work(monkeypatch, given, needed):
    asked = []
    monkeypatch.setattr("siteplan.show.sheet.work_sheet.require_printing", lambda: asked.append("printing"))
    monkeypatch.setattr("siteplan.files.outputs.output.require_parquet", lambda: asked.append("parquet"))
    cli._require_libraries(words(**given))
    assert asked == needed


@pytest.mark.parametrize(("given", "printed"), [
    ({}, "answers to sun"), ({"quiet": True}, ""), ({"json": True}, '{\n "c": 3\n}\n'),
])  # fmt: skip
def test_a_command_prints_its_answers(monkeypatch, capsys, given, printed):
    order, plan = [], SimpleNamespace(document=lambda: {"c": 3})
    monkeypatch.setattr("siteplan.files.reader.read_site", lambda *_, **__: order.append("read") or "a site")
    monkeypatch.setattr(
        "siteplan.files.outputs.sound_output.require_output", lambda folder, site: order.append((folder, site))
    )
    monkeypatch.setattr(cli, "new_bed_and_ids", lambda _given, _site, ask: ({"count": 2}, {tuple(ask)}))
    monkeypatch.setattr("siteplan.plan.plan_site", lambda site, **options: order.append((site, options)) or plan)
    monkeypatch.setattr(cli, "_adopt", lambda *_: None)
    monkeypatch.setattr(cli, "_write", lambda *_: ["a path"])
    monkeypatch.setattr(cli, "_print_answers", lambda given, *_: shown(f"answers to {given.command}", end=""))
    assert cli._answer(words(command="sun", site="garden", variant=None, out="there", **given)) == 0
    assert capsys.readouterr().out == printed
    read, checked, (site, options) = order
    assert (read, checked, site) == ("read", (Path("there"), "garden"), "a site")
    assert options.pop("progress") is None or not given
    assert options == {"ask": cli.QUESTIONS["sun"][2], "bed_ids": {tuple(cli.QUESTIONS["sun"][2])}, "sure": False,
                       "count": 2}  # fmt: skip


@pytest.mark.parametrize(("given", "silent"), [
    ({}, False), ({"quiet": True}, True), ({"json": True}, True), ({"quiet": True, "json": True}, True),
])  # fmt: skip
def test_progress_is_shown_where_people_read(monkeypatch, given, silent):
    seen = []

    @contextlib.contextmanager
    def bar(*, quiet):
        seen.append(quiet)
        yield None

    monkeypatch.setattr("siteplan.show.progress.progress_bar", bar)
    monkeypatch.setattr("siteplan.files.reader.read_site", lambda *_, **__: "a site")
    monkeypatch.setattr("siteplan.show.terminal.print_site", lambda _: None)
    monkeypatch.setattr("siteplan.show.tables.document.site_document", lambda _: {})
    cli._check(words(site="garden", variant=None, **given))
    assert seen == [silent]


def test_the_demo_is_written_and_planned_without_tiles(monkeypatch):
    done = []
    monkeypatch.setattr(cli, "_answer", lambda given: done.append(given) or 5)
    monkeypatch.setattr("siteplan.files.demo.write_demo", done.append)
    monkeypatch.setattr(
        "siteplan.files.outputs.sound_output.require_output", lambda folder, site: done.append((folder, site))
    )
    assert cli._demo(words(folder="demo", out="there")) == 5
    folders, written, given = done
    assert (folders, written) == ((Path("there"), Path("demo")), Path("demo"))
    assert (given.site, given.command, given.tiles, given.variant) == ("demo", "plan", False, None)


@pytest.mark.parametrize("adopted", [None, SimpleNamespace(file="features.geojson", beds=["bed"])])
def test_what_comes_next_is_a_step_or_what_was_adopted(monkeypatch, adopted):
    seen = {}
    monkeypatch.setattr("siteplan.say.adopting.next_step", lambda _, site, options: f"next in {site} {options}")
    monkeypatch.setattr(
        "siteplan.say.adopting.adopted_sentences", lambda file, beds, site, units: [file, *beds, site, units]
    )
    monkeypatch.setattr("siteplan.show.terminal.print_plan", lambda plan, **given: seen.update(plan=plan, **given))
    plan = SimpleNamespace(site=SimpleNamespace(units="metric"))
    cli._print_answers(words(site="garden", command="sun", months="4-5"), plan, adopted, ["a path"])
    further = ["next in garden --months 4-5"] if adopted is None else ["features.geojson", "bed", "garden", "metric"]
    assert seen == {"plan": plan, "command": "sun", "written": ["a path"], "further": further}


def test_a_line_is_printed_at_once(monkeypatch):
    flushed = []
    monkeypatch.setattr(sys, "stdout", SimpleNamespace(write=flushed.append, flush=lambda: flushed.append("flushed")))
    cli._print_now("serving")
    assert flushed == ["serving", "\n", "flushed"]
