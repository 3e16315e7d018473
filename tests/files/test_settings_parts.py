"""Settings, materials, recipes and offers from a few lines; how site.toml is edited; how a bed is written. By hand."""

from __future__ import annotations

import dataclasses
import tomllib
from types import SimpleNamespace

import pytest
from pyproj import CRS
from shapely import box

from siteplan.files.adopting import _as_written, _difference, _free_ids, _length, _refuse_overlaps
from siteplan.files.crosscheck import check_settings
from siteplan.files.remarks import Remarks
from siteplan.files.site_toml.editing import edited_settings, with_settings
from siteplan.files.site_toml.keys import Keys
from siteplan.files.site_toml.settings import countries_of, drawing_unit, settings_of, unit_of_system
from siteplan.files.site_toml.trade import bed_layers, read_trade
from siteplan.land.errors import InputError
from siteplan.land.features import Bed
from siteplan.land.layers import LayerSpec
from siteplan.land.units import METRE


def settings(text, tmp_path):
    found = settings_of(tomllib.loads(text), tmp_path, remarks := Remarks())
    said = [f"{one.where}: {one.text}" for one in remarks.faults] + [
        f"{one.code}: {one.text}" for one in remarks.cautions
    ]
    return found, said


def test_what_is_taken_where_nothing_is_said(tmp_path):
    found, said = settings("", tmp_path)
    assert said == []
    assert (found.name, found.units, found.currency, found.features) == (
        tmp_path.name,
        "metric",
        "USD",
        "features.geojson",
    )
    assert (found.origin, found.has_origin, found.season, found.timezone) == (None, False, None, None)
    assert (found.surface_settings.begins, found.surface_settings.within, found.surface_settings.unit) == (
        0.0,
        False,
        None,
    )


def test_enough_sun_is_no_less_than_what_is_needed(tmp_path):
    plain = settings("", tmp_path)[0].sun.plenty
    assert settings("[sun]\nneed = 4", tmp_path)[0].sun.plenty == plain
    assert settings("[sun]\nneed = 11", tmp_path)[0].sun.plenty == 11
    assert settings("[sun]\nneed = 4\nplenty = 5", tmp_path)[0].sun.plenty == 5
    assert settings("[sun]\nyear = 2031", tmp_path)[0].sun.year == 2031


@pytest.mark.parametrize(("text", "words"), [
    ('currency = "eur"', ': currency is \'eur\', must be the three capital letters of ISO 4217, such as "EUR"'),
    ('currency = "€"', ': currency is \'€\', must be the three capital letters of ISO 4217, such as "EUR"'),
    ('currency = "£"', ': currency is \'£\', must be the three capital letters of ISO 4217, such as "GBP"'),
    ('currency = "dollar"', ': currency is \'dollar\', must be the three capital letters of ISO 4217, such as "USD"'),
    ('currency = "XYZ"', "currency: XYZ is not a currency of ISO 4217 that is known here; is it meant?"), ('currency = "CHF"', None),
    ("[origin]\nlatitude = 45", "[origin]: longitude is missing; a measured plan needs the place of its zero point, in degrees"),
    ("[origin]\nlatitude = 92\nlongitude = 45", "[origin]: latitude is 92 degrees, must be from -90 to 90; are latitude and longitude swapped?"),
    ("[origin]\nlatitude = -180\nlongitude = -90", "[origin]: latitude is -180 degrees, must be from -90 to 90; are latitude and longitude swapped?"),
    ("[origin]\nlatitude = 92\nlongitude = 91", "[origin]: latitude is 92 degrees, must be at least -90 and at most 90 degrees"),
    ("[origin]\nlatitude = 181\nlongitude = 9", "[origin]: latitude is 181 degrees, must be at least -90 and at most 90 degrees"),
    ("[origin]\nlatitude = 90\nlongitude = 180", None),
    (f"[origin]\nlatitude = 1{'0' * 400}\nlongitude = 9", "[origin]: latitude: inf is not finite; give an angle"),
    ('[season]\nlast_frost = "04-15"', "[season]: has last_frost alone; give both last_frost and first_frost, or leave the table out"),
    ("[ground]\nfall = 1", "[ground]: fall and toward belong together: how much lower the ground is, and on which side"),
    ('terrain = "none.tif"', ": terrain = 'none.tif': the file is not there; put it beside site.toml"),
    ("surface_within = true", ": surface_within tells how surface_model is used; name that raster, or leave surface_within out"),
    ("surface_from = 2", ": surface_from tells how surface_model is used; name that raster, or leave surface_from out"), ("surface_from = 0", None),
    ("unitss = 5", ": 'unitss' is not known; did you mean 'units'?"),
])  # fmt: skip
def test_what_is_said_of_settings(tmp_path, text, words):
    _, said = settings(text, tmp_path)
    if words is None:
        assert said == []
    else:
        assert said[0].startswith(words)


