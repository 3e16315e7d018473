"""Are weather files read, their traps avoided and their slips said?"""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pandas as pd
import pvlib
import pytest
from pvlib.solarposition import declination_spencer71, equation_of_time_spencer71

from siteplan.files.reader import read_site
from siteplan.files.remarks import Remarks
from siteplan.files.weather.typical_year import HourlyRows, best_move, sine_of_height, typical_year
from siteplan.files.weather.weather_file import clear_air, read_weather
from siteplan.land.frame import LocalFrame
from siteplan.land.weather import Air, Weather

NREL = Path(pvlib.__file__).parent / "data"  # typical years of NREL's TMY3, US public domain, in pvlib's wheel
LATITUDE, LONGITUDE, ZONE = 45.0, 8.0, 1.0
HOURS = pd.date_range("2021-01-01", periods=8760, freq="h")


def made_up(middle=0.5 - ZONE, hours=8760, latitude=LATITUDE, longitude=LONGITUDE):
    """Return a year without clouds: global, direct and diffuse radiation of each hour. [W/m2]"""
    height = sine_of_height(np.arange(hours) + middle, latitude, longitude)
    direct, diffuse = 800 * np.sqrt(height), 100 * np.sqrt(height)
    return np.round(direct * height + diffuse, 1), np.round(direct, 1), np.round(diffuse, 1)


def epw(radiation=None, *, zone=ZONE, when=HOURS, latitude=LATITUDE, longitude=LONGITUDE, city="Larkspur Field"):
    """Return an EPW file: eight lines of header, then 35 columns; hour 1 ends at 01:00."""
    total, direct, diffuse = made_up() if radiation is None else radiation
    head = [f"LOCATION,{city},-,-,made up,0,{latitude},{longitude},{zone},250.0"]
    head += ["DESIGN CONDITIONS,0", "TYPICAL/EXTREME PERIODS,0", "GROUND TEMPERATURES,0"]
    head += [
        "HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0",
        "COMMENTS 1,made up",
        "COMMENTS 2,",
        "DATA PERIODS,1,1,Data,Sunday,",
    ]
    rows = [
        f"{w.year},{w.month},{w.day},{w.hour + 1},60,?9,10,5,70,99000,0,0,300,{g},{n},{d},0,0,0,0,180,2,5,5,20,9999,"
        "9,999999999,10,0.1,0,88,0.2,0,1"
        for w, g, n, d in zip(when, total, direct, diffuse, strict=True)
    ]
    return "\n".join([*head, *rows]) + "\n"


def pvgis_rows(radiation, when=HOURS):
    total, direct, diffuse = radiation
    return [
        {"time(UTC)": f"{w:%Y%m%d:%H%M}", "T2m": 5.0, "G(h)": g, "Gb(n)": n, "Gd(h)": d}
        for w, g, n, d in zip(when, total.tolist(), direct.tolist(), diffuse.tolist(), strict=True)
    ]


@pytest.fixture
def read(tmp_path):
    """Return a reader of texts: the weather, what is at fault, and cautions by their code."""

    def look(text, name="weather.epw", *, latitude=LATITUDE, longitude=LONGITUDE):
        path = tmp_path / name
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        remarks = Remarks()
        weather = read_weather(path, LocalFrame(longitude=longitude, latitude=latitude), remarks)
        assert (weather is None) == bool(remarks.faults)
        return weather, [str(fault) for fault in remarks.faults], {one.code: one.text for one in remarks.cautions}

    return look


def test_epw_hours_end_at_their_number(read):
    weather, faults, cautions = read(epw())
    assert faults == []
    assert cautions == {}
    assert weather.middle == -0.5  # hour 1 is from 23:00 to 00:00 UTC at one hour east of it
    assert weather.name == "Larkspur Field"
    assert weather.elevation == 250
    assert weather.total == pytest.approx(made_up()[0])


def test_epw_of_pvgis_says_its_zone_but_counts_in_utc(read):
    # PVGIS writes UTC+1 into the header over rows in UTC, moments some ten minutes after the hour: an hour would be lost
    weather, faults, cautions = read(epw(made_up(middle=0.176)))
    assert faults == []
    assert "read so" in cautions["weather-zone"]
    assert weather.middle == pytest.approx(0.176, abs=0.06)  # to a tenth of an hour
    weather, _, cautions = read(epw(made_up(middle=0.5)))  # or whole hours in UTC
    assert weather.middle == pytest.approx(0.5, abs=0.06)
    assert "weather-zone" in cautions


