"""Ranges and causes of doubt from draws that are made by hand, without a lookup."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from siteplan.doubts import seeded_draws
from siteplan.sun.doubt import doubt
from siteplan.sun.doubt.doubt import SunDraws, _alone, sun_doubts, sun_in_draws
from siteplan.sun.doubt.figures import Figure


def figures(count):
    """Return heights whose quantile is about as much as the share: a triangle from 0 to 1."""
    return tuple(
        Figure(owner=f"f{k}", kind="tree", name="height", value=0.5, low=0.0, high=1.0, how="laser")
        for k in range(count)
    )


def doubts(weights, *, given=6.0, needs=(6.0,), shift=0.0, ends=None):
    """Return the doubt of one spot whose sun is a sum of shares, each less a half and with a weight."""
    weights = np.array(weights, dtype=float)
    shares = seeded_draws(len(weights), draws=64)
    drawn = np.zeros((64, 1, 13))
    drawn[:, 0, 12] = (shares - 0.5) @ weights + shift
    drawn[:, 0, 3] = 0.5 * drawn[:, 0, 12]
    alone = np.outer(weights, [-0.4, 0.4])[:, :, None] if ends is None else np.array(ends, dtype=float)[:, :, None]
    scene = SimpleNamespace(figures=figures(len(weights)), spots=[None])
    hours = np.full((1, 13), given)
    hours[0, 1] = given + 1  # the months have hours of their own
    (found,) = sun_doubts(scene, SunDraws(drawn, [], [], alone), shares, hours_as_drawn=hours, needs=needs)
    return found, drawn[:, 0, 12]


def test_the_range_is_that_of_the_draws_around_the_plan():
    found, drawn = doubts([2.0])
    ordered = np.sort(6 + drawn)
    # 64 draws: a tenth of 63 steps is 6.3
    assert found.season_low_h == pytest.approx(ordered[6] + 0.3 * (ordered[7] - ordered[6]))
    assert found.season_high_h == pytest.approx(ordered[56] + 0.7 * (ordered[57] - ordered[56]))
    assert found.month_low_h[3] == pytest.approx(6 + (found.season_low_h - 6) / 2)
    assert found.month_high_h[3] == pytest.approx(6 + (found.season_high_h - 6) / 2)
    assert (found.month_low_h[4], found.month_high_h[4]) == (6.0, 6.0)
    assert found.month_low_h.shape == found.month_high_h.shape == (12,)
    assert found.month_low_h[1] == 7.0
    assert found.season_h == pytest.approx(6 + drawn)


def test_no_draw_has_less_sun_than_none():
    found, drawn = doubts([2.0], given=0.5)
    assert found.season_h == pytest.approx(np.maximum(0.5 + drawn, 0))
    assert found.season_low_h == 0.0
    (cause,) = found.causes
    assert (cause.low_h, cause.high_h) == pytest.approx((0.0, 1.3))
    (cause,) = doubts([2.0], given=0.1)[0].causes
    assert (cause.low_h, cause.high_h) == pytest.approx((0.0, 0.9))


@pytest.mark.parametrize("need", [5.2, 6.0, 6.7])
def test_how_often_it_is_enough(need):
    found, drawn = doubts([2.0], needs=[need])
    assert found.enough == np.mean(6 + drawn >= need)
    exact, _ = doubts([0.0], needs=[6.0])
    assert exact.enough == 1.0


def test_the_causes_in_order_with_their_shares():
    found, _ = doubts([1.0, 3.0, 0.5, 2.0])
    assert [cause.feature for cause in found.causes] == ["f1", "f3", "f0"]  # at most three
    whole = 1 + 9 + 0.25 + 4
    assert [cause.share for cause in found.causes] == pytest.approx([9 / whole, 4 / whole, 1 / whole], abs=1e-3)
    assert [(cause.low_h, cause.high_h) for cause in found.causes] == [
        pytest.approx((4.8, 7.2)), pytest.approx((5.2, 6.8)), pytest.approx((5.6, 6.4)),
    ]  # fmt: skip
    assert {(cause.kind, cause.figure, cause.how) for cause in found.causes} == {("tree", "height", "laser")}
    two, _ = doubts([3.0, 2.0])
    assert [cause.share for cause in two.causes] == pytest.approx([9 / 13, 4 / 13], abs=1e-3)


@pytest.mark.parametrize(("weight", "told"), [(0.18, False), (0.19, True)])
def test_a_figure_that_changes_little_is_no_cause(weight, told):
    """Between its quantiles of a tenth and nine tenths: 0.144 and 0.152 h of 0.15."""
    found, _ = doubts([weight])
    assert bool(found.causes) is told


def test_only_figures_that_were_looked_up_both_ways_are_causes():
    found, _ = doubts([2.0, 3.0], ends=[[-0.8, 0.8], [np.nan, 1.2]])
    assert [cause.feature for cause in found.causes] == ["f0"]
    assert found.causes[0].share == pytest.approx(4 / 13, abs=0.05)  # the other's 9 parts are not explained
    none, _ = doubts([2.0], ends=[[np.nan, 0.8]])
    assert none.causes == ()
    assert doubts([2.0], ends=[[0.8, -0.8]])[0].causes[0].low_h == pytest.approx(5.2)  # taller is darker


def test_the_seven_widest_figures_share_the_variance():
    found, _ = doubts([1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 5.0], ends=[[-0.4, 0.4]] * 8 + [[-2.0, 2.0]])
    assert found.causes[0].feature == "f8"
    assert {cause.feature for cause in found.causes[1:]} <= {f"f{k}" for k in range(6)}  # of equals the first six
    assert found.causes[0].share == pytest.approx(25 / 33, abs=0.1)


def season(hours, cells=()):
    """Return hours of which only the season's, the last, are as given, on so many cells; each month has one."""
    return np.concatenate([np.full((12, *cells), 1.0), np.full((1, *cells), hours)])


