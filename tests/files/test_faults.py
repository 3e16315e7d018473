"""Does each thing that a tired person gets wrong come back in words that mend it?

A table: what is broken in the sound yard, and the words that the one line about it must hold.
"""

from __future__ import annotations

import math

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from shapely import LineString, Point, Polygon, box

NAN = math.nan


def prop(feature_id, **properties):
    """Give a feature other properties; None takes one away."""

    def change(yard):
        for key, value in properties.items():
            if value is None:
                yard.features[feature_id]["properties"].pop(key)
            else:
                yard.features[feature_id]["properties"][key] = value

    return change


def toml(old, new):
    return lambda yard: yard.change(old, new)


def add(text):
    """Put keys before the first table, or tables at the end."""
    if text.startswith("["):
        return lambda yard: setattr(yard, "toml", yard.toml + text)
    return lambda yard: setattr(yard, "toml", text + yard.toml)


def draw(feature_id, shape, **properties):
    return lambda yard: yard.draw(feature_id, shape, **properties)


def geometry(feature_id, value):
    return lambda yard: yard.features[feature_id].__setitem__("geometry", value)


def feature(feature_id, key, value):
    return lambda yard: yard.features[feature_id].__setitem__(key, value)


def drop(feature_id):
    return lambda yard: yard.features.pop(feature_id)


def lonlat(feature_id, kind, coordinates):
    return geometry(feature_id, {"type": kind, "coordinates": coordinates})


BOW_TIE = Polygon([(4, 4), (5.2, 6.4), (5.2, 4), (4, 6.4)])

