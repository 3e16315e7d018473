"""The list of steps by itself: what is undone and redone, kept, let go of, and believed when it is read again."""

from __future__ import annotations

import json

import pytest

from siteplan.draw import history as history_module
from siteplan.draw.history import FOLDER, LARGEST, History, Step, hash_of, is_within

A, B, C = (letter * 64 for letter in "abc")


def steps(*says, position=0):
    made = [Step(one, "2026-01-01T00:00:00+00:00", {"site.toml": A}) for one in says]
    return History(None, made, position)


def test_the_words_of_undo_and_redo():
    for position, undo, redo in ((0, None, "b"), (1, "b", "c"), (2, "c", None)):
        found = steps("a", "b", "c", position=position)
        assert (found.undo, found.redo) == (undo, redo)


def test_a_step_takes_the_place_of_those_that_were_undone():
    found = steps("a", "b", "c", position=1)
    found.add("  moved\n the   bed ", {"site.toml": B})
    assert [one.says for one in found.steps] == ["a", "b", "moved the bed"]
    assert (found.position, found.now) == (2, {"site.toml": B})
    found.add("x" * 201, {})
    assert len(found.steps[-1].says) == 200
    assert found.steps[-1].time.endswith("+00:00")
    assert len(found.steps[-1].time) == 25  # to the second


@pytest.fixture
def stored(tmp_path):
    (tmp_path / FOLDER).mkdir()
    return History.of(tmp_path)


def test_a_version_is_kept_once_by_its_hash(stored):
    name = stored.keep(b"abc")
    assert name == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"  # FIPS 180-4's own example
    assert stored.keep(b"abc") == name
    assert [path.name for path in stored.folder.iterdir()] == [f"{name}.z"]
    assert stored.content(name) == b"abc"
    assert stored.content(A) is None
    (stored.folder / f"{A}.z").write_bytes((stored.folder / f"{name}.z").read_bytes())
    assert stored.content(A) is None  # it holds something else
    (stored.folder / f"{name}.z").write_bytes(b"no zip")
    assert stored.content(name) is None


def test_what_unfolds_beyond_the_largest_file_is_not_believed(stored, monkeypatch):
    monkeypatch.setattr(history_module, "LARGEST", 3)
    assert LARGEST == 50_000_000
    assert stored.content(stored.keep(b"abc")) == b"abc"
    assert stored.content(stored.keep(b"abcd")) == b"abcd"  # one more is read, to see that there is more
    assert stored.content(stored.keep(b"abcde")) is None


def saved(stored, count, position):
    names = [stored.keep(bytes([number]) * 3) for number in range(count)]
    stored.steps = [Step(str(number), "t", {"site.toml": name}) for number, name in enumerate(names)]
    stored.position = position
    stored.save(lasting=False)
    return [one.says for one in stored.steps], stored.position, len(list(stored.folder.glob("*.z")))


def test_two_hundred_steps_can_be_undone(stored):
    says, position, files = saved(stored, 201, 200)
    assert (len(says), says[0], position, files) == (201, "0", 200, 201)
    says, position, files = saved(stored, 203, 202)
    assert (len(says), says[0], position, files) == (201, "2", 200, 201)


def test_the_present_step_stays_however_many_could_be_redone(stored):
    says, position, _ = saved(stored, 205, 1)
    assert (says[0], len(says), position) == ("1", 204, 0)


def test_stored_bytes_are_bounded(stored, monkeypatch):
    one = (stored.folder / f"{stored.keep(bytes([0]) * 3)}.z").stat().st_size
    monkeypatch.setattr(history_module, "MOST_BYTES", 3 * one)
    assert saved(stored, 3, 2)[:2] == (["0", "1", "2"], 2)
    assert saved(stored, 5, 4) == (["2", "3", "4"], 2, 3)
    monkeypatch.setattr(history_module, "MOST_BYTES", 1)
    assert saved(stored, 3, 1)[:2] == (["1", "2"], 0)


def test_what_is_being_written_is_kept(stored):
    before, after = stored.keep(b"before"), stored.keep(b"after")
    stored.steps = [Step("a", "t", {"site.toml": before})]
    stored.writing = ({"site.toml": before}, {"site.toml": after})
    stored.save()
    assert stored.content(after) == b"after"
    again = History.of(stored.folder.parent)
    assert again.writing == stored.writing
    assert again.steps == stored.steps
    again.writing = None
    again.save()
    assert again.content(after) is None
    assert History.of(stored.folder.parent).writing is None


SOUND = {"steps": [{"says": "a", "time": "t", "files": {"site.toml": A}}] * 3, "position": 1, "writing": None}


def read(folder, document, **change):
    (folder / FOLDER).mkdir(exist_ok=True)
    (folder / FOLDER / "steps.json").write_text(json.dumps(document | change))
    return History.of(folder)


def test_a_list_that_is_read_again(tmp_path):
    found = read(tmp_path, SOUND)
    assert (len(found.steps), found.position, found.writing) == (3, 1, None)
    assert read(tmp_path, SOUND, position=2).position == 2
    assert read(tmp_path, SOUND, position=-1).position == 2
    found = read(tmp_path, SOUND, writing=[{"site.toml": A}, {"features.geojson": B}])
    assert found.writing == ({"site.toml": A}, {"features.geojson": B})


@pytest.mark.parametrize("change", [
    {"position": 3}, {"position": -4}, {"position": "1"}, {"steps": []}, {"steps": 5}, {"steps": [{"says": "a"}]},
    {"writing": [{"site.toml": A}]}, {"writing": [{"site.toml": A}, {"site.toml": "x"}]},
    {"steps": [{"says": "a", "time": "t", "files": {"site.toml": "a" * 63}}] * 3},
    {"steps": [{"says": "a", "time": "t", "files": {"site.toml": "A" * 64}}] * 3},
    {"steps": [{"says": "a", "time": "t", "files": {"run.sh": A}}] * 3},
    {"steps": [{"says": "a", "time": "t", "files": {"../a.json": A}}] * 3},
])  # fmt: skip
def test_a_list_that_is_not_believed(tmp_path, change):
    found = read(tmp_path, SOUND, **change)
    assert (found.steps, found.position) == ([], 0)


def test_a_list_that_is_too_long_or_a_link_is_not_read(tmp_path):
    read(tmp_path, SOUND)
    path = tmp_path / FOLDER / "steps.json"
    text = path.read_text()
    path.write_text(text + " " * (10_000_000 - len(text)))
    assert len(History.of(tmp_path).steps) == 3
    path.write_text(text + " " * (10_000_001 - len(text)))
    assert History.of(tmp_path).steps == []
    path.unlink()
    (tmp_path / "elsewhere").write_text(text)
    path.symlink_to(tmp_path / "elsewhere")
    assert History.of(tmp_path).steps == []
    assert History.of(tmp_path / "none").steps == []


@pytest.mark.parametrize(("name", "within"), [
    ("a.json", True), ("b/a.json", True), ("./a", True), ("", False), (".", False), ("..", False), ("b/../a", False), ("b\\..\\a", False),
    ("/a", False), ("\\a", False), ("C:a", False), ("C:\\a", False), ("//host/share/a", False), ("out/a", False),
])  # fmt: skip
def test_names_within_a_folder(tmp_path, name, within):
    (tmp_path / "site").mkdir()
    (tmp_path / "site" / "out").symlink_to(tmp_path)
    assert is_within(name, tmp_path / "site") is within


def test_a_hash_is_sha_256():
    assert hash_of(b"") == "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"
