"""What the page is answered when it asks for a place."""

from __future__ import annotations

import json

import pytest

from siteplan.draw.where_answers import towns_answer, where_answer
from siteplan.land.errors import InputError


def test_a_typed_place_with_the_town_beside_it():
    answer = where_answer({"text": "41°21'N 92°12'W"}, units="imperial")
    assert (answer["latitude"], answer["longitude"], answer["timezone"]) == (41.35, -92.2, "America/Chicago")
    assert answer["said"] == [
        "Read as 41.35° N, 92.2° W.",
        "The next larger town is Ottumwa, IA, United States, 25 miles to the southwest.",
        "Its clocks are those of America/Chicago.",
    ]
    json.dumps(answer)


def test_a_lost_minus_is_seen_by_its_town():
    said = " ".join(where_answer({"text": "41.35, 92.2"}, units="metric")["said"])
    assert "China" in said
    assert "Asia/" in said


def test_a_place_at_sea_has_no_clock_and_nought_is_told():
    said = " ".join(where_answer({"text": "0.0, 0.0"}, units="metric")["said"])
    assert "open sea" in said
    assert "clocks" not in said


@pytest.mark.parametrize(
    "values", [{}, {"text": 5}, {"text": ""}, {"text": None}, {"text": ["41"]}, {"text": "x" * 5000}]
)
def test_what_is_no_text(values):
    with pytest.raises(InputError, match="text"):
        where_answer(values, units="metric")


def test_an_unread_place_is_told_with_an_example():
    with pytest.raises(InputError, match=r"text: '41.352' is not two numbers.*write it as"):
        where_answer({"text": "41.352"}, units="metric")


def test_towns():
    answer = towns_answer("Des M")
    assert answer["towns"][0] == {
        "name": "Des Moines", "region": "IA", "country": "United States", "latitude": 41.6, "longitude": -93.61,
    }  # fmt: skip
    assert "GeoNames" in answer["credit"]
    assert answer["said"] == []


def test_no_town_is_told_and_nothing_typed_is_not():
    assert "15,000 people" in towns_answer("zzzz")["said"][0]
    assert towns_answer("") == {"towns": [], "said": [], "credit": towns_answer("")["credit"]}
    with pytest.raises(InputError, match="q: is None"):
        towns_answer(None)
