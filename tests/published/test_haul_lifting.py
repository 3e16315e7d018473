"""The revised lifting equation against the examples of its manual."""

from __future__ import annotations

import pytest

from siteplan.haul.loads.lifting import recommended_weight


def test_example_four_at_its_origin():
    # NIOSH 94-110 p. 46: LC 51, H 10 in, VM 0.94 (V 38), D 37, A 0, FM 0.88, CM 0.95: printed 34.9 lb, with full
    # precision 34.8 (seen second-hand, V inferred)
    found = recommended_weight(horizontal=10, vertical=38, travel=37, frequency=0.88, coupling=0.95, units="us")
    assert found == pytest.approx(34.9, abs=0.1)  # the manual rounds each multiplier to two decimals


@pytest.mark.parametrize(("vertical", "coupling", "printed"), [(15, 0.95, 16.3), (63, 1.0, 14.5)])
def test_example_one(vertical, coupling, printed):
    # NIOSH 94-110 pp. 33 to 37: H 23 in, V 15 to 63 in, D 48 in, FM 1, 44 lb (from memory); the index is 2.7 to 3.1
    found = recommended_weight(horizontal=23, vertical=vertical, travel=48, coupling=coupling, units="us")
    assert found == pytest.approx(printed, abs=0.5)  # multipliers of two decimals
    assert 2.6 <= 44 / found <= 3.2


def test_metric_and_us_are_not_exact_twins():
    # the same lift in both: 23 kg is 50.7 lb and not 51, and the multipliers were rounded on their own
    metric = recommended_weight(horizontal=40, vertical=30, travel=60)
    us = recommended_weight(horizontal=40 / 2.54, vertical=30 / 2.54, travel=60 / 2.54, units="us") * 0.45359237
    assert metric == pytest.approx(us, rel=0.03)
    assert metric != pytest.approx(us, rel=0.003)


def test_out_of_reach_or_turned_too_far_is_nothing():
    # NIOSH 94-110: beyond 25 in or 135 degrees the limit is 0 (seen second-hand)
    assert recommended_weight(horizontal=25.1, vertical=30, travel=10, units="us") == 0
    assert recommended_weight(horizontal=25, vertical=30, travel=10, units="us") > 0
    assert recommended_weight(horizontal=25, vertical=75, travel=25, asymmetry=136) == 0
