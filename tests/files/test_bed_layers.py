"""A bed's own layers in files: a list, a recipe's name, a text of JSON; and what is said of those at fault."""

from __future__ import annotations

import json

import pytest

from siteplan import read_site
from siteplan.files.reader import check_site
from siteplan.land.layers import LayerSpec

DEEP = '[[recipe]]\nname = "deep"\nlayers = [{ material = "logs", thickness = "8 in" }, { material = "topsoil", fraction = 1 }]\n'
WANTED = (LayerSpec(material="logs", thickness=0.2032), LayerSpec(material="topsoil", fraction=1.0))


@pytest.mark.parametrize(
    "layers",
    [
        "deep",
        [{"material": "logs", "thickness": "8 in"}, {"material": "topsoil", "fraction": 1}],
        json.dumps([{"material": "logs", "thickness": 0.2032}, {"material": "topsoil", "fraction": "100 %"}]),
    ],
)
def test_layers_are_read(yard, layers):
    yard.toml += DEEP
    yard.features["north"]["properties"]["layers"] = layers
    site = read_site(yard.write())
    assert site.bed("north").layers == WANTED
    assert [bed.layers for bed in site.beds if bed.id != "north"] == [()] * (len(site.beds) - 1)


@pytest.mark.parametrize(
    ("layers", "words"),
    [
        ("dep", "there is no recipe 'dep'; did you mean 'deep'?"),
        ("zzz", "there is no recipe 'zzz'; there are deep"),
        ("[", "layers is '[', must be a list such as"),
        (3, "layers must be a list such as"),
        ([], "layers is empty"),
        ([{"material": "topsol", "fraction": 1}], "'topsol' is not known; did you mean 'topsoil'?"),
        ([{"material": "topsoil"}], "has neither fraction nor thickness"),
        ([{"material": "topsoil", "fraction": 0.5}], "the fractions 0.5 sum to 0.5, must sum to 1"),
    ],
)
def test_what_is_at_fault_is_told(yard, layers, words):
    yard.toml += DEEP
    yard.features["north"]["properties"]["layers"] = layers
    faults = [str(fault) for fault in check_site(yard.write()).faults]
    assert len(faults) == 1
    assert words in faults[0]
    assert "north" in faults[0]


@pytest.mark.parametrize(
    ("recipe", "words"),
    [
        ('[[recipe]]\nlayers = [{ material = "topsoil", fraction = 1 }]\n', "name is missing"),
        ('[[recipe]]\nname = "deep"\n', "layers is missing"),
        (DEEP + DEEP, "'deep' is there twice"),
        ('[[recipe]]\nname = "deep"\nlayers = [{ material = "topsoil", fraction = 0.5 }]\n', "must sum to 1"),
        ('[[recipe]]\nname = "deep"\nlayer = 1\n', "'layer' is not known"),
    ],
)
def test_a_recipe_at_fault_is_told_once(yard, recipe, words):
    yard.toml += recipe
    yard.features["north"]["properties"]["layers"] = "deep"
    faults = [str(fault) for fault in check_site(yard.write()).faults]
    assert any(words in fault and "[[recipe]]" in fault for fault in faults)


def test_what_no_pile_or_shop_has_is_told_of_a_beds_own_layers(yard):
    yard.features["north"]["properties"]["layers"] = [{"material": "peat", "fraction": 1}]
    cautions = {caution.code: caution.text for caution in check_site(yard.write()).cautions}
    assert "peat" in cautions["nothing-on-offer"]
