"""What does site.toml say?

Table by table, each key typed and ranged; every fault is noted and reading goes on.
It leaves out what needs the drawing: the place, its time zone and its season are settled by the reader.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import TypeVar, cast

from siteplan.files.findings import Findings, shown
from siteplan.files.site_toml.conditions import read_soil, read_water
from siteplan.files.site_toml.hauling import read_haul
from siteplan.files.site_toml.keys import Keys, Quantity
from siteplan.files.site_toml.renaming import Renaming, read_renaming
from siteplan.files.site_toml.trade import Trade, read_trade
from siteplan.files.text import read_text
from siteplan.land.features import MonthDay
from siteplan.land.site import Barrow, HaulSettings, Labour, PlaceSettings, SoilSettings, SunSettings, WaterSettings
from siteplan.land.units import System, si_value

FILE = "site.toml"
TERRAIN_UNITS = ("m", "ft", "us-ft")  # US survey feet the last

_SUN = {
    "cell": Quantity("length", 0.05, 20),
    "step": Quantity("time", 1 / 120, 1),
    "need": Quantity("time", 0, 16, above=True),
    "plenty": Quantity("time", 0, 24, above=True),
}
_BARROW = {
    "volume": Quantity("volume", 0.005, 2),
    "load": Quantity("mass", 1, 1000),
    "width": Quantity("length", 0.1, 3),
    "clearance": Quantity("length", 0, 1),
    "max_grade": Quantity("fraction", 0, 1, above=True),
    "mass": Quantity("mass", 0, 300, above=True),
}
_LABOUR = {"hours_per_day": Quantity("time", 0, 16, above=True), "body_mass": Quantity("mass", 20, 300)}
_PLACE = {
    "length": Quantity("length", 0.3, 30),
    "width": Quantity("length", 0.2, 5),
    "height": Quantity("length", 0, 3, above=True),
    "wall_setback": Quantity("length", 0, 20),
    "boundary_setback": Quantity("length", 0, 20),
    "aisle": Quantity("length", 0, 10),
    "barrow_aisle": Quantity("length", 0, 10),
    "max_slope": Quantity("fraction", 0, 1, above=True),
    "weight_worst": Quantity("fraction", 0, 1),
    "weight_wheeling": Quantity("fraction", 0, 100),
    "weight_water": Quantity("fraction", 0, 100),
    "weight_beyond_hose": Quantity("fraction", 0, 100),
    "weight_door": Quantity("fraction", 0, 100),
    "weight_levelling": Quantity("fraction", 0, 100),
}

# alphabetic codes of ISO 4217, from memory; a code that is not listed is a caution only
_CURRENCIES = """
AED AFN ALL AMD ANG AOA ARS AUD AWG AZN BAM BBD BDT BGN BHD BIF BMD BND BOB BRL BSD BTN BWP BYN BZD CAD CDF CHF CLP
CNY COP CRC CUP CVE CZK DJF DKK DOP DZD EGP ERN ETB EUR FJD FKP GBP GEL GHS GIP GMD GNF GTQ GYD HKD HNL HTG HUF IDR
ILS INR IQD IRR ISK JMD JOD JPY KES KGS KHR KMF KPW KRW KWD KYD KZT LAK LBP LKR LRD LSL LYD MAD MDL MGA MKD MMK MNT
MOP MRU MUR MVR MWK MXN MYR MZN NAD NGN NIO NOK NPR NZD OMR PAB PEN PGK PHP PKR PLN PYG QAR RON RSD RUB RWF SAR SBD
SCR SDG SEK SGD SHP SLE SOS SRD SSP STN SVC SYP SZL THB TJS TMT TND TOP TRY TTD TWD TZS UAH UGX USD UYU UZS VED VES
VND VUV WST XAF XCD XCG XOF XPF YER ZAR ZMW ZWG
"""
_SIGNS = {"$": "USD", "€": "EUR", "£": "GBP", "¥": "JPY"}

Record = TypeVar("Record")


@dataclass(frozen=True, kw_only=True)
class Origin:
    """Where a measured plan lies: its zero point, its turn, and the length of its unit. [degrees, m]"""

    latitude: float
    longitude: float
    bearing: float = 0.0
    metres_per_unit: float = 1.0


@dataclass(frozen=True, kw_only=True)
class Settings:
    """All that site.toml says; None where it is silent."""

    name: str
    features: str = "features.geojson"
    timezone: str | None = None
    units: System = "metric"
    currency: str = "USD"
    terrain: str | None = None
    terrain_unit: str | None = None
    weather: str | None = None
    skyline: str | None = None
    origin: Origin | None = None
    has_origin: bool = False
    last_frost: MonthDay | None = None
    first_frost: MonthDay | None = None
    sun: SunSettings
    barrow: Barrow = field(default_factory=Barrow)
    labour: Labour = field(default_factory=Labour)
    haul: HaulSettings = field(default_factory=HaulSettings)
    place: PlaceSettings = field(default_factory=PlaceSettings)
    water: WaterSettings = field(default_factory=WaterSettings)
    soil: SoilSettings = field(default_factory=SoilSettings)
    renaming: Renaming = field(default_factory=Renaming)
    trade: Trade


def read_settings(folder: Path, findings: Findings) -> Settings | None:
    """Return the settings of a site folder, or None where site.toml cannot be read at all."""
    text = read_text(folder / FILE, findings, missing="start one with: siteplan new DIR")
    if text is None:
        return None
    try:
        values = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        findings.fault(FILE, "", f"is no TOML: {error}; texts and quantities with a unit go in quotes")
        return None
    except ValueError as error:
        findings.fault(FILE, "", f"holds a value that cannot be read: {error}")
        return None
    return settings_of(values, folder, findings)


def settings_of(values: Mapping[str, object], folder: Path, findings: Findings) -> Settings:
    """Return the settings that a table of keys says, as site.toml has them; files it names lie in the folder."""
    top = Keys(values, findings, file=FILE, where="")
    names = ("features", "terrain", "weather", "skyline")
    files = {key: value for key in names if (value := top.text(key, longest=1000)) is not None}
    season = _keys(top, "season")
    frosts = {key: season.month_day(key) for key in ("last_frost", "first_frost")}
    season.no_others()
    if len(season.values) == 1 and None not in [*season.values.values()]:
        known = next(iter(season.values))
        season.fault(f"has {known} alone; give both last_frost and first_frost, or leave the table out")
    settings = Settings(
        name=top.text("name") or folder.resolve().name,
        timezone=top.text("timezone"),
        units=cast("System", top.word("units", ("metric", "imperial")) or "metric"),
        currency=_currency(top) or "USD",
        origin=_origin(top),
        has_origin="origin" in top.values,
        sun=_sun(top),
        barrow=_record(_keys(top, "barrow"), Barrow, _BARROW, count=(1, 20)),
        labour=_record(_keys(top, "labour"), Labour, _LABOUR, people=(1, 100)),
        haul=read_haul(_keys(top, "haul")),
        place=_place(_keys(top, "place")),
        water=read_water(_keys(top, "water")),
        soil=read_soil(_keys(top, "soil")),
        renaming=read_renaming(_keys(top, "rename")),
        trade=read_trade(top),
        last_frost=frosts["last_frost"],
        first_frost=frosts["first_frost"],
        features=files.get("features", "features.geojson"),
        terrain=files.get("terrain"),
        terrain_unit=top.word("terrain_unit", TERRAIN_UNITS),
        weather=files.get("weather"),
        skyline=files.get("skyline"),
    )
    top.no_others()
    _files_exist(settings, folder, top.findings)
    return settings


def _keys(top: Keys, table: str) -> Keys:
    """Return one table's keys; empty where the table is absent."""
    return Keys(top.table(table) or {}, top.findings, file=top.file, where=f"[{table}]")


