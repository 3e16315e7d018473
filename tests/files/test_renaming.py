"""How a file's own names of kinds and properties are translated."""

from __future__ import annotations

import pytest

from siteplan.files.remarks import Remarks
from siteplan.files.site_toml.keys import Keys
from siteplan.files.site_toml.renaming import Meaning, read_renaming


def renamed(**tables):
    """Return the tables as they are read, and the faults found in them."""
    remarks = Remarks()
    renaming = read_renaming(Keys(tables, remarks, file="site.toml", where="[rename]"))
    return renaming, [f"{one.where}: {one.text}" for one in remarks.faults]


def test_nothing_is_renamed():
    renaming, faults = renamed()
    assert (renaming.keys, renaming.kinds, faults) == ({}, {}, [])


def test_keys_and_kinds_of_a_city():
    renaming, faults = renamed(
        keys={"hoehe": "height", "krone": "crown_diameter"},
        kinds={"Haus": "building", "Rasen": "surface:grass", "Teich": "keepout: water", "Laterne": "ignore"},
    )
    assert faults == []
    assert renaming.keys == {"hoehe": "height", "krone": "crown_diameter"}
    assert renaming.kinds == {
        "Haus": Meaning("building"),
        "Rasen": Meaning("surface", {"surface": "grass"}),
        "Teich": Meaning("keepout", {"reason": "water"}),
        "Laterne": Meaning(None),
    }


@pytest.mark.parametrize(("tables", "words"), [
    ({"keys": {"hoehe": "heigth"}}, "hoehe' = 'heigth': that key is not known; did you mean 'height'?"),
    ({"keys": {"hoehe": "zzzzzz"}}, "that key is not known; (known: "),
    ({"kinds": {"Haus": "bilding"}}, "Haus' = 'bilding': that is not a kind; did you mean 'building'?"),
    ({"kinds": {"Haus": "zzzzzz"}}, "that is not a kind; (known: "),
    ({"kinds": {"Rasen": "surface:gras"}}, "that is not a kind; did you mean 'surface:grass'?"),
    ({"kinds": {"Rasen": "surface:zzzzzz"}}, "that is not a kind; (surfaces: "),
    ({"kinds": {"Haus": "building:tall"}}, "'building:tall': that is not a kind; did you mean 'building'?"),
    ({"kinds": {"Teich": "keepout:"}}, "'keepout:': that is not a kind"),
    ({"kind": {"Haus": "building"}}, "kind"),
])  # fmt: skip
def test_names_that_are_none(tables, words):
    renaming, faults = renamed(**tables)
    assert len(faults) == 1
    assert words in faults[0]
    assert (renaming.keys, renaming.kinds) == ({}, {})


def test_what_is_sound_is_kept_beside_what_is_not():
    renaming, faults = renamed(keys={"a": "height", "b": "heigth"}, kinds={"c": "tree", "d": "tre"})
    assert len(faults) == 2
    assert (renaming.keys, renaming.kinds) == ({"a": "height"}, {"c": Meaning("tree")})
