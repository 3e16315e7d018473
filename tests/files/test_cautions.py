"""Does what is odd, but no fault, get a word and no more?"""

from __future__ import annotations

import json

import pytest
import shapely
from shapely import LineString, MultiLineString, Point, box

from siteplan.files.reader import check_site
from siteplan.files.remarks import Remarks

CAUTIONS = {
    "bed too wide": (
        lambda yard: yard.draw("south", box(4, 4, 5.7, 6.4)),
        "bed-too-wide",
        ["south", "wider than 1.6 m", "cannot be reached"],
    ),
    "bed under a hedge": (
        lambda yard: yard.draw("south", box(-10, 9, -8, 9.5)),
        "bed-overlaps",
        ["south", 'hedge "box"'],
    ),
    "bed on the gas pipe": (lambda yard: yard.draw("south", box(5, -9.4, 6, -8.6)), "bed-overlaps", ["gas pipe"]),
    "bed around a trunk": (lambda yard: yard.draw("south", box(7, -6, 9, -4.8)), "bed-overlaps", ["trunk", '"pear"']),
    "bed across a fence": (
        lambda yard: yard.draw("south", box(9, -8.4, 10, -7)),
        "bed-overlaps",
        ['fence "fence"', "runs through"],
    ),
    "house in feet": (
        lambda yard: yard.features["house"]["properties"].update(height=24, eaves=11),
        "unusual-size",
        ["house: height is 24 m. Usual is 30 cm to 15 m.", 'Is "24 ft" or "24 in" meant?'],
    ),
    "fence in feet": (
        lambda yard: yard.features["fence"]["properties"].update(height=6.5),
        "unusual-size",
        ["fence: height is 6.5 m. Usual is 30 cm to 3 m.", '"6.5 ft"'],
    ),
    "tap in the street": (
        lambda yard: yard.draw("tap", Point(0, -12)),
        "outside-boundary",
        ["tap", "2.00 m outside"],
    ),
    "pile in the house": (lambda yard: yard.draw("heap", Point(-6, -4)), "pile-indoors", ['inside building "house"']),
    "gate beside its fence": (
        lambda yard: yard.draw("gate", Point(3, -7.2)),
        "gate-off-fence",
        ["gate", "80 cm off", 'fence "fence"', "taken to stand in it"],
    ),
    "gate far from its fence": (
        lambda yard: yard.draw("gate", Point(3, -4)),
        "gate-off-fence",
        ["gate", 'the nearest, fence "fence", is 4.00 m away', "left out and opens nothing"],
    ),
    "gate across its fence": (
        lambda yard: yard.draw("way", LineString([(6, -8), (6, -6.5)]), kind="gate"),
        "gate-off-fence",
        ["way", "opens nothing"],
    ),
    "drawn twice": (
        lambda yard: yard.draw("oak", Point(8, -5), kind="tree", height=6, crown_diameter=4),
        "drawn-twice",
        ["pear"],
    ),
    "extra columns": (
        lambda yard: yard.features["tap"]["properties"].update(colour="red", owner="\x1bme"),
        "extra-columns",
        ["'colour', 'owner'"],
    ),
    "slip of the pen": (
        lambda yard: yard.features["north"]["properties"].update(wall_thicknes=0.1),
        "looks-like-a-slip",
        ["north", "did you mean 'wall_thickness'?"],
    ),
    "slip in a short word": (  # three letters of four and no others: as like as 6 to 7
        lambda yard: yard.features["south"]["properties"].update(ned=5),
        "looks-like-a-slip",
        ["south", "'ned' is ignored; did you mean 'need'?"],
    ),
    "a word of one's own": (  # "hoses" is like "hose_length" as 10 to 16, and as like as that other columns are too
        lambda yard: yard.features["tap"]["properties"].update(hoses=2),
        "extra-columns",
        ["'hoses'"],
    ),
    "evergreen with leaf dates": (
        lambda yard: yard.features["yew"]["properties"].update(leaf_out="04-01"),
        "evergreen",
        ["yew", "leaf_out"],
    ),
    "no season": (
        lambda yard: yard.change('[season]\nlast_frost = "04-15"\nfirst_frost = "10-20"\n', ""),
        "season-assumed",
        ["04-15 to 10-15"],
    ),
    "nothing on offer": (lambda yard: yard.change('"compost"', '"leaves"'), "nothing-on-offer", ["compost"]),
    "currency unheard of": (lambda yard: yard.change('"EUR"', '"EUX"'), "currency", ["EUX"]),
    "bag of one litre": (
        lambda yard: yard.change('"40 L"', "1"),
        "unusual-size",
        ["[[offer]] 2 bag is 1; a plain number is litres", "Usual is 5 L to 2 m³."],
    ),
    "barrow of six litres": (
        lambda yard: yard.change('"85 L"', "6"),
        "unusual-size",
        ["[barrow] volume is 6; a plain number is litres", "Usual is 30 L to 600 L."],
    ),
    "trunk in centimetres": (
        lambda yard: yard.features["pear"]["properties"].update(trunk_diameter=7),
        "unusual-size",
        ["pear: trunk_diameter is 7 m. Usual is 1 cm to 1.5 m.", 'Is "7 cm" or "7 in" meant?'],
    ),
    "new bed in feet": (
        lambda yard: setattr(yard, "toml", yard.toml + "[place]\nlength = 8\nwidth = 4\n"),
        "bed-too-wide",
        ["8.00 m x 4.00 m", "cannot be reached", "A plain number is in metres"],
    ),
    "rename that nothing carries": (
        lambda yard: setattr(yard, "toml", yard.toml + '[rename.keys]\nheight_m = "height"\n'),
        "rename-unused",
        ["'height_m'"],
    ),
}