FAULTS = {
    # heights and other quantities of features
    "height missing": (prop("house", height=None), ['building "house"', "height is missing", "measure it from the ground"]),
    "height misspelt": (
        prop("house", height=None, hieght=7),
        ['building "house"', "height is missing", "is 'hieght' meant for it?"],
    ),
    "height negative": (prop("house", height=-1.2), ["height is -1.2 m, must be above 0"]),
    "height zero": (prop("fence", height=0), ['fence "fence"', "height is 0 m, must be above 0"]),
    "height not a number": (prop("house", height=NAN), ["height: nan is not finite"]),
    "height infinite": (prop("house", height=math.inf), ["height: inf is not finite"]),
    "height a mass": (prop("north", height="9 kg"), ['bed "north"', "height", "'9 kg' is a mass, not a length", "give a length such as"]),
    "height a word": (prop("house", height="tall"), ["'tall' does not start with a number"]),
    "height a flag": (prop("house", height=True), ["height: True is not a length"]),
    "height a list": (prop("house", height=[7]), ["height: [7] is not a length"]),
    "height with a strange unit": (prop("house", height="7 smoots"), ["'7 smoots' has a unit that is not known"]),
    "bed in inches without a unit": (prop("north", height=18, trellis_height=None), ["height is 18 m", "at most 3 m", 'as in "18 in"']),
    "trunk in centimetres": (prop("pear", trunk_diameter=30), ["trunk_diameter is 30 m", 'give the unit, as in "18 in"']),
    "trunk and trunks": (prop("pear", trunk_diameters=["20 cm", "15 cm"]), ['tree "pear"', "both trunk_diameter and trunk_diameters; give one"]),
    "one of several trunks": (prop("pear", trunk_diameter=None, trunk_diameters="20 cm, 0 cm"), ['tree "pear" trunk_diameters: 2 is 0 m, must be above 0']),
    "share in percent": (prop("porch", transmittance=50), ["transmittance is 50", "at most 1", 'or write "20 %"']),
    "share an angle": (prop("porch", transmittance="50 degrees"), ["'50 degrees' is an angle, not a fraction", "give a fraction"]),
    "base above height": (prop("porch", base=3.5), ["base is 3.5 m", "below height (3 m)"]),
    "eaves above height": (prop("house", eaves=9), ["eaves is 9 m", "to height (7.5 m)"]),
    "crown base above height": (prop("yew", crown_base=5), ["crown_base is 5 m", "below height (4 m)"]),
    "crop below the walls": (prop("south", crop_height=0.2), ["crop_height is 0.2 m", "above the bed's height (0.3 m)"]),
    "crown of a point missing": (prop("pear", crown_diameter=None), ['tree "pear"', "crown_diameter is missing", "point"]),
    "width of a hedge line missing": (prop("box", width=None), ['hedge "box"', "width is missing"]),
    "width of a gate missing": (prop("gate", width=None), ['gate "gate"', "width is missing"]),
    "surface missing": (prop("lawn", surface=None), ['surface "lawn"', "surface is missing", "paved, gravel, grass"]),
    "surface unknown": (prop("lawn", surface="gras"), ["surface 'gras' is not known", "did you mean 'grass'?"]),
    "reason missing": (prop("gas", reason=None), ['keepout "gas"', "reason is missing"]),
    "reason empty": (prop("gas", reason="  "), ["reason is empty"]),
    "reason endless": (prop("gas", reason="x" * 201), ["reason is 201 characters long, must be at most 200"]),
    "foliage unknown": (prop("yew", foliage="evergren"), ["foliage 'evergren'", "did you mean 'evergreen'?"]),
    "crown form unknown": (prop("yew", crown_form="ball"), ["crown_form 'ball' is not known", "ellipsoid"]),
    "leaf date of no month": (prop("pear", leaf_out="00-10"), ["leaf_out is '00-10'", "a month and a day of it"]),
    "leaf date of no day": (prop("pear", leaf_out="04-00"), ["leaf_out is '04-00'", "a month and a day of it"]),
    "leaf date of month thirteen": (
        prop("pear", leaf_fall="13-01"),
        ["leaf_fall is '13-01'", 'the month comes first: "01-13"?'],
    ),
    "leaf date with the day first": (
        prop("pear", leaf_fall="31-12"),
        ["leaf_fall is '31-12'", 'the month comes first: "12-31"?'],
    ),
    "leaf date that is none": (prop("pear", leaf_out="02-30"), ["leaf_out is '02-30'", "a month and a day of it"]),
    "leaf date the wrong way round": (prop("pear", leaf_fall="27-10"), ["the month comes first", '"10-27"']),
    "leaves on one day": (prop("pear", leaf_out="10-27"), ["leaf_out and leaf_fall are both 10-27"]),
    "side unknown": (prop("north", trellis_side="nroth"), ["trellis_side 'nroth' is not a compass point", "'north'"]),
    "flag a word": (prop("kerb", drop="maybe"), ["drop is 'maybe', must be true or false"]),
    "walls too thick": (prop("north", wall_thickness=0.7), ["walls of 70 cm leave no room inside"]),
    # kinds and ids
    "kind unknown": (prop("pear", kind="tre"), ["feature 4 ('pear')", "kind 'tre' is not known", "did you mean 'tree'?"]),
    "kind strange": (prop("pear", kind="gnome"), ["kind 'gnome' is not known", "[rename.kinds]"]),
    "kind missing": (prop("pear", kind=None), ["kind is missing", "boundary, building"]),
    "kind a number": (prop("pear", kind=7), ["kind 7 is not known"]),
    "id twice": (feature("south", "id", "north"), ['bed "north"', "its id stands twice, in features 15 and 16"]),
    "id endless": (feature("south", "id", "x" * 10_000), ["id is 10000 characters long, must be at most 200"]),
    "id a list": (feature("south", "id", ["a"]), ["id is ['a'], must be a text or a number"]),
    "properties a list": (feature("tap", "properties", [1]), ["properties are [1], must be an object"]),
    "not a feature": (feature("tap", "type", "Featur"), ["feature 11", "is 'Featur', must be a GeoJSON Feature"]),
    # shapes
    "no geometry": (geometry("north", None), ['bed "north"', "has no geometry"]),
    "geometry a text": (geometry("north", "POLYGON"), ["has 'POLYGON' for a geometry"]),
    "empty geometry": (lonlat("north", "Polygon", []), ['bed "north"', "has an empty geometry"]),
    "coordinate not a number": (lonlat("tap", "Point", [8.0, NAN]), ['tap "tap"', "is not a finite number"]),
    "coordinate a text": (lonlat("tap", "Point", ["8", "east"]), ['tap "tap"', 'the coordinate "8" is no number; write it without quotes']),
    "too few corners": (lonlat("north", "Polygon", [[[8, 45], [8.1, 45]]]), ['bed "north"', "geometry that cannot be read"]),
    "bed as a point": (draw("south", Point(4, 4)), ['bed "south"', "is drawn as a Point, must be a Polygon"]),
    "fence as a point": (draw("wall", Point(4, 4)), ["is drawn as a Point, must be a LineString or a Polygon"]),
    "door as a line": (draw("back", LineString([(0, 0), (1, 1)])), ["is drawn as a LineString, must be a Point"]),
    "bed crossing itself": (draw("south", BOW_TIE), ['bed "south"', "its outline crosses itself; draw it again"]),
    "bed in two pieces": (
        draw("south", box(4, 4, 5, 5).union(box(7, 4, 8, 5))),
        ['bed "south"', "has 2 parts, must be in one piece"],
    ),
    "bed without area": (draw("south", Polygon([(4, 4), (5, 5), (4, 4)])), ['bed "south"', "is an outline without area"]),
    "fence without length": (draw("wall", LineString([(4, 4), (4, 4)])), ['fence "wall"', "without length"]),
    # where things lie
    "no boundary": (drop("lot"), ["has no boundary; draw one Polygon"]),
    "two boundaries": (draw("lot-2", box(-20, -20, 20, 20), kind="boundary"), ["has 2 boundaries", '"lot", "lot-2"']),
    "bed outside": (draw("south", box(40, 4, 41, 6)), ['bed "south"', "lies outside the boundary"]),
    "bed half outside": (draw("south", box(14.4, 8.6, 15.6, 9.8)), ['bed "south"', "lies 50% outside the boundary"]),
    "bed on the house": (draw("south", box(-3, -2, -1.8, 0.4)), ['bed "south"', 'lies on building "house"']),
    "bed on a bed": (draw("south", box(0.5, 4, 1.7, 6.4)), ['bed "north"', 'lies on bed "south"']),
    "axes swapped in one": (lonlat("tap", "Point", [45.0, 8.0]), ['tap "tap"', "longitude and latitude are swapped"]),
    "one corner in another country": (
        lonlat("north", "Polygon", [[[8, 45], [8.00001, 45], [80, 45.00001], [8, 45]]]),
        ['bed "north"', "km across, must be at most 50 km; one of its coordinates is wrong"],
    ),
    "coordinate off the earth": (lonlat("tap", "Point", [8.0, 1e300]), ["has the coordinate 1e+300", "nowhere on earth"]),
    "half the world away": (lonlat("tap", "Point", [8.0, 46.0]), ['tap "tap"', "lies 111 km from the boundary"]),
    "beyond the pole": (lonlat("tap", "Point", [45.0, 108.0]), ["has latitude 108", "swapped: longitude comes first"]),
    "metres for degrees": (
        lonlat("tap", "Point", [512.0, 408.0]),
        ["longitude 512 and latitude 408", "measured plan, give [origin]"],
    ),
    "gate wider than its fence": (prop("gate", width="17 m"), ["is 17.00 m wide, wider than its fence", "16.00 m"]),
    # settings
    "key unknown": (add('curency = "EUR"\n'), ["site.toml", "'curency' is not known", "did you mean 'currency'?"]),
    "table unknown": (add("[sunn]\n"), ["'sunn' is not known", "did you mean 'sun'?"]),
    "key of a table unknown": (toml('cell = "50 cm"', 'sell = "50 cm"'), ["[sun]", "'sell' is not known", "'cell'"]),
    "table a number": (toml("[barrow]\nvolume =", "barrow ="), ["barrow"]),
    "units unknown": (toml('"metric"', '"imperal"'), ["units 'imperal' is not known", "did you mean 'imperial'?"]),
    "units a number": (toml('"metric"', "7"), ["units is 7, must be a text in quotes"]),
    "currency in words": (toml('"EUR"', '"eur"'), ["currency is 'eur'", 'ISO 4217, such as "EUR"']),
    "currency a sign": (toml('"EUR"', '"$"'), ["currency is '$'", '"USD"']),
    "timezone misspelt": (toml("Europe/Rome", "Europe/Rom"), ["timezone 'Europe/Rom'", "did you mean 'Europe/Rome'?"]),
    "timezone a path": (toml("Europe/Rome", "../../etc/passwd"), ["timezone", "is not known"]),
    "timezone a folder": (toml("Europe/Rome", "Europe"), ["timezone 'Europe' is not known"]),
    "frost on no day": (toml("04-15", "02-30"), ["[season]", "last_frost is '02-30'"]),
    "frost the wrong way round": (toml("04-15", "15-04"), ["the month comes first", '"04-15"']),
    "frost a date": (toml('"04-15"', "2026-04-15"), ["last_frost is datetime.date(2026, 4, 15)", "a month and a day"]),
    "frost dates reversed": (
        toml('last_frost = "04-15"\nfirst_frost = "10-20"', 'last_frost = "10-20"\nfirst_frost = "04-15"'),
        ["[season]", "lies in the north (latitude 45.00)", "swap them?", "south of the equator is negative"],
    ),
    "frost dates the same": (toml("10-20", "04-15"), ["[season]", "has one day"]),
    "one frost date": (toml('last_frost = "04-15"\n', ""), ["[season]", "has first_frost alone"]),
    "cell a time": (toml('"50 cm"', '"10 min"'), ["[sun]", "cell", "'10 min' is a time, not a length"]),
    "cell too fine": (toml('"50 cm"', '"1 mm"'), ["cell is 0.001 m, must be at least 0.05"]),
    "year of no calendar": (toml("year = 2026", "year = 20260"), ["year is 20260, must be a whole number from 1950 to 2100"]),
    "year a text": (toml("year = 2026", 'year = "2026"'), ["year is '2026', must be a whole number"]),
    "need above plenty": (toml("year = 2026", "need = 9\nplenty = 8"), ["need is 9 h, more than plenty (8 h)", "swap"]),
    "barrow without volume": (toml('"85 L"', "0"), ["[barrow]", "volume is 0 m3, must be at least 0.005"]),
    "people by halves": (add("[labour]\npeople = 1.5\n"), ["[labour]", "people is 1.5, must be a whole number"]),
    "place key unknown": (add("[place]\nlenght = 2\n"), ["[place]", "'lenght' is not known", "did you mean 'length'?"]),
    "terrain missing": (add('terrain = "ground.tif"\n'), ["terrain = 'ground.tif': the file is not there"]),
    "weather missing": (add('weather = "typical.epw"\n'), ["weather = 'typical.epw': the file is not there"]),
    "skyline missing": (add('skyline = "hills.csv"\n'), ["skyline = 'hills.csv': the file is not there"]),
    "terrain a folder": (add('terrain = "."\n'), ["terrain = '.': the file is a folder"]),
    "features missing": (toml("features.geojson", "yard.geojson"), ["yard.geojson: is not there", "site.toml names it"]),
    "features a drawing of another kind": (toml("features.geojson", "yard.dxf"), ["must be a .geojson, .gpkg or .fgb file"]),
    # recipe, stock, offers
    "material unknown in stock": (toml('"topsoil"\nvolume', '"topsol"\nvolume'), ["[[stock]] 1", "did you mean 'topsoil'?"]),
    "material in capitals": (toml('"compost"', '"Compost"'), ["[[offer]] 2", "did you mean 'compost'?"]),
    "material missing": (toml('material = "compost"\n', ""), ["[[offer]] 2", "material is missing"]),
    "pile not drawn": (toml('"heap"', '"heep"'), ["[[stock]] 1", "there is no pile 'heep'; did you mean 'heap'?"]),
    "pile a tap": (toml('"heap"', '"tap"'), ["there is no pile 'tap'; that is a tap; draw a pile there"]),
    "stock of nothing": (toml('"0.5 m^3"\nat', '"0 m^3"\nat'), ["[[stock]] 1", "volume is 0 m3, must be above 0"]),
    "stock by weight": (toml('"0.5 m^3"\nat', '"90 kg"\nat'), ["'90 kg' is a mass, not a volume"]),
    "offer of neither": (toml('bag = "40 L"\n', ""), ["[[offer]] 2", "neither bag nor loose"]),
    "offer of both": (toml('bag = "40 L"', 'bag = "40 L"\nloose = "1 m^3"'), ["[[offer]] 2", "both bag and loose"]),
    "price missing": (toml("price = 7.50\n", ""), ["[[offer]] 2", "price is missing"]),
    "price negative": (toml("7.50", "-7.50"), ["price is -7.5, must be a plain number"]),
    "price with a sign": (toml("7.50", '"$7.50"'), ["price is '$7.50', must be a plain number"]),
    "delivery too small": (
        toml("delivery = 40.00", 'per_delivery = "100 L"'),
        ["[[offer]] 1", "per_delivery is 0.1 m3, less than one loose (0.5 m3)"],
    ),
    "stock a single table": (toml("[[stock]]", "[stock]"), ["stock must be a list of tables", "[[stock]]"]),
    "fractions short": (
        add('[fill]\nlayers = [{ material = "topsoil", fraction = 0.5 }, { material = "compost", fraction = 0.4 }]\n'),
        ["[fill]", "0.5 + 0.4 sum to 0.9, must sum to 1"],
    ),
    "fractions beside a thickness": (
        add('[fill]\nlayers = [{ material = "topsoil", fraction = 1.1 }, { material = "compost", thickness = "5 cm" }]\n'),
        ["[fill] layer 1", "fraction is 1.1, must be above 0 and at most 1"],
    ),
    "layer of neither": (
        add('[fill]\nlayers = [{ material = "topsoil" }]\n'),
        ["[fill] layer 1", "neither fraction nor thickness"],
    ),
    "layer of an unknown material": (
        add('[fill]\nlayers = [{ material = "top soil", fraction = 1 }]\n'),
        ["[fill] layer 1", "material 'top soil' is not known; did you mean 'topsoil'?"],
    ),
    "no layers": (add("[fill]\nlayers = []\n"), ["[fill]", "layers is empty"]),
    "layers a text": (add('[fill]\nlayers = "topsoil"\n'), ["[fill]", "layers must be a list"]),
    "lining unknown": (add('[fill]\nlining = "cardbord"\n'), ["lining 'cardbord'", "did you mean 'cardboard'?"]),
    "new material half said": (
        add('[[material]]\nname = "leaf mould"\ndensity = 400\n'),
        ["[[material]] 1", "'leaf mould' is new, so it needs kind, density_wet"],
    ),
    "material lighter when wet": (
        add('[[material]]\nname = "topsoil"\ndensity = 1500\ndensity_wet = 1000\n'),
        ["density_wet is 1000 kg/m3, must be at least 1500"],
    ),
    "blend that is not whole": (
        toml('bag = "40 L"', 'bag = "40 L"\nmix = { topsoil = 0.5, compost = 0.4 }'),
        ["[[offer]] 2 mix", "the shares sum to 0.9, must sum to 1"],
    ),
    "trip without its volume": (toml("delivery = 40.00", 'payload = "500 kg"'), ["payload", "give fetch"]),
    "trip too weak for one bag": (  # 40 L of wet compost at 980 kg/m3 are 39.2 kg
        toml('bag = "40 L"', 'bag = "40 L"\nfetch = "1 m^3"\npayload = "10 kg"'),
        ["[[offer]] 2", "payload is 10 kg, less than one bag on a wet day (39.2 kg)"],
    ),
    # renaming
    "key renamed to nothing known": (
        add('[rename.keys]\nheight_m = "hight"\n'),
        ["[rename.keys]", "'height_m' = 'hight'", "did you mean 'height'?"],
    ),
    "kind renamed to nothing known": (
        add('[rename.kinds]\nwall = "fense"\n'),
        ["[rename.kinds]", "that is not a kind", "did you mean 'fence'?"],
    ),
    "kind renamed to no surface": (
        add('[rename.kinds]\nyard = "surface:gras"\n'),
        ["[rename.kinds]", "did you mean 'surface:grass'?"],
    ),
    "rename table unknown": (add("[rename.kind]\n"), ["[rename]", "'kind' is not known", "did you mean 'kinds'?"]),
}  # fmt: skip


