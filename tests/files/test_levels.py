"""Does a slope measured with a tape become the ground that sun, places, fill and barrow ask?

The yard is 30 m by 20 m, its middle the zero of the frame.
"""

from __future__ import annotations

import re

import numpy as np
import pytest
from shapely import Point

from siteplan import plan_site
from siteplan.files.reader import check_site, read_site
from siteplan.fill.bed_ground import volume_over_ground
from siteplan.place.merit.levelling import levelling
from siteplan.show.symbols.property import property_layers
from siteplan.show.tables.tables import geographic_layers
from siteplan.show.terminal import print_site

CORNERS = {"sw": (-15, -10), "se": (15, -10), "ne": (15, 10), "nw": (-15, 10)}


def level(yard, name, at, **properties):
    yard.draw(name, Point(*at), kind="level", **properties)


@pytest.fixture
def sloping(yard):
    """The yard falls 1 m to the north over its 20 m, told by levels at its corners."""
    for name, at in CORNERS.items():
        level(yard, name, at, elevation="0 m" if name[0] == "n" else "100 cm")
    return yard


def test_levels_become_the_terrain_without_a_word(sloping):
    site = read_site(sloping.write())
    assert site.cautions == ()
    assert site.terrain.height_at([0.0, 10.0, -12.0], [0.0, 5.0, -8.0]) == pytest.approx([0.5, 0.25, 0.9], abs=2e-3)
    assert len(site.features()) == 16  # a level is no feature that stands there


def test_what_asks_the_terrain_gets_it(sloping):
    site = read_site(sloping.write())
    bed = site.bed("north")  # 1.2 m by 2.4 m, its long side down the slope of 1 in 20: a fall of 12 cm
    assert levelling(bed.outline, bed.height, site.terrain).drop == pytest.approx(0.12, abs=2e-3)
    assert site.ground_at(site.buildings[0].outline) == pytest.approx(0.7, abs=2e-3)  # its middle lies 4 m south
    # the walls are level 45 cm above the ground in the middle, and the ground is a plane: as much more as less
    inside = bed.outline.buffer(-bed.wall_thickness, join_style="mitre").area
    assert volume_over_ground(bed, site.terrain) == pytest.approx(inside * bed.height, rel=5e-3)


def test_a_slope_to_the_north_has_less_sun(sloping, another_yard):
    from siteplan.sun.engine import sun_engine

    level_yard = read_site(another_yard("level").write())
    site = read_site(sloping.write())
    points = np.array([[5.0, -3.0]])
    hours = []
    for one in (level_yard, site):
        ground = one.ground_at(Point(*points[0]))
        engine = sun_engine(one)
        hours.append(float(engine.hours(np.column_stack([points, [ground + 0.05]])).month_h.sum()))
    assert hours[1] < hours[0]


def test_levels_that_do_not_surround_the_property(yard):
    for name, at in (("a", (-5, -5)), ("b", (5, -5)), ("c", (0, 5))):
        level(yard, name, at, elevation=0)
    # a triangle of 10 m by 10 m over 2, of 600 m2
    assert yard.cautions()["levels-few"] == (
        ": The levels surround 8% of the property. Beyond them the ground is taken to go on with their common slope. "
        "Measure a few more toward the edges."
    )


@pytest.mark.parametrize("count", [1, 2])
def test_few_levels_get_a_word(yard, count):
    for number in range(count):
        level(yard, f"level {number}", (3 * number, 0), elevation=0.1 * number)
    assert "Measure one more, off the line." in yard.cautions()["levels-few"]


def test_a_level_that_is_a_slip_gets_a_word(sloping):
    level(sloping, "slip", (0, 9), elevation="20 m")
    assert "Unless a wall stands between them" in sloping.cautions()["levels-steep"]


def test_two_levels_at_one_place_are_a_fault(sloping):
    level(sloping, "again", (-15, -10), elevation=3)
    (line,) = sloping.faults()
    assert 'level "sw": lies at the same place as level "again"; take one of them out' in line


def test_a_level_without_its_height_is_a_fault(yard):
    level(yard, "bare", (0, 0))
    (line,) = yard.faults()
    assert 'level "bare": elevation is missing; give the height of the ground there above a zero' in line


@pytest.mark.parametrize(
    ("words", "north"),
    [
        ('fall = "1 m"\ntoward = "north"', -0.05),  # over the 20 m of the property
        ('fall = "1 m"\ntoward = "south"\nover = "50 m"', 0.02),
        ('fall = "2 ft"\ntoward = 0\nover = "40 ft"', -0.05),
    ],
)
def test_a_single_fall_in_the_settings(yard, words, north):
    yard.toml += f"[ground]\n{words}\n"
    site = read_site(yard.write())
    heights = site.terrain.height_at([0.0, 0.0, 12.0], [-8.0, 8.0, 8.0])
    assert heights == pytest.approx([-8 * north, 8 * north, 8 * north], abs=1e-4)


@pytest.mark.parametrize(
    ("words", "fault"),
    [
        ('fall = "1 m"', "fall and toward belong together"),
        ('toward = "north"', "fall and toward belong together"),
        ('over = "20 m"', "give fall and toward as well"),
        ('fall = "1 m"\ntoward = "poleward"', "toward 'poleward' is not a compass point (allowed: north,"),
        ('fall = "20 m"\ntoward = "north"\nover = "1 m"', "steeper than one in one; swap them?"),
        ('fall = "60 m"\ntoward = "north"', "steeper than one in one; is it the right unit?"),
        ('fall = "-1 m"\ntoward = "north"', "fall is -1 m, must be above 0"),
    ],
)
def test_a_fall_that_cannot_be(yard, words, fault):
    yard.toml += f"[ground]\n{words}\n"
    (line,) = yard.faults()
    assert "[ground]" in line
    assert fault in line


def test_levels_go_before_a_fall(sloping):
    sloping.toml += '[ground]\nfall = "1 m"\ntoward = "east"\n'
    checked = check_site(sloping.write())
    assert [one.code for one in checked.cautions] == ["fall-unused"]
    assert checked.site.terrain.height_at([0.0], [-10.0])[0] == pytest.approx(1.0, abs=0.02)


def test_check_says_how_much_the_ground_rises(sloping, capsys):
    from siteplan.cli import main

    assert main(["check", str(sloping.write())]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert re.search(
        r"The ground rises (100 cm|1\.00 m) from the lowest to the highest point of the boundary\.", said
    )


def test_levels_are_drawn_and_listed_with_their_heights(sloping, capsys):
    site = read_site(sloping.write())
    marks = [item for item in property_layers(site)["points"] if item["k"] == "level"]
    assert {item["label"] for item in marks} == {"0 cm", "1.00 m"}
    assert len(marks) == len(CORNERS)
    table = geographic_layers(plan_site(site, ask=["fill"]))["features"]
    told = dict(zip(table["id"], table["elevation_m"], strict=True))
    assert [told[name] for name in CORNERS] == [0.0 if name[0] == "n" else 1.0 for name in CORNERS]
    print_site(site)
    assert f"{len(CORNERS)} levels" in capsys.readouterr().out
