"""Is nothing lost in an output folder: not what is hers, not the earlier plan, whenever the writing ends?"""

from __future__ import annotations

import errno
import functools
import json
import os
import random
import signal
import subprocess
import sys
import time

import pytest

from siteplan.files.outputs import moving, sound_output
from siteplan.files.outputs.marker import Marker, content, read_marker
from siteplan.files.outputs.output_folder import Kept, finish_earlier, write_folder
from siteplan.files.outputs.sound_output import require_output
from siteplan.land.errors import InputError

DAY = "2026-05-17"
POSIX = pytest.mark.skipif(sys.platform == "win32", reason="links, pipes and signals of POSIX")


def write(text, *names):
    def writer(folder):
        for name in names or ("plan.json",):
            (folder / name).write_text(text)

    return writer


def names(folder):
    return sorted(path.name for path in folder.iterdir())


def change(path, text):
    """Write as she would, at noon of a certain day."""
    path.write_text(text)
    noon = time.mktime(time.strptime(f"{DAY} 12", "%Y-%m-%d %H"))
    os.utime(path, (noon, noon))


@pytest.fixture(params=["in one step", "step by step"])
def way(request, monkeypatch):
    """Move files by the system's exchange, and as where there is none."""
    if request.param == "step by step":
        monkeypatch.setattr(moving, "_in_one_step", lambda *_: False)
    return request.param


def test_new_folder_and_its_replacement(tmp_path, way):
    out = tmp_path / "deep" / "plan"
    assert write_folder(out, write("1")).folder == out
    assert (out / "plan.json").read_text() == "1"
    again = write_folder(out, write("2"))
    assert (again.names, again.kept) == (("plan.json",), ())
    assert (out / "plan.json").read_text() == "2"
    assert names(out) == [".siteplan", "plan.json"]
    assert names(out.parent) == ["plan"]  # nothing is left beside it


def test_the_marker_tells_people_and_lists_what_was_written(tmp_path):
    out = write_folder(tmp_path / "plan", write("1\n")).folder
    marker = json.loads((out / ".siteplan").read_text())
    assert "Everything else in this folder stays" in marker["about"]
    # sha256sum of "1" and a line feed
    digest = "4355a46b19d348dc2f57c046f8ef63d4538ebb936000f3c9ee954a27460dd865"
    assert marker["files"] == {"plan.json": {"size": 2, "sha256": digest}}


@POSIX
def test_what_is_hers_stays_as_it_is(tmp_path, way):
    out = write_folder(tmp_path / "plan", write("1", "plan.json", "sun.csv")).folder
    photos = out / "photos" / "may"
    photos.mkdir(parents=True)
    (photos / "bed.jpg").write_bytes(b"\xff\xd8")
    (out / "notes.txt").write_text("plant beans")
    (out / "notes.txt").chmod(0o600)
    (out / "link").symlink_to("notes.txt")
    (out / "dead").symlink_to("nowhere")
    os.mkfifo(out / "pipe")
    hers = ["photos", "photos/may", "photos/may/bed.jpg", "notes.txt", "link", "dead", "pipe"]

    def states():
        found = [(out / name).lstat() for name in hers]
        return [(one.st_ino, one.st_mode, one.st_mtime_ns, one.st_size) for one in found]

    before = states()
    for whole in (True, False):
        write_folder(out, write("2"), remove_earlier=whole)
        assert states() == before
    assert names(out) == sorted([".siteplan", "plan.json", *{name.split("/")[0] for name in hers}])


