"""Is of a drawing of thousands of features what matters read, and all that matters?"""

from __future__ import annotations

import json
import math

import geopandas as gpd
import numpy as np
import pytest
import shapely
from pyproj import CRS

from siteplan.files.drawing import vector
from siteplan.files.drawing.nearness import LOWEST_SUN, MANY, OBSTACLE, Outlook, Place, Roles, near, place_of, reach
from siteplan.files.reader import check_site, read_site
from siteplan.files.remarks import Remarks
from siteplan.files.site_toml.settings import settings_of
from tests import sizes

TOWN = MANY + 500


@pytest.fixture(scope="module")
def town(tmp_path_factory):
    return sizes.town(tmp_path_factory.mktemp("sizes") / "town", TOWN, near=40)


def changed(folder, to, change):
    """Return a copy of a site whose drawing is changed."""
    to.mkdir()
    document = json.loads((folder / "features.geojson").read_text())
    change(document)
    (to / "features.geojson").write_text(json.dumps(document))
    (to / "site.toml").write_text((folder / "site.toml").read_text())
    return to


def left_out(site):
    return [caution.text for caution in site.cautions if caution.code == "left-out"]


def test_what_cannot_matter_is_left_out_and_told(town):
    site = read_site(town)
    assert len(site.buildings) == 40
    assert [bed.id for bed in site.beds] == ["bed"]
    (text,) = left_out(site)
    assert text.startswith(f"{TOWN - 40:,} of its {TOWN + 3:,} features are left out: ")


def test_what_is_read_is_what_reading_all_gives(town, monkeypatch):
    some = read_site(town)
    monkeypatch.setattr(vector, "MANY", 10**9)
    every = read_site(town)
    assert len(every.buildings) == TOWN
    assert {one.id: one.outline for one in some.buildings}.items() <= {
        one.id: one.outline for one in every.buildings
    }.items()
    assert some.boundary == every.boundary
    for building in every.buildings[40:]:  # by hand: seen from the boundary its top is below the lowest sun
        away = building.outline.distance(every.boundary)
        assert math.degrees(math.atan(building.height / away)) < LOWEST_SUN


def test_each_height_has_its_reach():
    # a top of 10 m is seen half a degree high from 10 m / tan(0.5 deg) = 1145.9 m; a crown may stand out by 50 m
    assert reach(10) == pytest.approx(1145.9 + 50, abs=0.1)
    east = np.array([0, 1100, 1100, 1300, 1300])
    bounds = np.column_stack([east, np.zeros(5), east + 1, np.ones(5)]).astype(float)
    role = np.array([0, *[OBSTACLE] * 4], dtype=np.uint8)
    seen = Outlook(role, np.array([0.0, 10, 2, 10, 30]), bounds)
    assert near(seen, Place(metres_per_unit=1.0)).tolist() == [True, True, False, False, True]


@pytest.mark.parametrize("suffix", ["gpkg", "fgb"])
@pytest.mark.parametrize("system", [4326, 2056, 3857])
def test_layers_give_the_same_as_geojson(town, tmp_path, suffix, system):
    drawn = gpd.read_file(town / "features.geojson").to_crs(system)
    drawn.to_file(tmp_path / f"town.{suffix}")
    settings = (town / "site.toml").read_text().replace("features.geojson", f"town.{suffix}")
    (tmp_path / "site.toml").write_text(settings)
    site, other = read_site(tmp_path), read_site(town)
    assert left_out(site) == left_out(other)
    here, there = (
        sorted(one.buildings, key=lambda drawn: (drawn.height, drawn.outline.area)) for one in (site, other)
    )
    assert [one.height for one in here] == [one.height for one in there]
    pairs = zip(here, there, strict=True)  # a FlatGeobuf is sorted by place
    assert max(shapely.hausdorff_distance(one.outline, same.outline) for one, same in pairs) < 0.01


