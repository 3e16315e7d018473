"""Beds of several sizes: each fits, each keeps its aisle, the largest has the best ground."""

from __future__ import annotations

import itertools

from siteplan.place.search.several_sizes import find_several
from siteplan.say.place_reasons import result_sentences


def test_sizes_come_back_in_their_order_and_leave_aisles(yard, maps_from):
    site = yard(cell=0.25)
    sizes = [(1.2, 0.6), (3.0, 1.2), (2.0, 1.0)]
    found = find_several(site, maps_from(site, lambda x, y: 4 + 0.2 * x + 0 * y), sizes)
    places = [answer.places[0] for answer in found]
    assert [(place.length, place.width) for place in places] == sizes
    for one, other in itertools.combinations(places, 2):
        assert one.outline.distance(other.outline) >= site.place.aisle - 0.002
    assert places[1].outline.bounds[2] > 9.3  # the largest is asked first and takes the sunny edge
    assert site.beds == ()


def test_what_does_not_fit_beside_the_others_says_so(yard, maps_from):
    from shapely import box

    site = yard(box(0, 0, 4, 3), cell=0.25)
    found = find_several(site, maps_from(site, lambda x, y: 6 + 0 * x + 0 * y), [(3.0, 2.0), (2.0, 2.0)])
    assert len(found[0].places) == 1
    assert found[1].places == ()
    assert "new bed 1" in " ".join(result_sentences(found[1], "metric"))
