"""What blocks a barrow, how near its middle comes, and which gates let it pass. By hand."""

from __future__ import annotations

import dataclasses

import pytest
from shapely import LineString, Point, box

from siteplan.land.barriers import (
    gate_passes,
    gates_crossed,
    missing_width,
    narrow_gates,
    passage,
    standing_barriers,
)
from siteplan.land.features import Bed, Building, Fence, Gate, Hedge, Keepout, Tree
from siteplan.land.site import Barrow

BARROW = Barrow(width=0.6, clearance=0.15)  # half of it and the clearance: 0.45 m; a gate of 0.9 m just fits


@pytest.fixture(scope="module")
def bare_yard(tiny_yard):
    return dataclasses.replace(tiny_yard, buildings=(), trees=(), fences=(), gates=(), piles=(), beds=())


def gate(width, name="gate", x=0.0):
    line = LineString([(x - width / 2, 0), (x + width / 2, 0)])
    return Gate(id=name, place=Point(x, 0), line=line, width=width)


def barriers(yard, **features):
    return standing_barriers(dataclasses.replace(yard, **features), BARROW)


@pytest.mark.parametrize(("base", "blocks"), [(0.0, True), (1.99, True), (2.0, False), (2.5, False)])
def test_under_a_roof_or_a_fence_of_two_metres_a_barrow_passes(bare_yard, base, blocks):
    building = Building(id="b", outline=box(0, 0, 2, 2), height=4, base=base)
    fence = Fence(id="f", line=LineString([(-5, 3), (5, 3)]), height=4, base=base)
    found = barriers(bare_yard, buildings=(building,), fences=(fence,))
    assert [one.kind for one in found] == (["building", "fence"] if blocks else [])


def test_hard_edges_keep_the_clearance_and_soft_ones_do_not(bare_yard):
    found = barriers(
        bare_yard,
        buildings=(Building(id="b", outline=box(0, 0, 2, 2), height=4),),
        hedges=(Hedge(id="h", outline=box(3, 0, 4, 2), height=1),),
        beds=(Bed(id="bed", outline=box(-4, 0, -3, 2), height=0.4),),
        keepouts=(Keepout(id="k", outline=box(-4, -3, -3, -2), reason="pond", setback=1.0),),
        trees=(
            Tree(
                id="oak",
                outline=Point(0, -3).buffer(1),
                trunk=Point(0, -3),
                height=6,
                crown_base=2,
                trunk_diameter=0.5,
            ),
            Tree(id="bush", outline=Point(3, -3).buffer(1), trunk=Point(3, -3), height=2, crown_base=0.59),
            Tree(id="apple", outline=Point(5, -3).buffer(1), trunk=Point(5, -3), height=4, crown_base=0.6),
        ),
    )
    told = [(one.kind, one.id, one.reach) for one in found]
    assert told == [
        ("building", "b", pytest.approx(0.45)), ("hedge", "h", pytest.approx(0.45)), ("tree", "oak", pytest.approx(0.45)),
        ("tree", "bush", pytest.approx(0.45)), ("tree", "bush", pytest.approx(0.3)), ("tree", "apple", pytest.approx(0.45)),
        ("bed", "bed", pytest.approx(0.45)), ("keepout", "k", pytest.approx(0.3)),
    ]  # fmt: skip
    across = [one.shape.bounds[2] - one.shape.bounds[0] for one in found]
    # trunks as they are measured, or 0.3 m; a bush's leaves; a keepout as it is drawn
    assert across == pytest.approx([2, 1, 0.5, 0.3, 2, 0.3, 1, 1])
    assert [one.id for one in standing_barriers(bare_yard, BARROW, without=["b"])] == []


def test_what_is_left_out_blocks_nothing(bare_yard):
    site = dataclasses.replace(bare_yard, hedges=(Hedge(id="h", outline=box(3, 0, 4, 2), height=1),))
    assert standing_barriers(site, BARROW, without=["h"]) == ()


@pytest.mark.parametrize(
    ("width", "passes", "missing"), [(0.9, True, 0), (0.89, False, 0.01), (1.5, True, 0), (0.6, False, 0.3)]
)
def test_a_gate_lets_the_barrow_pass_with_its_clearance(bare_yard, width, passes, missing):
    assert gate_passes(gate(width), BARROW) is passes
    assert missing_width(gate(width), BARROW) == pytest.approx(missing, abs=1e-12)
    site = dataclasses.replace(bare_yard, gates=(gate(width),), barrow=BARROW)
    told = [(one.code, one.feature, dict(one.figures)) for one in narrow_gates(site)]
    expected = {"width": width, "need": pytest.approx(0.9)}
    assert told == ([] if passes else [("gate-too-narrow", "gate", expected)])


def test_a_fence_is_open_where_the_barrow_fits_through_its_gate(bare_yard):
    fence = Fence(id="f", line=LineString([(-5, 0), (5, 0)]), height=1, thickness=0.1)
    (shut,) = barriers(bare_yard, fences=(fence,), gates=(gate(0.8),))
    (wide,) = barriers(bare_yard, fences=(fence,), gates=(gate(1.0),))
    assert (shut.shape.area, wide.shape.area) == pytest.approx((1.0, 0.9))


@pytest.mark.parametrize(("width", "cell", "room"), [
    (1.5, 0.1, 0.3), (0.9, 0.1, 0.0707), (0.9, 0.4, 0.2828), (1.1, 0.1, 0.1), (1.1, 0.2, 0.1414),
])  # fmt: skip
def test_the_way_through_a_gate_is_its_width_less_the_barrow_or_a_row_of_cells(bare_yard, width, cell, room):
    fence = Fence(id="f", line=LineString([(-5, 0), (5, 0)]), height=1, thickness=0.1)
    axis, wide = passage(dataclasses.replace(bare_yard, fences=(fence,)), gate(width), BARROW, cell=cell)
    assert wide == pytest.approx(room, abs=1e-4)
    # through the fence of 0.1 m, and beyond it on either side the barrow's reach and two cells
    assert axis.length == pytest.approx(2 * (0.45 + 2 * cell), abs=0.25)
    assert axis.bounds[0] == pytest.approx(axis.bounds[2]) == pytest.approx(0)


def test_gates_are_told_in_the_order_in_which_they_are_gone_through(bare_yard):
    upper = Gate(id="upper", place=Point(0, 2), line=LineString([(-1, 2), (1, 2)]), width=2)
    site = dataclasses.replace(bare_yard, gates=(gate(2.0, "lower"), upper, gate(1.0, "aside", x=4)))
    up = LineString([(0.2, -4), (0.2, 4)])
    assert gates_crossed(site, (up,)) == ("lower", "upper")
    assert gates_crossed(site, (up.reverse(), up)) == ("upper", "lower")
    assert gates_crossed(site, (LineString([(0, -4), (0, 1)]), up)) == ("lower", "upper")
    assert gates_crossed(site, ()) == ()
