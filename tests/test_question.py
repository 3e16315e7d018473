"""A question that cannot be answered is refused, in words that say what came and what is allowed."""

from __future__ import annotations

import numpy as np
import pytest
from shapely import MultiPolygon, Polygon, box

from siteplan import InputError, plan_site
from siteplan.land.outline import rectangle
from siteplan.question import QUESTIONS, NewBed, checked_question, question_faults

ELL = Polygon([(0, 0), (2.4, 0), (2.4, 1), (1, 1), (1, 2), (0, 2)])


@pytest.mark.parametrize(
    ("asked", "where", "said"),
    [
        ({"ask": "sun"}, "ask", "it is 'sun', must be a collection of questions, such as [\"sun\"]"),
        ({"ask": "turn"}, "ask", 'must be a collection of questions, such as ["turn"]'),
        ({"ask": "tern"}, "ask", 'must be a collection of questions, such as ["sun"]'),
        ({"ask": 3}, "ask", "it is 3, must be a collection"),
        ({"ask": ["suns"]}, "ask", "question 'suns' is not known; did you mean 'sun'?"),
        ({"ask": ["sun", 3]}, "ask", "question '3' is not known"),
        ({"bed_ids": "new bed"}, "bed_ids", "it is 'new bed', must be a collection of ids of beds, such as"),
        ({"bed_ids": ["new-bed"]}, "bed_ids", 'there is no bed "new-bed"; did you mean "new bed"?'),
        ({"bed_ids": ["new bed"], "ask": ["fill"]}, "bed_ids", "neither is asked"),
        ({"length": 0}, "length", "it is 0 m, must be at least 0.1 and at most 100 m"),
        ({"width": -1.2}, "width", "it is -1.2 m"),
        ({"length": float("nan")}, "length", "it is nan m"),
        ({"length": "8 ft"}, "length", "it is '8 ft', must be a number"),
        ({"width": True}, "width", "it is True, must be a number"),
        ({"count": -3}, "count", "it is -3, must be a whole number from 1 to 50"),
        ({"count": 2.5}, "count", "it is 2.5, must be a whole number"),
        ({"count": 51}, "count", "it is 51, must be"),
        ({"sizes": []}, "sizes", "it is [], must be 1 to 50 pairs of length and width"),
        ({"sizes": [2.4]}, "sizes", "has 2.4, must have pairs"),
        ({"sizes": [(2.4, 1.2, 0.4)]}, "sizes", "must have pairs"),
        ({"sizes": [(2.4, 0)]}, "sizes", "a side is 0 m"),
        ({"sizes": [(2.4, 1.2)], "length": 2.4}, "sizes", "leave those out"),
        ({"sizes": [(2.4, 1.2)], "count": 2}, "sizes", "leave those out"),
        ({"shape": ELL, "length": 2.4}, "shape", "leave length, width and sizes out"),
        ({"shape": ELL, "sizes": [(2.4, 1.2)]}, "shape", "leave length, width and sizes out"),
        ({"shape": "ell.geojson"}, "shape", "must be one simple Polygon"),
        ({"shape": MultiPolygon([ELL])}, "shape", "must be one simple Polygon"),
        ({"shape": box(0, 0, 3, 3) - box(1, 1, 2, 2)}, "shape", "without holes"),
        ({"shape": Polygon()}, "shape", "must be one simple Polygon"),
        (
            {"shape": box(8, 50, 8.00003, 50.00001)},
            "shape",
            "its longer side is 3e-05 m, must be at least 0.1 and at most 100 m",
        ),
        ({"months": [0, 4]}, "months", "it is [0, 4], must be a collection of months from 1 to 12"),
        ({"months": [13]}, "months", "from 1 to 12"),
        ({"months": []}, "months", "from 1 to 12"),
        ({"months": 5}, "months", "it is 5, must be a collection"),
        ({"months": "4-6"}, "months", "it is '4-6', must be a collection"),
        ({"months": [4.5]}, "months", "from 1 to 12"),
        ({"ask": ["turn"], "months": [4]}, "months", "the question place is not asked"),
        ({"sure": "yes"}, "sure", "it is 'yes', must be True or False"),
        ({"ask": ["place"], "sure": True}, "sure", "is about the map of the sun, and the question sun is not asked"),
    ],
)
def test_what_cannot_be_answered_is_refused(tiny_yard, asked, where, said):
    with pytest.raises(InputError) as refused:
        plan_site(tiny_yard, **asked)
    (fault,) = refused.value.faults
    assert fault.where == where
    assert said in fault.text
    assert str(refused.value).startswith(f"{where}: ")


