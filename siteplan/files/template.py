"""Which files does a new site start with?

A commented site.toml, with the keys, ranges and defaults of the records, and a small measured plan that is sound as
it is and can be changed line by line. Its latitude and longitude are an example to be replaced.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping

from siteplan.files.constant_tables import data_folder
from siteplan.files.schema import FEATURES_SCHEMA, SITE_SCHEMA, VARIANT_SCHEMA, as_written
from siteplan.files.site_toml.settings import TABLES, TOP, Settings
from siteplan.land.layers import USUAL_LAYERS
from siteplan.land.record import Field, fields_of
from siteplan.land.values import Money, OneOf, Quantity, Whole

_HEAD = f"""\
#:schema ./.{SITE_SCHEMA}
# One property. Write every quantity with its unit: "4 ft", "18 in", "1.5 yd^3". A plain number is degrees,
# kilograms, litres, hours or km/h; a plain length is in the unit of the drawing (unit of [origin] below; metres
# where that table is left out), here and in the features. When something is changed, run: siteplan check
# A line that begins with # is left out; most of them show what is taken then.

"""
#: comments after the name of a table
_ABOUT = {
    "origin": "leave this table out where the features are in longitude and latitude",
    "ground": "where no terrain is given and no level is drawn; level ground where this is left out",
    "haul": "common practice, without a source: put in what you have timed yourself",
    "place": "what a new bed is like, how far it keeps from things, and what counts for its place",
    "fill": "layers lie bottom to top, as shares of the inside depth; a bed may have its own",
}
#: the keys that are not commented out
_SHOWN: dict[str, Collection[str]] = {
    "": ("name", "features", "units", "currency"),
    "origin": ("latitude", "longitude", "bearing", "unit"),
    "season": ("last_frost", "first_frost"),
    "sun": ("cell", "step", "need", "plenty"),
    "barrow": ("volume", "load", "width", "clearance", "max_grade"),
    "labour": ("people", "hours_per_day"),
    "place": ("length", "width", "height", "count", "wall_setback", "boundary_setback"),
    "fill": ("lining",),
}
#: the same for a site that the drawing page starts
_TO_DRAW: dict[str, Collection[str]] = {"": ("features",), "origin": ("unit",)}
#: values that are no defaults: those of the example, and some that show how a key is written
_VALUES: dict[str, dict[str, str]] = {
    "": {
        "name": '"My garden"', "timezone": '"America/Denver"', "terrain": '"terrain.tif"', "terrain_unit": '"ft"',
        "surface_model": '"surface.tif"', "surface_unit": '"ft"', "surface_date": "2021-03-14",
        "weather": '"weather.epw"', "skyline": '"skyline.csv"',
    },
    "origin": {"latitude": "45.00", "longitude": "9.00"},
    "season": {"last_frost": '"04-20"', "first_frost": '"10-20"'},
    "ground": {"fall": '"2 ft"', "toward": '"north"', "over": '"60 ft"'},
    "sun": {"year": "2026"},
    "haul": {"board_price": "12.00", "board_length": '"2.4 m"'},
    "place": {"length": '"2.4 m"', "width": '"1.2 m"', "height": '"45 cm"'},
    "fill": {"lining": '"cardboard"', "storage": '"4 m^3"', "bag_handling": "0.50"},
    "water": {"flow": '"12 L/min"'},
    "soil": {"lead": "60", "manure_on": "2026-03-01"},
    "walls": {
        "board_lengths": '["2.4 m", "3.0 m"]', "board_widths": '["15 cm", "20 cm"]', "block_length": '"44 cm"',
        "block_height": '"21.5 cm"',
    },
}  # fmt: skip
_COLUMN = 32  # at which comments begin

_TRADE = """\
# [[recipe]]                    # for beds that ask for it: "layers": "deep" beside their height
# name = "deep"
# layers = [
#   { material = "coarse organic", fraction = 0.5 },
#   { material = "topsoil", fraction = 0.33 },
#   { material = "compost", fraction = 0.17 },
# ]

[[stock]]                       # what is on hand, and at which pile
material = "topsoil"            # logs, branches, leaves, straw and sod serve as coarse organic
volume = "0.4 m^3"
at = "heap"

[[offer]]                       # what can be bought by the bag ...
material = "compost"
bag = "40 L"
price = 7.50

[[offer]]
material = "worm castings"
bag = "20 L"
price = 14.00

[[offer]]                       # ... or loose, in steps of this volume
material = "topsoil"
loose = "0.5 m^3"
price = 24.00
minimum = "1 m^3"
delivery = 45.00                # each delivery
per_delivery = "8 m^3"          # most that one delivery brings

[[offer]]
material = "coarse organic"
loose = "0.5 m^3"
price = 9.00
delivery = 45.00
per_delivery = "10 m^3"

