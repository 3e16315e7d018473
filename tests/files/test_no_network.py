"""Nothing that a site's files name is fetched: a listener on this machine hears nothing."""

from __future__ import annotations

import socket

import pytest
import rasterio

from siteplan.files.reader import check_site

from .rasters import plane, write_raster


@pytest.fixture
def listener(monkeypatch):
    """Return an address on this machine, and what says whether anybody has called there."""
    for name in ("TIMEOUT", "CONNECTTIMEOUT"):
        monkeypatch.setenv(f"GDAL_HTTP_{name}", "2")  # so that a test that fails does not wait
    server = socket.create_server(("127.0.0.1", 0))
    server.setblocking(False)

    def called():
        try:
            server.accept()[0].close()
        except BlockingIOError:
            return False
        return True

    yield f"127.0.0.1:{server.getsockname()[1]}", called
    server.close()


def large(yard):
    """Write a raster that reaches far enough beyond the yard for its overviews to be asked for."""
    values, corner = plane(yard, margin=400)
    write_raster(yard.write() / "ground.tif", values, **corner)
    return yard.folder / "ground.tif"


ADDRESSES = ("/vsicurl/http://{}/a.tif", "http://{}/b.tif", "/vsizip/vsicurl/http://{}/c.zip/c.tif")


@pytest.mark.parametrize("address", ADDRESSES)
@pytest.mark.parametrize("where", ["inside", "beside"])
def test_overviews_at_an_address_are_not_fetched(yard, listener, address, where):
    place, called = listener
    path, name = large(yard), address.format(place)
    if where == "inside":
        with rasterio.open(path, "r+") as raster:
            raster.update_tags(ns="OVERVIEWS", OVERVIEW_FILE=name)
    else:
        item = f'<Metadata domain="OVERVIEWS"><MDI key="OVERVIEW_FILE">{name}</MDI></Metadata>'
        path.with_name("ground.tif.aux.xml").write_text(f"<PAMDataset>{item}</PAMDataset>")
    while called():  # what writing the tag may have caused
        pass
    assert check_site(yard.folder).faults == ()
    assert not called()


def test_the_listener_hears_gdal_where_it_may_call(yard, listener):
    place, called = listener
    path = large(yard)
    item = f'<Metadata domain="OVERVIEWS"><MDI key="OVERVIEW_FILE">/vsicurl/http://{place}/z.tif</MDI></Metadata>'
    path.with_name("ground.tif.aux.xml").write_text(f"<PAMDataset>{item}</PAMDataset>")
    with rasterio.open(path) as raster:
        raster.overviews(1)
    assert called()


@pytest.mark.parametrize("key", ["features", "terrain", "weather", "skyline"])
@pytest.mark.parametrize(
    "address", ["http://{}/a.geojson", "/vsicurl/http://{}/a.gpkg", "/vsicurl_streaming/http://{}/a.tif"]
)
def test_an_address_in_place_of_a_file_is_no_file(yard, listener, key, address):
    place, called = listener
    yard.toml = f'{key} = "{address.format(place)}"\n' + yard.toml.replace(
        'features = "features.geojson"\n', "" if key == "features" else 'features = "features.geojson"\n'
    )
    (fault,) = yard.faults()
    assert "is not there" in fault or "must be a .geojson, .gpkg or .fgb file" in fault
    assert not called()
