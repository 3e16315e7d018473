"""Is every state of a property whole, through crashes, restarts, other hands and full histories?"""

from __future__ import annotations

import errno
import json
import os
import random
import re
import shutil
import signal
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest

from siteplan.draw import history as history_module
from siteplan.draw import property_files
from siteplan.draw.history import FOLDER, MOST_STEPS, History
from siteplan.draw.property import Property
from siteplan.draw.property_files import PropertyFiles, StaleError, State
from siteplan.files.outputs import replacing
from siteplan.files.reader import check_site
from siteplan.land.errors import InputError

from .saving import both

SAVING = Path(__file__).with_name("saving.py")


def note(files: PropertyFiles, text: str, base: str | None = None) -> State:
    """Add a comment to site.toml as one step."""
    now = files.now()
    changes = {"site.toml": now.files["site.toml"] + f"# {text}\n".encode()}
    return files.write(base or now.version, changes, text)


def step_of(folder: Path) -> tuple[int, int, int | None]:
    """Return the numbers of the steps that the files say they are of."""
    settings = (folder / "site.toml").read_text(encoding="utf-8")
    features = (folder / "features.geojson").read_text(encoding="utf-8")
    found = re.search(r"# step (\d+)\n$", settings)
    spaces = re.search(r"\n\n( *)\n$", features)
    path = folder / "variants" / "a.json"
    variant = int(json.loads(path.read_text())["removed"][0].split()[1]) if path.exists() else None
    return (int(found[1]) if found else 0), (len(spaces[1]) if spaces else 0), variant


def others(folder: Path) -> list[str]:
    """Return what lies in the folder beside the property and its history."""
    mine = {"site.toml", "features.geojson", "variants", FOLDER}
    return sorted(path.name for path in folder.iterdir() if path.name not in mine)


@pytest.fixture
def no_waiting(monkeypatch):
    """Let no file wait for the disk, where there are hundreds of them."""
    monkeypatch.setattr(replacing, "sync", lambda path: None)  # noqa: ARG005


def test_two_hundred_steps_are_undone_and_done_again(yard, no_waiting):
    files = PropertyFiles(yard)
    states = [files.now(), *(note(files, f"step {number}") for number in range(MOST_STEPS))]
    for number in reversed(range(MOST_STEPS)):
        state = files.undo(files.now().version)
        assert state.files == states[number].files
        assert state.redo == f"step {number}"
    assert state.undo is None
    with pytest.raises(InputError, match="there is no step to undo"):
        files.undo(state.version)
    for number in range(MOST_STEPS):
        assert files.redo(files.now().version).version == states[number + 1].version
    with pytest.raises(InputError, match="there is no step to do again"):
        files.redo(files.now().version)


def test_older_steps_are_let_go_of_and_what_they_kept(yard, no_waiting):
    files = PropertyFiles(yard)
    for number in range(MOST_STEPS + 10):
        note(files, f"step {number}")
    history = History.of(yard)
    assert len(history.steps) == MOST_STEPS + 1
    assert history.steps[0].says == "step 9"
    kept = {path.name for path in (yard / FOLDER).iterdir()}
    assert len(kept) == MOST_STEPS + 3  # one of the features, and the list


def test_only_versions_of_its_own_are_taken_away(yard):
    """What somebody keeps in the history's folder stays, however its name ends."""
    files = PropertyFiles(yard)
    note(files, "one")
    own = next((yard / FOLDER).glob("*.z"))
    unneeded = yard / FOLDER / f"{'0' * 64}.z"
    hers = [yard / FOLDER / name for name in ("notes.z", own.stem[:-1], f"{own.stem}.txt", "a" * 64)]
    for path in (unneeded, *hers):
        path.write_text("beans")
    note(files, "two")
    assert not unneeded.exists()
    assert [path.read_text() for path in hers] == ["beans"] * 4
    assert own.exists()


def test_the_history_is_bounded_on_disk(yard, monkeypatch):
    monkeypatch.setattr(history_module, "MOST_BYTES", 100_000)
    files = PropertyFiles(yard)
    chance = random.Random(1)  # noqa: S311  # text that does not pack well
    start = files.now().files["site.toml"]
    for _ in range(12):
        text = start + f"# {chance.randbytes(15_000).hex()}\n".encode()
        files.write(files.now().version, {"site.toml": text}, "note")
    size = sum(path.stat().st_size for path in (yard / FOLDER).glob("*.z"))
    assert 80_000 < size <= 100_000
    steps = len(History.of(yard).steps)
    assert 3 < steps < 12
    for _ in range(steps - 1):
        state = files.undo(files.now().version)
    assert state.undo is None