@pytest.mark.parametrize("name", FAULTS)
def test_one_fault_one_line(yard, name):
    change, words = FAULTS[name]
    change(yard)
    lines = yard.faults()
    found = [line for line in lines if all(word in line for word in words)]
    assert len(found) == 1, lines
    assert len(lines) == 1, lines  # nothing else is said of it
    assert "\n" not in found[0]
    assert len(found[0]) < 600


FILES = {
    "toml that is none": ("site.toml", b'name = "Sparrow Court\n', ["site.toml", "is not TOML", "line 1"]),
    "toml with a bare quantity": (
        "site.toml",
        b"[barrow]\nvolume = 6 ft^3\n",
        ["is not TOML", "line 2", "in quotes"],
    ),
    "toml twice the same key": ("site.toml", b'name = "a"\nname = "b"\n', ["is not TOML", "line 2"]),
    "toml in another encoding": ("site.toml", 'name = "Béla"\n'.encode("latin-1"), ["is not UTF-8 (line 1)"]),
    "toml in sixteen bits": ("site.toml", 'name = "x"\n'.encode("utf-16"), ["is saved as UTF-16; save it as UTF-8"]),
    "drawing that is no JSON": ("features.geojson", b"{'type': 1}", ["features.geojson", "is not GeoJSON"]),
    "drawing cut short": ("features.geojson", b'{"type": "FeatureCollection", "features": [', ["is not GeoJSON"]),
    "drawing empty": ("features.geojson", b"", ["features.geojson", "is not GeoJSON"]),
    "drawing a single feature": (
        "features.geojson",
        b'{"type": "Feature"}',
        ["is a 'Feature', must be a GeoJSON Feat"],
    ),
    "drawing a list": ("features.geojson", b"[1, 2]", ["is a 'list', must be a GeoJSON FeatureCollection"]),
    "drawing without features": ("features.geojson", b'{"type": "FeatureCollection"}', ["has no list of features"]),
    "drawing nested without end": ("features.geojson", b"[" * 100_000, ["is not GeoJSON"]),
    "drawing in bytes": ("features.geojson", bytes(range(128, 256)), ["is not UTF-8"]),
}


