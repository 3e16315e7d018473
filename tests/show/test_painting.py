"""What the ground is painted with: true marks, plain words, maps that come back out as they went in."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from siteplan.land.weather import Weather
from siteplan.show.charts.colours import png_address, sun_picture
from siteplan.show.map.packing import unpacked_hours
from siteplan.show.map.painting import STEP_MOL, STEP_SHARE, light_top, paintings
from siteplan.sun.light.daily_light import Light
from siteplan.sun.light.irradiance import daily_light_integral


@pytest.fixture(scope="module")
def painted(drawn_plan):
    return {painting.key: painting for painting in paintings(drawn_plan)}


def test_sun_first_then_light_then_sky(drawn_plan, painted):
    assert list(painted) == ["sun", "light", "sky"]
    assert [painting.key for painting in paintings(replace(drawn_plan, light_maps=None))] == ["sun"]
    assert paintings(replace(drawn_plan, maps=None)) == ()


def test_maps_are_the_plan_s_own(drawn_plan, painted):
    light, sky = painted["light"], painted["sky"]
    assert np.array_equal(light.maps[12], drawn_plan.light_maps.light.dli_mol_m2, equal_nan=True)
    assert np.array_equal(sky.maps[:12], drawn_plan.light_maps.month_sky_share, equal_nan=True)
    for painting, step in ((light, STEP_MOL), (sky, STEP_SHARE)):
        back = unpacked_hours(painting.data()["packed"], painting.maps.shape, step=step)
        # rounding to a step is off by half of one at the most
        assert back == pytest.approx(painting.maps, abs=step / 2 + 1e-9, nan_ok=True)


def test_marks_and_lines_stand_where_they_belong(painted):
    for key, each in (("sun", 1.0), ("light", 1.0), ("sky", 100.0)):
        painting = painted[key]
        assert all(share * painting.top * each == pytest.approx(float(label)) for share, label in painting.marks)
        for line, drawn in zip(painting.lines, painting.scale()["lines"], strict=True):
            assert float(drawn["share"]) / 100 * painting.top == pytest.approx(line.value, abs=painting.top / 1e4)
    # leafy greens want 12 at least, fruiting crops 20: see what the crops want
    assert [line.value for line in painted["light"].lines] == [12.0, 20.0]


def test_no_figure_lies_above_the_scale(painted):
    assert all(np.nanmax(painting.maps) <= painting.top for painting in painted.values())
    assert light_top(np.array([[20.0001]])) == 25.0
    assert light_top(np.array([20.0])) == 20.0


def test_clear_days_and_typical_years_are_told_apart(drawn_plan, painted):
    assert "on clear days: clouds left out" in painted["light"].unit
    dark = np.zeros(8760)
    weather = Weather(
        total=dark, direct=dark, diffuse=dark, middle=0.5, latitude=40.0, longitude=-105.0, elevation=None,
        name="Larkspur Field", file="weather.epw",
    )  # fmt: skip
    typical = paintings(replace(drawn_plan, site=replace(drawn_plan.site, weather=weather)))[1]
    assert "in a typical year" in typical.unit
    assert "clear" not in typical.unit + typical.words
    assert typical.data()["days"] == "in a typical year"


def test_a_property_without_ground_to_light_has_no_such_map(drawn_plan):
    maps = drawn_plan.light_maps
    blank = replace(maps, sky_share=np.full_like(maps.sky_share, np.nan))
    assert len(paintings(replace(drawn_plan, light_maps=blank))) == 1


def test_each_has_a_picture_before_any_script_runs(painted):
    pictures = {painting.season_picture() for painting in painted.values()}
    assert len(pictures) == 3
    assert all(picture.startswith("data:image/png;base64,") for picture in pictures)


def lit(plan, mol):
    """Return the plan with maps of light whose largest value is `mol`. [mol/m2 a day]"""
    maps = plan.light_maps
    flat = np.full(maps.sky_share.shape, mol / float(daily_light_integral(1.0)))
    none = np.zeros_like(flat)
    months = np.stack([flat] * 12)
    light, month_light = Light(flat, none, none), Light(months, months * 0, months)
    return replace(plan, light_maps=replace(maps, light=light, month_light=month_light))


@pytest.mark.parametrize(("mol", "labels"), [
    (24.9, ["0", "5", "10", "15", "20", "25"]), (26.0, ["0", "10", "20", "30"]), (38.0, ["0", "10", "20", "30", "40"]),
    (33.0, ["0", "10", "20", "30"]),
])  # fmt: skip
def test_light_is_marked_every_5_mol_up_to_25_and_every_10_beyond(drawn_plan, mol, labels):
    marks = paintings(lit(drawn_plan, mol))[1].marks
    assert [label for _, label in marks] == labels
    top = 35.0 if mol == 33.0 else float(labels[-1])
    assert [share for share, _ in marks] == pytest.approx([float(label) / top for label in labels])


def test_the_sky_is_marked_every_fifth(painted):
    sky = painted["sky"]
    assert sky.top == 1.0
    assert [(line.value, line.text) for line in sky.lines] == [(0.5, "50 %")]
    assert [label for _, label in sky.marks] == ["0", "20", "40", "60", "80", "100"]
    assert [share for share, _ in sky.marks] == pytest.approx([0, 0.2, 0.4, 0.6, 0.8, 1.0])


def test_the_picture_is_that_of_the_season(painted):
    maps = np.zeros((13, 1, 2))
    maps[12] = [[0.0, 1.0]]
    picture = replace(painted["sky"], maps=maps).season_picture()
    assert picture == png_address(sun_picture([[0.0, 1.0]], top=1.0, of="sky"))