def test_undo_and_its_words_outlive_a_restart(yard):
    first = Property(yard)
    view = first.view()
    moved = first.edit(view["version"], "removed plum", remove=["plum"])
    again = Property(yard)
    assert again.view()["undo"] == "removed plum"
    back = again.undo(moved["version"])
    assert (back["features"], back["undo"], back["redo"]) == (view["features"], None, "removed plum")
    assert Property(yard).redo(back["version"])["features"] == moved["features"]


def test_a_new_step_ends_what_was_undone(yard):
    files = PropertyFiles(yard)
    note(files, "one")
    files.undo(files.now().version)
    assert note(files, "two").redo is None


def test_every_step_has_its_time_and_words_of_one_line(yard):
    files = PropertyFiles(yard)
    files.write(files.now().version, {"site.toml": b"name = 'x'"}, "moved\n  maple " + "x" * 500)
    step = History.of(yard).steps[-1]
    assert step.says.startswith("moved maple xx")
    assert len(step.says) == 200
    assert re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\+00:00", step.time)


def test_what_another_hand_changes_is_a_step_of_its_own(yard):
    files = PropertyFiles(yard)
    note(files, "ours")
    before = files.now()
    (yard / "features.geojson").write_bytes(before.files["features.geojson"] + b"\n")
    with pytest.raises(StaleError) as stale:
        note(files, "later", base=before.version)
    assert stale.value.state.undo == "changed outside"
    state = files.now()
    assert state.version == stale.value.state.version != before.version
    back = files.undo(state.version)
    assert (back.files, back.undo, back.redo) == (before.files, "ours", "changed outside")
    assert files.redo(back.version).files == state.files


def test_what_changed_while_nobody_looked_is_a_step(yard):
    note(PropertyFiles(yard), "ours")
    text = (yard / "site.toml").read_text()
    (yard / "site.toml").write_text(text + "# theirs\n")
    (yard / "variants").mkdir()
    (yard / "variants" / "x.json").write_text("{}")
    files = PropertyFiles(yard)
    assert files.now().undo == "changed outside"
    files.undo(files.now().version)
    assert (yard / "site.toml").read_text() == text
    assert not (yard / "variants" / "x.json").exists()


def test_a_features_file_that_is_gone_comes_back(yard):
    files = PropertyFiles(yard)
    before = files.now()
    (yard / "features.geojson").unlink()
    gone = files.now()
    assert gone.undo == "changed outside"
    assert files.undo(gone.version).files == before.files
    (yard / "features.geojson").unlink()
    opened = Property(yard)
    tap = {
        "type": "Feature",
        "id": "t",
        "properties": {"kind": "tap"},
        "geometry": {"type": "Point", "coordinates": [1, 2]},
    }
    assert len(opened.edit(opened.view()["version"], "drew tap", put=[tap])["features"]) == 1


def test_what_cannot_be_read_again_is_never_written(yard):
    files = PropertyFiles(yard)
    before = files.now()
    for name, content in {
        "site.toml": b"name = ",
        "features.geojson": b'{"features": [}',
        "variants/a.json": b"[]",
    }.items():
        with pytest.raises(InputError, match="any more"):
            files.write(before.version, {name: content, "variants/b.json": b"{}"}, "broke it")
    with pytest.raises(InputError, match="any more"):
        files.write(before.version, {"features.geojson": b"\xff"}, "broke it")
    assert files.now() == before
    assert not (yard / "variants").exists()


def test_undo_goes_past_what_cannot_be_read(yard):
    files = PropertyFiles(yard)
    before = note(files, "ours")
    (yard / "site.toml").write_text("name = ")
    files.now()
    (yard / "site.toml").write_bytes(before.files["site.toml"] + b"# theirs\n")
    state = files.now()
    assert files.undo(state.version).files == before.files


def moments(monkeypatch, stop_at: int) -> list[str]:
    """Have the writing of files stop dead at the step of that number; return the list of what was written."""
    written: list[str] = []
    real = property_files.write_over

    def write_over(path: Path, content: bytes, *, lasting: bool = True) -> None:
        if len(written) == stop_at:
            raise KeyboardInterrupt
        written.append(path.name)
        real(path, content, lasting=lasting)

    monkeypatch.setattr(property_files, "write_over", write_over)
    monkeypatch.setattr(history_module, "write_over", write_over)
    return written


