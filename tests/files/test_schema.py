"""Do the schemas and the README's tables say what the reader does?"""

from __future__ import annotations

import json
import re
import tomllib
from pathlib import Path

import jsonschema
import pytest

from siteplan.files.constant_tables import data_folder
from siteplan.files.new import new_site
from siteplan.files.reference import kinds_table, materials_table, settings_table
from siteplan.files.schema import FEATURES_SCHEMA, SITE_SCHEMA, VARIANT_SCHEMA, schemas

CHECKOUT = Path(__file__).parents[2]
DEMO = data_folder() / "demo"


def validator(name):
    return jsonschema.Draft202012Validator(json.loads((data_folder() / "schema" / name).read_text(encoding="utf-8")))


SITE, FEATURES, VARIANT = validator(SITE_SCHEMA), validator(FEATURES_SCHEMA), validator(VARIANT_SCHEMA)


def as_json(toml):
    """Return what an editor checks: dates as texts."""
    return json.loads(json.dumps(tomllib.loads(toml), default=str))


@pytest.mark.parametrize("schema", [SITE, FEATURES, VARIANT])
def test_it_is_a_schema(schema):
    schema.check_schema(schema.schema)


@pytest.mark.parametrize("name", [SITE_SCHEMA, FEATURES_SCHEMA, VARIANT_SCHEMA])
def test_what_travels_in_data_is_up_to_date(name):
    # where it is not: write_schemas of siteplan.files.schema writes the folder data/schema
    assert (data_folder() / "schema" / name).read_text(encoding="utf-8") == schemas()[name]


@pytest.mark.parametrize(
    ("name", "table"), [("kinds", kinds_table), ("settings", settings_table), ("materials", materials_table)]
)
def test_the_readme_has_the_table(name, table):
    # where it is not: siteplan.files.reference has the lines between the two marks
    readme = (CHECKOUT / "README.md").read_text(encoding="utf-8")
    (shown,) = re.findall(rf"<!-- table: {name} -->\n(.*?)<!-- end -->", readme, flags=re.DOTALL)
    assert shown == table()


def test_the_demo_is_accepted():
    SITE.validate(as_json((DEMO / "site.toml").read_text(encoding="utf-8")))
    FEATURES.validate(json.loads((DEMO / "features.geojson").read_text(encoding="utf-8")))


def test_a_new_site_is_accepted_and_names_its_schemas(tmp_path):
    folder = new_site(tmp_path / "mine")
    text = (folder / "site.toml").read_text(encoding="utf-8")
    drawn = json.loads((folder / "features.geojson").read_text(encoding="utf-8"))
    SITE.validate(as_json(text))
    FEATURES.validate(drawn)
    first = text.splitlines()[0]
    assert first.startswith("#:schema ")
    for name in (first.removeprefix("#:schema "), drawn["$schema"]):
        assert "//" not in name  # beside the site, not on a network
        assert json.loads((folder / name).read_text(encoding="utf-8"))["$schema"].endswith("2020-12/schema")


def test_every_key_of_the_template_is_accepted_without_its_comment_sign(tmp_path):
    text = (new_site(tmp_path / "mine") / "site.toml").read_text(encoding="utf-8")
    shown = re.sub(r"(?m)^# (\[\[?\w+\]|\w+ = |  \{|\])", r"\1", text)  # a list of layers has its own lines
    SITE.validate(as_json(shown))


def test_the_sound_yard_of_the_tests_is_accepted(yard):
    SITE.validate(as_json(yard.toml))
    folder = yard.write()
    FEATURES.validate(json.loads((folder / "features.geojson").read_text(encoding="utf-8")))


BAD_SETTINGS = {
    "key that is not known": "curency = 'EUR'",
    "key of a table that is not known": "[sun]\nsell = 1",
    "number too large": "[barrow]\nload = 1001",
    "number too small": "[labour]\nbody_mass = 19",
    "length of nothing": "[sun]\ncell = 0",
    "number at an end that does not count": "[fill]\nstorage = 0",
    "litres beyond the range": "[barrow]\nvolume = 2001",
    "km/h beyond the range": "[haul]\nloaded_speed = 10.9",
    "text without a number": "[barrow]\nload = 'much'",
    "negative text": "[barrow]\nload = '-9 kg'",
    "word that is not of the list": "units = 'imperal'",
    "half a person": "[labour]\npeople = 1.5",
    "day of no year": "[season]\nlast_frost = '15-04'\nfirst_frost = '10-20'",
    "one frost alone": "[season]\nlast_frost = '04-15'",
    "plan without its place": "[origin]\nunit = 'ft'",
    "flag in a word": "[haul]\nwet = 'often'",
    "money in words": "[haul]\nboard_price = 'dear'",
    "money below nothing": "[fill]\nbag_handling = -1",
    "currency in small letters": "currency = 'eur'",
    "offer of both": "[[offer]]\nmaterial = 'compost'\nprice = 1\nbag = '40 L'\nloose = '1 m^3'",
    "offer of neither": "[[offer]]\nmaterial = 'compost'\nprice = 1",
    "offer of nothing": "[[offer]]\nprice = 1\nbag = '40 L'",
    "stock without its pile": "[[stock]]\nmaterial = 'compost'\nvolume = 40",
    "layer of both": "[fill]\nlayers = [{ material = 'compost', fraction = 1, thickness = 1 }]",
    "no layer": "[fill]\nlayers = []",
    "key renamed to nothing known": "[rename.keys]\nheight_m = 'hight'",
    "kind renamed to nothing known": "[rename.kinds]\nwall = 'fense'",
}


