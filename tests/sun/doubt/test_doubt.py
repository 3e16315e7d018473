"""How sure the sun is: laws, closed forms, and a yard small enough to see through."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Point, box

from siteplan.doubts import DRAWS, seeded_draws
from siteplan.land.features import Bed, Building, MonthDay, Tree
from siteplan.land.spread import Spread
from siteplan.sun.doubt.doubt import sun_doubts, sun_in_draws
from siteplan.sun.doubt.figures import Figure, figures_of, leaf_day, prisms_with_values, triangular
from siteplan.sun.doubt.uncertain_scene import mean_hours, spot_of, uncertain_scene
from siteplan.sun.engine import sun_engine

WALL = Spread(of="height", below=0.8, above=0.8)


@pytest.fixture(scope="module")
def walled(tiny_yard):
    """A bed 3 m north of a wall of 3 m, and nothing else: its sun hangs on the wall's height alone."""
    bed = Bed(id="bed", outline=box(-1.2, 0, 1.2, 1.2), height=0.4)
    wall = Building(id="wall", outline=box(-8, -3.2, 8, -3), height=3.0, spreads=(WALL,))
    cleared = dict.fromkeys(("trees", "hedges", "fences", "gates"), ())
    return replace(tiny_yard, **cleared, buildings=(wall,), beds=(bed,), terrain=None, skyline=None)


def doubt_of(site, *, draws=DRAWS):
    engine = sun_engine(site)
    scene = uncertain_scene(site, engine, [spot_of(site, bed) for bed in site.beds])
    as_given = np.array(
        [mean_hours(s, h) for s, h in zip(scene.spots, scene.cell_hours(scene.given_values), strict=True)]
    )
    shares = seeded_draws(len(scene.figures), draws=draws)
    return sun_doubts(
        scene, sun_in_draws(scene, shares), shares, hours_as_drawn=as_given, needs=[6.0] * len(scene.spots)
    )


def with_spread(site, *spreads):
    return replace(site, buildings=tuple(replace(one, spreads=spreads) for one in site.buildings))


def width(doubt):
    return doubt.season_high_h - doubt.season_low_h


# by hand


def test_a_linear_toy_has_the_mean_and_spread_of_its_closed_form():
    # 2 a - b, both triangular within 1 of 5 and within 2 of 3: mean 7, variance 4/6 + 4/6
    a = Figure(owner="x", kind="tree", name="height", value=5.0, low=4.0, high=6.0, how="given")
    b = replace(a, value=3.0, low=1.0, high=5.0)
    points = seeded_draws(2, draws=256)
    toy = 2 * a.quantile(points[:, 0]) - b.quantile(points[:, 1])
    assert toy.mean() == pytest.approx(7.0, abs=0.01)  # 256 points; each figure alone is spread evenly
    assert toy.std() == pytest.approx((4 / 3) ** 0.5, rel=0.03)


def test_quantiles_of_a_triangle_invert_its_distribution():
    share = np.linspace(0.01, 0.99, 50)
    x = triangular(share, 1.0, 2.0, 5.0)
    below = np.where(x < 2, (x - 1) ** 2 / 4, 1 - (5 - x) ** 2 / 12)  # areas of the two right triangles
    assert below == pytest.approx(share, abs=1e-12)


def test_what_leaves_let_through_is_spread_by_its_logarithm():
    figure = Figure(owner="x", kind="tree", name="transmittance_leafy", value=0.1, low=0.01, high=1.0, how="given",
                    by_ratio=True)  # fmt: skip
    low, middle, high = figure.quantile(np.array([0.1, 0.5, 0.9]))
    assert middle == pytest.approx(0.1)
    assert low * high == pytest.approx(0.01)


def test_a_feature_stands_as_its_figures_say(walled):
    tree = Tree(id="t", outline=Point(0, -5).buffer(2.0), trunk=Point(0, -5), height=8.0, crown_base=2.0,
                leaf_out=MonthDay(4, 10), leaf_fall=MonthDay(10, 27))  # fmt: skip
    site = replace(walled, trees=(tree,))
    values = {"height": 7.0, "crown_base": 9.0, "crown_diameter": 6.0, "leaf_out": 118.0, "position_east": 1.5}
    (crown,) = prisms_with_values(site, site.trees[0], values)
    assert crown.top == 7.0
    assert crown.bottom == pytest.approx(6.95)
    assert crown.outline.centroid.x == pytest.approx(1.5)
    assert np.sqrt(crown.outline.area / np.pi) == pytest.approx(3.0, rel=0.01)  # of the 64-gon
    assert crown.leaf_out == leaf_day(118.0) == 116
    assert crown.leaf_fall == 300


