"""A lot typed in by hand, from end to end: every figure below is worked out on paper beside the plan's.

3 Wicket Row is invented: house, garage, shed, three trees, fences with two gates, soil in two places, a heap of
branches, a bed in two tiers and two ordinary ones on a lawn that falls two feet to the north. All figures in feet.
"""

from __future__ import annotations

import contextlib
import io
import json
import re
from pathlib import Path

import pytest

from siteplan.cli import main

HERE = Path(__file__).parent
FT3 = 0.3048**3
LOW = (8 - 0.25) * (3 - 0.25)  # ft2 of soil: the walls are 1 1/2 in thick, an eighth of a foot, on either side
LONG = (8 - 0.25) * (4 - 0.25)
CORE = (6 - 0.25) * (2 - 0.25)  # of the tower's upper frame, set in by 1 ft all round
LEDGE = LONG - CORE
# the usual layers: 37.5 % coarse base, 37.5 % topsoil, 20.83 % compost, 4.17 % castings; without the base, of the rest
TOPSOIL, COMPOST, CASTINGS = 0.375 / 0.625, 0.2083 / 0.625, 0.0417 / 0.625
# what sinks in the first year, as a share of the depth: data/materials.csv
SINKS = {"branches": 0.15, "topsoil": 0.10, "compost": 0.20, "worm castings": 0.15}


@pytest.fixture(scope="module")
def told(tmp_path_factory):
    """Return plan.json, and all that the terminal says."""
    out, said = tmp_path_factory.mktemp("lot") / "plan", io.StringIO()
    with pytest.MonkeyPatch.context() as patch, contextlib.redirect_stdout(said):
        patch.setenv("COLUMNS", "100")
        assert main(["plan", str(HERE), "--out", str(out)]) == 0
    return json.loads((out / "plan.json").read_text(encoding="utf-8")), said.getvalue()


@pytest.fixture(scope="module")
def plan(told):
    return told[0]


def volume(plan, bed, material):
    """Return how much of a material a bed takes, loose. [ft3]"""
    rows = [row for row in plan["fill"]["layers"] if (row["bed"], row["material"]) == (bed, material)]
    return sum(row["volume_m3"] for row in rows) / FT3


def test_volumes(plan):
    low = {"topsoil": LOW * 1 * TOPSOIL, "compost": LOW * 1 * COMPOST, "worm castings": LOW * 1 * CASTINGS}
    long = {"branches": 0.375, "topsoil": 0.375, "compost": 0.2083, "worm castings": 0.0417}
    # the ledge of the tower is 14 in deep: too low for a base; its core is 24 in deep and has one
    ledge = LEDGE * 14 / 12
    tower = {
        "branches": CORE * 2 * 0.375,
        "topsoil": ledge * TOPSOIL + CORE * 2 * 0.375,
        "compost": ledge * COMPOST + CORE * 2 * 0.2083,
        "worm castings": ledge * CASTINGS + CORE * 2 * 0.0417,
    }
    by_hand = {"low": low, "long": {name: LONG * 1.5 * share for name, share in long.items()}, "tower": tower}
    for bed, materials in by_hand.items():
        for material, cubic_feet in materials.items():
            assert volume(plan, bed, material) == pytest.approx(cubic_feet, rel=2e-3), (bed, material)
    assert sum(tower.values()) == pytest.approx(LONG * 14 / 12 + CORE * 10 / 12)


def test_what_is_bought_and_what_it_costs(plan):
    need = {name: sum(volume(plan, bed, name) for bed in ("low", "long", "tower")) for name in SINKS}
    assert need["topsoil"] / 27 - 0.9 == pytest.approx(
        0.951, abs=0.002
    )  # yd3, after the two heaps: one load of 1 yd3
    assert need["compost"] == pytest.approx(27.8, abs=0.1)  # 28 bags of 1 ft3
    assert need["worm castings"] == pytest.approx(5.55, abs=0.02)  # 6 bags
    assert need["branches"] / 27 < 1  # all of the base is on hand: none is bought
    bought = {row["material"]: (row["count"], row["cost"]) for row in plan["fill"]["purchase"]}
    assert bought == {"topsoil": (1, 38 + 60), "compost": (28, 28 * 5.5), "worm castings": (6, 6 * 24)}
    assert plan["fill"]["total_cost"] == 98 + 154 + 144


