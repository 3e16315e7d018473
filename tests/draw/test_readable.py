"""What may be written over the property's files: only what can be read again. By hand."""

from __future__ import annotations

import pytest

from siteplan.draw import property_files
from siteplan.draw.property_files import PropertyFiles, require_readable
from siteplan.land.errors import InputError

SOUND = b'{"type": "FeatureCollection", "features": []}'
NO_LIST = "would be no list of features any more; nothing was written"


@pytest.mark.parametrize(("name", "content", "text"), [
    ("site.toml", b'name = "yard"', ""), ("site.toml", b"\xef\xbb\xbfname = 'yard'", ""), ("site.toml", b"name = ", "would not be readable"),
    ("site.toml", b"\xff", "would not be readable"), ("features.geojson", SOUND, ""), ("features.geojson", b"\xef\xbb\xbf" + SOUND, ""),
    ("features.geojson", b"{", "would not be readable"), ("features.geojson", b"[" * 100_000, "would not be readable"),
    ("features.geojson", b"[]", NO_LIST), ("features.geojson", b"{}", NO_LIST), ("features.geojson", b'{"features": {}}', NO_LIST),
    ("variants/shed.json", b"{}", ""), ("variants/shed.json", b"[]", NO_LIST),
])  # fmt: skip
def test_what_can_be_read_again(name, content, text):
    if not text:
        require_readable({name: content})
        return
    with pytest.raises(InputError) as refused:
        require_readable({"site.toml": b"", name: content})
    ((file, where, said),) = [(one.file, one.where, one.text) for one in refused.value.faults]
    assert (file, where) == (name, "")
    assert said.startswith(text)
    assert said.endswith("; nothing was written")


def test_a_drawing_is_as_large_as_can_be_kept_at_most(monkeypatch):
    monkeypatch.setattr(property_files, "LARGEST", len(SOUND))
    require_readable({"features.geojson": SOUND})
    with pytest.raises(InputError) as refused:
        require_readable({"features.geojson": SOUND + b" ", "other.geojson": SOUND + b"\n"})
    text = f"would be larger than {len(SOUND) / 1e6:g} MB; nothing was written"
    assert [(one.file, one.text) for one in refused.value.faults] == [
        ("features.geojson", text),
        ("other.geojson", text),
    ]


def test_what_is_the_same_is_no_step(tmp_path):
    (tmp_path / "site.toml").write_bytes(b'name = "yard"\n')
    files = PropertyFiles(tmp_path)
    before = files.now()
    assert files.write(before.version, {"site.toml": b'name = "yard"\n'}, "nothing") == before
    after = files.write(before.version, {"site.toml": b'name = "other"\n'}, "renamed")
    assert after.version != before.version
    assert (tmp_path / "site.toml").read_bytes() == b'name = "other"\n'