@pytest.mark.parametrize("name", CAUTIONS)
def test_caution(yard, name):
    change, code, words = CAUTIONS[name]
    change(yard)
    cautions = yard.cautions()
    assert list(cautions) == [code]
    for word in words:
        assert word in cautions[code]


def test_outline_that_barely_crosses_itself_is_mended(yard):
    # a spike of 1 mm at a corner of a bed of 1.2 m by 2.4 m: 1e-6 of 2.88 m2
    yard.draw("south", box(4, 4, 5.2, 6.4))
    ring = yard.features["south"]["geometry"]["coordinates"][0]
    ring.insert(1, ring[0])
    degree = 1e-3 / 78_700  # of longitude at 45 N, in metres: 1 mm
    ring.insert(1, [ring[0][0] + degree, ring[0][1] - degree])
    ring.insert(2, [ring[0][0] - degree, ring[0][1] + degree])
    checked = check_site(yard.write())
    assert checked.faults == ()
    assert [caution.code for caution in checked.cautions] == ["mended"]
    assert checked.site is not None
    assert checked.site.bed("south").outline.is_valid
    assert checked.site.bed("south").outline.area == pytest.approx(2.88, rel=1e-3)


def test_height_in_the_third_coordinate_is_dropped(yard):
    yard.features["tap"]["geometry"]["coordinates"].append(120.5)
    site = check_site(yard.write()).site
    assert site is not None
    assert not site.taps[0].place.has_z


def test_single_part_of_a_multi_is_taken_as_one(yard):
    for feature_id in ("lot", "north"):
        geometry = yard.features[feature_id]["geometry"]
        yard.features[feature_id]["geometry"] = {"type": "MultiPolygon", "coordinates": [geometry["coordinates"]]}
    site = check_site(yard.write()).site
    assert site is not None
    assert site.boundary.geom_type == site.beds[0].outline.geom_type == "Polygon"


def test_bed_under_a_pergola_is_sound(yard):
    yard.draw("south", box(-1.6, -5, -0.4, -3.4))
    assert yard.cautions() == {}


def test_unclosed_ring_is_closed(yard):
    yard.features["south"]["geometry"]["coordinates"][0].pop()
    assert yard.cautions() == {}


def test_gate_drawn_as_a_line_beside_its_fence(yard):
    yard.draw("gate", LineString([(3, -8.1), (4.2, -8.15)]))
    del yard.features["gate"]["properties"]["width"]
    gate = check_site(yard.write()).site.gates[0]
    assert gate.width == pytest.approx(1.2, abs=2e-3)
    assert gate.line.distance(LineString([(3, -8), (4.2, -8)])) < 1e-6
    assert gate.line.length == pytest.approx(1.2, abs=1e-6)


