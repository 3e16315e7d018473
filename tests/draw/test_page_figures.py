"""Does the page read a figure as the plan does? Each figure is read by both, from the same files."""

from __future__ import annotations

import pytest

from siteplan.draw.property import Property
from siteplan.files.reader import read_site
from siteplan.land.units import length_unit

from .conftest import write_yard
from .modules import told


def opened(folder, unit):
    """Return the yard with another unit of its drawing in its settings, as the page gets it."""
    write_yard(folder, "plan ft")
    file = folder / "site.toml"
    file.write_text(file.read_text().replace('unit = "ft"', f'unit = "{unit}"'))
    return Property(folder).view()


def test_units_are_as_long_as_in_the_plan():
    units = told({"units": "METRES"}, "return METRES")
    assert {"m", "dm", "cm", "mm", "km", "ft", "in", "yd", "sft"} == set(units)
    assert units == {sign: pytest.approx(length_unit(sign).metres, rel=1e-11) for sign in units}


@pytest.mark.parametrize("unit", ["ft", "feet", "foot", "ft.", "metre", "yards", "inches", "survey_foot", "decimetre"])
def test_a_number_is_in_the_unit_of_the_file_however_it_is_written(tmp_path, unit):
    view = opened(tmp_path / "yard", unit)
    typed = told(
        {"state": "change, unit", "typed": "typedLength", "fields": "valueOf"},
        """change((s) => { s.property = given; });
        const rule = { type: "quantity", dimension: "length" };
        return [typedLength("12", unit()), unit(), valueOf("12", rule), valueOf("12 ft 6 in", rule)]""",
        view,
    )
    metres = length_unit(unit).metres
    assert typed[0] == pytest.approx(12 * metres, rel=1e-11)
    assert typed[1] == view["unit"]
    assert length_unit(view["unit"]).metres == metres
    number, sign = typed[2].split()
    assert (number, length_unit(sign).metres) == ("12", metres)
    number, sign = typed[3].split()
    assert float(number) * length_unit(sign).metres == pytest.approx(3.81, abs=1e-3)  # a file has millimetres


@pytest.mark.parametrize("unit", ["fathom", "chain", "ft*ft/m"])
def test_in_a_unit_that_no_tape_has_she_types_metres(tmp_path, unit):
    view = opened(tmp_path / "yard", unit)
    typed = told(
        {"state": "change, unit", "typed": "typedLength", "fields": "valueOf"},
        """change((s) => { s.property = given; });
        return [unit(), typedLength("12", unit()), valueOf("12", { type: "quantity", dimension: "length" })]""",
        view,
    )
    assert typed == ["m", 12, "12 m"]


def test_a_unit_that_waits_counts_before_the_saved_one(tmp_path):
    view = opened(tmp_path / "yard", "feet")
    lines = """change((s) => { s.property = given; s.waiting = [
        { path: "/api/edit", says: "", body: { settings: { "origin.unit": "cm" } } }]; });
        return unit()"""
    assert told({"state": "change, unit"}, lines, view) == "cm"
