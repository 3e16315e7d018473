"""Pictures, places on earth, compass points, names and steps in words. By hand."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from siteplan.land.declination import Declination
from siteplan.land.heights import MeasuredHeight
from siteplan.land.whereabouts import Whereabouts
from siteplan.say.adopting import adopted_sentences, next_step
from siteplan.say.backdrop import lying_sentence, picture_sentences
from siteplan.say.cautions import _listed
from siteplan.say.directions import axis_text, compass_point, distance_text
from siteplan.say.figures import share_text
from siteplan.say.haul_cautions import obstacle_text
from siteplan.say.lighting import guide_sentence, light_facts, light_rows, light_suits, light_values, sheet_line
from siteplan.say.measuring import declination_sentences, height_sentences, shadow_sentences
from siteplan.say.place_cautions import PHRASES
from siteplan.say.place_limits import ruled_out_text
from siteplan.say.safe_text import LONGEST, PackedText, page_text, plain_text, script_data
from siteplan.say.walling import _courses_text, piece_text
from siteplan.say.whereabouts import near_town_sentence, place_text, whereabouts_sentences
from siteplan.sun.light.daily_light import BedLight, Light
from siteplan.sun.shadows import Shadow
from siteplan.walls.walls_results import WallPurchase


@pytest.mark.parametrize(("pins", "places", "pixel", "said"), [
    (0, "degrees", 0.0, "It knows where on earth it lies: say where the property lies, and it finds its place."),
    (0, "drawing", 0.0, "It has no place yet: scale it by two points, or straighten it by four corners."),
    (0, "drawing", 0.5, "It has no place yet: scale it by two points, or straighten it by four corners."),
    (2, "drawing", 0.05, "It is scaled by 2 points; a pixel is 5 cm."), (3, "drawing", 0.05, "It is straightened by 3 corners; a pixel is 5 cm."),
    (4, "degrees", 0.05, "It lies where its file says; a pixel is 5 cm."), (4, "drawing", 0.001, "It is straightened by 4 corners; a pixel is 1 mm."),
    (4, "drawing", 0.0009, "It is straightened by 4 corners; a pixel is below a millimetre."),
])  # fmt: skip
def test_how_a_picture_lies(pins, places, pixel, said):
    assert lying_sentence(pins, places=places, pixel=pixel, units="metric") == said


def test_what_was_done_to_a_picture():
    turned, kept = picture_sentences(["turned"])
    assert turned == "It was turned as the camera was held."
    assert picture_sentences([]) == [kept]


@pytest.mark.parametrize(("latitude", "longitude", "said"), [
    (0.0, 0.0, "0° N, 0° E"), (0.5, -0.5, "0.5° N, 0.5° W"), (-0.5, 0.5, "0.5° S, 0.5° E"), (45.1234567, 8.0, "45.123457° N, 8° E"),
    (10.0, 100.0, "10° N, 100° E"),
])  # fmt: skip
def test_a_place_in_degrees(latitude, longitude, said):
    assert place_text(latitude, longitude) == said


def test_how_a_typed_place_was_read():
    def said(latitude=48.5, longitude=9.0, step=10.0, order="written"):
        return whereabouts_sentences(Whereabouts(latitude, longitude, step, order))

    assert said() == said(order="range") == ["Read as 48.5° N, 9° E."]
    assert said(order="assumed") == ["Read as 48.5° N, 9° E: the latitude is taken to come first."]
    # a minute of the sun's day is 15 km
    assert len(said(step=15_000.0)) == 1
    assert said(step=15_000.6)[1] == "It is known to 15 km only: give it to a hundredth of a degree."
    sea = "That is open sea, where the equator meets the meridian of Greenwich; was a number left out?"
    assert said(0.0099, -0.0099)[1:] == said(-0.0099, 0.0)[1:] == [sea]
    for latitude, longitude in ((0.01, 0.0), (0.0, 0.01), (0.0, 0.5), (0.5, 0.0)):
        assert len(said(latitude, longitude)) == 1


def test_the_next_larger_town():
    def said(distance, units="metric"):
        return near_town_sentence("Aden", distance=distance, east=-1.0, north=0.0, units=units)

    assert said(2.99) == "It is in or beside Aden."
    assert said(3.0) == "The next larger town is Aden, 3 km to the west."
    assert (
        said(1609.344, "imperial") == "The next larger town is Aden, 1,000 miles to the west."
    )  # a mile is 1.609344 km
    assert said(1609.344) == "The next larger town is Aden, 1,609 km to the west."


@pytest.mark.parametrize(("east", "north", "point"), [
    (0, 1, "north"), (1, 1, "northeast"), (1, 0, "east"), (1, -1, "southeast"), (0, -1, "south"), (-1, -1, "southwest"),
    (-1, 0, "west"), (-1, 1, "northwest"), (-0.4, 1, "north"), (-0.42, 1, "northwest"), (0.4, 1, "north"), (0.42, 1, "northeast"),
    (-1, 0.4, "west"), (-1, -0.42, "southwest"), (0.4, -1, "south"), (0.42, -1, "southeast"),
])  # fmt: skip
def test_the_nearest_of_eight_compass_points(east, north, point):
    # halfway to the next lies 22.5 degrees: tan 22.5 = 0.414
    assert compass_point(east, north) == point


@pytest.mark.parametrize(("heading", "words"), [
    (22, "north to south"), (23, "northeast to southwest"), (67, "northeast to southwest"), (68, "east to west"), (112, "east to west"),
    (113, "southeast to northwest"), (157, "southeast to northwest"), (158, "north to south"), (200, "north to south"), (225, "northeast to southwest"),
])  # fmt: skip
def test_a_long_side_in_words(heading, words):
    assert axis_text(heading) == words


def test_distances_from_three_metres_on_are_whole():
    assert (distance_text(2.99, "metric"), distance_text(3.0, "metric"), distance_text(0.0, "metric")) == (
        "3.0 m",
        "3 m",
        "0.0 m",
    )
    assert distance_text(304.8 * 10, "imperial") == "10,000 ft"


def test_of_many_names_ten_are_told():
    names = [f"b{n}" for n in range(12)]
    assert _listed(names[:11]) == ", ".join(names[:11])
    assert _listed(names) == f"{', '.join(names[:10])} and 2 more"


def test_the_next_step_where_no_bed_is_drawn():
    def plan(beds=(), places=("a",), variant=""):
        found = None if places is None else SimpleNamespace(places=places)
        return SimpleNamespace(site=SimpleNamespace(beds=beds, variant=variant), places=found)

    assert next_step(plan(), "my yard") == (
        "No bed is drawn yet, so there is nothing to fill and nothing to wheel. To make place 1 a bed: siteplan place "
        "--adopt 1 'my yard'. Then plan it: siteplan plan 'my yard'."
    )
    # the place was searched with options, and is found again only with them
    assert "a bed: siteplan place --size '4 ft x 4 ft' --adopt 1 yard. Then" in next_step(
        plan(), "yard", options="--size '4 ft x 4 ft'"
    )
    # a place of a variant is no place of the property, which --adopt writes to
    assert next_step(plan(variant="north"), "my yard") == (
        "No bed is drawn yet, so there is nothing to fill and nothing to wheel. These places are those of a variant: "
        "to make one a bed, first make the variant the property on the page of: siteplan draw 'my yard'."
    )
    assert next_step(plan(variant="north")).endswith(": siteplan draw SITE (SITE is the name of your folder).")
    assert next_step(plan()).endswith(
        "--adopt 1 SITE. Then plan it: siteplan plan SITE (SITE is the name of your folder)."
    )
    assert next_step(plan(beds=("bed",))) == next_step(plan(places=None)) == next_step(plan(places=())) == ""
    assert next_step(plan(beds=("bed",), variant="north")) == ""
    assert adopted_sentences("f.geojson", [], "yard", "metric")[-1].endswith("Plan them: siteplan plan yard.")


@pytest.mark.parametrize(("kind", "said"), [
    ("gate", 'gate "x" is 5 cm too narrow'), ("edge", "the edge of the property is in the way"),
    ("slope", "the ground is steeper than the barrow can be pushed (12 %)"), ("fence", 'fence "x" is in the way'),
    ("keepout", 'keepout "x" is in the way'), ("surface", 'surface "x" cannot be crossed with a loaded barrow'),
])  # fmt: skip
def test_what_is_in_the_barrow_s_way(kind, said):
    assert obstacle_text(kind, "x", 0.05, 0.125, "metric") == said


def test_where_frost_stays():
    frost = PHRASES["frost-pocket"]
    low = "The ground lies lower than all around: cold air gathers there, and frost comes early and stays late."
    assert frost({"barrier": "", "kind": ""}, "metric") == low
    assert frost({"barrier": "h", "kind": "hedge"}, "metric").startswith(
        "Hedge {barrier} just downhill dams cold air"
    )


def test_ground_that_no_barrow_reaches():
    assert ruled_out_text(SimpleNamespace(largest=None), "metric") == "be out of the barrow's reach"


def test_a_compass_near_a_pole():
    def said(zone, east=-1.04):
        return declination_sentences(Declination(east=east, error=0.38, zone=zone, year=2026.9), day="2026-11-27")

    assert len(said("sound")) == 2
    assert said("blackout")[0].startswith("So near to a magnetic pole a compass tells nothing")
    assert said("caution")[0].startswith("So near to a magnetic pole a compass is sluggish")
    assert said("caution")[1:] == said("blackout")[1:] == said("sound")
    assert "1.0° east of true north" in said("sound", 1.04)[0]
    assert "0.0° east of true north" in said("sound", 0.0)[0]


def test_a_height_that_is_rough():
    def said(low, high):
        return height_sentences(MeasuredHeight(10.0, low, high), off="the angle is off by 1°", units="metric")

    assert said(8.5, 11.5)[0] == "It is 10.0 m high."
    assert [len(said(8.5, high)) for high in (11.4, 11.5, 11.6)] == [2, 2, 3]


def test_a_shadow_that_is_a_poor_pointer():
    def said(state, turn=-0.5):
        return shadow_sentences(
            Shadow(azimuth=2.0, elevation=62.0, turn_rate=turn, rise_rate=0.0, doubt=2.0, state=state)
        )

    assert said("sound")[0].endswith("it turns by 0.5° a minute.")
    assert "With the sun so high" in said("high")[1]
    assert "With the sun so low" in said("low")[1]
    assert [len(said(state)) for state in ("sound", "high", "low")] == [1, 2, 2]


def test_names_are_shown_up_to_four_hundred_letters():
    assert LONGEST == 400
    assert plain_text("x" * 400) == "x" * 400
    assert plain_text("x" * 401) == "x" * 399 + "…"
    assert script_data(PackedText("x" * 401)) == '"' + "x" * 401 + '"'
    assert script_data(["x" * 401]) == '["' + "x" * 399 + '\\u2026"]'
    # separators of lines and paragraphs end a script's line (ECMA-262, 12.3)
    assert page_text("a\u2028b\u2029c") == "a&#8232;b&#8233;c"


@pytest.mark.parametrize(
    ("each", "said"), [(0, "screws"), (1, "screws"), (2, "5 screws, in boxes of 2"), (50, "5 screws, in boxes of 50")]
)
def test_what_comes_in_boxes_is_told_so(each, said):
    line = WallPurchase(material="screws", count=2, wanted=5, cost=1.0, each=each)
    assert piece_text(line, "metric") == said
    assert piece_text(replace(line, name="yard"), "metric") == f"yard: {said}"


def test_boards_that_reach_higher_or_less_high_than_drawn():
    def said(built, height=0.4, ripped=False):
        walls = SimpleNamespace(courses=(0.2, 0.2, 0.1), built=built, height=height, ripped=ripped)
        return _courses_text(walls, "metric")

    assert said(0.4) == "courses of boards: 2 of 200 mm and 1 of 100 mm, 400 mm high"
    assert said(0.42).endswith("420 mm high, 20 mm more than drawn")
    assert said(0.38).endswith("380 mm high, 20 mm less than drawn")
    assert said(0.45, 0.45, ripped=True).endswith(
        "450 mm high once the uppermost is ripped (sawn lengthwise) to 50 mm"
    )


def light(scale):
    return Light(np.arange(13.0) * scale, np.arange(13.0) * scale / 2, np.arange(13.0) * scale + 1)


def test_the_light_of_the_season_is_the_thirteenth_figure():
    # months 0 to 11, season 12: direct 12, diffuse 6
    known = BedLight("bed", np.arange(13) / 20, light(1.0), light(2.0))
    assert guide_sentence(known).startswith("On clear days ")
    facts = dict(light_facts(known))
    assert facts["Share of the sky seen"] == "60 %"
    assert facts["Direct light alone on clear days"] == "12.0 kWh/m² a day"
    plan = SimpleNamespace(
        beds=(SimpleNamespace(bed=SimpleNamespace(id="bed"), light=known),), site=SimpleNamespace(weather=None)
    )
    (row,) = light_rows(plan)
    assert row[:2] == ["bed", "60 %"]
    assert row[3:5] == ["12.0", "13.0"]
    assert row[6] == share_text(float(known.share_of_open[12]))
    values = light_values(known)
    assert values[0] == pytest.approx(0.6)
    assert values[13:15] == (12.0, 6.0)
    mol = known.clear.dli_mol_m2
    assert f"{mol[12]:.0f} mol/m² of light a day" in sheet_line(known)
    assert (
        guide_sentence(known)
        == f"On clear days {light_suits(float(mol[12]))}." + guide_sentence(known).partition(".")[2]
    )
