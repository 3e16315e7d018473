"""Does a raster in any projection and unit become the ground of the local frame?"""

from __future__ import annotations

import json
import re

import numpy as np
import pytest
import rasterio
import shapely
from pyproj import Transformer
from shapely import box

from siteplan import read_site
from siteplan.files.reader import check_site
from siteplan.land.frame import LocalFrame

from .rasters import TO_UTM, plane, write_raster


def expected_at(site, x, y, *, rise_east=0.05, rise_north=-0.02):
    """Return the plane's height at points of the frame, by pyproj alone."""
    lonlat = [site.frame.to_lonlat(shapely.Point(a, b)) for a, b in zip(x, y, strict=True)]
    east, north = TO_UTM.transform([p.x for p in lonlat], [p.y for p in lonlat])
    zero_east, zero_north = TO_UTM.transform(8.0, 45.0)
    return 100 + rise_east * (np.array(east) - zero_east) + rise_north * (np.array(north) - zero_north)


def test_plane_in_another_projection_is_the_same_plane(yard):
    values, corner = plane(yard)
    folder = yard.write()
    write_raster(folder / "ground.tif", values, **corner)
    site = read_site(folder)
    assert site.cautions == ()
    x, y = np.array([-14.0, -3, 0, 7, 14.5]), np.array([-9.0, 9, 0, 3, -8])
    # bilinear resampling reproduces a plane; GDAL approximates the warp to an eighth of a cell: 0.125 m * 0.054
    assert site.terrain.height_at(x, y) == pytest.approx(expected_at(site, x, y), abs=0.007)


def test_elevation_in_feet(yard):
    values, corner = plane(yard)
    folder = yard.write()
    write_raster(folder / "ground.tif", values / 0.3048, **corner, unit="ft")
    site = read_site(folder)
    assert site.terrain.height_at([0.0], [0.0]) == pytest.approx([100], abs=0.01)


def test_elevation_in_survey_feet_by_a_compound_system(yard):
    values, corner = plane(yard)
    folder = yard.write()
    # NAVD88 height in US survey feet: EPSG:6360
    write_raster(folder / "ground.tif", values * 3937 / 1200, **corner, crs="EPSG:32632+6360")
    site = read_site(folder)
    assert site.terrain.height_at([0.0], [0.0]) == pytest.approx([100], abs=0.01)


def test_undeclared_and_declared_holes_are_filled_with_a_word(yard):
    values, corner = plane(yard)
    values[38:41, 38:41] = -9999
    folder = yard.write()
    for nodata in (None, -9999):
        write_raster(folder / "ground.tif", values, **corner, nodata=nodata)
        site = read_site(folder)
        assert [caution.code for caution in site.cautions] == ["elevation-filled"]
        assert "of the property" in site.cautions[0].text
        x, y = np.meshgrid(np.linspace(-20, 20, 41), np.linspace(-15, 15, 31))
        assert np.isfinite(site.terrain.height_at(x.ravel(), y.ravel())).all()
        assert np.nanmin(site.terrain.elevation) > 95  # the plane runs from 97 to 103; -9999 has left no trace
        assert site.terrain.height_at([0.0], [0.0]) == pytest.approx([100], abs=0.3)


def test_feature_beyond_the_raster_gets_a_word(yard):
    values, corner = plane(yard, margin=20)
    yard.draw("barn", box(50, 0, 60, 10), kind="building", height=9)
    folder = yard.write()
    write_raster(folder / "ground.tif", values, **corner)
    site = read_site(folder)
    assert [caution.code for caution in site.cautions] == ["elevation-beyond"]
    assert "no ground under 1 of the features" in site.cautions[0].text
    assert np.isfinite(site.ground_at(box(50, 0, 60, 10)))


@pytest.mark.parametrize("cell", [7.0, 30.0, 90.0])
def test_coarse_raster_over_a_small_property(yard, cell):
    values, corner = plane(yard, margin=1800, cell=cell)
    folder = yard.write()
    write_raster(folder / "ground.tif", values, **corner)
    site = read_site(folder)
    assert site.cautions == ()
    x, y = np.array([-14.0, 0, 14]), np.array([-9.0, 0, 9])
    assert site.terrain.height_at(x, y) == pytest.approx(expected_at(site, x, y), abs=0.054 * cell / 8 + 1e-3)


def test_property_in_a_hole_is_a_fault_of_its_own(yard):
    values, corner = plane(yard)
    folder = yard.write()
    values[20:60, 20:60] = -9999
    write_raster(folder / "ground.tif", values, **corner, nodata=-9999)
    assert "ground.tif: has no data for the property; fill its holes" in fault_of(folder)
    write_raster(folder / "ground.tif", values, **corner)
    assert "has -9,999 m for the property, must be from -500 m to 9,000 m" in fault_of(folder)
    values, _ = plane(yard)
    values[20:60, 20:37] = -9999  # the western two fifths of 30 m around the middle: the rest is ground of 100 m
    write_raster(folder / "ground.tif", values, **corner)
    assert re.search(r"has -9,999 m for [34]\d% of the property, must be", fault_of(folder))


