"""How does a new site start?

A commented site.toml and a small measured plan that is sound as it stands, to be changed line by line.
It leaves out the place: the first thing to put in is one's own latitude and longitude.
"""

from __future__ import annotations

from pathlib import Path

from siteplan.files.writable import write_new

SITE_TOML = """\
# One property. Every quantity is a number with a unit ("4 ft", "18 in", "1.5 yd^3"), or a plain number in
# metres, degrees, kilograms, litres or hours. When it is changed, run: siteplan check

name = "My garden"
features = "features.geojson"   # what is drawn: measured in the unit below, x to the right, y up
units = "metric"                # or "imperial": how results are printed
currency = "USD"                # three letters of ISO 4217
# timezone = "America/Denver"   # found from the place where it is left out
# terrain = "terrain.tif"       # a GeoTIFF of the ground's elevation; it hides the sun out to its edge
# terrain_unit = "ft"           # where the file does not say: "m", "ft" or "us-ft" (US survey feet)
# weather = "weather.epw"       # a typical year: EPW, TMY3 CSV or PVGIS JSON
# skyline = "skyline.csv"       # far hills: azimuth_deg,elevation_deg

[origin]                        # leave this table out where the features are in longitude and latitude
latitude = 45.00                # of the plan's zero point: change these two to your own place
longitude = 9.00
bearing = 0.0                   # of the plan's +y axis, clockwise from true north
unit = "m"                      # of the plan's coordinates: "m" or "ft"

[season]                        # month-day; south of the equator last_frost is the later of the two
last_frost = "04-20"
first_frost = "10-20"

[sun]
cell = "25 cm"                  # side of a map cell
step = "10 min"                 # longest step of the sun
need = 6.0                      # hours of direct sun that the crops want at least
plenty = 8.0                    # hours beyond which more counts no more

[barrow]
volume = "85 L"
load = "80 kg"
width = "65 cm"
clearance = "10 cm"             # kept free on each side
max_grade = 0.125               # rise over run that it may be pushed up loaded
# mass = "18 kg"                # of the barrow itself
# count = 1                     # with two of them and two people one is loaded while the other is pushed

[labour]
people = 1
hours_per_day = 4
# body_mass = "80 kg"           # of one person, for the energy

# [haul]                        # common practice, without a source: put in what you have timed yourself
# loaded_speed = "3 km/h"       # on level pavement
# empty_speed = "4.5 km/h"
# tip_time = "45 s"             # each trip
# bag_time = "1 min"            # a bag is lifted into the barrow, slit and emptied
# shovel_pace = 1.0             # times what the table of materials says that one person loads: 1.6 for the fit
# rest = "10 min"               # in each hour
# wet = false                   # true: the ground is wet, and rolls harder
# off_lawn = false              # true: heaps stay off the grass
# tip_anywhere = false          # true: a lorry may tip wherever it gets to on hard ground from the edge
# lorry_width = "2.5 m"
# heap_angle = 35               # degrees of a heap's side to the ground
# delivery_day = 1              # of the work: nothing that is delivered is wheeled before
# board_price = 12.00           # of a board to lay over soft ground
# board_length = "2.4 m"

[place]                         # what a new bed is like, and how far it keeps from things
length = "2.4 m"
width = "1.2 m"
height = "45 cm"
count = 3
wall_setback = "60 cm"
boundary_setback = "30 cm"

[fill]                          # bottom to top, as shares of the bed's inside depth
layers = [
  { material = "coarse organic", fraction = 0.375 },
  { material = "topsoil", fraction = 0.375 },
  { material = "compost", fraction = 0.2083 },
  { material = "worm castings", fraction = 0.0417 },
]
lining = "cardboard"            # or "none"
# storage = "4 m^3"             # most that may be bought in all: it lies somewhere until it is used
# bag_handling = 0.50           # what it is worth not to open one bag; counted in the choice, not in the bill

# [water]
# flow = "12 L/min"             # of the open tap through its hose: time how long it fills a bucket
# weekly = "25 mm"              # how deep a week's watering stands over a bed
# efficiency = 0.85             # share of it that reaches the roots: 1 by the can, 0.85 by drip, 0.7 by sprinkler

# [soil]
# lead = 60                     # ppm of total lead, from a soil test of the ground
# manure_on = 2026-03-01        # the day on which raw manure was worked into the ground

[[stock]]                       # what is on hand, and at which pile
material = "topsoil"
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
"""

FEATURES = """\
{"type": "FeatureCollection", "features": [
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


def new_site(folder: str | Path) -> Path:
    """Start a site in a folder, which must be new or empty, and return the folder.

    Raises
    ------
    InputError
        Where something lies there already.
    """
    return write_new(Path(folder), {"site.toml": SITE_TOML.encode(), "features.geojson": FEATURES.encode()})
