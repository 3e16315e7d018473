"""Light thrown back by walls, against view factors in closed form and pvlib's light from the ground."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from pvlib.albedo import SURFACE_ALBEDOS
from pvlib.irradiance import get_ground_diffuse
from shapely import box

from siteplan.files.constant_tables import read_albedos
from siteplan.land.features import Building, Surface
from siteplan.sun.light.reflection import OpenLight, reflected_light, reflectors


def back(sky_share, lit=0.0, *, direct=0.0, diffuse=0.0, upright=0.0, wall=1.0, ground=0.0):
    sent = OpenLight(*(np.full((13, 1), value) for value in (direct, diffuse, upright)))
    share = np.full((13, 1), sky_share)
    found = reflected_light(share, np.full((13, 1), lit), sent, wall_albedo=np.array([wall]), ground_albedo=ground)
    return float(found[0, 0])


def street(ratio, parts=4000):
    """Return what the middle of a long street's floor sees of sky, and what it gets of it by way of white walls.

    The street is 1 wide and `ratio` deep. A strip of wall up to the elevation b sends (1 - cos b) / 2; a wall's point
    sees (1 - sin b) / 2 of sky, b being the elevation of the other wall's edge: Oke 1987, Boundary layer climates,
    appendix A (memory).
    """
    edge = np.linspace(0, ratio, parts + 1)
    middle = (edge[1:] + edge[:-1]) / 2
    sees = (1 - (ratio - middle) / np.hypot(ratio - middle, 1)) / 2
    sent = 0.5 / np.hypot(0.5, edge)
    return sent[-1], float(((sent[:-1] - sent[1:]) * sees).sum())


@pytest.mark.parametrize(("ratio", "off"), [(0.1, 0.03), (0.25, 0.05), (0.5, 0.05), (1.0, 0.08), (3.0, 1.1)])
def test_the_skys_light_by_way_of_the_walls_of_a_street(ratio, off):
    share, exact = street(ratio)
    assert back(share, diffuse=1.0) == pytest.approx(exact, rel=off)  # what `reflected_light` states


def all_bounces(ratio, *, wall, ground):
    """Return what a street's floor gets by way of its walls in one bounce, in all, and in all with the open sky's part.

    Three even surfaces, floor, walls and sky, as view factors of a long street in closed form have them. The light that
    leaves walls and floor solves two equations: Harman, Best and Belcher 2004, Radiative exchange in an urban street
    canyon, Boundary-Layer Meteorology 110:301-316 (memory).
    """
    sky = np.hypot(1, ratio) - ratio  # of the floor; the rest of what it sees is wall
    across = np.hypot(1, 1 / ratio) - 1 / ratio  # of a wall that the other wall fills
    up = (1 - across) / 2  # of sky, and as much of floor
    once = (1 - sky) * wall * up * (1 + ground * sky)
    sent = np.linalg.solve([[1 - wall * across, -wall * up], [-ground * (1 - sky), 1]], [wall * up, ground * sky])
    return once, (1 - sky) * sent[0], sky + (1 - sky) * sent[0]


@pytest.mark.parametrize(
    ("ratio", "wall", "ground", "more", "of_all"),
    [
        (0.25, 0.3, 0.2, 0.04, 0.002), (0.5, 0.3, 0.2, 0.09, 0.006), (1.0, 0.3, 0.2, 0.16, 0.018),
        (3.0, 0.3, 0.2, 0.29, 0.050), (1.0, 0.6, 0.3, 0.39, 0.08),
    ],
)  # fmt: skip
def test_what_further_bounces_would_add_is_as_stated(ratio, wall, ground, more, of_all):
    once, whole, light = all_bounces(ratio, wall=wall, ground=ground)
    share = np.hypot(1, ratio) - ratio
    found = back(share, share, direct=0.0, diffuse=1.0, wall=wall, ground=ground)
    assert found == pytest.approx(
        once, rel=1e-9
    )  # one bounce off walls is what `reflected_light` is in such a street
    assert whole / found - 1 == pytest.approx(more, abs=0.005)  # stated in whole hundredths
    assert (whole - found) / light == pytest.approx(of_all, abs=0.005 if of_all == 0.08 else 0.0005)


def test_a_low_lone_wall_sees_half_the_sky_and_half_the_ground():
    # by hand: a white wall that hides 1 % of the sky throws back half of the sky's light, and half of the ground's 0.2
    assert back(0.99, diffuse=1.0) == pytest.approx(0.01 * 0.5, rel=0.01)
    ground = back(0.99, 1.0, direct=1.0, ground=0.2)
    # pvlib: an upright surface gets half of what the ground throws back
    assert ground == pytest.approx(0.01 * float(get_ground_diffuse(90, 1.0, albedo=0.2)), rel=0.01)


def test_level_soil_in_the_open_gets_nothing_back_as_in_pvlib():
    assert get_ground_diffuse(0, 800.0, albedo=0.2) == 0
    assert back(1.0, 1.0, direct=5.0, diffuse=2.0, upright=2.0, ground=0.2) == 0


@pytest.mark.parametrize("ratio", [0.25, 0.5, 1.0])
@pytest.mark.parametrize(("axis", "declination"), [("north", 0.0), ("north", 23.4), ("east", 0.0), ("east", 23.4)])
def test_the_suns_light_by_way_of_the_walls_of_a_street(ratio, axis, declination):
    """A clear day at 45 N on the middle of a long street's floor, its walls lit as they are: direction is left out."""
    lit, direct, upright, exact = 0.0, 0.0, 0.0, 0.0
    edge = np.linspace(0, ratio, 2001)
    sent, middle = 0.5 / np.hypot(0.5, edge), (edge[1:] + edge[:-1]) / 2
    latitude, sun = np.radians([45.0, declination])
    for hour in np.radians(np.arange(-115.0, 116.0)):
        high = np.sin(latitude) * np.sin(sun) + np.cos(latitude) * np.cos(sun) * np.cos(hour)
        east = -np.cos(sun) * np.sin(hour)
        north = np.sin(sun) * np.cos(latitude) - np.cos(sun) * np.cos(hour) * np.sin(latitude)
        if high <= 0:
            continue
        beam = np.exp(-0.15 / max(high, 0.05))
        across = abs(east if axis == "north" else north)
        drop = high / max(across, 1e-9)
        on_floor = float(0.5 * drop >= ratio)
        direct, lit = direct + beam * high, lit + beam * high * on_floor
        upright += beam * np.sqrt(1 - high**2) / np.pi
        exact += beam * across * ((sent[:-1] - sent[1:]) / 2 * (middle > ratio - drop)).sum()  # one wall of the two
    found = back(sent[-1], lit / direct, direct=direct, upright=upright)
    assert exact / 2.1 <= found <= exact * 2.1  # "a factor of about two"