def test_the_sun_with_a_drawn_figure_is_that_of_a_site_built_so(walled):
    (wall,) = walled.buildings
    engine = sun_engine(walled)
    scene = uncertain_scene(walled, engine, [spot_of(walled, walled.beds[0])])
    assert [figure.name for figure in scene.figures] == ["height"]
    other = sun_engine(replace(walled, buildings=(replace(wall, height=3.5),)))
    cells = scene.spots[0].ledges[0].cells
    ours, theirs = scene.cell_hours(np.array([3.5]))[0][0][12], other.hours(cells, without=("bed",)).season_h
    assert ours == pytest.approx(theirs, abs=1e-4)  # single precision


def test_a_figure_at_its_given_value_changes_nothing_beside_rounded_dates(walled):
    tree = Tree(id="t", outline=Point(-2, -2).buffer(1.5), trunk=Point(-2, -2), height=6.0, crown_base=2.0,
                leaf_out=MonthDay(5, 18), leaf_fall=MonthDay(10, 27),
                spreads=(Spread(of="leaf_out", below=10, above=10),))  # fmt: skip
    site = replace(walled, trees=(tree,))
    scene = uncertain_scene(site, sun_engine(site), [spot_of(site, site.beds[0])])
    (number,) = [k for k, figure in enumerate(scene.figures) if figure.owner == "wall"]
    as_given = scene.cell_hours(scene.given_values)[0][0]
    assert scene.cell_hours_changing(number, 3.0, [0])[0][0] == pytest.approx(as_given, abs=1e-4)


def test_one_figure_has_all_the_doubt_and_its_own_range(walled):
    (doubt,) = doubt_of(walled)
    (cause,) = doubt.causes
    assert (cause.feature, cause.figure, cause.how) == ("wall", "height", "given")
    assert cause.share > 0.97  # what two polynomials miss of a curve
    # ends at a tenth and nine tenths, from 32 draws and exactly
    assert doubt.season_low_h == pytest.approx(cause.low_h, abs=0.1 * width(doubt))
    assert doubt.season_high_h == pytest.approx(cause.high_h, abs=0.1 * width(doubt))


# laws


def test_without_spreads_there_is_no_range(walled):
    (doubt,) = doubt_of(with_spread(walled))
    assert doubt.season_low_h == doubt.season_high_h
    assert doubt.month_low_h.tolist() == doubt.month_high_h.tolist()
    assert doubt.causes == ()
    assert doubt.enough in {0.0, 1.0}


def test_the_same_site_has_the_same_draws(walled):
    one, other = doubt_of(walled)[0], doubt_of(walled)[0]
    assert one.season_h.tobytes() == other.season_h.tobytes()
    assert one.causes == other.causes


@pytest.mark.slow
@settings(max_examples=5, deadline=None)
@given(st.floats(0.05, 1.0), st.floats(1.1, 2.5))
def test_a_wider_spread_never_narrows_the_range(walled, size, times):
    narrow = doubt_of(with_spread(walled, replace(WALL, below=size, above=size)), draws=16)[0]
    wide = doubt_of(with_spread(walled, replace(WALL, below=times * size, above=times * size)), draws=16)[0]
    assert width(wide) >= width(narrow) - 1e-6  # the draws are the same ones: one figure has no noise


def test_a_taller_wall_at_the_upper_end_leaves_less_sun(walled):
    (cause,) = doubt_of(walled)[0].causes
    up = doubt_of(with_spread(walled, replace(WALL, below=0.0)))[0]
    assert up.season_high_h <= cause.high_h  # it can only be taller


def test_figures_are_those_with_a_spread(walled):
    assert figures_of(with_spread(walled)) == ()
    placed = figures_of(with_spread(walled, Spread(of="position", below=0.3, above=0.3)))
    assert [(one.name, one.low, one.high) for one in placed] == [
        ("position_east", -0.3, 0.3), ("position_north", -0.3, 0.3)]  # fmt: skip
