"""Each caution appears where it must, and not where it need not."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely import box

from siteplan.fill.bed_findings import bed_findings
from siteplan.fill.bed_ground import ground_fall
from siteplan.fill.fill_plan import plan_fill
from siteplan.fill.recipe import fill_layers
from siteplan.fill.safety import job_findings
from siteplan.land.constants import Crop, Material
from siteplan.land.features import Bed, Surface
from siteplan.land.grid import Grid
from siteplan.land.layers import LayerSpec, Recipe
from siteplan.land.outline import rectangle
from siteplan.land.site import Offer, SoilSettings
from siteplan.land.terrain import Terrain
from siteplan.say.cautions import in_words

FOOT = 0.3048


def bed(name="a", height=0.45, wall=0.05):
    outline = rectangle(0, 3, length=2.4, width=1.2, heading=90)
    return Bed(id=name, outline=outline, height=height, wall_thickness=wall)


def made(name, kind):
    return Material(
        name=name, kind=kind, density=700, density_wet=900, settling_first=0.2, settling_later=0.05, shovel_rate=0.5
    )


def with_recipe(site, *layers, beds=None, **changes):
    more = {
        "worm castings": made("worm castings", "amendment"),
        "fresh manure": made("fresh manure", "amendment"),
        "composted manure": made("composted manure", "amendment"),
        "leaf mould": made("leaf mould", "organic"),
    }
    recipe = Recipe(layers=tuple(LayerSpec(material=name, fraction=share) for name, share in layers))
    return replace(
        site, beds=beds or (bed(),), recipe=recipe, materials={**site.materials, **more}, surfaces=(), **changes
    )


def cautions(site):
    layers = fill_layers(site.beds, site.recipe, site.materials)
    return in_words([*bed_findings(site, layers), *job_findings(site, layers, ())], site.units)


def codes(site):
    return {caution.code for caution in cautions(site)}


JOB = {"heavy-lifting", "lead-test", "treated-timber", "call-before-digging"}


def test_a_plain_bed_has_the_words_of_every_job_alone(tiny_yard):
    assert codes(with_recipe(tiny_yard, ("topsoil", 1.0))) == JOB


def test_no_beds_no_words(tiny_yard):
    assert plan_fill(replace(tiny_yard, beds=())).findings == ()


def test_compost_above_half_of_the_upper_part(tiny_yard):
    half = with_recipe(tiny_yard, ("coarse organic", 0.4), ("topsoil", 0.3), ("compost", 0.3))
    assert "compost-share" not in codes(half)
    more = with_recipe(tiny_yard, ("coarse organic", 0.4), ("topsoil", 0.28), ("compost", 0.32))
    assert "compost-share" in codes(more)
    assert "53%" in next(caution.text for caution in cautions(more) if caution.code == "compost-share")
    together = with_recipe(tiny_yard, ("topsoil", 0.4), ("compost", 0.3), ("composted manure", 0.3))
    assert "compost-share" in codes(together)


def test_castings_above_a_fifth(tiny_yard):
    assert "castings-share" not in codes(with_recipe(tiny_yard, ("topsoil", 0.8), ("worm castings", 0.2)))
    assert "castings-share" in codes(with_recipe(tiny_yard, ("topsoil", 0.79), ("worm castings", 0.21)))


def test_coarse_base_above_half(tiny_yard):
    assert "coarse-share" not in codes(with_recipe(tiny_yard, ("coarse organic", 0.5), ("topsoil", 0.5)))
    assert "coarse-share" in codes(with_recipe(tiny_yard, ("coarse organic", 0.51), ("topsoil", 0.49)))


def test_coarse_base_of_two_layers(tiny_yard):
    # one on the other they are as deep as both together
    half = ("coarse organic", 0.3), ("coarse organic", 0.2), ("topsoil", 0.5)
    assert "coarse-share" not in codes(with_recipe(tiny_yard, *half))
    more = ("coarse organic", 0.3), ("coarse organic", 0.3), ("topsoil", 0.4)
    (caution,) = [one for one in cautions(with_recipe(tiny_yard, *more)) if one.code == "coarse-share"]
    assert "take 60% of the depth" in caution.text


def test_too_little_soil_above_the_base(tiny_yard):
    # 8 in of a bed of 16 in
    half = ("coarse organic", 0.5), ("topsoil", 0.5)
    assert "shallow-soil" not in codes(with_recipe(tiny_yard, *half, beds=(bed(height=16 / 12 * FOOT),)))
    assert "shallow-soil" in codes(with_recipe(tiny_yard, *half, beds=(bed(height=15 / 12 * FOOT),)))


def test_fresh_wood_among_the_roots(tiny_yard):
    assert "nitrogen" not in codes(with_recipe(tiny_yard, ("coarse organic", 0.4), ("topsoil", 0.6)))
    assert "nitrogen" in codes(with_recipe(tiny_yard, ("topsoil", 0.3), ("coarse organic", 0.3), ("compost", 0.4)))
    assert "nitrogen" in codes(with_recipe(tiny_yard, ("coarse organic", 0.6), ("topsoil", 0.4)))  # 18 cm above
    assert "nitrogen" not in codes(with_recipe(tiny_yard, ("topsoil", 0.9), ("coarse organic", 0.1)))  # a mulch


def test_straw_counts_by_its_carbon(tiny_yard):
    site = with_recipe(tiny_yard, ("topsoil", 0.3), ("leaf mould", 0.3), ("compost", 0.4))
    assert "nitrogen" not in codes(site)
    hungry = replace(site.materials["leaf mould"], carbon_nitrogen=70.0)
    site = replace(site, materials={**site.materials, "leaf mould": hungry})
    text = next(caution.text for caution in cautions(site) if caution.code == "nitrogen")
    assert "leaf mould: about 70 parts" in text


def test_wood_mixed_into_the_soil(tiny_yard):
    site = with_recipe(tiny_yard, ("topsoil", 1.0))
    mixed = LayerSpec(material="mix", fraction=1.0, mix=(("topsoil", 3), ("coarse organic", 1)))
    assert "nitrogen" in codes(replace(site, recipe=Recipe(layers=(mixed,))))
    apart = LayerSpec(material="mix", fraction=1.0, mix=(("topsoil", 3), ("compost", 1)))
    assert "nitrogen" not in codes(replace(site, recipe=Recipe(layers=(apart,))))


def test_nothing_but_wood(tiny_yard):
    assert "no-soil" in codes(with_recipe(tiny_yard, ("coarse organic", 1.0)))


def test_manure(tiny_yard):
    assert "fresh-manure" in codes(with_recipe(tiny_yard, ("topsoil", 0.9), ("fresh manure", 0.1)))
    composted = with_recipe(tiny_yard, ("topsoil", 0.9), ("composted manure", 0.1))
    assert "fresh-manure" not in codes(composted)
    assert "composted-manure" not in codes(with_recipe(tiny_yard, ("topsoil", 0.9), ("compost", 0.1)))


@pytest.mark.parametrize(("units", "heat"), [("metric", "55 to 77 °C"), ("imperial", "131 to 170 °F")])
def test_when_manure_counts_as_composted(tiny_yard, units, heat):
    # 7 CFR 205.203(c)(2): 131 to 170 F (55 to 77 C) for 3 days in a vessel, or 15 days in a windrow turned five times
    site = with_recipe(tiny_yard, ("topsoil", 0.9), ("composted manure", 0.1), units=units)
    (caution,) = [one for one in cautions(site) if one.code == "composted-manure"]
    assert f"{heat} for 3 days in a closed vessel" in caution.text
    assert "15 days in a heap that was turned 5 times" in caution.text
    assert "120 days" in caution.text


def test_dust(tiny_yard):
    assert "compost-dust" in codes(with_recipe(tiny_yard, ("topsoil", 0.9), ("compost", 0.1)))
    assert "compost-dust" not in codes(with_recipe(tiny_yard, ("topsoil", 0.9), ("leaf mould", 0.1)))


def test_bracing_over_eighteen_inches(tiny_yard):
    soil = ("topsoil", 1.0)
    assert "wall-bracing" not in codes(with_recipe(tiny_yard, soil, beds=(bed(height=1.5 * FOOT),)))
    high = with_recipe(tiny_yard, soil, beds=(bed(height=2 * FOOT),))
    (caution,) = [caution for caution in cautions(high) if caution.code == "wall-bracing"]
    assert caution.feature == "a"
    # Ka 1/3 x 1560 kg/m3 x 9.80665 x 0.6096^2 / 2 = 948 N/m, 65 lb/ft
    assert "as hard as the weight of 100 kg on each metre" in caution.text  # 948 N / 9.80665 m/s2: 97 kg
    assert "local code" in caution.text
    feet = replace(high, units="imperial")
    assert "65 lb on each foot" in next(one.text for one in cautions(feet) if one.code == "wall-bracing")


def test_a_bed_on_paving(tiny_yard):
    site = with_recipe(tiny_yard, ("topsoil", 1.0), beds=(bed(height=0.3),))
    lawn = Surface(id="lawn", outline=box(-6, -5, 6, 5), surface="grass")
    terrace = Surface(id="terrace", outline=box(-2, 2, 2, 4), surface="paved")
    assert {"on-paving", "ground-load"} <= codes(replace(site, surfaces=(lawn, terrace)))
    assert "on-paving" not in codes(replace(site, surfaces=(lawn,)))
    deep = replace(site, surfaces=(terrace,), beds=(bed(height=0.5),))
    assert "on-paving" not in codes(deep)
    assert "ground-load" in codes(deep)


def test_a_bed_on_a_slope(tiny_yard):
    # 10 % eastward over the bed's 2.4 m: 24 cm
    grid = Grid(-10, 10, 1, 20, 20)
    ramp = Terrain(grid, np.tile(np.arange(20) * 0.1, (20, 1)))
    site = with_recipe(tiny_yard, ("topsoil", 1.0), terrain=ramp)
    assert ground_fall(site, bed()) == pytest.approx(0.24, abs=1e-9)
    assert "uneven-ground" in codes(site)
    assert "24 cm" in next(one.text for one in cautions(site) if one.code == "uneven-ground")
    assert "as the ground lies" not in next(one.text for one in cautions(site) if one.code == "uneven-ground").lower()
    ridge = Terrain(grid, np.tile(-0.3 * np.abs(np.arange(20) - 9.5), (20, 1)))
    text = next(one.text for one in cautions(replace(site, terrain=ridge)) if one.code == "uneven-ground")
    assert "more." in text
    gentle = replace(site, terrain=Terrain(grid, ramp.elevation / 3))
    assert "uneven-ground" not in codes(gentle)
    assert ground_fall(replace(site, terrain=Terrain(grid, np.full((20, 20), np.nan))), bed()) == 0


def test_a_recipe_that_does_not_add_up(tiny_yard):
    thin = Recipe(layers=(LayerSpec(material="topsoil", thickness=0.1),))  # in a bed of 0.45 m
    assert "recipe-scaled" in codes(replace(tiny_yard, recipe=thin))


def test_walls_without_an_inside(tiny_yard):
    assert "no-inside" in codes(with_recipe(tiny_yard, ("topsoil", 1.0), beds=(bed(wall=0.6), bed("b"))))


def test_the_same_fault_of_several_beds_is_said_once(tiny_yard):
    high = tuple(bed(name, height=0.6) for name in ("a", "b", "c"))
    found = [
        one for one in cautions(with_recipe(tiny_yard, ("topsoil", 1.0), beds=high)) if one.code == "wall-bracing"
    ]
    assert len(found) == 1
    assert found[0].feature == ""
    assert found[0].text.startswith("Beds a, b, c: ")


def test_the_heaviest_bag_is_named(tiny_yard):
    offers = (Offer(material="topsoil", price=3, bag=0.021237634944),)  # 0.75 ft3 x 1250 kg/m3 = 26.5 kg
    plan = plan_fill(with_recipe(tiny_yard, ("topsoil", 1.0), offers=offers))
    (lifting,) = [one for one in in_words(plan.findings, "metric") if one.code == "heavy-lifting"]
    assert "27 kg" in lifting.text
    assert "two people" in lifting.text
    light = plan_fill(
        with_recipe(tiny_yard, ("topsoil", 1.0), offers=(Offer(material="topsoil", price=3, bag=0.01),))
    )
    (lifting,) = [one for one in in_words(light.findings, "metric") if one.code == "heavy-lifting"]
    assert "A bag" not in lifting.text


def test_what_the_table_says_of_a_material_is_passed_on(tiny_yard):
    topsoil = replace(tiny_yard.materials["topsoil"], caution="Heavy: small loads.")
    site = with_recipe(tiny_yard, ("topsoil", 1.0))
    site = replace(site, materials={**site.materials, "topsoil": topsoil})
    assert "Topsoil: Heavy: small loads." in {one.text for one in cautions(site) if one.code == "handling"}


def figures(site):
    """Return the figures of each finding about the beds, by its code."""
    layers = fill_layers(site.beds, site.recipe, site.materials)
    return {one.code: dict(one.figures) for one in bed_findings(site, layers)}


SOIL = ("topsoil", 1.0)
INCH = FOOT / 12


def near(**expected):
    return {name: pytest.approx(value, abs=1e-9) for name, value in expected.items()}


def test_shares_are_told_and_just_at_their_limit_nothing_is(tiny_yard):
    more = with_recipe(tiny_yard, ("topsoil", 0.75), ("worm castings", 0.25))
    assert figures(more) == {"castings-share": near(share=0.25)}
    half = with_recipe(tiny_yard, ("topsoil", 0.45), ("compost", 0.55))
    assert figures(half) == {"compost-share": near(share=0.55)}
    for layers in ((("topsoil", 0.5), ("compost", 0.5)), (("topsoil", 0.8), ("worm castings", 0.2))):
        assert figures(with_recipe(tiny_yard, *layers)) == {}


def test_a_thick_base_tells_its_share_and_thin_soil_its_depth(tiny_yard):
    # 10 in of 18 in are coarse: 55.6 %; 8 in of soil are enough, 7 in are not, 12 in are good
    height = 18 * INCH
    thick = with_recipe(tiny_yard, ("coarse organic", 10 / 18), ("topsoil", 8 / 18), beds=(bed(height=height),))
    assert figures(thick) == {"coarse-share": near(share=10 / 18)}
    thin = with_recipe(tiny_yard, ("coarse organic", 11 / 18), ("topsoil", 7 / 18), beds=(bed(height=height),))
    assert figures(thin)["shallow-soil"] == near(soil=7 * 0.0254, least=0.2032, good=0.3048)
    assert figures(thin)["coarse-share"] == near(share=11 / 18)
    assert "shallow-soil" not in figures(with_recipe(tiny_yard, SOIL, beds=(bed(height=0.15),)))  # it has no base


def test_a_recipe_that_is_scaled_tells_the_depth_of_its_bed(tiny_yard):
    thin = Recipe(layers=(LayerSpec(material="topsoil", thickness=0.1),))
    assert figures(replace(with_recipe(tiny_yard, SOIL), recipe=thin)) == {"recipe-scaled": near(depth=0.45)}


@pytest.mark.parametrize(("inches", "said"), [(17.99, False), (18.0, False), (18.01, True)])
def test_walls_above_eighteen_inches_want_braces(tiny_yard, inches, said):
    found = figures(with_recipe(tiny_yard, SOIL, beds=(bed(height=inches * INCH),)))
    assert set(found) == ({"wall-bracing"} if said else set())


def test_braces_are_told_with_their_number_and_their_step(tiny_yard):
    # 2.4 m by spans of at most 1.05 x 0.9 m: three of 0.8 m, two braces; 948 N on each metre (see above)
    found = figures(with_recipe(tiny_yard, SOIL, beds=(bed(height=2 * FOOT),)))["wall-bracing"]
    assert found == {"count": 2, **near(step=0.8, high=0.4572), "thrust": pytest.approx(948, abs=1)}


@pytest.mark.parametrize(("length", "said"), [(2.4384, False), (2.458, False), (2.459, True)])
def test_a_tie_from_eight_feet_on_and_as_much_more_as_a_saw_takes(tiny_yard, length, said):
    long = replace(bed(height=0.3), outline=rectangle(0, 3, length=length, width=1.2, heading=90))
    found = figures(with_recipe(tiny_yard, SOIL, beds=(long,)))
    # spans of at most 1.05 x 1.2 m: two
    assert found == ({"wall-span": near(long=2.4384, count=1, step=length / 2)} if said else {})


def test_a_bed_without_walls_wants_neither(tiny_yard):
    assert figures(with_recipe(tiny_yard, SOIL, beds=(bed(height=0.9, wall=0.0),))) == {}


@pytest.mark.parametrize(("inches", "said"), [(17.99, True), (18.0, False)])
def test_on_paving_a_bed_wants_eighteen_inches(tiny_yard, inches, said):
    terrace = Surface(id="terrace", outline=box(-2, 2, 2, 4), surface="paved")
    site = replace(with_recipe(tiny_yard, SOIL, beds=(bed(height=inches * INCH),)), surfaces=(terrace,))
    assert figures(site) == ({"on-paving": near(deep=0.4572)} if said else {}) | {"ground-load": {}}


def test_on_paving_the_lowest_tier_counts(tiny_yard):
    # soil 10 in above the terrace on the lower tier, 20 in on the upper
    tiers = (Bed.Tier(height=10 * INCH), Bed.Tier(height=10 * INCH, inset=0.3))
    stepped = Bed(
        id="b", outline=rectangle(0, 3, length=2.4, width=1.2, heading=90), wall_thickness=0.04, tiers=tiers
    )
    terrace = Surface(id="terrace", outline=box(-2, 2, 2, 4), surface="paved")
    site = replace(with_recipe(tiny_yard, SOIL, beds=(stepped,)), surfaces=(terrace,))
    assert figures(site)["on-paving"] == near(deep=0.4572)


@pytest.mark.parametrize(("fall", "said"), [(0.1, False), (0.1032, True)])
def test_ground_that_falls_by_more_than_four_inches(tiny_yard, fall, said):
    # over the 2.4 m of the bed; its middle is the mean, so that it takes as much as on level ground
    ramp = Terrain(Grid(-10, 10, 1, 20, 20), np.tile((np.arange(20) - 9.5) * fall / 2.4, (20, 1)))
    found = figures(with_recipe(tiny_yard, SOIL, terrain=ramp))
    assert found == ({"uneven-ground": near(fall=fall, more=0.0)} if said else {})


@pytest.mark.parametrize(("start", "more"), [(0.65, 0.0966), (1.05, 0.0)])
def test_more_than_a_fiftieth_of_the_fill_is_told(tiny_yard, start, more):
    # from `start` to the wall at 1.15 m the ground lies 0.2 m lower: 0.5 / 2.3 x 0.2 / 0.45; 0.1 / 2.3 x 0.2 / 0.45 are 1.9 %
    east = -2 + (np.arange(80) + 0.5) * 0.05
    step = Terrain(Grid(-2, 6, 0.05, 80, 80), np.tile(np.where(east > start, -0.2, 0.0), (80, 1)))
    found = figures(with_recipe(tiny_yard, SOIL, terrain=step))
    assert found == {"uneven-ground": {"fall": pytest.approx(0.2), "more": pytest.approx(more, rel=0.06)}}


def crop(name, depth):
    return Crop(
        name=name,
        light_least=6,
        light_good=8,
        bed_depth=depth,
        root_depth_low=0.3,
        root_depth_high=0.6,
        season="warm",
    )


def test_a_crop_may_lack_half_a_centimetre(tiny_yard):
    # 0.45 m of soil and 0.2032 m of ground: 0.6532 m
    known = {"fits": crop("fits", 0.658), "deep": crop("deep", 0.659), "shallow": crop("shallow", 0.1)}
    planted = replace(bed(), crops=("fits", "deep", "shallow", "unknown"))
    site = with_recipe(tiny_yard, SOIL, beds=(planted,), crops=known)
    assert figures(site) == {
        "crop-depth": {**near(soil=0.45, below=0.2032), "wanted": (("deep", pytest.approx(0.659)),)}
    }
    # on paving six inches more are wanted, and roots go no deeper than the bed
    terrace = Surface(id="terrace", outline=box(-2, 2, 2, 4), surface="paved")
    paved = replace(site, surfaces=(terrace,), crops={"fits": crop("fits", 0.302), "deep": crop("deep", 0.304)})
    wanted = (("deep", pytest.approx(0.304 + 0.1524)),)
    assert figures(paved)["crop-depth"] == {**near(soil=0.45, below=0.0), "wanted": wanted}


def test_on_tiers_it_is_told_which_and_what_grows_on_the_higher_one(tiny_yard):
    # 25 cm of soil on the lower tier, 50 cm on the upper
    tiers = (Bed.Tier(height=0.25), Bed.Tier(height=0.25, inset=0.3))
    outline = rectangle(0, 3, length=2.4, width=1.2, heading=90)
    shelf = Bed(id="a", outline=outline, wall_thickness=0.05, tiers=tiers, crops=("low", "high", "deep"))
    known = {"low": crop("low", 0.254), "high": crop("high", 0.504), "deep": crop("deep", 0.72)}
    site = with_recipe(tiny_yard, SOIL, beds=(shelf,), crops=known)
    found = figures(site)
    assert found["crop-tier"] == {"tier": 1, **near(soil=0.25), "wanted": (("high", pytest.approx(0.504)),)}
    assert found["crop-depth"]["wanted"] == (("deep", pytest.approx(0.72)),)
    base = with_recipe(tiny_yard, ("coarse organic", 0.6), ("topsoil", 0.4), beds=(replace(shelf, crops=()),))
    assert figures(base)["coarse-share"] == {"tier": 1, **near(share=0.6)}  # of equal shares the lower tier's
    # thin soil is told tier by tier: 10 cm and 20 cm
    layers = fill_layers(base.beds, base.recipe, base.materials)
    shallow = [dict(one.figures) for one in bed_findings(base, layers) if one.code == "shallow-soil"]
    assert [(one["tier"], one["soil"]) for one in shallow] == [(1, pytest.approx(0.1)), (2, pytest.approx(0.2))]


@pytest.mark.parametrize(("depth", "said"), [(0.2032, False), (0.2, True), (0.0, False)])
def test_wood_under_eight_inches_of_soil_takes_nitrogen_from_it(tiny_yard, depth, said):
    # nothing lies below it; without any soil on it there are no roots
    layers = (
        (("coarse organic", 1 - depth / 0.45), ("topsoil", depth / 0.45)) if depth else (("coarse organic", 1.0),)
    )
    assert ("nitrogen" in figures(with_recipe(tiny_yard, *layers))) is said


def test_forty_parts_of_carbon_are_no_fresh_wood(tiny_yard):
    site = with_recipe(tiny_yard, ("topsoil", 0.3), ("leaf mould", 0.3), ("compost", 0.4))
    for carbon, said in ((40.0, {}), (40.5, {"nitrogen": {"material": "leaf mould", "carbon": 40.5}})):
        mould = replace(site.materials["leaf mould"], carbon_nitrogen=carbon)
        assert figures(replace(site, materials={**site.materials, "leaf mould": mould})) == said


def test_lead_under_a_bed_wants_a_barrier(tiny_yard):
    site = with_recipe(tiny_yard, SOIL)
    assert figures(replace(site, soil=SoilSettings(lead=250))) == {"lead-barrier": {}}
    assert figures(replace(site, soil=SoilSettings(lead=150))) == {}
