"""Does the page read a figure as the plan does? Each figure is read by both, from the same files."""

from __future__ import annotations

import json

import pytest
import shapely
from shapely import LineString, Point, Polygon, box

from siteplan.draw.property import Property
from siteplan.files.reader import read_site
from siteplan.land.frame import local_to_plan
from siteplan.land.units import length_unit, si_value
from siteplan.show.symbols.shapes import ridge_line

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


@pytest.mark.parametrize(
    "unit", ["ft", "feet", "foot", "ft.", "metre", "yards", "inches", "survey_foot", "decimetre"]
)
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


@pytest.mark.parametrize("typed", [
    "12", "1,5", ".5", "1,5 m", "1.5 m", "12,5 ft", ",5 m", "1,5 m 3 cm", "12 ft 6 in", "12' 6 1/2\"", "1/2 in", "-3 ft", "3 dm", "2 yd", "40 sft",
])  # fmt: skip
def test_what_is_typed_in_a_field_is_read_alike_in_the_file(tmp_path, typed):
    view = opened(tmp_path / "yard", "feet")
    written, metres = told(
        {"state": "change, unit", "typed": "typedLength", "fields": "valueOf"},
        f"""change((s) => {{ s.property = given; }});
        const typed = {json.dumps(typed)};
        return [valueOf(typed, {{ type: "quantity", dimension: "length" }}), typedLength(typed, unit())]""",
        view,
    )
    plain = length_unit(view["unit"])
    assert si_value(written, "length", plain=plain) == pytest.approx(metres, abs=5e-4)  # written to a millimetre


@pytest.mark.parametrize(("typed", "rule", "written"), [
    ("24,5 ft +- 1,5 ft", {"type": "quantity", "dimension": "length"}, "24.5 ft +- 1.5 ft"),
    ("2,5 h", {"type": "quantity", "dimension": "time"}, "2.5 h"), ("2,5", {"type": "quantity", "dimension": "time"}, 2.5),
    ("4,20", {"type": "money"}, 4.2), ("oak, 1,5 m", {"type": "text"}, "oak, 1,5 m"), ("a, b", {"type": "choice"}, "a, b"),
    ("8,6", {"type": "lengths", "dimension": "length"}, "8,6"), ("1 ft, 8 in", {"type": "lengths", "dimension": "length"}, "1 ft, 8 in"),
])  # fmt: skip
def test_a_decimal_comma_is_written_as_a_point_but_not_one_in_a_text_or_a_list(typed, rule, written):
    assert told({"fields": "valueOf"}, "return valueOf(...given)", [typed, rule]) == written


@pytest.mark.parametrize(
    ("zone", "day"), [("America/Los_Angeles", "2026-03-01"), ("UTC", "2026-03-02"), ("Asia/Tokyo", "2026-03-02")]
)
def test_today_is_the_day_where_she_stands(zone, day):
    lines = f"""process.env.TZ = "{zone}";
        return dayOf(new Date("2026-03-02T03:00:00Z"))"""
    assert told({"north": "dayOf"}, lines) == day


# ---- what a thing has: read by the page's modules and by the plan

BEARING = 30.0
KINDS = """
    change((s) => { s.property = given; });
    const how = reading();
    const one = (kind) => features().find((feature) => feature.kind === kind);
    """
IMPORTS = {
    "state": "change, features, reading",
    "reading": "crownWidth, lengthOf",
    "outlines": "hedgeOutline, ridge",
    "gates": "gateGap",
}


def both(folder, drawn, *, unit="feet", more=""):
    """Return the site, and what the page gets, of things drawn in a unit: (kind, shape, properties) each."""
    folder.mkdir()
    (folder / "site.toml").write_text(
        f'name = "Yard"\n\n[origin]\nlatitude = 45.0\nlongitude = 8.0\nbearing = {BEARING}\nunit = "{unit}"\n{more}'
    )
    lot = ("boundary", box(-90, -90, 90, 90), {})
    features = [
        {
            "type": "Feature",
            "id": f"{kind}-{number}",
            "properties": {"kind": kind, **properties},
            "geometry": json.loads(shapely.to_geojson(shape)),
        }
        for number, (kind, shape, properties) in enumerate([lot, *drawn])
    ]
    (folder / "features.geojson").write_text(json.dumps({"type": "FeatureCollection", "features": features}))
    return read_site(folder), Property(folder).view()


def on_paper(shape):
    """Return a shape of the site in the page's plane. [m]"""
    return local_to_plan(shape, bearing=BEARING, metres_per_unit=1.0)


def same_line(found, wanted):
    """Whether two lines are the same to a millimetre, to which the page gets its corners, whichever way they run."""
    return shapely.hausdorff_distance(LineString(found), wanted) < 1e-3


@pytest.mark.parametrize("unit", ["m", "feet", "survey_foot", "fathom"])
@pytest.mark.parametrize("crown", [
    {"crown_diameter": 5}, {"crown_diameter": "5"}, {"crown_diameter": "13 ft"}, {"crown_radius": 2.5}, {"crown_radius": "10 ft"},
    {"crown_diameter": "5 +- 1"}, {"Krone": 5},
])  # fmt: skip
def test_a_crown_is_as_wide_as_in_the_plan(tmp_path, unit, crown):
    rename = '\n[rename.keys]\nKrone = "crown_diameter"\n' if "Krone" in crown else ""
    site, view = both(tmp_path / "yard", [("tree", Point(9, 9), {"height": 6, **crown})], unit=unit, more=rename)
    left, _, right, _ = site.trees[0].outline.bounds
    wide = told(IMPORTS, KINDS + 'return crownWidth(one("tree"), how)', view)
    assert wide == pytest.approx(right - left, abs=1e-9)


