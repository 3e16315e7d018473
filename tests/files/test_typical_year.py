"""What is done with the hours of a weather file, by hand: in order, cleaned, filled, and checked against the sun."""

from __future__ import annotations

import numpy as np
import pytest

from siteplan.files.remarks import Remarks
from siteplan.files.weather import typical_year as typical_year_module
from siteplan.files.weather.typical_year import (
    HourlyRows,
    _check_sum,
    _cleaned,
    _complete,
    _filled,
    _middle,
    _rows,
    best_move,
    sine_of_height,
    typical_year,
)

LATITUDE, LONGITUDE = 45.0, 8.0
LENGTHS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
CALENDAR = [(m, d, h) for m, days in enumerate(LENGTHS, 1) for d in range(1, days + 1) for h in range(24)]
nan, inf = np.nan, np.inf


def rows(when=CALENDAR, radiation=(), *, middle=0.5, zone=0.0):
    """Return rows at months, days and hours, with total, direct and diffuse radiation or none."""
    month, day, hour = np.array(when).T
    parts = [np.asarray(one, dtype=float) for one in radiation] or [np.zeros(len(month))] * 3
    return HourlyRows(
        month=month, day=day, hour=hour, total=parts[0], direct=parts[1], diffuse=parts[2], middle=middle, zone=zone
    )


def said(remarks):
    """Return the texts of faults, and those of cautions after their codes."""
    return [f"{one.where}: {one.text}" for one in remarks.faults] + [
        f"{one.code}: {one.text}" for one in remarks.cautions
    ]


def sun(middle=0.5):
    return sine_of_height(np.arange(8760) + middle, LATITUDE, LONGITUDE)


@pytest.mark.parametrize(
    ("when", "hour"),
    [
        ((1, 1, 0), 0),
        ((1, 1, 23), 23),
        ((1, 31, 0), 720),
        ((2, 28, 23), 1415),
        ((3, 1, 5), 1421),
        ((12, 31, 23), 8759),
    ],
)
def test_each_row_has_its_hour_of_the_year(when, hour):
    remarks = Remarks()
    assert _rows(rows([when]), "a.csv", remarks).tolist() == [hour]
    assert said(remarks) == []


def test_the_29_february_is_left_out():
    remarks = Remarks()
    assert _rows(rows([(2, 28, 23), (2, 29, 0), (2, 29, 1), (3, 1, 0)]), "a.csv", remarks).tolist() == [
        1415, -1, -1, 1416,
    ]  # fmt: skip
    assert said(remarks) == [
        "weather-leap-year: a.csv has 4 hours, those of a leap year; its 29 February is left out."
    ]


@pytest.mark.parametrize(
    "when",
    [
        (0, 1, 1),
        (13, 1, 1),
        (1, 0, 1),
        (1, 32, 1),
        (4, 31, 1),
        (2, 30, 1),
        (3, 29, -1),
        (1, 1, 24),
        (2, 29, 24),
        (12, 32, 1),
    ],
)
def test_a_row_of_no_day_or_hour(when):
    remarks = Remarks()
    assert _rows(rows([(1, 1, 0), when, (1, 1, 1)]), "a.csv", remarks) is None
    month, day, hour = when
    assert said(remarks) == [
        f"row 2 of its hours: is month {month}, day {day}, hour {hour + 1}, which no year has; mend or drop it"
    ]


def test_the_first_hour_of_the_year_twice():
    remarks = Remarks()
    assert _rows(rows([(1, 1, 0), (1, 1, 0)]), "a.csv", remarks) is None
    assert said(remarks)[0].startswith("row 2 of its hours: is month 1, day 1, hour 1 again; a typical year")


@pytest.mark.parametrize(("more", "told"), [(0, ""), (1, " (and so 1 more)"), (2, " (and so 2 more)")])
def test_several_rows_of_no_day(more, told):
    remarks = Remarks()
    assert _rows(rows([(1, 1, 0)] + [(0, 1, 4)] * (more + 1)), "a.csv", remarks) is None
    assert said(remarks) == [
        f"row 2 of its hours: is month 0, day 1, hour 5{told}, which no year has; mend or drop it"
    ]


