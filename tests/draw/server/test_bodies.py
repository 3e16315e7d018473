"""What a request says is read only as far as it is sound and small."""

from __future__ import annotations

import contextlib
import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from siteplan.draw.bodies import DEEPEST, json_object
from siteplan.land.errors import InputError

SOUND = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(10**9), 10**9)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(), inner, max_size=3),
    max_leaves=20,
)


@given(st.dictionaries(st.text(), SOUND, max_size=4))
def test_a_sound_object_comes_through_as_it_is(value):
    assert json_object(json.dumps(value).encode()) == value


@pytest.mark.parametrize(
    ("content", "why"),
    [
        (b"", "no JSON"),
        (b"{", "no JSON"),
        (b"[]", "must be a JSON object"),
        (b'"a"', "must be a JSON object"),
        (b'{"a": NaN}', "NaN is not a number"),
        (b'{"a": -Infinity}', "-Infinity is not a number"),
        (b'{"a": 1e999}', "too large a number"),
        (b'{"a": ' + b"9" * 6000 + b"}", "no JSON"),
        (b'{"a": "\xff"}', "not UTF-8"),
        (b'{"a":' * (DEEPEST + 1) + b"1" + b"}" * (DEEPEST + 1), "nested more than"),
        (b'{"a":' + b"[" * 200_000, "nested more than"),
    ],
)
def test_what_is_unsound_is_refused_in_words(content, why):
    with pytest.raises(InputError, match=why):
        json_object(content)


@given(st.binary(max_size=300))
def test_any_bytes_are_read_or_refused(content):
    with contextlib.suppress(InputError):
        assert isinstance(json_object(content), dict)