def test_the_countries_of_a_currency():
    assert countries_of("GBP") == {"GB", "GG", "IM", "JE"}
    assert "IT" in countries_of("EUR")
    assert countries_of("MXN") == {"MX"}


@pytest.mark.parametrize(("code", "sign", "plural", "metres"), [
    ("EPSG:32632", "m", "metres", 1.0), ("EPSG:4326", "m", "metres", 1.0), (None, "m", "metres", 1.0), ("EPSG:2263", "ft", "US survey feet", 1200 / 3937),
    ("EPSG:2222", "ft", "feet", 0.3048),
])  # fmt: skip
def test_the_unit_of_a_coordinate_system(code, sign, plural, metres):
    found = unit_of_system(None if code is None else CRS(code))
    assert (found.sign, found.metres) == (sign, pytest.approx(metres))
    assert found.plural == plural or found == METRE


@pytest.mark.parametrize(("values", "metres"), [
    ({"origin": {"unit": "ft"}}, 0.3048), ({"origin": {}}, 1.0), ({"origin": {"unit": 5}}, 1.0), ({"origin": {"unit": "kg"}}, 1.0), ({}, 1200 / 3937),
    ({"origin": 5}, 1200 / 3937),
])  # fmt: skip
def test_the_unit_of_a_drawing(values, metres):
    assert drawing_unit(values, CRS("EPSG:2263")).metres == pytest.approx(metres)


# ---- materials, recipes, offers


def trade(text):
    keys = Keys(tomllib.loads(text), remarks := Remarks(), file="site.toml", where="", currency="USD")
    return read_trade(keys), [f"{one.where}: {one.text}" for one in remarks.faults]


def test_a_known_material_keeps_what_is_left_out():
    plain = trade("")[0].materials["compost"]
    found, faults = trade(f'[[material]]\nname = "compost"\ndensity = {plain.density * 1.1}')
    own = found.materials["compost"]
    assert faults == []
    assert (own.density, own.source) == (pytest.approx(plain.density * 1.1), "site.toml")
    assert own.density_wet == pytest.approx(plain.density_wet * 1.1)  # as much more on a wet day
    assert own.settling_first == plain.settling_first
    wet = trade(f'[[material]]\nname = "compost"\ndensity_wet = {plain.density_wet * 1.05}')[0].materials["compost"]
    assert (wet.density, wet.density_wet) == (plain.density, pytest.approx(plain.density_wet * 1.05))


