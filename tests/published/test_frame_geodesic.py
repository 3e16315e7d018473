"""Does the local frame agree with the ellipsoid, and would UTM have turned the sun?

Against pyproj.Geod (Karney 2013, Algorithms for geodesics, Journal of Geodesy 87:43-55), an independent computation.
"""

from __future__ import annotations

import pytest
from pyproj import CRS, Geod, Proj
from shapely import LineString, Point

from siteplan.land.frame import LocalFrame

GEOD = Geod(ellps="WGS84")
PLACES = [(-105.18, 39.74), (4.37, 52.01), (172.6, -43.5), (25.0, 78.2), (0.0, 0.0), (179.99995, -17.0), (8.0, 84.0)]
TAPE = 100.0  # m


@pytest.mark.parametrize(("longitude", "latitude"), PLACES)
@pytest.mark.parametrize("azimuth", range(0, 360, 45))
def test_tape_of_100_m_agrees_with_the_geodesic_to_1_cm(longitude, latitude, azimuth):
    frame = LocalFrame(longitude=longitude, latitude=latitude)
    for start_azimuth, start_distance in ((0, 0), (130, 150)):  # from the centre, and across a lot from its corner
        lon0, lat0, _ = GEOD.fwd(longitude, latitude, start_azimuth, start_distance)
        lon1, lat1, _ = GEOD.fwd(lon0, lat0, azimuth, TAPE)
        measured = frame.to_local(Point(lon0, lat0)).distance(frame.to_local(Point(lon1, lat1)))
        assert measured == pytest.approx(TAPE, abs=0.01)  # a tape is read to a centimetre


@pytest.mark.parametrize(("longitude", "latitude"), PLACES)
@pytest.mark.parametrize("azimuth", range(0, 360, 45))
def test_azimuth_at_the_centre_is_the_true_one(longitude, latitude, azimuth):
    frame = LocalFrame(longitude=longitude, latitude=latitude)
    lon, lat, _ = GEOD.fwd(longitude, latitude, azimuth, TAPE)
    there = frame.to_local(Point(lon, lat))
    turned = LineString([(0, 0), (0, TAPE)]).interpolate(TAPE)  # 100 m along grid north
    north = frame.to_lonlat(turned)
    back, _, _ = GEOD.inv(longitude, latitude, north.x, north.y)
    assert back == pytest.approx(0, abs=1e-6)
    import math

    # over 100 m the earth's curvature turns a straight line by less than 0.001 degrees up to 84 N
    assert math.degrees(math.atan2(there.x, there.y)) % 360 == pytest.approx(azimuth, abs=1e-3)


@pytest.mark.parametrize(
    ("longitude", "latitude", "zone", "turned"),
    # Convergence is atan(tan(d) sin(lat)), d degrees from the zone's central meridian (sphere; Snyder 1987, Map
    # Projections, USGS Professional Paper 1395, p. 61): by hand 3 * sin 60 = 2.60, 3 * sin 45 = 2.12, 3 * sin 35 = 1.72
    [(11.999, 60.0, 32, 2.60), (12.001, 60.0, 33, -2.60), (-102.001, 45.0, 13, 2.12), (141.0, -35.0, 54, 0.0)],
)
def test_utm_would_have_turned_the_sun_and_the_frame_does_not(longitude, latitude, zone, turned):
    half = "+south" if latitude < 0 else ""
    utm = Proj(f"+proj=utm +zone={zone} {half} +datum=WGS84")
    assert utm.get_factors(longitude, latitude).meridian_convergence == pytest.approx(turned, abs=0.01)
    ours = Proj(CRS(LocalFrame(longitude=longitude, latitude=latitude).crs))
    factors = ours.get_factors(longitude, latitude)
    assert factors.meridian_convergence == pytest.approx(0, abs=1e-9)
    assert factors.meridional_scale == pytest.approx(1, abs=1e-9)
    assert factors.parallel_scale == pytest.approx(1, abs=1e-9)


def test_read_site_at_a_zones_edge_keeps_true_north(tmp_path):
    """A wall drawn due north on the ellipsoid lies along y at 60 N, where UTM would lay it 2.6 degrees aside."""
    import json
    import math

    from siteplan import read_site

    west, south = 11.999, 60.0
    corners = [(west, south)]
    for azimuth, length in ((0, 60), (90, 40), (180, 60)):
        lon, lat, _ = GEOD.fwd(*corners[-1], azimuth, length)
        corners.append((lon, lat))
    lon, lat, _ = GEOD.fwd(west, south, 45, 20)
    end_lon, end_lat, _ = GEOD.fwd(lon, lat, 0, 30)
    features = [
        ("lot", {"kind": "boundary"}, {"type": "Polygon", "coordinates": [[*corners, corners[0]]]}),
        (
            "wall",
            {"kind": "fence", "height": 2},
            {"type": "LineString", "coordinates": [(lon, lat), (end_lon, end_lat)]},
        ),
    ]
    document = [{"type": "Feature", "id": i, "properties": p, "geometry": g} for i, p, g in features]
    (tmp_path / "features.geojson").write_text(json.dumps({"type": "FeatureCollection", "features": document}))
    (tmp_path / "site.toml").write_text('timezone = "Europe/Oslo"\n')
    site = read_site(tmp_path)
    (x0, y0), (x1, y1) = site.fences[0].line.coords
    assert math.degrees(math.atan2(x1 - x0, y1 - y0)) == pytest.approx(0, abs=1e-3)
    assert y1 - y0 == pytest.approx(30, abs=1e-3)