def test_a_changed_file_is_kept_beside_the_new_one(tmp_path, way):
    out = write_folder(tmp_path / "plan", write("1", "shopping.csv", "report.html")).folder
    change(out / "shopping.csv", "compost: bought")
    again = write_folder(out, write("2", "shopping.csv", "report.html"))
    kept = f"shopping (yours, {DAY}).csv"
    assert again.kept == (Kept("shopping.csv", kept),)
    assert (out / kept).read_text() == "compost: bought"
    assert (out / "shopping.csv").read_text() == "2"
    change(out / "shopping.csv", "topsoil: bought")
    assert write_folder(out, write("3", "shopping.csv")).kept[0].kept_as == f"shopping (yours, {DAY}, 2).csv"
    assert (out / kept).read_text() == "compost: bought"
    assert (out / f"shopping (yours, {DAY}, 2).csv").read_text() == "topsoil: bought"


@POSIX
@pytest.mark.parametrize("kind", ["dead link", "link", "pipe", "folder"])
def test_whatever_lies_under_an_output_name_is_kept(tmp_path, kind, way):
    out = write_folder(tmp_path / "plan", write("1")).folder
    (out / "plan.json").unlink()
    (tmp_path / "real").write_text("1")  # equal to what was written: it is a link nevertheless
    if kind == "pipe":
        os.mkfifo(out / "plan.json")
    elif kind == "folder":
        (out / "plan.json" / "deep").mkdir(parents=True)
    else:
        (out / "plan.json").symlink_to(tmp_path / ("real" if kind == "link" else "nowhere"))
    before = (out / "plan.json").lstat().st_ino
    (kept,) = write_folder(out, write("2")).kept
    assert (out / kept.kept_as).lstat().st_ino == before
    assert (out / "plan.json").read_text() == "2"
    assert (tmp_path / "real").read_text() == "1"


def test_only_unchanged_files_of_ours_go(tmp_path, way):
    out = write_folder(tmp_path / "plan", write("1", "plan.json", "report.pdf", "light.tif")).folder
    change(out / "report.pdf", "with remarks")
    assert write_folder(out, write("2")).kept == ()
    assert names(out) == [".siteplan", "plan.json", "report.pdf"]
    assert (out / "report.pdf").read_text() == "with remarks"
    (kept,) = write_folder(out, write("3", "report.pdf")).kept  # it was hers all the time
    assert (out / kept.kept_as).read_text() == "with remarks"


def test_one_question_leaves_the_answers_to_others(tmp_path, way):
    out = write_folder(tmp_path / "plan", write("1", "plan.json", "shopping.csv")).folder
    write_folder(out, write("2", "shopping.csv"), remove_earlier=False)
    assert (out / "plan.json").read_text() == "1"
    assert (out / "shopping.csv").read_text() == "2"
    write_folder(out, write("3", "shopping.csv"))  # and still knows that plan.json is its own
    assert names(out) == [".siteplan", "shopping.csv"]


@pytest.mark.parametrize(
    "text",
    [
        "Written by siteplan, which replaces this folder whole when it plans again.\n",  # of an earlier siteplan
        "",
        "[1]",
        '{"files": {"../notes.txt": {"size": 4, "sha256": "x"}}}',
        '{"files": {"/etc/hosts": {"size": 4, "sha256": "x"}}}',
        '{"files": {}, "coming": {"stage": "../elsewhere", "files": {}, "gone": ["notes.txt"]}}',
        '{"files": {}, "coming": {"stage": ".siteplan-/../..", "files": {}, "gone": []}}',
        "[" * 100_000,
        "\0\udcff",
    ],
)
def test_a_marker_that_lists_nothing_gives_nothing_away(tmp_path, text):
    out = tmp_path / "plan"
    out.mkdir()
    (out / ".siteplan").write_bytes(text.encode(errors="surrogateescape"))
    for name in ("plan.json", "sun.csv", "notes.txt"):
        change(out / name, "from before")
    assert read_marker(out) == Marker()
    write_folder(out, write("2"))
    assert names(out) == [".siteplan", "notes.txt", f"plan (yours, {DAY}).json", "plan.json", "sun.csv"]
    assert (out / f"plan (yours, {DAY}).json").read_text() == "from before"


