"""Is a raster of the surface read as it is, does it fit its ground, and is it said what it is used for?"""

from __future__ import annotations

import tracemalloc

import numpy as np
import pytest
import shapely
from pyproj import Transformer
from shapely import box

from siteplan import read_site
from siteplan.cli import main
from siteplan.files.ground import surface_file
from siteplan.files.reader import check_site
from siteplan.sun.engine import sun_engine
from siteplan.sun.obstacles.surface_columns import surface_columns

from .rasters import TO_UTM, UTM, steps, write_raster

BOTH = 'terrain = "ground.tif"\nsurface_model = "tops.tif"\n'


def ground(east, up):
    return 100 + 0.02 * east + 0 * up


def tower(east, up):
    """Return flat-roofed houses: 12 m high 40 m to the south, 6 m high in the north; and open ground."""
    high = np.where((abs(east) < 15) & (abs(up + 45) < 5), 12.0, 0.0)
    return ground(east, up) + np.where((abs(east) < 4) & (abs(up - 25) < 3), 6.0, high)


@pytest.fixture
def rasters(yard):
    """Return a writer of a yard with both rasters; further keys come before the rest of site.toml."""
    before = [""]

    def write(surface=tower, *, keys="", margin=120, cell=0.5, of_ground=None, of_surface=None, below=ground):
        plain = yard.toml.removeprefix(before[0])
        before[0] = BOTH + keys
        yard.toml = before[0] + plain
        folder = yard.write()
        east, up, corner = steps(margin, cell)
        write_raster(folder / "ground.tif", below(east, up), **(corner | (of_ground or {})))
        write_raster(folder / "tops.tif", surface(east, up), **(corner | (of_surface or {})))
        return folder

    return write


def faults_of(folder):
    return [str(fault) for fault in check_site(folder).faults]


def cautions_of(folder):
    checked = check_site(folder)
    assert not checked.faults, checked.faults
    return {caution.code: caution.text for caution in checked.cautions}


def heights(site, layer=0):
    """Return how high the columns that count stand above the ground, and x and y of their middles."""
    columns = site.surface_model.counted(site.boundary, site.features())[layer]
    x, y = columns.middles(slice(None), slice(None))
    there = np.isfinite(columns.tops)
    return columns.tops[there] - site.terrain.height_at(x[there], y[there]), x[there], y[there]


def test_what_stands_around_is_where_the_raster_has_it(rasters):
    site = read_site(rasters())
    above, x, y = heights(site)
    # the raster is in UTM: its north is 0.7 degrees off here, half a metre in 40
    assert len(above) == 30 * 10 / 0.25 + 8 * 6 / 0.25
    south = y < 0
    assert above[south] == pytest.approx(12, abs=0.05)
    assert above[~south] == pytest.approx(6, abs=0.05)
    assert (x[south].min(), x[south].max()) == pytest.approx((-15, 15), abs=0.9)
    assert (y[south].min(), y[south].max()) == pytest.approx((-50, -40), abs=0.5)
    assert site.surface_model.layers[0].cell == pytest.approx(0.5, rel=1e-3)
    assert 105 - 0.8 <= site.surface_model.reach <= 105  # 120 m less half the lot's 30, turned by 0.7 degrees


