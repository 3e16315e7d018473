"""Is the light at points and beds what a hand would reckon, and does it keep the laws of shade?"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Point, box

from siteplan.land.features import Bed, MonthDay, Tree
from siteplan.land.weather import Air, Weather
from siteplan.sun.engine import SunEngine, sun_engine
from siteplan.sun.light.daily_light import LightEngine, bed_light, light_engine, light_maps
from siteplan.sun.light.irradiance import clear_radiation, typical_radiation
from siteplan.sun.light.reflection import Reflectors
from siteplan.sun.light.sky_view import dome
from siteplan.sun.obstacles.prisms import Prism
from siteplan.sun.path.day_periods import leaf_periods
from siteplan.sun.path.solar_path import sun_path

from ..skies import declination_path, sky_share

AIR = Air(turbidity=np.full(366, 3.0), altitude=200.0)
START = float(np.datetime64("2025-12-31T23:00").astype("datetime64[s]").astype(float))  # midnight in Rome
LOW_WALL = Prism(outline=box(-20, -3, 20, -2.8), bottom=0, top=2.0, owner="wall")


def steady(direct, diffuse=0.0, **more) -> Weather:
    """Return weather that never changes, night and day."""
    values = {"direct": direct + np.zeros(8760), "diffuse": diffuse + np.zeros(8760), "total": np.zeros(8760)}
    place = {"latitude": 45.0, "longitude": 8.0, "elevation": None, "name": "", "file": "steady"}
    return Weather(**(values | {"middle": 0.5} | place | more))


def lights_of(engine, weather=None) -> LightEngine:
    typical = None if weather is None else typical_radiation(engine.path, weather, longitude=8.0, start=START)
    return LightEngine(engine, clear_radiation(engine.path, AIR), typical)


def test_steady_weather_by_hand(engine_of, middle_path):
    # 500 W/m2 of beam and 100 W/m2 of sky in every lit hour: the sky brings 0.1 kWh for each hour of the day's length,
    # and every hour with sun is bright; 0.5 % and 0.02 h for the first and last hour, which hold part of the sun
    light = lights_of(engine_of(), steady(500.0, 100.0)).open.typical
    length = np.bincount(middle_path.month - 1, weights=middle_path.hours) / middle_path.month_days
    assert light.bright_h[:12, 0] == pytest.approx(length, abs=0.02)
    sine = np.sin(np.radians(middle_path.elevation))
    beam = np.bincount(middle_path.month - 1, weights=0.5 * sine * middle_path.hours) / middle_path.month_days
    assert light.direct_kwh_m2[:12, 0] == pytest.approx(beam, rel=0.03)  # the low sun's hours are pressed together
    whole_hours = np.ceil(length) * 0.1
    assert (light.diffuse_kwh_m2[:12, 0] >= length * 0.1).all()
    assert (light.diffuse_kwh_m2[:12, 0] <= whole_hours + 0.1).all()


def test_119_watts_are_not_bright(engine_of):
    # WMO-No. 8: 120 W/m2 of direct normal irradiance is the threshold; hours of rising and setting are denser
    dull, bright = (lights_of(engine_of(), steady(watts, 0.0)).open.typical for watts in (119.0, 120.0))
    assert bright.bright_h[5, 0] > 15
    assert dull.bright_h[5, 0] < 2


def test_a_wall_takes_beam_and_sky(engine_of):
    lights = lights_of(engine_of(LOW_WALL), steady(500.0, 100.0))
    here, there = lights.light(np.array([[0.0, -1.5, 0.0]])), lights.open
    assert here.sky_share[0, 0] < 0.8
    # the sky's light is its share of it, month by month
    assert here.clear.diffuse_kwh_m2 == pytest.approx(here.sky_share * there.clear.diffuse_kwh_m2, rel=1e-4)
    assert here.typical.diffuse_kwh_m2 == pytest.approx(here.sky_share * there.typical.diffuse_kwh_m2, rel=1e-4)
    # the wall stands in the south: noon's beam goes in December, the summer keeps its own
    assert here.clear.direct_kwh_m2[11, 0] < 0.3 * there.clear.direct_kwh_m2[11, 0]
    assert here.clear.direct_kwh_m2[5, 0] > 0.8 * there.clear.direct_kwh_m2[5, 0]


@pytest.mark.parametrize("weather", [None, steady(500.0, 100.0)])
def test_walls_reflect_in_every_kind_of_year(engine_of, weather):
    """Of the white wall 1.3 m south and 2 m high comes twice what a grey one gives; without walls nothing."""
    point = np.array([[0.0, -1.5, 0.0]])
    dark = lights_of(engine_of(LOW_WALL), weather)
    found = []
    for albedo in (0.4, 0.8):
        wall = Reflectors(np.array([[0.0, -2.8, 2.0]]), np.array([40.0]), np.array([albedo]), ground=0.2)
        found.append(replace(dark, reflectors=wall).light(point))
    plain = dark.light(point)
    assert (plain.typical is None) is (found[0].typical is None) is (weather is None)
    for kind in ("clear",) if weather is None else ("clear", "typical"):
        grey, white, none = (getattr(one, kind) for one in (*found, plain))
        assert (none.reflected_kwh_m2 == 0).all()
        assert (grey.reflected_kwh_m2 > 0.02).all()
        assert white.reflected_kwh_m2 == pytest.approx(2 * grey.reflected_kwh_m2)
        assert grey.direct_kwh_m2 == pytest.approx(none.direct_kwh_m2)
        total = none.direct_kwh_m2 + none.diffuse_kwh_m2 + grey.reflected_kwh_m2
        assert grey.total_kwh_m2 == pytest.approx(total)
    if weather is not None:  # steady beams light the wall more than clear winter days do
        assert found[0].typical.reflected_kwh_m2 != pytest.approx(found[0].clear.reflected_kwh_m2, rel=0.01)


def test_a_tenth_of_the_sun_is_reflected_as_a_tenth(engine_of):
    """Also in December, when beams of 50 W/m2 bring less than 0.2 kWh/m2 a day."""
    wall = Reflectors(np.array([[0.0, -2.8, 2.0]]), np.array([40.0]), np.array([0.6]), ground=0.2)
    weak, strong = (
        replace(lights_of(engine_of(LOW_WALL), steady(watts)), reflectors=wall).light(np.array([[0.0, -1.5, 0.0]]))
        for watts in (50.0, 500.0)
    )
    assert weak.typical.direct_kwh_m2[11, 0] < 0.2
    assert 10 * weak.typical.reflected_kwh_m2 == pytest.approx(strong.typical.reflected_kwh_m2, rel=1e-6)


@pytest.mark.parametrize("declination", [20.0, -10.0])
def test_the_lookup_of_the_beam_agrees_with_the_exact_test(clutter, declination):
    path = declination_path(45.0, declination, step=1 / 60)
    engine = SunEngine(path=path, prisms=clutter, season=np.ones(1, dtype=bool))
    lights = lights_of(engine)
    points = np.array([[0.0, 0.0, 0.0], [3.0, 1.0, 0.4], [-4.0, 2.0, 0.0], [7.0, -5.0, 0.0], [5.0, 7.0, 0.1]])
    looked = lights.light(points).clear.direct_kwh_m2[0]
    minutes = lights.clear.beam.reshape(len(path.hours), -1).sum(axis=1)  # each minute's parts together
    exact = engine.exact_light(points) @ minutes
    # an edge is out by half a bin at the most, a minute of the sun's way, in which up to 0.9 kW/m2 arrive; some ten
    # edges a day on either side of the truth
    assert looked == pytest.approx(exact, abs=0.9 / 60 * 4)
    assert exact.max() > 1.5


def test_bare_crowns_let_more_of_the_sky_through(engine_of):
    crown = Prism(
        outline=Point(0, 0).buffer(4), bottom=2, top=8, owner="oak", transmittance_leafy=0.2, transmittance_bare=0.6,
        leaf_out=121, leaf_fall=304,
    )  # fmt: skip
    share = sky_share(engine_of(crown), np.array([[0.0, 0.0, 0.0]]))[:, 0]
    hidden_bare, hidden_leafy = 1 - share[0], 1 - share[6]
    assert hidden_leafy == pytest.approx(2 * hidden_bare, abs=1e-3)  # takes 0.8 in leaf and 0.4 bare
    assert share[6] == pytest.approx(share[12], abs=1e-6)  # the season, May to September, lies in leaf
    # the crown floats: the cylinder overhead hides all above the elevation of its lower rim
    assert hidden_leafy == pytest.approx(
        0.8 * 16 / (16 + 4), abs=2e-3
    )  # r2 / (r2 + h2); half-degree levels, 64 sides


def test_the_whole_dome_is_one(middle_path):
    table = dome([leaf_periods(middle_path, season=np.ones(365, dtype=bool))]).table
    assert table.below[:, -1, 0].sum(dtype=np.float64) == pytest.approx(1.0, abs=1e-6)  # single precision
    assert (np.diff(table.below[0, :, 0]) >= 0).all()


def test_points_under_ground_and_none(engine_of):
    lights = lights_of(engine_of(LOW_WALL))
    inside = lights.light(np.array([[0.0, -2.9, 0.0]]))
    assert inside.sky_share.max() == 0
    assert inside.clear.total_kwh_m2.max() == 0
    nothing = lights.light(np.empty((0, 3)))
    assert nothing.clear.total_kwh_m2.shape == (13, 0)


def test_polar_night_and_midnight_sun():
    path = sun_path(78.0, 15.0, year=2026, timezone="Etc/GMT-1", step=1.0)
    engine = SunEngine(path=path, prisms=(), season=np.ones(365, dtype=bool))
    light = LightEngine(engine, clear_radiation(path, AIR)).open.clear
    assert light.total_kwh_m2[0, 0] == 0
    assert light.total_kwh_m2[5, 0] > 6
    assert light.bright_h[5, 0] == pytest.approx(24.0, abs=0.1)


def test_a_path_without_sun_sends_nothing():
    path = declination_path(80.0, -23.0)
    engine = SunEngine(path=path, prisms=(), season=np.ones(1, dtype=bool))
    light = LightEngine(engine, clear_radiation(path, AIR)).open
    assert light.clear.total_kwh_m2.max() == 0
    assert light.sky_share[0, 0] == pytest.approx(1.0, abs=1e-6)


def test_a_leap_year_takes_the_28th_for_the_29th_of_february():
    path = sun_path(45.0, 8.0, year=2028, timezone="Etc/GMT", step=1.0)
    start = float(np.datetime64("2028-01-01").astype("datetime64[s]").astype(float))
    day = np.repeat(np.arange(365.0), 24)
    sent = typical_radiation(path, steady(0.0, day), longitude=8.0, start=start)
    lit = sent.diffuse / path.day_length * 1000  # W/m2, for about all hours of a day
    assert lit[[58, 59, 60]] == pytest.approx(
        [58, 58, 59], rel=0.12
    )  # rising and setting hours hold more than a part
    assert lit[59] == pytest.approx(lit[58], rel=0.01)
    assert lit[200] == pytest.approx(199, rel=0.12)


def test_noon_at_a_distant_station_is_noon_here():
    # a station 15 degrees to the west has its noon an hour later; its light is laid under our sun by solar time
    path = sun_path(45.0, 8.0, year=2026, timezone="Etc/GMT", step=0.5)
    start = float(np.datetime64("2026-01-01").astype("datetime64[s]").astype(float))
    hour = np.arange(8760) % 24
    noon = np.where((hour >= 11) & (hour <= 12), 600.0, 0.0)
    near = typical_radiation(path, steady(noon), longitude=8.0, start=start)
    later = np.roll(noon, 1)
    far = typical_radiation(path, steady(later, longitude=-7.0), longitude=8.0, start=start)
    assert far.beam.sum() == pytest.approx(near.beam.sum(), rel=1e-3)
    assert np.abs(far.direct - near.direct).mean() < 2  # W/m2: parts that lie on an hour's edge


@pytest.fixture(scope="module")
def yard(tiny_yard):
    return replace(tiny_yard, sun=replace(tiny_yard.sun, step=0.5))


def test_bed_light(yard):
    lights = light_engine(yard, sun_engine(yard), air=AIR, weather=steady(300.0, 100.0))
    north = bed_light(yard, yard.bed("north bed"), lights)
    assert north.bed == "north bed"
    assert north.sky_share.min() > 0.6
    assert north.sky_share.max() < 1
    assert north.best is north.typical
    assert north.share_of_open.max() < 1
    assert north.share_of_open.min() > 0.5
    assert north.typical.dli_mol_m2 == pytest.approx(7.265 * north.typical.total_kwh_m2)
    clear = bed_light(yard, yard.bed("north bed"), light_engine(yard, sun_engine(yard), air=AIR))
    assert clear.typical is None
    assert clear.best is clear.clear
    # what hides less than 0.002 of anything asked may be dropped
    assert clear.clear.total_kwh_m2 == pytest.approx(north.clear.total_kwh_m2, abs=3e-3)


def test_bed_stands_under_its_own_trellis_and_not_in_its_old_place(yard):
    lights = light_engine(yard, sun_engine(yard), air=AIR)
    bed = yard.bed("new bed")
    low = bed_light(yard, replace(bed, trellis_height=None), lights)
    high = bed_light(yard, bed, lights)
    assert high.sky_share[12] < low.sky_share[12]
    assert high.clear.total_kwh_m2[12] < low.clear.total_kwh_m2[12]


def test_rows_take_light_from_their_bed(yard):
    bed = Bed(id="b", outline=box(-2, 1, 2, 3.4), height=0.4, wall_thickness=0.0, crop_height=2.0, rows="along")
    lights = light_engine(yard, sun_engine(yard), air=AIR)
    rowed, plain = (bed_light(yard, one, lights) for one in (bed, replace(bed, rows=None)))
    assert rowed.clear.total_kwh_m2[12] < 0.8 * plain.clear.total_kwh_m2[12]
    assert rowed.sky_share[12] < 0.8 * plain.sky_share[12]


def test_a_tree_takes_light_from_a_bed(yard):
    lime = Tree(
        id="lime", outline=Point(0, -1).buffer(2), trunk=Point(0, -1), height=8.0, crown_base=2.0,
        leaf_out=MonthDay(4, 10), leaf_fall=MonthDay(10, 27),
    )  # fmt: skip
    treed = replace(yard, trees=(*yard.trees, lime))
    bed = yard.bed("north bed")
    before = bed_light(yard, bed, light_engine(yard, sun_engine(yard), air=AIR))
    after = bed_light(treed, bed, light_engine(treed, sun_engine(treed), air=AIR))
    assert (after.sky_share < before.sky_share).all()
    assert (after.clear.total_kwh_m2 < before.clear.total_kwh_m2).all()


FEW = np.array([[0.0, 0.0, 0.0], [3.0, 1.0, 0.4], [-4.0, 2.0, 0.0]])


@pytest.fixture(scope="module")
def without_block(engine_of, clutter):
    """Return the share of the sky seen before anything is added."""
    return sky_share(engine_of(*clutter), FEW)


@settings(deadline=None, max_examples=12)
@given(
    east=st.floats(-8, 8), north=st.floats(-8, 8), size=st.floats(0.3, 4), top=st.floats(0.3, 9),
    through=st.floats(0, 1), more=st.floats(0.1, 3),
)  # fmt: skip
def test_raising_or_adding_never_lights(engine_of, clutter, without_block, east, north, size, top, through, more):
    west, south = round(east, 3), round(north, 3)  # to the millimetre, as coordinates are

    def block(height):
        outline = box(west, south, west + size, south + size)
        return Prism(outline=outline, bottom=0, top=height, owner="block", transmittance_leafy=through)

    low, high = (sky_share(engine_of(*clutter, block(height)), FEW) for height in (top, top + more))
    slack = 1e-3  # pieces that hide less than 0.0005 of the sky may be dropped
    assert (low <= without_block + slack).all()
    assert (high <= low + slack).all()


def test_maps_of_light(yard):
    lights = light_engine(yard, sun_engine(yard), air=AIR)
    maps = light_maps(yard, lights, most=60)
    assert 30 <= np.isfinite(maps.sky_share).sum() <= 80
    assert maps.sky_share.shape == maps.light.direct_kwh_m2.shape == maps.grid.shape
    row, column = maps.grid.cell_of(0.5, -4.0)  # in the shed
    assert np.isnan(maps.sky_share[row, column])
    # a cell is the light at its middle
    x, y = -3.0, -3.0
    row, column = maps.grid.cell_of(x, y)
    middle = maps.grid.centres().reshape(*maps.grid.shape, 2)[row, column]
    here = lights.light(np.array([[*middle, 0.0]]))
    assert maps.sky_share[row, column] == pytest.approx(here.sky_share[12, 0], abs=2e-3)  # what little may be dropped
    assert maps.light.total_kwh_m2[row, column] == pytest.approx(here.clear.total_kwh_m2[12, 0], abs=0.02)
    months = slice(0, 12)
    assert maps.month_sky_share[:, row, column] == pytest.approx(here.sky_share[months, 0], abs=2e-3)
    assert maps.month_light.dli_mol_m2[:, row, column] == pytest.approx(here.clear.dli_mol_m2[months, 0], abs=0.15)
    assert np.isnan(maps.month_sky_share[:, *maps.grid.cell_of(0.5, -4.0)]).all()