@pytest.mark.parametrize("zone", [-6.0, 4.0, 0.0])
def test_a_wrong_zone_that_utc_does_not_explain_is_a_fault(read, zone):
    truth = made_up() if zone else made_up(middle=-2.5)
    _, faults, _ = read(epw(truth, zone=zone))
    assert "are its time zone and its longitude right?" in faults[0]


def test_a_longitude_with_the_wrong_sign_is_a_fault(read):
    text = (NREL / "723170TYA.CSV").read_text().replace("-79.950", "79.950", 1)
    _, faults, _ = read(text, "greensboro.csv", latitude=36.1, longitude=79.95)
    assert "10.6 h too late" in faults[0] or "10.7 h too late" in faults[0]  # 159.9 degrees, 15 an hour


def test_tmy3_hours_are_hour_ending_and_months_of_several_years(read):
    text = (NREL / "723170TYA.CSV").read_bytes()
    weather, faults, cautions = read(text, "greensboro.csv", latitude=36.1, longitude=-79.95)
    assert faults == []
    assert cautions == {}
    assert weather.middle == 5.5  # the first hour ends at 01:00, five hours behind UTC
    # 1 July of another year than January: hour ending 12:00, as it stands in the file
    lines = [line.split(",") for line in text.decode().splitlines()[2:]]
    assert len({line[0][-4:] for line in lines}) > 3
    noon = next(line for line in lines if line[0].startswith("07/01") and line[1] == "12:00")
    at = (181 * 24) + 11
    assert (weather.total[at], weather.direct[at], weather.diffuse[at]) == tuple(float(noon[k]) for k in (4, 7, 10))
    last = lines[-1]
    assert last[1] == "24:00"
    assert weather.total[-1] == float(last[4])


def test_the_sun_says_that_tmy3_hours_end(read):
    # read as hours that begin at their number they would be an hour late
    for name, latitude, longitude in (("723170TYA.CSV", 36.1, -79.95), ("703165TY.csv", 55.317, -160.517)):
        weather, _, _ = read((NREL / name).read_bytes(), name, latitude=latitude, longitude=longitude)
        assert abs(best_move(weather.total, weather.middle, latitude, longitude)) <= 0.2
        assert best_move(weather.total, weather.middle + 1, latitude, longitude) == pytest.approx(-1, abs=0.2)


def test_pvgis_json_and_its_bare_list(read):
    rows = pvgis_rows(made_up(middle=0.2))
    place = {"latitude": 45.0, "longitude": 8.0, "elevation": 250.0, "irradiance_time_offset": 0.2}
    whole = {
        "inputs": {"location": place}, "meta": {"inputs": {}},
        "outputs": {"months_selected": [], "tmy_hourly": rows},
    }  # fmt: skip
    weather, faults, cautions = read(json.dumps(whole), "weather.json")
    assert faults == []
    assert cautions == {}
    assert weather.middle == 0.2
    bare, faults, cautions = read(json.dumps(rows), "weather.json")
    assert faults == []
    assert "taken to be the property itself" in cautions["weather-place"]
    assert bare.middle == pytest.approx(0.2, abs=0.06)  # found by the sun, to a tenth of an hour
    assert bare.total == pytest.approx(weather.total)


def test_pvgis_files_of_the_same_year(read, shared):
    table, faults, cautions = read(
        (shared / "weather" / "pvgis_tmy_45.000_8.000_2005_2023.csv").read_bytes(), "pvgis.csv"
    )
    assert faults == []
    assert cautions == {}
    assert table.middle == 0.1761  # as it says
    assert table.total.sum() / 1000 == pytest.approx(1436, abs=0.5)  # kWh/m2, as summed by others
    assert table.direct.sum() / 1000 == pytest.approx(1592, abs=0.5)
    hilly, faults, _ = read(
        (shared / "weather" / "pvgis_tmy_45.000_8.000_userhorizon.json").read_bytes(), "pvgis.json"
    )
    assert faults == []
    assert hilly.total.sum() / 1000 == pytest.approx(1251, abs=0.6)
    assert hilly.direct.sum() / 1000 == pytest.approx(1014, abs=0.5)


def test_gaps_are_filled_and_said(read):
    total, direct, diffuse = made_up()
    noon = 200 * 24 + 12
    for values in (total, direct, diffuse):
        values[noon] = 9999  # what EPW writes for what is missing
    weather, faults, cautions = read(epw((total, direct, diffuse)))
    assert faults == []
    assert "no radiation in 1 hours" in cautions["weather-gaps"]
    assert weather.total[noon] == pytest.approx((total[noon - 24] + total[noon + 24]) / 2)


