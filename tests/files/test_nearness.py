"""What of a large drawing is near enough to matter? Distances, roles and heights, by hand."""

from __future__ import annotations

import math
from types import SimpleNamespace

import numpy as np
import pytest
from pyproj import CRS

from siteplan.files.drawing.nearness import (
    ALWAYS,
    BOUNDARY,
    GROUND,
    OBSTACLE,
    Outlook,
    Place,
    Roles,
    near,
    note_left_out,
    place_of,
    reach,
)
from siteplan.files.remarks import Remarks
from siteplan.files.site_toml.renaming import Meaning, Renaming
from siteplan.files.site_toml.settings import Origin
from siteplan.land.units import METRE, length_unit

from .rasters import TO_UTM

FEET = Place(metres_per_unit=0.3048)
UTM = CRS("EPSG:32632")
nan = math.nan


def bounds(*rows):
    return np.array(rows, dtype=float)


def test_degrees_in_metres():
    """A degree of latitude is 111.2 km; at 60 degrees one of longitude is half as long. Counted from the middle."""
    about = bounds((10.0, 59.99, 10.01, 60.01))[0]
    assert Place().metres(bounds((10.105, 60.0, 10.205, 60.1)), about) == pytest.approx(
        bounds((5560, 6_672_000, 11_120, 6_683_120))
    )
    south = Place().metres(bounds((9.805, -60.1, 9.905, -60.0)), bounds((10.0, -60.01, 10.01, -59.99))[0])
    assert south == pytest.approx(bounds((-11_120, -6_683_120, -5560, -6_672_000)))


def test_near_a_pole_east_keeps_a_width():
    about = bounds((0.0, 89.4, 0.0, 89.6))[0]
    assert Place().metres(bounds((1.0, 89.5, 2.0, 89.5)), about)[0, [0, 2]] == pytest.approx(
        111_200 * math.cos(math.radians(89)) * np.array([1, 2])
    )


def test_bounds_on_the_other_side_of_the_date_line():
    about = bounds((179.98, -1, 180.0, 1))[0]
    found = Place().metres(bounds((-179.99, 0, -179.98, 0)), about)[0]
    assert found[[0, 2]] == pytest.approx([0.02 * 111_200, 0.03 * 111_200])
    over = Place().metres(bounds((-179.99, 0, 179.97, 0)), about)[0]
    assert over[0] < over[2]


@pytest.mark.parametrize(("box", "away"), [
    ((100, 0, 110, 10), 90), ((-110, 0, -100, 10), 100), ((0, 30, 10, 40), 20), ((0, -40, 10, -30), 30),
    ((13, 14, 20, 20), 5), ((-4, -3, -4, -3), 5), ((5, 5, 50, 50), 0), ((10, 10, 12, 12), 0), ((-99, -99, 99, 99), 0),
])  # fmt: skip
def test_how_far_bounds_lie_apart(box, away):
    about = bounds((0, 0, 10, 10))[0]
    assert FEET.distance(bounds(box), about) == pytest.approx([away * 0.3048])


def test_bounds_of_a_plan_widened():
    assert FEET.widened(bounds((0, 1, 10, 20))[0], 3.048) == pytest.approx((-10, -9, 20, 30))


def test_bounds_in_degrees_widened():
    """By a hundredth more than 1,112 m, a hundredth of a degree of latitude; at 60 degrees twice that of longitude."""
    up = 0.0101
    for south, north in ((59.0, 60.0), (-60.0, -59.0)):
        aside = up / math.cos(math.radians(60.0101))
        assert Place().widened(bounds((10, south, 11, north))[0], 1112) == pytest.approx(
            (10 - aside, south - up, 11 + aside, north + up), rel=1e-12
        )
    west, *_ = Place().widened(bounds((10, 89.2, 11, 89.5))[0], 1112)
    assert west == pytest.approx(10 - up / math.cos(math.radians(89)), rel=1e-12)


def test_bounds_in_another_system_widened():
    x, y = TO_UTM.transform(8.0, 45.0)
    west, south, east, north = Place(crs=UTM).widened(bounds((x, y, x + 100, y + 100))[0], 1000)
    for got in (x - west, y - south, east - x - 100, north - y - 100):
        assert 1000 <= got <= 1040  # a hundredth more, and its north is 0.7 degrees off
    found = Place(crs=UTM).metres(bounds((x + 500, y, x + 600, y + 200)), bounds((x, y, x + 100, y + 100))[0])
    assert found[0, 2] - found[0, 0] == pytest.approx(100, abs=3)
    assert found[0, 3] - found[0, 1] == pytest.approx(200, abs=3)
    away = Place(crs=UTM).distance(bounds((x + 500, y, x + 600, y + 200)), bounds((x, y, x + 100, y + 100))[0])
    assert away == pytest.approx([400], abs=4)


def test_the_coordinates_of_a_drawing():
    plan = SimpleNamespace(has_origin=True, origin=Origin(latitude=45, longitude=8, unit="ft"))
    assert place_of(plan, UTM) == Place(length_unit("ft"), metres_per_unit=0.3048)
    faulty = SimpleNamespace(has_origin=True, origin=None)
    assert place_of(faulty, UTM) == Place(METRE, metres_per_unit=1.0)
    drawn = SimpleNamespace(has_origin=False, origin=None)
    assert place_of(drawn, None) == Place()
    for code in ("EPSG:32632", "EPSG:4326"):
        assert place_of(drawn, CRS(code)).crs == CRS(code)
    assert place_of(drawn, CRS('LOCAL_CS["a garden", UNIT["metre", 1]]')).crs is None