class Scene:
    """Figures that take their weight of sun from the second of two spots, and half of it from the first."""

    def __init__(self, weights):
        self.weights, self.figures, self.spots = weights, figures(len(weights)), [0, 1]
        self.asked = []

    def spots_in_reach(self, owner):
        return [1] if owner == "f0" else [0, 1]

    def cell_hours_changing(self, number, value, reached):
        self.asked.append((number, round(value, 3)))
        return [season(5.0 + (1 + spot) * self.weights[number] * (value - 0.5)) for spot in reached]


def test_each_figure_alone(monkeypatch):
    """Quantiles of the triangle from 0 to 1: 0.224 below a tenth of it, 0.776 below nine tenths."""
    monkeypatch.setattr(doubt, "mean_hours", lambda spot, hours: hours)  # noqa: ARG005
    scene, told = Scene([4.0, 1.0, 2.0, 3.0, 5.0, 6.0, 7.0, 8.0, 0.5]), []
    found = _alone(scene, np.full(2, 5.0), told.append)
    assert [one for one in scene.asked if one[1] == 0.776] == [(number, 0.776) for number in range(9)]
    # seven of each spot: of the first, which figure 0 does not reach, without it and the least; of the second without two
    assert sorted(number for number, value in scene.asked if value == 0.224) == [0, 1, 2, 3, 4, 5, 6, 7]
    high = 0.7764 - 0.5
    assert found[:, 1, 1] == pytest.approx(2 * high * np.array(scene.weights), abs=1e-3)
    assert found[0, :, 0].tolist() == [0.0, 0.0]
    assert found[1:8, 0, 0] == pytest.approx(-high * np.array(scene.weights[1:8]), abs=1e-3)
    assert np.isnan(found[8, 0]).all()
    assert told == pytest.approx([0.5 + n / 18 for n in range(1, 10)])


def test_draws_are_told_against_what_is_given(monkeypatch):
    monkeypatch.setattr(doubt, "mean_hours", lambda spot, hours: hours[0].mean(axis=1))  # noqa: ARG005
    scene = Scene([1.0])
    scene.given_values = np.array([0.5])
    scene.values_in_draws = lambda shares: shares
    scene.cell_hours = lambda values: [[season(5.0 + (1 + spot) * values[0], (2,))] for spot in (0, 1)]
    scene.cell_hours_changing = lambda number, value, reached: [[season(5.0, (2,))] for _ in reached]  # noqa: ARG005
    told = []
    drawn = sun_in_draws(scene, np.array([[0.25], [0.75]]), progress=told.append)
    assert told == [0.25, 0.5, 1.0, 1.0]
    assert drawn.hours[:, :, 12].tolist() == [[-0.25, -0.5], [0.25, 0.5]]
    assert [cells.tolist() for cells in drawn.cells_given] == [[5.5, 5.5], [6.0, 6.0]]
    assert drawn.cells[1][1].tolist() == [6.5, 6.5]
    assert drawn.alone.tolist() == [[[0.0, -1.0], [0.0, -1.0]]]  # 5 h instead of 6; the first spot is out of reach
    scene.figures = ()
    still = sun_in_draws(scene, np.array([[0.25], [0.75]]))  # nothing is uncertain
    assert (still.hours == 0).all()