def test_missing_rows_are_gaps(read):
    keep = np.ones(8760, dtype=bool)
    keep[4000:4030] = False
    weather, _, cautions = read(epw([values[keep] for values in made_up()], when=HOURS[keep]))
    assert "no radiation in 30 hours" in cautions["weather-gaps"]
    assert weather.total == pytest.approx(made_up()[0], abs=5)  # the days around are alike


def test_too_many_gaps_are_a_fault(read):
    _, faults, _ = read(epw([values[:6000] for values in made_up()], when=HOURS[:6000]))
    assert "no radiation in 2,760 of 8,760 hours" in faults[0]


def test_leap_year_of_8784_hours(read):
    leap = pd.date_range("2020-01-01", periods=8784, freq="h")
    weather, faults, cautions = read(epw(made_up(hours=8784), when=leap))
    assert faults == []
    assert "8,784 hours" in cautions["weather-leap-year"]
    assert weather.total.shape == (8760,)
    assert weather.total[59 * 24 + 12] == made_up(hours=8784)[0][60 * 24 + 12]  # 1 March


def test_small_negative_values_are_dark_and_said(read):
    total, direct, diffuse = made_up()
    direct[0:5] = -3.0
    weather, faults, cautions = read(epw((total, direct, diffuse)))
    assert faults == []
    assert "5 hours of direct" in cautions["weather-negative"]
    assert (weather.direct[0:5] == 0).all()


def test_missing_codes_below_zero_are_gaps(read):
    total, direct, diffuse = made_up()
    diffuse[12] = -9900.0
    weather, _, cautions = read(epw((total, direct, diffuse)))
    assert "weather-gaps" in cautions
    assert weather.diffuse[12] > 0


@pytest.mark.parametrize("factor", [0.001, 3.6])
def test_other_units_are_a_fault(read, factor):
    _, faults, _ = read(epw([np.round(values * factor, 4) for values in made_up()]))
    assert "it must be in W/m2" in faults[0]


def test_columns_that_do_not_add_up_are_said(read):
    total, _, diffuse = made_up()
    _, faults, cautions = read(epw((total, total - diffuse, diffuse)))  # direct on the horizontal, as some files have
    assert faults == []
    assert "are its columns what they say" in cautions["weather-sum"]


def test_a_station_far_away_is_said_with_its_distance(read):
    _, faults, cautions = read(epw(), latitude=46.0)
    assert faults == []
    assert "111 km away" in cautions["weather-far"]  # a degree of latitude
    assert read(epw(), latitude=45.3)[2] == {}


def test_another_hemisphere_is_said_with_its_distance(read):
    _, faults, cautions = read(epw(), latitude=-45.0)
    assert faults == []
    assert "other hemisphere, 9," in cautions["weather-hemisphere"]
    assert "summer is the property's winter" in cautions["weather-hemisphere"]


def test_missing_columns_are_named(read):
    rows = [{key: value for key, value in row.items() if key != "Gb(n)"} for row in pvgis_rows(made_up(0.2))]
    _, faults, _ = read(json.dumps(rows), "weather.json")
    assert "'dni'" in faults[0]
    text = (NREL / "723170TYA.CSV").read_text().replace("DHI (W/m^2)", "something")
    _, faults, _ = read(text, "x.csv", latitude=36.1, longitude=-79.95)
    assert "'dhi'" in faults[0]


def test_an_hour_that_comes_twice_is_a_fault(read):
    when = HOURS.to_series().reset_index(drop=True)
    when[10] = when[9]
    _, faults, _ = read(epw(when=pd.DatetimeIndex(when)))
    assert "row 11 of its hours: is month 1, day 1, hour 10 again; a typical year has each hour once" in faults[0]


@pytest.mark.parametrize(("wrong", "told"), [([58], ""), ([58, 59, 60], " (and so 2 more)")])
def test_a_day_that_no_year_has_is_a_fault(wrong, told):
    month, day, hour = (HOURS.month.to_numpy().copy(), HOURS.day.to_numpy().copy(), HOURS.hour.to_numpy())
    month[wrong], day[wrong] = 2, 30
    total, direct, diffuse = made_up()
    rows = HourlyRows(
        month=month, day=day, hour=hour, total=total, direct=direct, diffuse=diffuse, middle=0.5 - ZONE, zone=ZONE
    )
    remarks = Remarks()
    assert typical_year(rows, latitude=LATITUDE, longitude=LONGITUDE, file="a.csv", remarks=remarks) is None
    (fault,) = remarks.faults
    assert fault.where == "row 59 of its hours"
    assert fault.text == f"is month 2, day 30, hour 11{told}, which no year has; mend or drop it"


