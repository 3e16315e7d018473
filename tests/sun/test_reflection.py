"""Which walls reflect light onto a point, and how much comes from them: by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely import LineString, MultiLineString, Point, Polygon, box

from siteplan.land.constants import Albedo
from siteplan.land.features import Bed, Building, Fence, Hedge, Surface, Tree
from siteplan.land.weather import HOURS
from siteplan.sun.light.irradiance import _radiation, _row_of
from siteplan.sun.light.reflection import OpenLight, Reflectors, _pieces, reflected_light, reflectors

from ..skies import path_of

SHARES = {"building": 0.5, "fence": 0.4, "plant": 0.2, "bed": 0.3, "grass": 0.25, "paved": 0.35, "soil": 0.15}
ALBEDOS = {kind: Albedo(kind=kind, albedo=one, least=0.1, most=0.9, source="") for kind, one in SHARES.items()}


@pytest.fixture(scope="module")
def lot(tiny_yard):
    """Return a lot of 10 m by 8 m with nothing on it."""
    nothing = dict.fromkeys(("buildings", "trees", "hedges", "fences", "gates", "beds", "surfaces"), ())
    return replace(tiny_yard, **nothing, boundary=box(0, 0, 10, 8), albedos=ALBEDOS, terrain=None)


# 3 m north and 4 m high, 5 m to its top; 4 m south and 3 m high, 5 m to its top
TWO = Reflectors(
    np.array([[0.0, 3.0, 4.0], [0.0, -4.0, 3.0]]), np.array([2.0, 1.0]), np.array([0.2, 0.6]), ground=0.25
)


@pytest.mark.parametrize(("point", "albedo"), [
    ((0, 0, 0), (2 * 16 * 0.2 + 1 * 9 * 0.6) / (2 * 16 + 1 * 9)),
    ((0, 0, 3), 0.2),  # as high as the second
    ((0, 0, 3.5), 0.2),
    ((0, 0, 4), 0.25),  # above both: as the ground
    ((0, 0, 9), 0.25),
    # 4 m west of the first: 5 m off, 6.403 m to its top; of the second 5.657 m off, 6.403 m to its top
    ((4, 0, 0), (2 * 16 * 0.2 + 1 * 9 * 0.6 * ((25 + 16) / (32 + 9)) ** 1.5) / (2 * 16 + 9 * ((25 + 16) / (32 + 9)) ** 1.5)),
    # at the foot of the first: a tenth of a metre counts; 7 m from the second
    ((0, 3, 0), (2 * 16 / 16.01**1.5 * 0.2 + 9 / 58**1.5 * 0.6) / (2 * 16 / 16.01**1.5 + 9 / 58**1.5)),
])  # fmt: skip
def test_the_obstacles_around_a_point_by_the_sky_that_they_hide(point, albedo):
    assert TWO.albedo_at(np.array([point], dtype=float)) == pytest.approx([albedo])


def test_many_points_are_done_part_by_part(monkeypatch):
    points = np.column_stack([np.linspace(-3, 3, 7), np.zeros(7), np.linspace(0, 5, 7)])
    whole = TWO.albedo_at(points)
    for most in (1, 4, 6):
        monkeypatch.setattr("siteplan.sun.light.reflection.MOST_AT_ONCE", most)
        assert TWO.albedo_at(points) == pytest.approx(whole)
    assert TWO.albedo_at(np.empty((0, 3))).shape == (0,)


def test_without_known_albedos_nothing_reflects(lot):
    assert reflectors(replace(lot, albedos={})) is None
    bare = reflectors(lot)
    assert bare.ground == 0.25
    assert bare.albedo_at(np.array([[5.0, 4.0, 0.0]])).tolist() == [0.25]


@pytest.mark.parametrize(("features", "top", "albedo", "around"), [
    ({"buildings": (Building(id="x", outline=box(1, 1, 4, 2), height=3),)}, 3.0, 0.5, 8.0),
    ({"fences": (Fence(id="x", line=LineString([(1, 1), (4, 1)]), height=1.8),)}, 1.8, 0.4, 3.0),
    ({"hedges": (Hedge(id="x", outline=box(1, 1, 4, 2), height=2),)}, 2.0, 0.2, 8.0),
    ({"trees": (Tree(id="x", outline=box(1, 1, 4, 2), trunk=Point(2, 1.5), height=5, crown_base=2),)}, 5.0, 0.2, 8.0),
    ({"beds": (Bed(id="x", outline=box(1, 1, 4, 2), height=0.4),)}, 0.4, 0.3, 8.0),
])  # fmt: skip
def test_each_kind_reflects_as_its_own(lot, features, top, albedo, around):
    found = reflectors(replace(lot, **features))
    assert set(found.place[:, 2]) == {top}
    assert set(found.albedo) == {albedo}
    assert found.length.sum() == pytest.approx(around)
    assert found.length.max() <= 2.0


@pytest.mark.parametrize(("away", "counts"), [(59.0, True), (61.0, False)])
def test_walls_farther_than_60_m_are_left_out(lot, away, counts):
    far = Building(id="x", outline=box(10 + away, 2, 90, 6), height=9)
    assert (len(reflectors(replace(lot, buildings=(far,))).length) > 0) is counts


@pytest.mark.parametrize(("surfaces", "ground"), [
    ((), 0.25),
    ((("paved", box(0, 0, 5, 8)),), 0.5 * 0.35 + 0.5 * 0.25),
    ((("paved", box(5, 0, 25, 8)),), 0.5 * 0.35 + 0.5 * 0.25),  # what lies beyond the boundary counts nothing
    ((("paved", box(0, 0, 5, 8)), ("soil", box(5, 0, 10, 4))), 0.5 * 0.35 + 0.25 * 0.15 + 0.25 * 0.25),
    ((("mulch", box(0, 0, 5, 8)),), 0.25),  # of which no albedo is known: as grass
    ((("paved", box(0, 0, 10, 8)), ("soil", box(0, 0, 10, 8))), 0.5 * 0.35 + 0.5 * 0.15),  # one over the other
])  # fmt: skip
def test_the_mean_of_the_ground(lot, surfaces, ground):
    drawn = tuple(Surface(id=f"s{k}", outline=shape, surface=kind) for k, (kind, shape) in enumerate(surfaces))
    assert reflectors(replace(lot, surfaces=drawn)).ground == pytest.approx(ground)


def test_edges_are_cut_into_pieces_of_two_metres():
    assert _pieces(LineString([(0, 0), (3, 0), (3, 2)]), 1.5, 0.4) == pytest.approx(
        np.array([[0.75, 0, 1.5, 1.5, 0.4], [2.25, 0, 1.5, 1.5, 0.4], [3, 1, 1.5, 2.0, 0.4]])
    )
    courtyard = box(0, 0, 6, 6).difference(box(2, 2, 4, 4))
    assert _pieces(courtyard, 3.0, 0.2)[:, 3].sum() == pytest.approx(24 + 8)
    assert len(_pieces(MultiLineString([[(0, 0), (2, 0)], [(5, 0), (7, 0)]]), 3.0, 0.2)) == 2
    assert _pieces(Polygon(), 3.0, 0.2).shape == (0, 5)


@pytest.mark.parametrize(("share", "lit", "wall", "ground", "light"), [
    # a third of the wall's view is sky: (2 + 0.2 (2 x 0.5 + 4 x 0.4)) / 3 = 0.84; of 1.5 upright it gets 0.7
    (0.5, 0.4, 0.3, 0.2, 0.5 * 0.3 * (0.84 + 1.05)),
    (0.5, 0.4, 0.6, 0.2, 0.5 * 0.6 * (0.84 + 1.05)),
    (0.5, 0.0, 0.3, 0.0, 0.5 * 0.3 * (2 / 3 + 0.75)),
    (0.25, 1.0, 0.3, 0.2, 0.75 * 0.3 * (0.2 * (2 + 0.2 * (0.5 + 4)) + 1.5)),
    (1.0, 1.0, 0.3, 0.2, 0.0),  # an open sky: no walls
    (0.0, 0.0, 0.3, 0.2, 0.3 * 0.75),
])  # fmt: skip
def test_one_reflection_by_hand(share, lit, wall, ground, light):
    sent = OpenLight(*(np.full((13, 1), one) for one in (4.0, 2.0, 1.5)))
    found = reflected_light(
        np.full((13, 2), share), np.full((13, 2), lit), sent, wall_albedo=np.array([wall, 0.0]), ground_albedo=ground
    )
    assert found.shape == (13, 2)
    assert found[:, 0] == pytest.approx(light)
    assert not found[:, 1].any()


@pytest.mark.parametrize(("time", "middle", "row"), [
    ("2026-01-01T00:00", 0.5, 0), ("2026-01-01T00:59", 0.5, 0), ("2026-01-01T01:00", 0.5, 1), ("2026-12-31T23:30", 0.5, 8759),
    ("2026-01-01T00:29", 0.0, 0), ("2026-01-01T00:31", 0.0, 1), ("2026-12-31T23:45", 0.0, 0),  # of hours about the full hour
    ("2026-01-01T00:15", 1.0, 8759),
    ("2028-02-28T12:00", 0.5, 58 * 24 + 12), ("2028-02-29T12:00", 0.5, 58 * 24 + 12), ("2028-03-01T12:00", 0.5, 59 * 24 + 12),
    ("2026-03-01T12:00", 0.5, 59 * 24 + 12), ("2028-12-31T23:30", 0.5, 8759),
])  # fmt: skip
def test_the_row_of_a_moment_in_a_typical_year(time, middle, row):
    seconds = np.datetime64(time).astype("datetime64[s]").astype(float)
    assert _row_of(np.array([seconds]), middle).tolist() == [row]
    assert row < HOURS


def test_the_radiation_of_two_days_by_hand():
    """The sun 60 degrees high for 1.5 h of 500 W/m2, and on the next day for 2 h of 119 W/m2; 100 W/m2 of sky."""
    path = path_of([10, 10.5, 11, 34, 34.5, 35, 35.5], np.arange(7) * 1e-3 + 180, 60.0)
    direct = np.repeat([500.0, 119.0], [18, 24])
    sent = _radiation(path, direct, np.full(42, 100.0))
    assert sent.beam.sum() == pytest.approx(np.sqrt(0.75) * (0.5 * 1.5 + 0.119 * 2), rel=1e-6)
    assert sent.bright.sum() == pytest.approx(1.5)
    assert sent.diffuse.tolist() == pytest.approx([0.15, 0.2, 0])
    assert sent.upright.tolist() == pytest.approx([0.5 / np.pi * 0.5 * 1.5, 0.5 / np.pi * 0.119 * 2, 0], rel=1e-6)
    assert sent.direct is direct
    bright = _radiation(path, np.full(42, 120.0), np.zeros(42)).bright  # a bright sun begins at 120 W/m2
    assert bright.sum() == pytest.approx(3.5)