def test_what_equals_the_new_file_needs_no_keeping(tmp_path):
    out = tmp_path / "plan"
    out.mkdir()
    (out / ".siteplan").write_text("Written by siteplan\n")
    (out / "plan.json").write_text("same")
    assert write_folder(out, write("same")).kept == ()
    assert names(out) == [".siteplan", "plan.json"]


def test_failing_writer_leaves_the_old_folder_alone(tmp_path):
    out = write_folder(tmp_path / "plan", write("1")).folder

    def fail(folder):
        (folder / "half.csv").write_text("half")
        raise RuntimeError("disk on fire")

    with pytest.raises(RuntimeError, match="disk on fire"):
        write_folder(out, fail)
    assert (out / "plan.json").read_text() == "1"
    assert names(out) == [".siteplan", "plan.json"]


@pytest.mark.parametrize("there", [True, False])
def test_failing_writer_makes_no_folder(tmp_path, there):
    def fail(folder):
        raise KeyboardInterrupt

    if there:
        (tmp_path / "deep" / "plan").mkdir(parents=True)
    with pytest.raises(KeyboardInterrupt):
        write_folder(tmp_path / "deep" / "plan", fail)
    assert [path.name for path in tmp_path.rglob("*")] == (["deep", "plan"] if there else [])


@pytest.mark.parametrize("error", [OSError(errno.ENOSPC, "No space left on device"), KeyboardInterrupt()])
def test_any_move_that_fails_leaves_all_old_or_all_new(tmp_path, monkeypatch, error, way):
    files = ("a.csv", "b.csv", "c.csv")
    whole = {
        "old": {"a.csv": "1", "b.csv": "hers", "c.csv": "1", "d.csv": "1"},
        "new": {"a.csv": "2", "b.csv": "2", "c.csv": "2", f"b (yours, {DAY}).csv": "hers"},
    }
    for failing in range(5):  # b aside, a and c exchanged, b in, d away
        out = write_folder(tmp_path / str(failing), write("1", *files, "d.csv")).folder
        change(out / "b.csv", "hers")
        with monkeypatch.context() as patch:
            moved = fail_at(patch, failing, error)
            with pytest.raises((InputError, KeyboardInterrupt)) as told:
                write_folder(out, write("2", *files))
        assert len(moved) > failing
        there = {path.name: path.read_text() for path in out.iterdir() if path.name != ".siteplan"}
        if isinstance(error, OSError):
            assert "cannot be written: No space left on device; make room" in str(told.value)
        assert there == whole["old" if isinstance(error, OSError) else "new"]
        marker = read_marker(out)
        assert marker.coming is None
        assert [name for name, entry in marker.files.items() if content(out / name) != entry] == (
            ["b.csv"] if isinstance(error, OSError) else []
        )


def fail_at(patch, failing, error):
    """Let one move fail, by an OSError before it and by another after it, and return a list of those made."""
    moved = []

    def stubborn(move, *paths):
        if len(moved) == failing and isinstance(error, OSError):
            moved.append(paths)
            raise error
        move(*paths)
        moved.append(paths)
        if len(moved) == failing + 1:
            raise error

    for move in (moving.exchange, moving.move_to_free):
        patch.setattr(f"siteplan.files.outputs.output_folder.{move.__name__}", functools.partial(stubborn, move))
    return moved


@pytest.mark.parametrize(
    ("file", "words"),
    [
        ("thesis.doc", "holds files that are not siteplan's"),
        ("plan.json", "holds files that are not siteplan's"),
        ("site.toml", "is a site's folder"),
    ],
)
def test_strangers_are_refused_before_any_work(tmp_path, file, words):
    out = tmp_path / "plan"
    out.mkdir()
    (out / file).write_text("mine")
    with pytest.raises(InputError, match=words):
        write_folder(out, lambda _: pytest.fail("worked for nothing"))
    assert names(out) == [file]
    assert names(tmp_path) == ["plan"]


