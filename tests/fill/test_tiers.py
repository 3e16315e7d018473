"""The fill of a bed in tiers, by hand: 8 ft x 4 ft x 14 in below, a foot set in all round, 6 ft x 2 ft x 10 in above."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely import box

from siteplan.fill.bed_fill import bed_fills
from siteplan.fill.bed_findings import bed_findings
from siteplan.fill.bed_ground import volume_over_ground
from siteplan.fill.fill_plan import plan_fill
from siteplan.fill.recipe import fill_layers
from siteplan.fill.settling import top_ups
from siteplan.fill.tier_layers import by_tier
from siteplan.land.constants import Crop, Material
from siteplan.land.features import Bed
from siteplan.land.grid import Grid
from siteplan.land.layers import LayerSpec, Recipe
from siteplan.land.terrain import Terrain
from siteplan.say.cautions import in_words

FOOT, INCH = 0.3048, 0.0254
CUBIC_FOOT = FOOT**3
TIERS = (Bed.Tier(height=14 * INCH), Bed.Tier(height=10 * INCH, inset=1 * FOOT))


def bed(tiers=TIERS, **given):
    return Bed(**{"id": "a", "outline": box(0, 0, 8 * FOOT, 4 * FOOT), "wall_thickness": 0.0} | given, tiers=tiers)


def made(name, kind="mineral", settling=0.1, wet=1600.0):
    return Material(
        name=name,
        kind=kind,
        density=1000,
        density_wet=wet,
        settling_first=settling,
        settling_later=0.0,
        shovel_rate=0.5,
    )


MATERIALS = {
    "wood chips": made("wood chips", "coarse", 0.2),
    "topsoil": made("topsoil"),
    "compost": made("compost", "organic", 0.25),
}
RECIPE = Recipe(
    layers=(
        LayerSpec(material="wood chips", fraction=0.375),
        LayerSpec(material="topsoil", fraction=0.375),
        LayerSpec(material="compost", fraction=0.25),
    )
)


def layers(one=None, recipe=RECIPE):
    return fill_layers([one or bed()], recipe, MATERIALS)


def test_the_volumes_of_ring_and_core_by_hand():
    # ring, 20 ft2 x 14 in: 3/8 = 5 1/4 in of chips, 5 1/4 of topsoil, 3 1/2 of compost: 8.75, 8.75, 5.8333 ft3
    # core, 12 ft2 x 24 in: 9 in of chips, 9 in of topsoil from 9 to 18, of which 5 below the rim of the lower frame at
    # 14 and 4 above, 6 in of compost: 9, 5 + 4, 6 ft3
    found = [
        (one.frame, one.tier, one.material, one.bottom / INCH, one.top / INCH, one.volume / CUBIC_FOOT)
        for one in layers()
    ]
    expected = [
        (1, 1, "wood chips", 0, 5.25, 8.75),
        (1, 2, "wood chips", 0, 9, 9),
        (1, 1, "topsoil", 5.25, 10.5, 8.75),
        (1, 2, "topsoil", 9, 14, 5),
        (1, 1, "compost", 10.5, 14, 20 * 3.5 / 12),
        (2, 2, "topsoil", 14, 18, 4),
        (2, 2, "compost", 18, 24, 6),
    ]
    assert [one[:3] for one in found] == [one[:3] for one in expected]
    assert np.array([one[3:] for one in found]) == pytest.approx(np.array([one[3:] for one in expected]), abs=1e-9)
    assert [one.order for one in layers()] == list(range(7))


def test_the_whole_by_hand():
    # 8 x 4 x 14/12 + 6 x 2 x 10/12 = 37.333 + 10 ft3; on the frames 37.333 and 10, under the ledges 23.333 and 24
    total = 8 * 4 * 14 / 12 + 6 * 2 * 10 / 12
    assert sum(one.volume for one in layers()) / CUBIC_FOOT == pytest.approx(total)
    by_frame = [sum(one.volume for one in layers() if one.frame == frame) / CUBIC_FOOT for frame in (1, 2)]
    assert by_frame == pytest.approx([37 + 1 / 3, 10])
    columns = by_tier(layers())
    assert [sum(one.volume for one in columns[tier]) / CUBIC_FOOT for tier in (1, 2)] == pytest.approx([70 / 3, 24])
    assert sum(one.mass for one in layers()) == pytest.approx(1000 * total * CUBIC_FOOT)


def test_walls_stand_on_soil_and_take_none_of_it_away():
    # walls of 0.1 m: 3.8 x 1.8 x 0.4 below, the strip under the upper walls with it, and 2.8 x 0.8 x 0.3 above
    walled = bed((Bed.Tier(height=0.4), Bed.Tier(height=0.3, inset=0.5)), outline=box(0, 0, 4, 2), wall_thickness=0.1)
    assert sum(one.volume for one in layers(walled)) == pytest.approx(6.84 * 0.4 + 2.24 * 0.3)


def test_flush_frames_hold_what_one_bed_of_their_height_holds():
    flush, single = layers(bed((TIERS[0], Bed.Tier(height=10 * INCH)))), layers(bed((), height=24 * INCH))
    for name in MATERIALS:
        volumes = [sum(one.volume for one in found if one.material == name) for found in (flush, single)]
        assert volumes[0] == pytest.approx(volumes[1])


def test_two_blends_of_one_name_stay_two():
    """Frames of 12 in: under the upper ledge the lower blend fills the lower frame, and the upper one the upper."""
    shares = ((0.8, 0.2), (0.4, 0.6))
    specs = [
        LayerSpec(material="mix", fraction=0.5, mix=(("topsoil", soil), ("compost", rest))) for soil, rest in shares
    ]
    one = bed((Bed.Tier(height=12 * INCH), Bed.Tier(height=12 * INCH, inset=1 * FOOT)))
    inner = by_tier(layers(one, Recipe(layers=tuple(specs))))[2]
    found = [(part.frame, part.material, part.volume / (6 * 2 * CUBIC_FOOT)) for part in inner]
    assert found == [
        (1, "topsoil", pytest.approx(0.8)), (1, "compost", pytest.approx(0.2)),
        (2, "topsoil", pytest.approx(0.4)), (2, "compost", pytest.approx(0.6)),
    ]  # fmt: skip


def test_a_blend_is_parted_as_a_mix():
    # 24 in of 3 parts topsoil and 1 of compost, parted at 14 in: both parts of the core have the same mix
    mix = Recipe(layers=(LayerSpec(material="mix", fraction=1, mix=(("topsoil", 0.75), ("compost", 0.25))),))
    core = by_tier(layers(recipe=mix))[2]
    assert [(one.frame, one.material) for one in core] == [
        (1, "topsoil"), (1, "compost"), (2, "topsoil"), (2, "compost"),
    ]  # fmt: skip
    assert [one.volume / CUBIC_FOOT for one in core] == pytest.approx([10.5, 3.5, 7.5, 2.5])


def test_thicknesses_make_a_level_base():
    base = Recipe(layers=(LayerSpec(material="wood chips", thickness=0.1), LayerSpec(material="topsoil", fraction=1)))
    tops = {one.tier: one.top for one in layers(recipe=base) if one.material == "wood chips"}
    assert tops == pytest.approx({1: 0.1, 2: 0.1})


def test_each_tier_settles_over_its_own_depth():
    # ring 5.25 x 0.8 + 5.25 x 0.9 + 3.5 x 0.75 = 11.55 in; core 9 x 0.8 + 9 x 0.9 + 6 x 0.75 = 19.8 in
    columns = by_tier(layers())
    settled = [sum(one.settled for one in columns[tier]) / INCH for tier in (1, 2)]
    assert settled == pytest.approx([11.55, 19.8])
    # the first autumn: 2.45 in over 20 ft2 and 4.2 in over 12 ft2 are 4.0833 + 4.2 ft3; the deepest sinks by 4.2 in
    first = top_ups(layers(), MATERIALS)[0]
    assert first.drop / INCH == pytest.approx(4.2)
    assert sum(volume for _, volume in first.volumes) / CUBIC_FOOT == pytest.approx(20 * 2.45 / 12 + 4.2)


@pytest.mark.parametrize(
    ("inset", "pressure", "thrust"),
    [
        # Ka g = 1/3 x 1600 x 9.80665 = 5230.2 Pa/m; alone x 0.3556 = 1859.9 Pa, 1859.9 x 0.3556 / 2 = 330.7 N/m
        (1 * FOOT, 1859.9, 330.7),  # 0.3048 x tan 60 = 0.528 m, below the foot at 0.3556: the upper frame is not felt
        (0.1, 3188.3, 573.0),  # from 0.1732 m down: 5230.2 x 0.254 = 1328.5 more, over 0.1824 m 242.3 N/m
        (0.0, 3188.3, 803.1),  # flush, as one wall of 0.6096 m: 5230.2 x 0.6096; 330.7 + 1328.5 x 0.3556
    ],
)
def test_the_push_on_the_lower_wall_by_hand(tiny_yard, inset, pressure, thrust):
    soil = Recipe(layers=(LayerSpec(material="topsoil", fraction=1),))
    tiers = (TIERS[0], Bed.Tier(height=10 * INCH, inset=inset))
    site = replace(tiny_yard, beds=(bed(tiers),), recipe=soil, materials=MATERIALS)
    lower, upper = bed_fills(site, layers(bed(tiers), soil))[0].tiers
    assert lower.wall_pressure == pytest.approx(pressure, abs=0.1)
    assert lower.wall_thrust == pytest.approx(thrust, abs=0.1)
    assert upper.wall_pressure == pytest.approx(5230.2 * 0.254, abs=0.1)  # 1328.5 Pa
    assert upper.wall_thrust == pytest.approx(5230.2 * 0.254**2 / 2, abs=0.1)  # 168.7 N/m
    assert lower.wall_height == pytest.approx(0.3556 if inset > 0.2 else 0.6096)
    if not inset:  # the two together are pushed as one wall of their height: 5230.2 x 0.6096^2 / 2
        assert lower.wall_thrust + upper.wall_thrust == pytest.approx(5230.2 * 0.6096**2 / 2, abs=0.1)


def test_what_a_tier_comes_to(tiny_yard):
    site = replace(tiny_yard, beds=(bed(),), recipe=RECIPE, materials=MATERIALS)
    (whole,) = bed_fills(site, layers())
    lower, upper = whole.tiers
    assert [one.area / FOOT**2 for one in (lower, upper)] == pytest.approx([20, 12])
    assert [one.soil_depth / INCH for one in (lower, upper)] == pytest.approx([8.75, 15])
    assert [one.volume / CUBIC_FOOT for one in (lower, upper)] == pytest.approx([37 + 1 / 3, 10])
    assert whole.weekly_water == pytest.approx(32 * FOOT**2 * INCH)  # an inch over both ledges
    assert whole.ground_pressure == pytest.approx(whole.mass_wet * 9.80665 / (32 * FOOT**2))
    assert whole.planting_area == pytest.approx(32 * FOOT**2)


def test_over_a_slope_the_lower_frame_takes_it_up():
    # a plane through the middle changes nothing; a fall of the ground by 0.1 m under a corner does
    size = 80
    grid = Grid(-10, 10, 0.25, size, size)
    x = -10 + (np.arange(size) + 0.5) * 0.25
    east, _ = np.meshgrid(x, x[::-1])
    slope = Terrain(grid, 0.05 * east)
    level = volume_over_ground(bed(), None)
    assert level / CUBIC_FOOT == pytest.approx(47 + 1 / 3)
    assert volume_over_ground(bed(), slope) == pytest.approx(level, rel=1e-6)
    # ground that is 0.1 m lower to the east of the lower frame's middle by more than 1 m: that ring holds more
    step = Terrain(grid, np.where(east > 8 * FOOT / 2 + 1.0, -0.1, 0.0))
    assert volume_over_ground(bed(), step) > level


def test_crops_and_depths_are_told_by_tier(tiny_yard):
    tomato, lettuce = (
        Crop(
            name=name,
            light_least=4,
            light_good=8,
            bed_depth=depth,
            root_depth_low=0.1,
            root_depth_high=1,
            season="warm",
        )
        for name, depth in (("tomato", 0.35), ("lettuce", 0.15))
    )
    site = replace(
        tiny_yard, beds=(bed(crops=("tomato", "lettuce")),), recipe=RECIPE, materials=MATERIALS, surfaces=(),
        crops={"tomato": tomato, "lettuce": lettuce},
    )  # fmt: skip
    said = {one.code: one.text for one in in_words(bed_findings(site, layers()), "imperial")}
    assert said["crop-tier"].startswith("On tier 1: Only 9 in of soil lie above the coarse base there")
    assert "tomato" in said["crop-tier"]
    assert "lettuce" not in said["crop-tier"]
    assert "crop-depth" not in said


def test_only_the_wall_that_is_high_wants_braces(tiny_yard):
    tall = bed((Bed.Tier(height=20 * INCH), Bed.Tier(height=6 * INCH, inset=1 * FOOT)), wall_thickness=0.0381)
    site = replace(tiny_yard, beds=(tall,), recipe=RECIPE, materials=MATERIALS, surfaces=())
    found = [one for one in in_words(bed_findings(site, layers(tall)), "imperial") if one.code == "wall-bracing"]
    assert [one.text.split(":")[0] for one in found] == ["On tier 1"]


def test_a_site_with_tiers_is_filled_and_bought_for(tiny_yard):
    site = replace(tiny_yard, beds=(bed(),))
    plan = plan_fill(site)
    assert sum(one.volume for one in plan.supplies) == pytest.approx((47 + 1 / 3) * CUBIC_FOOT)
    assert {(one.bed, one.order) for one in plan.supplies} == {(one.bed, one.order) for one in plan.layers}


def test_the_usual_layers_are_those_of_each_depth():
    # 14 in under the ledge is lower than 18 in: no coarse base there; 24 in in the middle has one
    usual = dict(MATERIALS) | {name: made(name) for name in ("coarse organic", "worm castings")}
    found = by_tier(fill_layers([bed()], Recipe(), usual))
    assert found[1][0].material == "topsoil"
    assert found[2][0].material == "coarse organic"


def test_soil_goes_in_by_lifts_in_each_frame():
    # lifts of 4 in at most: 5 1/4 in under the ledge, 5 in below the lower rim in the middle and 4 in above it
    lifts = [(one.frame, one.tier, one.lifts) for one in layers() if one.material == "topsoil"]
    assert lifts == [(1, 1, 2), (1, 2, 2), (2, 2, 1)]
    assert {one.lifts for one in layers() if one.material != "topsoil"} == {1}  # chips and compost go in at once


def test_lifts_are_counted_by_the_height_that_goes_in():
    # 8 in are two lifts of 4 in, a hair more still two, 9 in three; what is higher than the rim has lifts of its own
    soil = Recipe(layers=(LayerSpec(material="topsoil", fraction=1),))
    for inches, expected in ((8.0, 2), (8.0 + 1e-8, 2), (9.0, 3)):
        tall = bed((Bed.Tier(height=inches * INCH), Bed.Tier(height=4 * INCH, inset=1 * FOOT)))
        found = {(one.frame, one.tier): one.lifts for one in layers(tall, soil)}
        assert found == {(1, 1): expected, (1, 2): expected, (2, 2): 1}
