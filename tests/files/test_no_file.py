"""What is no regular file, or too large, is refused in words at once: nothing waits, nothing is read without end."""

from __future__ import annotations

import os
import socket
import time
from pathlib import Path

import pytest

from siteplan.cli import main
from siteplan.files.reader import check_site

pytestmark = pytest.mark.skipif(os.name != "posix", reason="pipes and devices of POSIX")

#: what stands in site.toml for a file, and the words on it where it is `what`
FILES = {
    "site.toml": (None, "site.toml: is {what}, must be a file"),
    "features.geojson": (None, "features.geojson: is {what}, must be a file"),
    "yard.gpkg": ("features", "yard.gpkg: is {what}, must be a file"),
    "ground.tif": ("terrain", "site.toml: terrain = 'ground.tif': the file is {what}, must be a file; put it"),
    "tops.tif": (
        "surface_model",
        "site.toml: surface_model = 'tops.tif': the file is {what}, must be a file; put it",
    ),
    "year.epw": ("weather", "site.toml: weather = 'year.epw': the file is {what}, must be a file; put it"),
    "hills.csv": ("skyline", "site.toml: skyline = 'hills.csv': the file is {what}, must be a file; put it"),
}


def pipe(path):
    os.mkfifo(path)


def a_socket(path):
    with socket.socket(socket.AF_UNIX) as one:
        os.chdir(path.parent)  # the path of a socket may hold about a hundred letters
        one.bind(path.name)


def link(target):
    def make(path):
        if not Path(target).exists():
            pytest.skip(f"{target} is not here")
        path.symlink_to(target)

    return make


HANGS = 60  # seconds; to refuse takes one
THINGS = {"a pipe": pipe, "a socket": a_socket, "a device": link("/dev/zero"), "a folder": Path.mkdir}


@pytest.fixture
def sound(yard, monkeypatch):
    """Return the yard as files; the test may change its folder."""
    monkeypatch.chdir(yard.folder)
    return yard


def place(yard, file, make):
    key = FILES[file][0]
    if key == "features":
        yard.change('features = "features.geojson"', f'features = "{file}"')
    elif key:
        yard.toml = f'{key} = "{file}"\n' + yard.toml
    yard.write()
    path = yard.folder / file
    path.unlink(missing_ok=True)
    make(path)


@pytest.mark.parametrize("file", FILES)
@pytest.mark.parametrize("what", THINGS)
def test_what_is_no_regular_file_is_refused_at_once(sound, file, what, capsys):
    place(sound, file, THINGS[what])
    begun = time.monotonic()
    assert main(["plan", str(sound.folder), "--out", "out"]) == 2
    assert time.monotonic() - begun < HANGS  # it does not wait for anybody to write
    lines = capsys.readouterr().err.splitlines()
    assert [line for line in lines if FILES[file][1].format(what=what) in line], lines


@pytest.mark.parametrize("target", ["/proc/kmsg", "/proc/self/mem", "/proc/kcore"])
@pytest.mark.parametrize("file", FILES)
def test_regular_files_that_are_none_are_refused_too(sound, file, target):
    place(sound, file, link(target))
    begun = time.monotonic()
    faults = [str(fault) for fault in check_site(sound.folder).faults]
    assert time.monotonic() - begun < HANGS
    assert faults
    assert any(file in fault for fault in faults), faults  # a surface alone misses its terrain as well


@pytest.mark.parametrize(
    ("file", "most"), [("site.toml", 10), ("features.geojson", 500), ("year.epw", 100), ("hills.csv", 10)]
)
def test_a_file_that_is_too_large_is_refused_unread(sound, file, most):
    def make(path):
        path.touch()
        os.truncate(path, 60_000_000_000)  # takes no room on the disk

    place(sound, file, make)
    (fault,) = check_site(sound.folder).faults
    assert str(fault) == f"{file}: is larger than {most} MB; is it the right file?"


def test_a_loop_of_links_is_refused(sound):
    place(sound, "features.geojson", lambda path: path.symlink_to(path.name))
    (fault,) = check_site(sound.folder).faults
    assert "cannot be read: Too many levels of symbolic links" in str(fault)


def test_what_only_ends_as_a_geopackage_is_not_opened(sound):
    text = '<OGRVRTDataSource><OGRVRTLayer name="a"><SrcDataSource>/etc/passwd</SrcDataSource></OGRVRTLayer></OGRVRTDataSource>'
    place(sound, "yard.gpkg", lambda path: path.write_text(text))
    (fault,) = check_site(sound.folder).faults
    assert str(fault) == "yard.gpkg: cannot be read as a GeoPackage: it begins as none; export the drawing as one"