def test_a_house_of_the_surface_shades_as_a_drawn_one(rasters, yard):
    def level(east, up):  # roofs that do not follow the ground
        there = tower(east, up) > ground(east, up) + 1
        return np.where(there, np.where(up < 0, 118.0, 106.0), ground(east, up))

    yard.change("[sun]\n", '[sun]\nstep = "30 min"\n')
    site = read_site(rasters(level))
    engine = sun_engine(site)
    x, y = np.array([0.0, 5.0, -8.0]), np.array([3.0, -8.8, 8.9])
    points = np.column_stack([x, y, site.terrain.height_at(x, y)])
    turned = Transformer.from_crs(UTM, site.frame.crs, always_xy=True)
    middle = np.round(TO_UTM.transform(8.0, 45.0)) - np.array(TO_UTM.transform(8.0, 45.0))
    assert abs(middle).max() <= 0.5
    for name, shape, height in (("hall", box(-15, -50, 15, -40), 18.0), ("shed", box(-4, 22, 4, 28), 6.0)):
        corners = np.array(shape.exterior.coords) + TO_UTM.transform(8.0, 45.0)
        drawn = type(shape)(np.column_stack(turned.transform(*corners.T)))
        yard.draw(name, drawn, kind="building", height=height)
    yard.change('surface_model = "tops.tif"\n', "")
    with_houses = sun_engine(read_site(yard.write()))
    off = engine.hours(points).month_h - with_houses.hours(points).month_h
    # the raster's edges lie within half a cell of the houses': a quarter of a metre in 31 lifts the hall by a quarter
    # of a degree, which the noon sun of February climbs in a day
    assert np.abs(off).max() < 0.1, off
    free = sun_engine(site, without=())
    assert (with_houses.hours(points).month_h[11] < 3).any()  # the hall hides much of a December day
    assert free.columns


def test_the_property_itself_is_left_to_what_is_drawn(rasters):
    def crowded(east, up):
        tree = np.hypot(east + 4, up - 4) < 2
        return np.where(tree, ground(east, up) + 8, tower(east, up))

    folder = rasters(crowded)
    site = read_site(folder)
    _, x, y = heights(site)
    assert not ((abs(x) < 15) & (abs(y) < 10)).any()
    text = cautions_of(folder)["surface-undrawn"]
    assert text.startswith("By tops.tif 1 thing on the property, the tallest 8.00 m high, is not drawn and cast no")
    toml = folder / "site.toml"
    toml.write_text("surface_within = true\n" + toml.read_text())
    site = read_site(folder)
    _, x, y = heights(site)
    tree = np.hypot(x + 4, y - 4) < 3
    assert tree.sum() == pytest.approx(np.pi * 4 / 0.25, rel=0.1)
    point = np.array([[-4.0, 4.0, float(site.terrain.height_at([-4.0], [4.0])[0])]])
    assert sun_engine(site).hours(point).month_h.max() == 0  # within a column
    assert "hides the sun there" in cautions_of(folder)["surface-undrawn"]


@pytest.mark.parametrize("begins", [0, 4])
def test_what_is_drawn_does_not_count_twice_and_no_cell_reaches_over_the_line(rasters, yard, begins):
    yard.draw("hall", box(-10, -50, 0, -40), kind="building", height=12)
    yard.draw("elm", box(18, -3, 24, 3), kind="tree", height=9)

    def around(east, up):
        elm = (abs(east - 21) < 3.2) & (abs(up) < 3.2)
        hedge = (abs(east) > 14) & (abs(east) < 18) & (up > 3)
        return np.where(elm | hedge, ground(east, up) + 5, tower(east, up))

    site = read_site(rasters(around, keys=f'surface_from = "{begins} m"\n' if begins else ""))
    _, x, y = heights(site)
    for shape in (box(-10, -50, 0, -40), box(18, -3, 24, 3)):
        west, south, east, north = shape.buffer(0.49).bounds
        assert not ((x > west) & (x < east) & (y > south) & (y < north)).any()
    assert (x < -10.6).any()  # the rest of the hall still stands
    reach = 0.35 + begins
    assert shapely.distance(shapely.points(x, y), box(-15, -10, 15, 10)).min() > reach - 0.01
    hedge = (y > 3) & (y < 10) & (abs(x) < 20)
    assert hedge.any() == (begins == 0)


def test_farther_off_each_cell_keeps_the_highest(rasters, monkeypatch):
    monkeypatch.setattr(surface_file, "FINE", 40)

    def mast(east, up):
        return np.where((abs(east - 70.25) < 0.3) & (abs(up) < 3), ground(east, up) + 7, ground(east, up))

    site = read_site(rasters(mast))
    cells = [layer.cell for layer in site.surface_model.layers]
    assert cells == pytest.approx([0.5, 1, 2, 4], rel=1e-3)
    stands = [int(np.isfinite(layer.tops).sum()) for layer in site.surface_model.layers]
    assert stands[0] == 0  # within 20 m
    assert stands[1] == 0  # within 40 m
    above, x, y = heights(site, 2)
    assert above == pytest.approx(7, abs=0.1)
    assert (x.min(), x.max()) == pytest.approx((70, 70), abs=2.1)
    assert np.ptp(y) == pytest.approx(5, abs=1.1)


