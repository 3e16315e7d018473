"""What is read of a file, how much of it, and in which words it is refused."""

from __future__ import annotations

import os

import pytest

from siteplan.files.look_alike import look, unseen_difference, unseen_letters
from siteplan.files.remarks import Remarks
from siteplan.files.text import first_bytes, no_file, read_bytes, read_text


def told(remarks):
    return [f"{one.file}: {one.text}" for one in remarks.faults]


@pytest.fixture
def file(tmp_path):
    """Return a writer of one file."""

    def write(content):
        (tmp_path / "a.txt").write_bytes(content)
        return tmp_path / "a.txt"

    return write


def test_no_more_bytes_than_are_asked_for(file):
    assert first_bytes(file(b"abcdef"), 3) == b"abc"
    assert first_bytes(file(b"abcdef"), 9) == b"abcdef"
    assert first_bytes(file(b""), 9) == b""


def test_what_is_no_file(file, tmp_path):
    assert no_file(file(b"a")) == ""
    assert no_file(file(b"")) == ""
    assert no_file(tmp_path) == "is a folder, must be a file"
    assert no_file(tmp_path / "none") == "is not there"
    assert no_file(tmp_path / "a.txt" / "b") == "is not there"
    assert no_file(tmp_path / "a\0b") == "cannot be read: embedded null byte"
    assert no_file(tmp_path / ("a" * 300)) == "cannot be read: File name too long"


@pytest.mark.skipif(not os.path.exists("/proc/version"), reason="a file of Linux")  # noqa: PTH110
def test_a_file_of_the_system_has_no_size(file):
    from pathlib import Path

    assert no_file(Path("/proc/version")) == "is no regular file, must be a file"
    assert no_file(Path("/dev/null")) == "is a device, must be a file"


def test_how_large_a_file_may_be(file):
    path = file(b"12345")
    assert read_bytes(path, remarks := Remarks(), most=5) == b"12345"
    assert told(remarks) == []
    assert read_bytes(path, remarks, most=4) is None
    assert told(remarks) == ["a.txt: is larger than 4e-06 MB; is it the right file?"]
    large = path.with_name("large.txt")
    with large.open("wb") as hole:
        hole.truncate(10_000_001)
    assert read_text(large, remarks := Remarks()) is None
    assert told(remarks) == ["large.txt: is larger than 10 MB; is it the right file?"]
    with large.open("wb") as hole:
        hole.truncate(10_000_000)
    assert len(read_text(large, remarks)) == 10_000_000


def test_advice_comes_only_where_a_file_is_missing(tmp_path):
    read_bytes(tmp_path / "none", remarks := Remarks(), most=9, missing="make one")
    assert told(remarks) == ["none: is not there; make one"]
    read_bytes(tmp_path / "none", remarks := Remarks(), most=9)
    assert told(remarks) == ["none: is not there"]
    read_bytes(tmp_path, remarks := Remarks(), most=9, missing="make one")
    assert told(remarks) == [f"{tmp_path.name}: is a folder, must be a file"]


@pytest.mark.parametrize(("content", "text", "words"), [
    ("Grün\n".encode(), "Grün\n", []), (b"\xef\xbb\xbfab", "ab", []), (b"", "", []),
    ("ab".encode("utf-16"), None, ["a.txt: is saved as UTF-16; save it as UTF-8"]),
    (b"\xfe\xff\0a", None, ["a.txt: is saved as UTF-16; save it as UTF-8"]),
    (b"\xfe", None, ["a.txt: is not UTF-8 (line 1); save it as UTF-8"]),
    (b"a\nb\n\xe4\n\n", None, ["a.txt: is not UTF-8 (line 3); save it as UTF-8"]),
])  # fmt: skip
def test_texts_are_utf_8(file, content, text, words):
    assert read_text(file(content), remarks := Remarks()) == text
    assert told(remarks) == words


@pytest.mark.parametrize(("name", "seen"), [
    ("  north   bed ", "north bed"), ("no\u200brth", "north"), ("a\u2003b\u00a0c", "a b c"), ("a\u2028b", "a b"),
    ("e\u0301", "\u00e9"), ("a\x07b", "ab"), ("a\nb", "a b"), ("a\u034fb\u115fc\u1160d\u17b4e\u17b5f\u3164g\uffa0", "abcdefg"),
    ("a\u180bb\u180fc\ufe00d\ufe0fe", "abcde"), ("a\u180a\u1810", "a\u180a\u1810"), ("\ufe10", "\ufe10"), ("\ud800", ""),
    ("n\u043erth", "n\u043erth"),
])  # fmt: skip
def test_what_is_seen_of_a_name(name, seen):
    assert look(name) == seen


@pytest.mark.parametrize(("one", "other", "words"), [
    ("ab", "a\u200bb", "U+200B (ZERO WIDTH SPACE) as letter 2 of the second"),
    ("\u200bab", "ab", "U+200B (ZERO WIDTH SPACE) as letter 1 of the first"),
    ("a\u200bb", "a\u200db", "U+200D (ZERO WIDTH JOINER) as letter 2 of the second"),
    ("u\u0308", "\u00fc", "accents that are written apart from their letters in the first, U+0308 (COMBINING DIAERESIS)"),
    ("u\u0308e\u0301", "\u00fce\u0301", "accents that are written apart from their letters in the first, U+0308 (COMBINING DIAERESIS)"),
    ("\u00fc", "u\u0308", "accents that are written apart from their letters in the second, U+0308 (COMBINING DIAERESIS)"),
    ("a b", "a  b", "spaces at an end, or several in a row"), ("u\u0308 ", "u\u0308", "spaces at an end, or several in a row"),
    ("a\u200bb ", "a\u200bb", "spaces at an end, or several in a row"),
])  # fmt: skip
def test_by_what_two_names_differ(one, other, words):
    assert unseen_difference(one, other) == words


def test_three_unseen_letters_are_named():
    named = "U+200B (ZERO WIDTH SPACE) as letter 1, U+00A0 (NO-BREAK SPACE) as letter 3, U+0007 as letter 4"
    assert unseen_letters("\u200ba\u00a0\x07 b") == named
    assert unseen_letters("\u200ba\u00a0\x07\u200b") == f"{named} and 1 more"
    assert unseen_letters("\u200ba\u00a0\x07\u200b\u200b") == f"{named} and 2 more"
    assert unseen_letters("a b") == ""