@pytest.mark.parametrize(("text", "words"), [
    ("[[material]]\ndensity = 400", "[[material]] 1: name is missing; call the material something"),
    ('[[material]]\nname = "moss"', "[[material]] 1: 'moss' is new, so it needs kind, density, density_wet, settling_first"),
    ('[[stock]]\nvolume = "1 m3"\nat = "heap"', "[[stock]] 1: material is missing; name the material"),
    ('[[stock]]\nmaterial = "compost"\nat = "heap"', '[[stock]] 1: volume is missing; say how much there is, such as "1.2 yd^3"'),
    ('[[stock]]\nmaterial = "compost"\nvolume = "1 m3"', "[[stock]] 1: at is missing; name the pile at which it lies"),
    ('[[stock]]\nmaterial = "Compost"\nvolume = "1 m3"\nat = "heap"', "[[stock]] 1: material 'Compost' is not known; did you mean 'compost'?"),
    ('[[offer]]\nmaterial = "compost"\nbag = "40 L"', "[[offer]] 1: price is missing; say what one bag, or one loose step, costs"),
    ('[[offer]]\nmaterial = "screws"\nbox = 100', "[[offer]] 1: price is missing; say what one piece, or one box, costs"),
    ('[fill]\nlining = "compst"', "[fill]: lining 'compst' is not known; did you mean 'compost'?"), ('[fill]\nlining = "xyzzy"', "[fill]: lining 'xyzzy' is not known; or \"none\""),
    ("[fill]\nlayers = []", "[fill]: layers is empty; it must be a list such as"), ('[[recipe]]\nname = "deep"', "[[recipe]] 1: layers is missing; give a list such as"),
    ("[fill]\nlayers = [{mix = {compost = 0.5, topsoil = 0.4}, fraction = 1.0}]", "[fill] layer 1 mix: the shares sum to 0.9, must sum to 1"),
    ("[fill]\nlayers = [{mix = {compost = 0.5, topsoil = 0.5011}, fraction = 1.0}]", "[fill] layer 1 mix: the shares sum to 1.0011, must sum to 1"),
    ("[fill]\nlayers = [{mix = {compst = 1.0}, fraction = 1.0}]", "[fill] layer 1 mix: 'compst' is not known; did you mean 'compost'?"),
    ("stock = 5", ": stock must be a list of tables, each of which starts with the line [[stock]] and says material = "),
])  # fmt: skip
def test_what_is_said_of_a_trade(text, words):
    assert trade(text)[1][0].startswith(words)


def test_recipes_are_known_by_their_names():
    layers = 'layers = [{material = "topsoil", fraction = 1.0}]'
    found, faults = trade(
        f'[[recipe]]\nname = "deep"\n{layers}\n[[recipe]]\nname = "deep"\n{layers}\n[[recipe]]\nname = "bad"\nlayers = [5]'
    )
    assert found.recipes["deep"] == (LayerSpec(material="topsoil", fraction=1.0),)
    assert found.recipes["bad"] == ()
    assert faults[0] == "[[recipe]] 2: name 'deep' is there twice; each recipe has its own"


def test_a_blend_has_a_name_and_shares_that_sum_to_one():
    found, faults = trade(
        '[[offer]]\nmix = {compost = 0.25, topsoil = 0.75}\nbag = "50 L"\nprice = "40 USD / m3"\n'
        '[[offer]]\nmaterial = "my mix"\nmix = {compost = 0.5, topsoil = 0.5009}\nloose = "1 m3"\nprice = 30'
    )
    first = found.offers[0]
    assert (first.material, dict(first.mix), first.price) == (
        "compost and topsoil",
        {"compost": 0.25, "topsoil": 0.75},
        pytest.approx(2.0),
    )
    assert faults == []
    assert found.offers[1].material == "my mix"
    assert sum(dict(found.offers[1].mix).values()) == pytest.approx(1.0)


def layers(value):
    known, _ = trade('[[recipe]]\nname = "deep"\nlayers = [{material = "topsoil", fraction = 1.0}]')
    keys = Keys({}, remarks := Remarks(), file="f", where="bed")
    return bed_layers(value, keys, known), [one.text for one in remarks.faults]


