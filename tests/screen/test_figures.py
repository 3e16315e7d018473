"""Many lots in one run: the figures of their rows are those of the plans of the lots alone."""

from __future__ import annotations

import dataclasses
import json
import shutil
from dataclasses import dataclass
from random import Random

import geopandas as gpd
import numpy as np
import pytest
from shapely import box

import siteplan
from siteplan.cli import main
from siteplan.files.drawing import vector
from siteplan.files.drawing.town import TownFiles
from siteplan.screen.options import QUESTIONS
from siteplan.screen.planner import Limits, Task
from siteplan.screen.request import lots_of_folders, lots_of_town
from siteplan.screen.run import screen
from siteplan.screen.sites import LotSites
from tests.known import known
from tests.screen.engines import Here
from tests.towns import town

pytestmark = pytest.mark.slow

AT_FAULT = {
    1: "crosses itself", 2: "no geometry", 3: "2 parts", 4: "0.16 m2",
}  # fmt: skip


@pytest.fixture
def first(planned_town):
    """The folder, the engine and the result of the town once through."""
    return planned_town[1:]


def test_a_lot_at_fault_says_why_and_stops_no_other(first):
    _, _, found = first
    for number, words in AT_FAULT.items():
        assert found.rows[number]["status"] == "fault"
        assert words in found.rows[number]["why"]
    others = [row["status"] for number, row in enumerate(found.rows) if number not in AT_FAULT]
    assert "planned" in others
    assert set(others) <= {"planned", "no place"}


def test_what_stands_there_with_a_fault_is_left_out_and_told(first):
    _, _, found = first
    for row in found.rows:
        if row["status"] == "planned":
            assert "height is missing" in row["caution_words"]
            assert "with its shade" in row["caution_words"]


def test_a_row_is_what_the_plan_of_its_lot_says(first, small_town, lots_of):
    _, _, found = first
    asked = lots_of(small_town).request
    sites, compared = LotSites(asked), 0
    for number, row in enumerate(found.rows):
        if row["status"] != "planned":
            continue
        site, _ = sites.site(sites.lot(number))
        plan = siteplan.plan_site(site, ask=["sun", "place"])
        best = plan.document()["places"][0]
        assert row["place_season_sun_h"] == best["season_sun_h"]
        assert row["place_worst_cell_sun_h"] == best["worst_cell_sun_h"]
        assert row["place_jun_sun_h"] == best["month_sun_h"][5]
        assert row["place_merit"] == best["merit"]
        hours = plan.maps.season_h
        assert row["ground_6h_m2"] == (hours >= 6).sum() * plan.maps.grid.cell**2
        assert row["mean_season_sun_h"] == hours[np.isfinite(hours)].mean()
        compared += 1
    assert compared >= 3


def test_the_whole_plans_of_the_best_are_written_once(first, small_town, screened, tmp_path):
    out = tmp_path / "out"
    shutil.copytree(first[0], out)
    engine, found = screened(small_town, out, ask=("sun", "place"), plans="best 1", kind=Here)
    best = max((row for row in found.rows if row["status"] == "planned"), key=lambda row: row["place_merit"])
    assert engine.planned == [found.ids.index(best["lot"])]
    document = json.loads((out / best["plan"] / "plan.json").read_text())
    assert document["places"][0]["season_sun_h"] == pytest.approx(best["place_season_sun_h"], abs=0.02)
    assert [bed["id"] for bed in document["beds"]] == ["bed-1"]
    again, _ = screened(small_town, out, ask=("sun", "place"), plans="best 1", kind=Here)
    assert again.looked_at == []


def test_the_whole_plans_come_with_the_first_command_in_a_new_folder(tmp_path, capsys):
    """Two sound lots, by processes of their own as on the command line; then the same without plans."""
    folder = town(tmp_path / "town", lots=2, buildings=4, trees=2, cell=200, faults=False)
    words = ["screen", str(folder / "town.gpkg"), "--out", str(tmp_path / "out"), "--processes", "1", "--json"]
    for plans in ("all", "none"):
        assert main([*words, "--plans", plans]) == 0
        rows = json.loads(capsys.readouterr().out)["lots"]
        assert [row["plan"] for row in rows] == ["plans/00001-L00001", "plans/00002-L00004"]
        assert all((tmp_path / "out" / row["plan"] / "report.html").is_file() for row in rows)


