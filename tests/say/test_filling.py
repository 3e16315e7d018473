"""The filling in words: lifts, frames, blends, what a layer comes as, water and the coarse base. By hand."""

from __future__ import annotations

from types import SimpleNamespace

import pytest
from shapely import box

from siteplan.fill.fill_results import Layer, PurchaseLine, Supply
from siteplan.land.features import Bed
from siteplan.land.layers import LOW_BELOW, LayerSpec
from siteplan.land.site import Barrow
from siteplan.say import filling as said


def layer(order, bottom, top, material="soil", **more):
    return Layer(
        bed="bed", order=order, material=material, bottom=bottom, top=top, volume=0.1, mass=1.0, settled=0.1, **more
    )


COARSE = layer(0, 0.0, 0.1, "bark")
MIX = (layer(1, 0.1, 0.3, blend="mix", lifts=4), layer(2, 0.3, 0.4, "compost", blend="mix", lifts=4),
       layer(3, 0.4, 0.5, "sand", blend="mix", lifts=4))  # fmt: skip
TOP = layer(4, 0.5, 0.62, lifts=2)
LAYERS = [COARSE, *MIX, TOP]


def test_lifts_are_as_thick_as_a_layer_or_its_whole_blend():
    """The blend from 10 to 50 cm in four lifts of 10 cm; 12 cm in two of 6 cm."""
    assert [said.lifts_text(one, LAYERS, "metric") for one in LAYERS] == [
        "",
        *["in 4 lifts of 10 cm"] * 3,
        "in 2 lifts of 6 cm",
    ]


def test_a_part_of_a_blend_has_the_mark_of_the_whole():
    assert [said._mark(one, LAYERS) for one in LAYERS] == [0.1, 0.5, 0.5, 0.5, 0.62]


def test_a_blend_may_lie_at_the_bottom_or_at_the_brim():
    ends = [
        layer(0, 0.0, 0.1, blend="a"),
        layer(1, 0.1, 0.2, blend="a"),
        layer(2, 0.2, 0.3, blend="b"),
        layer(3, 0.3, 0.4, blend="b"),
    ]
    assert [said._mark(one, ends) for one in ends] == [0.2, 0.2, 0.4, 0.4]
    assert [said._whole(one, ends)[0].bottom for one in ends] == [0.0, 0.0, 0.2, 0.2]


@pytest.mark.parametrize("other", [{"tier": 2}, {"frame": 2}, {"recipe_layer": 1}])
def test_parts_of_another_tier_or_frame_are_no_part_of_a_blend(other):
    parts = [layer(0, 0.0, 0.1, blend="a"), layer(1, 0.1, 0.2, blend="a", **other)]
    assert [said._mark(one, parts) for one in parts] == [0.1, 0.2]


def test_a_higher_frame_is_set_before_its_first_layer():
    layers = [layer(0, 0.0, 0.1), layer(1, 0.1, 0.2), layer(2, 0.2, 0.3, frame=2), layer(3, 0.3, 0.4, frame=2),
              layer(4, 0.4, 0.5, frame=3)]  # fmt: skip
    steps = [said._frame_step(one, layers) for one in layers]
    assert steps == ["", "", "Set frame 2 on the soil, then go on", "", "Set frame 3 on the soil, then go on"]


def test_names_of_layers_with_their_blend_and_their_tier():
    assert said._named(layer(0, 0, 1), tiered=False) == "soil"
    assert said._named(layer(0, 0, 1, blend="a", tier=2), tiered=True) == "soil, mixed in (tier 2)"


def site(*, units="metric", layers=(), recipe_layers=(), tiers=(), height=0.3, **more):
    bed = Bed(id="bed", outline=box(0, 0, 3, 2), tiers=tiers, layers=layers, **({} if tiers else {"height": height}))
    recipe = SimpleNamespace(layers=recipe_layers, lining="cardboard")
    return SimpleNamespace(units=units, bed=lambda _: bed, beds=(bed,), recipe=recipe, barrow=Barrow(), **more)


def plan(fill=None, **given):
    return SimpleNamespace(site=site(**given), fill=fill)


LOW = "is lower than 45 cm, so it gets no coarse base: roots want its whole depth, and a base sinks for years (common practice)"


