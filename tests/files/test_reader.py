"""Is a sound site read as it is written, and is every fault said at once?"""

from __future__ import annotations

import json
import subprocess
import sys

import pytest
import shapely
from shapely import Point, box

from siteplan import InputError, read_site
from siteplan.files.reader import check_site
from siteplan.land.features import MonthDay


def test_sound_yard_has_no_fault_and_no_caution(yard):
    checked = check_site(yard.write())
    assert checked.faults == ()
    assert checked.cautions == ()


def test_every_value_arrives_in_si(yard):
    site = read_site(yard.write())
    house, porch = site.buildings
    assert (house.height, house.eaves, house.ridge_heading) == (7.5, 5.0, 90.0)
    assert (porch.base, porch.transmittance) == (2.6, 0.5)
    pear, yew = site.trees
    assert pear.outline.area == pytest.approx(12.546, abs=5e-3)  # a 64-gon in a circle of 4 m: 32 r2 sin(360/64)
    assert pear.trunk.distance(Point(8, -5)) < 1e-6
    assert pear.trunk_diameter == pytest.approx(0.2)
    assert pear.crown_base == pytest.approx(1.5)  # a quarter of its height
    assert (pear.leaf_out, pear.leaf_fall) == (MonthDay(4, 10), MonthDay(10, 27))
    assert (pear.transmittance_leafy, pear.transmittance_bare, pear.transmittance_path) == (0.05, 0.45, 6.0)
    assert (yew.leaf_out, yew.leaf_fall, yew.transmittance_leafy) == (None, None, 0.05)
    assert yew.crown_form == "cone"
    assert site.hedges[0].outline.area == pytest.approx(14 * 0.6, rel=1e-6)
    fence, wall = site.fences
    assert fence.outline is None
    assert fence.footprint.area == pytest.approx(16 * 0.04, rel=1e-6)
    assert wall.footprint.area == pytest.approx(0.3 * 16, rel=1e-6)
    north, south = site.beds
    assert north.height == pytest.approx(0.45)
    assert (north.trellis_height, north.trellis_side, north.need) == (1.8, 0.0, 5.0)
    assert (north.proposed, south.proposed, south.crop_height) == (False, True, 1.0)
    assert [pile.drop for pile in site.piles] == [False, True]
    assert (site.keepouts[0].reason, site.keepouts[0].setback) == ("gas pipe", 0.5)
    assert site.taps[0].hose_length == 15
    assert site.stock[0].volume == 0.5
    assert site.offers[1].bag == pytest.approx(0.04)
    assert site.barrow.volume == pytest.approx(0.085)
    assert site.sun.cell == 0.5
    assert site.currency == "EUR"


@pytest.mark.parametrize("stems", [["20 cm", "25 cm", "15 cm"], "0.25, 0.15, 0.2", "15 cm,250 mm,20 cm"])
def test_several_stems_count_as_one(yard, stems):
    """BS 5837:2012, clause 4.6, seen second-hand: 200, 250 and 150 mm count as 354 mm."""
    del yard.features["pear"]["properties"]["trunk_diameter"]
    yard.features["pear"]["properties"]["trunk_diameters"] = stems
    checked = check_site(yard.write())
    assert checked.faults == ()
    assert checked.site.trees[0].trunk_diameter == pytest.approx(0.354, abs=5e-4)  # printed to the millimetre


def test_frame_is_centred_on_the_boundary_with_north_up(yard):
    site = read_site(yard.write())
    assert (site.frame.longitude, site.frame.latitude) == pytest.approx((8.0, 45.0), abs=1e-9)
    assert shapely.hausdorff_distance(site.boundary, box(-15, -10, 15, 10)) < 1e-6


def test_gate_from_a_point_lies_in_the_fence(yard):
    gate = read_site(yard.write()).gates[0]
    assert gate.width == 1.0
    assert gate.line.length == pytest.approx(1.0, abs=1e-9)
    assert gate.line.centroid.distance(Point(3, -8)) < 1e-6


