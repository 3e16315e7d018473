"""Draws that are even and nearly uncorrelated, and what they are asked for. By hand."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from siteplan import doubts
from siteplan.place.merit.merit import Weights


def test_what_depends_on_another_column_is_taken_out_of_its_ranks():
    # about its mean the column is -1.5, -0.5, 0.5 and 1.5. The slope of 0, 1, 3, 2 on it is 4 / 5: 1.2, 1.4, 2.6 and 0.8
    # are left; that of 3, 1, 2, 0 is -4 / 5: 1.8, 0.6, 2.4 and 1.2
    columns = np.array([[0.0, 3.0], [1.0, 1.0], [3.0, 2.0], [2.0, 0.0]])
    found = doubts._uncorrelated(columns, np.arange(4.0))
    assert found.T.tolist() == [[1, 2, 3, 0], [2, 0, 3, 1]]


def test_each_figure_is_taken_out_of_those_after_it_and_back_five_times(monkeypatch):
    seen = []

    def watched(columns, column):
        seen.append((columns.shape[1], column.copy()))
        return columns

    monkeypatch.setattr(doubts, "_uncorrelated", watched)
    points = doubts.seeded_draws(3)
    assert [count for count, _ in seen] == [2, 1, 0, 2, 1, 0] * 5
    figures = np.floor(points * 32).T
    for number, (_, column) in enumerate(seen):
        assert column.tolist() == figures[(0, 1, 2, 2, 1, 0)[number % 6]].tolist()


@pytest.mark.parametrize(("figures", "most"), [(3, 0.04), (8, 0.045), (20, 0.06)])
def test_figures_are_nearly_uncorrelated(figures, most):
    # with 32 draws in any order they are correlated by 1 / sqrt(32) = 0.18 as a rule, some by half
    correlation = np.corrcoef(doubts.seeded_draws(figures).T) - np.eye(figures)
    assert np.abs(correlation).max() < most


def place(merit, length=2.4, width=1.2):
    return SimpleNamespace(merit=merit, length=length, width=width)


def stays(first, second, given, draws, *, start=0, worst=0.0):
    places = SimpleNamespace(places=(first, second), weights=Weights(worst=worst), plenty=8.0)
    cells = [[np.array(one, dtype=float) for one in draw] for draw in draws]
    sun = SimpleNamespace(cells=cells, cells_given=[np.array(one, dtype=float) for one in given])
    return doubts.first_stays(places, sun, start)


def test_the_draws_of_places_come_after_those_of_beds():
    # the second place gains 1 h, then 0.7 h, of 8 h: 0.1 of merit are 0.8 h. Spot 0 is a bed
    given = [[1.0], [6.0], [5.0]]
    draws = [[[0.0], [6.0], [6.0]], [[0.0], [6.0], [5.7]]]
    assert stays(place(0.6), place(0.5), given, draws, start=1) == 1


def test_the_darkest_cell_counts_in_every_draw():
    # of 4 h and 8 h the mean is 6 h, and half of what the darkest lacks is taken off: 5 h instead of 6 h
    assert stays(place(0.6), place(0.5), [[6, 6], [6, 6]], [[[6, 6], [4, 8]]], worst=0.5) == 1


@pytest.mark.parametrize(("length", "width", "alike"), [
    (2.4004, 1.2, True), (2.4006, 1.2, False), (2.4, 1.2004, True), (2.4, 1.2006, False),
])  # fmt: skip
def test_beds_of_another_size_are_no_alternatives(length, width, alike):
    found = stays(place(0.6), place(0.5, length, width), [[6], [6]], [[[6], [6]]])
    assert found == (1 if alike else None)


def test_where_nothing_is_in_doubt_no_draws_are_told(monkeypatch):
    made = {"figures": ()}
    monkeypatch.setattr(doubts, "spot_of", lambda *_, **__: "spot")
    monkeypatch.setattr(doubts, "month_share", lambda *_: None)
    monkeypatch.setattr(doubts, "first_stays", lambda *_: 7)
    monkeypatch.setattr(doubts, "_spot_doubts", lambda *_, **__: (SimpleNamespace(**made), "draws", ("a doubt",)))
    monkeypatch.setattr(doubts, "replace", lambda old, **new: SimpleNamespace(**{**vars(old), **new}))
    site = SimpleNamespace(beds=(), sun=SimpleNamespace(year=2026, need=6.0))
    one = SimpleNamespace(month_sun_h=np.zeros(12), season_sun_h=1.0)
    places = SimpleNamespace(places=(one,), months=None, need=5.0, bed_at=lambda _: "bed")
    _, found = doubts.with_doubts(site, "engine", (), places)
    assert (found.first_stays, found.draws, found.places[0].doubt) == (None, 0, "a doubt")
    made["figures"] = ("height",)
    _, found = doubts.with_doubts(site, "engine", (), places)
    assert (found.first_stays, found.draws) == (7, 32)


def test_draws_are_asked_for_each_figure(monkeypatch):
    scene = SimpleNamespace(figures=("height", "leaf"))
    asked = {}

    def note(name, answer):
        def act(*given, **options):
            asked[name] = (given, options)
            return answer

        return act

    monkeypatch.setattr(doubts, "coarse_ground", note("coarse", SimpleNamespace(scene=scene)))
    monkeypatch.setattr(doubts, "sure_map", note("map", "the map"))
    monkeypatch.setattr(doubts, "uncertain_scene", note("scene", scene))
    monkeypatch.setattr(doubts, "sun_in_draws", note("sun", "the sun"))
    monkeypatch.setattr(doubts, "sun_doubts", note("doubts", ("a doubt",)))
    site = SimpleNamespace(sun=SimpleNamespace(need=6.5))
    assert doubts.sure_ground(site, "engine", "maps", progress=None) == "the map"
    (maps, _, shares), options = asked["map"]
    assert (maps, shares.shape, options) == ("maps", (16, 2), {"need": 6.5, "progress": None})
    found = doubts._spot_doubts(site, "engine", ["spot"], np.zeros((1, 13)), [6.5], progress=None)
    assert found == (scene, "the sun", ("a doubt",))
    assert asked["sun"][0][1].shape == (32, 2)
    assert doubts._months_or_zeros(None).tolist() == [0.0] * 12