def test_a_site_folder_has_the_cost_and_the_work_of_its_own_beds(demo_folder_coarse, tmp_path):
    bad = tmp_path / "bad"
    bad.mkdir()
    (bad / "site.toml").write_text("name = 5\n")
    lots = lots_of_folders([demo_folder_coarse, bad], ("fill", "haul"))
    found = screen(lots, tmp_path / "out", engine=Here(), limits=Limits())
    plan = siteplan.plan_site(siteplan.read_site(demo_folder_coarse), ask=["fill", "haul"])
    row = found.rows[0]
    assert row["cost"] == pytest.approx((plan.fill.price or 0) + (plan.walls.price or 0), abs=1e-9)
    assert row["work_h"] == plan.haul.total_minutes / 60
    assert row["beds_drawn"] == 3
    assert found.rows[1]["status"] == "fault"
    assert "name" in found.rows[1]["why"]


@pytest.fixture
def demo_folder_coarse(tmp_path):
    from siteplan.files.demo import write_demo

    folder = write_demo(tmp_path / "demo")
    text = (folder / "site.toml").read_text(encoding="utf-8")
    (folder / "site.toml").write_text(text.replace('cell = "25 cm"', 'cell = "1 m"'), encoding="utf-8")
    return folder


@dataclass(frozen=True)
class Alone:
    """A town's files, from which one lot with all layers becomes a site folder of its own."""

    settings: str
    lots: gpd.GeoDataFrame
    layers: dict[str, gpd.GeoDataFrame]

    def site(self, folder, number):
        folder.mkdir()
        for kind, layer in {"boundary": self.lots.iloc[[number]], **self.layers}.items():
            named = layer.assign(id=[f"{kind} {row}" for row in range(len(layer))])
            named.to_file(folder / "all.gpkg", layer=kind, driver="GPKG")
        (folder / "site.toml").write_text(f'features = "all.gpkg"\n{self.settings}', encoding="utf-8")
        return siteplan.read_site(folder)


def compared(rows, alone, numbers, tmp_path, *, ranges=False):
    """Compare rows figure by figure with `siteplan plan` on each lot alone; return how many have a place.

    A row has no ranges, which are most of a plan's work among so many houses: here figures are exact, unless asked.
    """
    for number in numbers:
        row = rows[number]
        site = alone.site(tmp_path / f"lot-{number}", number)
        site = site if ranges else known(site)
        plan = siteplan.plan_site(site, ask=["sun", "place"])
        places, hours, cell = plan.document()["places"], plan.maps.season_h, plan.maps.grid.cell
        on_the_lot = hours[np.isfinite(hours)]
        assert row["lot_m2"] == site.boundary.area
        assert row["mean_season_sun_h"] == on_the_lot.mean()
        assert (row["ground_6h_m2"], row["ground_8h_m2"]) == (
            (on_the_lot >= 6).sum() * cell**2,
            (on_the_lot >= 8).sum() * cell**2,
        )
        if not places:
            assert row["status"] == "no place"
            continue
        best = places[0]
        for ours, theirs in (("season_sun_h",) * 2, ("worst_cell_sun_h",) * 2, ("merit",) * 2, ("heading_deg",) * 2):
            assert row[f"place_{ours}"] == best[theirs], ours
        assert [row[f"place_{month}_sun_h"] for month in ("jan", "jul", "dec")] == [
            best["month_sun_h"][k] for k in (0, 6, 11)
        ]
        bed = dataclasses.replace(plan.places.bed_at(plan.places.places[0]), id="bed-1", proposed=True)
        work = siteplan.plan_site(dataclasses.replace(site, beds=(bed,)), ask=["fill", "haul"])
        prices = [price for price in (work.fill.price, work.walls.price) if price is not None]
        assert row["cost"] == (sum(prices) if prices else None)
        assert row["work_h"] == work.haul.total_minutes / 60
        assert row["trips"] == work.haul.trips
    return sum(rows[number]["status"] == "planned" for number in numbers)


