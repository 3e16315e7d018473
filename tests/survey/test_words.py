"""What is said of a survey, and when its heights are likely in another unit. By hand."""

from __future__ import annotations

import datetime as dt
from types import SimpleNamespace

import pytest
from shapely import Point

from siteplan.files.remarks import Remarks
from siteplan.land.proposals import Accepted, Conflict, Figure, Proposal
from siteplan.land.returns import Flight
from siteplan.say.heights import accepted_sentences, found_sentences, proposal_sentence
from siteplan.survey import HeightsFound, _check_heights, in_leaf
from tests.place.conftest import bare_yard


def proposal(name="a", kind="tree", *, drawn=False, figures=(), points=5, **more):
    return Proposal(name, kind, drawn, Point(0, 0), tuple(figures), points, **more)


def test_a_proposal_in_a_sentence():
    figures = [Figure("height", 7.5, 0.2), Figure("eaves", 0.1, 0.2), Figure("ridge_heading", 90.0, 0.0, "angle")]
    said = proposal_sentence(proposal(figures=figures, points=1), "metric", None)
    assert said == "7.50 m high (7.30 to 7.70 m), eaves at 10 cm (0 cm to 30 cm), ridge east–west (90°); 1 point."
    group = proposal(figures=[Figure("height", 9.0)], trees=3, ground_share=0.254, pulses=80)
    assert proposal_sentence(group, "metric", True) == (
        "a group of 3 or so, not told apart, 9.00 m high, 25% of 80 pulses reach the ground in leaf; 5 points."
    )
    assert "leafless" in proposal_sentence(group, "metric", False)
    assert "not known" in proposal_sentence(group, "metric", None)
    single = proposal(figures=[Figure("height", 3.048, 0.3048)], trees=1)
    assert proposal_sentence(single, "imperial", None) == "10 ft high (9 ft to 11 ft); 5 points."


TODAY = dt.date(2026, 11, 27)


def found(proposals=(), unseen=(), flight=None):
    return found_sentences(proposals, unseen, "laser survey", flight or Flight(), None, TODAY)


def test_what_was_found_in_all():
    some = [
        proposal(drawn=True),
        proposal(kind="building", drawn=True),
        proposal(),
        proposal(trees=2),
        proposal(trees=4),
    ]
    lines = found(some, [f"u{n}" for n in range(10)])
    assert lines[:3] == [
        "Heights for what is drawn: 1 tree, 1 building.",
        "Heights for what is new: 3 trees.",
        "2 groups of trees could not be told apart: look at them before they are accepted.",
    ]
    assert (
        lines[3]
        == "Nothing was seen of u0, u1, u2, u3, u4, u5, u6, u7 and 2 more: not there yet on that day, or hidden."
    )
    assert found([], ["u"] * 8)[0].endswith("u, u: not there yet on that day, or hidden.")
    assert found() == ["From a laser survey, in a season that is not known. Trees have grown or gone since."]


@pytest.mark.parametrize(
    ("days", "years"), [(729, ""), (730, ", 2 years ago"), (1094, ", 2 years ago"), (1095, ", 3 years ago")]
)
def test_how_old_a_survey_is(days, years):
    day = TODAY - dt.timedelta(days=days)
    assert found(flight=Flight(day, day))[-1].startswith(f"From a laser survey{years}, in a season")


def test_what_was_accepted():
    done = Accepted("f.geojson")
    assert accepted_sentences(done, "yard") == ["Nothing new for f.geojson; it is as it was."]
    done.added += [f"n{k}" for k in range(12)]
    done.changed += ["c"]
    done.conflicts += [Conflict("c", "height", "5 m", "9 m", taken=True)]
    assert accepted_sentences(done, "yard") == [
        "Written to f.geojson, new: n0, n1, n2, n3, n4, n5, n6, n7, n8, n9 and 2 more.",
        "Written to f.geojson, with figures of the survey: c.",
        "c: height was 5 m, is now 9 m.",
    ]
    done.conflicts += [Conflict("d", "height", "5 m", "9 m", taken=False)]
    assert accepted_sentences(done, "my yard")[-2:] == [
        "d: height is 5 m in f.geojson, the survey has 9 m. Yours stays.",
        "To take the survey's figures all the same: siteplan heights 'my yard' --accept ID --replace.",
    ]


