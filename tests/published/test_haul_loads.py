"""Barrow loads against worked jobs of the trade."""

from __future__ import annotations

import pytest

from siteplan.fill.fill_results import Supply
from siteplan.haul.loads.loads import barrow_loads, supply_trips
from siteplan.land.site import Barrow

CUBIC_FOOT, CUBIC_YARD = 0.028316846592, 0.764554857984  # m3, NIST Special Publication 811
GARDEN = Barrow(volume=0.085, load=80.0)


def test_a_cubic_metre_of_topsoil_is_limited_by_mass():
    # arithmetic: 80 / 1250 = 0.064 m3 a load, 15.6 loads
    found = barrow_loads(1.0, 1250.0, tray=0.085, load=80.0)
    assert (found.trips, found.limit) == (16, "mass")
    assert found.mass == pytest.approx(1250 / 16, rel=1e-12)  # exact but for rounding


def test_a_cubic_metre_of_chips_is_limited_by_volume():
    # arithmetic: 1 / 0.085 = 11.8 loads of 25.5 kg
    found = barrow_loads(1.0, 300.0, tray=0.085, load=80.0)
    assert (found.trips, found.limit) == (12, "volume")


# a bed of 4 by 8 ft, 18 in deep, not mixed in one load: densities 150, 300, 1250, 700 and 750 kg/m3, arithmetic
LAYERS = {
    "branches": (0.4531, 150, 6),
    "chips": (0.1510, 300, 2),
    "topsoil": (0.4531, 1250, 8),
    "compost": (0.2643, 700, 4),
    "castings": (0.0378, 750, 1),
}


@pytest.mark.parametrize("material", LAYERS)
def test_trips_of_a_layered_bed(material):
    volume, density, trips = LAYERS[material]
    supply = Supply(bed="bed", material=material, at="", volume=volume, mass=volume * density)
    assert supply_trips(supply, GARDEN).trips == trips


def test_trips_of_the_whole_bed():
    found = [barrow_loads(v, v * d, tray=0.085, load=80.0).trips for v, d, _ in LAYERS.values()]
    assert sum(found) == 21


@pytest.mark.parametrize(("tray", "trips"), [(2, 14), (6, 5)])
def test_a_cubic_yard_in_struck_barrows(tray, trips):
    # trade page: 13.5 loads of 2 ft3, 4.5 of 6 ft3, whole loads (seen, common practice); something light
    found = barrow_loads(CUBIC_YARD, CUBIC_YARD * 150, tray=tray * CUBIC_FOOT, load=100.0)
    assert (found.trips, found.limit) == (trips, "volume")


def test_a_contractors_barrow_is_never_filled_with_soil():
    # 6 ft3 of topsoil weigh 212 kg, above every payload band (HSE RAPP tool, INDG478, 2016, from memory: over 100 high)
    tray = 6 * CUBIC_FOOT
    assert tray * 1250 == pytest.approx(212, abs=0.5)  # printed without decimals
    found = barrow_loads(1.0, 1250.0, tray=tray, load=90.0)
    assert found.limit == "mass"
    assert found.mass <= 90.0
    assert found.volume < tray / 2
