"""Where does a tile lie, which of its points matter, and when do two figures agree? Each by hand."""

from __future__ import annotations

import datetime as dt
import math
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from pyproj import CRS, Geod, Transformer
from shapely import LineString, Point, box

from siteplan.files.drawing.naming import NamedFeature
from siteplan.files.remarks import Remarks
from siteplan.files.survey.accepting import _agree, _figures_of_a_survey, _usable_figures
from siteplan.files.survey.fitted_transform import FittedTransform
from siteplan.files.survey.pair import _why_no_pair
from siteplan.files.survey.place import check_cover, check_ground, tiles_in_reach
from siteplan.files.survey.tile_header import TileHeader, _sound_day, gps_day
from siteplan.files.survey.tiles import MOST, _flight, relevant_points
from siteplan.files.survey.unfinished import _missing
from siteplan.files.weather import weather_file
from siteplan.land.frame import LocalFrame
from siteplan.land.returns import GROUND, HIGH_NOISE, Returns
from siteplan.land.units import METRE

FRAME = LocalFrame(longitude=8.0, latitude=45.0)
UTM = CRS("EPSG:32632")
X, Y = Transformer.from_crs("EPSG:4326", UTM, always_xy=True).transform(8.0, 45.0)
YARD = box(-20, -20, 20, 20)


def head(east, north, wide=100.0, name="tile.laz", system=UTM):
    """Return a tile whose south-west corner lies so far from the middle of the property. [m of the map]"""
    west, south = X + east, Y + north
    return TileHeader(Path(name), system, 1.0, True, (west, south, west + wide, south + wide), 1000, None, False)


def asked(*heads, farthest=300.0):
    remarks = Remarks()
    found = tiles_in_reach(heads, FRAME, YARD, farthest, remarks)
    return [one.path.name for one in found], [fault.text for fault in remarks.faults]


def test_tiles_in_reach_are_read_where_one_lies_on_the_property():
    own, beside, far = head(-50, -50, name="own"), head(200, -50, name="beside"), head(400, 0, name="far")
    assert asked(own, beside, far) == (["own", "beside"], [])
    assert asked(far, beside, own) == (["beside", "own"], [])
    # a tile that ends at the property's edge lies on it; one that is in reach alone does not
    assert asked(head(19, -50)) == (["tile.laz"], [])
    assert len(asked(head(25, -50))[1]) == 1
    assert len(asked(beside, far)[1]) == 2


@pytest.mark.parametrize(("east", "north", "point"), [
    (0, 1, "north"), (1, 1, "northeast"), (1, 0, "east"), (1, -1, "southeast"), (0, -1, "south"), (-1, -1, "southwest"),
    (-1, 0, "west"), (-1, 1, "northwest"),
])  # fmt: skip
def test_a_tile_that_misses_says_how_far_off_it_is_and_where(east, north, point):
    """Its middle lies 5 km off each way, its nearest side or corner 4.5 km; as far on the ellipsoid, by PROJ."""
    middle = np.array([5000.0 * east, 5000.0 * north])
    (said,) = asked(head(*(middle - 500), wide=1000))[1]
    nearest = middle - 500 * np.sign(middle)
    back = Transformer.from_crs(UTM, "EPSG:4326", always_xy=True).transform(X + nearest[0], Y + nearest[1])
    _, _, away = Geod(ellps="WGS84").inv(8.0, 45.0, *back)
    far = f"{away / 1000:.1f}".removesuffix(".0")
    assert said == f"misses the property: it lies {far} km to the {point} of it; take the tile that it lies on"


def test_a_tile_a_hundred_kilometres_off_is_in_another_system():
    for north, words in ((99_000, "misses the property"), (101_000, "is that the right one?")):
        (said,) = asked(head(-500, north, wide=1000))[1]
        assert words in said
        assert "to the north of" in said
    (said,) = asked(head(0, 9e6, wide=1000))[1]  # beyond the pole
    assert "which lie outside of" in said or "is that the right one?" in said
    degrees = CRS("EPSG:4326")
    odd = TileHeader(Path("odd.laz"), degrees, 1.0, True, (8.0, 91.0, 8.1, 92.0), 10, None, False)
    (said,) = asked(odd)[1]
    assert said.startswith("has x from 8 to 8 and y from 91 to 92, which lie outside of")


