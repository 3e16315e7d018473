"""Days and clock times as they are written, and the nights on which clocks are changed."""

from __future__ import annotations

import datetime as dt

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from siteplan.land.clock import read_clock, read_day, utc_seconds


@pytest.mark.parametrize(("text", "hour", "minute"), [
    ("15:30", 15, 30), ("3:30 pm", 15, 30), ("3.30pm", 15, 30), ("3 p.m.", 15, 0), ("12 am", 0, 0), ("12:30 PM", 12, 30),
    ("15h30", 15, 30), ("07:05:09", 7, 5), (" 0:00 ", 0, 0), ("23:59:59", 23, 59), ("11:59 pm", 23, 59), ("1 AM", 1, 0),
    ("11:00am", 11, 0), ("12 pm", 12, 0), ("12:01 am", 0, 1), ("1:00 p. m.", 13, 0),
])  # fmt: skip
def test_clock_times(text, hour, minute):
    assert (read_clock(text).hour, read_clock(text).minute) == (hour, minute)


def test_seconds_of_a_clock_time():
    assert read_clock("07:05:09") == dt.time(7, 5, 9)
    assert read_clock("7.05.59 pm") == dt.time(19, 5, 59)
    assert read_clock("7:05") == dt.time(7, 5)


def test_the_first_and_the_last_day():
    assert read_day(" 1950-01-01 ") == dt.date(1950, 1, 1)
    assert read_day("2100-12-31") == dt.date(2100, 12, 31)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "15",
        "24:00",
        "25:00",
        "12:60",
        "12:00:60",
        "13 pm",
        "0 am",
        "0:30 pm",
        "noon",
        "1:2",
        "1:00 xm",
        "9" * 100,
        "٣:٣٠",
    ],
)
def test_no_clock_times(text):
    with pytest.raises(ValueError, match="must be a time such as 15:30 or 3:30 pm"):
        read_clock(text)


@pytest.mark.parametrize(
    "text",
    ["", "21.6.2026", "2026-02-30", "1900-01-01", "2026-6-1", "x" * 50, "9999-12-31", "1949-12-31", "2101-01-01"],
)
def test_no_days(text):
    with pytest.raises(ValueError, match="must be a day such as 2026-06-21"):
        read_day(text)


def test_summer_time_counts():
    # by hand: Chicago is 6 h behind UTC in winter, 5 h in summer
    noon = dt.time(12)
    for day, hours in ((dt.date(2026, 1, 15), 18), (dt.date(2026, 7, 15), 17)):
        assert (
            utc_seconds(day, noon, "America/Chicago")
            == dt.datetime(day.year, day.month, day.day, hours, tzinfo=dt.UTC).timestamp()
        )


def test_the_nights_of_change():
    # in 2026 the clocks of Chicago go forward on 8 March at 2:00 and back on 1 November at 2:00
    with pytest.raises(ValueError, match="put forward and never showed it: 02:30"):
        utc_seconds(dt.date(2026, 3, 8), dt.time(2, 30), "America/Chicago")
    with pytest.raises(ValueError, match="put back and showed it twice: 01:30"):
        utc_seconds(dt.date(2026, 11, 1), dt.time(1, 30), "America/Chicago")
    utc_seconds(dt.date(2026, 11, 1), dt.time(2, 0), "America/Chicago")


@settings(max_examples=200, deadline=None, database=None)
@given(st.text(max_size=40))
def test_any_text_is_read_or_refused(text):
    for read in (read_day, read_clock):
        try:
            read(text)
        except ValueError as error:
            assert "must be a" in str(error)  # noqa: PT017  # the words count