@pytest.mark.parametrize("name", FILES)
def test_files_that_cannot_be_read(yard, name):
    file, content, words = FILES[name]
    yard.write()
    (yard.folder / file).write_bytes(content)
    from siteplan.files.reader import check_site

    lines = [str(fault) for fault in check_site(yard.folder).faults]
    found = [line for line in lines if all(word in line for word in words)]
    assert len(found) == 1, lines


def test_drawing_with_no_features_is_two_faults(yard):
    yard.features = {}
    lines = yard.faults()
    assert any("holds no features" in line for line in lines)
    assert any("has no boundary" in line for line in lines)


def test_byte_order_mark_and_unknown_line_ends_are_read(yard):
    yard.write()
    for name in ("site.toml", "features.geojson"):
        path = yard.folder / name
        path.write_bytes(b"\xef\xbb\xbf" + path.read_bytes().replace(b"\n", b"\r\n"))
    from siteplan.files.reader import check_site

    assert check_site(yard.folder).faults == ()


def test_folder_that_is_none(tmp_path, yard):
    from siteplan.files.reader import check_site

    assert "there is no such folder" in str(check_site(tmp_path / "nowhere").faults[0])
    file = tmp_path / "file"
    file.write_text("")
    assert "is a file, must be a site's folder" in str(check_site(file).faults[0])
    empty = tmp_path / "empty"
    empty.mkdir()
    assert str(check_site(empty).faults[0]) == "site.toml: is not there; start one with: siteplan new DIR"
    (empty / "site.toml").mkdir()
    assert "is a folder, must be a file" in str(check_site(empty).faults[0])


