"""Do the tables of constants hold together, with a source in every row?"""

from __future__ import annotations

from siteplan.files.constant_tables import read_materials, read_rolling_surfaces
from siteplan.land.features import SURFACES

FLAGS = ("seen", "memory", "common practice", "calculated", "by definition")


def test_every_surface_has_its_ground():
    assert tuple(read_rolling_surfaces()) == SURFACES


def test_grounds_are_ordered_as_anyone_who_pushed_a_barrow_knows():
    rolling_surfaces = read_rolling_surfaces()
    for ground in rolling_surfaces.values():
        assert 0 < ground.rolling <= ground.rolling_wet < 1
        assert 0 < ground.pace <= 1
    harder = ["paved", "gravel", "grass", "mulch", "mud"]
    rolling = [rolling_surfaces[name].rolling for name in harder]
    assert rolling == sorted(rolling)
    assert [name for name, ground in rolling_surfaces.items() if not ground.loaded] == ["steps"]


def test_rolling_resistance_lies_within_the_published_ranges():
    """Carvill, Mechanical Engineer's Data Handbook, pneumatic tyres (seen second-hand).

    New asphalt or concrete 0.01, worn 0.02; loose worn gravel 0.04; medium-hard soil 0.08; sand 0.1 to 0.2. HSE L23
    (seen): at least 2 % of the load on a good floor, up to 10 % on uneven ground.
    """
    rolling_surfaces = read_rolling_surfaces()
    assert 0.01 <= rolling_surfaces["paved"].rolling <= 0.02
    assert (
        0.012 <= rolling_surfaces["gravel"].rolling <= 0.04
    )  # firm gravel 0.012: Moyer, in Marks' Standard Handbook
    assert 0.02 <= rolling_surfaces["soil"].rolling <= 0.08
    assert 0.02 <= rolling_surfaces["grass"].rolling <= 0.10
    assert 0.1 <= rolling_surfaces["mud"].rolling <= 0.2


def test_every_row_names_its_source_with_a_flag():
    for record in [*read_materials().values(), *read_rolling_surfaces().values()]:
        assert any(flag in record.source for flag in FLAGS), record


def test_own_material_goes_before_the_table(yard):
    from siteplan import read_site

    yard.toml += (
        '[[material]]\nname = "topsoil"\ndensity = "2000 lb/yd^3"\n'
        '[[material]]\nname = "leaf mould"\nkind = "organic"\ndensity = 400\ndensity_wet = 700\n'
        'settling_first = "40 %"\nsettling_later = 0.1\nshovel_rate = 1.0\n'
    )
    materials = read_site(yard.write()).materials
    assert round(materials["topsoil"].density) == 1187  # 2000 lb/yd3 at 0.593276 kg/m3
    known = read_materials()["topsoil"]
    assert materials["topsoil"].density_wet / materials["topsoil"].density == known.density_wet / known.density
    assert materials["topsoil"].settling_first == known.settling_first
    assert materials["leaf mould"].settling_first == 0.4
    assert known.density == 1250  # the table itself is not altered