def test_an_output_folder_that_holds_a_site_is_refused(tmp_path):
    out = write_folder(tmp_path / "plan", write("1")).folder
    deep = out / "yards" / "mine"
    deep.mkdir(parents=True)
    require_output(out)
    (deep / "site.toml").write_text("")
    with pytest.raises(InputError, match=r"plan: holds the site yards.mine; move it elsewhere"):
        require_output(out)
    with pytest.raises(InputError, match=r"plan: holds the site yards.mine; choose"):
        require_output(out, site=deep)


def test_a_site_folder_is_no_output_by_any_way(tmp_path):
    site = tmp_path / "yards" / "mine"
    site.mkdir(parents=True)
    for out in (site, site / "..", site / ".." / "mine", tmp_path):
        with pytest.raises(InputError, match=r"is a site's folder|holds the site"):
            require_output(out, site=site)
    assert require_output(site / "plan", site=site) == site / "plan"
    assert not (site / "plan").exists()


@POSIX
def test_links_in_an_output_are_not_followed_to_a_site(tmp_path):
    out = write_folder(tmp_path / "plan", write("1")).folder
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "site.toml").write_text("")
    (out / "to-site").symlink_to(tmp_path / "mine")
    (out / "round").symlink_to(out)
    require_output(out)


def test_file_in_the_way(tmp_path):
    (tmp_path / "plan").write_text("mine")
    with pytest.raises(InputError, match="is a file"):
        write_folder(tmp_path / "plan", write("1"))
    with pytest.raises(InputError, match="cannot be written"):
        write_folder(tmp_path / "plan" / "deeper", write("1"))


@POSIX
def test_link_is_followed_and_stays(tmp_path):
    real = write_folder(tmp_path / "real", write("1")).folder
    link = tmp_path / "link"
    link.symlink_to(real)
    write_folder(link, write("2"))
    assert link.is_symlink()
    assert (real / "plan.json").read_text() == "2"


def test_folder_and_files_may_be_read_as_others_are(tmp_path):
    (tmp_path / "plain").mkdir()
    (tmp_path / "file").write_text("")
    out = write_folder(tmp_path / "plan", write("1")).folder
    assert out.stat().st_mode == (tmp_path / "plain").stat().st_mode
    assert (out / "plan.json").stat().st_mode == (tmp_path / "file").stat().st_mode
    assert (out / ".siteplan").stat().st_mode == (tmp_path / "file").stat().st_mode


def test_what_file_managers_leave_makes_no_stranger(tmp_path):
    (tmp_path / ".DS_Store").write_text("")
    write_folder(tmp_path, write("1"))
    assert names(tmp_path) == [".DS_Store", ".siteplan", "plan.json"]


def test_a_folder_that_cannot_be_written_to_is_found_out_early(tmp_path, monkeypatch):
    def refuse(dir):  # noqa: A002  # tempfile's own word
        raise PermissionError(errno.EACCES, "Permission denied")

    monkeypatch.setattr(sound_output.tempfile, "TemporaryFile", refuse)
    with pytest.raises(InputError, match="plan: cannot be written: Permission denied"):
        write_folder(tmp_path / "plan", lambda _: pytest.fail("worked for nothing"))
    assert names(tmp_path) == []


def test_a_read_only_disk_is_found_out_early(small_disk):
    out = write_folder(small_disk(200) / "plan", write("1")).folder
    subprocess.run(["mount", "-o", "remount,ro", str(out.parent)], check=True)
    for folder in (out, out.parent / "other"):
        with pytest.raises(InputError, match="cannot be written: Read-only file system"):
            write_folder(folder, lambda _: pytest.fail("worked for nothing"))


def test_a_mount_point_is_an_output_like_others(small_disk):
    out = small_disk(200)
    for text in "12":
        write_folder(out, write(text))
    assert (out / "plan.json").read_text() == "2"


