"""A figure may carry how far off it may be: how it is read, and what is wrong with it."""

from __future__ import annotations

import json

import pytest

import siteplan
from siteplan.files.constant_tables import read_crowns, read_spreads
from siteplan.files.reader import check_site
from siteplan.land.spread import spread_size


def demo_with(tmp_path, feature, **properties):
    """Return the folder of the demo, one of whose features says otherwise."""
    from siteplan.files.demo import write_demo

    folder = tmp_path / "yard"
    write_demo(folder)
    path = folder / "features.geojson"
    document = json.loads(path.read_text(encoding="utf-8"))
    (one,) = (each for each in document["features"] if each.get("id") == feature)
    one["properties"] |= properties
    path.write_text(json.dumps(document), encoding="utf-8")
    return folder


def spreads_of(site, feature):
    (one,) = (each for each in site.features() if each.id == feature)
    return {spread.of: spread for spread in one.spreads}


@pytest.mark.parametrize("sign", ["+-", "±", "+/-", "  +- "])
def test_a_height_with_its_spread(tmp_path, sign):
    checked = check_site(demo_with(tmp_path, "maple", height=f"44 ft{sign}2 ft"))
    assert checked.faults == ()
    spread = spreads_of(checked.site, "maple")["height"]
    assert spread.below == spread.above == pytest.approx(0.6096)  # 2 ft
    assert spread.how == "given"
    (maple,) = (tree for tree in checked.site.trees if tree.id == "maple")
    assert maple.height == pytest.approx(13.4112)  # 44 ft


@pytest.mark.parametrize(
    ("written", "metres"),
    [("44 ft +- 10 %", 1.34112), ("13.4 m +- 50 cm", 0.5), ("44 +- 2", 0.6096), ("44' +- 18 in", 0.4572)],
)
def test_other_ways_to_write_it(tmp_path, written, metres):
    site = siteplan.read_site(demo_with(tmp_path, "maple", height=written))
    assert spreads_of(site, "maple")["height"].above == pytest.approx(metres)


def test_all_figures_of_a_tree(tmp_path):
    given = {"crown_diameter": "34 ft +- 3 ft", "transmittance_leafy": "5 % +- 3 %", "leaf_out": "04-24 +- 7 days",
             "position_spread": "1 ft", "crown_base": "9 ft ± 1 ft"}  # fmt: skip
    found = spreads_of(siteplan.read_site(demo_with(tmp_path, "maple", **given)), "maple")
    sizes = {name: found[name].above for name in ("crown_diameter", "transmittance_leafy", "leaf_out", "position")}
    assert sizes == pytest.approx(
        {"crown_diameter": 0.9144, "transmittance_leafy": 0.03, "leaf_out": 7.0, "position": 0.3048}
    )
    assert {found[name].how for name in sizes} == {"given"}
    assert found["leaf_fall"].how == "typed"  # where nothing is said


def test_a_spread_by_how_it_was_measured(tmp_path):
    found = spreads_of(siteplan.read_site(demo_with(tmp_path, "maple", measured="laser")), "maple")
    assert found["height"].above == pytest.approx(13.4112 * read_spreads()["laser"].tree)
    assert found["height"].how == "laser"
    crown = read_crowns()["deciduous", "medium"]
    assert found["transmittance_leafy"].above == pytest.approx(crown.leafy_most - crown.transmittance_leafy)
    assert found["transmittance_leafy"].how == "crowns"


def test_better_means_are_never_less_sure():
    order = ("guess", "typed", "tape")
    for column in ("tree", "built", "width", "least", "position"):
        values = [getattr(read_spreads()[how], column) for how in order]
        assert values == sorted(values, reverse=True)
    assert all("no source" in one.source for one in read_spreads().values())  # each says what is common practice


@pytest.mark.parametrize(
    ("properties", "text"),
    [
        ({"height": "44 ft +- 50 ft"}, "the spread of 50 ft is more than the value, 44 ft"),
        ({"height": "44 ft +- 120 %"}, "the spread of 120 % is more than the value, 44 ft"),
        ({"height": "44 ft +- 2"}, "the spread of 2 has no unit; give one"),
        ({"height": "44 ft +- much"}, "'much' does not start with a number"),
        ({"height": "44 ft +-"}, "'?' does not start with a number"),
        ({"height": "44 ft +- -2 ft"}, "the spread of -2 ft is below 0"),
        ({"leaf_out": "04-24 +- 3 months"}, "must be days, at most 60"),
        ({"measured": "eyes"}, "'eyes' is not known"),
        ({"position_spread": "400 ft"}, "position_spread is 400 ft, must be at least 0 and at most 66 ft"),
    ],
)
def test_what_is_wrong_is_said(tmp_path, properties, text):
    (fault,) = check_site(demo_with(tmp_path, "maple", **properties)).faults
    assert text in fault.text
    assert "maple" in fault.where


def test_a_spread_that_counts_nothing_is_read_with_a_word(tmp_path):
    checked = check_site(demo_with(tmp_path, "long-bed", height="18 in +- 1 in"))
    assert checked.faults == ()
    assert [one.feature for one in checked.cautions if one.code == "spread-unused"] == ["long-bed"]


def test_an_exact_figure():
    assert spread_size("0 ft", "24 ft", 7.3152, "length") == 0.0
    assert spread_size("", "24 ft", 7.3152, "length") is None
