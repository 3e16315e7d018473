"""Is a new site sound as it stands, and is nothing overwritten?"""

from __future__ import annotations

import pytest

from siteplan import InputError, demo_site
from siteplan.files.demo import write_demo
from siteplan.files.new import new_site
from siteplan.files.reader import check_site, read_site


def test_new_site_is_sound_and_says_nothing(tmp_path):
    checked = check_site(new_site(tmp_path / "mine"))
    assert checked.faults == ()
    assert checked.cautions == ()


def test_new_site_shows_every_table(tmp_path):
    text = (new_site(tmp_path / "mine") / "site.toml").read_text(encoding="utf-8")
    for table in (
        "[origin]",
        "[season]",
        "[sun]",
        "[barrow]",
        "[labour]",
        "[place]",
        "[fill]",
        "[[stock]]",
        "[[offer]]",
    ):
        assert table in text


@pytest.mark.parametrize("start", [new_site, write_demo])
def test_nothing_is_overwritten(tmp_path, start):
    (tmp_path / "notes.txt").write_text("mine")
    with pytest.raises(InputError, match=r"is not empty \(it holds 'notes.txt'\)"):
        start(tmp_path)
    with pytest.raises(InputError, match="is a file"):
        start(tmp_path / "notes.txt")
    with pytest.raises(InputError, match="cannot be written"):
        start(tmp_path / "notes.txt" / "deeper")
    assert [path.name for path in tmp_path.iterdir()] == ["notes.txt"]


def test_written_demo_is_the_demo(tmp_path):
    written = read_site(write_demo(tmp_path / "demo"))
    demo = demo_site()
    assert written == demo
    assert demo.beds