def test_a_hedge_is_as_wide_as_in_the_plan(tmp_path):
    hedge = LineString([(0, 0), (20, 0), (20, 12)])
    site, view = both(tmp_path / "yard", [("hedge", hedge, {"height": 5, "width": 4})])
    found = Polygon(told(IMPORTS, KINDS + 'return hedgeOutline(one("hedge"), how)', view))
    assert found.symmetric_difference(on_paper(site.hedges[0].outline)).area < 1e-2  # of 12 m2


HOUSES = {
    "longer side": box(0, 0, 40, 24),
    "aslant": shapely.affinity.rotate(box(0, 0, 40, 24), 20, origin=(0, 0)),
    "two wings": Polygon([(0, 0), (40, 0), (40, 30), (30, 30), (30, 12), (12, 12), (12, 30), (0, 30)]),
}


@pytest.mark.parametrize("house", HOUSES)
@pytest.mark.parametrize("told_heading", [
    {}, {"ridge_heading": 0}, {"ridge_heading": 30}, {"ridge_heading": 120.0}, {"ridge_heading": "75 degrees"},
    {"ridge_heading": -15}, {"ridge_heading": 300},
])  # fmt: skip
def test_a_ridge_runs_as_in_the_plan(tmp_path, house, told_heading):
    gabled = {"height": "23 ft", "eaves": 11, **told_heading}
    site, view = both(tmp_path / "yard", [("building", HOUSES[house], gabled)])
    found = told(IMPORTS, KINDS + 'return ridge(one("building"), how)', view)
    assert same_line(found, on_paper(ridge_line(site.buildings[0])))


def test_a_flat_roof_has_no_ridge(tmp_path):
    site, view = both(tmp_path / "yard", [("building", HOUSES["aslant"], {"height": 23})])
    assert ridge_line(site.buildings[0]) is None
    assert told(IMPORTS, KINDS + 'return ridge(one("building"), how)', view) is None


def test_a_ridge_told_from_north_is_left_out_while_north_is_not_known(tmp_path):
    _, view = both(
        tmp_path / "yard", [("building", HOUSES["aslant"], {"height": 23, "eaves": 11, "ridge_heading": 0})]
    )
    assert told(IMPORTS, KINDS + 'return ridge(one("building"), { ...how, north: null })', view) is None


FENCE = ("fence", LineString([(0, 0), (10, 0), (10, 6)]), {"height": 2})
RING = ("fence", LineString([(20, 0), (26, 0), (26, 6), (20, 6), (20, 0)]), {"height": 2})
WALL = ("fence", box(0, 20, 10, 20.4), {"height": 2})
HEDGE = ("hedge", LineString([(0, 3), (20, 3)]), {"height": 2, "width": 1})
AREA = ("hedge", box(0, 30, 10, 32), {"height": 2})
GATES = {
    "on its fence": (Point(4, 0), [FENCE]),
    "off it": (Point(4, 1.5), [FENCE]),
    "just within reach": (Point(4, -1.999), [FENCE]),
    "near its start": (Point(0.2, 0.1), [FENCE]),
    "near its end": (Point(10, 5.8), [FENCE]),
    "beyond its end": (Point(-1, 0), [FENCE]),
    "beyond its end, aslant": (Point(10.8, 7), [FENCE]),
    "around its corner": (Point(9.8, 0), [FENCE]),
    "at the seam of a ring": (Point(20.2, 0.1), [RING]),
    "in a wall": (Point(4, 19.9), [WALL]),
    "in a hedge": (Point(4, 3.2), [HEDGE]),
    "in a hedge drawn as an area": (Point(9.9, 31), [AREA]),
    "in the farther fence, not the nearer hedge": (Point(4, 1.6), [HEDGE, FENCE]),
    "in the nearer of two": (Point(8.5, 1), [FENCE, ("fence", LineString([(0, 3), (9, 3)]), {"height": 2})]),
    "a line": (LineString([(3, 0.5), (4.4, 0.5)]), [FENCE]),
    "a line around the corner": (LineString([(9.4, 0), (10, 0.9)]), [FENCE]),
    "a line beyond the end": (LineString([(-1.5, 0), (-0.1, 0)]), [FENCE]),
    "a line over a seam": (LineString([(20.5, 0), (20, 0.5)]), [RING]),
    "a line in a hedge": (LineString([(3, 2.4), (4.4, 2.4)]), [HEDGE]),
}


@pytest.mark.parametrize("gate", GATES)
def test_a_gate_opens_the_same_stretch_as_in_the_plan(tmp_path, gate):
    drawn, barriers = GATES[gate]
    width = {"width": 1.2} if drawn.geom_type == "Point" else {}
    site, view = both(tmp_path / "yard", [*barriers, ("gate", drawn, width)], unit="m")
    found = told(IMPORTS, KINDS + 'return gateGap(one("gate"), features(), how)', view)
    assert same_line(found, on_paper(site.gates[0].line))


def test_a_gate_out_of_reach_opens_nothing_and_is_drawn_across(tmp_path):
    site, view = both(tmp_path / "yard", [FENCE, ("gate", Point(4, -2.001), {"width": 1.2})], unit="m")
    assert not site.gates
    found = told(IMPORTS, KINDS + 'return gateGap(one("gate"), features(), how)', view)
    assert found == [pytest.approx([3.4, -2.001]), pytest.approx([4.6, -2.001])]
