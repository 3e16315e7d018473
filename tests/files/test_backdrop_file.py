"""The backdrop in the site's folder: nothing of the gardener's is overwritten, and what is damaged is told."""

from __future__ import annotations

import json
import os
from dataclasses import replace

import numpy as np
import pytest

from siteplan.files.backdrop import backdrop_file as module
from siteplan.files.backdrop.backdrop_file import (
    Pin,
    keep_picture,
    picture_of,
    read_backdrop,
    remove_backdrop,
    save_backdrop,
)
from siteplan.files.backdrop.picture import from_pixels
from siteplan.land.errors import InputError

PICTURE = from_pixels(np.full((40, 60, 3), 90, dtype=np.uint8), photo=False)
OTHER = from_pixels(np.full((40, 60, 3), 120, dtype=np.uint8), photo=True)
PINS = (Pin((1.0, 2.0), (3.5, 4.5)), Pin((50.0, 2.0), (9.5, 4.5)))


def kept(folder):
    return save_backdrop(folder, replace(keep_picture(folder, PICTURE), pins=PINS, strength=0.25), None)


def test_it_is_read_as_it_was_written(tmp_path):
    assert read_backdrop(tmp_path) is None
    written = kept(tmp_path)
    assert read_backdrop(tmp_path) == written
    assert {path.name for path in tmp_path.iterdir()} == {"backdrop.png", "backdrop.json"}
    assert picture_of(tmp_path, written) == PICTURE.content
    assert "siteplan draw" in json.loads((tmp_path / "backdrop.json").read_text("utf-8"))["about"]


def test_a_new_picture_takes_the_place_of_the_old(tmp_path):
    before = kept(tmp_path)
    after = save_backdrop(tmp_path, keep_picture(tmp_path, OTHER), before)
    assert {path.name for path in tmp_path.iterdir()} == {"backdrop.jpg", "backdrop.json"}
    again = save_backdrop(tmp_path, keep_picture(tmp_path, OTHER), after)
    assert (again.picture, (tmp_path / "backdrop.jpg").exists()) == ("backdrop-2.jpg", False)
    remove_backdrop(tmp_path, again)
    assert not list(tmp_path.iterdir())
    remove_backdrop(tmp_path, again)  # twice is once


def test_what_is_the_gardeners_own_stays(tmp_path):
    (tmp_path / "backdrop.png").write_bytes(b"hers")
    written = kept(tmp_path)
    assert written.picture == "backdrop-2.png"
    (tmp_path / written.picture).write_bytes(b"hers now")  # she has drawn on it since
    remove_backdrop(tmp_path, written)
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == {
        "backdrop.png": b"hers",
        "backdrop-2.png": b"hers now",
    }


def test_a_link_is_never_followed(tmp_path):
    outside, site = tmp_path / "outside.png", tmp_path / "site"
    site.mkdir()
    outside.write_bytes(PICTURE.content)
    (site / "backdrop.png").symlink_to(outside)
    written = kept(site)
    assert written.picture == "backdrop-2.png"
    remove_backdrop(site, replace(written, picture="backdrop.png"))
    assert outside.read_bytes() == PICTURE.content


@pytest.mark.parametrize(("change", "told"), [
    ("[]", "it must be an object"),
    ("{", "is not as siteplan writes it"),
    ("", "is not as siteplan writes it"),
    ("[" * 5000, "is not as siteplan writes it"),
    ({"picture": "../../etc/passwd"}, "must be backdrop.png"),
    ({"picture": "backdrop.png/../x"}, "must be backdrop.png"),
    ({"picture": 5}, "must be backdrop.png"),
    ({"width": 0}, "width is 0, must be a number from 1"),
    ({"width": True}, "width is True"),
    ({"height": 1e9}, "height is"),
    ({"strength": float("nan")}, "strength is nan"),
    ({"strength": "1"}, "strength is '1'"),
    ({"pins": [{"pixel": [0, 0], "place": [0, 0]}]}, "pins must be 2, or 4 to 12, or none"),
    ({"pins": [5, 6]}, "is not as siteplan writes it"),
    ({"pins": [{"pixel": [0, 0]}, {"pixel": [1, 1]}]}, "place is missing"),
    ({"pins": [{"pixel": [0], "place": [0, 0]}] * 2}, "pixel is"),
    ({"places": "here"}, "places is 'here', must be drawing or degrees"),
    ({"places": ["drawing"]}, "must be drawing or degrees"),
])  # fmt: skip
def test_a_damaged_record_is_told(tmp_path, change, told):
    kept(tmp_path)
    path = tmp_path / "backdrop.json"
    text = change if isinstance(change, str) else json.dumps(json.loads(path.read_text("utf-8")) | change)
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match=rf"backdrop\.json: .*{told}"):
        read_backdrop(tmp_path)


def test_a_picture_that_is_gone_is_told(tmp_path):
    written = kept(tmp_path)
    (tmp_path / "backdrop.png").unlink()
    with pytest.raises(InputError, match=r"backdrop\.png: is not there"):
        picture_of(tmp_path, written)
    (tmp_path / "backdrop.json").unlink()
    (tmp_path / "backdrop.json").mkdir()
    with pytest.raises(InputError, match="is a folder, must be a file"):
        read_backdrop(tmp_path)


@pytest.mark.skipif(os.geteuid() == 0 if hasattr(os, "geteuid") else True, reason="root may write everywhere")
def test_a_folder_that_cannot_be_written_to(tmp_path):
    tmp_path.chmod(0o500)
    with pytest.raises(InputError, match="cannot be written"):
        keep_picture(tmp_path, PICTURE)
    tmp_path.chmod(0o700)


def test_a_disk_that_fails_leaves_all_as_it_was(tmp_path, monkeypatch):
    before = kept(tmp_path)
    text = (tmp_path / "backdrop.json").read_bytes()

    def full(path):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(module, "sync", full)
    with pytest.raises(InputError, match="No space left"):
        save_backdrop(tmp_path, replace(before, strength=0.9), before)
    assert (tmp_path / "backdrop.json").read_bytes() == text
    assert {path.name for path in tmp_path.iterdir()} == {"backdrop.png", "backdrop.json"}