def test_many_features_of_one_unknown_kind_are_one_line(yard):
    for number in range(20):
        yard.draw(f"gnome-{number}", Point(0, 0), kind="gnome")
    assert len(yard.faults()) == 1
    assert "(so are 19 more)" in yard.faults()[0]


def test_two_faults_of_one_feature_are_two_lines(yard):
    yard.features["north"]["properties"] |= {"height": -1, "need": "5 m", "proposed": "perhaps"}
    assert sum('bed "north"' in line for line in yard.faults()) == 3


JUNK = [
    None, True, 0, -1, 1e308, NAN, math.inf, 10**400, "", "x" * 500, "4 ft", "nan", "\x1b", "\ud800", [], {}, [[]], "bed",
    [8.0, 45.0], {"type": "Point", "coordinates": [8, 45]}, {"type": "GeometryCollection", "geometries": []},
    {"type": "Polygon", "coordinates": [[[8, 45], [180, 45], [8, 45.1], [8, 45]]]}, "1/0", "13-40", 2**63, -0.0,
]  # fmt: skip


def places(value, path=()):
    yield path
    if isinstance(value, dict | list):
        for key in value if isinstance(value, dict) else range(len(value)):
            yield from places(value[key], (*path, key))


@settings(deadline=None, max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_junk_anywhere_is_faults_and_never_a_traceback(tmp_path, data):
    from .conftest import Yard

    broken = Yard(tmp_path)
    for _ in range(data.draw(st.integers(1, 4))):
        path = data.draw(st.sampled_from([path for path in places(broken.features) if len(path) > 1]))
        inner = broken.features
        for key in path[:-1]:
            inner = inner[key]
        inner[path[-1]] = data.draw(st.sampled_from(JUNK))
    for line in broken.faults():
        assert line.isprintable()
        assert len(line) < 1500
