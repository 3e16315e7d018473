"""What the map's page is made of: its layers in order, what it asks Leaflet for, and the figures in its data."""

from __future__ import annotations

import base64
import json
import re
import zlib
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from markupsafe import Markup
from shapely import LineString, Point

from siteplan.haul.haul_results import Route
from siteplan.land.grid import Grid
from siteplan.land.terrain import Terrain
from siteplan.say.lighting import METHOD
from siteplan.show.map import cards
from siteplan.show.map import site_map as map_module
from siteplan.show.map.figure import QuietMap
from siteplan.show.map.packing import HeldInsides, packed_units
from siteplan.show.map.site_map import _forbidden_data, _geographic, page_values, site_map
from siteplan.show.symbols.planned import numbered_routes

LAYERS = [
    "ground",
    "keepouts",
    "buildings",
    "plants",
    "fences",
    "routes",
    "piles",
    "points",
    "beds",
    "places",
    "contours",
]


@pytest.fixture(scope="module")
def pages(drawn_plan):
    return {tiles: site_map(drawn_plan, tiles=tiles) for tiles in (False, True)}


def script(found):
    return found.get_root().render().rpartition("<script>")[2]


def options(text):
    """Return the options in a call of Leaflet."""
    return json.loads(re.sub(r",\s*}", "}", text))


def test_layers_lie_from_the_ground_up_and_one_map_shows_at_first(pages):
    text = script(pages[False])
    made = re.findall(r'= siteplan\.(\w+)\(map_plan, "(\w+)"', text)
    assert made == [
        ("picture", "sun"), ("picture", "light"), ("picture", "sky"), ("picture", "forbidden"), *(("layer", key) for key in LAYERS),
    ]  # fmt: skip
    assert re.findall(r"(\w+)_layer_(\w+)\.addTo\(map_plan\)", text) == [
        ("picture", "sun"), *(("drawn", key) for key in LAYERS),
    ]  # fmt: skip
    assert (
        text.rstrip()
        .removesuffix("</body>\n</html>")
        .rstrip()
        .removesuffix("</script>")
        .rstrip()
        .endswith("siteplan.start(map_plan);")
    )
    assert '"Hours of direct sun a day in the growing season")' in text
    for layer in pages[False]._children.values():
        if layer.get_name() != "start_page":
            assert (layer.overlay, layer.control) == (True, False)


@pytest.mark.parametrize(
    ("tiles", "system", "least", "most"), [(False, "Simple", 0, 8.5), (True, "EPSG3857", 15, 23)]
)
def test_what_leaflet_is_asked_for(pages, tiles, system, least, most):
    text = script(pages[tiles])
    told = re.search(
        r'L\.map\("map_plan", \{\s*center: \[0\.0, 0\.0\],\s*crs: L\.CRS\.(\w+),\s*\.\.\.(\{.*?\})\s*\}\)',
        text,
        re.DOTALL,
    )
    assert told[1] == system
    assert options(told[2]) == {
        "zoom": 4, "zoomControl": True, "preferCanvas": False, "attributionControl": tiles, "maxBoundsViscosity": 0.5,
        "zoomSnap": 0.25, "zoomDelta": 0.5, "wheelPxPerZoomLevel": 120, "minZoom": least, "maxZoom": most,
    }  # fmt: skip


def test_a_basemap_is_there_only_when_asked(pages):
    assert "tileLayer" not in script(pages[False])
    told = re.search(
        r'L\.tileLayer\(\s*"https://tile\.openstreetmap\.org/\{z\}/\{x\}/\{y\}\.png",\s*(\{.*?\})\s*\)',
        script(pages[True]),
        re.DOTALL,
    )
    found = options(told[1])
    assert (found["maxZoom"], found["maxNativeZoom"], found["opacity"]) == (23, 19, 0.55)
    policy = re.compile(r"img-src [^;]*")
    plain, tiled = (policy.search(pages[tiles].get_root().render())[0] for tiles in (False, True))
    assert "openstreetmap" not in plain
    assert tiled == f"{plain} https://tile.openstreetmap.org"


def test_a_map_by_itself_has_no_limits_of_zoom_but_leaflets():
    text = script(QuietMap("x"))
    assert "minZoom" not in text
    assert "L.CRS.Simple" in text
    assert "L.CRS.EPSG3857" in script(QuietMap("x", simple=False))


def test_metres_in_a_degree_at_the_site(drawn_plan):
    # at 39.74 N by the ellipsoid of WGS 84: a degree of latitude is 111.03 km, one of longitude 85.72 km
    found = _geographic(drawn_plan.site)
    assert (found["longitude"], found["latitude"]) == (-105.18, 39.74)
    assert found["north_m"] == pytest.approx(111_030, rel=2e-4)
    assert found["east_m"] == pytest.approx(85_720, rel=2e-4)