@pytest.mark.parametrize("epsg", [3035, 4326])
def test_any_projection_will_do(rasters, yard, epsg):
    folder = rasters()
    other = Transformer.from_crs("EPSG:4326", f"EPSG:{epsg}", always_xy=True)
    back = Transformer.from_crs(f"EPSG:{epsg}", UTM, always_xy=True)
    x, y = other.transform(8.0, 45.0)
    cell = 0.5 if epsg == 3035 else 0.5 / 111_000
    count = 400
    east, up = np.meshgrid(x + (np.arange(count) - 199.5) * cell, y - (np.arange(count) - 199.5) * cell)
    middle = TO_UTM.transform(8.0, 45.0)
    there = np.array(back.transform(east, up)) - np.array(middle)[:, None, None]
    write_raster(
        folder / "tops.tif", tower(*there), west=x - 200 * cell, north=y + 200 * cell, cell=cell, crs=f"EPSG:{epsg}"
    )
    above, x, y = heights(read_site(folder))
    south = y < 0
    assert above[south] == pytest.approx(12, abs=0.1)
    assert (x[south].min(), x[south].max()) == pytest.approx((-15, 15), abs=1.2)
    assert (y[south].min(), y[south].max()) == pytest.approx((-50, -40), abs=0.7)


@pytest.mark.parametrize("fine", [400, 90])
def test_spikes_and_holes_do_no_harm(rasters, monkeypatch, fine):
    monkeypatch.setattr(surface_file, "FINE", fine)

    def spoilt(east, up):
        values = tower(east, up)
        values[100, 100] += 60  # a bird
        values[200, 30:40] = -9999
        values[201, 30:40] = 1e30
        values[300:340, 300:340] = np.nan
        return values

    folder = rasters(spoilt)
    texts = cautions_of(folder)
    assert (
        texts["surface-lone"] == "1 lone cell of tops.tif, far above all around as birds and wires are, is left out."
    )
    site = read_site(folder)
    above, *_ = heights(site)
    assert above.max() == pytest.approx(12, abs=0.05)
    clean, *_ = heights(read_site(rasters()))
    assert len(above) == len(clean)


def test_it_is_said_what_is_used_and_that_it_is_opaque(rasters, capsys):
    folder = rasters(keys="surface_date = 2021-03-14\n")
    assert main(["check", str(folder)]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "Beyond the boundary, what is not drawn hides the sun by tops.tif (surveyed on 2021-03-14)" in said
    assert "On the property it is not used." in said
    assert "lets no light through, trees neither, in leaf or bare" in said
    assert said.count("tops.tif, surveyed on") == 1


def shifted(by, factor=1.0):
    return lambda east, up: tower(east, up) * factor + by


ABOVE_SEA = "both must have their heights above the same datum"


@pytest.mark.parametrize(
    ("surface", "below", "words"),
    [
        (shifted(0, 1 / 0.3048), ground, ("above terrain nearly everywhere", 'its elevations fit as feet (surface_unit = "ft" in')),
        (shifted(0, 0.3048), ground, ("lies below terrain for 100%", 'its elevations fit as metres (surface_unit = "m" in')),
        (tower, lambda e, u: ground(e, u) / 0.3048, ("below terrain", 'those of terrain fit as feet (terrain_unit = "ft" in')),
        (shifted(47.0), ground, ("lies 47 m or more above terrain nearly everywhere", ABOVE_SEA)),
        (shifted(-30.0), ground, ("lies below terrain", ABOVE_SEA)),
        (ground, lambda e, u: tower(e, u) + 5 * (e > 60), ("lies below terrain for 2", "swapped")),
    ],
    ids=["feet", "metres", "ground-in-feet", "ellipsoid", "below", "swapped"],
)  # fmt: skip
def test_a_pair_that_does_not_match_is_a_fault(rasters, surface, below, words):
    (fault,) = faults_of(rasters(surface, below=below))
    assert fault.startswith("tops.tif: ")
    for word in words:
        assert word in fault, fault


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"crs": None}, "has no coordinate reference system"),
        ({"west": 460_000}, "km to the east of the property; take the tile that covers it"),
        ({"north": 4_900_000}, "km to the south of the property"),
        ({"crs": "EPSG:32633"}, "Is its coordinate system 'WGS 84 / UTM zone 33N' right?"),
        ({"dtype": "complex64"}, "has complex numbers"),
    ],
    ids=["no-crs", "east", "south", "wrong-zone", "complex"],
)
@pytest.mark.filterwarnings("ignore::rasterio.errors.NotGeoreferencedWarning")
def test_a_raster_that_cannot_be_it_is_a_fault(rasters, change, words):
    (fault,) = faults_of(rasters(of_surface=change))
    assert fault.startswith("tops.tif: ")
    assert words in fault, fault


