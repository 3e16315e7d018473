"""Laws over whole sites, through reader and plan: the same property told in another way gets the same answers.

Turned with its north, moved, in feet, in another coordinate system, its features in another order or spread over
layers, and mirrored. The quick suite tries a few of each, the slow one many.
"""

from __future__ import annotations

import json
import math
from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.affinity import affine_transform, rotate, scale, translate

from siteplan import plan_site, read_site

from .attack.oracle import write
from .attack.sound import DRAWN, FEET, as_geojson, as_geopackage
from .attack.sound import settings as site_toml
from .known import known

SHAPES = [shape for _, shape, _ in DRAWN]
#: laws of what is far from cells and ties: hours of sun, what goes into the beds and what it costs
ROUNDING = 2e-4  # of an hour, a m3, a kg, a price: coordinates run through degrees, whose last digit is 1e-4 mm


def slow(*values):
    return pytest.param(*values, marks=pytest.mark.slow)


EXAMPLES = [2, slow(5)]


def origin(bearing=0.0, unit="m"):
    return f'[origin]\nlatitude = 45.0\nlongitude = 8.0\nbearing = {bearing!r}\nunit = "{unit}"\n'


def measured(shapes, **of_origin):
    """Return the files of a plan that was measured with a tape."""
    files = {"site.toml": site_toml("plan.json", end=origin(**of_origin)), "plan.json": as_geojson(shapes, unit="m")}
    return tuple(files.items())


@pytest.fixture(scope="module")
def answers(tmp_path_factory):
    """Return what plans a site's files: sun hours, fill and cost, by name of the figure; each site once, without ranges."""

    @cache
    def answer(files, *, haul=False):
        folder = tmp_path_factory.mktemp("site") / "yard"
        write(folder, dict(files))
        plan = plan_site(known(read_site(folder)), ask=["sun", "fill", *(["haul"] if haul else [])])
        found = {}
        for report in plan.beds:
            found |= {(report.bed.id, month): float(hours) for month, hours in enumerate(report.sun.month_sun_h, 1)}
            found[report.bed.id, "season"] = report.sun.season_sun_h
            found[report.bed.id, "darkest"] = report.sun.worst_cell_sun_h
        document = json.loads(json.dumps(plan.document()))
        for layer in document["fill"]["layers"]:
            found[layer["bed"], layer["material"], "volume"] = layer["volume_m3"]
            found[layer["bed"], layer["material"], "mass"] = layer["mass_kg"]
        found["cost"] = document["fill"]["total_cost"]
        if haul:
            found["minutes"] = document["haul"]["total_minutes"]
        return found

    return answer


@pytest.fixture(scope="module")
def usual(answers):
    """Return the answers to the yard as a plan in metres, its +y to the north."""
    return answers(measured(SHAPES))


def same(found, expected, *, within=ROUNDING):
    assert found.keys() == expected.keys()
    wrong = {
        key: (found[key], expected[key])
        for key in found
        if not math.isclose(found[key], expected[key], rel_tol=1e-5, abs_tol=within)
    }
    assert wrong == {}


def holds(law, examples, *drawn):
    settings(max_examples=examples, deadline=None, database=None)(given(*drawn)(law))()


def test_the_yard_is_no_trivial_one(usual):
    assert 0 < usual["north", "darkest"] < usual["north", "season"] < 15
    assert usual["south", 6] > usual["south", 12]
    assert usual["cost"] > 0


def test_the_barrow_gets_to_its_beds(answers):
    assert answers(measured(SHAPES), haul=True)["minutes"] > 30


@pytest.mark.parametrize("examples", EXAMPLES)
def test_a_plan_turned_with_its_north_is_the_same(answers, usual, examples):
    def law(angle):
        turned = [rotate(shape, angle, origin=(0, 0)) for shape in SHAPES]  # the other way round than a bearing
        same(answers(measured(turned, bearing=angle)), usual)

    holds(law, examples, st.floats(-359, 359))


