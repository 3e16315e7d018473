"""Times, shares, headings and volumes in words, at their bounds; where north is and where no shadow falls. By hand."""

from __future__ import annotations

import pytest
from markupsafe import Markup

from siteplan.land.north import North
from siteplan.say.figures import heading_text, money_text, plural, push_text, share_text, time_text, volume_among
from siteplan.say.measuring import bearing_sentence, no_shadow_text
from siteplan.say.safe_text import page_text, script_data, sentence
from siteplan.say.whereabouts import clock_sentence, no_town_sentence
from siteplan.sun.shadows import Shadow


@pytest.mark.parametrize(("minutes", "text"), [
    (0.4, "0 min"), (59.4, "59 min"), (59.6, "1 h"), (61.0, "1 h 1 min"), (120.0, "2 h"), (float("inf"), "no way in"),
])  # fmt: skip
def test_times(minutes, text):
    assert time_text(minutes) == text


@pytest.mark.parametrize(("share", "text"), [
    (0.0, "0 %"), (0.0001, "under 1 %"), (0.0049, "under 1 %"), (0.005, "under 1 %"), (0.0052, "1 %"), (0.5, "50 %"), (1.0, "100 %"), (-0.2, "-20 %"),
])  # fmt: skip
def test_shares(share, text):
    assert share_text(share) == text


@pytest.mark.parametrize(("heading", "words"), [
    (22, "north–south"), (23, "northeast–southwest"), (67, "northeast–southwest"), (68, "east–west"), (112, "east–west"),
    (113, "southeast–northwest"), (157, "southeast–northwest"), (158, "north–south"), (180, "north–south"),
])  # fmt: skip
def test_a_heading_is_named_by_the_nearest_of_four(heading, words):
    # halfway between two of them lie 22.5, 67.5, 112.5 and 157.5 degrees
    assert heading_text(heading) == f"{words} ({heading}°)"


@pytest.mark.parametrize(("volume", "among", "units", "text"), [
    (0.2, [0.499], "metric", "200 L"), (0.2, [0.5], "metric", "0.20 m³"), (0.6, [], "metric", "0.60 m³"), (0.2, [], "metric", "200 L"),
    # a cubic foot is 0.0283168 m3, a yard 0.764555 m3
    (0.28317, [], "imperial", "10.0 ft³"), (0.28317, [0.764555], "imperial", "0.37 yd³"), (0.28317, [0.764], "imperial", "10.0 ft³"),
])  # fmt: skip
def test_volumes_of_one_table_have_one_unit(volume, among, units, text):
    assert volume_among(volume, among, units) == text


def test_money_counts_and_pushes():
    assert [money_text(one, "GBP") for one in (0.0, -2.5, float("nan"), float("inf"))] == [
        "£0.00",
        "£-2.50",
        "—",
        "—",
    ]
    assert [plural(count, "bag") for count in (0, 1, 2, 1500)] == ["0 bags", "1 bag", "2 bags", "1,500 bags"]
    # 1000 N/m are 101.97 kg, and 68.5 lb on a foot: 1000 x 0.3048 / 4.44822
    assert push_text(1000, "metric") == "as hard as the weight of 100 kg on each metre"
    assert push_text(1000, "imperial") == "with about 69 lb on each foot"


@pytest.mark.parametrize(
    ("doubt", "told"), [(0.0, ""), (0.049, ""), (0.05, ", give or take 0.1°"), (0.052, ", give or take 0.1°")]
)
def test_how_sure_north_is(doubt, told):
    assert (
        bearing_sentence(North(bearing=225.0, doubt=doubt))
        == f"Up the plan is 225.0° from true north (southwest){told}."
    )


def test_a_moment_without_a_shadow():
    night = Shadow(azimuth=2.0, elevation=-12.4, turn_rate=0.0, rise_rate=0.0, doubt=2.0, state="low")
    assert (
        no_shadow_text(night)
        == "then the sun stood 12° below the horizon; check the day, the time (am or pm) and the place"
    )


def test_towns_and_clocks():
    assert no_town_sentence() == (
        "No town of 15,000 people or more begins so. A larger one nearby will do: over 15 km (10 miles) the sun's day changes "
        "by a minute or so. Or type latitude and longitude."
    )
    assert clock_sentence("Asia/Aden") == "Its clocks are those of Asia/Aden."


def test_text_of_a_page():
    assert page_text(None) == Markup("")
    assert isinstance(page_text(None), Markup)
    assert page_text('"it\'s"') == "&quot;it&#x27;s&quot;"
    assert page_text("x" * 5, longest=4) == "xxx…"


def test_data_of_a_script():
    assert script_data({"a": [1, None, True, 2.5, ("b",)]}) == '{"a":[1,null,true,2.5,["b"]]}'
    for number in (float("nan"), float("inf")):
        with pytest.raises(ValueError, match="not JSON compliant"):
            script_data([number])


@pytest.mark.parametrize(("words", "text"), [
    (" it is ", "It is."), ("Is it?", "Is it?"), ("a", "A."), ("No!", "No!"), ("   ", ""), ("iT is", "IT is."),
])  # fmt: skip
def test_a_sentence_ends_with_its_mark(words, text):
    assert sentence(words) == text
