"""How the barrow is wheeled, loaded and tipped: read, ranged and refused."""

from __future__ import annotations

import re

import pytest

from siteplan import read_site
from siteplan.files.new import new_site
from siteplan.files.reader import check_site
from siteplan.files.template import site_toml
from siteplan.land.record import fields_of
from siteplan.land.site import Barrow, HaulSettings, Labour

HAUL = """
[haul]
loaded_speed = "2 mph"
empty_speed = 5
tip_time = "30 s"
bag_time = "90 s"
shovel_pace = 1.6
rest = "15 min"
wet = true
off_lawn = true
tip_anywhere = true
lorry_width = "8 ft"
heap_angle = 30
delivery_day = 2
board_price = 12.5
board_length = "8 ft"
"""


def test_all_of_it_is_read(yard):
    yard.toml = re.sub(r"\[(barrow|labour)\][^\[]*", "", yard.toml)
    yard.toml += '[barrow]\nmass = "40 lb"\ncount = 2\n[labour]\npeople = 3\nbody_mass = "150 lb"\n' + HAUL
    site = read_site(yard.write())
    haul = site.haul
    # a mile is 1609.344 m and a pound 0.45359237 kg, by definition; a plain speed is in km/h
    assert haul.loaded_speed == pytest.approx(2 * 1609.344 / 3600)
    assert haul.empty_speed == pytest.approx(5 / 3.6)
    assert (haul.tip_time * 3600, haul.bag_time * 3600, haul.rest) == pytest.approx((30, 90, 0.25))
    assert (haul.shovel_pace, haul.heap_angle, haul.delivery_day, haul.board_price) == (1.6, 30.0, 2, 12.5)
    assert (haul.wet, haul.off_lawn, haul.tip_anywhere) == (True, True, True)
    assert (haul.lorry_width, haul.board_length) == pytest.approx((2.4384, 2.4384))
    assert (site.barrow.mass, site.barrow.count) == (pytest.approx(18.1436948), 2)
    assert (site.labour.people, site.labour.body_mass) == (3, pytest.approx(68.0388555))


def test_what_is_not_said_is_common_practice(yard):
    site = read_site(yard.write())
    assert site.haul == HaulSettings()
    assert (site.barrow.mass, site.barrow.count, site.labour.body_mass) == (18.0, 1, 80.0)


@pytest.mark.parametrize(
    ("key", "value", "said"),
    [
        ("loaded_speed", 30, "loaded_speed is 8.33"),
        ("loaded_speed", '"3 kg"', "is a mass, not a speed"),
        ("tip_time", '"2 h"', "tip_time is 2"),
        ("rest", "10", "rest is 10"),
        ("shovel_pace", "0", "shovel_pace is 0"),
        ("lorry_width", '"3 in"', "lorry_width is 0.0762"),
        ("heap_angle", "80", "heap_angle is 80"),
        ("delivery_day", "0", "must be a whole number from 1 to 365"),
        ("board_price", "-1", "must be a plain number"),
        ("board_price", "2e6", "at most 1,000,000"),
        ("wet", '"often"', "must be true or false"),
        ("loaded_sped", "3", "did you mean 'loaded_speed'"),
    ],
)
def test_what_cannot_be_is_a_fault(yard, key, value, said):
    yard.toml += f"\n[haul]\n{key} = {value}\n"
    faults = check_site(yard.write()).faults
    assert len(faults) == 1
    assert "[haul]" in str(faults[0])
    assert said in str(faults[0])


@pytest.mark.parametrize(
    ("record", "wrong"),
    [
        (HaulSettings, {"empty_speed": 0.0}),
        (HaulSettings, {"board_price": -1.0}),
        (Barrow, {"count": 0}),
        (Barrow, {"mass": 0.0}),
        (Labour, {"body_mass": 5.0}),
    ],
)
def test_the_records_refuse_it_as_well(record, wrong):
    with pytest.raises(ValueError, match=next(iter(wrong))):
        record(**wrong)


def test_the_template_shows_every_key_with_its_default(tmp_path):
    template = site_toml()
    table = template.split("# [haul]")[1].split("\n\n")[0]
    shown = "[haul]" + "\n".join(line.removeprefix("# ") for line in table.splitlines())
    names = set(re.findall(r"^(\w+) =", shown, re.MULTILINE))
    assert names == set(fields_of(HaulSettings))
    folder = new_site(tmp_path / "mine")
    said = template.replace("# [haul]" + table, shown)
    (folder / "site.toml").write_text(said, encoding="utf-8")
    haul = read_site(folder).haul
    for name in names - {"board_price", "board_length"}:  # which have no default of their own
        assert getattr(haul, name) == pytest.approx(getattr(HaulSettings(), name)), name
