"""First-order shares against published values, SALib and closed forms."""

from __future__ import annotations

import warnings

import numpy as np
import pytest

import siteplan
from siteplan.doubts import seeded_draws
from siteplan.sun.doubt.doubt import sun_doubts, sun_in_draws
from siteplan.sun.doubt.shares import first_order_shares
from siteplan.sun.doubt.uncertain_scene import mean_hours, spot_of, uncertain_scene
from siteplan.sun.engine import sun_engine

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    from SALib.analyze import sobol as salib_sobol
    from SALib.sample import sobol as salib_sample
    from SALib.test_functions import Ishigami

# T. Ishigami and T. Homma 1990, with a = 7, b = 0.1; first-order shares as in A. Saltelli and others, Global
# Sensitivity Analysis: The Primer, 2008 (memory), and from the closed form:
# V = a^2/8 + b pi^4/5 + b^2 pi^8/18 + 1/2, V1 = (1 + b pi^4/5)^2/2, V2 = a^2/8, V3 = 0
_V1, _V2 = 0.5 * (1 + 0.1 * np.pi**4 / 5) ** 2, 49 / 8
_V = 49 / 8 + 0.1 * np.pi**4 / 5 + 0.01 * np.pi**8 / 18 + 0.5
ISHIGAMI = np.array([_V1 / _V, _V2 / _V, 0.0])


def ishigami(points):
    return Ishigami.evaluate((2 * points - 1) * np.pi)


def test_ishigami_by_its_published_shares():
    assert ISHIGAMI.round(4).tolist() == [0.3139, 0.4424, 0.0]  # as published
    points = seeded_draws(3, draws=2048)
    found = first_order_shares(points, ishigami(points), degree=8)
    assert found == pytest.approx(ISHIGAMI, abs=0.01)  # 2,048 points


def test_ishigami_against_salib():
    problem = {"num_vars": 3, "names": ["a", "b", "c"], "bounds": [[0.0, 1.0]] * 3}
    sample = salib_sample.sample(problem, 2048, calc_second_order=False, seed=3)
    theirs = salib_sobol.analyze(problem, ishigami(sample), calc_second_order=False, seed=3)["S1"]
    points = seeded_draws(3, draws=2048)
    ours = first_order_shares(points, ishigami(points), degree=8)
    assert ours == pytest.approx(theirs, abs=0.03)  # Saltelli's estimator scatters by so much with 2,048 x 5 answers


def test_shares_of_a_sum_are_those_of_its_variances():
    points = seeded_draws(4)
    weights = np.array([3.0, 2.0, 1.0, 0.0])
    found = first_order_shares(points, points @ weights)
    assert found == pytest.approx(weights**2 / (weights**2).sum(), abs=1e-9)


def test_answers_with_one_input_alone_steady_the_shares():
    rng = np.random.default_rng(2)
    points = rng.random((32, 3))
    noise = rng.normal(0, 0.5, 32)
    weights = np.array([2.0, 1.0, 0.5])
    alone = np.full((7, 3), 0.5)
    for number in range(3):
        alone[1 + 2 * number : 3 + 2 * number, number] = 0.1, 0.9
    parts = weights**2 / 12
    true = parts / (parts.sum() + 0.25)
    plain = first_order_shares(points, points @ weights + noise)
    steady = first_order_shares(points, points @ weights + noise, alone=(alone, alone @ weights))
    assert np.abs(steady - true).max() < np.abs(plain - true).max()
    assert steady == pytest.approx(true, abs=0.1)  # the variance of the noise itself is known to a quarter


@pytest.mark.parametrize(("figures", "draws", "most"), [(5, 16, 0.15), (10, 16, 0.15), (20, 32, 0.1), (25, 32, 0.15)])
def test_draws_of_few_points_are_nearly_uncorrelated(figures, draws, most):
    """As A. B. Owen found for his method (1994): far below the 1 / sqrt(draws) of Latin hypercubes left as drawn."""
    points = seeded_draws(figures, draws=draws)
    correlation = np.corrcoef(points.T) - np.eye(figures)
    assert np.abs(correlation).max() < most
    parts = np.sort((points * draws).astype(int), axis=0)
    assert (parts == np.arange(draws)[:, None]).all()  # one point in each part of each dimension


def test_draws_without_figures_and_with_one():
    assert seeded_draws(0).shape == (32, 0)
    assert seeded_draws(1, draws=4).shape == (4, 1)


def test_more_figures_than_draws_still_fill_each_dimension():
    points = seeded_draws(60)
    assert (np.sort((points * 32).astype(int), axis=0) == np.arange(32)[:, None]).all()
    assert len(np.unique(points)) == points.size


def test_nothing_varies():
    assert first_order_shares(seeded_draws(2), np.zeros(32)).tolist() == [0.0, 0.0]


@pytest.mark.slow
def test_shares_of_the_demo_against_salib(demo_scene):
    """Total shares by Jansen's estimator, as SALib has it, from 128 x 9 answers of the seven figures that matter."""
    scene, doubt, inputs = demo_scene
    problem = {"num_vars": 7, "names": list("abcdefg"), "bounds": [[0.0, 1.0]] * 7}
    sample = salib_sample.sample(problem, 128, calc_second_order=False, seed=1)

    def season(point):
        values = scene.given_values.copy()
        for number, share in zip(inputs, point, strict=True):
            values[number] = scene.figures[number].quantile(np.array(share))
        (hours,) = scene.cell_hours(values)
        return mean_hours(scene.spots[0], hours)[12]

    found = salib_sobol.analyze(problem, np.array([season(one) for one in sample]), calc_second_order=False, seed=1)
    total = {
        (scene.figures[n].owner, scene.figures[n].name): share for n, share in zip(inputs, found["ST"], strict=True)
    }
    for cause in doubt.causes:
        assert cause.share == pytest.approx(total[cause.feature, cause.figure], abs=0.05)  # the others have 4 %


@pytest.fixture
def demo_scene():
    """The demo's new bed, how sure it is, and the numbers of the seven figures that matter most to it."""
    site = siteplan.demo_site()
    bed = site.bed("new-bed")
    scene = uncertain_scene(site, sun_engine(site), [spot_of(site, bed)])
    points = seeded_draws(len(scene.figures))
    drawn = sun_in_draws(scene, points)
    (doubt,) = sun_doubts(scene, drawn, points, hours_as_drawn=np.full((1, 13), 6.4), needs=[6.0])
    ends = np.ptp(drawn.alone[:, :, 0], axis=1)
    return scene, doubt, np.argsort(-np.nan_to_num(ends))[:7]


def test_what_is_not_explained_by_hand():
    """A line of variance 1, and 1 more or less off it: a residual of 4 over 4 - 2 draws, or over 4 - 1 with more answers."""
    points = np.array([[0.25], [0.25], [0.75], [0.75]])
    outputs = np.sqrt(12) * (points[:, 0] - 0.5) + [1, -1, 1, -1]
    assert first_order_shares(points, outputs, degree=1) == pytest.approx([1 / (1 + 4 / 2)])
    middle = (np.array([[0.5]]), np.array([0.0]))
    assert first_order_shares(points, outputs, alone=middle, degree=1) == pytest.approx([1 / (1 + 4 / 3)])