def test_the_layers_of_a_bed():
    topsoil = (LayerSpec(material="topsoil", fraction=1.0),)
    assert layers("deep") == (topsoil, [])
    assert layers([{"material": "topsoil", "fraction": 1.0}]) == (topsoil, [])
    assert layers(' [{"material": "topsoil", "fraction": 1.0}]') == (topsoil, [])
    assert layers("deap") == (None, ["layers: there is no recipe 'deap'; did you mean 'deep'?"])
    assert layers("xyzzy") == (None, ["layers: there is no recipe 'xyzzy'; there are deep"])
    assert layers("[5")[1][0].startswith("layers is '[5', must be a list such as [{\"material\"")
    assert layers([{"material": "topsol"}])[0] is None
    none, _ = trade("")
    remarks = Remarks()
    assert bed_layers("deep", Keys({}, remarks, file="f", where="bed"), none) is None
    assert next(iter(remarks.faults)).text == "layers: there is no recipe 'deep'; site.toml has no [[recipe]]"


# ---- editing


@pytest.mark.parametrize(("text", "changes", "after"), [
    ('name = "a"\n', {"name": "b"}, 'name = "b"\n'), ('name = "a"\n', {"name": "a"}, 'name = "a"\n'),
    ('name = "a"  # ours\n', {"name": "long name"}, 'name = "long name" # ours\n'), ('name = "abc"   # ours\n', {"name": "a"}, 'name = "a"     # ours\n'),
    ('# name = "a"  # ours\n', {"name": "b"}, 'name = "b"    # ours\n'), ('name = "a"  # ours\nunits = "metric"\n', {"name": None}, '# name = "a" # ours\nunits = "metric"\n'),
    ('name = "a"\nunits = "metric"\n', {"name": None}, 'units = "metric"\n'), ("", {"sun.need": 5}, "[sun]\nneed = 5\n"),
    ('name = "a"', {"sun.need": 5}, 'name = "a"\n\n[sun]\nneed = 5\n'), ('name = "a"\n', {"sun.need": 5}, 'name = "a"\n\n[sun]\nneed = 5\n'),
    ('name = "a"\n\n', {"sun.need": 5}, 'name = "a"\n\n[sun]\nneed = 5\n'), ("# [sun]  # light\n# need = 6\n", {"sun.need": 5}, "[sun]    # light\nneed = 5\n"),
    ("[sun]\nneed = 6\n[barrow]\nload = 80\n", {"barrow.load": 90, "sun.need": None}, "[sun]\n[barrow]\nload = 90\n"),
    ("[sun]\n# need = 6\nneed = 7\n", {"sun.need": 5}, "[sun]\n# need = 6\nneed = 5\n"), ('\ufeffname = "a"\r\n', {"name": "b"}, '\ufeffname = "b"\r\n'),
    ('name = "a"\n', {"sun.need": None}, 'name = "a"\n'), ("[[stock]]\nat = 1\n# [sun]\n# need = 6\n", {"sun.need": 5}, "[[stock]]\nat = 1\n[sun]\nneed = 5\n"),
])  # fmt: skip
def test_a_setting_line_by_line(text, changes, after):
    assert edited_settings(text, changes) == after


@pytest.mark.parametrize(("text", "changes", "words"), [
    ("", {"sun.ned": 5}, "sun.ned: is not known; did you mean 'sun.need'?"), ("", {"xyzzy": 5}, "xyzzy: is not known; README.md lists the keys of site.toml"),
    ("sun = 5\n", {"sun.need": 5}, "sun: is 5, must be a table that starts with the line [sun]; mend it in a text editor"),
])  # fmt: skip
def test_settings_that_cannot_be_set(text, changes, words):
    with pytest.raises(InputError) as caught:
        edited_settings(text, changes)
    assert words in str(caught.value)


def test_values_with_changes():
    values = {"sun": {"need": 6}, "a": 5}
    assert with_settings(values, {"sun.need": 7, "barrow.load": 1, "name": "x"}) == {
        "sun": {"need": 7},
        "a": 5,
        "barrow": {"load": 1},
        "name": "x",
    }
    assert values == {"sun": {"need": 6}, "a": 5}
    assert with_settings(values, {"a.b": 1, "x.y": None, "name": None}) == values