@pytest.mark.parametrize(("first", "last", "southern", "leafy"), [
    ("2020-07-01", "2020-07-01", False, True), ("2020-07-01", "2020-07-01", True, False),
    ("2020-01-10", "2020-01-12", False, False), ("2020-01-10", "2020-01-12", True, True),
    ("2020-04-09", "2020-04-09", False, False), ("2020-04-10", "2020-04-10", False, True),
    ("2020-10-27", "2020-10-27", False, True), ("2020-10-28", "2020-10-28", False, False),
    ("2020-04-01", "2020-05-01", False, None), ("2020-11-01", "2021-03-01", False, False),
    ("2020-06-01", "2021-06-01", False, None),  # a year: some of it with leaves, some without
])  # fmt: skip
def test_whether_trees_were_in_leaf(first, last, southern, leafy):
    flight = Flight(dt.date.fromisoformat(first), dt.date.fromisoformat(last))
    assert in_leaf(flight, southern=southern) is leafy


def test_days_that_nobody_knows_tell_no_leaves():
    assert in_leaf(Flight(), southern=False) is None
    # all 201 days in leaf, and all 164 days without; one more on either side is unknown
    for first, days, leafy in ((dt.date(2020, 4, 10), 200, True), (dt.date(2020, 10, 28), 163, False)):
        assert in_leaf(Flight(first, first + dt.timedelta(days=days)), southern=False) is leafy
    southern = dt.date(2020, 10, 9), dt.date(2021, 4, 27)  # 201 days
    assert in_leaf(Flight(*southern), southern=True) is True
    assert in_leaf(Flight(southern[0], dt.date(2021, 4, 28)), southern=True) is None


def houses(heights, drawn, *, metres=1.0, told=False):
    """Return what is said where a survey has houses so high that are drawn so high."""
    proposals = [
        proposal(f"h{n}", "building", drawn=True, figures=[Figure("height", height)])
        for n, height in enumerate(heights)
    ]
    result = HeightsFound(bare_yard(), None, tuple(proposals), (), Flight(), None, ())
    asked = SimpleNamespace(names="a.laz", metres=metres, unit_given=told)
    remarks = Remarks()
    _check_heights(result, {f"h{n}": one for n, one in enumerate(drawn)}, asked, remarks)
    return "".join(fault.text for fault in remarks.faults)


def test_houses_that_are_two_and_a_half_times_as_high_as_they_are_drawn():
    assert houses([12.9], [5.0]) == ""
    said = houses([13.1], [5.0])
    assert said.startswith(
        'makes the building "h0" 13.1 m high, which is drawn 5.00 m high; are its heights in feet?'
    )
    assert "--z-unit ft" in said
    # too low may be one house that has gone; two of them, or heights read as feet, are no chance
    assert houses([1.9], [5.0]) == ""
    assert "1.90 m high" in houses([1.9, 1.9], [5.0, 5.0])
    assert houses([2.0, 2.0], [5.0, 5.0]) == ""
    assert "are its heights in metres? Say --z-unit m" in houses([1.9], [5.0], metres=0.3048)
    assert houses([13.1, 5.0, 5.0], [5.0, 5.0, 5.0]) == ""  # the middle one counts


def test_houses_that_nobody_has_drawn_are_as_high_as_is_usual():
    assert houses([19.9, 19.9, 90.0], []) == ""
    assert houses([20.1, 20.1, 3.0], []).startswith(
        "makes half of 3 buildings more than 20.1 m high; are its heights in feet?"
    )
    assert houses([20.1], [], told=True) == ""
    assert houses([1.5], []) == ""
    assert "less than 1.50 m high; are its heights in metres?" in houses([1.5], [], metres=0.3048, told=True)
    assert houses([1.7], [], metres=0.3048) == ""
    assert houses([], []) == ""