def test_a_full_disk_loses_nothing(small_disk):
    out = write_folder(small_disk(200) / "plan", write("1")).folder
    (out / "notes.txt").write_text("hers")
    with pytest.raises(InputError, match="plan: cannot be written: No space left on device; make room"):
        write_folder(out, write("2" * 300_000))
    with pytest.raises(InputError, match="No space left"):
        write_folder(out.parent / "new" / "plan", write("2" * 300_000))
    assert names(out) == [".siteplan", "notes.txt", "plan.json"]
    assert names(out.parent) == ["plan"]
    assert (out / "plan.json").read_text() == "1"
    write_folder(out, write("2"))


def test_what_a_killed_run_left_is_cleared_and_nothing_else(tmp_path):
    out = write_folder(tmp_path / "plan", write("1")).folder
    left, hers = out / ".siteplan-abcd1234", out / ".siteplan-notes"
    for folder in (left / "new", left / "old", hers / "new"):
        folder.mkdir(parents=True)
        (folder / "sun.csv").write_text("half")
    (hers / "thoughts.txt").write_text("hers")
    with moving.held(left, wait=False) as alive:
        assert alive
        write_folder(out, write("2"))
        assert left.is_dir()  # its process is at work
    write_folder(out, write("3"))
    assert names(out) == [".siteplan", ".siteplan-notes", "plan.json"]
    assert sorted(path.name for path in hers.rglob("*")) == ["new", "sun.csv", "thoughts.txt"]


def test_a_plan_that_an_earlier_siteplan_left_aside_is_put_back(tmp_path):
    aside = tmp_path / ".pl[a]n-old-abcd1234" / "pl[a]n"
    aside.mkdir(parents=True)
    (aside / ".siteplan").write_text("Written by siteplan, which replaces this folder whole when it plans again.\n")
    (aside / "notes.txt").write_text("beans")
    change(aside / "plan.json", "from before")
    strangers = tmp_path / ".pl[a]n-old-strange1" / "other"
    strangers.mkdir(parents=True)
    out = write_folder(tmp_path / "pl[a]n", write("2")).folder
    assert names(out) == [".siteplan", "notes.txt", f"plan (yours, {DAY}).json", "plan.json"]
    assert names(tmp_path) == [strangers.parent.name, "pl[a]n"]


FILES = ("a.csv", "b.csv", "c.csv", "d.csv")
#: writes an output that ends before the nth line of the modules that move files, for each n; prints how often the
#: earlier plan was there, how often the new one, and how often it was for the next run to finish
ENDED_AT_A_LINE = """
import os, signal, sys
from pathlib import Path
from siteplan.files.outputs import marker, moving, output_folder

def writer(text):
    def write(folder):
        for name in ("a.csv", "b.csv", "c.csv"):
            (folder / name).write_text(text)
    return write

def child(out, last):
    count = 0
    ours = {module.__file__ for module in (marker, moving, output_folder)}
    def each(frame, event, argument):
        nonlocal count
        if frame.f_code.co_filename not in ours:
            return None
        count += event == "line"
        if count > last:
            if how == "killed":
                os.kill(os.getpid(), signal.SIGKILL)
            raise KeyboardInterrupt
        return each
    sys.settrace(each)
    try:
        output_folder.write_folder(out, writer("2"))
    except KeyboardInterrupt:
        os._exit(1)
    os._exit(0)

def sign(path):
    found = path.stat()
    return found.st_ino, found.st_size, found.st_mtime_ns, found.st_mode

def states(out):
    return {path.name: path.read_text() for path in out.iterdir() if path.is_file() and path.name != ".siteplan"}

root, way, how = Path(sys.argv[1]), sys.argv[2], sys.argv[3]
os.fsync = lambda _: None  # the machine itself goes on: no need to wait for the disk
if way == "step by step":
    moving._in_one_step = lambda *_: False
OLD = {"a.csv": "1", "b.csv": "hers", "c.csv": "1", "d.csv": "1", "notes.txt": "beans"}
NEW = {"a.csv": "2", "b.csv": "2", "c.csv": "2", "b (yours, 2026-05-17).csv": "hers", "notes.txt": "beans"}
old = new = between = 0
for last in range(0, 100_000, int(sys.argv[4])):
    out = root / str(last)
    def first(folder):
        writer("1")(folder)
        (folder / "d.csv").write_text("1")
    output_folder.write_folder(out, first)
    (out / "b.csv").write_text("hers")
    os.utime(out / "b.csv", (1_779_019_200, 1_779_019_200))
    (out / "notes.txt").write_text("beans")
    notes = sign(out / "notes.txt")
    process = os.fork()
    if not process:
        child(out, last)
    ended = os.waitpid(process, 0)[1]
    there = states(out)
    if there == OLD: old += 1
    elif there == NEW: new += 1
    else:
        between += 1
        assert marker.read_marker(out).coming is not None, there
        for name, text in there.items():
            assert text in {OLD.get(name), NEW.get(name)}, there
        assert way == "step by step" or set("abc") <= {name[0] for name in there}, there
    assert sign(out / "notes.txt") == notes
    output_folder.finish_earlier(out)
    there = states(out)
    assert there in (OLD, NEW), (last, there)
    assert [path for path in out.iterdir() if path.is_dir()] == [], last
    assert marker.read_marker(out).coming is None
    assert sign(out / "notes.txt") == notes
    if not ended:
        break
print(old, new, between)
"""