def test_all_faults_come_at_once(tiny_yard):
    with pytest.raises(InputError) as refused:
        plan_site(tiny_yard, ask=["place", "sums"], bed_ids=["x"], count=0, months=[13])
    assert [fault.where for fault in refused.value.faults] == ["ask", "bed_ids", "count", "months"]


@pytest.mark.parametrize(
    "wanted",
    [
        {},
        {"length": 2, "width": np.float32(1.2), "count": np.int64(3), "months": range(11, 13)},
        {"sizes": ((2.4, 1.2), [1, 1])},
        {"shape": ELL, "count": 2, "months": {4, 5}},
        {"months": np.array([4, 5])},
    ],
)
def test_what_can_be_answered_is_taken(tiny_yard, wanted):
    assert question_faults(tiny_yard, ask=QUESTIONS, bed_ids=["new bed"], new_bed=NewBed(**wanted)) == []


def test_any_collection_of_questions_will_do(tiny_yard):
    for ask in (["sun"], ("sun",), {"sun"}, {"sun": 1}.keys(), np.array(["sun"])):
        assert question_faults(tiny_yard, ask=ask) == []


def test_nothing_asked_is_nothing_answered(tiny_yard):
    plan = plan_site(tiny_yard, ask=[])
    assert (plan.maps, plan.beds, plan.places, plan.fill, plan.haul) == (None, (), None, None, None)


def test_what_is_taken_is_plain(tiny_yard):
    wanted = NewBed(sizes=[[2.4, np.float32(1)]], months=np.array([5, 4, 4]))
    question = checked_question(tiny_yard, ask=["place", "place"], bed_ids=None, new_bed=wanted)
    assert question.ask == {"place"}
    assert question.new_bed == NewBed(sizes=((2.4, 1.0),), months=(4, 5))
    plan = plan_site(tiny_yard, ask=["place"], sizes=[[2.4, 1.2], [1.2, 0.6]], months=np.array([4, 5]))
    assert len(plan.places.places) == 2


def test_what_is_not_said_is_left_to_the_site(tiny_yard):
    question = checked_question(tiny_yard, ask=["sun"])
    assert (question.sure, question.hours_alone, question.bed_ids) == (False, False, None)
    assert question.new_bed.named_fields() == ()
    sure = checked_question(tiny_yard, ask=["sun"], bed_ids=["new bed"], sure=True)
    assert (sure.sure, sure.bed_ids) == (True, {"new bed"})


@pytest.mark.parametrize(("side", "fault"), [(0.1, False), (0.0999, True), (100.0, False), (100.1, True)])
def test_a_side_has_its_bounds(tiny_yard, side, fault):
    for wanted in (
        NewBed(length=side),
        NewBed(width=side),
        NewBed(sizes=[(2.4, side)]),
        NewBed(shape=box(0, 0, side, 0.05)),
    ):
        assert bool(question_faults(tiny_yard, ask=["place"], new_bed=wanted)) is fault


@pytest.mark.parametrize("heading", [0, 12.3, 30, 45, 60, 89.9, 90, 135])
def test_the_size_of_a_shape_is_the_same_however_it_is_turned(tiny_yard, heading):
    """110 m by 0.5 m spans 78 m from west to east when it lies at 45 degrees, a square of 9 cm spans 12.7 cm."""
    for length, width, fault in ((110, 0.5, True), (100, 0.5, False), (0.09, 0.09, True), (0.1, 0.1, False)):
        shape = rectangle(3, -4, length=length, width=width, heading=heading)
        faults = question_faults(tiny_yard, ask=["place"], new_bed=NewBed(shape=shape))
        assert [one.text.split(",")[0] for one in faults] == [f"its longer side is {length:g} m"] * fault


@pytest.mark.parametrize("far", [1e10, 1e160, 1e300])
def test_a_shape_of_any_size_is_told_of_without_a_warning(tiny_yard, far):
    assert question_faults(tiny_yard, ask=["place"], new_bed=NewBed(shape=box(0, 0, far, far)))


@pytest.mark.parametrize(("count", "fault"), [(0, True), (1, False), (50, False), (51, True)])
def test_a_search_places_up_to_fifty_beds(tiny_yard, count, fault):
    assert bool(question_faults(tiny_yard, ask=["place"], new_bed=NewBed(count=count))) is fault
    sizes = [(2.4, 1.2)] * count
    assert bool(question_faults(tiny_yard, ask=["place"], new_bed=NewBed(sizes=sizes))) is fault


def test_a_bed_is_chosen_for_sun_or_turn(tiny_yard):
    for ask, fault in ((["sun"], False), (["turn", "fill"], False), (["fill", "haul", "place"], True)):
        assert bool(question_faults(tiny_yard, ask=ask, bed_ids=["new bed"])) is fault
