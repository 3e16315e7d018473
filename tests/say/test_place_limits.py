"""Why a bed may not stand somewhere, and what would help, in words. By hand."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from siteplan.say.phrases import fill_phrase
from siteplan.say.place_cautions import PHRASES
from siteplan.say.place_limits import NO_FIT, limit_text


def limit(kind, feature="x", cause="", margin=0.0, steepest=0.0):
    return SimpleNamespace(kind=kind, feature=feature, cause=cause, margin=margin, steepest=steepest)


@pytest.mark.parametrize(("given", "text"), [
    (limit("boundary", margin=0.5), "be outside the boundary or within 50 cm of it"),
    (limit("building", margin=0.5, cause="walk"), "stand on building x or within 50 cm of it (room to walk around the bed)"),
    (limit("building", cause="walk"), "stand on building x"), (limit("hedge", margin=0.5, cause="odd"), "stand on hedge x or within 50 cm of it"),
    (limit("keepout", margin=0.5, cause="setback"), "lie on x (setback) or within 50 cm of it"),
    (limit("keepout", cause="septic"), "lie on x (septic)"), (limit("gate", margin=0.5, cause="walk"), "block gate x"),
    (limit("surface", cause="gravel"), "lie on gravel (x)"), (limit("surface", cause="moss"), "lie on moss (x)"),
    (limit("roots", cause="crown"), "lie on the roots of x (under its crown)"),
    (limit("roots", cause="stem"), "lie on the roots of x (12 stem diameters, at most 15.0 m)"),
    (limit("bed", margin=0.6), "overlap bed x or leave less than 60 cm beside it"),
    (limit("slope", steepest=0.25), "lie on ground steeper than 25 %"), (limit("door"), "block door x"), (limit("tap"), "block tap x"),
])  # fmt: skip
def test_what_is_wrong_with_a_bed_there(given, text):
    assert limit_text(given, "metric") == text


def part(kind="bed", features=(), largest=None, spots=0.5, alone=0.25):
    return SimpleNamespace(kind=kind, features=features, largest=largest, spots=spots, alone=alone)


@pytest.mark.parametrize(("code", "figures", "text"), [
    ("nothing-fits", {"length": 2.4, "width": 1.2}, "no bed of 2.40 m by 1.20 m fits anywhere on this property"),
    ("smaller-fits", {"length": 1.2, "width": 0.6}, "a bed of 1.20 m by 60 cm would fit"),
    ("most-in-the-way", {"part": part()}, "what stands in the way most often: at 50 % of all spots it would be out of the barrow's reach"),
    ("next-in-the-way", {"part": part(features=("a", "b", "c", "d"), largest=limit("gate"))},
     "what stands in the way next: at 50 % of all spots it would block gate x (a, b, c and 1 more)"),
    ("would-open", {"part": part()}, "the one change that would open the most ground: moving a bed that is there (25 % of all spots)"),
    ("would-open", {"part": part(kind="moss")}, "the one change that would open the most ground: moss (25 % of all spots)"),
])  # fmt: skip
def test_what_is_said_where_nothing_fits(code, figures, text):
    assert fill_phrase(NO_FIT[code], figures, "metric") == text


@pytest.mark.parametrize(
    ("country", "old"), [("US", "were painted before 1978"), ("", "may carry old paint with lead")]
)
def test_old_paint_by_country(country, old):
    told = fill_phrase(PHRASES["old-paint"], {"country": country, "within": 3.0, "building": "barn"}, "metric")
    assert told == (
        f"It lies within 3 m of building barn. If the walls {old}, have the soil tested for lead before you grow food there, "
        "and ask the local health office what the result means."
    )


def test_where_a_bed_may_not_stand():
    told = fill_phrase(PHRASES["bed-spot"], {"limit": limit("gate", "{x}")}, "metric")
    assert told == "Here the bed would block gate {x}."
    hedge = fill_phrase(PHRASES["frost-pocket"], {"barrier": "yew", "kind": "hedge"}, "metric")
    assert hedge == "Hedge yew just downhill dams cold air: frost may stay longer there."