@pytest.mark.parametrize(
    ("again", "told"),
    [
        ([(1, 2, 4)], ""),
        ([(1, 2, 4), (1, 2, 4)], " (and so 1 more)"),
        ([(1, 2, 5), (1, 2, 4)], " (and so 1 more)"),
    ],
)
def test_a_row_that_comes_again(again, told):
    remarks = Remarks()
    assert _rows(rows([(1, 2, 3), (1, 2, 4), (1, 2, 5), *again]), "a.csv", remarks) is None
    number = (
        3 + len(again) if len(set(again)) > 1 else 4
    )  # the second of the first hour of the year that is there twice
    assert said(remarks) == [
        (
            f"row {number} of its hours: is month 1, day 2, hour 5 again{told}; a typical year has each hour once: drop one "
            "of the two"
        )
    ]


def test_what_counts_as_dark_and_what_as_missing():
    remarks = Remarks()
    values = np.array([-30.1, -30.0, -0.51, -0.5, 0.0, 0.4, 8999.9, 9000.0, nan, inf, -inf])
    assert _cleaned(values, "direct", "a.csv", remarks).tolist() == pytest.approx(
        [nan, 0, 0, 0, 0, 0.4, 8999.9, nan, nan, nan, nan], nan_ok=True
    )
    assert said(remarks) == [
        "weather-negative: a.csv has 2 hours of direct radiation a little below 0 W/m2; they count as dark."
    ]
    remarks = Remarks()
    _cleaned(values[3:], "direct", "a.csv", remarks)
    assert said(remarks) == []


def test_a_tenth_of_the_year_may_be_missing():
    year = {key: np.zeros(8760) for key in ("total", "direct", "diffuse")}
    remarks = Remarks()
    assert _complete(year, "a.csv", remarks)
    assert said(remarks) == []
    year["total"][:500] = nan
    year["diffuse"][400:876] = nan
    assert _complete(year, "a.csv", remarks)
    assert said(remarks) == [
        "weather-gaps: a.csv has no radiation in 876 hours; the same hours of the nearest days stand in for them."
    ]
    year["direct"][8000] = nan
    remarks = Remarks()
    assert not _complete(year, "a.csv", remarks)
    assert said(remarks) == [
        (
            ": has no radiation in 877 of 8,760 hours; a typical year must have nearly all of them: take another file, or "
            "leave weather out of site.toml"
        )
    ]


def test_gaps_are_filled_from_the_days_around_also_over_new_year():
    year = np.arange(365.0).repeat(24).reshape(365, 24)  # each hour has the number of its day
    year[[0, 364], 5] = nan  # the first and the last day
    year[100:103, 6] = nan
    year[:, 7] = nan  # an hour that is known on no day
    year[50, [0, 23]] = nan
    filled = _filled(year.ravel()).reshape(365, 24)
    assert filled[[0, 364], 5].tolist() == [182, 182]  # (363 + 1) / 2
    assert filled[100:103, 6].tolist() == [101, 101, 101]  # (99 + 103) / 2
    assert not filled[:, 7].any()
    assert filled[50, [0, 23]].tolist() == [50, 50]
    assert (filled[:, 8] == np.arange(365)).all()
    assert (filled[[99, 103], 6] == [99, 103]).all()


@pytest.mark.parametrize("move", [0.3, -12.7])
def test_light_that_is_early_or_late_is_moved_to_the_sun(move):
    assert best_move(sun(0.5 + move), 0.5, LATITUDE, LONGITUDE) == move


@pytest.fixture
def middle(monkeypatch):
    """Return a reader of the middle of the first hour, for light that fits best when it is moved by so many hours."""

    def look(move, *, stated=0.5, zone=0.0):
        monkeypatch.setattr(typical_year_module, "best_move", lambda *_: move)
        remarks = Remarks()
        hours = rows(middle=stated, zone=zone)
        return _middle(hours, np.zeros(8760), LATITUDE, LONGITUDE, "a.csv", remarks), said(remarks)

    return look


def test_the_middle_of_the_first_hour_is_as_the_file_says(middle):
    for move in (0.0, 0.44, -0.44):  # a rough sun tells no more
        assert middle(move) == (0.5, [])
        assert middle(move, stated=-6.5, zone=7.0) == (-6.5, [])


def test_moments_that_the_file_does_not_say_to_the_minute(middle):
    for move in (0.0, 0.2, 1.0, -1.0):
        assert middle(move, stated=None) == (0.5 + move, [])
        assert middle(move, stated=None, zone=2.0) == (-1.5 + move, [])


