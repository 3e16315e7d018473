"""What stands near a lot is cut out of any file alike, and faults of the files come all at once."""

from __future__ import annotations

import geopandas as gpd
import numpy as np
import pytest
from shapely import Point, box

from siteplan.files.drawing.nearness import BOUNDARY, OBSTACLE, Outlook, near
from siteplan.files.drawing.town import TownFiles, open_town, with_plurals
from siteplan.files.remarks import Remarks
from siteplan.files.site_toml.settings import settings_of, values_of
from siteplan.land.errors import InputError
from siteplan.screen.request import lots_of_town
from tests.towns import town


def opened(files, settings):
    remarks = Remarks()
    values = with_plurals(values_of(settings, remarks))
    found = open_town(files, settings_of(values, settings.parent, remarks), remarks)
    return found, [str(fault) for fault in remarks.faults]


def seen(drawing):
    return {
        (str(one.properties["kind"]).rstrip("s"), one.shape.wkb) for one in drawing.features if one.shape is not None
    }


@pytest.fixture(scope="module")
def wide_town(tmp_path_factory):
    """A town so wide that much of it does not matter to a lot."""
    return town(tmp_path_factory.mktemp("wide"), lots=12, buildings=700, trees=50, faults=False)


@pytest.mark.slow
def test_any_format_holds_the_same_town(wide_town, tmp_path):
    whole, faults = opened(TownFiles(wide_town / "town.gpkg"), wide_town / "site.toml")
    assert faults == []
    for suffix in ("parquet", "geojson", "fgb"):
        paths = []
        for name in ("lots", "buildings", "trees", "fences"):
            frame, path = gpd.read_file(wide_town / "town.gpkg", layer=name), tmp_path / f"{name}.{suffix}"
            if suffix == "parquet":
                frame.to_parquet(path)
            elif suffix == "geojson":  # written in its own way: ten digits of a degree are 0.01 mm
                frame.to_crs("EPSG:4326").to_file(path, driver="GeoJSON", COORDINATE_PRECISION=15)
            else:
                frame.to_file(path, driver="FlatGeobuf")
            paths.append(path)
        parted, faults = opened(TownFiles(paths[0], tuple(paths[1:])), wide_town / "site.toml")
        assert faults == []
        assert sorted(parted.ids) == sorted(whole.ids)  # FlatGeobuf puts neighbours together
        for number in range(2):
            ours = parted.drawing(parted.ids.index(whole.ids[number]))
            theirs = whole.drawing(number)
            if suffix == "geojson":
                assert abs(len(ours.features) - len(theirs.features)) <= 2  # bounds in degrees lie otherwise
            else:
                assert seen(ours) == seen(theirs)


def test_what_is_cut_out_is_what_is_near(wide_town):
    """Against looking at every feature without an index."""
    whole, _ = opened(TownFiles(wide_town / "town.gpkg"), wide_town / "site.toml")
    houses = gpd.read_file(wide_town / "town.gpkg", layer="buildings")
    (layer,) = [one for one in whole.layers if one.name == "buildings"]
    for number in range(len(whole.ids)):
        bounds = np.array(whole.shapes[number].bounds)
        every = Outlook(
            np.append(np.full(len(houses), OBSTACLE), BOUNDARY).astype(np.uint8),
            np.append(houses["roof"].to_numpy(), 0.0),
            np.vstack([houses.geometry.bounds.to_numpy(), bounds]),
        )
        matter = near(every, layer.place)[:-1]
        assert 0 < matter.sum() < len(houses)
        found = {one.shape.wkb for one in whole.drawing(number).features if one.properties["kind"] == "buildings"}
        assert found == {shape.wkb for shape in houses.geometry[matter]}


def test_beds_and_piles_belong_to_the_lot_they_lie_on(tmp_path):
    folder = town(tmp_path, lots=3, buildings=20, trees=0, faults=False)
    lots = gpd.read_file(folder / "town.gpkg", layer="lots")
    beds = [box(x, y, x + 2, y + 1) for x, y in (shape.centroid.coords[0] for shape in lots.geometry)]
    gpd.GeoDataFrame({"height": [0.4] * 3}, geometry=beds, crs=lots.crs).to_file(folder / "town.gpkg", layer="beds")
    found, _ = opened(TownFiles(folder / "town.gpkg"), folder / "site.toml")
    for number in range(3):
        own = [one.shape for one in found.drawing(number).features if one.properties["kind"] == "beds"]
        assert own == [beds[number]]


def test_all_faults_of_the_files_come_at_once(small_town, tmp_path):
    twice = gpd.GeoDataFrame({"id": ["a", "a"]}, geometry=[box(0, 0, 1, 1), box(2, 0, 3, 1)], crs="EPSG:32632")
    twice.to_file(tmp_path / "lots.gpkg", layer="lots")
    gpd.GeoDataFrame({"height": [3.0]}, geometry=[Point(9, 47)], crs="EPSG:4326").to_file(tmp_path / "trees.fgb")
    (tmp_path / "town.toml").write_text('currency = "euros"\n')
    with pytest.raises(InputError) as told:
        lots_of_town(TownFiles(tmp_path / "lots.gpkg", (tmp_path / "trees.fgb",)), tmp_path / "town.toml", ("sun",))
    said = str(told.value)
    assert "is the id of 2 lots" in said
    assert "another coordinate system" in said
    assert "ISO 4217" in said
    (tmp_path / "empty.gpkg").write_bytes(b"nothing")
    with pytest.raises(InputError) as told:
        lots_of_town(
            TownFiles(tmp_path / "lots.txt", (tmp_path / "empty.gpkg", tmp_path / "none.fgb")),
            small_town / "site.toml",
            ("sun",),
        )
    assert "lots.txt: must be a file of" in str(told.value)
    assert "empty.gpkg: is not what its name says" in str(told.value)
    assert "none.fgb: is not there" in str(told.value)


def test_lots_without_ids_have_their_numbers(tmp_path):
    frame = gpd.GeoDataFrame({"id": [None, 7.0]}, geometry=[box(0, 0, 9, 9), box(20, 0, 29, 9)], crs="EPSG:32632")
    frame.to_file(tmp_path / "some.gpkg")
    (tmp_path / "site.toml").write_text('currency = "EUR"\n')
    found, faults = opened(TownFiles(tmp_path / "some.gpkg"), tmp_path / "site.toml")
    assert (found.ids, faults) == (["1", "7"], [])
