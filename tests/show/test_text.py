"""The door: what goes through it is text, in HTML, in a script and in a template."""

from __future__ import annotations

import html
import json
import re

import jinja2
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from siteplan.say.safe_text import LONGEST, page_text, plain_text, script_data
from siteplan.show.page_parts import templates


@pytest.mark.parametrize("value", ["<b>", "{{7*7}}", "{% raw %}", "`${x}`", "a\\b", "\"'", "\u2028"])
def test_no_character_that_could_be_a_command_is_left(value):
    assert not re.search("[<>\"'{}`\\\\\u2028\u2029]", page_text(value))


@given(st.text(max_size=60))
@settings(deadline=None, max_examples=200)
def test_a_reader_sees_the_very_text(value):
    # html.unescape is Python's own reading of entities, by the HTML standard
    assert html.unescape(str(page_text(value))) == plain_text(value)


@given(st.text(max_size=60))
@settings(deadline=None, max_examples=200)
def test_text_survives_a_second_template(value):
    once = f"<p>{page_text(value)}</p>"
    assert jinja2.Template(once, autoescape=False).render() == once


@given(st.recursive(st.text(max_size=20) | st.integers() | st.booleans() | st.none(), lambda held: st.lists(held, max_size=3)
                    | st.dictionaries(st.text(max_size=8), held, max_size=3), max_leaves=8))  # fmt: skip
@settings(deadline=None, max_examples=200)
def test_script_data_is_the_same_data_and_no_template(data):
    written = script_data({"held": data})
    assert not re.search("[<>&`']|\\{\\{|\\{%|\\{#", written)
    assert jinja2.Template(written).render() == written

    def plain(value):
        if isinstance(value, str):
            return plain_text(value)
        if isinstance(value, list):
            return [plain(held) for held in value]
        if isinstance(value, dict):
            return {plain_text(key): plain(held) for key, held in value.items()}
        return value

    assert json.loads(written) == {"held": plain(data)}


def test_data_refuses_what_json_has_no_word_for():
    with pytest.raises(ValueError, match="JSON"):
        script_data({"hours": float("nan")})


def test_long_text_is_cut_and_control_characters_are_shown_as_lost():
    assert len(plain_text("x" * 10_000)) == LONGEST
    assert plain_text("a\x00b\x1bc\ud800d") == "a\ufffdb\ufffdc\ufffdd"


def test_direction_overrides_cannot_turn_what_follows():
    assert plain_text("\u202eabc\u2066") == "abc"


def test_templates_escape_by_themselves():
    template = templates().from_string("<p>{{ name }}</p>")
    assert template.render(name="<i>{{7*7}}</i>") == "<p>&lt;i&gt;&#123;&#123;7*7&#125;&#125;&lt;/i&gt;</p>"


def test_a_template_without_its_value_is_an_error():
    with pytest.raises(jinja2.UndefinedError):
        templates().from_string("{{ nothing }}").render()
