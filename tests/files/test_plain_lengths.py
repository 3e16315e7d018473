"""Is a length without a unit in the unit of the drawing, wherever it stands, and is that said once?

The rule: the unit of [origin]; else that of the drawing's coordinate system; metres for longitude and latitude.
"""

from __future__ import annotations

import json

import geopandas
import pytest
import shapely
from shapely import box

from siteplan.cli import main
from siteplan.files.drawing.bed_shape import read_shape
from siteplan.files.frames import site_from_frames
from siteplan.files.reader import check_site, read_site
from siteplan.land.units import length_unit

from .conftest import DRAWN

FOOT = 0.3048  # m; the international foot, exact


@pytest.fixture
def in_feet(yard):
    """Return the yard as a plan drawn in feet; what is written with a unit stays as it is."""
    for feature_id, (shape, _) in DRAWN.items():
        in_feet = shapely.transform(shape, lambda points: points / FOOT)
        yard.features[feature_id]["geometry"] = json.loads(shapely.to_geojson(in_feet))
    yard.toml += '[origin]\nlatitude = 45.0\nlongitude = 8.0\nunit = "ft"\n'
    yard.say_metres()
    return yard


def test_written_with_units_nothing_changes_and_nothing_is_said(in_feet):
    site = read_site(in_feet.write())
    assert site.buildings[0].height == 7.5
    assert site.cautions == ()
    assert site.drawing_unit.metres == FOOT


def test_heights_of_features_are_in_the_unit_of_the_drawing(in_feet):
    in_feet.features["house"]["properties"] |= {"height": 24, "eaves": "11"}
    in_feet.features["north"]["properties"] |= {"height": 1.5, "trellis_height": "2 m"}
    checked = check_site(in_feet.write())
    house, bed = checked.site.buildings[0], checked.site.bed("north")
    assert house.height == pytest.approx(24 * FOOT, abs=1e-12)  # 7.3152 m, by hand
    assert house.height == pytest.approx(7.3152, abs=1e-12)
    assert house.eaves == pytest.approx(3.3528, abs=1e-12)
    assert bed.height == pytest.approx(0.4572, abs=1e-12)
    assert bed.trellis_height == 2.0
    (caution,) = checked.cautions
    assert (caution.code, caution.feature) == ("plain-lengths", "house")
    assert caution.text == (
        "height = 24 is read in feet, the unit of the drawing, like all lengths without a unit. "
        'If metres are meant, write "24 m". So are 2 more.'
    )


def test_settings_too(in_feet):
    in_feet.toml += (
        '[place]\nlength = 8\nwidth = "4 ft"\n[fill]\nlayers = [{ material = "topsoil", thickness = 1.5 }]\n'
    )
    checked = check_site(in_feet.write())
    assert checked.site.place.length == pytest.approx(2.4384, abs=1e-12)
    assert checked.site.recipe.layers[0].thickness == pytest.approx(0.4572, abs=1e-12)
    (caution,) = checked.cautions
    assert caution.text.startswith("[place] length = 8 is read in feet")


def test_other_dimensions_are_not_touched(in_feet):
    in_feet.toml = in_feet.toml.replace('volume = "85 L"', "volume = 85\nload = 80")
    checked = check_site(in_feet.write())
    assert (checked.site.barrow.volume, checked.site.barrow.load) == (pytest.approx(0.085), 80)
    assert checked.cautions == ()


def test_what_is_too_large_is_told_with_its_unit(in_feet):
    in_feet.features["north"]["properties"] |= {"height": 18, "trellis_height": None}
    (line,) = in_feet.faults()
    assert (
        "height is 5.4864 m, must be above 0 and at most 3 m; a plain number is feet, the unit of the drawing" in line
    )


def test_an_imperial_site_is_told_its_faults_in_feet(in_feet):
    in_feet.toml = in_feet.toml.replace('"metric"', '"imperial"')
    in_feet.features["north"]["properties"] |= {"height": 18, "trellis_height": None}
    in_feet.features["house"]["properties"] |= {"height": 10, "eaves": 11}
    lines = in_feet.faults()
    assert any(
        "height is 18 ft, must be above 0 and at most 9 ft 10 in; a plain number is feet" in line for line in lines
    )
    assert any("eaves is 11 ft, must lie from base (0 ft) to height (10 ft)" in line for line in lines)


