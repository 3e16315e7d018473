"""Are people's units those of the standards, and do bulk weights come out as published?"""

from __future__ import annotations

import pytest

from siteplan.land.units import Dimension, si_value

#: NIST Special Publication 811 (2008), appendix B.8 (seen second-hand); the tolerance is that of its printed digits
NIST: list[tuple[str, Dimension, float]] = [
    ("1 lb/yd^3", "density", 0.5932764),
    ("1 lb/ft^3", "density", 16.01846),
    ("1 ft^3", "volume", 0.02831685),
    ("1 yd^3", "volume", 0.7645549),
    ("1 lb", "mass", 0.45359237),
    ("1 ft", "length", 0.3048),
    ("1 in", "length", 0.0254),
    ("1 yd", "length", 0.9144),
    ("1 gallon", "volume", 0.003785412),
    ("1 stone", "mass", 6.350293),
    ("1 survey_foot", "length", 0.3048006),
    ("1 degree", "angle", 1.0),
    ("1 min", "time", 1 / 60),
]


@pytest.mark.parametrize(("written", "dimension", "standard"), NIST)
def test_definitions(written, dimension, standard):
    assert si_value(written, dimension) == pytest.approx(standard, rel=1e-6)


@pytest.mark.parametrize(
    ("pounds_a_yard", "published"),
    # CalRecycle SWFacilities table (sand), Oregon DEQ recovery survey factors (chips), US EPA 2016 through ENERGY STAR
    # (brush trimmings): all seen; printed to whole pounds and kilograms
    [(2400, 1424), (2880, 1709), (473, 281), (243, 144), (250, 148)],
    ids=["loose sand", "damp sand", "green chips", "dry chips", "brush"],
)
def test_bulk_weights(pounds_a_yard, published):
    assert si_value(f"{pounds_a_yard} lb/yd3", "density") == pytest.approx(published, abs=1)


@pytest.mark.parametrize(("depth", "cubic_feet"), [(6, 16), (8, 21.33), (10, 26.67), (12, 32), (18, 48), (24, 64)])
def test_volume_of_a_bed_of_4_by_8_feet(depth, cubic_feet):
    """Several how-to pages print these for a bed of 4 ft by 8 ft (seen); to a hundredth, as printed."""
    area = si_value("4 ft", "length") * si_value("8 ft", "length")
    volume = area * si_value(f"{depth} in", "length")
    assert volume / si_value("1 ft^3", "volume") == pytest.approx(cubic_feet, abs=0.01)
    if depth == 12:
        assert volume / si_value("1 yd^3", "volume") == pytest.approx(1.185, abs=5e-4)
        assert volume == pytest.approx(0.9061, abs=5e-5)