def _record(
    keys: Keys, record: Callable[..., Record], rules: Mapping[str, Quantity], **counts: tuple[int, int]
) -> Record:
    """Return a record made from those keys that are there; the defaults where it does not hold together."""
    given: dict[str, float] = keys.quantities(rules)
    given |= {key: value for key, span in counts.items() if (value := keys.whole(key, *span)) is not None}
    keys.no_others()
    try:
        return record(**given)
    except ValueError as error:
        keys.fault(str(error))
        return record()


def _place(keys: Keys) -> PlaceSettings:
    accessible = keys.flag("accessible")
    return replace(_record(keys, PlaceSettings, _PLACE, count=(1, 50)), accessible=bool(accessible))


def _sun(top: Keys) -> SunSettings:
    keys = _keys(top, "sun")
    given = keys.quantities(_SUN)
    year = keys.whole("year", 1950, 2100) or datetime.now(tz=UTC).year
    keys.no_others()
    need, plenty = given.get("need", SunSettings.need), given.get("plenty", SunSettings.plenty)
    if need > plenty:
        if "plenty" in given:
            keys.fault(f"need is {need:g} h, more than plenty ({plenty:g} h); swap them?")
        given["need"] = given["plenty"] = max(need, plenty)
    return SunSettings(year=year, **given)


def _currency(top: Keys) -> str | None:
    value = top.text("currency")
    if value is None:
        return None
    if not re.fullmatch("[A-Z]{3}", value):
        meant = _SIGNS.get(value, value.upper() if re.fullmatch("[A-Za-z]{3}", value) else "USD")
        top.fault(f'currency is {shown(value)}, must be the three capital letters of ISO 4217, such as "{meant}"')
        return None
    if value not in _CURRENCIES:
        top.findings.caution("currency", "", f"{value} is no currency of ISO 4217 that is known here; is it meant?")
    return value


def _origin(top: Keys) -> Origin | None:
    if not top.has("origin"):
        return None
    keys = _keys(top, "origin")
    advice = "a measured plan needs the place of its zero point, in degrees"
    both = [keys.require("latitude", advice), keys.require("longitude", advice)]
    latitude = keys.quantity("latitude", Quantity("angle", -90, 90))
    longitude = keys.quantity("longitude", Quantity("angle", -180, 180))
    bearing = keys.quantity("bearing", Quantity("angle", -360, 360))
    unit = keys.text("unit")
    metres = 1.0
    if unit is not None:
        try:
            metres = si_value(f"1 {unit}", "length")
        except ValueError:
            keys.fault(f'unit is {shown(unit)}, must be a unit of length, such as "ft" or "m"')
    keys.no_others()
    if not all(both) or latitude is None or longitude is None:
        return None
    return Origin(latitude=latitude, longitude=longitude, bearing=bearing or 0.0, metres_per_unit=metres)


def _files_exist(settings: Settings, folder: Path, findings: Findings) -> None:
    """Note the files that site.toml names and that are not there; the features file is read, and so found out."""
    for key in ("terrain", "weather", "skyline"):
        name = getattr(settings, key)
        if name is not None and not (folder / name).is_file():
            there = "is a folder" if (folder / name).is_dir() else "is not there"
            findings.fault(FILE, "", f"{key} = {shown(name)}: the file {there}; put it beside site.toml")