@pytest.mark.parametrize(("zone", "move"), [(1.0, 1.44), (1.0, 0.56), (-6.0, -6.0), (5.5, 5.1)])
def test_rows_in_utc_below_a_header_with_a_zone(middle, zone, move):
    got, words = middle(move, stated=0.5 - zone, zone=zone)
    assert got == 0.5 - zone + move
    assert words == [
        (
            f"weather-zone: a.csv says in its header that its clock is {zone:+g} h from UTC, but its light falls as if its "
            "rows were in UTC; they are read so."
        )
    ]


@pytest.mark.parametrize(
    ("stated", "zone", "move", "told"),
    [
        (0.5, 0.0, 0.46, "0.5 h too early"),
        (0.5, 0.0, -3.0, "3.0 h too late"),
        (None, 0.0, 1.1, "1.1 h too early"),
        (None, 0.0, -1.1, "1.1 h too late"),
        (-1.5, 2.0, 5.0, "5.0 h too early"),
        (-0.5, 1.0, 1.46, "1.5 h too early"),
        (-0.5, 1.0, 0.54, "0.5 h too early"),
    ],
)
def test_light_that_no_clock_explains(middle, stated, zone, move, told):
    got, words = middle(move, stated=stated, zone=zone)
    assert got is None
    assert words == [
        (
            f": has its light {told} for the sun at its station (latitude 45, longitude 8, clock {zone:+g} h from UTC); are "
            "its time zone and its longitude right?"
        )
    ]


@pytest.mark.parametrize(
    ("strongest", "part", "sound"), [(49.9, 0, False), (50.0, 1, True), (1600.0, 2, True), (1600.1, 1, False)]
)
def test_radiation_is_in_watts_a_square_metre(monkeypatch, strongest, part, sound):
    monkeypatch.setattr(typical_year_module, "best_move", lambda *_: 0.0)
    height = sun() / sun().max()
    parts = [40 * height] * 3
    parts[part] = strongest * height
    remarks = Remarks()
    year = typical_year(rows(radiation=parts), latitude=45.0, longitude=8.0, file="a.csv", remarks=remarks)
    assert (year is not None) == sound
    if not sound:
        assert said(remarks) == [
            f": has {strongest:g} as its strongest radiation; it must be in W/m2, whose strongest hour is about 1,000"
        ]


def test_a_year_in_any_order_is_put_in_order_without_its_gaps():
    height = sun()
    direct, diffuse = 700 * np.sqrt(height), 300 * height
    total = direct * height + diffuse
    backwards = list(range(8759, -1, -1))
    backwards.remove(4000)
    hours = rows([CALENDAR[k] for k in backwards], [values[backwards] for values in (total, direct, diffuse)])
    remarks = Remarks()
    year = typical_year(hours, latitude=45.0, longitude=8.0, file="a.csv", remarks=remarks)
    for got, values in ((year.total, total), (year.direct, direct), (year.diffuse, diffuse)):
        filled = values.copy()
        filled[4000] = (values[3976] + values[4024]) / 2
        assert got == pytest.approx(filled)
    assert year.middle == 0.5
    assert [one.code for one in remarks.cautions] == ["weather-gaps"]


@pytest.mark.parametrize(
    ("beam", "sky", "told"),
    [(0.0, 0.86, ""), (0.0, 0.84, "84%"), (0.0, 1.14, ""), (0.0, 1.16, "116%"), (0.5, 0.5, ""), (0.5, 0.2, "70%")],
)
def test_direct_and_diffuse_add_up(beam, sky, told):
    height = sun(6.5)
    morning = np.where(np.arange(8760) % 24 < 5, 2.0, 0.0)  # so that another middle of the hours would be seen
    shone = float((morning * height).sum() / height.sum())
    radiation = {"total": 900 * height, "direct": 900 * beam / shone * morning, "diffuse": 900 * sky * height}
    remarks = Remarks()
    _check_sum(radiation, 6.5, LATITUDE, LONGITUDE, "a.csv", remarks)
    words = f"weather-sum: a.csv has direct and diffuse radiation that add up to {told} of the global radiation; "
    assert said(remarks) == ([f"{words}are its columns what they say?"] if told else [])
    _check_sum(radiation | {"total": np.zeros(8760)}, 6.5, LATITUDE, LONGITUDE, "a.csv", again := Remarks())
    assert said(again) == []  # nothing to compare with


def test_the_sun_comes_again_after_a_year():
    hour = np.array([-5.0, 0.0, 11.5, 4000.25, 8759.0])
    assert sine_of_height(hour + 8760, 45.0, 8.0) == pytest.approx(sine_of_height(hour, 45.0, 8.0), abs=1e-12)
