"""Is a range the same wherever a value comes from, and said in the same words?"""

from __future__ import annotations

import json

import pytest

from siteplan.cli import main
from siteplan.files.drawing.bed_shape import read_shape
from siteplan.files.new import new_site
from siteplan.land.errors import InputError
from siteplan.land.features import Bed, Building, Keepout, Tap
from siteplan.land.site import (
    Barrow,
    FillSettings,
    HaulSettings,
    Labour,
    PlaceSettings,
    SoilSettings,
    SunSettings,
    WaterSettings,
)


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return new_site(tmp_path_factory.mktemp("sites") / "mine")


@pytest.mark.parametrize("side", [0.05, 101.0, -1.0])
def test_a_bed_has_the_same_sides_everywhere(side, yard, folder, capsys, tmp_path):
    words = f"is {side:g} m, must be at least 0.1 and at most 100 m"
    for name in ("length", "width"):
        with pytest.raises(ValueError, match=f"{name} {words}"):
            PlaceSettings(**{name: side})
        assert main(["place", str(folder), f"--{name}={side}"]) == 2
        assert f"--{name}: it {words}" in capsys.readouterr().err
        sound = yard.toml
        yard.toml += f"[place]\n{name} = {side}\n"
        (line,) = yard.faults()
        assert f"{name} {words}" in line
        yard.toml = sound
    assert main(["place", str(folder), "--size", f"1 m x {side} m"]) == 2
    assert words in capsys.readouterr().err
    if side > 0:
        ring = [[0, 0], [side, 0], [side, side / 2], [0, 0]]
        (tmp_path / "bed.json").write_text(json.dumps({"type": "Polygon", "coordinates": [ring]}))
        with pytest.raises(InputError, match=r"must be from 0\.1 m to 100 m"):
            read_shape(tmp_path / "bed.json")


@pytest.mark.parametrize("side", ["0.1 m", "100 m"])
def test_the_ends_of_the_range_are_sound(side, yard):
    yard.toml += f'[place]\nlength = "100 m"\nwidth = "{side}"\n'
    assert yard.faults() == []


@pytest.mark.parametrize("count", [0, 51])
def test_a_count_is_the_same_everywhere(count, yard, folder, capsys):
    words = f"count is {count}, must be a whole number from 1 to 50"
    with pytest.raises(ValueError, match=words):
        PlaceSettings(count=count)
    assert main(["place", str(folder), f"--count={count}"]) == 2
    assert words.replace("count is", "--count: it is") in capsys.readouterr().err
    yard.toml += f"[place]\ncount = {count}\n"
    assert any(words in line for line in yard.faults())


SETTINGS = [
    ("sun", SunSettings, {"cell": 0.01, "year": 2026}),
    ("sun", SunSettings, {"need": 9.0, "plenty": 8.0, "year": 2026}),
    ("barrow", Barrow, {"load": 0.5}),
    ("barrow", Barrow, {"count": 21}),
    ("labour", Labour, {"people": 1.5}),
    ("haul", HaulSettings, {"board_price": -1.0}),
    ("haul", HaulSettings, {"heap_angle": 5.0}),
    ("place", PlaceSettings, {"max_slope": 0.0}),
    ("fill", FillSettings, {"bag_handling": 1e7}),
    ("water", WaterSettings, {"efficiency": 0.0}),
    ("soil", SoilSettings, {"lead": -5.0}),
]


@pytest.mark.parametrize(("table", "record", "values"), SETTINGS)
def test_a_record_made_in_python_says_what_the_reader_says(table, record, values, yard):
    with pytest.raises(ValueError, match=r"\w") as caught:
        record(**values)
    kept = [part for part in yard.toml.split("\n\n") if f"[{table}]" not in part]
    own = [f"[{table}]", *(f"{key} = {value!r}" for key, value in values.items())]
    yard.toml = "\n".join([*kept, *own, ""])
    lines = [line.removeprefix(f"site.toml: [{table}]: ") for line in yard.faults() if f"[{table}]" in line]
    assert_same(lines, caught.value)


def assert_same(lines, error):
    """Compare what the reader says with what a record says; the reader may add a word on plain numbers."""
    own = str(error).splitlines()
    assert len(lines) == len(own)
    for line, words in zip(lines, own, strict=True):
        assert line.partition(words)[0] == "", (line, words)
        assert line.removeprefix(words)[:2] in {"", "; "}


FEATURES = [
    ("north", Bed, {"height": 3.5}),
    ("north", Bed, {"height": 0.45, "need": 17.0}),
    ("house", Building, {"height": 4.0, "base": 5.0, "eaves": None}),
    ("house", Building, {"height": -1.0, "transmittance": 7.0}),
    ("gas", Keepout, {"reason": "gas", "setback": -1.0}),
    ("tap", Tap, {"hose_length": 0.0}),
]


@pytest.mark.parametrize(("feature_id", "record", "values"), FEATURES)
def test_a_feature_made_in_python_says_what_the_reader_says(feature_id, record, values, yard):
    from shapely import Point, box

    shape = {"place": Point(0, 0)} if record is Tap else {"outline": box(0, 0, 1, 1)}
    with pytest.raises(ValueError, match=r"\w") as caught:
        record(id=feature_id, **shape, **values)
    properties = yard.features[feature_id]["properties"]
    for key in [key for key in properties if key != "kind"]:
        del properties[key]
    properties |= values
    lines = [line.rpartition('": ')[2] for line in yard.faults() if f'"{feature_id}"' in line]
    assert_same(lines, caught.value)
