"""Places as the standards write them.

ISO 6709:2008 gives in annex H strings such as ``+40.20361-075.00417`` and in annex D ``50°40′46,461″N
95°48′26,533″W`` (flag: seen second-hand; the standard itself was not at hand). RFC 5870 (2010), sections 1 and 6,
has the addresses (flag: memory). The IANA's zone.tab gives the main place of each time zone as ISO 6709 has it,
±DDMM±DDDMM or ±DDMMSS±DDDMMSS; it travels in the package tzdata (seen).
"""

from __future__ import annotations

from importlib.resources import files

import pytest

from siteplan.files.timezone import zone_at
from siteplan.land.whereabouts import read_whereabouts


@pytest.mark.parametrize(("text", "latitude", "longitude"), [
    ("+40.20361-075.00417/", 40.20361, -75.00417),
    ("+4012.22-07500.25/", 40 + 12.22 / 60, -(75 + 0.25 / 60)),
    ("+401213.1-0750015.1/", 40 + 12 / 60 + 13.1 / 3600, -(75 + 15.1 / 3600)),
    ("+401213.1-0750015.1+2.79CRSxxxx/", 40 + 12 / 60 + 13.1 / 3600, -(75 + 15.1 / 3600)),
    ("+27.5916+086.5640+8850CRSWGS_84/", 27.5916, 86.564),
    ("+00-025/", 0.0, -25.0),
    ("-90+000+2800/", -90.0, 0.0),
    ("+90+000/", 90.0, 0.0),
    ("+4852+00220/", 48 + 52 / 60, 2 + 20 / 60),
    ("+275916+0865640+8850/", 27 + 59 / 60 + 16 / 3600, 86 + 56 / 60 + 40 / 3600),
    ("50°40′46,461″N 95°48′26,533″W", 50 + 40 / 60 + 46.461 / 3600, -(95 + 48 / 60 + 26.533 / 3600)),
    ("50°03′46,461″S 125°48′26,533″E", -(50 + 3 / 60 + 46.461 / 3600), 125 + 48 / 60 + 26.533 / 3600),
])  # fmt: skip
def test_iso_6709(text, latitude, longitude):
    found = read_whereabouts(text)
    assert (found.latitude, found.longitude) == pytest.approx((latitude, longitude), abs=1e-9)
    assert found.order == "written"


@pytest.mark.parametrize(("text", "latitude", "longitude"), [
    ("geo:13.4125,103.8667", 13.4125, 103.8667),
    ("geo:48.2010,16.3695,183", 48.201, 16.3695),
    ("geo:48.198634,16.371648;crs=wgs84;u=40", 48.198634, 16.371648),
    ("geo:90,-22.43;crs=WGS84", 90.0, -22.43),
    ("geo:66,30;u=6.500;FOo=this%2dthat", 66.0, 30.0),
])  # fmt: skip
def test_rfc_5870(text, latitude, longitude):
    found = read_whereabouts(text)
    assert (found.latitude, found.longitude) == (latitude, longitude)


def test_every_place_in_the_table_of_time_zones_lies_in_its_zone():
    rows = [line.split("\t") for line in files("tzdata").joinpath("zoneinfo", "zone.tab").read_text("utf-8").splitlines()
            if not line.startswith("#")]  # fmt: skip
    inside = 0
    for _, text, zone, *_ in rows:
        found = read_whereabouts(text)
        inside += zone_at(found.longitude, found.latitude) == zone
    assert len(rows) > 400
    assert inside >= 0.9 * len(rows)  # to a minute of arc, 1.9 km: some lie off the coast or in a neighbour's outline