def test_faults_near_by_and_of_beds_far_off_are_told(town, tmp_path):
    def change(document):
        features = document["features"]
        del features[5]["properties"]["height"]  # near by
        del features[-1]["properties"]["height"]  # far off
        far = json.loads(json.dumps(features[2]))
        far["id"], far["geometry"] = "far bed", features[-2]["geometry"]
        features.append(far)

    faults = "\n".join(map(str, check_site(changed(town, tmp_path / "faulty", change)).faults))
    assert faults.count("height is missing") == 1
    assert 'bed "far bed": lies outside the boundary' in faults


def test_heights_are_read_in_any_unit_and_under_any_name(town, tmp_path):
    def change(document):
        for feature in document["features"]:
            if feature["properties"]["kind"] != "building":
                continue
            height = feature["properties"].pop("height")
            feature["properties"] |= {"kind": "house", "tall": f"{height / 0.3048:.4f} ft"}
        document["features"][-1]["properties"]["tall"] = "490 m"  # seen from 56 km

    folder = changed(town, tmp_path / "renamed", change)
    words = '[rename.keys]\ntall = "height"\n[rename.kinds]\nhouse = "building"\n'
    (folder / "site.toml").write_text((folder / "site.toml").read_text() + words)
    assert len(read_site(folder).buildings) == 41


def test_a_height_without_a_unit_is_in_the_unit_of_the_drawing(town, tmp_path):
    # 1,219 m to the east: a top of 20 ft, 6.1 m, matters out to 6.1 m / tan(0.5 deg) + 50 m = 749 m (20 m would out to
    # 2,342 m), one of 70 ft, 21.3 m, out to 2,495 m
    def box(kind, west, south, size, **given):
        corners = [[west, south], [west + size, south], [west + size, south + size], [west, south + size]]
        shape = {"type": "Polygon", "coordinates": [[*corners, corners[0]]]}
        return {"type": "Feature", "properties": {"kind": kind, **given}, "geometry": shape}

    def change(document):
        low = [box("building", 4000 + 10 * (at % 70), 10 * (at // 70), 8, height=20) for at in range(MANY)]
        own = [
            box("boundary", 0, 0, 60),
            box("pile", 10, 10, 5) | {"id": "heap"},
            box("building", 4000, -50, 8, height=70),
        ]
        document["features"] = [*own, *low]

    folder = changed(town, tmp_path / "feet", change)
    origin = '[origin]\nlatitude = 47\nlongitude = 8\nunit = "ft"\n'
    (folder / "site.toml").write_text((folder / "site.toml").read_text() + origin)
    site = read_site(folder)
    assert [one.height for one in site.buildings] == [pytest.approx(70 * 0.3048)]
    assert len(left_out(site)) == 1


def test_a_height_without_a_unit_in_a_coordinate_system_in_feet(town):
    degrees = settings_of({}, town, Remarks())
    feet = place_of(degrees, CRS(2229))  # California zone 5 in US survey feet
    roles = Roles(degrees.renaming, feet.unit)
    assert [roles.height(24), roles.height("24")] == pytest.approx([24 * 1200 / 3937] * 2)
    assert roles.height("24 m") == 24
    assert place_of(degrees, CRS(2056)).unit.metres == 1
    assert place_of(degrees, CRS(4326)).unit.metres == 1


def test_text_that_is_cut_off_is_told_as_ever(town, tmp_path):
    folder = changed(town, tmp_path / "cut", lambda _: None)
    text = (folder / "features.geojson").read_text()
    (folder / "features.geojson").write_text(text[: len(text) // 2])
    (fault,) = check_site(folder).faults
    assert str(fault).startswith("features.geojson: is not GeoJSON: ")


def test_without_a_boundary_what_is_always_read_is_read(town, tmp_path):
    def change(document):
        del document["features"][0]

    faults = "\n".join(map(str, check_site(changed(town, tmp_path / "none", change)).faults))
    assert "has no boundary" in faults


def test_reading_tells_how_far_it_is(town):
    told = []
    read_site(town, progress=lambda question, share: told.append((question, share)))
    assert {question for question, _ in told} == {"read"}
    assert len(told) > TOWN // 1000
    assert sorted(told) == told