PLAIN = Roles(Renaming())


@pytest.mark.parametrize(("kind", "role"), [
    ("boundary", BOUNDARY), ("building", OBSTACLE), ("tree", OBSTACLE), ("hedge", OBSTACLE), ("fence", OBSTACLE),
    ("surface", GROUND), ("keepout", GROUND), ("bed", ALWAYS), ("pile", ALWAYS), ("gate", ALWAYS), ("tap", ALWAYS),
    ("castle", OBSTACLE), (" tree ", OBSTACLE), ("\tbed", ALWAYS), (None, OBSTACLE), (7, OBSTACLE),
])  # fmt: skip
def test_the_role_of_a_kind(kind, role):
    assert PLAIN.role(kind) == role
    assert PLAIN.role(kind) == role  # remembered


def test_roles_and_heights_under_the_files_own_names():
    renaming = Renaming(
        {"art": "kind", "hoch": "height", "high": "height"},
        {"haus": Meaning("building"), "lot": Meaning("boundary"), "stuff": Meaning(None), "soil": Meaning("bed")},
    )
    roles = Roles(renaming)
    assert (roles.kind_keys, roles.height_keys) == (("art", "kind"), ("hoch", "high", "height"))
    assert roles.of({"art": "haus", "high": 4}) == (OBSTACLE, 4.0)
    assert roles.of({"art": "lot", "kind": "bed", "hoch": None, "high": "3 m", "height": 9}) == (BOUNDARY, 3.0)
    assert roles.of({"art": "soil"})[0] == ALWAYS
    assert roles.of({"art": "stuff"})[0] == OBSTACLE
    swapped = Roles(Renaming({"kind": "reason", "art": "kind"}))  # what the file calls kind is something else
    assert swapped.of({"kind": "bed", "art": "boundary"})[0] == BOUNDARY
    assert swapped.of({"kind": "bed"})[0] == OBSTACLE
    assert PLAIN.of({"kind": "surface", "height": 2}) == (GROUND, 2.0)
    assert PLAIN.of({}) == (OBSTACLE, 20.0)


@pytest.mark.parametrize(("value", "height"), [
    (3, 0.9144), (2.5, 0.762), ("10", 3.048), ("3 m", 3.0), ("3 m +- 0.5 m", 3.5), ("10 ft +- 10 %", 3.3528),
    ("high", 20.0), (None, 20.0), ([3], 20.0), (nan, 20.0), (math.inf, 20.0), ("", 20.0),
])  # fmt: skip
def test_a_height_in_the_unit_of_the_drawing(value, height):
    """What cannot be read is taken for 20 m, so that it is not left out before its fault is told."""
    roles = Roles(Renaming(), length_unit("ft"))
    assert roles.height(value) == pytest.approx(height)
    assert roles.height(value) == pytest.approx(height)


def test_how_far_what_stands_matters():
    """A top is seen half a degree high from 114.6 times its height; no less than 100 m, and 50 m for a crown."""
    assert reach(0.0) == 150
    assert reach(0.87) == 150
    assert reach(0.88) == pytest.approx(0.88 * 114.5887 + 50, abs=1e-3)
    assert reach(10.0) == pytest.approx(1195.887, abs=1e-3)


def test_which_features_are_near():
    rows = [
        (BOUNDARY, 0, (0, 0, 10, 10)), (BOUNDARY, 0, (20, 0, 30, 10)), (BOUNDARY, 0, (nan, nan, nan, nan)),
        (ALWAYS, 0, (9999, 0, 9999, 0)), (GROUND, 0, (179, 0, 179, 0)), (GROUND, 0, (181, 0, 181, 0)),
        (GROUND, 0, (180, 0, 180, 0)), (GROUND, 99, (200, 0, 200, 0)), (GROUND, 0, (-149, 5, -149, 5)),
        (GROUND, 0, (-151, 5, -151, 5)), (GROUND, 0, (5, -149, 5, -149)), (GROUND, 0, (5, 161, 5, 161)),
        (OBSTACLE, 10, (1225, 0, 1225, 0)), (OBSTACLE, 10, (1227, 0, 1227, 0)), (OBSTACLE, 0, (179, 0, 179, 0)),
        (OBSTACLE, 5, (nan, nan, nan, nan)),
    ]  # fmt: skip
    role, height, where = zip(*rows, strict=True)
    seen = Outlook(np.array(role, dtype=np.uint8), np.array(height, dtype=float), bounds(*where))
    expected = [1, 1, 1, 1, 1, 0, 1, 0, 1, 0, 1, 0, 1, 0, 1, 1]
    assert near(seen, Place(metres_per_unit=1.0)).astype(int).tolist() == expected
    none = Outlook(seen.role[2:], seen.height[2:], seen.bounds[2:])  # the only boundary has no bounds
    assert near(none, Place(metres_per_unit=1.0)).astype(int).tolist() == [1, 1] + [0] * 12


def test_what_is_left_out_is_told():
    remarks = Remarks()
    note_left_out(5000, 5000, remarks)
    assert not remarks.cautions
    note_left_out(12, 5000, remarks)
    (caution,) = remarks.cautions
    assert (caution.code, caution.text) == (
        "left-out",
        (
            "4,988 of its 5,000 features are left out: seen from the boundary their tops stay below 0.5 degrees, the lowest "
            "sun that counts, and they lie more than 100 m off."
        ),
    )
