"""Pressure on ground and walls, by hand and by law."""

from __future__ import annotations

import math

import pytest

from siteplan.fill.earth_pressure import (
    Surcharge,
    active_coefficient,
    brace_spacing,
    even_spans,
    ground_pressure,
    wall_load,
)


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


@pytest.mark.parametrize(
    ("height", "spacing"), [(0.3, 1.2), (0.301, 1.198), (0.35, 1.1), (0.44, 0.92), (0.45, 0.9), (0.9, 0.9)]
)
def test_the_spacing_between_one_foot_and_a_foot_and_a_half(height, spacing):
    assert brace_spacing(height) == pytest.approx(spacing, abs=1e-9)


@pytest.mark.parametrize(("length", "height", "spans"), [
    (1.26, 0.3, 1), (1.2601, 0.3, 2), (2.52, 0.3, 2), (2.53, 0.3, 3), (0.945, 0.5, 1), (0.946, 0.5, 2), (0.0, 0.3, 1),
])  # fmt: skip
def test_a_span_is_at_most_a_twentieth_longer_than_the_spacing(length, height, spans):
    # 1.05 x 1.2 m up to 0.3 m of height, 1.05 x 0.9 m from 0.45 m on
    assert even_spans(length, height) == spans


def test_a_load_behind_a_wall_is_felt_below_a_plane_of_sixty_degrees():
    # d tan 60: 0.1 m behind it 0.1732 m down; of 6000 Pa a third is felt from there to the foot
    load = Surcharge(pressure=6000.0, distance=0.1)
    assert load.depth == pytest.approx(0.17321, abs=1e-5)
    assert (load.reaches(0.174), load.reaches(0.173)) == (True, False)
    alone, with_load = wall_load(0.4, 1500), wall_load(0.4, 1500, above=[load, Surcharge(pressure=9e9, distance=0.3)])
    assert with_load.base_pressure - alone.base_pressure == pytest.approx(2000)
    assert with_load.thrust - alone.thrust == pytest.approx(2000 * (0.4 - 0.17321), abs=0.1)
