"""What must hold whatever stands there."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import box

from siteplan.sun.obstacles import Prism

POINTS = np.column_stack(
    [*(axis.ravel() for axis in np.meshgrid(np.linspace(-6, 6, 5), np.linspace(-6, 6, 5))), np.zeros(25)]
)
SAME = 2e-4  # h: single precision


def metres(low, high):
    """Sevenths of a metre, a little aside: no point lies on a wall's own line, where it is neither in nor out."""
    return st.integers(low * 7, high * 7).map(lambda n: n / 7 + 0.0137)


prisms = st.builds(
    lambda x, y, wide, deep, bottom, thick, light: Prism(
        outline=box(x, y, x + wide, y + deep), bottom=bottom, top=bottom + thick, owner="it", transmittance_leafy=light
    ),
    metres(-8, 8), metres(-8, 8), metres(0, 6), metres(0, 6), st.sampled_from([0.0, 1.0, 2.5]),
    metres(0, 8), st.sampled_from([0.0, 0.3, 0.8]),
)  # fmt: skip


def hours(engine_of, *standing):
    return empty_engine(engine_of).hours(POINTS, extra=standing).month_h


@cache
def empty_engine(engine_of):
    return engine_of()


@settings(deadline=None, max_examples=15)
@given(prism=prisms, more=st.floats(0, 5))
def test_raising_never_lights(engine_of, prism, more):
    taller = replace(prism, top=prism.top + more)
    assert (hours(engine_of, taller) <= hours(engine_of, prism) + SAME).all()


@settings(deadline=None, max_examples=15)
@given(prism=prisms, margin=st.integers(0, 14))
def test_widening_never_lights(engine_of, prism, margin):
    wider = replace(prism, outline=prism.outline.buffer(margin / 7, join_style="mitre"))
    # the lookup answers at the middles of its bins, where the wider one hides all that the narrower does
    assert (hours(engine_of, wider) <= hours(engine_of, prism) + SAME).all()


@settings(deadline=None, max_examples=15)
@given(first=prisms, second=prisms)
def test_adding_never_lights(engine_of, first, second):
    both = hours(engine_of, first, replace(second, owner="other"))
    assert (both <= hours(engine_of, first) + SAME).all()


@settings(deadline=None, max_examples=15)
@given(prism=prisms, more=st.floats(0, 1))
def test_opening_a_crown_never_darkens(engine_of, prism, more):
    open_crown = replace(prism, transmittance_leafy=min(1.0, prism.transmittance_leafy + more))
    assert (hours(engine_of, open_crown) >= hours(engine_of, prism) - SAME).all()


@settings(deadline=None, max_examples=8)
@given(prism=prisms)
def test_all_lies_between_night_and_day(engine_of, prism, middle_path):
    lit = hours(engine_of, prism)
    assert (lit >= 0).all()
    assert (lit <= hours(engine_of) + SAME).all()


@settings(deadline=None, max_examples=8)
@given(standing=st.lists(prisms, min_size=1, max_size=4))
def test_the_order_of_what_stands_does_not_matter(engine_of, standing):
    named = [replace(prism, owner=str(n)) for n, prism in enumerate(standing)]
    assert hours(engine_of, *named) == pytest.approx(hours(engine_of, *reversed(named)), abs=1e-3)