def test_read_site_raises_all_faults_at_once(yard):
    yard.change('currency = "EUR"', 'currency = "euro"')
    yard.change("[season]", "[seasons]")
    yard.features["house"]["properties"]["height"] = -3
    yard.features["house"]["properties"]["transmittance"] = 7
    yard.features["pear"]["properties"]["kind"] = "treee"
    yard.features["north"]["properties"]["height"] = "9 kg"
    del yard.features["yew"]["properties"]["height"]
    yard.features["tap"]["geometry"] = None
    yard.change('at = "heap"', 'at = "heep"')
    with pytest.raises(InputError) as caught:
        read_site(yard.write())
    text = str(caught.value)
    lines = text.splitlines()
    assert len(lines) == len(caught.value.faults) == 9
    for words in (
        "euro",
        "seasons",
        "height is -3 m",
        "transmittance is 7",
        "treee",
        "9 kg",
        '"yew"',
        '"tap"',
        "heep",
    ):
        assert sum(words in line for line in lines) == 1, words


def test_nothing_is_written_by_reading(yard):
    folder = yard.write()
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    read_site(folder)
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == before


def test_folder_as_text_and_as_path(yard):
    folder = yard.write()
    assert read_site(str(folder)).name == read_site(folder).name == "Sparrow Court"


def test_name_defaults_to_the_folder(yard):
    yard.change('name = "Sparrow Court"\n', "")
    assert read_site(yard.write()).name == "yard"


def test_timezone_is_found_offline_from_the_place(yard):
    yard.change('timezone = "Europe/Rome"\n', "")
    assert read_site(yard.write()).timezone == "Europe/Rome"


def test_missing_ids_are_made_and_are_no_fault(yard):
    for feature_id in ("north", "house", "porch"):
        del yard.features[feature_id]["id"]
    yard.features["lawn"]["id"] = "building-1"  # taken, so that the house takes the next number
    site = read_site(yard.write())
    assert [bed.id for bed in site.beds] == ["bed-1", "south"]
    assert [building.id for building in site.buildings] == ["building-2", "building-3"]


def test_id_may_be_a_property_or_a_number(yard):
    yard.features["north"]["properties"]["id"] = "from-property"
    del yard.features["north"]["id"]
    yard.features["south"]["id"] = 17
    assert [bed.id for bed in read_site(yard.write()).beds] == ["from-property", "17"]


@pytest.mark.parametrize("name", ["<img src=x onerror=alert(1)>", "{{7*7}}", "Béla's `bed` \\ ${x}", "花壇"])
def test_names_are_kept_as_they_are_written(yard, name):
    yard.features["north"]["id"] = name
    yard.features["gas"]["properties"]["reason"] = name
    site = read_site(yard.write())
    assert site.beds[0].id == name
    assert site.keepouts[0].reason == name


def test_control_characters_leave_a_name_and_never_reach_a_message(yard):
    yard.features["north"]["id"] = "no\x1b[31mrth\ud800\x00"
    yard.features["gas"]["properties"]["reason"] = "gas\npipe"
    site = read_site(yard.write())
    assert site.beds[0].id == "no[31mrth"
    assert site.keepouts[0].reason == "gas pipe"
    yard.features["north"]["properties"]["height"] = "\x1b]0;x\x07"
    yard.features["south"]["properties"]["kind"] = "b\x1bed"
    yard.toml += '"\\u001bkey" = 1\n'
    for line in yard.faults():
        assert line.isprintable()


def test_southern_site_turns_leaves_and_season_round(yard):
    from siteplan.land.frame import LocalFrame

    south = LocalFrame(longitude=172.6, latitude=-43.5)
    north = LocalFrame(longitude=8.0, latitude=45.0)
    for feature in yard.features.values():
        shape = shapely.from_geojson(json.dumps(feature["geometry"]))
        feature["geometry"] = json.loads(shapely.to_geojson(south.to_lonlat(north.to_local(shape))))
    yard.change('timezone = "Europe/Rome"\n', "")
    yard.change('last_frost = "04-15"\nfirst_frost = "10-20"', 'last_frost = "10-01"\nfirst_frost = "05-05"')
    site = read_site(yard.write())
    assert site.southern
    assert site.timezone == "Pacific/Auckland"
    assert (site.trees[0].leaf_out, site.trees[0].leaf_fall) == (MonthDay(10, 9), MonthDay(4, 27))
    assert site.season.holds(1, 2026)
    yard.change('[season]\nlast_frost = "10-01"\nfirst_frost = "05-05"\n', "")
    site = read_site(yard.write())
    assert site.season.holds(1, 2026)
    assert "season-assumed" in {caution.code for caution in site.cautions}


def test_reading_loads_neither_folium_nor_the_compiler_nor_the_sun(yard):
    folder = yard.write()
    code = (
        f"import sys; from siteplan import read_site; read_site({str(folder)!r}); "
        "print([name for name in ('folium', 'numba', 'pvlib', 'rasterio', 'geopandas') if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
