"""The whole job on the demo: the story that it tells, and the contract of what a plan writes."""

from __future__ import annotations

import json
import pickle

import geopandas
import numpy as np
import pandas as pd
import pytest
import rasterio

from siteplan import InputError, plan_site, read_site
from siteplan.files.demo import write_demo

FILES = {
    "plan.json", "sun_hours.tif", "light.tif", "plan.gpkg", "map.html", "report.html", "shopping.csv", "loads.csv",
    "sun.csv", "tiers.csv",
    "places.csv", "headings.csv",
}  # fmt: skip


@pytest.fixture(scope="module")
def site(tmp_path_factory):
    """Return the demo on cells of 50 cm and half-hour steps, which is quicker."""
    folder = tmp_path_factory.mktemp("demo") / "yard"
    write_demo(folder)
    settings = (folder / "site.toml").read_text(encoding="utf-8")
    settings = settings.replace('cell = "25 cm"', 'cell = "50 cm"').replace('step = "10 min"', 'step = "30 min"')
    (folder / "site.toml").write_text(settings, encoding="utf-8")
    return read_site(folder)


@pytest.fixture(scope="module")
def plan(site):
    return plan_site(site)


@pytest.fixture(scope="module")
def written(plan, tmp_path_factory):
    return plan.write(tmp_path_factory.mktemp("out") / "plan")


def by_id(plan, name):
    return next(report for report in plan.beds if report.bed.id == name)


def test_the_demo_reads_without_a_caution(site):
    assert site.cautions == ()


def test_the_obvious_spot_is_not_the_best_one(plan):
    obvious, best = by_id(plan, "new-bed"), plan.places.places[0]
    assert obvious.sun.season_sun_h > plan.site.sun.need  # it would do
    assert best.season_sun_h > obvious.sun.season_sun_h + 2
    assert best.worst_cell_sun_h > obvious.sun.worst_cell_sun_h + 2


def test_turning_changes_nothing_where_moving_does(plan):
    obvious = by_id(plan, "new-bed")
    assert "no difference" in plan.turning("new-bed")[0]
    assert obvious.headings.orientation_score == pytest.approx(100, abs=1)
    assert obvious.shifts.best.gain_h > 1


def test_a_plan_says_why_and_refuses_what_is_not_there(plan):
    assert "h of sun a day over the season" in plan.why(1)[0]
    assert any(
        "trips with the barrow from the nearer of drive-drop and kerb-drop" in sentence for sentence in plan.why(2)
    )
    for asked in (lambda: plan.why(9), lambda: plan.turning("no such bed")):
        with pytest.raises(KeyError):
            asked()


def test_places_do_not_overlap_and_lie_on_the_property(plan):
    outlines = [place.outline for place in plan.places.places]
    assert len(outlines) == 3
    assert all(plan.site.boundary.contains(outline) for outline in outlines)
    assert all(not one.intersects(two) for at, one in enumerate(outlines) for two in outlines[:at])


def test_every_load_arrives(plan):
    brought: dict[tuple[str, str], float] = {}
    for load in plan.haul.loads:
        brought[load.bed, load.material] = brought.get((load.bed, load.material), 0) + load.volume
    for layer in plan.fill.layers:
        assert brought[layer.bed, layer.material] == pytest.approx(layer.volume, rel=2e-3)  # a thousandth may lack


def test_a_full_bed_gets_nothing(plan):
    assert "herb-bed" not in {layer.bed for layer in plan.fill.layers}
    assert "herb-bed" not in {load.bed for load in plan.haul.loads}
    assert "herb-bed" in {report.bed.id for report in plan.beds}


def test_the_folder_holds_what_the_contract_names(written):
    assert {path.name for path in written.iterdir()} - {".siteplan"} == FILES