def test_unset_values_count_as_absent(yard):
    yard.features["north"]["properties"] |= {"crop_height": None, "proposed": None}
    bed = check_site(yard.write()).site.bed("north")
    assert (bed.crop_height, bed.proposed) == (None, False)


def test_legacy_member_names_another_system(yard):
    from functools import partial

    import shapely
    from pyproj import Transformer

    from siteplan.land.frame import projected

    change = Transformer.from_crs("EPSG:4326", "EPSG:32632", always_xy=True)
    for feature in yard.features.values():
        shape = shapely.from_geojson(json.dumps(feature["geometry"]))
        there = shapely.transform(shape, partial(projected, change))
        feature["geometry"] = json.loads(shapely.to_geojson(there))
    yard.write()
    path = yard.folder / "features.geojson"
    document = json.loads(path.read_text()) | {
        "crs": {"type": "name", "properties": {"name": "urn:ogc:def:crs:EPSG::32632"}},
    }
    path.write_text(json.dumps(document))
    checked = check_site(yard.folder)
    assert checked.faults == ()
    assert [caution.code for caution in checked.cautions] == ["converted"]
    assert checked.site.boundary.area == pytest.approx(600, rel=1e-6)
    path.write_text(json.dumps(document | {"crs": {"type": "name", "properties": {"name": "a map"}}}))
    assert "which is not understood" in str(check_site(yard.folder).faults[0])


@pytest.mark.parametrize("kind", ["building", "hedge", "fence"])
def test_what_stands_may_have_two_parts(yard, kind):
    lines = MultiLineString([[(5, -6), (7, -6)], [(5, -5), (7, -5)]])
    yard.draw("parted", lines if kind == "fence" else lines.buffer(0.1), kind=kind, height=2)
    site = check_site(yard.write()).site
    found = next(one for one in site.features() if one.id == "parted")
    assert len(shapely.get_parts(found.line if kind == "fence" else found.outline)) == 2


def test_specks_get_a_word_and_are_sound(yard):
    yard.draw("fleck", box(5, -5, 5.0005, -4.9995), kind="building", height=3)
    assert yard.cautions()["speck"].endswith("Is it a mistake?")  # it is the only one
    yard.draw("dot", box(6, -5, 6.0005, -4.9995), kind="hedge", height=1)
    text = yard.cautions()["speck"]
    assert text.startswith("fleck: Its outline is smaller than a square millimetre")
    assert text.endswith("So is 1 more.")


def test_repeated_points_in_an_outline_say_nothing(yard):
    ring = yard.features["house"]["geometry"]["coordinates"][0]
    yard.features["house"]["geometry"]["coordinates"] = [[point for point in ring for _ in range(3)]]
    assert yard.cautions() == {}


def test_a_gate_between_two_fences_or_a_fence_and_a_house_gets_no_word(yard):
    yard.draw("left", LineString([(3, -3), (5, -3)]), kind="fence", height=1.5)
    yard.draw("right", LineString([(6, -3), (8, -3)]), kind="fence", height=1.5)
    yard.draw("between", LineString([(5, -3), (6, -3)]), kind="gate")
    yard.draw("stub", LineString([(-1, -1), (1, -1)]), kind="fence", height=1.5)
    yard.draw("at the house", LineString([(-2, -1), (-1, -1)]), kind="gate")
    assert "gate-off-fence" not in yard.cautions()


def test_distances_across_country_are_in_miles_on_an_imperial_site():
    feet, metric = Remarks(system="imperial"), Remarks()
    assert [metric.far(640), metric.far(85_000), metric.far(1500)] == ["640 m", "85 km", "1.5 km"]
    assert [feet.far(640), feet.far(85_000), feet.far(5000)] == [
        "2,100 ft",
        "53 mi",
        "3.1 mi",
    ]  # 1609.344 m to a mile
    assert [metric.high(1200), feet.high(1200)] == ["1,200 m", "3,937 ft"]
    assert [metric.length(0.5), feet.length(0.5)] == ["50 cm", "1 ft 7 1/2 in"]
