"""Light against what groups of crops want: judged as shown, never fewer groups with more light."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from siteplan.place.crops.crop_light import LIGHT_NEEDS, light_verdict
from siteplan.say.lighting import light_suits

ORDER = ("too little", "enough", "plenty")


def test_figures_are_those_of_their_sources():
    leafy, fruiting = LIGHT_NEEDS
    # Plants 13(5):652 (2024): at least 12; Both and others in Horticulturae 6(1):7 (2020): 17; tomato 20 to 30
    assert (leafy.least, leafy.good) == (12, 17)
    assert (fruiting.least, fruiting.good) == (20, 30)
    assert all("seen" in want.source for want in LIGHT_NEEDS)


@pytest.mark.parametrize(
    ("light", "said"),
    [
        (0.0, "too little for leafy greens and herbs and for fruiting crops"),
        (11.4, "too little for leafy greens and herbs and for fruiting crops"),
        (11.6, "enough for leafy greens and herbs, too little for fruiting crops"),
        (17.0, "plenty for leafy greens and herbs, too little for fruiting crops"),
        (20.0, "plenty for leafy greens and herbs, enough for fruiting crops"),
        (45.0, "plenty for leafy greens and herbs and for fruiting crops"),
    ],
)
def test_by_hand(light, said):
    assert light_suits(light) == said


@settings(deadline=None, max_examples=40)
@given(light=st.floats(0, 70), more=st.floats(0, 30))
def test_more_light_never_suits_less(light, more):
    for want in LIGHT_NEEDS:
        assert ORDER.index(light_verdict(light + more, want)) >= ORDER.index(light_verdict(light, want))