# ---- beds


BED = Bed(id="b", outline=box(0, 0, 2, 1), height=0.3)


@pytest.mark.parametrize(
    ("metres", "units", "text"),
    [
        (0.4572, "imperial", "18 in"),
        (1.0, "imperial", "39.3701 in"),
        (0.305, "metric", "30.5 cm"),
        (1 / 3, "metric", "33.3333 cm"),
    ],
)
def test_a_length_as_it_is_written(metres, units, text):
    assert _length(metres, units) == text


def test_other_values_as_they_are_written():
    assert _as_written(("tomato", "kale"), "metric") == "tomato, kale"
    assert _as_written(5, "metric") == 5
    layer = LayerSpec(material="topsoil", thickness=0.254)
    assert _as_written((layer,), "imperial") == [{"material": "topsoil", "thickness": "10 in"}]
    blend = LayerSpec(material="mix", fraction=1.0, mix=(("compost", 0.5), ("topsoil", 0.5)))
    assert _as_written((blend,), "metric") == [
        {"material": "mix", "fraction": 1.0, "mix": {"compost": 0.5, "topsoil": 0.5}}
    ]


def test_how_a_bed_may_differ_from_what_is_read():
    def changed(**more):
        return _difference(BED, dataclasses.replace(BED, **more))

    assert _difference(BED, BED) == ""
    assert _difference(BED, None) == "it is not read as a bed"
    assert changed(outline=box(0, 0, 2.0019, 1)) == ""
    assert changed(outline=box(0, 0, 2.0021, 1)) == "its outline is read otherwise"
    assert changed(height=0.3019) == ""
    assert changed(height=0.3021) == "its frame 1 is read otherwise"
    assert changed(proposed=True) == "its proposed is read as True"


def test_a_bed_beside_a_proposed_one():
    old = dataclasses.replace(BED, id="old", proposed=True)
    for west, free in ((1.991, True), (1.989, False)):
        new = dataclasses.replace(BED, outline=box(west, 0, west + 2, 1))
        if free:
            _refuse_overlaps(SimpleNamespace(beds=(old,)), [new], "f")
        else:
            with pytest.raises(InputError, match='lies on the proposed bed "old"'):
                _refuse_overlaps(SimpleNamespace(beds=(old,)), [new], "f")
    _refuse_overlaps(SimpleNamespace(beds=(BED,)), [BED], "f")  # one that is there is a limit of the search


def test_new_beds_get_free_ids():
    assert _free_ids(2, {"bed-3", "a", "bed-4", "bed-6"}, 3) == ["bed-5", "bed-7", "bed-8"]
    assert _free_ids(0, (), 2) == ["bed-1", "bed-2"]


def test_stock_lies_at_a_pile_that_is_drawn(tmp_path):
    rows = "".join(
        f'[[stock]]\nmaterial = "compost"\nvolume = "1 m3"\nat = "{at}"\n' for at in ("heap", "heep", "shed", "xyzzy")
    )
    found, _ = settings(rows, tmp_path)
    shed = Bed(id="shed", outline=box(0, 0, 2, 1), height=0.3)
    check_settings(found, [shed], ["heap", "bin"], remarks := Remarks())
    assert [f"{one.where}: {one.text}" for one in remarks.faults] == [
        "[[stock]] 2: there is no pile 'heep'; did you mean 'heap'?",
        "[[stock]] 3: there is no pile 'shed'; that is a bed; draw a pile there",
        "[[stock]] 4: there is no pile 'xyzzy'; piles are bin, heap",
    ]
    check_settings(found, [], [], remarks := Remarks())
    assert next(iter(remarks.faults)).text == "there is no pile 'heap'; piles are not drawn at all"