def test_how_much_of_the_property_must_be_covered():
    def said(covered):
        remarks = Remarks()
        check_cover(covered, "a.laz", remarks)
        return [one.text for one in (*remarks.faults, *remarks.cautions)], len(remarks.faults)

    assert said(0.0) == (["has no points on the property; give the tiles beside it as well"], 1)
    assert said(0.49) == (["has no points on more than 49% of the property; give the tiles beside it as well"], 1)
    assert said(0.51) == (["a.laz has points on 51% of the property; give the tiles beside it as well."], 0)
    assert said(0.965)[1] == 0
    assert said(0.975) == ([], 0)


def ground_said(monkeypatch, usual, ground, metres, *, told):
    """Return the faults and cautions of ground at some elevation, where the land lies at another."""
    monkeypatch.setattr(weather_file, "usual_altitude", lambda *_: usual)
    remarks = Remarks()
    check_ground(ground, "a.laz", FRAME, metres, remarks, unit_given=told)
    return [one.text for one in remarks.faults], [one.text for one in remarks.cautions]


@pytest.mark.parametrize(("ground", "told", "fault", "caution"), [
    (649.0, False, "", ""), (-49.0, False, "", ""),  # less than 350 m off
    (-51.0, False, "", "are its heights in metres?"), (-51.0, True, "", ""),
    (651.0, True, "likely in feet: say --z-unit ft", ""),  # as feet 198 m: 102 m off
    (1470.0, False, "likely in feet", ""), (1480.0, False, "", "are its heights in metres?"),  # 148 and 151 m off
    (1799.0, True, "", ""), (1801.0, True, "is its coordinate system the right one", ""),  # 1500 m off
])  # fmt: skip
def test_ground_that_lies_where_the_land_cannot(monkeypatch, ground, told, fault, caution):
    """Where the land lies at 300 m; in metres."""
    faults, cautions = ground_said(monkeypatch, 300.0, ground, 1.0, told=told)
    assert len(faults) == bool(fault)
    assert len(cautions) == bool(caution)
    assert fault in "".join(faults)
    assert caution in "".join(cautions)


def test_heights_in_metres_that_were_read_as_feet(monkeypatch):
    """1,300 m read as feet are 396 m, 904 m too low."""
    (said,), _ = ground_said(monkeypatch, 1300.0, 1300 * 0.3048, 0.3048, told=True)
    assert said.startswith(
        "has the ground of the property at 396 m above the sea, but the land there lies at about 1,300 m; its heights"
    )
    assert said.endswith("likely in metres: say --z-unit m")


def cloud(*points):
    x, y, z, kind = np.array(points, dtype=float).T
    flags = np.ones(len(x), dtype=bool)
    return Returns(x, y, z, kind.astype(np.uint8), flags, flags)


def lawn(side=300):
    x, y = np.meshgrid(np.arange(-side + 2.5, side, 5.0), np.arange(-side + 2.5, side, 5.0))
    return [(one, other, 100.0, GROUND) for one, other in zip(x.ravel(), y.ravel(), strict=True)]


def kept(*more, reach=lambda height: 10 * height):
    """Return where the points lie that matter, of a lawn with more on it; a shadow reaches ten times as far."""
    found = relevant_points(cloud(*lawn(), *more), YARD, 300.0, reach)
    return set(zip(found.x.tolist(), found.y.tolist(), strict=True))