def unpacked(packed, rows, columns):
    """Return 16-bit numbers, from their prediction by the left and the upper neighbours, one by one."""
    content = zlib.decompress(base64.b64decode(packed))
    found = np.zeros((rows, columns), dtype=int)
    for row in range(rows):
        for column in range(columns):
            at = row * columns + column
            folded = content[at] * 256 + content[rows * columns + at]
            miss = folded // 2 if folded % 2 == 0 else -(folded + 1) // 2
            left = found[row, column - 1] if column else 0
            above = found[row - 1, column] if row else 0
            corner = found[row - 1, column - 1] if row and column else 0
            found[row, column] = (left + above - corner + miss) % 65536
    return found


def test_numbers_are_packed_as_their_difference_from_a_prediction():
    units = np.array([[[0, 65535, 7], [300, 2, 40000]]], dtype=np.uint16)
    assert unpacked(packed_units(units), 2, 3).tolist() == units[0].tolist()


def test_forbidden_ground_is_told_where_both_maps_have_the_same_cells(drawn_plan):
    found = _forbidden_data(drawn_plan)
    grid = drawn_plan.maps.grid
    cells = unpacked(found["packed"], grid.rows, grid.columns)
    row, column = grid.cell_of(-1.2, 1.8)  # in the middle of the septic field
    assert "septic" in found["reasons"][cells[row, column] - 1]
    assert (cells == 0).any()
    for less in ({"places": None}, {"maps": None}):
        assert _forbidden_data(replace(drawn_plan, **less)) is None
    coarse = replace(drawn_plan.places, grid=replace(grid, cell=1.0))
    assert _forbidden_data(replace(drawn_plan, places=coarse)) is None


@pytest.mark.parametrize(("count", "packed"), [(60, False), (61, True)])
def test_the_insides_of_more_than_sixty_cards_are_packed(count, packed):
    held = HeldInsides(count)
    said = [held(caller=lambda text=text: text) for text in (Markup("<b>é</b>"), Markup("two"))]
    if packed:
        assert said == [f'<div class="inside" data-held="{n}"></div>\n' for n in (0, 1)]
        assert json.loads(zlib.decompress(base64.b64decode(held.packed))) == ["<b>é</b>", "two"]
    else:
        assert said == ['<div class="inside">\n<b>é</b></div>\n', '<div class="inside">\ntwo</div>\n']
        assert held.packed is None


def test_what_the_page_prints(drawn_plan):
    values = page_values(drawn_plan, tiles=False)
    assert values["counts"] == {"beds": 3}
    assert values["season"] == "10 May to 28 Sep"
    assert values["given_away"] == ""
    assert page_values(drawn_plan, tiles=True)["given_away"] != ""
    assert values["cautions_count"] == "2 cautions"
    assert [one["short"] for one in values["months"]] == [*"JFMAMJJASOND", "Season"]
    assert values["ranges"] == ""  # no bed's sun is in doubt
    one = replace(
        drawn_plan.beds[1],
        doubt=SimpleNamespace(season_low_h=1.0, season_high_h=2.0, enough=1.0, causes=(), season_h=[0.0]),
    )
    some = replace(drawn_plan, beds=(drawn_plan.beds[0], one, drawn_plan.beds[2]))
    assert page_values(some, tiles=False)["ranges"].startswith("Hours in brackets are a range")
    days = drawn_plan.haul.days
    assert values["work"].endswith(f"on {days} day{'s' if days > 1 else ''}.")
    bare = page_values(
        replace(drawn_plan, maps=None, light_maps=None, beds=(), places=None, fill=None, haul=None), tiles=False
    )
    told = (
        bare["work"],
        bare["light_method"],
        bare["sure"],
        bare["place_sentences"],
        bare["proof"],
        bare["steady"],
        bare["counting"],
    )
    assert told == ("", "", None, (), "", "", "")
    assert values["light_method"] != ""
    no_loads = page_values(replace(drawn_plan, haul=replace(drawn_plan.haul, loads=(), unreached=())), tiles=False)
    assert no_loads["work"] == ""


def test_what_is_ruled_out_names_three_features_and_counts_the_others(drawn_plan):
    part = drawn_plan.places.ruled_out[0]

    def told(names):
        places = replace(drawn_plan.places, ruled_out=(replace(part, kind="tree", share=0.25, features=names),))
        return cards.ruled_out(replace(drawn_plan, places=places))[0]

    assert told(("a", "b")) == {"name": "tree", "share": "25 %", "features": ["a", "b"], "more": 0}
    assert told(("a", "b", "c"))["more"] == 0
    five = told(("a", "x" * 41, "c", "d", "e"))
    assert five["features"] == ["a", "x" * 39 + "…", "c"]
    assert five["more"] == 2