def test_stopped_between_any_two_writes_the_property_is_whole(yard, monkeypatch):
    files = PropertyFiles(yard)
    files.write(files.now().version, both(files, 1), "step 1")
    for stop_at in range(20):
        (number,) = {step_of(yard)[0]}
        with monkeypatch.context() as patch:
            written = moments(patch, stop_at)
            try:
                files.write(files.now().version, both(files, number + 1), "step")
                done = True
            except KeyboardInterrupt:
                done = False
        state = PropertyFiles(yard).now()
        settings, features, variant = step_of(yard)
        assert settings == features in {number, number + 1}
        assert variant == (settings if settings % 2 else None)
        assert state.undo.startswith("step")
        if done:
            break
    assert done
    assert {"site.toml", "features.geojson", "steps.json"} <= set(written)


def test_a_full_disk_leaves_all_as_it_was(yard, monkeypatch):
    files = PropertyFiles(yard)
    note(files, "ours")
    before = files.now()
    real = property_files.write_over

    def full(path: Path, content: bytes) -> None:
        if path.name == "site.toml" and b"step" in content:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC), str(path))
        real(path, content)

    monkeypatch.setattr(property_files, "write_over", full)
    with pytest.raises(InputError, match="No space left on device"):
        files.write(before.version, both(files, 3), "step 3")
    assert files.now() == before
    assert PropertyFiles(yard).now() == before


def test_what_is_changed_in_the_very_moment_is_not_lost(yard, monkeypatch):
    files = PropertyFiles(yard)
    before = files.now()
    real = property_files.write_over
    theirs = b"# written by somebody in that moment\n" + before.files["site.toml"]

    def beside(path: Path, content: bytes) -> None:
        real(path, content)
        if path.name == "features.geojson" and b"\n\n" in content:
            (yard / "site.toml").write_bytes(theirs)

    monkeypatch.setattr(property_files, "write_over", beside)
    with pytest.raises(StaleError):
        files.write(before.version, both(files, 3), "step 3")
    assert (yard / "site.toml").read_bytes() == theirs
    assert (yard / "features.geojson").read_bytes() == before.files["features.geojson"]
    assert files.now().undo == "changed outside"


@pytest.mark.slow
def test_killed_in_the_middle_of_fifty_saves_it_is_the_old_or_the_new(yard):
    chance = random.Random(20)  # noqa: S311  # moments, no secrets
    number = 0
    env = {**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])}
    words = [sys.executable, str(SAVING), str(yard)]
    with subprocess.Popen(words, stdin=subprocess.PIPE, stdout=subprocess.PIPE, env=env, text=True) as saving:
        assert saving.stdin is not None
        assert saving.stdout is not None
        for _ in range(50):
            saving.stdin.write(f"{number + 1}\n")
            saving.stdin.flush()
            child, first = int(saving.stdout.readline()), int(saving.stdout.readline())
            time.sleep(chance.uniform(0, 0.05))
            os.kill(child, signal.SIGKILL)
            told = [first, *map(int, iter(lambda: saving.stdout.readline().strip(), "ended"))]
            state = PropertyFiles(yard).now()
            settings, features, variant = step_of(yard)
            assert settings == features  # both files are of one step
            assert settings in {told[-1], told[-1] + 1}  # the last that was told, or the one that was being written
            assert variant == (settings if settings % 2 else None)
            assert state.undo == f"step {settings}"
            assert others(yard) == []
            assert check_site(yard).site is not None
            number = settings
    assert number > 50


@pytest.mark.slow
def test_two_processes_at_once_lose_nothing(yard):
    env = {**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])}
    code = (
        "import sys\nfrom siteplan.draw.property_files import PropertyFiles, StaleError\n"
        "files = PropertyFiles(sys.argv[1])\nfor number in range(40):\n    while True:\n"
        "        now = files.now()\n        text = now.files['site.toml'] + f'# {sys.argv[2]} {number}\\n'.encode()\n"
        "        try:\n            files.write(now.version, {'site.toml': text}, 'note')\n            break\n"
        "        except StaleError:\n            pass\n"
    )
    running = [subprocess.Popen([sys.executable, "-c", code, str(yard), name], env=env) for name in ("a", "b")]
    assert [one.wait(timeout=120) for one in running] == [0, 0]
    text = (yard / "site.toml").read_text()
    for name in ("a", "b"):
        assert re.findall(rf"# {name} (\d+)\n", text) == [str(number) for number in range(40)]
    assert len(History.of(yard).steps) == 81


def test_threads_wait_for_each_other(yard):
    files = PropertyFiles(yard)

    def work(name: str) -> None:
        for number in range(10):
            while True:
                try:
                    note(files, f"{name} {number}", base=files.now().version)
                    break
                except StaleError:
                    continue

    threads = [threading.Thread(target=work, args=(name,)) for name in "abc"]
    for one in threads:
        one.start()
    for one in threads:
        one.join()
    text = (yard / "site.toml").read_text()
    assert all(f"# {name} {number}\n" in text for name in "abc" for number in range(10))