def test_timber(plan):
    """Two courses of 9 1/4 in boards for 14, 18 and 12 in, one for the 10 in above; sides between the ends: 45 in.

    For 14 and 12 in the upper board is ripped, so the posts are as long as the walls are drawn.
    """
    frames = {(frame["bed"], frame["number"]): frame for frame in plan["walls"]["frames"]}
    for key, pieces in {
        ("tower", 1): [(96, 4), (45, 4), (14, 10)],
        ("tower", 2): [(72, 2), (21, 2), (9.25, 6)],
        ("long", 1): [(96, 4), (45, 4), (18.5, 10)],
        ("low", 1): [(96, 4), (33, 4), (12, 6)],
    }.items():
        assert [(one["length_m"] / 0.0254, one["count"]) for one in frames[key]["pieces"]] == [
            (pytest.approx(length, abs=0.01), count) for length, count in pieces
        ]
    # 12 boards of 96 in, 8 of 45, 2 of 72, 2 of 21, 4 of 33: 1830 in. 19 boards of 8 ft are 1824 in, and so are all
    # that cost less than 18 of them and one of 12 ft, 1872 in for 18 x 14.50 + 22
    bought = [(round(row["length_m"] / 0.3048), row["count"], row["cost"]) for row in plan["walls"]["purchase"]]
    assert 12 * 96 + 8 * 45 + 2 * 72 + 2 * 21 + 4 * 33 == 1830
    assert bought[:2] == [(8, 18, 261.0), (12, 1, 22.0)]
    # posts: 10 of 18 1/2 in, 10 of 14 in, 6 of 12 in and 6 of 9 1/4 in are 452 1/2 in, more than four posts of 8 ft
    assert bought[2] == (8, 5, 55.0)
    assert plan["walls"]["total_cost"] == 261 + 22 + 55 + 38


def test_trips(plan):
    """A barrow of 6 ft3 that may weigh 90 kg: 2.54 ft3 of topsoil at 1250 kg/m3, 6 ft3 of branches, 4 bags of 20 kg."""
    assert pytest.approx(2.54, abs=0.005) == 90 / 1250 / FT3
    loads = {(one["bed"], one["material"], one["from"]): one["trips"] for one in plan["haul"]["loads"]}
    assert loads["low", "topsoil", "soil-by-shed"] == 6  # 12.8 / 2.54 = 5.03
    assert loads["long", "branches", "branches"] == 3  # 16.3 / 6 = 2.7
    assert loads["tower", "branches", "branches"] == 2  # 7.5 / 6 = 1.3
    assert loads["low", "compost", "drive-drop"] == 2  # 7 bags, 4 at a time
    assert all("side-gate" in one["gates"] for one in plan["haul"]["loads"] if one["from"] == "drive-drop")
    assert plan["haul"]["unreached"] == []


def test_first_top_up(plan):
    """What sinks is brought again: each layer's depth by its share; the tower's ledge and core by their own depths."""

    def sunk(depth, *, base):
        shares = (0.375, 0.375, 0.2083, 0.0417) if base else (0.0, TOPSOIL, COMPOST, CASTINGS)
        return depth * sum(share * SINKS[name] for share, name in zip(shares, SINKS, strict=True))

    by_hand = LOW * sunk(1.0, base=False) + LONG * sunk(1.5, base=True)
    by_hand += LEDGE * sunk(14 / 12, base=False) + CORE * sunk(2.0, base=True)
    brought = sum(row["volume_m3"] for row in plan["fill"]["top_up"][0]["volumes"]) / FT3
    assert brought == pytest.approx(by_hand, rel=2e-3)
    assert {row["material"] for row in plan["fill"]["top_up"][0]["volumes"]} == {
        "topsoil",
        "compost",
        "worm castings",
    }


def test_every_sentence_is_one_that_was_read(told):
    """All that the terminal says stands in plan.txt, where it is read as a gardener would; only figures may differ."""
    kept = (HERE / "plan.txt").read_text(encoding="utf-8")
    assert wording(told[1]) == wording(kept)


def wording(text):
    """Return a text's sentences without figures, names of folders and the layout of lines."""
    told = text.split("Open the map")[0]
    return re.sub(r"\W+", " ", re.sub(r"[−+-]?[\d.,/½¼¾]+", "#", told)).split(" ")
