"""What may stand in the tables of constants: the end of each range is allowed, and what lies beyond it is not."""

from __future__ import annotations

import pytest

from siteplan.land.constants import Albedo, Crop, Crown, Material, RollingSurface

SOUND = {
    Material: {"name": "m", "kind": "mineral", "density": 1000.0, "density_wet": 1200.0, "settling_first": 0.1,
               "settling_later": 0.05, "shovel_rate": 1.0},
    RollingSurface: {"surface": "grass", "rolling": 0.07, "rolling_wet": 0.1, "pace": 0.9, "loaded": True},
    Crop: {"name": "c", "light_least": 4.0, "light_good": 8.0, "bed_depth": 0.3, "root_depth_low": 0.2,
           "root_depth_high": 0.6, "season": "cool"},
    Crown: {"foliage": "deciduous", "crown_density": "open", "transmittance_leafy": 0.2, "transmittance_bare": 0.5,
            "leafy_least": 0.1, "leafy_most": 0.3, "bare_least": 0.4, "bare_most": 0.6, "source": "s"},
    Albedo: {"kind": "grass", "albedo": 0.2, "least": 0.1, "most": 0.3, "source": "s"},
}  # fmt: skip


def made(record, **changes):
    return record(**SOUND[record] | changes)


@pytest.mark.parametrize(("record", "key", "allowed", "beyond"), [
    (Material, "density_wet", 3000.0, 3001.0), (Material, "density", 1.0, 0.0),
    (Material, "settling_first", 0.99, 1.0), (Material, "settling_later", 0.0, -0.01),
    (Material, "shovel_rate", 20.0, 20.1), (Material, "shovel_rate", 0.01, 0.0),
    (Material, "carbon_nitrogen", 1.0, 0.9), (Material, "carbon_nitrogen", 2000.0, 2001.0),
    (Material, "caution", "x" * 2000, "x" * 2001),
    (RollingSurface, "rolling", 1.0, 1.01), (RollingSurface, "rolling_wet", 1.0, 1.01),
    (RollingSurface, "pace", 0.01, 0.0), (RollingSurface, "pace", 1.0, 1.01),
    (Crop, "light_good", 16.0, 16.1), (Crop, "light_least", 0.0, -0.1), (Crop, "light_least", 8.0, 8.1),
    (Crop, "bed_depth", 2.0, 2.1), (Crop, "bed_depth", 0.01, 0.0),
    (Crop, "root_depth_high", 5.0, 5.1), (Crop, "root_depth_low", 0.01, 0.0),
    (Crop, "root_depth_high", 0.2, 0.19),
    (Crown, "transmittance_leafy", 0.1, 0.09), (Crown, "transmittance_leafy", 0.3, 0.31),
    (Crown, "transmittance_bare", 0.4, 0.39), (Crown, "transmittance_bare", 0.6, 0.61),
    (Crown, "bare_most", 1.0, 1.01), (Crown, "leafy_least", 0.01, 0.0),
    (Albedo, "albedo", 0.1, 0.09), (Albedo, "albedo", 0.3, 0.31), (Albedo, "most", 1.0, 1.01),
])  # fmt: skip
def test_the_ends_of_each_range(record, key, allowed, beyond):
    assert getattr(made(record, **{key: allowed}), key) == allowed
    with pytest.raises(ValueError, match=r"must be|letters|characters"):
        made(record, **{key: beyond})