def test_why_a_low_bed_has_no_coarse_base():
    assert said.base_line(plan(), "bed") == f"It {LOW}"
    assert said.base_line(plan(units="imperial"), "bed").startswith("It is lower than 1 ft 6 in, so")
    assert said.base_line(plan(height=LOW_BELOW), "bed") == ""
    assert said.base_line(plan(height=0.448), "bed") == f"It {LOW}"
    assert said.base_line(plan(recipe_layers=("own",)), "bed") == ""
    assert said.base_line(plan(layers=(LayerSpec(material="soil", fraction=1.0),)), "bed") == ""
    assert said.base_lines(plan(SimpleNamespace(beds=(SimpleNamespace(bed="bed"),)))) == [f"bed: It {LOW}"]
    assert said.base_lines(plan()) == []


def test_why_the_lower_tiers_have_no_coarse_base():
    tiers = (Bed.Tier(height=0.2), Bed.Tier(height=0.2, inset=0.3), Bed.Tier(height=0.2, inset=0.3))
    assert said.base_line(plan(tiers=tiers), "bed") == (
        "Tiers 1 and 2 are lower than 45 cm, so they get no coarse base: roots want their whole depth, and a base sinks for "
        "years (common practice)"
    )
    assert said.base_line(plan(tiers=(Bed.Tier(height=0.4), *tiers[1:])), "bed") == f"Tier 1 {LOW}"


def ground(**more):
    bed = SimpleNamespace(**{"on": "lawn", "barrier": False, "lining_area": 0.0} | more)
    return said.ground_first(plan(), bed)


MOWN = "Mow the grass as short as you can; there is no need to lift the turf."


def test_what_is_done_to_the_ground_first():
    lined = "Take tape and staples off. Lay cardboard over the whole floor with 15 cm of overlap, and soak it."
    assert ground() == (MOWN,)
    assert ground(lining_area=0.5) == (MOWN, lined)
    barred = "Line the whole floor and the walls with a root barrier that lets water through."
    assert ground(barrier=True, lining_area=6.0) == (MOWN, barred, lined)
    assert ground(on="unknown") == ("Mow or weed the ground.",)


def comes(volume, *supplies, lacking=(), purchase=()):
    fill = SimpleNamespace(supplies=supplies, purchase=purchase, lacking=lacking)
    return said.comes_text(plan(fill), layer(1, 0, 1)) if volume == 0.1 else None


def supply(volume, at="", material="soil", order=1, bed="bed"):
    return Supply(bed=bed, material=material, at=at, volume=volume, mass=volume * 1000, order=order)


BAGS = (
    PurchaseLine(material="soil", kind="bag", count=9, volume=0.36, cost=1.0, size=0.04, parts=(("soil", 0.36),)),
)


def test_what_a_layer_comes_as():
    """100 L are two bags and a half of 40 L; what comes for another layer or bed is not counted."""
    assert comes(0.1, supply(0.1), purchase=BAGS) == "2 1/2 bags"
    assert (
        comes(0.1, supply(0.02), supply(0.08, order=0), supply(0.08, bed="x"), purchase=BAGS)
        == "1/2 bag, the rest not bought"
    )
    assert comes(0.1) == "not bought"
    assert comes(0.1, supply(0.02), supply(0.08, at="heap"), purchase=BAGS) == "1/2 bag, 1 barrow from heap"
    assert comes(0.1, supply(0.08)) == "1 barrow delivered, the rest not bought"
    assert comes(0.1, supply(0.1), lacking=("soil",)).endswith(", still to be found")
    assert comes(0.1, supply(0.1), lacking=("sand",)).endswith(" delivered")
    assert said.comes_text(plan(), layer(0, 0, 1)) == ""


@pytest.mark.parametrize(("count", "text"), [
    (0.0, "1/2 bag"), (0.5, "1/2 bag"), (0.74, "1/2 bag"), (0.76, "1 bag"), (1.24, "1 bag"), (1.26, "1 1/2 bags"), (2.0, "2 bags"),
    (2.3, "2 1/2 bags"),
])  # fmt: skip
def test_bags_are_counted_in_halves(count, text):
    assert said.count_text(count, "bag") == text


