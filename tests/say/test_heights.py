"""A survey in words: its months, each figure with its ends, names that are cut, and the next steps. By hand."""

from __future__ import annotations

import datetime as dt
from types import SimpleNamespace

import pytest
from shapely import Point

from siteplan.land.proposals import Accepted, Conflict, Figure, Proposal
from siteplan.land.returns import Flight
from siteplan.say import heights as said

MARCH, MAY = dt.date(2014, 3, 4), dt.date(2014, 5, 6)


@pytest.mark.parametrize(("flight", "text"), [
    (Flight(MARCH, MAY), "laser survey, file of 2014-03 to 2014-05"), (Flight(MARCH, MARCH, by_pulses=True), "laser survey of 2014-03"),
    (Flight(MARCH, None), "laser survey, day unknown"), (Flight(None, MAY), "laser survey, day unknown"),
    (Flight(source="rasters"), "rasters of surface and ground, day unknown"),
])  # fmt: skip
def test_where_heights_are_from(flight, text):
    assert said.source_text(flight) == text


def test_the_season_of_a_flight():
    seasons = "in a season that is not known", "in leaf", "in the leafless season"
    assert tuple(said.season_text(leafy) for leafy in (None, True, False)) == seasons


def proposal(*figures, **more):
    return Proposal("a", "tree", False, Point(0, 0), figures, 2, **more)


@pytest.mark.parametrize(("value", "spread", "ends"), [
    (7.5, 0.25, " (7.25 to 7.75 m)"), (1.0, 0.25, " (75 cm to 1.25 m)"), (0.1, 0.25, " (0 cm to 35 cm)"), (5.0, 0.0, ""),
])  # fmt: skip
def test_the_ends_of_a_figure(value, spread, ends):
    assert said._ends(Figure("height", value, spread), "metric") == ends


def test_two_trees_are_a_group_and_one_is_none():
    two = proposal(Figure("height", 9.0), trees=2, ground_share=0.254, pulses=80)
    assert said.proposal_sentence(two, "metric", None) == (
        "a group of 2 or so, not told apart, 9.00 m high, 25% of 80 pulses reach the ground in a season that is not known; "
        "2 points."
    )
    assert said.proposal_sentence(proposal(Figure("crown_base", 2.0, 0.5), trees=1), "metric", None) == (
        "crown from 2.00 m (1.50 to 2.50 m); 2 points."
    )
    none = proposal(Figure("eaves", 3.0), trees=0, ground_share=0.5, pulses=9)
    assert said.proposal_sentence(none, "metric", None) == "eaves at 3.00 m; 2 points."


def found(*proposals, unseen=()):
    return said.found_sentences(proposals, unseen, "laser survey", Flight(), False, dt.date(2026, 11, 27))


LAST = "From a laser survey, in the leafless season. Trees have grown or gone since."


def test_groups_are_told_from_two_trees_on():
    assert found(proposal(trees=1)) == ["Heights for what is new: 1 tree.", LAST]
    assert found(proposal(trees=2), proposal(trees=1)) == [
        "Heights for what is new: 2 trees.",
        "1 group of trees could not be told apart: look at them before they are accepted.", LAST,
    ]  # fmt: skip


def test_eight_unseen_names_are_told_and_long_ones_are_cut():
    end = ": not there yet on that day, or hidden."
    assert found(unseen=["x" * 41]) == [f"Nothing was seen of {'x' * 39}…{end}", LAST]
    assert found(unseen=list("abcdefgh"))[0] == f"Nothing was seen of a, b, c, d, e, f, g, h{end}"
    assert found(unseen=list("abcdefghi"))[0] == f"Nothing was seen of a, b, c, d, e, f, g, h and 1 more{end}"


def test_ten_accepted_names_are_told_and_long_ones_are_cut():
    ten, eleven = Accepted("f.geojson"), Accepted("f.geojson")
    ten.added += [*"abcdefghi", "x" * 41]
    eleven.changed += list("abcdefghijk")
    assert said.accepted_sentences(ten, "yard") == [
        f"Written to f.geojson, new: a, b, c, d, e, f, g, h, i, {'x' * 39}…."
    ]
    assert said.accepted_sentences(eleven, "yard") == [
        "Written to f.geojson, with figures of the survey: a, b, c, d, e, f, g, h, i, j and 1 more."
    ]


def test_names_and_values_that_differ_are_cut():
    done = Accepted("f.geojson")
    done.conflicts += [
        Conflict("x" * 41, "height", "y" * 41, "z" * 41, taken=True),
        Conflict("a", "height", "1 m", "2 m", taken=False),
    ]
    assert said.conflict_sentences(done) == [
        f"{'x' * 39}…: height was {'y' * 39}…, is now {'z' * 39}….", "a: height is 1 m in f.geojson, the survey has 2 m. Yours stays.",
    ]  # fmt: skip


def test_the_next_steps_after_a_survey():
    first, second, third = said.next_steps("out", "my yard", SimpleNamespace(terrain=None))
    assert first == "Written to out: proposals.geojson and terrain.tif; nothing that is drawn has changed."
    assert second == (
        "Look at them in a GIS, then take them: siteplan heights 'my yard' --accept all, or --accept with some ids."
    )
    assert third == 'For the ground, write in site.toml: terrain = "out/terrain.tif"'
    assert said.next_steps("out", "my yard", SimpleNamespace(terrain="t.tif")) == [first, second]