def test_a_common_year_and_a_day_of_the_next_is_a_fault(read):
    when = pd.date_range("2021-01-01", periods=8784, freq="h")  # 8,784 rows, but no 29 February
    _, faults, _ = read(epw(made_up(hours=8784), when=when))
    assert len(faults) == 1
    assert "row 8761 of its hours: is month 1, day 1, hour 1 again (and so 23 more)" in faults[0]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "not a weather file of a format that is known here"),
        ("date,ghi\n1,2\n", "not a weather file of a format that is known here"),
        (b"\x00\xff\xfe\x80" * 100, "not a weather file of a format that is known here"),
        ("LOCATION\n", "has no 'altitude' in it"),
        ("LOCATION,a,b,c,d,0,north,8,1,250\n", "cannot be read as a weather file"),
        ("[]", "has no"),
        ("[1, 2, 3]", "has no"),
        ("{", "cannot be read as a weather file"),
        ("[" * 100_000, "cannot be read as a weather file"),
        ('{"error": "location over sea"}', "has no 'meta' in it"),
        ("Latitude (decimal degrees): 45.000\nLongitude", "cannot be read as a weather file"),
    ],
)
def test_what_is_no_weather_file_is_a_fault(read, text, words):
    _, faults, _ = read(text)
    assert len(faults) == 1
    assert words in faults[0]


def test_a_place_that_is_nowhere_is_a_fault(read):
    _, faults, _ = read(epw(latitude=145.0))
    assert "not on the earth" in faults[0]


def test_a_name_in_another_encoding_does_not_matter(read):
    weather, faults, _ = read(epw(city="S\xe3o Lu\xeds\x1b[2J").encode("latin-1"))
    assert faults == []
    assert "\x1b" not in weather.name


def test_a_site_carries_its_weather(yard):
    yard.change('currency = "EUR"', 'currency = "EUR"\nweather = "weather.epw"')
    (yard.folder / "weather.epw").write_text(epw(), encoding="utf-8")
    site = read_site(yard.write())
    assert site.weather.file == "weather.epw"
    assert site.weather.total.sum() > 0
    (yard.folder / "weather.epw").write_text("nothing", encoding="utf-8")
    assert any(
        "weather.epw: is not a weather file of a format that is known here" in fault for fault in yard.faults()
    )


def test_a_site_says_what_is_odd_about_its_weather(yard):
    yard.change('currency = "EUR"', 'currency = "EUR"\nweather = "far.epw"')
    (yard.folder / "far.epw").write_text(epw(latitude=44.0), encoding="utf-8")
    assert "111 km away" in yard.cautions()["weather-far"]


def test_the_rough_sun_is_that_of_pvlib():
    # Spencer's series, of which the coefficients here are from memory: the same as pvlib's to its last digit
    hour = np.linspace(0, 8759, 997)
    tilt = declination_spencer71(hour / 24 + 1)
    angle = np.radians(15 * (hour % 24) + LONGITUDE - 180 + equation_of_time_spencer71(hour / 24 + 1) / 4)
    phi = np.radians(LATITUDE)
    sine = np.sin(phi) * np.sin(tilt) + np.cos(phi) * np.cos(tilt) * np.cos(angle)
    assert sine_of_height(hour, LATITUDE, LONGITUDE) == pytest.approx(np.maximum(sine, 0), abs=1e-5)


def test_clear_air_is_pvlibs_turbidity_by_month():
    from pvlib.clearsky import lookup_linke_turbidity

    air = clear_air(LATITUDE, LONGITUDE, altitude=250.0)
    months = pd.date_range("2024-01-01", periods=12, freq="MS", tz="UTC") + pd.Timedelta(days=14)
    theirs = lookup_linke_turbidity(months, LATITUDE, LONGITUDE, interp_turbidity=False).to_numpy()
    assert air.turbidity[np.asarray(months.day_of_year) - 1] == pytest.approx(theirs, abs=0.05)  # mid-month
    assert air.altitude == 250
    assert 100 < clear_air(LATITUDE, LONGITUDE).altitude < 400  # the plain of the Po


def test_records_refuse_what_they_cannot_be():
    with pytest.raises(ValueError, match="must be \\(8760,\\)"):
        Weather(
            total=np.zeros(8), direct=np.zeros(8), diffuse=np.zeros(8), middle=0, latitude=0, longitude=0,
            elevation=None, name="", file="",
        )  # fmt: skip
    with pytest.raises(ValueError, match="at least 0 W/m2"):
        Weather(
            total=np.full(8760, -1.0), direct=np.zeros(8760), diffuse=np.zeros(8760), middle=0, latitude=0,
            longitude=0, elevation=None, name="", file="",
        )  # fmt: skip
    with pytest.raises(ValueError, match="366 values"):
        Air(turbidity=np.zeros(366), altitude=0)
