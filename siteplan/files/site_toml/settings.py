"""Which settings are in site.toml?

Table by table, each key is read by the marker of its record's field; every fault is noted, and reading goes on.
Settings that depend on the drawing (place, time zone, season) are completed in `files/reader.py`.
"""

from __future__ import annotations

import datetime as dt
import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Annotated, Literal

from pyproj import CRS

from siteplan.files.ground.levels import Ground
from siteplan.files.remarks import Remarks, clean
from siteplan.files.site_toml.keys import Keys
from siteplan.files.site_toml.renaming import Renaming, read_renaming
from siteplan.files.site_toml.trade import Trade, read_trade
from siteplan.files.text import TOO_LONG, no_file, read_text
from siteplan.land.constants import Material
from siteplan.land.layers import NamedRecipe, Recipe
from siteplan.land.record import Record, fields_of
from siteplan.land.site import (
    CURRENCY,
    Barrow,
    FillSettings,
    HaulSettings,
    Labour,
    Offer,
    PlaceSettings,
    Season,
    SoilSettings,
    Stock,
    SunSettings,
    WaterSettings,
)
from siteplan.land.surface_model import SurfaceSettings
from siteplan.land.units import METRE, LengthUnit, System, length_unit
from siteplan.land.values import LONGEST_TEXT, Quantity, Text, shown
from siteplan.land.walls import WallSettings

FILE = "site.toml"
BESIDE = Text(longest=1000, wanted="name of a file beside site.toml")

# alphabetic codes of ISO 4217, from memory; a code that is not listed only gives a caution
_CURRENCIES = """
AED AFN ALL AMD ANG AOA ARS AUD AWG AZN BAM BBD BDT BGN BHD BIF BMD BND BOB BRL BSD BTN BWP BYN BZD CAD CDF CHF CLP
CNY COP CRC CUP CVE CZK DJF DKK DOP DZD EGP ERN ETB EUR FJD FKP GBP GEL GHS GIP GMD GNF GTQ GYD HKD HNL HTG HUF IDR
ILS INR IQD IRR ISK JMD JOD JPY KES KGS KHR KMF KPW KRW KWD KYD KZT LAK LBP LKR LRD LSL LYD MAD MDL MGA MKD MMK MNT
MOP MRU MUR MVR MWK MXN MYR MZN NAD NGN NIO NOK NPR NZD OMR PAB PEN PGK PHP PKR PLN PYG QAR RON RSD RUB RWF SAR SBD
SCR SDG SEK SGD SHP SLE SOS SRD SSP STN SVC SYP SZL THB TJS TMT TND TOP TRY TTD TWD TZS UAH UGX USD UYU UZS VED VES
VND VUV WST XAF XCD XCG XOF XPF YER ZAR ZMW ZWG
"""
# a currency begins with the letters of its country (ISO 4217 with ISO 3166); these serve several, from memory
_SHARED = {
    "EUR": "AD AT BE BG CY DE EE ES FI FR GR HR IE IT LT LU LV MC ME MT NL PT SI SK SM VA XK AX GF GP MQ RE YT",
    "USD": "US AS EC GU MP PR SV TC VG VI", "GBP": "GB GG IM JE", "CHF": "CH LI", "DKK": "DK FO GL",
    "NOK": "NO SJ", "AUD": "AU CC CX KI NF NR TV", "NZD": "NZ CK NU PN TK", "ZAR": "ZA LS NA SZ", "ILS": "IL PS",
}  # fmt: skip
_SIGNS = {"$": "USD", "€": "EUR", "£": "GBP", "¥": "JPY"}


@dataclass(frozen=True, kw_only=True)
class Origin(Record):
    """Where a measured plan lies: its zero point, its turn, and its unit. [degrees]"""

    latitude: Annotated[float, Quantity("angle", least=-90, most=90), "of the plan's zero point"]
    longitude: Annotated[float, Quantity("angle", least=-180, most=180), "of the plan's zero point"]
    bearing: Annotated[
        float, Quantity("angle", least=-360, most=360), "of the plan's +y axis, clockwise from true north"
    ] = 0.0
    unit: Annotated[str, Text(), "of the plan's coordinates and of every length without a unit, such as m or ft"] = (
        "m"
    )

    def _conflicts(self) -> Iterator[str]:
        try:
            length_unit(self.unit)
        except ValueError:
            yield f'unit is {shown(self.unit)}, must be a unit of length, such as "ft" or "m"'

    @property
    def metres_per_unit(self) -> float:
        """Length of the plan's unit. [m]"""
        return length_unit(self.unit).metres


