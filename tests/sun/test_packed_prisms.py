"""Prisms as flat arrays, and what is sound and convex in an outline: by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from shapely import MultiPoint, Point, Polygon, box

from siteplan.land.outline import SAME_POINT, SPECK
from siteplan.sun.obstacles.bodies import Body, attenuation
from siteplan.sun.obstacles.convex_pieces import _is_convex, _merged, _turn, convex_rings
from siteplan.sun.obstacles.outline_repair import _unsound, sound_prisms
from siteplan.sun.obstacles.packed_prisms import Pieces, _circle, join_packed, pack, select_bodies
from siteplan.sun.obstacles.prisms import Prism

LEAVES = {"part": "crown", "transmittance_leafy": 0.2, "transmittance_path": 3.0}
SHED = Prism(outline=box(2, 1, 5, 3), bottom=0.5, top=2.0, owner="shed")
ROOF = Prism(
    outline=Polygon([(-4, 6), (-2, 6), (-2, 8)]), bottom=0, top=4.0, owner="roof", top_plane=(0.25, 0.5, 0.5)
)
ELL = Prism(outline=box(0, 0, 4, 4).difference(box(2, 2, 4, 4)), bottom=0, top=1.5, owner="ell")
PINE = Prism(outline=Point(20, 0).buffer(1.0, quad_segs=8), bottom=1, top=4, owner="pine", **LEAVES)
TIP = Prism(outline=Point(20, 0).buffer(0.5, quad_segs=8), bottom=4, top=5, owner="pine", **LEAVES)
GLASS = Prism(outline=box(9, 9, 10, 10), bottom=0, top=2, owner="glass", transmittance_leafy=0.5)


def test_a_box_and_a_slanted_triangle():
    pieces, bodies = pack((SHED, ROOF))
    assert [body.owner for body in bodies] == ["shed", "roof"]
    assert pieces.start.tolist() == [0, 4, 7]
    rings = [list(zip(pieces.x[a:b].tolist(), pieces.y[a:b].tolist(), strict=True)) for a, b in ((0, 4), (4, 7))]
    assert set(rings[0]) == {(2, 1), (5, 1), (5, 3), (2, 3)}
    assert set(rings[1]) == {(-4, 6), (-2, 6), (-2, 8)}
    assert all(Polygon(ring).exterior.is_ccw for ring in rings)
    assert pieces.bottom.tolist() == [0.5, 0.0]
    assert pieces.top.tolist() == [2.0, 4.0]
    assert pieces.plane.tolist() == [[0, 0, 2], [0.25, 0.5, 0.5]]
    assert (pieces.slanted.tolist(), pieces.opaque.tolist(), pieces.leaves.tolist()) == (
        [False, True],
        [True, True],
        [False, False],
    )
    assert pieces.body.tolist() == [0, 1]
    # about the middle of the box around each
    assert (pieces.centre_x.tolist(), pieces.centre_y.tolist()) == ([3.5, -3.0], [2.0, 7.0])
    assert pieces.radius == pytest.approx([math.hypot(1.5, 1), math.sqrt(2)])
    assert pieces.round.tolist() == [0.0, 0.0]
    kite = Prism(outline=Polygon([(0, 0), (4, 0), (1, 1)]), bottom=0, top=1, owner="kite")
    assert pack((SHED, kite))[0].radius[1] == pytest.approx(math.hypot(2, 0.5))  # the third corner lies nearer


def test_pieces_of_one_body_follow_each_other():
    pieces, bodies = pack((PINE, ELL, GLASS, TIP))
    assert [body.owner for body in bodies] == ["pine", "ell", "glass"]
    assert pieces.body.tolist() == [0, 0, 1, 1, 2]
    assert pieces.top.tolist() == [4, 5, 1.5, 1.5, 2]
    assert pieces.leaves.tolist() == [True, True, False, False, False]
    assert pieces.opaque.tolist() == [False, False, True, True, False]
    assert pieces.round[2:].tolist() == [0, 0, 0]
    # circles of the area of 32 sides: 16 sin(11.25 degrees) r2
    share = math.sqrt(16 * math.sin(math.radians(11.25)) / math.pi)
    assert pieces.round[:2] == pytest.approx([share, 0.5 * share])
    assert pieces.centre_x[:2] == pytest.approx([20, 20])
    assert pieces.radius[:2] == pytest.approx([1.0, 0.5])
    nothing, nobody = pack(())
    assert nobody == ()
    assert [np.shape(array) for array in nothing] == [
        (1,), (0,), (0,), (0,), (0,), (0, 3), (0,), (0,), (0,), (0,), (0,), (0,), (0,), (0,),
    ]  # fmt: skip


def alike(one, other):
    assert one[1] == other[1]
    for name in Pieces._fields:
        first, second = getattr(one[0], name), getattr(other[0], name)
        assert first.dtype == second.dtype, name
        assert first.tolist() == second.tolist(), name


def test_some_bodies_of_a_pack_and_several_packs_in_one():
    every = pack((PINE, ELL, GLASS, TIP, ROOF))
    alike(select_bodies(every, np.array([0, 2])), pack((PINE, TIP, GLASS)))
    alike(select_bodies(every, np.array([1, 3])), pack((ELL, ROOF)))
    alike(join_packed([pack((PINE, TIP)), pack((ELL,)), pack((GLASS, ROOF))]), every)
    assert join_packed([every]) is every


def sides(count, radius):
    """Return the corners of a regular polygon about (3, -4), counterclockwise."""
    angle = 2 * np.pi * np.arange(count) / count + 0.3
    return np.column_stack([3 + radius * np.cos(angle), -4 + radius * np.sin(angle)])


@pytest.mark.parametrize(("count", "radius", "is_round"), [
    # a corner lies 1 - sqrt(n sin(2 pi / n) / 2 pi) of the radius beyond the circle of the same area: 5.12 % of 8 sides
    (8, 0.58, True), (8, 0.60, False), (16, 1.0, True), (16, 2.3, True), (16, 2.4, False), (7, 0.3, False), (9, 0.5, True),
])  # fmt: skip
def test_what_is_nearly_a_circle(count, radius, is_round):
    x, y, found = _circle(sides(count, radius))
    area = count / 2 * math.sin(2 * math.pi / count) * radius**2
    assert found == pytest.approx(math.sqrt(area / math.pi) if is_round else 0.0)
    if count >= 8:
        assert (x, y) == pytest.approx((3, -4))


def test_a_flat_side_makes_no_circle():
    # three corners of 36 are missing: the middle of that side lies 0.04 m within, its corners hardly
    ring = np.delete(sides(36, 0.8), [5, 6, 7], axis=0)
    x, y, radius = _circle(ring)
    assert radius == 0.0
    middle = Polygon(ring).centroid
    assert (x, y) == pytest.approx((middle.x, middle.y))
    lopsided = MultiPoint(sides(20, 2.0) * [1, 0.4]).union(Point(9, 5)).convex_hull
    lopsided = shapely.get_coordinates(shapely.orient_polygons(lopsided))[:-1]
    assert len(lopsided) > 8
    middle = Polygon(lopsided).centroid
    assert _circle(lopsided) == pytest.approx((middle.x, middle.y, 0.0))


def test_what_is_convex():
    assert _is_convex(box(0, 0, 1, 1))
    assert not _is_convex(ELL.outline)
    assert not _is_convex(Polygon([(0, 0), (0.5, 1e-5), (1, 0), (1, 1), (0, 1)]))  # a dent, hardly longer
    assert not _is_convex(Polygon([(0, 0), (0.5, 0), (0.5, 0.5), (0.5 + 1e-10, 0), (1, 0), (1, 1), (0, 1)]))  # a slit
    assert _is_convex(Polygon([(0, 0), (0.5, 1e-10), (1, 0), (1, 1), (0, 1)]))  # rounding
    assert _is_convex(Polygon([(0, 0), (0.5, 0), (0.5, 4e-10), (0.5 + 1e-9, 0), (1, 0), (1, 1), (0, 1)]))


def test_convex_pieces_of_an_outline():
    assert convex_rings(Polygon()) == []
    assert convex_rings(box(0, 0, 2, 1))[0].tolist() == [[2, 0], [2, 1], [0, 1], [0, 0]]
    court = convex_rings(box(0, 0, 3, 3).difference(box(1, 1, 2, 2)))
    assert sum(Polygon(ring).area for ring in court) == pytest.approx(8)
    assert len(court) <= 8


def test_two_rings_are_joined_if_both_corners_turn_left_or_not_at_all():
    left = [(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)]

    def joined(*right):
        return _merged(left, [(2.0, 1.0), (1.0, 1.0), (1.0, 0.0), *right], (1.0, 0.0), (1.0, 1.0))

    assert joined((2.0, 0.0)) == [(1, 1), (0, 1), (0, 0), (1, 0), (2, 0), (2, 1)]
    assert joined((1.9, 0.1)) == [(1, 1), (0, 1), (0, 0), (1, 0), (1.9, 0.1), (2, 1)]
    assert joined((2.0, -0.1)) is None  # a right turn at (1, 0)
    above = _merged(left, [(2.0, 1.1), (1.0, 1.0), (1.0, 0.0), (2.0, 0.2)], (1.0, 0.0), (1.0, 1.0))
    assert above is None  # and at (1, 1)
    assert _turn((1.0, 2.0), (3.0, 3.0), (2.0, 6.0)) == 2 * 3 - 1 * -1
    assert _turn((1.0, 2.0), (3.0, 3.0), (6.0, 1.0)) == 2 * -2 - 1 * 3


def test_what_must_be_repaired():
    assert (SAME_POINT, SPECK) == (1e-6, 1e-6)
    notched = [(0, 0), (4, 0), (4, 2), (2, 2), (2, 4), (0, 4)]
    outlines = {
        "box": (box(0, 0, 1, 1), False),
        "begins where the last one ended": (Polygon([(0.0, 0), (3, 0), (3, 1)]), False),
        "crosses itself": (Polygon([(0, 0), (1, 1), (1, 0), (0, 1)]), True),
        "speck": (box(0, 0, 5e-4, 5e-4), True),
        "thin": (box(0, 0, 3, 1.5e-6), True),  # 4.5e-6 m2 on a perimeter of 6 m
        "narrow": (box(0, 0, 3, 3e-6), False),
        "a corner twice": (Polygon([(0, 0), (2, 0), (2, 5e-7), (2, 2), (0, 2)]), True),
        "corners apart": (Polygon([(0, 0), (2, 0), (2, 2e-6), (2, 2), (0, 2)]), False),
        "notched": (Polygon(notched), False),
        "a corner on a side": (Polygon([*notched[:3], (2, 5e-7), *notched[4:]]), True),
        "a corner off a side": (Polygon([*notched[:3], (2, 2e-6), *notched[4:]]), False),
        "a dent and a corner on a side": (Polygon([(0, 0), (2, 0), (2, 1), (1, 5e-7), (0, 1)]), True),
        "a slit": (Polygon([(0, 0), (50, 0), (50, 0.5), (50 + 5e-7, 0), (100, 0), (100, 100), (0, 100)]), True),
    }
    found = _unsound(np.array([outline for outline, _ in outlines.values()], dtype=object))
    assert dict(zip(outlines, found.tolist(), strict=True)) == {name: to for name, (_, to) in outlines.items()}


def test_sound_prisms_stay_and_others_are_repaired_in_their_place():
    doubled = Prism(outline=Polygon([(0, 0), (2, 0), (2, 5e-7), (2, 2), (0, 2)]), bottom=0, top=1, owner="doubled")
    tie = Prism(outline=Polygon([(0, 0), (2, 2), (2, 0), (0, 2)]), bottom=0, top=1, owner="tie")
    speck = Prism(outline=box(0, 0, 2e-5, 2e-5), bottom=0, top=1, owner="speck")
    found = sound_prisms((SHED, doubled, ELL, tie, speck))
    assert [one.owner for one in found] == ["shed", "doubled", "ell", "tie", "tie"]
    assert found[0] is SHED
    assert found[2] is ELL
    assert len(found[1].outline.exterior.coords) == 5
    assert found[1].outline.symmetric_difference(box(0, 0, 2, 2)).area < 5e-6
    assert [one.outline.area for one in found[3:]] == pytest.approx([1, 1])
    assert sound_prisms((SHED, ELL)) == [SHED, ELL]


def test_leaves_that_take_nothing_when_bare():
    crop = Body("bed", "crop", 0.2, 1.0, 100, 200, 1.5)
    found = attenuation([crop], [50, 150], 2)
    assert found.extinction[:, found.state] == pytest.approx(np.array([[0.0, -math.log(0.2) / 1.5]]))
    assert not Body("bed", "crop", 0.0, 1.0, 100, 200).always_opaque
    assert Body("bed", "crop", 0.0, 1.0, 100, 200, 1.5).is_leaves
