"""Words go where they are sent: to a terminal of few letters, a reader that leaves, a full disk, nowhere."""

from __future__ import annotations

import json
import os
import random
import re
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

POSIX = pytest.mark.skipif(os.name != "posix", reason="signals and devices of POSIX")
FULL = pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device that is always full")
STOPPED = "siteplan: stopped; no file is half-written\n"


PROGRESS = re.compile(rb".+ \d+%, \d+ s\n")  # told on a slow machine


def run(words, *, letters="utf-8", **options):
    """Run siteplan, its streams in some encoding, as an old terminal has it."""
    environment = os.environ | {"PYTHONIOENCODING": letters, "PYTHONUTF8": "0", "LC_ALL": "C"}
    command = [sys.executable, "-m", "siteplan", *map(str, words)]
    ran = subprocess.run(command, env=environment, timeout=120, **{"capture_output": True} | options)
    if ran.stderr is not None:
        ran.stderr = b"".join(line for line in ran.stderr.splitlines(keepends=True) if not PROGRESS.fullmatch(line))
    return ran


@pytest.fixture
def named(yard, tmp_path):
    """Return the yard with a name and a measure that ASCII cannot say."""
    folder = tmp_path / "yard"
    folder.mkdir()
    for path in yard.iterdir():
        if path.is_file():
            (folder / path.name).write_bytes(path.read_bytes())
    text = (folder / "site.toml").read_text(encoding="utf-8")
    name = next(line for line in text.splitlines() if line.startswith("name"))
    (folder / "site.toml").write_text(text.replace(name, 'name = "Süd–Beet 東"'), encoding="utf-8")
    return folder


def test_a_terminal_that_knows_only_ascii_gets_letters_that_it_can_show(named):
    ran = run(["check", named], letters="ascii")
    assert (ran.returncode, ran.stderr) == (0, b"")
    shown = ran.stdout.decode("ascii")
    assert "Sud-Beet ?" in shown


def test_measures_are_written_in_letters_that_it_can_show(named, tmp_path):
    ran = run(["fill", named, "--out", tmp_path / "out"], letters="ascii")
    assert (ran.returncode, ran.stderr) == (0, b"")
    assert " m3" in ran.stdout.decode("ascii")
    assert "?" not in ran.stdout.decode("ascii").replace("Sud-Beet ?", "")


def test_json_keeps_every_letter_on_a_terminal_that_knows_only_ascii(named):
    ran = run(["check", named, "--json"], letters="ascii")
    assert ran.returncode == 0
    assert json.loads(ran.stdout.decode("ascii"))["site"]["name"] == "Süd–Beet 東"


def test_json_has_codes_for_letters_that_nobody_sees(named, capsys):
    from siteplan.cli import main

    path = named / "site.toml"
    path.write_text(path.read_text(encoding="utf-8").replace("Süd", "S\u202eü\u200bd\U000e0041"), encoding="utf-8")
    assert main(["check", str(named), "--json"]) == 0
    out = capsys.readouterr().out
    assert {letter for letter in out if not letter.isprintable()} == {"\n"}
    assert json.loads(out)["site"]["name"] == "S\u202eü\u200bd\U000e0041–Beet 東"


def test_a_folder_whose_name_is_no_utf8_is_told_of(tmp_path):
    folder = os.fsencode(tmp_path) + b"/\xff"
    ran = run(["check", os.fsdecode(folder)], letters="utf-8")
    assert ran.returncode == 2
    assert b"there is no such folder" in ran.stderr
    assert b"Traceback" not in ran.stderr


@POSIX
@FULL
@pytest.mark.parametrize("words", [["check", "YARD"], ["check", "YARD", "--json"]])
def test_a_full_disk_behind_standard_output_is_one_line(yard, words):
    with Path("/dev/full").open("wb") as full:
        ran = run([yard if word == "YARD" else word for word in words], capture_output=False, stdout=full, stderr=-1)
    assert ran.returncode == 2
    told = "standard output: cannot be written: No space left on device; send it elsewhere, or say --quiet\n"
    assert ran.stderr.decode() == told


@POSIX
@FULL
def test_a_full_disk_behind_standard_error_changes_no_exit_code(tmp_path):
    with Path("/dev/full").open("wb") as full:
        ran = run(["check", tmp_path / "nowhere"], capture_output=False, stdout=-1, stderr=full)
    assert (ran.returncode, ran.stdout) == (2, b"")


@POSIX
@pytest.mark.parametrize(
    "closed", [">&- 2>&-", *(pytest.param(one, marks=pytest.mark.slow) for one in (">&-", "2>&-"))]
)
def test_closed_streams_do_no_harm(yard, tmp_path, closed):
    command = f'"{sys.executable}" -m siteplan fill "{yard}" --out "{tmp_path}/out" {closed}'
    ran = subprocess.run(["/bin/sh", "-c", command], capture_output=True, timeout=120)
    assert ran.returncode == 0
    assert all(
        re.fullmatch(rb".+ \d+%, \d+ s", line) for line in ran.stderr.splitlines()
    )  # progress, on a slow machine
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == [".siteplan", "shopping.csv"]
    assert (tmp_path / "out" / "shopping.csv").read_text(encoding="utf-8-sig").startswith("material,")


