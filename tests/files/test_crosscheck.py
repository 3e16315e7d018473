"""Do features hold together? Each bound told on both sides, by hand."""

from __future__ import annotations

from types import SimpleNamespace

import pytest
from shapely import LineString, Point, box

from siteplan.files.crosscheck import (
    _half_year_on,
    _season_fault,
    check_boundary,
    check_features,
    check_one_boundary,
    check_settings,
    note_heights,
    sound_season,
)
from siteplan.files.remarks import Remarks
from siteplan.land.features import Bed, Building, Door, Fence, Gate, Hedge, Keepout, MonthDay, Pile, Tap, Tree
from siteplan.land.layers import COARSE, LayerSpec
from siteplan.land.site import Season

LOT = box(0, 0, 20, 20)


def said(*features, boundary=LOT):
    remarks = Remarks()
    check_features(boundary, features, "f.geojson", remarks)
    return [f"{one.where}: {one.text}" for one in remarks.faults] + [
        f"{one.feature}: {one.text}" for one in remarks.all_cautions()
    ]


def bed(west=5.0, south=5.0, length=2.0, width=1.0, **more):
    return Bed(**{"id": "b", "outline": box(west, south, west + length, south + width), "height": 0.4} | more)


def edge(width, length, cell=1.0):
    remarks = Remarks()
    check_boundary(
        box(100, 200, 100 + width, 200 + length),
        SimpleNamespace(sun=SimpleNamespace(cell=cell)),
        "f.geojson",
        remarks,
    )
    return "".join(one.text for one in remarks.faults)


def test_how_small_and_how_large_a_property_may_be():
    assert edge(1.0, 1.01) == ""
    assert edge(0.9, 1.0) == "encloses 0.9 m2; is it drawn in the right unit?"
    assert edge(3000, 10) == ""
    assert edge(10, 3001).startswith("is 3 km across, must be at most 3 km")
    assert edge(1000, 1000, 0.32) == ""  # 9.8 million cells
    assert edge(2500, 1000, 0.5) == ""  # ten million
    assert edge(1000, 1000, 0.3).endswith(
        "which makes 11 million cells; over this property it must be at least 0.32 m"
    )


def test_a_bed_lies_within_the_boundary_to_a_centimetre():
    assert said(bed(west=-0.009)) == []
    assert said(bed(west=-0.5)) == [
        'bed "b": lies 25% outside the boundary; move it inside, or draw the boundary around it'
    ]
    assert "lies outside the boundary" in said(bed(west=-8))[0]
    assert said(bed(west=-8), boundary=None) == []


def test_a_bed_is_reached_to_its_middle():
    assert said(bed(width=1.61)) == []
    assert said(bed(length=1.61, width=9.0)) == []
    assert "It is wider than 1.6 m in places" in said(bed(width=1.64))[0]


def test_the_walls_of_a_bed_leave_room():
    assert said(bed(wall_thickness=0.49)) == []
    assert "its walls of 51 cm leave no room inside" in said(bed(wall_thickness=0.51))[0]
    assert "is filled and proposed" in said(bed(filled=True, proposed=True))[0]


@pytest.mark.parametrize(("other", "word"), [
    (Building(id="o", outline=box(6.98, 5, 9, 6), height=3), 'lies on building "o"'),
    (Hedge(id="o", outline=box(6.98, 5, 9, 6), height=1), 'It lies on hedge "o"'),
    (Keepout(id="o", outline=box(6.98, 5, 9, 6), reason="drain"), 'It lies on keepout "o" ("drain")'),
    (Fence(id="o", line=LineString([(6.99, 5), (6.99, 6)]), height=1), 'fence "o" runs through it'),
    (Tree(id="o", outline=Point(8, 5.5).buffer(2), trunk=Point(6.9, 5.5), height=5, crown_base=1), 'trunk of tree "o" stands in it'),
    (bed(west=6.98, id="o"), 'lies on bed "o"; beds must not overlap'),
])  # fmt: skip
def test_what_a_bed_may_not_lie_on(other, word):
    """Two centimetres of a metre are 0.02 m2, twice what two outlines may share."""
    told = said(bed(), other)
    assert len(told) == 1
    assert word.replace('("drain")', "") in told[0].replace('("drain")', "").replace("('drain')", "")


