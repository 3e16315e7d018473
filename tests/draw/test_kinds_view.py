"""Does the page know of every kind and every setting what the reader knows?"""

from __future__ import annotations

import json

from siteplan.draw.kinds_view import kinds_view, settings_view
from siteplan.files.drawing.kinds import KINDS
from siteplan.files.site_toml.editing import setting_keys
from siteplan.land.values import Quantity


def keys_of(kind: str) -> dict[str, dict]:
    (found,) = [one for one in kinds_view()["kinds"] if one["kind"] == kind]
    return {key["name"]: key for key in found["keys"]}


def test_all_kinds_have_all_their_keys():
    kinds = kinds_view()["kinds"]
    assert [one["kind"] for one in kinds] == list(KINDS)
    for one in kinds:
        assert [key["name"] for key in one["keys"]] == list(KINDS[one["kind"]].fields)
        assert all(key["says"] and key["rule"]["type"] and key["rule"]["span"] for key in one["keys"])
    json.dumps(kinds, allow_nan=False)


def test_a_key_has_its_range_its_default_and_what_to_do_without_it():
    height = keys_of("tree")["height"]
    assert height["required"]
    assert height["advice"] == "measure it from the ground"
    rule = KINDS["tree"].fields["height"].rule
    assert isinstance(rule, Quantity)
    assert height["rule"]["span"] == rule.span
    assert (height["rule"]["dimension"], height["rule"]["unit"]) == ("length", "m")
    assert (height["rule"]["above"], height["rule"]["most"]) == (0, 500)
    assert tuple(height["rule"]["usual"]) == rule.usual
    assert height["rule"].get("spread", False) is rule.spread is True
    assert keys_of("tree")["crown_diameter"]["required_of"] == ["Point"]
    assert keys_of("tree")["foliage"]["rule"]["choices"] == ["deciduous", "evergreen"]
    assert keys_of("tree")["leaf_out"]["rule"]["type"] == "month-day"
    assert keys_of("bed")["height"]["instead"] == ["tiers"]
    assert [one["name"] for one in keys_of("bed")["tiers"]["each"]] == ["height", "inset", "outline"]
    assert keys_of("bed")["proposed"]["default"] is False
    assert keys_of("surface")["surface"]["advice"].startswith("one of paved")


def test_all_settings_are_there():
    assert tuple(settings_view()) == setting_keys()
    need = settings_view()["sun.need"]
    assert (need["default"], need["rule"]["most"]) == ("6 h", 16)
    json.dumps(settings_view(), allow_nan=False)


def test_rules_of_several_kinds():
    rules = {path: view["rule"] for path, view in settings_view().items()}
    assert rules["barrow.count"] == {"type": "whole", "span": "whole, 1 to 20", "least": 1, "most": 20}
    side = rules["ground.toward"]
    assert side == {
        "type": "side", "span": "a compass point, or degrees from north", "dimension": "angle", "least": -360,
        "most": 360, "unit": "degrees",
    }  # fmt: skip