def test_what_is_unusual_is_told_with_what_came_and_what_is_usual(in_feet):
    in_feet.toml = in_feet.toml.replace('"metric"', '"imperial"')
    in_feet.features["fence"]["properties"]["height"] = 60
    in_feet.features["house"]["properties"] |= {"height": "24 m"}
    cautions = {one.feature: one.text for one in check_site(in_feet.write()).cautions if one.code == "unusual-size"}
    assert cautions == {
        "fence": 'height is 60 ft. Usual is 1 ft to 10 ft. Is "60 in" or "60 cm" meant?',
        "house": "height is 24 m. Usual is 1 ft to 49 ft.",
    }


def test_a_site_in_degrees_stays_in_metres_without_a_word(yard):
    site = read_site(yard.write())
    assert (site.buildings[0].height, site.cautions) == (7.5, ())


def test_a_drawing_in_a_system_of_feet(yard, tmp_path):
    # EPSG:2277, Texas Central in US survey feet: 1200/3937 m each (NGS); a plan near Austin
    frame = geopandas.GeoDataFrame(
        {"id": ["lot", "house"], "kind": ["boundary", "building"], "height": [None, 24]},
        geometry=[box(0, 0, 100, 100), box(10, 10, 40, 40)],
        crs=None,
    )
    frame.geometry = frame.geometry.translate(3_115_000, 10_070_000)
    frame = frame.set_crs(2277)
    site = site_from_frames(frame, {"name": "Yard"})
    assert site.buildings[0].height == pytest.approx(24 * 1200 / 3937, rel=1e-12)
    assert [one.code for one in site.cautions if one.code == "plain-lengths"] == ["plain-lengths"]
    assert "US survey feet, the unit of the drawing" in "".join(one.text for one in site.cautions)


def test_the_shape_of_a_bed_is_in_the_unit_of_the_drawing_unless_it_names_its_own(tmp_path):
    ring = [[[0, 0], [8, 0], [8, 4], [0, 4], [0, 0]]]
    path = tmp_path / "bed.json"
    path.write_text(json.dumps({"type": "Polygon", "coordinates": ring}))
    assert read_shape(path, plain=length_unit("ft")).bounds == pytest.approx((0, 0, 2.4384, 1.2192))
    assert read_shape(path).bounds == (0, 0, 8, 4)
    named = {"type": "Feature", "properties": {"unit": "m"}, "geometry": {"type": "Polygon", "coordinates": ring}}
    path.write_text(json.dumps(named))
    assert read_shape(path, plain=length_unit("ft")).bounds == (0, 0, 8, 4)


def test_the_command_line_reads_plain_sides_in_the_unit_of_the_drawing(in_feet, capsys):
    folder = str(in_feet.write())
    assert main(["place", folder, "--length=400", "--width", "4"]) == 2  # 400 ft: 121.92 m
    assert "--length: it is 121.92 m, must be at least 0.1 and at most 100 m" in capsys.readouterr().err
    in_feet.toml = in_feet.toml.replace('"metric"', '"imperial"')
    assert main(["place", str(in_feet.write()), "--length=400"]) == 2
    assert "--length: it is 400 ft, must be at least 4 in and at most 328 ft" in capsys.readouterr().err
    in_feet.toml = in_feet.toml.replace('"imperial"', '"metric"')
    in_feet.write()
    assert main(["place", folder, "--size", "400 x 4"]) == 2
    assert "--size: a side is 121.92 m" in capsys.readouterr().err


def test_an_origin_whose_unit_is_none_is_one_fault(in_feet):
    in_feet.toml = in_feet.toml.replace('unit = "ft"', 'unit = "fathom metre"')
    in_feet.features["house"]["properties"]["height"] = 7
    assert any("[origin]: unit is 'fathom metre', must be a unit of length" in line for line in in_feet.faults())
