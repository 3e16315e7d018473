"""Which questions a lot is asked: a lot without beds needs a place before its fill and work can be told."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import pytest

from siteplan.land.features import Bed
from siteplan.land.outline import rectangle
from siteplan.screen import answering
from siteplan.screen.answering import lot_answers
from tests.place.conftest import bare_yard

BED = Bed(id="", outline=rectangle(5, 5, length=2.4, width=1.2, heading=0), height=0.4)


@pytest.fixture
def asked(monkeypatch):
    """What is asked of which beds, in order; a search finds one place if `places` says so."""
    heard, places = [], [BED]

    def answers(site, question):
        assert question.hours_alone
        heard.append((sorted(question.ask), [bed.id for bed in site.beds]))
        found = SimpleNamespace(places=places, bed_at=lambda place: place)
        return SimpleNamespace(places=found if "place" in question.ask else None)

    monkeypatch.setattr(answering, "answers", answers)
    return heard, places


@pytest.mark.parametrize(("ask", "first", "then"), [
    (("fill",), ["place"], ["fill"]), (("haul",), ["place"], ["haul"]), (("sun", "haul"), ["place", "sun"], ["haul"]),
    (("sun", "place", "fill", "haul"), ["place", "sun"], ["fill", "haul"]), (("sun",), ["sun"], None),
    (("place",), ["place"], None),
])  # fmt: skip
def test_a_lot_without_beds_gets_one_at_its_best_place(asked, ask, first, then):
    heard, places = asked
    lot_answers(bare_yard(), ask)
    assert heard == [(first, []), *([] if then is None else [(then, ["bed-1"])])]
    heard.clear()
    places.clear()
    assert lot_answers(bare_yard(), ask).work is None
    assert heard == [(first, [])]


def test_a_lot_with_beds_is_asked_no_place(asked):
    heard, _ = asked
    lot_answers(bare_yard(beds=(replace(BED, id="north"),)), ("fill",))
    assert heard == [([], ["north"]), (["fill"], ["north"])]
