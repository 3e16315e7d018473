"""Numbers and nests that no person writes: each is refused, or taken for what it is, in words of a readable length."""

from __future__ import annotations

import json
import re

import pytest

from siteplan.files.reader import check_site

HUGE = "0x" + "f" * 6000  # 7,225 decimal digits: Python writes at most 4,300
DEEP = "[" * 5000 + "]" * 5000
#: key of site.toml, as the pattern of its line, by what kind of value it wants
KEYS = {
    "text": r"name = .*", "quantity": r'volume = "85 L"', "length": r'cell = "50 cm"', "whole": r"year = 2026",
    "day": r'last_frost = "04-15"', "money": r"price = 30.00", "material": r'material = "topsoil"',
}  # fmt: skip
VALUES = {
    "6,000 hex digits": HUGE, "minus": "-" + "9" * 3000, "6,000 digits": "9" * 6000, "nan": "nan", "inf": "inf", "minus inf": "-inf",
    "too large": "1e308", "too small": "1e-320", "deep": DEEP, "deep tables": "{a=" * 60 + "1" + "}" * 60,
    "a date": "1979-05-27T07:32:00Z", "a time": "07:32:00", "digits": '"' + "9" * 5000 + '"',
    "a fraction of digits": '"1/' + "9" * 5000 + ' ft"', "a power": '"1 m**9**9"', "wide digits": '"\uff15 m"',
}  # fmt: skip


def readable(faults):
    lines = [str(fault) for fault in faults]
    assert 0 < len(lines) < 20
    for line in lines:
        assert line.startswith(("site.toml: ", "features.geojson: "))
        assert len(line) < 700, line
        assert "Exceeds the limit" not in line
    return lines


@pytest.mark.parametrize("value", VALUES)
@pytest.mark.parametrize("key", KEYS)
def test_an_odd_value_in_site_toml_is_refused_in_words(yard, key, value):
    line = re.search(KEYS[key], yard.toml)[0]
    name = line.partition(" ")[0]
    yard.change(line, f"{name} = {VALUES[value]}")
    found = check_site(yard.write()).faults
    if (key, value) in {
        ("text", "a power"),
        ("text", "wide digits"),
        ("length", "wide digits"),
        ("money", "too small"),
    }:
        assert found == ()  # a name may be so; a wide five is a five; what costs nothing to speak of is a gift
    else:
        assert any(name in line or "TOML" in line or "4,300 digits" in line for line in readable(found))


@pytest.mark.parametrize(
    "raw", ["9" * 6000, "-" + "9" * 6000, "1e999999", "NaN", "-Infinity", DEEP, '{"a":' * 5000 + "1" + "}" * 5000]
)
@pytest.mark.parametrize("key", ["height", "coordinates", "id", "type", "kind", "properties"])
def test_an_odd_value_in_geojson_is_refused_in_words(yard, key, raw):
    text = json.dumps({"type": "FeatureCollection", "features": list(yard.features.values())})
    yard.write()
    mark = {
        "height": '"height": 0.3',
        "coordinates": '"coordinates": [',
        "id": '"id": "south"',
        "type": '"type": "Feature"',
        "kind": '"kind": "bed"',
        "properties": '"properties": {',
    }[key]
    end = {"coordinates": ",[", "properties": ',"b":{'}.get(key, "")
    assert mark in text
    text = text.replace(
        mark, f'"{key}": {raw}{end}' if not end else f'"{key}": {raw}, "unused": {mark.partition(": ")[2]}', 1
    )
    (yard.folder / "features.geojson").write_text(text)
    readable(check_site(yard.folder).faults)


@pytest.mark.parametrize("value", ["NaN", "Infinity", "-Infinity", "1e999", "9" * 400])
def test_a_coordinate_that_is_not_finite_is_refused_without_a_warning(yard, value):
    text = json.dumps(yard.features["north"]["geometry"]["coordinates"][0][1][0])
    path = yard.write() / "features.geojson"
    path.write_text(path.read_text().replace(text, value, 1))
    (fault,) = check_site(yard.folder).faults
    assert "has a coordinate that is not a finite number" in str(fault)
