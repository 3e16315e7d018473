"""Does a raster in any projection and unit become the ground of the local frame?"""

from __future__ import annotations

import json
import re

import numpy as np
import pytest
import rasterio
import shapely
from pyproj import Transformer
from rasterio import Affine
from shapely import box

from siteplan import read_site
from siteplan.files.reader import check_site
from siteplan.land.frame import LocalFrame

UTM = "EPSG:32632"
TO_UTM = Transformer.from_crs("EPSG:4326", UTM, always_xy=True)


def write_raster(path, values, *, west, north, cell=1.0, crs=UTM, nodata=None, dtype="float32", **options):
    values = np.atleast_3d(np.asarray(values)).transpose(2, 0, 1)
    with rasterio.open(
        path, "w", driver="GTiff", width=values.shape[2], height=values.shape[1], count=len(values), dtype=dtype,
        crs=crs, nodata=nodata, transform=Affine(cell, 0, west, 0, -cell, north), **options,
    ) as raster:  # fmt: skip
        raster.write(values.astype(dtype))


def plane(yard, *, rise_east=0.05, rise_north=-0.02, margin=40, cell=1.0):
    """Return a plane over the yard in UTM, with the corner to lay it at."""
    x, y = TO_UTM.transform(8.0, 45.0)
    west, north = round(x) - margin, round(y) + margin
    steps = (np.arange(int(2 * margin / cell)) + 0.5) * cell
    east, south = np.meshgrid(west + steps - x, y - (north - steps))
    yard.toml = 'terrain = "ground.tif"\n' + yard.toml
    return 100 + rise_east * east - rise_north * south, {"west": west, "north": north, "cell": cell}


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
    write_raster(folder / "ground.tif", values / 0.3048, **corner)
    with rasterio.open(folder / "ground.tif", "r+") as raster:
        raster.units = ["ft"]
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
        assert np.isfinite(site.terrain.elevation).all()
        assert site.terrain.elevation.min() > 95  # the plane runs from 97 to 103; -9999 has left no trace
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
    assert "is no raster that can be read" in fault_of(folder)
    path.unlink()
    write_raster(path, values, **corner, crs='LOCAL_CS["somewhere",UNIT["metre",1]]')
    assert "has no coordinate reference system" in fault_of(folder)


def test_real_terrain_in_another_country(shared, yard):
    """A 1 m model of Canterbury, EPSG:2193 (LINZ, CC-BY 4.0): heights in the frame are those of the raster."""
    path = shared / "dem" / "nz_linz_dem_1m_BY23.tif"
    with rasterio.open(path) as raster:
        x, y = (raster.bounds.left + raster.bounds.right) / 2, (raster.bounds.bottom + raster.bounds.top) / 2
        longitude, latitude = Transformer.from_crs(raster.crs, "EPSG:4326", always_xy=True).transform(x, y)
        window = raster.read(1)
        rows, columns = zip(*[raster.index(x + dx, y + dy) for dx, dy in ((0, 0), (10, 5), (-10, -5))], strict=True)
        direct = window[list(rows), list(columns)]
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
