"""How files are moved and locked, with and without the system's own calls; and which names a marker may hold."""

from __future__ import annotations

import errno
import json
import os
import sys
from pathlib import Path

import pytest

from siteplan.files.outputs import moving
from siteplan.files.outputs.marker import Coming, Content, Marker, content, read_marker, write_marker
from siteplan.files.outputs.moving import _EXCHANGE, _EXCHANGE_MAC, _NEW, _NEW_MAC, _in_one_step, exchange, held, sync
from siteplan.files.outputs.sound_output import _site_inside
from siteplan.files.outputs.writable import write_new
from siteplan.land.errors import InputError

on_linux = pytest.mark.skipif(sys.platform != "linux", reason="Linux's own calls")


@pytest.fixture
def pair(tmp_path):
    one, other = tmp_path / "one", tmp_path / "other"
    one.write_text("1")
    other.write_text("2")
    return one, other


@on_linux
def test_linux_exchanges_two_files_in_one_step(pair):
    """renameat2(2): flag 1 replaces nothing, flag 2 exchanges."""
    one, other = pair
    assert _in_one_step(one, other, _EXCHANGE, _EXCHANGE_MAC) is True
    assert (one.read_text(), other.read_text()) == ("2", "1")
    free = one.with_name("free")
    assert _in_one_step(one, free, _NEW, _NEW_MAC) is True
    assert free.read_text() == "2"
    assert not one.exists()
    with pytest.raises(FileExistsError):
        _in_one_step(free, other, _NEW, _NEW_MAC)
    with pytest.raises(FileNotFoundError):
        _in_one_step(one, other, _EXCHANGE, _EXCHANGE_MAC)


class Mac:
    """Stands in for the C library of macOS."""

    def __init__(self, result=0):
        self.result, self.asked = result, []

    def renamex_np(self, old, new, flag):
        self.asked.append((old, new, flag))
        return self.result


@pytest.mark.parametrize(("flags", "flag"), [((_NEW, _NEW_MAC), 4), ((_EXCHANGE, _EXCHANGE_MAC), 2)])
def test_macos_has_its_own_call(monkeypatch, flags, flag):
    """renamex_np(2): RENAME_EXCL is 4, RENAME_SWAP is 2."""
    system = Mac()
    monkeypatch.setattr(moving, "_system", lambda: system)
    assert _in_one_step(Path("a"), Path("b"), *flags) is True
    assert system.asked == [(b"a", b"b", flag)]


@pytest.mark.parametrize("number", [errno.ENOSYS, errno.EINVAL, errno.ENOTSUP, errno.EOPNOTSUPP])
def test_a_disk_without_the_call(monkeypatch, number):
    monkeypatch.setattr(moving, "_system", lambda: Mac(-1))
    monkeypatch.setattr(moving.ctypes, "get_errno", lambda: number)
    assert _in_one_step(Path("a"), Path("b"), 2, 2) is False


def test_another_error_of_the_call_is_raised(monkeypatch):
    monkeypatch.setattr(moving, "_system", lambda: Mac(-1))
    monkeypatch.setattr(moving.ctypes, "get_errno", lambda: errno.EXDEV)
    with pytest.raises(OSError, match="'a' -> 'b'") as caught:
        _in_one_step(Path("a"), Path("b"), 2, 2)
    assert caught.value.errno == errno.EXDEV


@pytest.mark.parametrize("system", [None, object()])
def test_a_system_without_any_call_moves_step_by_step(monkeypatch, pair, system):
    monkeypatch.setattr(moving, "_system", lambda: system)
    one, other = pair
    assert _in_one_step(one, other, 2, 2) is False
    exchange(one, other, one.with_name("spare"))
    assert (one.read_text(), other.read_text()) == ("2", "1")
    assert sorted(path.name for path in one.parent.iterdir()) == ["one", "other"]
    with pytest.raises(FileExistsError):
        exchange(one, other, one)
    assert (one.read_text(), other.read_text()) == ("2", "1")


@pytest.mark.parametrize("number", [errno.EINVAL, errno.EIO])
def test_some_disks_cannot_sync_a_folder(monkeypatch, tmp_path, number):
    def fail(handle):
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(moving.os, "fsync", fail)
    if number == errno.EINVAL:
        sync(tmp_path)
    else:
        with pytest.raises(OSError, match="error"):
            sync(tmp_path)


@on_linux
def test_one_at_a_time_has_a_folder(monkeypatch, tmp_path):
    with held(tmp_path, wait=True) as first:
        assert first is True
        with held(tmp_path, wait=False) as second:
            assert second is False
    with held(tmp_path, wait=False) as again:
        assert again is True
    asked = []

    def flock(_, how):
        asked.append(how)
        raise OSError(errno.ENOLCK, "no locks")

    monkeypatch.setattr(moving.fcntl, "flock", flock)
    with held(tmp_path, wait=True) as one, held(tmp_path, wait=False) as other:
        assert (one, other) == (False, False)
    assert asked == [moving.fcntl.LOCK_EX, moving.fcntl.LOCK_EX | moving.fcntl.LOCK_NB]


DIGEST = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"  # of "abc", FIPS 180-4's own example


def test_the_content_of_a_file(tmp_path):
    (tmp_path / "a").write_bytes(b"abc")
    assert content(tmp_path / "a") == Content(3, DIGEST)
    (tmp_path / "link").symlink_to(tmp_path / "a")
    for other in (tmp_path / "link", tmp_path, tmp_path / "none"):
        assert content(other) is None


