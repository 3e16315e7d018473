"""Is a place or a season that was written wrongly told as what it is?

Longitude or latitude without its sign, both swapped, frost dates of the other hemisphere. By the time zones' outlines.
"""

from __future__ import annotations

import json

import pytest
import shapely

from .conftest import DRAWN

SEASON = 'last_frost = "04-15"\nfirst_frost = "10-20"'


@pytest.fixture
def plan(yard):
    """Return a maker of the yard as a measured plan at a place, without a time zone."""
    for feature_id, (shape, _) in DRAWN.items():
        yard.features[feature_id]["geometry"] = json.loads(shapely.to_geojson(shape))
    yard.change('timezone = "Europe/Rome"\n', "")

    def at(latitude, longitude, *, currency="EUR", units="metric", season=SEASON):
        yard.change("EUR", currency)
        yard.change('"metric"', f'"{units}"')
        yard.change(SEASON, season)
        yard.toml += f"[origin]\nlatitude = {latitude}\nlongitude = {longitude}\n"
        return yard

    return at


def test_a_longitude_that_lost_its_sign(plan):
    cautions = plan(41.352, 92.204, currency="USD", units="imperial").cautions()
    assert cautions == {
        "another-country": ": The property lies in China (Asia/Shanghai), and its prices are in USD. Has longitude lost "
        "its sign? West is negative. It would then lie in United States."
    }


def test_a_latitude_that_lost_its_sign(plan):
    # Johannesburg, 26.2 S 28.0 E; without its sign it lies in Egypt
    season = 'last_frost = "09-01"\nfirst_frost = "05-20"'
    yard = plan(26.2, 28.0, currency="ZAR", season=season)
    (line,) = yard.faults()
    assert "last_frost is 09-01 and first_frost 05-20, but the site lies in the north (latitude 26.20)" in line
    yard.change(season, SEASON)
    assert (
        "Has latitude lost its sign? South is negative. It would then lie in South Africa."
        in (yard.cautions()["another-country"])
    )


def test_latitude_and_longitude_swapped(plan):
    # Milan, 45.5 N 9.2 E; swapped it lies in Ethiopia
    assert "Are longitude and latitude swapped?" in plan(9.2, 45.5).cautions()["another-country"]


def test_swapped_into_antarctica_is_told_as_such_alone(plan):
    # Madison, 42.6 N 88.6 W: swapped it lies on the ice, where no frost date can be judged
    (line,) = plan(-88.6, 42.6).faults()
    assert line.startswith(
        "site.toml: [origin]: lies at longitude 42.60, latitude -88.60, which is in Antarctica; are"
    )
    assert "are longitude and latitude swapped?" in line


def test_a_latitude_with_a_minus_too_many(plan):
    (line,) = plan(-42.6, -88.6).faults()
    assert "which is at sea; has latitude a minus too many? North is positive" in line


def test_swapped_beyond_the_poles(plan):
    (line,) = plan(-92.204, 41.352).faults()
    assert line == (
        "site.toml: [origin]: latitude is -92.204 degrees, must be from -90 to 90; are latitude and longitude swapped?"
    )


@pytest.mark.parametrize(
    ("latitude", "longitude", "currency", "units"),
    [
        (41.352, -92.204, "USD", "imperial"),
        (45.5, 9.2, "EUR", "metric"),
        (45.5, 9.2, "USD", "metric"),  # the currency that is taken where none is given says nothing
        (46.2, 6.1, "EUR", "metric"),  # Geneva, where a neighbour's money is no slip
        (-33.87, 151.2, "AUD", "metric"),
        (51.0, -114.1, "CAD", "metric"),
    ],
)
def test_places_that_are_right_get_no_word(plan, latitude, longitude, currency, units):
    south = 'last_frost = "09-10"\nfirst_frost = "05-10"'
    yard = plan(latitude, longitude, currency=currency, units=units, season=south if latitude < 0 else SEASON)
    assert yard.cautions() == {}


@pytest.mark.parametrize(
    ("latitude", "last", "first", "words"),
    [
        (45.0, "04-15", "10-20", ""),
        (28.5, "02-10", "12-20", ""),  # Florida
        (29.0, "02-10", "01-05", ""),  # the first frost may come after the new year
        (67.0, "06-20", "08-05", ""),
        (45.0, "09-20", "10-20", "last_frost is 09-20, but the site lies in the north (latitude 45.00), where the last"),
        (45.0, "09-20", "10-20", "where the last frost comes in January to mid July; is it the right date?"),
        (45.0, "04-15", "05-20", "where the first frost comes in mid July to January; is it the right date?"),
        (45.0, "10-20", "04-15", "swap them? Or is the latitude wrong: a latitude south of the equator is negative?"),
        (-37.8, "10-10", "04-25", ""),
        (-37.8, "09-20", "06-10", ""),
        (-37.8, "04-25", "10-10", "last_frost is 04-25 and first_frost 10-10, but the site lies in the south"),
        (-37.8, "04-25", "10-10", "frost of spring comes in July to mid January; swap them? Or is the latitude wrong?"),
        (-37.8, "04-25", "05-10", "last_frost is 04-25, but the site lies in the south"),
        (-37.8, "10-10", "11-10", "where the first frost comes in mid January to July"),
        (10.0, "10-20", "04-15", ""),  # between the tropics frost does not part the year
    ],
)  # fmt: skip
def test_frost_dates_of_the_wrong_half_of_the_year(latitude, last, first, words):
    from siteplan.files.crosscheck import _season_fault
    from siteplan.land.features import MonthDay
    from siteplan.land.site import Season

    days = [MonthDay(*map(int, day.split("-"))) for day in (last, first)]
    fault = _season_fault(Season(last_frost=days[0], first_frost=days[1]), latitude)
    assert (words in fault) if words else fault == ""
