"""Between the steps of a path: by numpy's own parabolas through three points, and by hand."""

from __future__ import annotations

import numpy as np
import pytest

from siteplan.sun.path.fine_path import FARTHEST, PARTS, finer

from ..skies import path_of

TIME = [10.0, 10.5, 11.0, 34.0, 34.5, 35.0, 35.4]
PATH = path_of(TIME, [150, 160, 171, 151, 161, 172, 181], [30, 33, 34, 31, 34, 35, 34.5], [0.5] * 6 + [0.3])


def test_each_part_lies_between_the_three_steps_nearest_to_it():
    fine = finer(PATH)
    assert PARTS == 6
    assert fine.middle.reshape(7, 6).tolist() == [[k] * 6 for k in (1, 1, 1, 4, 4, 5, 5)]  # never across the night
    assert fine.time[:6] == pytest.approx([10 + 0.5 * (k - 2.5) / 6 for k in range(6)])
    assert fine.time[-6:] == pytest.approx([35.4 + 0.3 * (k - 2.5) / 6 for k in range(6)])
    assert fine.hours.tolist() == pytest.approx([0.5 / 6] * 36 + [0.3 / 6] * 6)
    assert fine.day.tolist() == [1] * 18 + [2] * 24
    assert fine.path is PATH


def on_parabola(path, middle, time):
    """Return azimuth and elevation by numpy's polynomials through three points of the unit sphere."""
    three = slice(middle - 1, middle + 2)
    up, bearing = np.radians(path.elevation[three]), np.radians(path.azimuth[three])
    parts = (np.cos(up) * np.sin(bearing), np.cos(up) * np.cos(bearing), np.sin(up))
    at = path.time[middle]
    east, north, high = (np.polyval(np.polyfit(path.time[three] - at, part, 2), time - at) for part in parts)
    return np.degrees(np.arctan2(east, north)) % 360, np.degrees(
        np.arctan2(np.maximum(high, 0), np.hypot(east, north))
    )


@pytest.mark.parametrize("path", [
    PATH, path_of(TIME[:3], [350, 2, 14], [40, 41, 40]),  # a noon in the north
    path_of([5, 6, 7], [80, 95, 110], [2, 12, 22], 1.0),
], ids=["two days", "north", "long steps"])  # fmt: skip
def test_positions_are_on_the_parabola_through_three_steps(path):
    fine = finer(path)
    for middle, time, azimuth, elevation in zip(fine.middle, fine.time, fine.azimuth, fine.elevation, strict=True):
        assert (azimuth, elevation) == pytest.approx(on_parabola(path, middle, time), abs=1e-9)


def test_the_sun_never_stands_below_the_horizon():
    assert finer(path_of([5.0, 5.5, 6.0], [80, 86, 92], [0.0, 1.0, 6.0])).elevation.min() == 0.0


@pytest.mark.parametrize(("time", "hours", "follows"), [
    ([10.0, 10.5], 0.5, False),  # two steps are no parabola
    ([10.0, 10.5, 34.0, 34.5, 35.0], 0.5, False),  # nor are those of the first day
    ([10.0, 10.5, 11.0], 0.5, True),
    ([10.0, 10.5009, 11.0], 0.5, True),  # 3.2 s apart
    ([10.0, 10.502, 11.004], 0.5, False),
    ([], 0.5, False),
])  # fmt: skip
def test_steps_that_do_not_follow_each_other_are_not_divided(time, hours, follows):
    path = path_of(time, 180.0, 30.0, hours)
    fine = finer(path)
    assert len(fine.time) == len(time) * (PARTS if follows else 1)
    if not follows:
        assert len(fine.middle) == 0
        assert fine.time is path.time
        assert fine.elevation_towards(path.azimuth) is path.elevation


@pytest.mark.parametrize("wait", [-0.04, 0.0, 0.02, 0.04])
@pytest.mark.parametrize("start", [150.0, 350.0])
def test_the_elevation_where_the_sun_passes_an_azimuth(wait, start):
    """Forty degrees an hour: by the parabola's own positions a little earlier or later."""
    path = path_of([10.0, 10.5, 11.0], [start, start + 20, start + 40], [30, 40, 45])
    fine = finer(path)
    azimuth, elevation = on_parabola(path, 1, fine.time + wait)
    assert fine.elevation_towards(azimuth) == pytest.approx(elevation, abs=0.01)  # in 0.04 h it rises by a degree
    assert wait == 0 or np.abs(elevation - fine.elevation).mean() > 0.1


def test_what_the_sun_passes_much_later_takes_no_other_elevation():
    path = path_of([10.0, 10.5, 11.0], [150, 170, 190], [30, 40, 45])
    fine = finer(path)
    assert FARTHEST == 0.05
    far = on_parabola(path, 1, fine.time + 0.06)[0]
    assert fine.elevation_towards(far) == pytest.approx(fine.elevation, abs=1e-12)
    slow = path_of([10.0, 10.5, 11.0], [150, 150.4, 150.8], [30, 40, 45])  # less than a degree an hour
    assert finer(slow).elevation_towards(finer(slow).azimuth + 0.01) == pytest.approx(
        finer(slow).elevation, abs=1e-12
    )
    still = path_of([10.0, 10.5, 11.0], 150, [30, 40, 45])
    assert finer(still).elevation_towards(finer(still).azimuth + 0.01) == pytest.approx(
        finer(still).elevation, abs=1e-12
    )
