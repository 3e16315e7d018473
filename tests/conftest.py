"""One tiny named yard for all tests, and the way to the open data that lies beside the checkout."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path

import pytest
import shapely
from shapely import LineString, Point, box

from siteplan.land.constants import Material
from siteplan.land.features import Bed, Building, Fence, Gate, MonthDay, Pile, Surface, Tap, Tree
from siteplan.land.frame import LocalFrame
from siteplan.land.layers import LayerSpec, Recipe
from siteplan.land.outline import rectangle
from siteplan.land.site import Offer, Season, Site, Stock, SunSettings
from siteplan.show import progress
from siteplan.sun import engine
from siteplan.sun.path import solar_path

CHECKOUT = Path(__file__).parents[1]
#: the files that take longest are handed out first, so that no process is left with one of them at the end; before
#: them a whole plan, which compiles nearly all there is, and for the other process what compiles nothing meanwhile
FIRST = (
    "tests/test_plan.py",
    "tests/attack/test_attack.py", "tests/files/test_adopting.py", "tests/files/test_faults.py",
    "tests/files/test_odd_numbers.py", "tests/files/test_formats.py", "tests/files/test_bad_input.py",
    "tests/files/test_schema.py", "tests/test_nothing_unused.py", "tests/test_layers.py",
)  # fmt: skip
LONGEST = (
    "tests/test_notebooks.py", "tests/attack/test_faults_of_the_machine.py", "tests/place/test_real_block.py",
    "tests/test_wheel.py", "tests/published/test_routes_visibility.py", "tests/test_sizes.py",
    "tests/test_cli.py", "tests/sun/test_degenerate.py", "tests/test_outputs.py", "tests/show/test_streams.py",
    "tests/lot/test_lot.py", "tests/show/test_tables.py", "tests/test_readme.py", "tests/test_laws.py",
    "tests/place/test_through_the_plan.py", "tests/sun/test_engine.py", "tests/sun/test_leaves.py",
    "tests/sun/test_light.py", "tests/published/test_sun_position.py", "tests/place/test_search.py",
    "tests/files/test_far_ground.py", "tests/published/test_routes_geometry.py", "tests/place/test_together.py",
)  # fmt: skip


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Put what compiles and the longest files first; all others keep their order."""
    place = {name: number for number, name in enumerate(FIRST + LONGEST)}
    items.sort(key=lambda item: place.get(item.nodeid.split("::")[0], len(place)))


@pytest.fixture(scope="session", autouse=True)
def silent_on_a_busy_machine() -> Iterator[None]:
    """Keep long work from saying how far it is: what a test takes to run is not what it asks about."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(progress, "PAUSE", 3600.0)
        yield


@pytest.fixture(scope="session", autouse=True)
def one_sky_for_each_place() -> Iterator[None]:
    """Work out the sun's path over a place once: most tests stand at 45 N and 8 E."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(engine, "sun_path", cache(solar_path.sun_path))
        yield


@pytest.fixture(scope="session")
def shared() -> Path:
    """Return the folder of open data beside the checkout; skip where it is not at hand, but never in CI."""
    folder = CHECKOUT.parent / "shared" / "data"
    if not folder.is_dir():
        if os.environ.get("CI") == "true":
            pytest.fail("CI runs without the open data beside the checkout")
        pytest.skip("the open data is not beside this checkout")
    return folder


@pytest.fixture(scope="session")
def chromium():
    """Return headless Chromium; skip where there is none, but never in CI."""
    program = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
    if program is None:
        if os.environ.get("CI") == "true":
            pytest.fail("CI runs without Chromium")
        pytest.skip("Chromium is not installed")
    playwright = pytest.importorskip("playwright.sync_api").sync_playwright().start()
    opened = playwright.chromium.launch(executable_path=program, args=["--no-sandbox"])
    yield opened
    opened.close()
    playwright.stop()


@pytest.fixture
def small_disk(tmp_path) -> Iterator[Callable[[int], Path]]:
    """Return a maker of disks with so many KiB of room, in memory; skip where this user may not mount any."""
    mounted: list[Path] = []
    mount = shutil.which("mount")

    def make(room: int, options: str = "") -> Path:
        folder = tmp_path / f"disk-{len(mounted)}"
        folder.mkdir()
        words = [mount, "-t", "tmpfs", "-o", f"size={room}k{options}", "tmpfs", str(folder)]
        if mount is None or subprocess.run(words, capture_output=True, check=False).returncode:
            pytest.skip("this user may not mount a disk")
        mounted.append(folder)
        return folder

    yield make
    for folder in mounted:
        subprocess.run(["umount", str(folder)], check=True)


REAL_BLOCK_TOML = """\
name = "A block in Delft"
features = "block.geojson"
terrain = "ground.tif"
currency = "EUR"
[season]
last_frost = "04-20"
first_frost = "10-31"
[sun]
cell = "50 cm"
step = "20 min"
[place]
count = 1
[rename.keys]
height_m = "height"
crown_radius_m = "crown_radius"
[rename.kinds]
property_boundary = "boundary"
wall = "fence"
yard = "surface:grass"
green = "surface:grass"
grass = "surface:grass"
paved = "surface:paved"
road = "surface:paved"
path = "surface:paved"
bare = "surface:soil"
shrubs = "surface:mulch"
water = "keepout:water"
"""