def test_hole_written_as_sea_level_gets_a_word(yard):
    values, corner = plane(yard)
    folder = yard.write()
    values[38:41, 38:41] = 0
    write_raster(folder / "ground.tif", values, **corner)
    assert "rises from 0 m to 101 m within the property" in yard.cautions()["elevation-cliff"]


def test_property_too_wide_for_its_cells_is_read_in_coarser_ones(yard, monkeypatch):
    values, corner = plane(yard)
    folder = yard.write()
    write_raster(folder / "ground.tif", values, **corner)
    monkeypatch.setattr("siteplan.files.ground.terrain_file.MOST_CELLS", 20)
    site = read_site(folder)
    assert max(site.terrain.grid.shape) <= 20
    (caution,) = site.cautions
    assert caution.code == "elevation-coarser"
    assert "has cells of 1.00 m; over all that is drawn, 41 m across, it is read in cells of 2.05 m" in caution.text
    assert site.terrain.height_at([0.0, 10.0], [0.0, 5.0]) == pytest.approx(
        expected_at(site, np.array([0.0, 10.0]), np.array([0.0, 5.0])),
        abs=0.054,  # half of the two cells of which one is read
    )


def fault_of(folder):
    checked = check_site(folder)
    assert len(checked.faults) == 1, checked.faults
    return str(checked.faults[0])


def test_faults_of_a_raster(yard):
    values, corner = plane(yard)
    folder = yard.write()
    path = folder / "ground.tif"
    write_raster(path, values, **{**corner, "west": corner["west"] + 500})
    assert fault_of(folder).startswith("ground.tif: does not cover the property")
    write_raster(path, values, **{**corner, "west": corner["west"] + 36})  # from 4 m west of the middle on
    # 11 of 30 m are uncovered, which is 37 %; half a raster cell and half a map cell to either side
    assert re.search("does not cover 3[5-9]% of the property", fault_of(folder))
    write_raster(path, values, **corner, crs=None)
    assert "has no coordinate reference system" in fault_of(folder)
    write_raster(path, np.full((*values.shape, 3), 120), **corner, dtype="uint8")
    assert "which is a picture; it must be elevations" in fault_of(folder)
    path.write_bytes(b"II*\x00 but nothing else")
    assert "cannot be read as a GeoTIFF" in fault_of(folder)
    path.unlink()
    write_raster(path, values, **corner, crs='LOCAL_CS["somewhere",UNIT["metre",1]]')
    assert "has the coordinate system 'somewhere', which is of no place on earth" in fault_of(folder)


def test_real_terrain_in_another_country(shared, yard):
    """A 1 m model of Canterbury, EPSG:2193 (LINZ, CC-BY 4.0): heights in the frame are those of the raster."""
    path = shared / "dem" / "nz_linz_dem_1m_BY23.tif"
    with rasterio.open(path) as raster:
        x, y = (raster.bounds.left + raster.bounds.right) / 2, (raster.bounds.bottom + raster.bounds.top) / 2
        longitude, latitude = Transformer.from_crs(raster.crs, "EPSG:4326", always_xy=True).transform(x, y)
        window = raster.read(1)
        rows, columns = zip(*[raster.index(x + dx, y + dy) for dx, dy in ((0, 0), (10, 5), (-10, -5))], strict=True)
        direct = window[np.ravel(rows), np.ravel(columns)]
    north, south = LocalFrame(longitude=8.0, latitude=45.0), LocalFrame(longitude=longitude, latitude=latitude)
    for feature in yard.features.values():
        shape = shapely.from_geojson(json.dumps(feature["geometry"]))
        feature["geometry"] = json.loads(shapely.to_geojson(south.to_lonlat(north.to_local(shape))))
    yard.change('timezone = "Europe/Rome"\n', f"terrain = {str(path)!r}\n")
    yard.change('last_frost = "04-15"\nfirst_frost = "10-20"', 'last_frost = "10-01"\nfirst_frost = "05-05"')
    site = read_site(yard.write())
    assert site.timezone == "Pacific/Auckland"
    lonlat = Transformer.from_crs("EPSG:2193", "EPSG:4326", always_xy=True)
    points = [
        site.frame.to_local(shapely.Point(*lonlat.transform(x + dx, y + dy)))
        for dx, dy in ((0, 0), (10, 5), (-10, -5))
    ]
    heights = site.terrain.height_at([p.x for p in points], [p.y for p in points])
    assert heights == pytest.approx(
        direct, abs=0.15
    )  # a cell's own value against one read between centres, on near-flat land