@pytest.mark.parametrize("other", [
    Building(id="o", outline=box(6.995, 5, 9, 6), height=3), Hedge(id="o", outline=box(6.995, 5, 9, 6), height=1),
    Building(id="o", outline=box(4, 4, 9, 7), height=3, base=0.4),  # a roof above it
    Tree(id="o", outline=Point(8, 5.5).buffer(2), trunk=Point(7.1, 5.5), height=5, crown_base=1),
    bed(west=6.995, id="o"),
])  # fmt: skip
def test_what_a_bed_may_lie_beside_or_under(other):
    assert said(bed(), other) == []


def test_what_lies_outside_is_told():
    assert said(Tap(id="t", place=Point(20.009, 5)), Pile(id="p", shape=box(19, 19, 23, 23))) == []
    assert said(Door(id="d", place=Point(20.5, 5))) == [
        "d: It lies 50 cm outside the boundary; no way to it is looked for."
    ]
    assert "2.00 m outside" in said(Pile(id="p", shape=Point(22, 5)))[0]


def test_a_pile_in_a_house_is_told_and_under_a_roof_is_not():
    pile = Pile(id="p", shape=Point(5, 5))
    assert 'It lies inside building "h"' in said(pile, Building(id="h", outline=box(4, 4, 6, 6), height=3))[0]
    assert said(pile, Building(id="h", outline=box(4, 4, 6, 6), height=3, base=2)) == []
    assert said(pile, Building(id="h", outline=box(6, 4, 8, 6), height=3)) == []


FENCE = Fence(id="f", line=LineString([(0, 10), (20, 10)]), height=1.5)


def gate(place, start, end):
    return Gate(id="g", place=Point(place), line=LineString([start, end]), width=1.0)


def test_a_gate_stands_in_a_fence():
    assert said(FENCE, gate((5, 10), (4.5, 10), (5.5, 10))) == []
    assert said(FENCE, gate((5, 10.29), (4.5, 10), (5.5, 10))) == []
    assert (
        'It is drawn 35 cm off fence "f" and is taken to stand in it'
        in said(FENCE, gate((5, 10.35), (4.5, 10), (5.5, 10)))[0]
    )
    assert "It is on no fence, hedge or wall" in said(FENCE, gate((5, 12), (4.5, 12), (5.5, 12)))[0]
    # across the fence, with less than half of it within 0.3 m, it opens nothing
    assert "It is on no fence" in said(FENCE, gate((5, 10), (5, 9.2), (5, 10.8)))[0]
    assert said(FENCE, gate((5, 10), (5, 9.5), (5, 10.5))) == []


def test_a_gate_bridges_the_gap_between_a_fence_and_a_house():
    fence = Fence(id="f", line=LineString([(0, 10), (4, 10)]), height=1.5)
    house = Building(id="h", outline=box(6, 8, 9, 12), height=5)
    assert said(fence, house, gate((5, 10), (4, 10), (6, 10))) == []
    assert "It is on no fence" in said(fence, house, gate((5, 10), (4, 10), (5.6, 10)))[0]


def test_what_is_drawn_twice_and_what_is_a_speck():
    tap = Tap(id="t", place=Point(5, 5))
    assert said(tap, Tap(id="u", place=Point(5, 5))) == ['u: It is drawn on the same spot as "t"; is it there twice?']
    assert said(tap, Door(id="u", place=Point(5, 5))) == []
    speck = Building(id="s", outline=box(5, 5, 5.0009, 5.0009), height=3)
    assert "smaller than a square millimetre" in said(speck)[0]
    assert said(Building(id="s", outline=box(5, 5, 5.0011, 5.0011), height=3)) == []


def days(last, first):
    return Season(last_frost=MonthDay(*last), first_frost=MonthDay(*first))


@pytest.mark.parametrize(("last", "first", "latitude", "words"), [
    ((4, 15), (10, 15), 50, ""), ((7, 15), (7, 16), 50, ""), ((1, 2), (12, 30), 50, ""), ((2, 1), (1, 15), 50, ""),
    ((10, 15), (4, 15), -40, ""), ((1, 15), (1, 16), -40, ""), ((7, 2), (6, 30), -40, ""),
    ((10, 15), (4, 15), 50, "swap them?"), ((4, 15), (10, 15), -40, "swap them?"),
    ((7, 16), (10, 15), 50, "last_frost is 07-16"), ((4, 15), (7, 15), 50, "first_frost is 07-15"),
    ((4, 15), (4, 15), 50, "has one day"), ((4, 15), (4, 15), 10, "has one day"),
    ((10, 15), (4, 15), 23.44, ""), ((10, 15), (4, 15), 23.45, "swap them?"), ((4, 15), (10, 15), -23.44, ""),
    ((2, 10), (1, 31), 50, ""), ((1, 10), (1, 20), 50, "first_frost is 01-20"),
])  # fmt: skip
def test_frost_dates_of_either_half_of_the_earth(last, first, latitude, words):
    got = _season_fault(days(last, first), latitude)
    assert words in got
    assert bool(got) == bool(words)