@pytest.mark.parametrize("examples", EXAMPLES)
def test_a_plan_moved_on_its_paper_is_the_same(answers, usual, examples):
    # 40 m on earth move the sun by 0.0004 degrees: less than 2 s of a day; cells move with the boundary
    def law(east, north):
        same(answers(measured([translate(shape, east, north) for shape in SHAPES])), usual, within=2e-3)

    holds(law, examples, st.floats(-40, 40), st.floats(-40, 40))


@pytest.mark.parametrize(
    ("unit", "length"), [("ft", FEET), ("cm", 0.01), slow("in", FEET / 12), slow("yd", 3 * FEET)]
)
def test_a_plan_in_another_unit_is_the_same(answers, usual, unit, length):
    drawn = [affine_transform(shape, [1 / length, 0, 0, 1 / length, 0, 0]) for shape in SHAPES]
    same(answers(measured(drawn, unit=unit)), usual)


@pytest.mark.parametrize("examples", EXAMPLES)
def test_features_in_another_order_are_the_same(answers, examples):
    def in_order(features):
        return (
            ("site.toml", site_toml("plan.json", end=origin())),
            ("plan.json", json.dumps({"type": "FeatureCollection", "features": features}).encode()),
        )

    drawn = json.loads(as_geojson(SHAPES, unit="m"))["features"]
    expected = answers(in_order(drawn), haul=True)

    def law(order):
        found = dict(answers(in_order(order), haul=True))
        names = [one["id"] for one in order]
        if names.index("north") > names.index("south"):  # what is on hand goes to the bed that is drawn first
            assert found.pop("minutes") == pytest.approx(expected["minutes"], rel=0.01)
            found["minutes"] = expected["minutes"]
        same(found, expected, within=1e-9)

    holds(law, examples, st.permutations(drawn))


@pytest.mark.parametrize(
    "crs", ["EPSG:4326", "EPSG:32632", "EPSG:2056", slow("EPSG:3035"), slow("EPSG:3857"), slow("ESRI:54009")]
)
def test_another_coordinate_system_is_the_same(answers, usual, crs):
    files = (("site.toml", site_toml("yard.gpkg")), ("yard.gpkg", as_geopackage(crs)))
    same(answers(files), usual, within=2e-3)  # EPSG:2056 is on another datum, whose change keeps a centimetre


@pytest.mark.parametrize("examples", EXAMPLES)
def test_features_spread_over_layers_are_the_same(answers, usual, examples):
    names = [name for name, _, _ in DRAWN]

    def law(layers):
        of = dict(zip(names, layers, strict=True))
        made = as_geopackage(layer_of=lambda name, shape: f"{shape.geom_type} {of[name]}")
        same(answers((("site.toml", site_toml("yard.gpkg")), ("yard.gpkg", made))), usual, within=2e-3)

    holds(law, examples, st.lists(st.integers(1, 3), min_size=len(names), max_size=len(names)))


def test_a_mirrored_yard_has_the_mirrored_sun(answers, usual):
    # east and west change places: mornings become evenings, and a day's two halves are alike but for the sun's way
    # north or south within the day, at most 0.2 degrees at noon to noon, which moves rise and set by about a minute
    mirrored = answers(measured([scale(shape, xfact=-1, origin=(0, 0)) for shape in SHAPES]))
    assert mirrored.keys() == usual.keys()
    for key, hours in usual.items():
        assert mirrored[key] == pytest.approx(hours, rel=1e-5, abs=0.1), key  # the sky lies in steps of an hour here
    assert any(abs(mirrored[key] - usual[key]) > 1e-6 for key in usual)


def test_higher_walls_never_give_more_sun(answers, usual):
    drawn = json.loads(as_geojson(SHAPES, unit="m"))
    for one in drawn["features"]:
        if one["properties"]["kind"] in {"building", "hedge"}:
            one["properties"]["height"] = "3.4 m"
    higher = answers((("site.toml", site_toml("plan.json", end=origin())), ("plan.json", json.dumps(drawn).encode())))
    hours = [key for key in usual if isinstance(key, tuple) and len(key) == 2]
    assert all(higher[key] <= usual[key] + 1e-5 for key in hours)  # the sky is added up in single floats
    assert any(higher[key] < usual[key] - 0.05 for key in hours)
    assert {key: higher[key] for key in usual if key not in hours} == {
        key: usual[key] for key in usual if key not in hours
    }
