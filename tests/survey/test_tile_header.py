"""Days of a survey, and the header of a file that is cut off."""

from __future__ import annotations

import datetime as dt
import math
from contextlib import contextmanager
from types import SimpleNamespace

import pytest

from siteplan.files.survey import tile_header
from siteplan.files.survey.tile_header import gps_day, laspy_header

DAY = 86_400.0


@pytest.mark.parametrize(("days", "day"), [
    # days since 6 January 1980; times are told less a thousand million seconds
    (0, None), (3647, None), (3648, dt.date(1990, 1, 1)),  # ten years with 3 leap days are 3653, less 5
    (7300, dt.date(2000, 1, 1)),  # twenty years with 5 leap days are 7305, less 5
    (43_825, dt.date(2100, 1, 1)),  # 120 years with 30 leap days are 43,830, less 5
    (43_826, None),
])  # fmt: skip
def test_days_of_surveys_lie_between_1990_and_2100(days, day):
    assert gps_day(days * DAY - 1e9) == day
    assert gps_day(days * DAY - 1e9 + DAY - 1) == day  # its last second


@pytest.mark.parametrize("seconds", [math.nan, math.inf, -math.inf, 2e10, -2e10, 1e300])
def test_times_that_are_none_have_no_day(seconds):
    assert gps_day(seconds) is None


@pytest.mark.parametrize(("size", "sound"), [(374, False), (375, True), (4000, True)])
def test_a_file_ends_after_its_header(tmp_path, monkeypatch, size, sound):
    """A header of 375 bytes, as that of LAS 1.4, and then the points."""
    header = SimpleNamespace(offset_to_point_data=375)

    @contextmanager
    def opened(_):
        yield SimpleNamespace(header=header)

    monkeypatch.setattr(tile_header, "_open", opened)
    file = tmp_path / "tile.las"
    file.write_bytes(bytes(size))
    if sound:
        assert laspy_header(file) is header
    else:
        with pytest.raises(ValueError, match="it is cut off, or damaged"):
            laspy_header(file)