@dataclass(frozen=True, kw_only=True)
class Settings(Record):
    """All settings of site.toml; None for those without a default that are left out."""

    name: Annotated[str, Text(), "of the property; the folder's name where it is left out"]
    features: Annotated[str, BESIDE, "file of the drawing: .geojson, .gpkg or .fgb"] = "features.geojson"
    timezone: Annotated[str | None, Text(), "IANA name; found from the place where it is left out"] = None
    units: Annotated[System, "how results are printed; never how they are computed"] = "metric"
    currency: Annotated[str, CURRENCY, "of all prices: three letters of ISO 4217"] = "USD"
    terrain: Annotated[str | None, BESIDE, "GeoTIFF of elevations; its hills hide the sun out to its edge"] = None
    terrain_unit: Annotated[
        Literal["m", "ft", "us-ft"] | None, "of those elevations, where the file does not say; us-ft: US survey feet"
    ] = None
    surface_model: Annotated[
        str | None, BESIDE, "GeoTIFF of the surface with trees and roofs; it hides the sun where nothing is drawn"
    ] = None
    surface_unit: Annotated[
        Literal["m", "ft", "us-ft"] | None, "of its elevations, where the file does not say; us-ft: US survey feet"
    ] = None
    surface_date: Annotated[dt.date | None, "day of its survey, printed beside the results"] = None
    surface_from: Annotated[
        float, Quantity("length", least=0, most=100), "how far beyond the boundary the surface begins to hide the sun"
    ] = 0.0
    surface_within: Annotated[bool, "true: it hides the sun within the boundary too, where nothing is drawn"] = False
    weather: Annotated[str | None, BESIDE, "a typical year: EPW, TMY3 CSV or PVGIS JSON"] = None
    skyline: Annotated[str | None, BESIDE, "far hills, a CSV of azimuth_deg,elevation_deg"] = None
    origin: Origin | None = None
    has_origin: bool = False
    season: Season | None = None
    sun: SunSettings
    ground: Ground = field(default_factory=Ground)
    barrow: Barrow = field(default_factory=Barrow)
    labour: Labour = field(default_factory=Labour)
    haul: HaulSettings = field(default_factory=HaulSettings)
    place: PlaceSettings = field(default_factory=PlaceSettings)
    water: WaterSettings = field(default_factory=WaterSettings)
    soil: SoilSettings = field(default_factory=SoilSettings)
    walls: WallSettings = field(default_factory=WallSettings)
    renaming: Renaming = field(default_factory=Renaming)
    trade: Trade

    @property
    def surface_settings(self) -> SurfaceSettings:
        """How the raster of the surface is to be used."""
        return SurfaceSettings(
            unit=self.surface_unit, date=self.surface_date, begins=self.surface_from, within=self.surface_within
        )


#: the keys of site.toml before its first table
TOP = tuple(key for key, key_field in fields_of(Settings).items() if key_field.meaning)
#: each table of site.toml, and the records whose fields are its keys
TABLES: dict[str, tuple[type[Record], ...]] = {
    "origin": (Origin,), "season": (Season,), "ground": (Ground,), "sun": (SunSettings,), "barrow": (Barrow,),
    "labour": (Labour,), "haul": (HaulSettings,), "place": (PlaceSettings,), "fill": (Recipe, FillSettings),
    "water": (WaterSettings,), "soil": (SoilSettings,), "walls": (WallSettings,),
}  # fmt: skip
#: tables that may occur several times
LISTS: dict[str, type[Record]] = {"recipe": NamedRecipe, "material": Material, "stock": Stock, "offer": Offer}
#: fields that a record must have, and that site.toml may leave out
MAY_LACK: dict[type[Record], tuple[str, ...]] = {Settings: ("name",), SunSettings: ("year",)}