@POSIX
@pytest.mark.parametrize("words", [["--help"], ["check", "YARD", "--json"]])
def test_a_reader_that_goes_away_is_no_fault(yard, words):
    reading, writing = os.pipe()
    os.close(reading)
    with os.fdopen(writing, "wb") as pipe:
        ran = run([yard if word == "YARD" else word for word in words], capture_output=False, stdout=pipe, stderr=-1)
    assert (ran.returncode, ran.stderr) == (0, b"")


def test_ctrl_c_is_one_line_and_130(yard, tmp_path, capsys, monkeypatch):
    from siteplan import cli, plan

    def stopped(*_, **__):
        raise KeyboardInterrupt

    monkeypatch.setattr(plan, "plan_site", stopped)
    assert cli.main(["fill", str(yard), "--out", str(tmp_path / "out")]) == 130
    assert capsys.readouterr() == ("", STOPPED)
    assert not (tmp_path / "out").exists()


@pytest.fixture
def usual_ctrl_c():
    """Let Ctrl-C do what it does in a terminal: a shell's background job ignores it."""
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    yield
    signal.signal(signal.SIGINT, before)


def wait_for_ctrl_c():
    end = time.monotonic() + 60
    while time.monotonic() < end:
        time.sleep(0.001)


@POSIX
@pytest.mark.usefixtures("usual_ctrl_c")
def test_ctrl_c_of_which_a_library_makes_another_error_is_one_line_too(yard, tmp_path, capsys, monkeypatch):
    from siteplan import cli, plan

    def stopped(*_, **__):
        try:
            signal.raise_signal(signal.SIGINT)
        except KeyboardInterrupt:
            raise ImportError("numpy._core.multiarray failed to import") from None

    monkeypatch.setattr(plan, "plan_site", stopped)
    assert cli.main(["fill", str(yard), "--out", str(tmp_path / "out")]) == 130
    assert signal.getsignal(signal.SIGINT) is signal.default_int_handler
    assert capsys.readouterr() == ("", STOPPED)


@POSIX
@pytest.mark.usefixtures("usual_ctrl_c")
def test_ctrl_c_while_an_object_is_deleted_is_not_lost(yard, tmp_path, capsys, monkeypatch):
    from siteplan import cli, plan

    class Deleted:
        def __del__(self):
            signal.raise_signal(signal.SIGINT)  # Python drops what is raised here

    def stopped(*_, **__):
        Deleted()
        wait_for_ctrl_c()

    monkeypatch.setattr(plan, "plan_site", stopped)
    assert cli.main(["fill", str(yard), "--out", str(tmp_path / "out")]) == 130
    assert capsys.readouterr() == ("", STOPPED)


@POSIX
@pytest.mark.usefixtures("usual_ctrl_c")
def test_ctrl_c_that_a_library_prints_is_one_line_too(yard, tmp_path, capsys, monkeypatch):
    from siteplan import cli, plan

    def stopped(*_, **__):
        try:
            signal.raise_signal(signal.SIGINT)
        except KeyboardInterrupt:
            sys.excepthook(*sys.exc_info())  # as PyErr_Print does in numpy's own import, which then goes on
        wait_for_ctrl_c()

    monkeypatch.setattr(plan, "plan_site", stopped)
    hook = sys.excepthook
    assert cli.main(["fill", str(yard), "--out", str(tmp_path / "out")]) == 130
    assert sys.excepthook is hook
    assert capsys.readouterr() == ("", STOPPED)


def test_a_bug_keeps_its_traceback(yard, tmp_path, monkeypatch):
    from siteplan import cli, plan

    def wrong(*_, **__):
        raise ImportError("a bug")

    monkeypatch.setattr(plan, "plan_site", wrong)
    with pytest.raises(ImportError, match="a bug"):
        cli.main(["fill", str(yard), "--out", str(tmp_path / "out")])


@pytest.mark.slow
@POSIX
def test_ctrl_c_at_random_moments_ends_in_one_line(yard, tmp_path):
    chance = random.Random(7)  # noqa: S311  # moments, not secrets
    words = [sys.executable, "-c", "print(flush=True)\nfrom siteplan.cli import main\nimport sys\nsys.exit(main())"]
    for number in range(5):
        out = tmp_path / str(number)
        command = [*words, "plan", str(yard), "--out", str(out)]
        with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as running:
            running.stdout.readline()
            time.sleep(0.4 + chance.uniform(0, 5))  # 0.4 s for the import of the command line itself
            running.send_signal(signal.SIGINT)
            lines = running.communicate(timeout=120)[1].splitlines(keepends=True)
        said = "".join(line for line in lines if not re.fullmatch(r".+ \d+%, \d+ s\n", line))  # progress is told too
        assert (running.returncode, said) in {(130, STOPPED), (0, "")}
        left = sorted(path.name for path in out.rglob("*")) if out.exists() else []
        assert not left or {"plan.json", "map.html"} <= set(left)
        assert not any(name.startswith(".siteplan-") for name in left)
