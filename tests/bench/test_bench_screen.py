"""Have twenty lots of a town, drawn at random, the figures of their plans alone? Two minutes; six do in each run of CI."""

from __future__ import annotations

import pytest

from tests.screen.test_figures import compared_at_random

pytestmark = pytest.mark.bench


def test_twenty_lots_at_random_have_the_figures_of_their_plans_alone(tmp_path, monkeypatch):
    assert compared_at_random(20, tmp_path, monkeypatch, ranges=True) >= 10
