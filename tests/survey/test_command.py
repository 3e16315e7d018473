"""Does `siteplan heights` find what stands, write it beside the site, and change nothing that is drawn?"""

from __future__ import annotations

import datetime as dt
import json

import numpy as np
import pytest
import rasterio
import shapely
from shapely import affinity

from siteplan.cli import main
from siteplan.survey import find_heights
from tests.heights.scene import small_scene
from tests.survey.conftest import FRAME, write_tile


def proposals(site):
    document = json.loads((site / "heights" / "proposals.geojson").read_text(encoding="utf-8"))
    return {one["id"]: one for one in document["features"]}


def local(feature):
    """Return a proposal's shape where the scene has it."""
    shape = FRAME.to_local(shapely.from_geojson(json.dumps(feature["geometry"])))
    return affinity.translate(shape, 30, 30)


def test_a_tile_becomes_proposals_and_a_terrain(site, tile, capsys):
    before = {path.name: path.read_bytes() for path in site.iterdir()}
    assert main(["heights", str(site), str(tile)]) == 0
    said = capsys.readouterr().out
    assert {path.name: path.read_bytes() for path in site.iterdir() if path.is_file()} == before
    found = proposals(site)
    house, oak = found["house"]["properties"], found["oak"]["properties"]
    assert house["drawn"] is True
    assert float(house["height"].split(" m")[0]) == pytest.approx(7.5, abs=0.3)
    assert float(house["eaves"].split(" m")[0]) == pytest.approx(3.5, abs=0.5)
    assert house["ridge_heading"] == pytest.approx(90, abs=2)
    assert float(oak["height"].split(" m")[0]) == pytest.approx(12, abs=0.4)
    assert float(oak["crown_base"].split(" m")[0]) == pytest.approx(3, abs=1.2)
    assert oak["points"] > 100
    assert "points." in oak["says"]
    assert "(new)" in said
    assert "nothing that is drawn has changed" in " ".join(said.split())
    assert 'terrain = "heights/terrain.tif"' in " ".join(said.split())
    new = {name: one for name, one in found.items() if not one["properties"]["drawn"]}
    cone = min(new.values(), key=lambda one: local(one).distance(shapely.Point(30, 48)))
    assert cone["properties"]["kind"] == "tree"
    assert 6.4 < float(cone["properties"]["height"].split(" m")[0]) < 8
    assert {one["properties"]["kind"] for one in new.values()} == {"tree", "hedge"}
    with rasterio.open(site / "heights" / "terrain.tif") as raster:
        assert raster.res == (0.5, 0.5)
        read = next(raster.sample([(0.0, 0.0)]))[0]
    assert read == pytest.approx(small_scene().ground(30, 30) + 180, abs=0.1)


@pytest.mark.slow
def test_the_same_run_writes_the_same_bytes(site, tile, capsys):
    files = []
    for out in ("one", "two"):
        assert main(["heights", str(site), str(tile), "--out", str(site.parent / out)]) == 0
        assert f'terrain = "../{out}/terrain.tif"' in " ".join(capsys.readouterr().out.split())
        files.append([(site.parent / out / name).read_bytes() for name in ("proposals.geojson", "terrain.tif")])
    assert files[0] == files[1]


def test_classes_may_be_left_out(site, tile, capsys):
    assert main(["heights", str(site), str(tile), "--unclassified", "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    heights = {one["id"]: one["properties"]["height"] for one in document["features"]}
    assert float(heights["house"].split(" m")[0]) == pytest.approx(7.5, abs=0.4)
    assert float(heights["oak"].split(" m")[0]) == pytest.approx(12, abs=0.4)


def test_a_pair_of_rasters_does_too(site, pair):
    result = find_heights(site, pair[::-1])
    by_id = {one.id: one for one in result.proposals}
    assert by_id["house"].figure("height").value == pytest.approx(7.5, abs=0.3)
    assert by_id["oak"].figure("height").value == pytest.approx(12, abs=0.4)
    assert by_id["oak"].figure("transmittance_bare") is None  # no pulse tells
    assert result.source == "rasters of surface and ground, day unknown"


def test_the_day_of_the_flight_is_told(site, flight, tmp_path):
    seconds = (dt.date(2021, 7, 3) - dt.date(1980, 1, 6)).days * 86_400 - 1e9
    timed = write_tile(tmp_path / "timed.laz", flight, gps=(seconds, seconds + 600))
    result = find_heights(site, [timed])
    assert result.source == "laser survey of 2021-07"
    assert result.leafy is True
    oak = next(one for one in result.proposals if one.id == "oak")
    assert oak.figure("transmittance_leafy") is not None
    assert oak.figure("transmittance_bare") is None
    dated = write_tile(tmp_path / "dated.laz", flight, made=dt.date(2016, 2, 10))
    result = find_heights(site, [dated])
    assert (result.source, result.leafy) == ("laser survey, file of 2016-02", False)


@pytest.mark.slow
def test_heights_in_feet_are_read_as_the_gardener_says(site, flight, tmp_path):
    feet = write_tile(tmp_path / "feet.laz", flight, feet=1 / 0.3048)
    result = find_heights(site, [feet], z_unit="ft")
    house = next(one for one in result.proposals if one.id == "house")
    assert house.figure("height").value == pytest.approx(7.5, abs=0.3)


@pytest.mark.slow
def test_several_tiles_are_one_survey(site, flight, tmp_path):
    west = flight.x < 28
    tiles = [
        write_tile(tmp_path / f"{number}.laz", flight.subset(part), version=version)
        for number, (part, version) in enumerate(((west, "1.4"), (~west, "1.2")))
    ]
    result = find_heights(site, tiles)
    house = next(one for one in result.proposals if one.id == "house")
    assert house.figure("height").value == pytest.approx(7.5, abs=0.3)


@pytest.mark.slow
def test_a_bird_is_left_out_and_told(site, flight, tmp_path, capsys):
    bird = np.zeros(len(flight), dtype=bool)
    bird[0] = True
    high = flight.z + np.where(bird, 60.0, 0.0)
    tile = write_tile(
        tmp_path / "bird.laz", type(flight)(flight.x, flight.y, high, flight.kind, flight.last, flight.several)
    )
    assert main(["heights", str(site), str(tile)]) == 0
    assert "1 points that hang alone in the air" in capsys.readouterr().out
    heights = [float(one["properties"]["height"].split(" m")[0]) for one in proposals(site).values()]
    assert max(heights) < 13


@pytest.mark.slow
def test_an_edited_file_of_proposals_is_kept(site, tile):
    assert main(["heights", str(site), str(tile), "--quiet"]) == 0
    file = site / "heights" / "proposals.geojson"
    file.write_text(file.read_text(encoding="utf-8") + "\n", encoding="utf-8")
    assert main(["heights", str(site), str(tile), "--quiet", "--unclassified"]) == 0
    assert len(list((site / "heights").glob("proposals (yours*"))) == 1
