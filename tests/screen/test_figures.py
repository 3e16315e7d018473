"""Many lots in one run: the figures of their rows are those of the plans of the lots alone."""

from __future__ import annotations

import json
import shutil

import geopandas as gpd
import numpy as np
import pytest

import siteplan
from siteplan.files.drawing.town import TownFiles
from siteplan.screen.asked import lots_of_folders, lots_of_town
from siteplan.screen.planner import Limits
from siteplan.screen.run import screen
from siteplan.screen.sites import LotSites
from tests.screen.engines import Here

pytestmark = pytest.mark.slow

AT_FAULT = {
    1: "crosses itself", 2: "no geometry", 3: "2 parts", 4: "0.16 m2",
}  # fmt: skip


@pytest.fixture(scope="module")
def first(small_town, tmp_path_factory):
    """The town once through, whose figures the other tests compare with."""
    out = tmp_path_factory.mktemp("out") / "screened"
    lots = lots_of_town(TownFiles(small_town / "town.gpkg"), small_town / "site.toml", ("sun", "place"))
    engine = Here()
    return out, engine, screen(lots, out, engine=engine, limits=Limits())


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
    asked = lots_of(small_town).asked
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


def test_a_town_is_cut_out_as_the_reader_of_one_property_does(small_town, tmp_path, monkeypatch, lots_of):
    """`siteplan plan` on the lot alone, with all layers in its own file, has the same figures."""
    from siteplan.files.drawing import vector

    monkeypatch.setattr(vector, "MANY", 10)  # so that it is sifted by what is near
    lots = lots_of(small_town)
    sites = LotSites(lots.asked)
    number = 6
    site, _ = sites.site(sites.lot(number))
    folder = tmp_path / "alone"
    folder.mkdir()
    layers = {
        name: gpd.read_file(small_town / "town.gpkg", layer=name) for name in ("lots", "buildings", "trees", "fences")
    }
    layers["lots"] = layers["lots"].iloc[[number]]
    layers["buildings"] = layers["buildings"].dropna(subset="roof")
    layers["trees"] = layers["trees"].dropna(subset="crown_diameter")
    kinds = {"lots": "boundary", "buildings": "building", "trees": "tree", "fences": "fence"}
    for name, layer in layers.items():
        ids = (
            layer.iloc[:, 0].astype(str)
            if name in {"lots", "buildings"}
            else [f"{name} {n}" for n in range(len(layer))]
        )
        layer.assign(id=ids).to_file(folder / "all.gpkg", layer=kinds[name], driver="GPKG")
    settings = (small_town / "site.toml").read_text().replace('plot = "id"\n', "").replace('no = "id"\n', "")
    (folder / "site.toml").write_text(settings.replace("[season]", 'features = "all.gpkg"\n[season]'))
    alone = siteplan.read_site(folder)
    assert len(alone.buildings) == len(site.buildings)
    ours, theirs = (siteplan.plan_site(one, ask=["place"]).places.places[0] for one in (site, alone))
    assert (ours.season_sun_h, ours.worst_cell_sun_h, ours.merit) == (
        theirs.season_sun_h,
        theirs.worst_cell_sun_h,
        theirs.merit,
    )