def test_half_a_year_on():
    got = [_half_year_on(MonthDay(month, 30), south=True) for month in (1, 3, 6, 7, 12)]
    assert got == [MonthDay(month, 29) for month in (7, 9, 12, 1, 6)]
    assert _half_year_on(MonthDay(3, 5), south=False) == MonthDay(3, 5)


def test_a_season_that_nobody_gives_is_that_of_the_hemisphere():
    for latitude, season in (
        (50.0, days((4, 15), (10, 15))),
        (-0.1, days((10, 15), (4, 15))),
        (0.0, days((4, 15), (10, 15))),
    ):
        remarks = Remarks()
        assert sound_season(SimpleNamespace(season=None), latitude, remarks) == season
        assert [one.code for one in remarks.cautions] == ["season-assumed"]


def test_there_is_exactly_one_boundary():
    def noted(*names):
        remarks = Remarks()
        drawn = [SimpleNamespace(kind="boundary", id=name) for name in names] + [SimpleNamespace(kind="bed", id="b")]
        check_one_boundary(drawn, "f.geojson", remarks)
        return [one.text for one in remarks.faults]

    assert noted("lot") == []
    assert noted() == ["has no boundary; draw one Polygon of kind boundary around the property"]
    assert noted("lot", "yard") == ['has 2 boundaries ("lot", "yard"), must have exactly one']
    assert noted("a", "b" * 61, "c") == [f'has 3 boundaries ("a", "{"b" * 60}", "c"), must have exactly one']


def test_the_finest_cell_of_a_large_property():
    """2 km by 2 km at 0.25 m are 64 million cells, 6.4 times too many: 0.25 m times the root of 6.4, rounded up."""
    assert edge(2000, 2000, 0.25) == (
        "cell is 0.25 m, which makes 64 million cells; over this property it must be at least 0.64 m"
    )


def test_beds_may_touch_but_not_overlap():
    assert said(bed(), bed(id="c", west=6.995)) == []  # half a centimetre of a metre: 0.005 m2
    assert said(bed(), bed(id="c", west=6.95)) == ['bed "b": lies on bed "c"; beds must not overlap']


def test_a_gate_with_one_end_at_a_post_opens_nothing_unless_half_of_it_is_at_the_fence():
    """Within 0.3 m of the fence's end at x = 4: of 2 m from x = 3.9 on 0.4 m, of 0.8 m half and more."""
    fence = Fence(id="f", line=LineString([(0, 10), (4, 10)]), height=1.5)
    for ends in (((3.9, 10), (5.9, 10)), ((5.9, 10), (3.9, 10))):
        assert "It is on no fence" in said(fence, gate((4, 10), *ends))[0]
    for ends in (((3.9, 10), (4.65, 10)), ((4.65, 10), (3.9, 10))):
        assert said(fence, gate((4, 10), *ends)) == []


def settled(*, stock=(), offers=(), layers=("soil",), beds=(), length=2.4, width=1.2, drawn=(), others=(), coarse=()):
    """Return what is noted of settings; each stock is a material and a pile, each offer a material."""
    recipe = SimpleNamespace(
        layers=[SimpleNamespace(parts=((name, 1.0),)) for name in layers],
        layers_at=lambda _: [SimpleNamespace(parts=((name, 1.0),)) for name in layers],
    )
    trade = SimpleNamespace(
        stock=[SimpleNamespace(material=material, at=at) for material, at in stock],
        offers=[SimpleNamespace(material=material, mix=mix) for material, *mix in offers],
        materials={material: SimpleNamespace(coarse_organic=material in coarse) for material, _ in stock},
        recipe=recipe,
    )
    remarks = Remarks()
    settings = SimpleNamespace(trade=trade, place=SimpleNamespace(length=length, width=width))
    check_settings(settings, (*beds, *others), drawn, remarks)
    return [f"{one.where}: {one.text}" for one in remarks.faults] + [one.text for one in remarks.all_cautions()]