def test_albedos_are_those_of_published_tables():
    known = read_albedos()
    for kind, named in (("grass", "grass"), ("soil", "soil")):
        assert known[kind].albedo == SURFACE_ALBEDOS[named]
    assert known["grass"].most == SURFACE_ALBEDOS["fresh grass"]
    for named in ("asphalt", "concrete"):
        assert known["paved"].least <= SURFACE_ALBEDOS[named] <= known["paved"].most
    assert known["building"].albedo == SURFACE_ALBEDOS["concrete"]


def test_what_stands_near_counts_most(tiny_yard):
    house = Building(id="house", outline=box(2, -3, 4, 3), height=3)
    bare = replace(tiny_yard, surfaces=(), trees=(), hedges=(), fences=(), gates=(), beds=(), buildings=())
    lawn = replace(bare, albedos=read_albedos(), buildings=(house,))
    found = reflectors(lawn)
    assert found is not None
    assert found.albedo_at(np.array([[1.0, 0.0, 0.0]]))[0] == pytest.approx(0.30, abs=0.01)  # a building's
    assert found.albedo_at(np.array([[3.0, 0.0, 9.0]]))[0] == found.ground  # nothing stands above it
    assert found.ground == pytest.approx(0.20)  # grass
    paved = replace(lawn, surfaces=(Surface(id="yard", outline=lawn.boundary, surface="paved"),))
    there = reflectors(paved)
    assert there is not None
    assert there.ground == pytest.approx(0.25)
    assert reflectors(bare) is None  # no table, nothing thrown back