def read_values(folder: Path, remarks: Remarks) -> dict[str, object] | None:
    """Return the values of site.toml, or None if it cannot be read at all."""
    return values_of(folder / FILE, remarks)


def values_of(path: Path, remarks: Remarks) -> dict[str, object] | None:
    """Return the values of a file of settings with any name, or None if it cannot be read at all."""
    text = read_text(path, remarks, missing="start one with: siteplan new DIR")
    if text is None:
        return None
    try:
        return tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        remarks.fault(path.name, "", f"is not TOML: {error}; texts and quantities with a unit go in quotes")
        return None
    except ValueError as error:
        digits = "int_max_str_digits" in str(error)
        remarks.fault(path.name, "", TOO_LONG if digits else f"holds a value that cannot be read: {error}")
    return None


def drawing_unit(values: Mapping[str, object], crs: CRS | None) -> LengthUnit:
    """Return the unit of the drawing: that of [origin], else that of its coordinate system; the metre for degrees.

    Parameters
    ----------
    values : mapping
        Of site.toml.
    crs : pyproj.CRS or None
        Of the drawing.
    """
    origin = values.get("origin")
    if isinstance(origin, Mapping):
        name = origin.get("unit", "m")
        try:
            return length_unit(name) if isinstance(name, str) else METRE
        except ValueError:  # a fault of [origin]
            return METRE
    return unit_of_system(crs)


def unit_of_system(crs: CRS | None) -> LengthUnit:
    """Return the unit of a coordinate system; the metre if it is in degrees, or if there is none."""
    if crs is None or not (crs.is_projected or crs.is_bound) or not crs.axis_info:
        return METRE
    axis = crs.axis_info[0]
    if crs.is_geographic or axis.unit_conversion_factor in {0.0, 1.0}:
        return METRE
    name = axis.unit_name
    sign, plural = ("ft", name.replace("foot", "feet")) if "foot" in name else (name, name)
    return LengthUnit(sign, plural, axis.unit_conversion_factor)


def settings_of(values: Mapping[str, object], folder: Path, remarks: Remarks) -> Settings:
    """Return the settings from the values of a site.toml; the files that they name are in the folder.

    A length without a unit is in `remarks.unit`. `remarks.system` is set to the units of the settings.
    """
    remarks.system = "imperial" if values.get("units") == "imperial" else "metric"
    top = Keys(values, remarks, file=FILE, where="")
    fields = fields_of(Settings)
    simple = {key: _currency(top) if key == "currency" else top.value(fields[key]) for key in TOP}
    simple = {key: value for key, value in simple.items() if value}
    simple.setdefault("name", clean(folder.resolve().name)[:LONGEST_TEXT] or "site")
    origin = _origin(top.table_keys("origin")) if top.has("origin") else None
    settings = Settings(
        **simple,  # type: ignore[arg-type]
        origin=origin,
        has_origin="origin" in top.values,
        season=_season(top.table_keys("season")),
        sun=_sun(top.table_keys("sun")),
        ground=_ground(top.table_keys("ground")),
        barrow=top.table_keys("barrow").read(Barrow) or Barrow(),
        labour=top.table_keys("labour").read(Labour) or Labour(),
        haul=top.table_keys("haul").read(HaulSettings) or HaulSettings(),
        place=top.table_keys("place").read(PlaceSettings) or PlaceSettings(),
        water=top.table_keys("water").read(WaterSettings) or WaterSettings(),
        soil=top.table_keys("soil").read(SoilSettings) or SoilSettings(),
        walls=top.table_keys("walls").read(WallSettings) or WallSettings(),
        renaming=read_renaming(top.table_keys("rename")),
        trade=read_trade(top),
    )
    top.no_others()
    _files_exist(settings, folder, top.remarks)
    _check_surface(settings, top.remarks)
    return settings


