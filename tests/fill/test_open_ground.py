"""Roots go on into the ground below; and beds that were full before go on sinking."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from siteplan import plan_site
from siteplan.answers import _crops
from siteplan.files.constant_tables import read_crops, read_materials
from siteplan.fill.bed_findings import bed_findings
from siteplan.fill.bed_ground import NATIVE_SOIL, native_soil
from siteplan.fill.fill_plan import plan_fill
from siteplan.fill.recipe import fill_layers
from siteplan.fill.settling import top_ups
from siteplan.land.features import Bed, Surface
from siteplan.land.layers import LayerSpec, Recipe
from siteplan.land.outline import rectangle
from siteplan.land.site import Offer, SoilSettings, Stock
from siteplan.say.topping_up import bed_top_up_line, bed_top_up_lines, top_up_rows

INCH = 0.0254
MATERIALS = read_materials()
TOPSOIL = (LayerSpec(material="topsoil", fraction=1.0),)


def bed(name="a", height=12 * INCH, **given):
    outline = rectangle(0, 3, length=2.0, width=1.0, heading=90)  # 2 m2
    return Bed(id=name, outline=outline, height=height, wall_thickness=0, **given)


def yard(site, *beds, **given):
    plain = {"surfaces": (), "stock": (), "offers": ()} | given
    return replace(site, beds=beds, recipe=Recipe(), materials=MATERIALS, crops=read_crops(), **plain)


def crop_depths(site):
    layers = fill_layers(site.beds, site.recipe, site.materials)
    return [dict(one.figures) for one in bed_findings(site, layers) if one.code == "crop-depth"]


def test_a_tomato_does_well_in_an_open_bed_of_12_in(tiny_yard):
    # tomatoes want 18 in over usable ground: 12 in of soil and 8 in of the ground below are 20
    tomatoes = bed(crops=("tomato",))
    assert pytest.approx(8 * INCH) == NATIVE_SOIL
    assert crop_depths(yard(tiny_yard, tomatoes)) == []
    # 9 in and 8 in are 17
    (short,) = crop_depths(yard(tiny_yard, bed(height=9 * INCH, crops=("tomato",))))
    assert (short["soil"], short["below"]) == pytest.approx((9 * INCH, 8 * INCH))


def test_no_roots_go_into_paving_or_through_a_barrier(tiny_yard):
    tomatoes = bed(crops=("tomato",))
    paved = Surface(id="yard", outline=tomatoes.outline.buffer(1), surface="paved")
    on_paving = yard(tiny_yard, tomatoes, surfaces=(paved,))
    assert native_soil(on_paving, tomatoes) == 0
    (short,) = crop_depths(on_paving)
    assert dict(short["wanted"]) == pytest.approx({"tomato": 24 * INCH})  # 18, and 6 more on paving
    over_lead = yard(tiny_yard, tomatoes, soil=SoilSettings(lead=300.0))
    assert native_soil(over_lead, tomatoes) == 0
    assert len(crop_depths(over_lead)) == 1


def test_a_bed_that_is_full_goes_on_sinking_where_its_layers_are_known(tiny_yard):
    # 2 m2 x 0.4 m of topsoil that has had its first year: 3 % a year, 12 mm, 0.024 m3; what is added loses 10 %
    # of 12 mm in its own first year: 3 % of 388 mm and 10 % of 12 mm are 12.84 mm
    old = bed("old", height=0.4, filled=True, layers=TOPSOIL)
    layers = fill_layers([old], Recipe(), MATERIALS)
    first, second, _ = top_ups(layers, MATERIALS, age=1)
    assert first.drop == pytest.approx(0.012)
    assert dict(first.volumes) == pytest.approx({"topsoil": 0.024})
    assert second.drop == pytest.approx(0.388 * 0.03 + 0.012 * 0.1)
    plan = plan_fill(yard(tiny_yard, old, bed("older", filled=True)))
    assert plan.full == ("old", "older")
    assert {one.bed for one in plan.top_ups} == {"old"}  # of the other nobody knows what lies in it
    assert plan.layers == ()
    assert dict(plan.top_up_years[0].volumes) == pytest.approx({"topsoil": 0.024})


def test_what_comes_each_year_is_used_before_anything_is_bought(tiny_yard):
    # wanted in the first autumn: 0.1 x 0.8 m3 = 0.08 m3 of topsoil. 0.02 are left over, 0.05 come each year:
    # 0.01 is bought, a bag of 0.04 at 4; its 0.03 are left over. Second autumn: 3 % of 0.36 + 10 % of 0.04, of 2 m2:
    # 0.4 m: (0.36 x 0.03 + 0.04 x 0.1) x 2 = 0.0296 m3, all on hand
    heap = Stock(material="topsoil", volume=0.82, at="heap", each_year=0.05)
    bags = Offer(material="topsoil", bag=0.04, price=4)
    plan = plan_fill(yard(tiny_yard, bed(height=0.4, layers=TOPSOIL), stock=(heap,), offers=(bags,)))
    assert plan.purchase == ()
    first, second, third = plan.top_up_years
    assert dict(first.volumes) == pytest.approx({"topsoil": 0.08})
    assert (dict(first.left_over), first.cost) == (pytest.approx({"topsoil": 0.07}), 4)
    assert dict(second.volumes) == pytest.approx({"topsoil": 0.0296})
    assert (dict(second.left_over), second.cost) == (pytest.approx({"topsoil": 0.0296}), 0)
    assert third.cost == 0


def test_what_nobody_offers_is_told_beside_the_price_of_the_rest(tiny_yard):
    mixed = (LayerSpec(material="topsoil", fraction=0.5), LayerSpec(material="compost", fraction=0.5))
    bags = Offer(material="compost", bag=0.04, price=4)
    plan = plan_fill(yard(tiny_yard, bed(height=0.4, layers=mixed), offers=(bags,)))
    # 0.2 m of each: 10 % and 20 % are 20 + 40 = 60 mm, half of each: 0.06 m3 of compost. 0.4 m3 were ten bags, all used:
    # two bags
    assert (plan.top_up_years[0].cost, plan.top_up_years[0].lacking) == (8, ("topsoil",))


def test_nothing_coarse_goes_on_top(tiny_yard):
    wood = (LayerSpec(material="logs", fraction=0.5), LayerSpec(material="wood chips", fraction=0.5))
    straw = (LayerSpec(material="straw", fraction=0.5), LayerSpec(material="topsoil", fraction=0.5))
    for layers in (wood, straw):
        site = yard(tiny_yard, bed(height=0.6, layers=layers), stock=(Stock(material="logs", volume=9, at="heap"),))
        names = {name for one in plan_fill(site).top_ups for name, _ in one.volumes}
        assert names == {"topsoil"}


def test_each_bed_is_told(tiny_yard):
    old = bed("old", height=0.4, filled=True, layers=TOPSOIL)
    new = replace(bed("new", height=0.4, layers=TOPSOIL), outline=rectangle(0, -3, length=2, width=1, heading=90))
    plan = plan_site(yard(tiny_yard, old, new), ask=["fill"])
    assert bed_top_up_line(plan, "new").startswith("autumn 1: it has sunk 4 cm, bring 80 L topsoil")
    assert bed_top_up_lines(plan, full=True)[0].startswith("old: autumn 1: it has sunk 1 cm, bring 24 L topsoil")
    assert [row["cost"] for row in top_up_rows(plan)] == ["no offer"] * 3


def test_a_full_bed_is_judged_by_its_whole_depth(tiny_yard):
    # 8 h of sun all year; tomatoes want 18 in. Full and 12 in deep: 12 + 8 of the ground. The recipe of the property
    # would put a coarse base of a half in it: 6 + 8 = 14, 4 in too few
    half = Recipe(
        layers=(LayerSpec(material="coarse organic", fraction=0.5), LayerSpec(material="topsoil", fraction=0.5))
    )
    site = replace(yard(tiny_yard, bed()), recipe=half)
    sun = np.full(12, 8.0)

    def tomato(one):
        return next(fit for fit in _crops(site, one, sun) if fit.crop == "tomato")

    full = tomato(bed(filled=True))
    assert (full.suits, full.deeper, full.ground) == (True, 0.0, NATIVE_SOIL)
    assert tomato(bed()).deeper == pytest.approx(4 * INCH)
    assert tomato(bed(filled=True, layers=half.layers)).deeper == pytest.approx(4 * INCH)