def test_what_stands_is_kept_as_far_as_its_shadow_reaches():
    """Of a tower 10 m high 100 m of shadow, and a cell; the yard ends at 20 m, so that 122.5 m are near enough."""
    near, far = (117.5, 2.5, 110.0, 1), (137.5, 2.5, 110.0, 1)
    assert (117.5, 2.5) in kept(near)
    assert (137.5, 2.5) not in kept(far)
    assert (137.5, 2.5) in kept((137.5, 2.5, 112.0, 1))
    # with the ground around it, three cells to each side
    assert (132.5, 2.5) in kept(near)
    assert (137.5, 2.5) not in kept(near)
    # what is lower than a metre and a half matters only beside the property; noise never does
    assert (57.5, 2.5) not in kept((57.5, 2.5, 101.4, 1), reach=lambda height: 100 * height)
    assert (57.5, 2.5) in kept((57.5, 2.5, 101.6, 1), reach=lambda height: 100 * height)
    assert (57.5, 2.5) not in kept((57.5, 2.5, 150.0, HIGH_NOISE), reach=lambda height: 100 * height)


def test_all_points_beside_the_property_are_kept():
    found = kept()
    assert (47.5, 2.5) in found  # 27.5 m from its edge
    assert (57.5, 2.5) not in found
    assert {(x, y) for x in (-2.5, 2.5) for y in (-2.5, 2.5)} <= found


def test_days_of_pulses_before_days_of_files():
    made = [SimpleNamespace(made=day) for day in (dt.date(2020, 5, 2), None, dt.date(2019, 1, 1))]
    flight = _flight(made, [78_000_000.0, 78_000_000.0 + 3 * 86_400, math.nan])
    assert (flight.first, flight.last, flight.by_pulses) == (dt.date(2014, 3, 4), dt.date(2014, 3, 7), True)
    flight = _flight(made, [math.nan])
    assert (flight.first, flight.last, flight.by_pulses) == (dt.date(2019, 1, 1), dt.date(2020, 5, 2), False)
    assert _flight([], []).first is None
    assert MOST == 3_500_000


def test_days_that_can_be_of_a_survey():
    """Seconds since 6 January 1980 less a thousand million: 0 is 14 September 2011."""
    assert gps_day(0.0) == dt.date(2011, 9, 14)
    assert gps_day(-684_500_000.0) == dt.date(1990, 1, 4)
    assert gps_day(-684_900_000.0) is None  # 1989
    assert gps_day(math.inf) is None
    assert gps_day(1e300) is None
    assert _sound_day(dt.datetime(2015, 3, 4, 5, tzinfo=dt.UTC)) == dt.date(2015, 3, 4)
    assert _sound_day(dt.date(2100, 1, 1)) is not None
    assert _sound_day(dt.date(2100, 1, 2)) is None
    assert _sound_day("2015") is None


def test_two_rasters_of_one_survey():
    flat = np.zeros(2000)
    trees = np.where(np.arange(2000) < 4, 5.0, 0.0)
    assert _why_no_pair(trees) == ""
    assert "are the same" in _why_no_pair(np.where(np.arange(2000) < 1, 5.0, 0.0))
    assert "are the same" in _why_no_pair(flat + 0.29)
    assert _why_no_pair(flat + 0.31) == ""
    assert "have no ground in common" in _why_no_pair(np.zeros(0))
    below = np.where(np.arange(2000) < 101, -1.1, 5.0)
    assert "below {other} over 5% of the ground" in _why_no_pair(below)
    assert _why_no_pair(np.where(np.arange(2000) < 99, -1.1, 5.0)) == ""
    assert _why_no_pair(np.where(np.arange(2000) < 900, -0.9, 5.0)) == ""


def test_a_change_of_coordinates_is_projs():
    """Within a tenth of a millimetre, whether fitted or not; and back."""
    area = box(-300, -300, 300, 300)
    change = FittedTransform(UTM, FRAME, area)
    x, y = X + np.array([-250.0, 0, 120]), Y + np.array([200.0, 0, -290])
    exact = Transformer.from_crs(UTM, FRAME.crs, always_xy=True).transform(x, y)
    assert np.array(change.to_frame(x, y)) == pytest.approx(np.array(exact), abs=1e-3)
    west, south, east, north = change.box(YARD)
    assert (west, south, east, north) == pytest.approx((X - 20, Y - 20, X + 20, Y + 20), abs=1.0)


def tree(properties=None, kind="tree", shape=None):
    return NamedFeature("a", kind, properties or {}, shape or Point(0, 0).buffer(2))