def countries_of(currency: str) -> frozenset[str]:
    """Return the countries that use a currency, as two letters of ISO 3166, as far as they are known.

    Examples
    --------
    >>> "IT" in countries_of("EUR"), countries_of("CAD")
    (True, frozenset({'CA'}))
    """
    return frozenset(_SHARED.get(currency, currency[:2]).split())


def _origin(keys: Keys) -> Origin | None:
    angles = [keys.values.get(key) for key in ("latitude", "longitude")]
    north, east = (angle if isinstance(angle, int | float) and abs(angle) <= 360 else 0 for angle in angles)
    if 90 < abs(north) <= 180 and abs(east) <= 90:
        for key in fields_of(Origin):
            keys.has(key)
        keys.fault(f"latitude is {north:g} degrees, must be from -90 to 90; are latitude and longitude swapped?")
        return None
    for key in ("latitude", "longitude"):
        keys.require(key, "a measured plan needs the place of its zero point, in degrees")
    return keys.read(Origin)


def _season(keys: Keys) -> Season | None:
    season = keys.read(Season)
    if len(keys.values) == 1:
        for key in keys.values.keys() & fields_of(Season).keys():
            keys.fault(f"has {key} alone; give both last_frost and first_frost, or leave the table out")
    return season


def _ground(keys: Keys) -> Ground:
    """Return how the ground falls; level ground if one of its keys is wrong."""
    values = keys.field_values(Ground)
    keys.no_others()
    sound = keys.values.keys() & fields_of(Ground).keys() <= values.keys()
    return (keys.make(Ground, values) if sound else None) or Ground()


def _sun(keys: Keys) -> SunSettings:
    """Return the settings of the sun; if plenty is left out, it is at least need."""
    values = keys.field_values(SunSettings)
    keys.no_others()
    year = datetime.now(tz=UTC).year
    if "plenty" not in keys.values:
        values["plenty"] = max(SunSettings.plenty, values.get("need", 0.0))
    return keys.make(SunSettings, {"year": year} | values) or SunSettings(year=year)


def _currency(top: Keys) -> str | None:
    value = top.text("currency")
    if value is None:
        return None
    if not re.fullmatch(CURRENCY.pattern, value):
        meant = _SIGNS.get(value, value.upper() if re.fullmatch("[A-Za-z]{3}", value) else "USD")
        top.fault(f'currency is {shown(value)}, must be the three capital letters of ISO 4217, such as "{meant}"')
        return None
    if value not in _CURRENCIES:
        top.remarks.caution("currency", "", f"{value} is not a currency of ISO 4217 that is known here; is it meant?")
    return value


def named_files(settings: Settings) -> dict[str, str]:
    """Return the files that the settings name besides the drawing, by their keys."""
    names = {key: getattr(settings, key) for key in ("terrain", "surface_model", "weather", "skyline")}
    return {key: name for key, name in names.items() if name is not None}


def _files_exist(settings: Settings, folder: Path, remarks: Remarks) -> None:
    """Note files that site.toml names and that are missing; for the features file its reader does so."""
    for key, name in named_files(settings).items():
        if trouble := no_file(folder / name):
            remarks.fault(FILE, "", f"{key} = {shown(name)}: the file {trouble}; put it beside site.toml")


def _check_surface(settings: Settings, remarks: Remarks) -> None:
    """Note settings of a surface that is not given, and a surface without its ground."""
    if settings.surface_model is None:
        for key in ("surface_unit", "surface_date", "surface_from", "surface_within"):
            if getattr(settings, key):
                remarks.fault(
                    FILE, "", f"{key} tells how surface_model is used; name that raster, or leave {key} out"
                )
        return
    if settings.terrain is None:
        text = "surface_model shows what stands above the ground: name the raster of the ground as terrain as well"
        remarks.fault(FILE, "", text)
    elif settings.terrain == settings.surface_model:
        text = f"terrain and surface_model are the same file, {shown(settings.terrain)}; one is the ground, the other"
        remarks.fault(FILE, "", f"{text} has its trees and roofs")
    if settings.surface_within and settings.surface_from:
        text = "surface_from keeps the surface off the boundary, surface_within takes it on both sides; leave one out"
        remarks.fault(FILE, "", text)