def test_plan_json_holds_what_the_contract_names(written):
    document = json.loads((written / "plan.json").read_text(encoding="utf-8"))
    assert document["schema"]
    bed = next(bed for bed in document["beds"] if bed["id"] == "new-bed")
    assert set(bed) >= {
        "id", "centroid_lon", "centroid_lat", "area_m2", "heading_deg", "month_sun_h", "season_sun_h",
        "worst_cell_sun_h", "light_class", "sun_score", "orientation_score", "best_heading_deg", "fill", "loads",
    }  # fmt: skip
    assert len(bed["month_sun_h"]) == 12
    assert bed["area_m2"] == pytest.approx(32 * 0.09290304, rel=1e-6)  # 4 ft by 8 ft
    assert bed["heading_deg"] == pytest.approx(12, abs=0.01)  # the plan's bearing; the frame is centred elsewhere
    for place in document["places"]:
        assert set(place) >= {
            "rank", "centroid_lon", "centroid_lat", "heading_deg", "length_m", "width_m", "season_sun_h", "why",
        }  # fmt: skip
    assert set(document["fill"]) >= {"layers", "on_hand", "purchase", "total_cost", "alternatives"}
    assert set(document["fill"]["layers"][0]) >= {"bed", "material", "volume_m3", "mass_kg"}
    assert set(document["fill"]["purchase"][0]) >= {"material", "offer", "count", "cost"}
    assert set(document["haul"]) >= {"routes", "loads", "total_minutes"}
    assert set(document["haul"]["routes"][0]) >= {"from", "to", "length_m", "climb_m", "geometry"}
    assert set(document["haul"]["loads"][0]) >= {"bed", "material", "from", "trips", "minutes"}
    assert all(set(warning) == {"code", "feature", "text"} for warning in document["warnings"])


def test_sun_hours_lie_in_the_frame_with_a_band_a_month(plan, written):
    with rasterio.open(written / "sun_hours.tif") as raster:
        assert raster.count == 13
        assert raster.dtypes[0] == "float32"
        assert raster.descriptions[4].startswith("May")
        assert "season" in raster.descriptions[12].lower()
        bands = raster.read()
        row, column = raster.index(*by_id(plan, "long-bed").bed.outline.centroid.coords[0])
    assert bands[12, row, column] == pytest.approx(by_id(plan, "long-bed").sun.season_sun_h, abs=0.3)
    assert np.isnan(bands[:, 0, 0]).all()  # the lot is turned: the corner of the raster lies outside
    lit = bands[12][np.isfinite(bands[12])]
    assert lit.min() >= 0
    assert lit.max() < 16


def test_the_geopackage_holds_the_layers_in_place(site, written):
    names = set(geopandas.list_layers(written / "plan.gpkg")["name"])
    assert names >= {"beds", "places", "routes", "piles", "features"}
    beds = geopandas.read_file(written / "plan.gpkg", layer="beds").to_crs(site.frame.crs)
    assert beds.geometry.area.sum() == pytest.approx(sum(bed.outline.area for bed in site.beds), rel=1e-6)


def test_the_tables_open_in_a_spreadsheet(plan, written):
    shopping = pd.read_csv(written / "shopping.csv")
    assert shopping["cost"].sum() == pytest.approx(plan.fill.total_cost + plan.walls.price)
    assert pd.read_csv(written / "loads.csv")["trips"].sum() == plan.haul.trips
    assert pd.read_csv(written / "sun.csv")["bed"].tolist() == [bed.id for bed in plan.site.beds]


def test_the_answers_are_tables_and_layers(plan):
    tables = plan.tables()
    assert plan.sun_table()["bed"].tolist() == [bed.id for bed in plan.site.beds]
    assert len(tables["places"]) == 3
    assert tables["layers"]["volume_m3"].sum() == pytest.approx(sum(layer.volume for layer in plan.fill.layers))
    assert all(layer.crs.to_epsg() == 4326 for layer in plan.layers().values())


def test_a_plan_can_be_pickled(plan):
    again = pickle.loads(pickle.dumps(plan))  # noqa: S301  # our own bytes
    assert again.document() == plan.document()
    assert repr(again) == repr(plan)


def test_half_hours_are_told_of_a_bed_that_is_asked_about_alone(tiny_yard):
    several = plan_site(tiny_yard, ask=["sun"]).beds
    assert [report.lit is None for report in several] == [True, True]
    (alone,) = plan_site(tiny_yard, ask=["sun"], bed_ids=[several[0].bed.id]).beds
    assert alone.lit is not None
    assert alone.lit.shape == (12, 48)


def test_progress_is_told_to_a_callable_or_on_stderr(tiny_yard, capsys):
    told = []
    plan_site(tiny_yard, ask=["sun"], progress=lambda question, share: told.append((question, share)))
    assert {question for question, _ in told} >= {"sun"}
    assert all(0 <= share <= 1 for _, share in told)
    assert told[-1][1] == 1
    assert capsys.readouterr().err == ""
    plan_site(tiny_yard, ask=["place"], progress=True)
    shown = capsys.readouterr().err
    assert "searching places 100%" in shown
    assert "finding the ranges 100%" in shown
    assert shown.rsplit("\r", 2)[1].strip() == ""  # the line is wiped in the end
    assert "\n" not in shown
    plan_site(tiny_yard, ask=["fill"], progress=False)
    with pytest.raises(InputError, match="progress: it is 5, must be True"):
        plan_site(tiny_yard, ask=["fill"], progress=5)