@pytest.fixture(scope="session")
def real_block(shared, tmp_path_factory) -> Path:
    """Return the folder of a real block in Delft, with two beds of 2.4 m by 1.2 m in the roomiest of its yards.

    152 buildings with lidar heights, 140 trees, walls and terrain (Dutch base map and AHN3, government open data, by
    way of tudelft3d/3dfier).
    """
    folder = tmp_path_factory.mktemp("delft")
    shutil.copyfile(shared / "properties" / "delft_nl_dtm_0p5m.tif", folder / "ground.tif")
    document = json.loads((shared / "properties" / "delft_nl_property.geojson").read_text())
    frame = LocalFrame(longitude=4.36664, latitude=52.01177)
    kinds = [feature["properties"]["kind"] for feature in document["features"]]
    shapes = [frame.to_local(shapely.from_geojson(json.dumps(one["geometry"]))) for one in document["features"]]
    drawn = list(zip(kinds, shapes, strict=True))
    built = shapely.union_all([shape for kind, shape in drawn if kind in {"building", "wall", "water"}])
    boundary = next(shape for kind, shape in drawn if kind == "property_boundary")
    yards = shapely.union_all([shape for kind, shape in drawn if kind == "yard"]).intersection(boundary)
    parts = shapely.get_parts(yards.difference(built))
    roomiest = max(parts, key=lambda part: shapely.maximum_inscribed_circle(part).length)
    middle = shapely.maximum_inscribed_circle(roomiest).coords[0]
    for number, south in enumerate((-1.7, 0.5), 1):
        bed = box(middle[0] - 1.2, middle[1] + south, middle[0] + 1.2, middle[1] + south + 1.2)
        geometry = json.loads(shapely.to_geojson(frame.to_lonlat(bed)))
        properties = {"kind": "bed", "height_m": 0.45}
        document["features"].append(
            {"type": "Feature", "id": f"bed-{number}", "properties": properties, "geometry": geometry}
        )
    (folder / "block.geojson").write_text(json.dumps(document))
    (folder / "site.toml").write_text(REAL_BLOCK_TOML)
    return folder


@pytest.fixture(scope="session")
def tiny_yard() -> Site:
    """Return a yard of 12 m by 10 m at 45 N: a shed in the south, a tree in the west, two beds, a fence with a gate."""
    material = {
        "coarse organic": Material(
            name="coarse organic", kind="coarse", density=187.5, density_wet=260,
            settling_first=0.16, settling_later=0.05, shovel_rate=0.5,
        ),
        "topsoil": Material(
            name="topsoil", kind="mineral", density=1250, density_wet=1560,
            settling_first=0.10, settling_later=0.03, shovel_rate=0.5,
        ),
        "compost": Material(
            name="compost", kind="organic", density=700, density_wet=980,
            settling_first=0.20, settling_later=0.08, shovel_rate=0.5,
        ),
    }  # fmt: skip
    return Site(
        name="Tiny Yard",
        frame=LocalFrame(longitude=8.0, latitude=45.0),
        timezone="Europe/Rome",
        boundary=box(-6, -5, 6, 5),
        season=Season(last_frost=MonthDay(4, 15), first_frost=MonthDay(10, 20)),
        sun=SunSettings(year=2026, cell=0.5),
        recipe=Recipe(
            layers=(
                LayerSpec(material="coarse organic", fraction=0.4),
                LayerSpec(material="topsoil", fraction=0.4),
                LayerSpec(material="compost", fraction=0.2),
            ),
            lining="cardboard",
        ),
        currency="EUR",
        stock=(Stock(material="topsoil", volume=0.3, at="heap"),),
        offers=(
            Offer(material="topsoil", price=4.0, bag=0.04),
            Offer(material="topsoil", price=40.0, loose=0.5, minimum=1.0, delivery=50.0, per_delivery=5.0),
            Offer(material="compost", price=6.0, bag=0.05),
            Offer(material="coarse organic", price=20.0, loose=0.5, delivery=30.0),
        ),
        materials=material,
        buildings=(Building(id="shed", outline=box(-1, -5, 2, -3), height=2.5),),
        trees=(
            Tree(
                id="pear", outline=Point(-4, 0).buffer(1.5), trunk=Point(-4, 0), height=5.0, crown_base=1.5,
                leaf_out=MonthDay(4, 10), leaf_fall=MonthDay(10, 27), trunk_diameter=0.15,
            ),
        ),
        fences=(Fence(id="fence", line=box(-6, -5, 6, 5).exterior, height=1.2),),
        gates=(Gate(id="gate", place=Point(5, -5), line=LineString([(4.4, -5), (5.6, -5)]), width=1.2),),
        surfaces=(Surface(id="lawn", outline=box(-6, -5, 6, 5), surface="grass"),),
        taps=(Tap(id="tap", place=Point(0.5, -2.9), hose_length=15.0),),
        piles=(Pile(id="heap", shape=Point(4.5, 3.5)), Pile(id="tip", shape=box(3.5, -4.5, 5.5, -3), drop=True)),
        beds=(
            Bed(id="north bed", outline=rectangle(0, 3, length=2.4, width=1.2, heading=90), height=0.45),
            Bed(
                id="new bed", outline=rectangle(1, 0, length=2.4, width=1.2, heading=0), height=0.45,
                proposed=True, trellis_height=1.8,
            ),
        ),
    )  # fmt: skip


@pytest.fixture(scope="module")
def yard(tmp_path_factory):
    """Return a small site on disk, quick to plan."""
    from siteplan.cli import main

    folder = tmp_path_factory.mktemp("sites") / "yard"
    assert main(["new", str(folder), "--quiet"]) == 0
    settings = (folder / "site.toml").read_text(encoding="utf-8")
    settings = re.sub(r"(?m)^cell = .*$", 'cell = "1 m"', settings)
    settings = re.sub(r"(?m)^step = .*$", 'step = "60 min"', settings)
    (folder / "site.toml").write_text(settings, encoding="utf-8")
    return folder
