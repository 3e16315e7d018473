"""Findings and figures of a bed where one layer, one tier or one measure decides. By hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely import box

from siteplan.fill.bed_fill import bed_fills
from siteplan.fill.bed_findings import _touches_roots, bed_findings
from siteplan.fill.bed_ground import ground_fall, over_lead
from siteplan.fill.bed_tiers import _behind, _density, _surcharges
from siteplan.fill.fill_results import Layer
from siteplan.fill.recipe import fill_layers
from siteplan.land.features import Bed, Surface
from siteplan.land.grid import Grid
from siteplan.land.layers import LayerSpec, Recipe
from siteplan.land.outline import rectangle
from siteplan.land.site import SoilSettings
from siteplan.land.terrain import Terrain

OUTLINE = rectangle(0, 3, length=2.4, width=1.2, heading=90)
SHELF = Bed(
    id="a", outline=OUTLINE, wall_thickness=0.05, tiers=(Bed.Tier(height=0.25), Bed.Tier(height=0.25, inset=0.3))
)


def layer(order, material, bottom, top, *, blend="", frame=1, volume=1.0, mass_wet=0.0):
    return Layer(
        bed="a", order=order, material=material, bottom=bottom, top=top, volume=volume, mass=1.0, settled=0.1,
        blend=blend, frame=frame, mass_wet=mass_wet,
    )  # fmt: skip


SOIL_BELOW, WOOD = layer(0, "topsoil", 0, 0.1), layer(1, "coarse organic", 0.1, 0.3)
SOIL_DEEP, SOIL_THIN = layer(2, "topsoil", 0.3, 0.6), layer(2, "topsoil", 0.3, 0.5)


@pytest.mark.parametrize(("wood", "others", "touches"), [
    (WOOD, [], False),
    (WOOD, [SOIL_BELOW], False),  # no soil on it
    (WOOD, [SOIL_DEEP], False),  # 0.3 m of soil on it, and none below
    (WOOD, [SOIL_THIN], True),  # 0.2 m: less than eight inches
    (WOOD, [SOIL_BELOW, SOIL_DEEP], True),  # between soil and soil
    (WOOD, [SOIL_BELOW, SOIL_BELOW, SOIL_DEEP], True),
    (replace(WOOD, blend="mix"), [replace(SOIL_DEEP, order=1, blend="mix"), SOIL_DEEP], True),
    (replace(WOOD, blend="mix"), [replace(SOIL_DEEP, blend="other"), SOIL_DEEP], False),
    (WOOD, [replace(SOIL_DEEP, order=1), SOIL_DEEP], False),  # beside it is neither below nor above
    (WOOD, [SOIL_BELOW, replace(SOIL_DEEP, order=1)], False),
])  # fmt: skip
def test_where_wood_takes_nitrogen_from_the_roots(tiny_yard, wood, others, touches):
    assert _touches_roots(wood, [*others, wood], tiny_yard.materials) is touches


def found(site, code):
    layers = fill_layers(site.beds, site.recipe, site.materials)
    return [dict(one.figures) for one in bed_findings(site, layers) if one.code == code]


def recipe(*layers):
    return Recipe(layers=tuple(LayerSpec(material=name, **size) for name, size in layers))


def test_each_tier_whose_recipe_is_scaled_is_told(tiny_yard):
    site = replace(tiny_yard, beds=(SHELF,), recipe=recipe(("topsoil", {"thickness": 0.1})), surfaces=())
    assert found(site, "recipe-scaled") == [
        {"depth": pytest.approx(0.25), "tier": 1}, {"depth": pytest.approx(0.5), "tier": 2},
    ]  # fmt: skip


def test_the_tier_with_the_thickest_base_is_told(tiny_yard):
    # 0.2 m of 0.25 m, and of 0.5 m
    layers = recipe(("coarse organic", {"thickness": 0.2}), ("topsoil", {"fraction": 1.0}))
    for tiers, tier in ((SHELF.tiers, 1), ((Bed.Tier(height=0.5), Bed.Tier(height=0.05, inset=0.3)), None)):
        site = replace(
            tiny_yard,
            beds=(Bed(id="a", outline=OUTLINE, wall_thickness=0.05, tiers=tiers),),
            recipe=layers,
            surfaces=(),
        )
        shares = [(one["tier"], one["share"]) for one in found(site, "coarse-share")]
        assert shares == ([(tier, pytest.approx(0.8))] if tier else [])


def test_ground_is_read_every_quarter_of_a_metre_along_the_edges(tiny_yard):
    # a ridge 0.6 m from the west end of a bed of 2.4 m, falling 1 m a metre to both sides: read at 0.48 and 0.72 m
    cells = Grid(-1.21, 2, 0.02, 250, 250)
    x, _ = np.meshgrid(cells.x, cells.y)
    ridge = Terrain(cells, np.maximum(0.3 - np.abs(x - 0.6), 0.0))
    bed = Bed(id="a", outline=box(0, -0.5, 2.4, 0.5), height=0.4)
    assert ground_fall(replace(tiny_yard, terrain=ridge), bed) == pytest.approx(0.18, abs=1e-3)


def test_over_paving_there_is_no_lead(tiny_yard):
    site = replace(tiny_yard, soil=SoilSettings(lead=900), surfaces=())
    assert over_lead(site, SHELF) is True
    paved = Surface(id="p", outline=box(-9, -9, 9, 9), surface="paved")
    assert over_lead(replace(site, surfaces=(paved,)), SHELF) is False
    assert over_lead(replace(site, soil=SoilSettings()), SHELF) is False


def test_the_frame_above_presses_with_its_own_fill():
    # 1600 kg/m3 in the upper frame, 500 in the lower; 0.25 m high; it stands 0.3 m from the outside, 0.25 from the wall
    layers = [layer(0, "bark", 0, 0.25, volume=2.0, mass_wet=1000.0),
              layer(0, "topsoil", 0.25, 0.5, frame=2, volume=1.0, mass_wet=1600.0)]  # fmt: skip
    (load,) = _surcharges(SHELF, SHELF.frames[0], layers)
    assert load.pressure == pytest.approx(1600 * 9.80665 * 0.25)
    assert load.distance == pytest.approx(0.25)
    assert _surcharges(SHELF, SHELF.frames[1], layers) == []
    assert _density([]) == 0.0
    assert _density(layers) == pytest.approx(2600 / 3)


def test_a_frame_that_stands_on_the_walls_presses_at_once():
    narrow = replace(SHELF, tiers=(Bed.Tier(height=0.25), Bed.Tier(height=0.25, inset=0.02)))
    load = _behind(*narrow.frames)
    assert (load.pressure, load.distance) == (0.0, 0.0)


def test_lining_and_hoses_of_a_bed(tiny_yard):
    bed = Bed(id="a", outline=OUTLINE, height=0.4, wall_thickness=0.05)
    site = replace(
        tiny_yard, beds=(bed,), surfaces=(), recipe=recipe(("topsoil", {"fraction": 1.0})),
        water=replace(tiny_yard.water, flow=0.5),
    )  # fmt: skip

    def figures(site):
        (one,) = bed_fills(site, fill_layers(site.beds, site.recipe, site.materials))
        return one

    # 2.3 m x 1.1 m inside and 0.4 m high: 15 % can be held, half of it is there; a hose that gives 0.5 m3/h
    one = figures(site)
    assert one.moistening_water == pytest.approx(2.3 * 1.1 * 0.4 * 0.075)
    assert one.moistening_hose == pytest.approx(one.moistening_water / 0.5)
    assert one.weekly_hose == pytest.approx(one.weekly_water / 0.5)
    assert figures(replace(site, water=replace(site.water, flow=None))).weekly_hose is None
    assert figures(replace(site, recipe=replace(site.recipe, lining="none"))).lining_area == 0.0
    lined = replace(site, recipe=replace(site.recipe, lining="cardboard"))
    assert figures(lined).lining_area == pytest.approx(2.3 * 1.1)
    paved = Surface(id="p", outline=box(-9, -9, 9, 9), surface="paved")
    assert figures(replace(lined, surfaces=(paved,))).lining_area == 0.0