# [[offer]]                     # for the walls: boards and posts by the piece, screws by the box
# material = "board"
# width = "22.5 cm"
# length = "2.4 m"
# price = 12.00
"""

EMPTY = '{"type": "FeatureCollection", "$schema": "./.features.schema.json", "features": [\n]}\n'
FEATURES = """\
{"type": "FeatureCollection", "$schema": "./.features.schema.json", "features": [
{"type": "Feature", "id": "lot", "properties": {"kind": "boundary"},
 "geometry": {"type": "Polygon", "coordinates": [[[0, 0], [16, 0], [16, 24], [0, 24], [0, 0]]]}},
{"type": "Feature", "id": "house", "properties": {"kind": "building", "height": 7.0, "eaves": 4.5},
 "geometry": {"type": "Polygon", "coordinates": [[[3, 3], [12, 3], [12, 10], [3, 10], [3, 3]]]}},
{"type": "Feature", "id": "back-door", "properties": {"kind": "door"},
 "geometry": {"type": "Point", "coordinates": [8, 10.1]}},
{"type": "Feature", "id": "tap", "properties": {"kind": "tap", "hose_length": "15 m"},
 "geometry": {"type": "Point", "coordinates": [12.1, 9]}},
{"type": "Feature", "id": "lawn", "properties": {"kind": "surface", "surface": "grass"},
 "geometry": {"type": "Polygon", "coordinates": [[[0, 10], [16, 10], [16, 24], [0, 24], [0, 10]]]}},
{"type": "Feature", "id": "drive", "properties": {"kind": "surface", "surface": "paved"},
 "geometry": {"type": "Polygon", "coordinates": [[[12.5, 0], [15.5, 0], [15.5, 10], [12.5, 10], [12.5, 0]]]}},
{"type": "Feature", "id": "back-fence", "properties": {"kind": "fence", "height": 1.8},
 "geometry": {"type": "LineString", "coordinates": [[0, 10], [0, 24], [16, 24], [16, 10]]}},
{"type": "Feature", "id": "front-fence", "properties": {"kind": "fence", "height": 1.2},
 "geometry": {"type": "LineString", "coordinates": [[12, 10], [16, 10]]}},
{"type": "Feature", "id": "gate", "properties": {"kind": "gate", "width": 1.0},
 "geometry": {"type": "Point", "coordinates": [14, 10]}},
{"type": "Feature", "id": "apple", "properties": {"kind": "tree", "height": 5.0, "crown_diameter": 4.0},
 "geometry": {"type": "Point", "coordinates": [3, 20]}},
{"type": "Feature", "id": "heap", "properties": {"kind": "pile"},
 "geometry": {"type": "Point", "coordinates": [14.5, 22.5]}},
{"type": "Feature", "id": "drop", "properties": {"kind": "pile", "drop": true},
 "geometry": {"type": "Point", "coordinates": [14, 4]}},
{"type": "Feature", "id": "bed", "properties": {"kind": "bed", "height": 0.45, "proposed": true},
 "geometry": {"type": "Polygon", "coordinates": [[[7, 15], [8.2, 15], [8.2, 17.4], [7, 17.4], [7, 15]]]}}
]}
"""


def new_files() -> dict[str, bytes]:
    """Return the files of a new site by name: site.toml, the features, and the schemas for editors."""
    return {"site.toml": site_toml().encode(), "features.geojson": FEATURES.encode()} | _schemas()


def drawing_files() -> dict[str, bytes]:
    """Return the files of a site for the drawing page, without the example's values."""
    trade = "\n".join(line if line.startswith("#") or not line else f"# {line}" for line in _TRADE.splitlines())
    settings = _site_toml(_TO_DRAW, f"{trade}\n")
    return {"site.toml": settings.encode(), "features.geojson": EMPTY.encode()} | _schemas()


def _schemas() -> dict[str, bytes]:
    names = (SITE_SCHEMA, FEATURES_SCHEMA, VARIANT_SCHEMA)
    return {f".{name}": (data_folder() / "schema" / name).read_bytes() for name in names}


def site_toml() -> str:
    """Return a commented site.toml."""
    return _site_toml(_SHOWN, _TRADE)


def _site_toml(set_keys: Mapping[str, Collection[str]], trade: str) -> str:
    """Return a commented site.toml, in which the `set_keys` are set and all others are commented out."""
    top = [fields_of(Settings)[name] for name in TOP]
    parts = [_HEAD + "\n".join(_line(field, "", set_keys) for field in top)]
    for name, records in TABLES.items():
        fields = [field for record in records for field in fields_of(record).values()]
        parts.append("\n".join([_title(name, set_keys), *(_line(field, name, set_keys) for field in fields)]))
    return "\n\n".join([*parts, trade])


def _title(name: str, set_keys: Mapping[str, Collection[str]]) -> str:
    title = f"[{name}]" if name in set_keys else f"# [{name}]"
    return f"{title:<{_COLUMN}}# {_ABOUT[name]}" if name in _ABOUT else title


def _line(field: Field, table: str, set_keys: Mapping[str, Collection[str]]) -> str:
    """Return the line of one key, commented out unless it is in `set_keys`."""
    if field.name == "layers":
        about = "# left out, these; below 45 cm (18 in) without the coarse base, for roots want that depth"
        return "\n".join([f"{'# layers = [':<{_COLUMN}}{about}", *_layers(), "# ]"])
    mark = "" if field.name in set_keys.get(table, ()) else "# "
    span = f" ({field.rule.span})" if isinstance(field.rule, Quantity | Money | Whole | OneOf) else ""
    return f"{f'{mark}{field.name} = {_value(field, table)} ':<{_COLUMN}}# {field.meaning}{span}"


def _layers() -> Iterator[str]:
    for layer in USUAL_LAYERS:
        yield f'#   {{ material = "{layer.material}", fraction = {layer.fraction:g} }},'


def _value(field: Field, table: str) -> str:
    """Return a value as TOML: the example's own, else the default."""
    if (example := _VALUES.get(table, {}).get(field.name)) is not None:
        return example
    default = as_written(field)
    if isinstance(default, bool):
        return str(default).lower()
    if isinstance(default, str):
        return f'"{default}"'
    return f"{default:g}" if isinstance(default, float) else str(default)