def test_a_choice_of_two_spots_has_a_picture(drawn_plan):
    choice = SimpleNamespace(
        rank=1, outline=Point(0, 0).buffer(1), sun_h=6.0, season_sun_h=7.0, worst_cell_sun_h=6.0, minutes=40.0, water_m=5.0,
        first=True, heading=0.0, x=0.0, y=0.0,
    )  # fmt: skip
    other = SimpleNamespace(
        **{**vars(choice), "rank": 2, "first": False, "minutes": float("nan"), "water_m": float("nan")}
    )

    def plan(*choices):
        return replace(drawn_plan, places=replace(drawn_plan.places, trade_off=choices))

    assert cards.trade_picture(plan(choice)) is None
    assert cards.trade_picture(plan(choice, other)) is not None
    first, last = cards.trade_off(plan(choice, other))
    assert (first["sun"], first["worst"], first["time"], first["water"], first["label"]) == (
        "7.0 h",
        "6.0 h",
        "40 min",
        "16 ft",
        "1",
    )
    assert (last["time"], last["water"]) == ("—", "—")


def test_a_run_s_card(drawn_plan):
    card = cards.run_cards(drawn_plan)[0]
    route = numbered_routes(drawn_plan)[0].route
    assert card["key"] == "run-1"
    assert card["profile"] is None  # on level ground
    west, south, east, north = route.line.bounds
    assert sorted(np.ravel(card["find"]).tolist()) == pytest.approx(
        sorted([west - 1, south - 1, east + 1, north + 1]), abs=0.06
    )
    numbered = SimpleNamespace(
        route=replace(route, from_id="", steepest=-0.1), number=3, badge="3", trips=1, minutes=5.0, loads=()
    )
    alone = cards._run_card(drawn_plan, numbered)
    assert (alone["from"], alone["steepest"], alone["trips"], alone["time"]) == ("delivery", "0 %", "1 trip", "5 min")


def test_a_profile_is_drawn_where_the_ground_is_known(drawn_plan):
    line = LineString([(0, 0), (10, 0)])
    route = Route("a", "b", line, 10.0, 1.0, 1.0, 1.0, line)
    ramp = Terrain(Grid(-20, 20, 1, 40, 40), np.tile(np.arange(40) * 0.1, (40, 1)))

    def drawn(terrain, one=route):
        return cards._profile(replace(drawn_plan, site=replace(drawn_plan.site, terrain=terrain)), one)

    assert drawn(None) is None
    assert drawn(ramp) is not None
    assert drawn(ramp, replace(route, length_m=0.0)) is None
    assert drawn(Terrain(ramp.grid, np.full((40, 40), np.nan))) is None


def test_a_picture_under_the_drawing_is_the_lowest_layer_and_has_no_box():
    layer = map_module.BackdropLayer(b"ab", (1.23456, -2.00049, 3.0, 4.0), 0.5)
    assert (layer.overlay, layer.control, layer.show) == (True, False, True)
    assert layer.address == "data:image/webp;base64,YWI="  # RFC 4648: two letters are YWI and a sign for the third
    assert (layer.bounds, layer.strength) == ([1.235, -2.0, 3.0, 4.0], 0.5)
    assert map_module.PictureLayer("sun", "data:", "words").show is True


def test_whether_there_is_a_picture_under_the_drawing(monkeypatch):
    seen = []
    monkeypatch.setattr(
        map_module, "BackdropLayer", lambda *given: seen.append(given) or SimpleNamespace(add_to=lambda _: None)
    )
    monkeypatch.setattr(map_module, "flat_picture", lambda picture, bounds: picture.flat and (picture.flat, bounds))

    def added(picture):
        site = SimpleNamespace(backdrop=picture, boundary=SimpleNamespace(bounds=(0, 1, 2, 3)))
        return map_module.SiteMap._add_backdrop(None, site)

    assert added(None) is False
    assert added(SimpleNamespace(flat=None, strength=0.4)) is False
    assert seen == []
    assert added(SimpleNamespace(flat=b"picture", strength=0.4)) is True
    assert seen == [(b"picture", (0, 1, 2, 3), 0.4)]


def test_a_site_without_a_name_has_a_title(drawn_plan):
    values = page_values(drawn_plan, tiles=False)
    assert values["title"] == "Larkspur Rise"
    bare = replace(drawn_plan, site=replace(drawn_plan.site, name=""))
    assert page_values(bare, tiles=False)["title"] == "Site plan"


def test_how_light_is_computed_is_told_where_it_is_shown(drawn_plan):
    assert page_values(drawn_plan, tiles=False)["light_method"].startswith(METHOD)
    assert page_values(replace(drawn_plan, light_maps=None), tiles=False)["light_method"] == ""


def test_of_the_doubts_of_places_the_second_is_told(drawn_plan, monkeypatch):
    monkeypatch.setattr(map_module, "place_doubts", lambda _: ("first", "second", "third"))
    said = page_values(drawn_plan, tiles=False)["place_sentences"]
    assert "second" in said
    assert not {"first", "third"} & set(said)