def tampered(yard: Path, **changes: object) -> None:
    """Write a list of steps that siteplan never wrote."""
    PropertyFiles(yard)
    path = yard / FOLDER / "steps.json"
    path.write_text(json.dumps(json.loads(path.read_text()) | changes))


@pytest.mark.parametrize("name", ["../../escaped.json", "/escaped.json", "notes.txt", "link/escaped.json", ".x/y.sh"])
def test_a_stranger_s_history_writes_nothing_else(yard, name):
    outside = yard.parent / "outside"
    outside.mkdir()
    (yard / "link").symlink_to(outside)
    PropertyFiles(yard)
    history = History.of(yard)
    content = history.keep(b"{}")
    tampered(yard, writing=[{}, {name: content}])
    PropertyFiles(yard)
    assert list(outside.iterdir()) == []
    assert not (yard.parent.parent / "escaped.json").exists()
    assert sorted(path.name for path in yard.iterdir()) == [FOLDER, "features.geojson", "link", "site.toml"]


def test_links_in_a_stranger_s_folder_lead_nowhere(yard):
    outside = yard.parent / "precious.txt"
    outside.write_text("precious")
    (yard / FOLDER).mkdir()
    (yard / FOLDER / "steps.json").symlink_to(outside)
    note(PropertyFiles(yard), "ours")
    assert outside.read_text() == "precious"
    waiting = property_files.waiting_version(yard / "site.toml")
    waiting.symlink_to(outside)
    note(PropertyFiles(yard), "ours")
    assert outside.read_text() == "precious"
    elsewhere = yard.parent / "elsewhere"
    elsewhere.mkdir()
    other = yard.parent / "other"
    other.mkdir()
    (other / "site.toml").write_text("name = 'x'")
    (other / FOLDER).symlink_to(elsewhere)
    with pytest.raises(InputError, match="is a link"):
        PropertyFiles(other)
    assert list(elsewhere.iterdir()) == []


def test_a_damaged_history_begins_anew_and_the_property_stays(yard):
    before = note(PropertyFiles(yard), "ours")
    for text in ("", "[]", "{", '{"steps": [], "position": 0, "writing": null}', "[" * 100_000):
        (yard / FOLDER / "steps.json").write_text(text)
        state = PropertyFiles(yard).now()
        assert state.files == before.files
        assert state.undo is None
    note(PropertyFiles(yard), "more")
    for path in (yard / FOLDER).glob("*.z"):
        path.write_bytes(b"damaged")
    files = PropertyFiles(yard)
    with pytest.raises(InputError, match="no step to undo"):
        files.undo(files.now().version)


def test_commands_are_not_disturbed_by_the_history(yard):
    from siteplan.cli import main

    note(PropertyFiles(yard), "ours")
    assert main(["check", str(yard), "--quiet"]) == 0
    assert main(["fill", str(yard), "--quiet"]) == 0
    assert main(["fill", str(yard), "--quiet"]) == 0
    assert (yard / FOLDER / "steps.json").is_file()
    assert main(["fill", str(yard), "--quiet", "--out", str(yard / FOLDER)]) == 2


def test_the_folder_is_for_this_alone_and_its_names_are_taken_by_every_system(yard):
    note(PropertyFiles(yard), "ours")
    names = [path.name for path in (yard / FOLDER).iterdir()]
    assert all(re.fullmatch(r"[0-9a-f]{64}\.z|steps\.json", name) for name in names)


def test_without_a_site_or_without_leave_to_write_it_says_so(tmp_path, yard):
    with pytest.raises(InputError, match="start a site with: siteplan new"):
        PropertyFiles(tmp_path / "nowhere")
    (yard / FOLDER).write_text("a file")
    with pytest.raises(InputError, match="cannot be written"):
        PropertyFiles(yard)


def test_settings_that_are_gone_are_told_and_a_history_that_is_gone_begins_anew(yard):
    files = PropertyFiles(yard)
    before = note(files, "ours")
    (yard / "site.toml").unlink()
    with pytest.raises(InputError, match="is not there any more; put it back"):
        files.now()
    (yard / "site.toml").write_bytes(before.files["site.toml"])
    assert files.now() == before
    shutil.rmtree(yard / FOLDER)
    again = files.now()
    assert (again.version, again.undo) == (before.version, None)
    assert note(files, "more").undo == "more"