def test_stock_lies_at_a_pile_that_is_drawn():
    offers = [("soil",)]

    def noted(at, **more):
        return settled(
            stock=[("soil", "heap"), ("soil", at)], offers=offers, **({"drawn": ("heap", "bin by gate")} | more)
        )

    assert noted("bin by gate") == []
    assert noted("bin by gat") == ["[[stock]] 2: there is no pile 'bin by gat'; did you mean 'bin by gate'?"]
    assert noted("zzz") == ["[[stock]] 2: there is no pile 'zzz'; piles are bin by gate, heap"]
    tap = Tap(id="tap", place=Point(5, 5))
    assert noted("tap", others=(tap,)) == ["[[stock]] 2: there is no pile 'tap'; that is a tap; draw a pile there"]
    (alike,) = noted("he\u200bap")
    assert "one looks the same and differs by U+200B" in alike
    assert alike.startswith("[[stock]] 2: ")
    assert settled(stock=[("soil", "x")], offers=offers) == [
        "[[stock]] 1: there is no pile 'x'; piles are not drawn at all"
    ]


def test_what_the_recipe_wants_must_be_at_hand():
    want = "The recipe wants sand, soil, but there is neither [[stock]] nor [[offer]] of it."
    assert settled(layers=("soil", "sand")) == [want]
    assert settled(layers=("soil", "sand"), offers=[("soil",), ("sand",)]) == []
    assert settled(layers=("soil", "sand"), offers=[("blend", ("soil", 0.5), ("sand", 0.5))]) == []
    assert settled(layers=("soil",), stock=[("soil", "heap")], drawn=("heap",)) == []


def test_one_coarse_material_at_hand_is_enough_for_the_base():
    stock = [("soil", "heap"), ("logs", "heap")]
    assert settled(layers=("soil", COARSE), stock=stock, drawn=("heap",), coarse=("logs",)) == []
    assert settled(layers=("soil", COARSE), stock=stock, drawn=("heap",)) == [
        f"The recipe wants {COARSE}, but there is neither [[stock]] nor [[offer]] of it."
    ]


def test_beds_that_are_full_want_nothing():
    """Their own layers and those of beds that are full do not count, unless there is no other bed."""
    own = bed(layers=(LayerSpec(material="ash", fraction=1.0),))
    assert settled(layers=("soil",), beds=(own,), offers=[("ash",)]) == []
    assert "wants soil" in settled(layers=("soil",), beds=(bed(filled=True),))[0]
    assert settled(layers=("soil",), beds=(own, bed(filled=True)), offers=[("ash",)]) == []


@pytest.mark.parametrize(("length", "width", "wide"), [
    (4.0, 1.6, False), (4.0, 1.6099, False), (4.0, 1.62, True), (1.62, 4.0, True), (1.6, 4.0, False)
])  # fmt: skip
def test_a_bed_to_look_for_is_reached_to_its_middle(length, width, wide):
    noted = settled(offers=[("soil",)], length=length, width=width)
    assert [one.startswith("[place] asks for a bed of ") for one in noted] == [True] * wide


def test_each_tolerance_ends_where_it_says():
    """A centimetre over the boundary, 100 cm2 of overlap, and 30 cm off a fence; each a twentieth more is too much."""
    assert said(bed(west=-0.0099)) == []
    assert len(said(bed(west=-0.0105))) == 1
    assert said(bed(), bed(id="c", west=6.9901)) == []
    assert len(said(bed(), bed(id="c", west=6.9895))) == 1
    assert said(FENCE, gate((5, 10.299), (4.5, 10), (5.5, 10))) == []
    assert len(said(FENCE, gate((5, 10.315), (4.5, 10), (5.5, 10)))) == 1


def test_coordinates_with_heights_are_told_once():
    def noted(*shapes):
        remarks = Remarks()
        drawn = [SimpleNamespace(id=f"f{number}", shape=shape) for number, shape in enumerate(shapes)]
        note_heights(drawn, remarks)
        return [(one.code, one.feature, one.text) for one in remarks.all_cautions()]

    flat, high = Point(1, 2), Point(1, 2, 3)
    text = "Its coordinates have heights, which are not used: height and terrain say how high things are."
    assert noted(flat, None) == []
    assert noted(flat, high) == [("heights-not-used", "f1", text)]
    assert noted(high, None, high, flat, high) == [("heights-not-used", "f0", f"{text} So are those of 2 more.")]
