"""Whatever a request holds, it is answered or refused in words."""

from __future__ import annotations

import json

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from siteplan.draw.backdrop_answers import backdrop_answer, place_answer
from siteplan.draw.measure_answers import PropertyPosition, height_answer, north_answer
from siteplan.draw.plane import Plane
from siteplan.draw.where_answers import towns_answer, where_answer
from siteplan.files.backdrop.picture import from_pixels
from siteplan.land.errors import InputError

HERE = PropertyPosition(41.352, -92.204, "America/Chicago")
PICTURE = from_pixels(np.full((40, 60, 3), 90, dtype=np.uint8), photo=False).content
NUMBERS = st.one_of(
    st.integers(-(10**400), 10**400), st.floats(allow_nan=False, allow_infinity=False), st.integers(-90, 90)
)
SCALARS = st.one_of(
    st.none(),
    st.booleans(),
    NUMBERS,
    st.text(max_size=20),
    st.sampled_from(["12 ft 6 in", "45", "3:30 pm", "2026-06-21"]),
)
VALUES = st.one_of(
    SCALARS,
    st.lists(SCALARS, max_size=4),
    st.lists(st.lists(NUMBERS, min_size=2, max_size=2), max_size=5),
    st.dictionaries(st.text(max_size=3), SCALARS, max_size=2),
)
KEYS = (
    "way", "line", "direction", "reading", "reading_doubt", "date", "time", "bearing", "doubt", "distance", "angle", "eye_height",
    "foot_angle", "shadow", "stick", "stick_shadow", "text", "pixels", "points", "strength", "under_map", "remove",
)  # fmt: skip
WAYS = st.sampled_from(["compass", "shadow", "street", "typed", "angle", "stick"])


def requests():
    return st.tuples(st.dictionaries(st.sampled_from(KEYS), VALUES, max_size=8), st.one_of(st.none(), WAYS)).map(
        lambda pair: pair[0] | ({} if pair[1] is None else {"way": pair[1]})
    )


def answered(ask, *args, **how) -> None:
    try:
        found = ask(*args, **how)
    except InputError as error:
        assert all(fault.text for fault in error.faults)  # noqa: PT017  # either way is right
    else:
        json.dumps(found, allow_nan=False)


@settings(max_examples=150, deadline=None, database=None)
@given(requests())
def test_where_north_and_height(values):
    answered(where_answer, values, units="metric")
    answered(towns_answer, values.get("text"))
    answered(north_answer, values, HERE)
    answered(height_answer, values, HERE)


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("site")


@settings(max_examples=80, deadline=None, database=None)
@given(
    requests(),
    st.one_of(st.none(), st.lists(st.tuples(st.floats(-50, 50), st.floats(-50, 50)), min_size=2, max_size=5)),
)
def test_a_backdrop(folder, values, points):
    if not (folder / "backdrop.json").exists():
        backdrop_answer(PICTURE, "a.png", folder, Plane(), units="metric")
    if points is not None:  # as many of both, so that they are laid somehow
        values = values | {
            "points": [list(one) for one in points],
            "pixels": [[7 * n, n * n] for n in range(len(points))],
        }
    answered(place_answer, values, folder, Plane(), units="metric")


@settings(max_examples=60, deadline=None, database=None)
@given(st.binary(max_size=300), st.text(max_size=40))
def test_a_file_of_any_bytes_and_name(folder, content, name):
    answered(backdrop_answer, content, name, folder, Plane(), units="metric")