@pytest.mark.parametrize(("hours", "text"), [
    (0.0, "1 min"), (0.99, "59 min"), (1.0, "1 h"), (1.02, "1 h 1 min"), (2.0, "2 h"), (12.25, "12 h 15 min"), (None, ""),
])  # fmt: skip
def test_how_long_a_hose_runs(hours, text):
    assert said.hose_text(hours) == text


def watered(units, **more):
    figures = {"bed": "bed", "weekly_water": 0.1, "weekly_hose": None, "mass_wet": 1234.0, "ground_pressure": 4500.0,
               "moistening_water": 0.2, "moistening_hose": 0.5, "volume": 0.4, "volume_full_after_a_year": 0.6}  # fmt: skip
    whole = plan(units=units, water=SimpleNamespace(weekly=0.0254))
    return whole, SimpleNamespace(**figures | more)


def test_water_and_weight_of_a_bed():
    metric, imperial = watered("metric"), watered("imperial")
    assert said.weekly_line(*metric) == "25 mm of water a week is 100 L"
    assert said.weekly_line(*imperial) == "1 in of water a week is 26 gal"  # 3.785 L a gallon
    assert said.weekly_line(*watered("metric", weekly_hose=0.1)) == "25 mm of water a week is 100 L (6 min of hose)"
    # 4500 Pa are 459 kg of 9.80665 N on a square metre
    assert said.bed_line(*metric) == (
        "1.23 t on a wet day, 460 kg/m² on the ground; 200 L of water to moisten it (30 min of hose)"
    )
    # half a cubic metre or more among them: both in cubic metres
    assert said.full_line(*metric) == "to be full by then it would need 0.60 m³ loose instead of 0.40 m³"


def test_which_beds_are_full():
    assert said.full_sentence(plan(SimpleNamespace(full=("a",)))) == "a is full already: nothing to bring."
    assert said.full_sentence(plan(SimpleNamespace(full=("a", "b")))) == "a and b are full already: nothing to bring."
    assert said.full_sentence(plan(SimpleNamespace(full=()))) == said.full_sentence(plan()) == ""


def filled(*, tiers=()):
    fill = SimpleNamespace(
        layers=(COARSE, layer(0, 0, 1)), supplies=(), purchase=(), lacking=(),
        beds=(SimpleNamespace(bed="x", layer_water=(9.0,)), SimpleNamespace(bed="bed", layer_water=(0.01, 0.02))),
    )  # fmt: skip
    return said.fill_rows(plan(fill, tiers=tiers), "bed")


def test_a_row_for_each_layer():
    row = {"step": "", "material": "bark", "lifts": "", "boxes": "1", "top": "10 cm", "volume": "100 L", "comes": "not bought",
           "water": "10 L"}  # fmt: skip
    assert filled() == [row, row | {"material": "soil", "top": "1.00 m", "water": "20 L"}]
    tiers = (Bed.Tier(height=0.3), Bed.Tier(height=0.2, inset=0.5))
    assert [one["material"] for one in filled(tiers=tiers)] == ["bark (tier 1)", "soil (tier 1)"]
    assert said.fill_rows(plan(), "bed") == []


def test_the_sheet_says_how_only_where_something_is_filled(monkeypatch):
    for name in ("price_sentences", "break_even_sentences", "top_up_rows", "left_over_rows"):
        monkeypatch.setattr(said, name, lambda _, name=name: name)
    empty = {"fill_how": (), "fill_full": "", "total_cost": "—", "prices": "price_sentences",
             "break_evens": "break_even_sentences", "top_ups": "top_up_rows", "left_over": "left_over_rows"}  # fmt: skip
    assert said.sheet_values(plan(currency="EUR")) == empty
    done = SimpleNamespace(layers=("one",), full=("a",), price=12.5)
    found = said.sheet_values(plan(done, currency="EUR"))
    assert found["fill_how"] == said.HOW
    assert (found["fill_full"], found["total_cost"]) == ("a is full already: nothing to bring.", "€12.50")
    done.layers = ()
    assert said.sheet_values(plan(done, currency="EUR"))["fill_how"] == ()