def test_a_surface_that_makes_sense_nowhere_is_a_fault(rasters):
    (fault,) = faults_of(rasters(shifted(50_000.0)))
    assert "tops.tif: has 50" in fault
    assert "hardly an elevation" in fault
    folder = rasters(shifted(np.nan))
    (fault,) = faults_of(folder)
    assert "tops.tif: has no data around the property" in fault
    (folder / "tops.tif").write_bytes(b"II*\0 no raster")
    (fault,) = faults_of(folder)
    assert "cannot be read as a GeoTIFF" in fault


@pytest.mark.parametrize(
    ("toml", "words"),
    [
        ('surface_model = "tops.tif"\n', "name the raster of the ground as terrain as well"),
        ('terrain = "tops.tif"\nsurface_model = "tops.tif"\n', "are the same file"),
        ('terrain = "tops.tif"\nsurface_within = true\n', "surface_within tells how surface_model is used"),
        ('terrain = "tops.tif"\nsurface_model = "none.tif"\n', "the file"),
        (f'{BOTH}surface_within = true\nsurface_from = "2 m"\n', "leave one out"),
        (f'{BOTH}surface_from = "300 m"\n', "surface_from"),
        (f'{BOTH}surface_date = "spring"\n', "must be a day such as"),
    ],
    ids=["alone", "same", "without", "missing", "both-ways", "too-far", "no-day"],
)
def test_keys_that_make_no_sense_together_are_faults(rasters, yard, toml, words):
    folder = rasters()
    text = (folder / "site.toml").read_text()
    (folder / "site.toml").write_text(text.replace(BOTH, toml))
    faults = faults_of(folder)
    assert any(words in fault for fault in faults), faults


def test_a_mere_copy_of_the_ground_is_said_to_show_nothing(rasters):
    assert "is it the ground itself" in cautions_of(rasters(ground))["surface-bare"]
    site = check_site(rasters(ground)).site
    assert not any(np.isfinite(layer.highest) for layer in surface_columns(site))


@pytest.mark.parametrize("most", [0.1e6, 0.25e6, 1e6])
def test_no_more_is_read_than_may_be(rasters, monkeypatch, most):
    monkeypatch.setattr(surface_file, "MOST_READ", most)
    monkeypatch.setattr(surface_file, "FINE", 100)
    site = read_site(rasters(margin=400, cell=1.0))
    assert sum(layer.tops.size for layer in site.surface_model.layers) < 250_000
    assert 0.5 < (site.surface_model.reach + 15) / (np.sqrt(most) / 2) < 1.05


@pytest.mark.slow
def test_a_large_raster_is_read_in_parts(rasters):
    folder = rasters(margin=1500)  # 36 million cells, of which a strip of 4 million is held in several copies
    read_site(folder)  # what is loaded once is not counted
    tracemalloc.start()
    site = read_site(folder)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert [layer.cell for layer in site.surface_model.layers] == pytest.approx([0.5, 1, 2, 4], rel=1e-3)
    assert peak < 300e6, peak