@POSIX
@pytest.mark.parametrize("way", ["in one step", "step by step"])
@pytest.mark.parametrize(
    ("how", "every"),
    [
        ("killed", 41),
        ("interrupted", 41),
        *(pytest.param(*one, marks=pytest.mark.slow) for one in (("killed", 1), ("interrupted", 5))),
    ],
)
def test_ended_at_any_line_all_is_old_or_new_and_hers_is_there(tmp_path, way, how, every):
    words = [sys.executable, "-c", ENDED_AT_A_LINE, str(tmp_path), way, how, str(every)]
    ran = subprocess.run(words, capture_output=True, text=True, check=False)
    assert ran.returncode == 0, ran.stderr
    old, new, between = map(int, ran.stdout.split())
    assert min(old, new) > 0  # it was ended before and after the moves, and amid them, where a kill leaves it so
    assert between > 0 or how == "interrupted" or every > 1


WRITES = """
import sys
from siteplan.files.outputs.output_folder import write_folder
for text in sys.argv[2]:
    def writer(folder):
        for name in ("a.csv", "b.csv", "c.csv", "d.csv"):
            (folder / name).write_text(text * 20_000)
    write_folder(sys.argv[1], writer)
"""


def texts(out):
    return {(out / name).read_text()[:1] for name in FILES}


@pytest.mark.slow
@POSIX
def test_killed_at_random_moments_all_is_old_or_new_and_hers_is_there(tmp_path):
    out = tmp_path / "plan"
    subprocess.run([sys.executable, "-c", WRITES, str(out), "1"], check=True)
    (out / "notes.txt").write_text("beans")
    chance = random.Random(20)  # noqa: S311  # moments, not secrets
    for _ in range(20):
        with subprocess.Popen([sys.executable, "-c", WRITES, str(out), "12" * 500]) as running:
            time.sleep(chance.uniform(0.1, 0.6))
            running.send_signal(signal.SIGKILL)
        assert all(len(set((out / name).read_text())) == 1 for name in FILES)
        assert all((out / name).stat().st_size == 20_000 for name in FILES)
        finish_earlier(out)
        assert len(texts(out)) == 1
        assert (out / "notes.txt").read_text() == "beans"
        assert names(out) == [".siteplan", *FILES, "notes.txt"]


def test_two_runs_at_once_do_not_tear_each_other(tmp_path):
    out = tmp_path / "new" / "plan"
    runs = [subprocess.Popen([sys.executable, "-c", WRITES, str(out), text * 15]) for text in "123"]
    assert [run.wait() for run in runs] == [0, 0, 0]
    assert len(texts(out)) == 1
    assert names(out) == [".siteplan", *FILES]
