"""What site.toml may say about the place of a bed."""

from __future__ import annotations

import json

import pytest

from siteplan.files.reader import read_site
from siteplan.land.errors import InputError
from siteplan.land.site import PlaceSettings
from siteplan.place.merit.merit import Weights, weights_of

BOUNDARY = {"type": "Polygon", "coordinates": [[[0, 0], [10, 0], [10, 8], [0, 8], [0, 0]]]}


def a_site(folder, place):
    feature = {"type": "Feature", "id": "edge", "properties": {"kind": "boundary"}, "geometry": BOUNDARY}
    (folder / "features.geojson").write_text(json.dumps({"type": "FeatureCollection", "features": [feature]}))
    (folder / "site.toml").write_text(
        f'name = "x"\n[origin]\nlatitude = 45.0\nlongitude = 8.0\nunit = "m"\n'
        f'[season]\nlast_frost = "04-15"\nfirst_frost = "10-20"\n[place]\n{place}\n'
    )
    return folder


def test_a_bed_is_8_ft_by_4_ft_and_18_in_high_unless_told():
    usual = PlaceSettings()
    assert (usual.length, usual.width, usual.height) == pytest.approx(
        (8 * 0.3048, 4 * 0.3048, 18 * 0.0254), rel=1e-12
    )


def test_weights_and_access_are_read(tmp_path):
    site = read_site(a_site(tmp_path, "weight_water = 0.05\nweight_worst = 1\naccessible = true"))
    assert weights_of(site.place) == Weights(water=0.05, worst=1.0)
    assert site.place.accessible


@pytest.mark.parametrize(
    ("line", "told"),
    [("weight_watr = 1", "weight_water"), ("weight_worst = 2", "weight_worst"), ("accessible = 3", "accessible")],
)
def test_what_is_wrong_is_told(tmp_path, line, told):
    with pytest.raises(InputError, match=told):
        read_site(a_site(tmp_path, line))


def test_aisles_are_feet_as_gardeners_leave_them():
    # common practice, no source: 2 ft to kneel, 3 ft for a barrow; to the centimetre
    place = PlaceSettings()
    assert place.aisle == pytest.approx(2 * 0.3048, abs=0.01)
    assert place.barrow_aisle == pytest.approx(3 * 0.3048, abs=0.005)
