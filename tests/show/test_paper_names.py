"""Where names stand on the paper plan: by hand, and never on what they must not hide."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from siteplan.show.sheet.paper_names import PLAIN, TALL, Name, _spots, name_boxes, shared_areas


def name(text, *shape):
    return Name(text, bold=False, shape=shape)


def placed(names, taken=()):
    return name_boxes(names, [*taken, *(one.shape for one in names)], wide=180, tall=180)


def test_a_name_stands_below_its_shape_and_is_centred():
    (box,) = placed([name("bed", 50, 50, 60, 54)])
    assert box[1] == pytest.approx(54.5)  # half a millimetre below
    assert (box[0] + box[2]) / 2 == pytest.approx(55)
    assert box[2] - box[0] == pytest.approx(3 * PLAIN * TALL)


def test_a_name_gives_way_to_what_lies_below():
    below = (45, 54.5, 65, 60)
    (box,) = placed([name("bed", 50, 50, 60, 54)], [below])
    assert box[3] == pytest.approx(49.5)  # above
    (box,) = placed([name("bed", 50, 50, 60, 54)], [below, (45, 40, 65, 50)])
    assert box[0] == pytest.approx(60.5)  # to the right of it


def test_where_a_name_goes_when_one_spot_after_the_other_is_taken():
    """Below, above, right, left; then the corners right below, left below, right above, left above; then farther off.

    A bed from (40, 50) to (60, 54), its name of eight letters 12.4 by 3.1 mm; each spot that it gets is taken next.
    """
    wide, gap = 8 * PLAIN * TALL, 0.5
    middle, beside = 50 - wide / 2, 52 - TALL / 2
    spots = []
    for step in (0, 1, 2):
        down, aside = gap + step * TALL, gap + step * 4
        below, above, right, left = 54 + down, 50 - down - TALL, 60 + aside, 40 - aside - wide
        spots += [(middle, below), (middle, above), (right, beside), (left, beside)]
        spots += [(right, below), (left, below), (right, above), (left, above)]
    taken = []
    for x, y in spots[:9]:
        (box,) = placed([name("a bed...", 40, 50, 60, 54)], taken)
        assert box == pytest.approx((x, y, x + wide, y + TALL))
        taken.append((x + 0.1, y + 0.1, x + wide - 0.1, y + TALL - 0.1))


def test_a_bold_name_is_wider():
    plain, bold = (placed([Name("bed", bold=bold, shape=(50, 50, 60, 54))])[0] for bold in (False, True))
    assert bold[2] - bold[0] == pytest.approx((plain[2] - plain[0]) * 0.56 / 0.5)


def test_a_name_stays_on_the_paper():
    (box,) = placed([name("bed", 170, 174, 180, 179)])
    assert box[2] <= 180
    assert box[3] <= 180


@settings(deadline=None, max_examples=60)
@given(st.lists(st.tuples(st.integers(0, 5), st.integers(0, 9)), min_size=1, max_size=20, unique=True))
def test_where_there_is_room_names_hide_nothing(cells):
    # shapes of 8 mm by 4 mm on a lattice of 28 mm by 16 mm: each name of eight letters, 12.4 mm, has room
    names = [name("a name..", 15 + 28 * i, 12 + 16 * k, 23 + 28 * i, 16 + 16 * k) for i, k in cells]
    boxes = np.array(placed(names))
    shapes = np.array([one.shape for one in names])
    assert shared_areas(boxes, shapes).max() == 0
    own = np.prod(boxes[:, 2:] - boxes[:, :2], axis=1)
    assert shared_areas(boxes, boxes) == pytest.approx(own)  # each name's own area and nothing else


def test_all_the_spots_of_a_name_in_their_order():
    """Three rings of eight, each a letter's height of 3.1 mm farther up and down and 4 mm farther aside."""
    found = list(_spots(name("12345678", 40, 50, 60, 54)))  # eight letters of 1.55 mm
    assert found == [
        pytest.approx((x, y, x + 12.4, y + 3.1))
        for down, aside in ((0.5, 0.5), (3.6, 4.5), (6.7, 8.5))
        for x, y in (
            (43.8, 54 + down), (43.8, 46.9 - down), (60 + aside, 50.45), (27.6 - aside, 50.45),
            (60 + aside, 54 + down), (27.6 - aside, 54 + down), (60 + aside, 46.9 - down), (27.6 - aside, 46.9 - down),
        )
    ]  # fmt: skip


def test_a_name_may_reach_the_very_edge_of_the_paper():
    """Four letters are 6.2 mm: below a shape whose middle is 3.2 mm from the edge they begin at 0.1 mm."""
    (box,) = placed([name("1234", 0.4, 50, 6.0, 54)])
    assert box == pytest.approx((0.1, 54.5, 6.3, 57.6))
    (box,) = placed([name("1234", 50, 3.7, 60, 8)], [(45, 8.5, 65, 12)])
    assert box == pytest.approx((51.9, 0.1, 58.1, 3.2))
    (box,) = placed([name("1234", 174.0, 50, 179.6, 54)])
    assert box == pytest.approx((173.7, 54.5, 179.9, 57.6))
