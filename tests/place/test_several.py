"""Beds of several sizes: each fits, each keeps its aisle, the largest has the best ground."""

from __future__ import annotations

import itertools
from types import SimpleNamespace

from siteplan.land.findings import finding
from siteplan.place.search.several_sizes import _findings, find_several, places_of_sizes
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


def test_what_is_found_of_several_sizes_is_told_once_and_names_the_bed_that_does_not_fit():
    wind, narrow = finding("open-to-wind"), finding("too-wide", "shed")
    fits, fits_too = (SimpleNamespace(places=(1,), findings=(wind,)) for _ in range(2))
    no_room = SimpleNamespace(places=(), findings=(narrow,))
    told = _findings([(2.0, 1.0), (1.0, 1.0), (3.0, 2.0)], [fits, fits_too, no_room])
    assert [(one.code, one.feature) for one in told] == [("open-to-wind", ""), ("too-wide", "3")]
    (alone,) = _findings([(3.0, 2.0)], [no_room])
    assert alone.feature == "shed"


def test_of_two_equal_sizes_the_first_has_the_best_spot_and_the_second_is_short_of_it(yard, maps_from):
    site = yard(cell=0.25)
    maps = maps_from(site, lambda x, y: 4 + 0.2 * x + 0 * y)
    found = places_of_sizes(site, maps, [(6.0, 1.0), (6.0, 1.0)])
    first, second = found.places
    assert first.merit > second.merit
    assert abs(found.gap - (first.merit - second.merit) / 2) < 1e-12
    assert [one.rank for one in found.trade_off if one.first] == [1]