@pytest.mark.parametrize(("own", "found", "measured", "agree"), [
    ("10 m", "11 m ± 0.5 m", None, True),  # typed: a tenth of 10 m, half a metre, 5 cm: 1.55 m
    ("10 m", "11.5 m ± 0.5 m", None, True), ("10 m", "11.6 m ± 0.5 m", None, False),
    ("10 m ± 0.2 m", "10.7 m ± 0.5 m", None, True), ("10 m ± 0.2 m", "10.8 m ± 0.5 m", None, False),
    ("10 m", "10.5 m", "tape", True), ("10 m", "10.6 m", "tape", False),  # by tape: a twentieth
    ("1 m", "1.2 m", "guess", True), ("1 m", "1.4 m", "guess", False),  # a guess of a tree: a quarter
    ("tall", "10 m", None, False), (10, "10 m", None, True),
])  # fmt: skip
def test_heights_that_agree(own, found, measured, agree):
    there = tree({"measured": measured} if measured else {})
    assert _agree(own, found, there, "height", METRE) == agree


@pytest.mark.parametrize(("own", "found", "agree"), [
    ("10 deg", "19 deg", True), ("10 deg", "21 deg", False), ("175 deg", "4 deg", True), ("0 deg", "180 deg", True),
    ("90 deg", "0 deg", False), ("10 deg", "20 deg", False), ("0 deg", "170.5 deg", True),
])  # fmt: skip
def test_ridges_that_agree(own, found, agree):
    """Within ten degrees; a ridge has two ends."""
    assert _agree(own, found, tree(kind="building", shape=box(0, 0, 5, 5)), "ridge_heading", METRE) == agree


def test_a_house_is_measured_better_than_a_tree():
    house = tree(kind="building", shape=box(0, 0, 5, 5))
    assert _agree("10 m", "10.5 m", house, "height", METRE)  # typed: a twentieth and 5 cm
    assert not _agree("10 m", "10.6 m", house, "height", METRE)


def keys(properties, there):
    return [key for key, _ in _usable_figures(SimpleNamespace(properties=properties), there, METRE)]


def test_which_figures_a_feature_takes():
    proposal = {
        "crown_base": "1 m",
        "crown_diameter": "4 m",
        "transmittance_leafy": 0.2,
        "height": "9 m",
        "height_from": "x",
        "odd": 1,
    }
    assert keys(proposal, tree()) == ["height", "crown_base", "transmittance_leafy"]
    assert keys(proposal, tree(shape=Point(0, 0))) == [
        "height",
        "crown_base",
        "crown_diameter",
        "transmittance_leafy",
    ]
    assert keys(proposal, tree({"crown_density": "dense"})) == ["height", "crown_base"]
    for shape, taken in ((LineString([(0, 0), (5, 0)]), True), (box(0, 0, 5, 1), False)):
        assert ("width" in keys({"width": "1 m", "height": "2 m"}, tree(kind="hedge", shape=shape))) == taken


def test_what_an_earlier_survey_gave():
    assert _figures_of_a_survey(tree()) == frozenset()
    assert _figures_of_a_survey(tree({"height_from": 5})) == frozenset()
    assert {"height", "crown_base"} <= _figures_of_a_survey(tree({"height_from": "laser survey, 2020"}))
    some = _figures_of_a_survey(tree({"height_from": "crown base, transmittance leafy by laser survey, 2020"}))
    assert some == {"crown_base", "transmittance_leafy"}


def test_what_stands_in_for_what_is_missing():
    assert _missing(tree()) == {"height": "3 m"}
    assert _missing(tree(shape=Point(0, 0))) == {"height": "3 m", "crown_diameter": "3 m"}
    assert _missing(tree({"height": "5 m", "crown_radius": "2 m"}, shape=Point(0, 0))) == {}
    assert _missing(tree({"height": "5 m"}, shape=Point(0, 0))) == {"crown_diameter": "3 m"}
    assert _missing(tree(kind="hedge", shape=Point(0, 0))) == {"height": "3 m"}
    assert _missing(tree(kind="bed")) == {}
    assert _missing(NamedFeature("a", "tree", {}, None)) == {"height": "3 m"}