def test_a_marker_comes_back_as_it_was_written(tmp_path):
    marker = Marker(
        {"b": Content(1, "x"), "a": Content(2, "y")}, Coming(".siteplan-new", {"c": Content(3, "z")}, ("b", "a"))
    )
    write_marker(tmp_path / ".siteplan", marker)
    assert read_marker(tmp_path) == marker
    write_marker(tmp_path / ".siteplan", Marker({"a": Content(2, "y")}))
    assert read_marker(tmp_path) == Marker({"a": Content(2, "y")})
    assert list(json.loads((tmp_path / ".siteplan").read_text())) == ["about", "files"]


ENTRY = {"size": 1, "sha256": "x"}


@pytest.mark.parametrize("name", ["", ".siteplan", ".siteplan-x", ".", "..", "a/b", "a\\b", "a:b", "a\0b", "/a"])
def test_a_marker_with_a_name_that_leads_elsewhere_lists_nothing(tmp_path, name):
    stage = {"stage": ".siteplan-1", "files": {}, "gone": []}
    for document in (
        {"files": {"good": ENTRY, name: ENTRY}}, {"files": {"good": ENTRY}, "coming": stage | {"gone": [name]}},
        {"files": {"good": ENTRY}, "coming": stage | {"files": {name: ENTRY}}},
    ):  # fmt: skip
        (tmp_path / ".siteplan").write_text(json.dumps(document))
        assert read_marker(tmp_path) == Marker()


@pytest.mark.parametrize(
    "stage", ["", "new", ".siteplan", "x/.siteplan-1", ".siteplan-1/..", ".siteplan-1/", "../.siteplan-1"]
)
def test_a_marker_with_a_stage_elsewhere_lists_nothing(tmp_path, stage):
    document = {"files": {"good": ENTRY}, "coming": {"stage": stage, "files": {}, "gone": []}}
    (tmp_path / ".siteplan").write_text(json.dumps(document))
    assert read_marker(tmp_path) == Marker()


def test_a_marker_is_a_short_file_of_its_own(tmp_path):
    assert read_marker(tmp_path) is None
    text = json.dumps({"files": {"good": ENTRY}})
    (tmp_path / ".siteplan").write_text(text + " " * (1_000_000 - len(text)))
    assert read_marker(tmp_path).files
    (tmp_path / ".siteplan").write_text(text + " " * (1_000_001 - len(text)))
    assert read_marker(tmp_path) == Marker()
    (tmp_path / ".siteplan").rename(tmp_path / "elsewhere")
    (tmp_path / ".siteplan").symlink_to(tmp_path / "elsewhere")
    assert read_marker(tmp_path) is None
    (tmp_path / ".siteplan").unlink()
    (tmp_path / ".siteplan").mkdir()
    assert read_marker(tmp_path) is None


def refused(*parts, **more):
    with pytest.raises(InputError) as caught:
        write_new(*parts, **more)
    (fault,) = caught.value.faults
    return fault.file, fault.text


def test_a_new_site_goes_into_a_free_folder(tmp_path, monkeypatch):
    files = {"a": b"1", "b": b"2"}
    assert write_new(tmp_path / "x" / "y", files) == tmp_path / "x" / "y"
    assert {path.name: path.read_bytes() for path in (tmp_path / "x" / "y").iterdir()} == files
    assert refused(tmp_path / "x", files) == ("x", "is not empty (it holds 'y'); choose another folder")
    assert refused(tmp_path / "x" / "y" / "a", files) == ("a", "is a file; choose another name")
    monkeypatch.chdir(tmp_path)
    assert refused(Path(), files) == (".", "is not empty (it holds 'x'); choose another folder")
    (tmp_path / "empty").mkdir()
    monkeypatch.chdir(tmp_path / "empty")
    assert write_new(Path(), files) == Path()


def test_the_demo_is_written_over_itself_but_over_no_change(tmp_path):
    files = {"a": b"1", "b": b"2"}
    write_new(tmp_path / "demo", {"a": b"1"})
    (tmp_path / "demo" / "mine").write_text("x")
    assert refused(tmp_path / "demo", files)[1].startswith("is not empty (it holds 'a')")
    write_new(tmp_path / "demo", files, over_itself=True)
    assert sorted(path.name for path in (tmp_path / "demo").iterdir()) == ["a", "b", "mine"]
    (tmp_path / "demo" / "a").write_text("3")
    assert refused(tmp_path / "demo", files, over_itself=True) == (
        "demo", (f"holds a with changes of yours; plan it with: siteplan plan {tmp_path / 'demo'}, or choose another folder for "
        "the demo"),
    )  # fmt: skip
    (tmp_path / "other").mkdir()
    (tmp_path / "other" / "mine").write_text("x")
    assert refused(tmp_path / "other", files, over_itself=True)[1].startswith("is not empty (it holds 'mine')")


def test_what_cannot_be_written_whole_leaves_nothing(tmp_path):
    assert refused(tmp_path / "x" / "y", {"a": b"1", "b/c": b"2"}) == (
        "y", "cannot be written: No such file or directory",
    )  # fmt: skip
    assert list(tmp_path.iterdir()) == []


def test_a_site_within_is_found_nearest_first(tmp_path):
    for folder in ("a/b/c", "d/e", "f"):
        (tmp_path / folder).mkdir(parents=True)
    assert _site_inside(tmp_path) is None
    for folder in ("a/b/c", "d/e"):
        (tmp_path / folder / "site.toml").touch()
        assert _site_inside(tmp_path) == tmp_path / folder
    (tmp_path / "f" / "link").symlink_to(tmp_path / "a")
    (tmp_path / "a" / "b" / "c" / "site.toml").unlink()
    (tmp_path / "d" / "e" / "site.toml").rename(tmp_path / "d" / "e" / "other.toml")
    assert _site_inside(tmp_path) is None
