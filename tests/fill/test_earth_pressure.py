"""Pressure on ground and walls, by hand and by law."""

from __future__ import annotations

import math

import pytest

from siteplan.fill.earth_pressure import active_coefficient, brace_spacing, ground_pressure, wall_load


def test_ground_pressure_by_hand():
    assert ground_pressure(500, 1.0) == pytest.approx(4903.325)  # 500 kg x 9.80665 m/s2 on 1 m2


def test_thrust_grows_with_the_square_of_the_height():
    low, high = wall_load(0.3, 1500), wall_load(0.6, 1500)
    assert high.thrust == pytest.approx(4 * low.thrust)
    assert high.base_pressure == pytest.approx(2 * low.base_pressure)


def test_steeper_fill_pushes_less():
    coefficients = [active_coefficient(angle) for angle in range(0, 90, 5)]
    assert coefficients == sorted(coefficients, reverse=True)
    for angle in (10, 25, 40):  # the other form of the same formula
        other = math.tan(math.radians(45 - angle / 2)) ** 2
        assert active_coefficient(angle) == pytest.approx(other, rel=1e-12)


@pytest.mark.parametrize("angle", [-1, 90, float("nan")])
def test_an_angle_that_cannot_be_is_refused(angle):
    with pytest.raises(ValueError, match="friction angle"):
        active_coefficient(angle)


def test_braces_stand_closer_in_higher_walls():
    # common practice, no source: 4 ft up to about 12 in, 3 ft at 18 to 24 in
    assert brace_spacing(0.2) == 1.2
    assert brace_spacing(0.6) == 0.9
    spacings = [brace_spacing(height / 100) for height in range(5, 100)]
    assert spacings == sorted(spacings, reverse=True)
