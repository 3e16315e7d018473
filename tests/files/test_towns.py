"""The table of towns: how it was made, what is found in it, and how fast."""

from __future__ import annotations

import math
import time

import numpy as np
import pytest
from pyproj import Geod

from siteplan.files.constant_tables import data_folder
from siteplan.files.towns import EARTH_RADIUS, _names, _rows, found_towns, nearest_town
from tests.make_towns import AT_HOME, other_name, packed, rows


def labels(query: str, **how: int) -> list[str]:
    return [town.label for town in found_towns(query, **how)]


def test_the_table_is_small_and_whole():
    assert (data_folder() / "towns.csv.gz").stat().st_size <= 600_000
    assert len(_rows()) == len(_names()) > 30_000
    for name, other, region, country, latitude, longitude in _rows():
        assert name
        assert (name + other).isprintable()
        assert len(country) == 2
        assert bool(region) == (country == "US")
        assert abs(int(latitude)) <= 9000
        assert abs(int(longitude)) <= 18000


def test_the_table_is_made_of_cities_largest_first():
    city = {"admin1code": "IA", "countrycode": "US", "latitude": 41.0199, "longitude": -92.4113}
    cities = [
        city | {"name": "Small", "population": 14_999},
        city | {"name": "Middling", "population": 15_000},
        city | {"name": "Bück, Großer", "population": 20_000, "countrycode": "DE", "admin1code": "05"},
    ]
    table = rows(cities)
    assert table == [["Bück, Großer", "", "", "DE", 4102, -9241], ["Middling", "", "IA", "US", 4102, -9241]]
    assert packed(table) == packed(table)


def test_towns_are_found_by_how_their_name_begins():
    assert labels("sao pau")[0] == labels("São Pau")[0] == "São Paulo, Brazil"
    assert labels("ŁÓD") == labels("lod")  # ł is no l with an accent, and yet typed as one
    assert labels("st. pau")[:1] == labels("Saint Pau")[:1] == ["Saint Paul, MN, United States"]
    assert labels("ft worth") == labels("Fort Worth") == ["Fort Worth, TX, United States"]
    assert labels("coeur d'al") == ["Coeur d'Alene, ID, United States"]


def test_some_are_found_by_their_name_at_home_too():
    assert labels("münch")[0] == labels("munich")[0] == "Munich, Germany"
    assert labels("wien")[0] == labels("vienn")[0] == "Vienna, Austria"
    assert sum(bool(row[1]) for row in _rows()) == sum(map(len, AT_HOME.values()))
    city = {"name": "Rome", "countrycode": "IT", "alternatenames": ["Rom"]}
    assert other_name(city) == ""  # only what GeoNames says
    assert other_name(city | {"alternatenames": ["Roma"]}) == "Roma"
    assert other_name(city | {"countrycode": "US"}) == ""


def test_larger_towns_come_first_and_later_words_after_all_first_ones():
    assert labels("york", most=2) == ["York, Britain (UK)", "York, PA, United States"]
    assert "New York City, NY, United States" in labels("york", most=30)
    assert labels("pari", most=1) == ["Paris, France"]


def test_a_state_or_a_country_may_follow():
    assert labels("springfield, il") == ["Springfield, IL, United States"]
    assert labels("paris, united", most=1) == ["Paris, TX, United States"]
    assert labels("Paris, fr", most=1) == ["Paris, France"]


@pytest.mark.parametrize("query", ["", " ", ",", "’", "zzzz", "\n", "a\nb", "\x00", "|", ".*", "x" * 100_000, "漢"])
def test_what_names_no_town(query):
    assert found_towns(query) == ()


def test_a_search_takes_milliseconds():
    found_towns("a")  # the table is read once
    for query in ("zzzz", "saint", "york", "zz, us"):
        spent = []
        for _ in range(5):
            start = time.process_time()
            found_towns(query)
            spent.append(time.process_time() - start)
        assert min(spent) < 0.02  # s


def test_the_nearest_town_over_the_date_line_and_at_the_pole():
    near = nearest_town(48.85, 2.35)
    assert near.town.country == "FR"
    assert near.distance < 6
    # Suva (18.14 S, 178.44 E) lies 1.8 degrees of longitude to the west, on the other side of 180: 190 km, and Nausori nearer
    over = nearest_town(-18.14, -179.76)
    assert over.town.country == "FJ"
    assert 100 < over.distance < 190
    assert over.east < 0
    pole = nearest_town(90, 0)  # every way from it leads south
    assert pole.north < 0
    assert pole.distance == pytest.approx((90 - pole.town.latitude) * 111.195, rel=1e-3)  # km a degree on the sphere


@pytest.mark.parametrize(
    ("latitude", "longitude"), [(41.6, -93.9), (-33.5, 151.9), (64.5, -21.0), (0.4, 9.9), (60.0, 179.9)]
)
def test_how_far_and_in_which_direction_a_town_lies(latitude, longitude):
    """As PROJ's geodesics have it on a sphere of the same radius."""
    near = nearest_town(latitude, longitude)
    sphere = Geod(a=EARTH_RADIUS * 1000, b=EARTH_RADIUS * 1000)
    azimuth, _, metres = sphere.inv(longitude, latitude, near.town.longitude, near.town.latitude)
    assert near.distance == pytest.approx(metres / 1000, rel=1e-6)
    assert near.east == pytest.approx(near.distance * math.sin(math.radians(azimuth)), abs=1e-6 * near.distance)
    assert near.north == pytest.approx(near.distance * math.cos(math.radians(azimuth)), abs=1e-6 * near.distance)
    others = [(int(row[5]) / 100, int(row[4]) / 100) for row in _rows()]
    east, north = (np.array(axis) for axis in zip(*others, strict=True))
    _, _, every = sphere.inv(np.full(len(east), longitude), np.full(len(east), latitude), east, north)
    assert min(every) == pytest.approx(metres, rel=1e-6)


def test_where_towns_lie():
    """Greenwich is London's; Reykjavik 64.15 N 21.94 W, Wellington 41.29 S 174.78 E (memory), to a tenth of a degree."""
    for query, latitude, longitude in (("reykjavik", 64.15, -21.94), ("wellington, new z", -41.29, 174.78)):
        (town,) = found_towns(query, most=1)
        assert (town.latitude, town.longitude) == pytest.approx((latitude, longitude), abs=0.1)