@pytest.mark.parametrize("name", BAD_SETTINGS)
def test_settings_that_cannot_be_are_refused_by_the_schema_and_by_the_reader(name, yard):
    text = BAD_SETTINGS[name]
    assert not SITE.is_valid(as_json(text))
    first = text.splitlines()[0]
    if first.startswith("["):
        kept = re.sub(rf"(?ms)^{re.escape(first)}\n.*?(?=^\[|\Z)", "", yard.toml)
        yard.toml = f"{kept}\n{text}\n"
    else:
        kept = re.sub(rf"(?m)^{first.split()[0]} = .*\n", "", yard.toml)
        yard.toml = f"{text}\n{kept}"
    assert yard.faults()
    assert not any("TOML" in line for line in yard.faults())


@pytest.mark.parametrize(
    "text",
    [
        "[barrow]\nvolume = 2000\nload = '200 lbs'",
        "[sun]\nstep = '30 s'\nyear = 2026",
        "[origin]\nlatitude = 45\nlongitude = 8\nbearing = -12.5",
        "[soil]\nlead = '150 mg/kg'\nmanure_on = 2026-03-01",
        "[fill]\nlayers = [{ mix = { topsoil = '70 %', compost = 0.3 }, fraction = 1 }]\nbag_handling = '0.50 USD'",
        "[[offer]]\nmix = { topsoil = 0.7, compost = 0.3 }\nloose = '1 yd^3'\nprice = '40 USD / yd^3'",
        "[rename.keys]\nheight_m = 'height'\n[rename.kinds]\ngrass = 'surface:grass'\nwater = 'keepout:water'",
        "[[material]]\nname = 'topsoil'\ndensity = '2000 lb/yd^3'",
    ],
)
def test_what_the_reader_takes_the_schema_takes(text):
    SITE.validate(as_json(text))


def with_property(**properties):
    def change(drawn):
        drawn["features"][-1]["properties"] |= properties

    return change


def without(key):
    return lambda drawn: drawn["features"][-1]["properties"].pop(key)


def drawn_as(kind, coordinates):
    return lambda drawn: drawn["features"][-1].update(geometry={"type": kind, "coordinates": coordinates})


def another(kind, geometry, **properties):
    feature = {"type": "Feature", "properties": {"kind": kind, **properties}, "geometry": geometry}
    return lambda drawn: drawn["features"].append(feature)


HERE = {"type": "Point", "coordinates": [3, 4]}
LINE = {"type": "LineString", "coordinates": [[3, 4], [5, 6]]}
AREA = {"type": "Polygon", "coordinates": [[[0, 0], [1, 0], [1, 1]]]}
BAD_FEATURES = {
    "height negative": with_property(height=-0.5),
    "height missing": without("height"),
    "height null": with_property(height=None),
    "height in words": with_property(height="tall"),
    "kind missing": without("kind"),
    "kind unknown": with_property(kind="beed"),
    "flag in a word": with_property(proposed="perhaps"),
    "rows unknown": with_property(rows="around"),
    "bed as a point": drawn_as("Point", [3, 4]),
    "coordinates of a text": drawn_as("Polygon", [[["a", 1]]]),
    "surface unknown": another("surface", AREA, surface="gras"),
    "tree as a point without its crown": another("tree", HERE, height=3),
    "hedge as a line without its width": another("hedge", LINE, height=3),
    "gate as a point without its width": another("gate", HERE),
    "two boundaries": another("boundary", AREA),
    "no boundary": lambda drawn: drawn["features"].pop(0),
    "no feature": lambda drawn: drawn.update(features=[]),
}


@pytest.mark.parametrize("name", BAD_FEATURES)
def test_features_that_cannot_be_are_refused(name, tmp_path):
    drawn = json.loads((new_site(tmp_path / "mine") / "features.geojson").read_text(encoding="utf-8"))
    FEATURES.validate(drawn)
    BAD_FEATURES[name](drawn)
    assert not FEATURES.is_valid(drawn)


def test_properties_of_no_meaning_and_nulls_are_taken(tmp_path):
    drawn = json.loads((new_site(tmp_path / "mine") / "features.geojson").read_text(encoding="utf-8"))
    with_property(colour="red", crop_height=None, trellis_side="north-east", crops=["tomato"])(drawn)
    another("tree", HERE, height="20 ft", crown_radius=2)(drawn)
    another("gate", LINE)(drawn)
    FEATURES.validate(drawn)


def test_a_variant_is_accepted_and_what_it_cannot_change_is_refused():
    point = {"type": "Point", "coordinates": [1.5, 2]}
    tap = {"type": "Feature", "id": "tap", "properties": {"kind": "tap"}, "geometry": point}
    sound = {
        "settings": {"sun.need": "5 h", "water.flow": None, "units": "metric"},
        "changed": {"pear": {"properties": {"height": "12 ft", "note": None}}, "plum": {"geometry": point}},
        "removed": ["gate"],
        "added": [tap],
    }
    VARIANT.validate(sound)
    VARIANT.validate({})
    for wrong in (
        {"remove": ["gate"]},
        {"removed": "gate"},
        {"settings": {"features": "other.geojson"}},
        {"settings": {"origin.unit": "ft"}},
        {"settings": {"sun.need": "much"}},
        {"changed": {"pear": {}}},
        {"changed": {"pear": {"height": "12 ft"}}},
        {"added": [{key: value for key, value in tap.items() if key != "id"}]},
        {"added": [tap | {"properties": {"kind": "tank"}}]},
    ):
        assert list(VARIANT.iter_errors(wrong)), wrong
