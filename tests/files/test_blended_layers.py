"""A layer of the recipe may be a blend."""

from __future__ import annotations

import tomllib

import pytest

from siteplan.files.remarks import Remarks
from siteplan.files.site_toml.keys import Keys
from siteplan.files.site_toml.trade import read_trade


def layers(text):
    remarks = Remarks()
    top = Keys(tomllib.loads(text), remarks, file="site.toml", where="")
    return read_trade(top).recipe.layers, [str(fault) for fault in remarks.faults]


def test_a_blended_layer_is_read_and_named_after_its_parts():
    found, faults = layers("""
        [fill]
        layers = [
            { material = "branches", fraction = 0.4 },
            { mix = { topsoil = "70 %", compost = 0.3 }, fraction = 0.5 },
            { material = "crumb", mix = { compost = 0.5, sand = 0.5 }, fraction = 0.1 },
        ]
    """)
    assert faults == []
    assert [layer.material for layer in found] == ["branches", "topsoil and compost", "crumb"]
    assert dict(found[1].parts) == pytest.approx({"topsoil": 0.7, "compost": 0.3})


def test_a_part_that_is_not_known_is_a_fault():
    _, faults = layers("[fill]\nlayers = [{ mix = { topsoil = 0.7, compots = 0.3 }, fraction = 1.0 }]")
    assert any("'compots' is not known; did you mean 'compost'?" in fault for fault in faults)


def test_a_blend_that_is_offered_needs_no_name_of_its_own():
    findings = Remarks()
    text = '[[offer]]\nmix = { topsoil = 0.6, compost = 0.4 }\nbag = "50 L"\nprice = 6.0'
    named = (
        text + '\n[[offer]]\nmaterial = "crumb"\nmix = { topsoil = 0.6, compost = 0.4 }\nbag = "40 L"\nprice = 5.0'
    )
    offers = read_trade(Keys(tomllib.loads(named), findings, file="site.toml", where="")).offers
    assert not findings.faults
    assert [offer.material for offer in offers] == ["topsoil and compost", "crumb"]
