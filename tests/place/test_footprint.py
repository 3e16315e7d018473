"""Forms and the cells they cover: by hand and by law."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Point, Polygon, box
from shapely.affinity import rotate, translate

from siteplan.land.features import Keepout
from siteplan.land.outline import rectangle
from siteplan.land.site import PlaceSettings
from siteplan.place.limits.limits import fit_check
from siteplan.place.search.footprint import cells_around, footprint, form_of, form_of_size
from siteplan.place.search.search import find_places

ELL = Polygon([(0, 0), (2.6, 0), (2.6, 1), (1, 1), (1, 2.2), (0, 2.2)])
KEYHOLE = Point(0, 0).buffer(1.2, quad_segs=8).difference(box(-0.25, -2, 0.25, 0))


@settings(deadline=None, max_examples=40)
@given(st.floats(0, 360), st.floats(0.5, 4), st.floats(0.3, 2), st.floats(0.1, 0.6))
def test_shares_sum_to_the_area(heading, length, width, cell):
    feet = footprint(form_of_size(length, width), heading=heading, cell=cell)
    # shares are rounded to a billionth of a cell
    assert feet.share.sum() * cell**2 == pytest.approx(length * width, abs=len(feet.share) * 1e-9)
    assert (feet.share[feet.centred] > 0.2).all()  # a cell whose centre is covered is covered by a corner's worth
    ring = {
        tuple(offset)
        for offset in cells_around(form_of_size(length, width), heading=heading, cell=cell, aisle=0.5).tolist()
    }
    assert {tuple(offset) for offset in feet.offsets[feet.centred].tolist()} <= ring


def test_a_quarter_turn_by_hand():
    # 1 m by 0.5 m on cells of half a metre, long side east: the middle cell whole, half of each neighbour
    feet = footprint(form_of_size(1, 0.5), heading=90, cell=0.5)
    assert dict(zip(map(tuple, feet.offsets.tolist()), feet.share.tolist(), strict=True)) == {
        (0, -1): 0.5, (0, 0): 1.0, (0, 1): 0.5,
    }  # fmt: skip


@settings(deadline=None, max_examples=30)
@given(st.floats(-5, 5), st.floats(-5, 5), st.floats(0, 360))
def test_a_form_keeps_its_shape_wherever_it_lies(x, y, heading):
    form = form_of(ELL)
    laid = form.outlines(np.array([x]), np.array([y]), np.array([heading]))[0]
    assert laid.area == pytest.approx(ELL.area, abs=1e-7)  # corners are kept to a nanometre
    back = rotate(translate(laid, -x, -y), heading, origin=(0, 0))
    assert back.symmetric_difference(form.outline).area < 1e-6


def test_rectangles_agree_with_land():
    form = form_of_size(1, 3)
    assert (form.length, form.width, form.period, form.core) == (3, 1, 180, 1)
    laid = form.outlines(np.array([2.0]), np.array([1.0]), np.array([35.0]))[0]
    assert laid.equals_exact(rectangle(2, 1, length=3, width=1, heading=35), 1e-8)
    assert form_of(laid).outline.symmetric_difference(form.outline).area < 1e-6


def test_a_keyhole_is_tried_all_the_way_round():
    form = form_of(KEYHOLE)
    assert form.period == 360
    assert form.outline.area == pytest.approx(KEYHOLE.area)


@pytest.mark.parametrize(
    "shape", [Polygon(), box(0, 0, 3, 3).difference(box(1, 1, 2, 2)), Polygon([(0, 0), (1, 1), (1, 0), (0, 1)])]
)
def test_what_is_no_outline_is_refused(shape):
    with pytest.raises(ValueError, match="one simple outline"):
        form_of(shape)


def test_an_ell_is_laid_around_what_stands_in_its_corner(yard, maps_from):
    # the yard holds the L by 0.1 m on each side, and a drain cover fills one corner: one way round alone fits
    site = yard(
        box(0, 0, 2.8, 2.4),
        place=PlaceSettings(wall_setback=0, boundary_setback=0, aisle=0.3, height=0.4, count=1),
        keepouts=(Keepout(id="drain", outline=box(1.2, 1.2, 2.8, 2.4), reason="drain cover"),),
        cell=0.1,
    )
    found = find_places(site, maps_from(site, lambda x, y: 6 + 0.1 * x + 0 * y), shape=ELL)
    place = found.places[0]
    assert place.outline.area == pytest.approx(ELL.area, abs=1e-6)
    assert fit_check(found.limits)(place.outline) is None
    assert place.outline.symmetric_difference(translate(ELL, 0.1, 0.1)).area < 0.5
    assert 0 <= place.heading < 180
    solid = find_places(site, maps_from(site, lambda x, y: 6 + 0 * x + 0 * y), length=2.6, width=2.2)
    assert solid.places == ()


def test_two_keyholes_leave_an_aisle(yard, maps_from):
    site = yard(box(0, 0, 7, 5), cell=0.25)
    found = find_places(site, maps_from(site, lambda x, y: 5 + 0.2 * x + 0.1 * y), shape=KEYHOLE, count=2)
    one, other = (place.outline for place in found.places)
    assert one.distance(other) >= site.place.aisle - 0.002


@pytest.mark.parametrize(("aisle", "cells"), [(0.49, 1), (0.5, 5), (0.7, 5), (0.71, 9)])
def test_the_cells_around_a_bed_by_hand(aisle, cells):
    # 1 m by 1 m on cells of 1 m: the middles of the next cells lie half a metre off, at the corners root 1/2 = 0.707 m
    assert len(cells_around(form_of_size(1, 1), heading=0, cell=1, aisle=aisle)) == cells
