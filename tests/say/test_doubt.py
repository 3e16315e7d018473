"""How sure the hours of sun are, in words. By hand."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from siteplan.land.grid import Grid
from siteplan.say.doubt import (
    bed_doubts,
    ground_sentence,
    hours_range,
    measure_sentences,
    place_doubts,
    range_text,
    sure_sentence,
)
from siteplan.sun.doubt.doubt import Cause, SunDoubt
from siteplan.sun.doubt.sure_map import SureMap


def doubt(enough=1.0, causes=(), draws=32):
    zeros = np.zeros(12)
    return SunDoubt(
        season_low_h=5.46, season_high_h=7.04, month_low_h=zeros, month_high_h=zeros, enough=enough, causes=causes,
        season_h=np.zeros(draws),
    )  # fmt: skip


def cause(figure, feature="oak"):
    return Cause(feature=feature, kind="tree", figure=figure, how="guess", share=0.5, low_h=5.54, high_h=6.96)


def test_a_range_stands_behind_the_hours_where_it_is_known():
    assert (range_text(doubt()), range_text(None)) == ("5.5 to 7.0", "")
    assert hours_range(6.4, doubt()) == "6.4 h (5.5 to 7.0)"
    assert hours_range(6.4, None) == "6.4 h"


@pytest.mark.parametrize(("enough", "some"), [
    (1.0, "all 32"), (31 / 32, "31 of 32"), (1 / 32, "1 of 32"), (0.01, "none of 32"), (0.0, "none of 32"), (0.99, "all 32"),
])  # fmt: skip
def test_in_how_many_trials_the_crops_have_enough(enough, some):
    assert sure_sentence(6.0, doubt(enough)) == f"it has the 6.0 h that its crops want in {some} trials"


def test_what_is_to_be_measured():
    assert measure_sentences("its sun", None) == ()
    assert measure_sentences("its sun", doubt(causes=(cause("height"), cause("leaf_out", "x" * 50)))) == (
        "measure the height of oak: this alone puts its sun between 5.5 and 7.0 h",
        f"note when the leaves of {'x' * 39}… come: this alone puts its sun between 5.5 and 7.0 h",
    )


def test_a_bed_wants_what_its_crops_want_or_what_the_site_does():
    plan = SimpleNamespace(site=SimpleNamespace(sun=SimpleNamespace(need=6.0)))

    def said(need, known):
        return bed_doubts(plan, SimpleNamespace(doubt=known, bed=SimpleNamespace(need=need)))

    assert said(None, None) == ()
    assert said(None, doubt()) == ("it has the 6.0 h that its crops want in all 32 trials",)
    one, other = said(4.0, doubt(0.5, (cause("base"),)))
    assert one == "it has the 4.0 h that its crops want in 16 of 32 trials"
    assert other == "measure the lower edge of oak: this alone puts its sun between 5.5 and 7.0 h"


def places(*doubts, stays=None, draws=0):
    found = tuple(SimpleNamespace(doubt=one, season_sun_h=6.4 + n) for n, one in enumerate(doubts))
    return SimpleNamespace(places=found, first_stays=stays, draws=draws)


def test_how_sure_the_first_place_is():
    assert place_doubts(places()) == ()
    assert place_doubts(places(None, doubt())) == ()
    assert place_doubts(places(doubt(), None)) == ("the sun of place 1 is 6.4 h (5.5 to 7.0)",)
    for stays, of in ((32, "all 32"), (31, "31 of 32"), (0, "0 of 32")):
        said = place_doubts(places(doubt(causes=(cause("eaves"),)), doubt(), stays=stays, draws=32))
        assert said == (
            "the sun of place 1 is 6.4 h (5.5 to 7.0)",
            f"in {of} trials the first place stays the best of those named",
            "measure the eaves of oak: this alone puts the sun of place 1 between 5.5 and 7.0 h",
        )


def test_on_how_much_of_the_ground_there_is_surely_enough():
    assert ground_sentence(None) == ""
    grid = Grid(west=0.0, north=1.0, cell=1.0, rows=1, columns=10)
    # sure from nine of ten trials on, and not from one of ten down
    share = np.array([[0.9, 0.89, 0.11, 0.1, 0.0, 0.5, 1.0, 1.0, 0.5, 0.5]])
    said = ground_sentence(SureMap(grid, 4.0, 16, share))
    assert said.startswith(
        "of the ground, 30 % is sure to get 4.0 h of sun a day in the season, 20 % is sure not to, and of 50 % it is"
    )
    assert ground_sentence(SureMap(grid, 4.0, 16, np.full((1, 10), np.nan))) == ""