def test_lots_at_random_have_the_figures_of_their_plans_alone(tmp_path, monkeypatch):
    assert compared_at_random(2, tmp_path, monkeypatch) >= 1  # of twenty, with their ranges: tests/bench


def compared_at_random(count, tmp_path, monkeypatch, *, ranges=False):
    """Compare some lots of a town with the plans of each alone; return how many have a place."""
    monkeypatch.setattr(vector, "MANY", 10)  # so that the reader of one property, too, leaves out what is far
    folder = town(tmp_path / "town", lots=40, buildings=160, trees=60, cell=100, faults=False)
    layers = {
        name: gpd.read_file(folder / "town.gpkg", layer=name) for name in ("lots", "buildings", "trees", "fences")
    }
    kinds = {"buildings": "building", "trees": "tree", "fences": "fence"}
    settings = (
        (folder / "site.toml").read_text(encoding="utf-8").replace('plot = "id"\n', "").replace('no = "id"\n', "")
    )
    alone = Alone(settings, layers["lots"], {kind: layers[name] for name, kind in kinds.items()})
    numbers = sorted(Random(1).sample(range(40), count))  # noqa: S311
    lots = lots_of_town(TownFiles(folder / "town.gpkg"), folder / "site.toml", QUESTIONS)
    rows = planned(lots, numbers)
    return compared(rows, alone, numbers, tmp_path, ranges=ranges)


def planned(lots, numbers):
    """Return the rows of some lots."""
    engine = Here()
    tasks = iter([Task(number) for number in numbers])
    return {outcome.number: outcome.row for outcome in engine(lots.request, Limits(), tasks)}


def test_lots_among_real_buildings(shared, tmp_path, monkeypatch):
    """Buildings of Suzhou with their storeys; the lots are free ground among them, drawn at random."""
    monkeypatch.setattr(vector, "MANY", 10)
    file = shared / "scale" / "suzhou_cn_3076_buildings.geojson"
    houses = gpd.read_file(file).to_crs("EPSG:32651")
    chance, found = Random(2), []  # noqa: S311
    west, south, east, north = houses.total_bounds
    while len(found) < 2:
        x, y = chance.uniform(west, east), chance.uniform(south, north)
        lot = box(x, y, x + 14, y + 22)
        if not houses.intersects(lot.buffer(1)).any() and houses.distance(lot).min() < 15:
            found.append(lot)
    gpd.GeoDataFrame(geometry=found, crs=houses.crs).to_crs("EPSG:4326").to_file(tmp_path / "lots.gpkg", layer="lots")
    settings = (
        'currency = "CNY"\n[sun]\nyear = 2026\ncell = "1 m"\n[place]\ncount = 1\n[rename.keys]\nheight_m = "height"\n'
    )
    (tmp_path / "site.toml").write_text(settings, encoding="utf-8")
    lots = lots_of_town(TownFiles(tmp_path / "lots.gpkg", (file,)), tmp_path / "site.toml", QUESTIONS)
    rows = planned(lots, range(2))
    layer = gpd.read_file(file).drop(columns=["kind", "id"])
    alone = Alone(settings, gpd.read_file(tmp_path / "lots.gpkg"), {"building": layer})
    assert compared(rows, alone, range(2), tmp_path) >= 1


def test_the_fill_alone_of_a_lot_without_beds_is_that_of_a_bed_at_its_best_place(tmp_path):
    """It costs what it costs when the place is asked too. A lot too narrow for a bed says why it has no cost."""
    folder = town(tmp_path / "town", lots=1, buildings=2, trees=2, cell=200, faults=False)
    files = TownFiles(folder / "town.gpkg")
    rows = [planned(lots_of_town(files, folder / "site.toml", ask), [0])[0] for ask in (("fill",), ("place", "fill"))]
    assert rows[0]["cost"] > 0
    assert rows[0] == rows[1]
    settings = folder / "site.toml"
    settings.write_text(settings.read_text().replace('length = "2.4 m"', 'length = "80 m"'))
    row = planned(lots_of_town(files, settings, ("fill",)), [0])[0]
    assert row["status"] == "no place"
    assert row["why"]
    assert row.get("cost") is None
