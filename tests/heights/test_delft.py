"""Do roofs and ground of the open AHN3 tile over Delft come out as others have them?

Roof heights: `delft_roof_heights.gpkg`, made from the same survey by 3dfier (90th percentile of classes 0, 1 and 6 over
an outline, 10th of classes 2 and 9 around it). Ground: the survey's own classes, withheld from the filter.
"""

from __future__ import annotations

import geopandas as gpd
import numpy as np
import pytest
import shapely
from pyproj import CRS

from siteplan.files.remarks import Remarks
from siteplan.files.survey.tile_header import read_header
from siteplan.files.survey.tiles import read_tiles
from siteplan.heights.ground import ground_by_filter
from siteplan.heights.lone import lone
from siteplan.heights.survey_features import find_features, roofs_over
from siteplan.land.frame import LocalFrame

FRAME = LocalFrame(longitude=4.36664, latitude=52.01177)
#: outlines whose height lies more than 1 m from the other program's, each looked at in its points
OUTLIERS = {
    4: "roofs of 5 to 8 m in one outline, beside a higher one: few points are as high as theirs",
    20: "a shed of 11 m2 beside a house: its highest points lie at 3.2 m, theirs has the house's 8.7 m",
    22: "an annex of 19 m2 at 2.3 m beside a house of 9 m, which theirs has",
    30: "a shed of 14 m2 at 2.9 m beside a house, which theirs has",
    63: "a crown of 11 to 15 m over a roof at 3.3 m raises theirs, as its README says",
    75: "a shed of 10 m2 at 3.0 m; theirs has 4.5 m, where none of its points lies",
    76: "a shed of 10 m2 at 3.0 m; theirs has 4.6 m, where none of its points lies",
    79: "a shed of 6 m2 at 2.2 m against a wall, whose 3.3 m theirs has",
    80: "a nook of 6 m2 at 4.8 m between houses, which theirs has",
    92: "a roof at 5.5 m, of which theirs has the neighbour's 7.0 m",
    108: "a shed of 10 m2 at 3.0 m; theirs has 4.5 m, where none of its points lies",
}


@pytest.fixture(scope="module")
def tile(shared):
    remarks = Remarks()
    head = read_header(shared / "lidar" / "delft_ahn3_part.laz", remarks, crs=CRS("EPSG:28992"), metres=None)
    assert head is not None
    assert not remarks.faults
    square = shapely.box(-120, -60, 0, 90)
    points = read_tiles(
        [head],
        FRAME,
        square,
        farthest=300.0,
        reach=lambda height: np.full(np.shape(height), 1e9),
        tell=lambda _: None,
    )
    return points, square


@pytest.fixture(scope="module")
def outlines(shared):
    table = gpd.read_file(shared / "lidar" / "delft_roof_heights.gpkg")
    return table, [FRAME.to_local(one) for one in table.to_crs("EPSG:4326").geometry]


@pytest.fixture(scope="module")
def found(tile):
    points, square = tile
    return find_features(points.returns, boundary=square, built=[], lowest=5.4, by_filter=False)


def test_all_points_are_read_and_lie_where_they_do(tile):
    points, _ = tile
    assert 0.99 * 640_510 < len(points.returns) <= 640_510
    assert points.thinned == 1
    assert f"{points.flight.first:%Y-%m}" == "2014-03"
    assert not points.flight.by_pulses  # its times are seconds of the week


def test_roofs_are_as_high_as_another_program_has_them(found, outlines):
    table, shapes = outlines
    roofs = roofs_over(shapes, found.canopy, found.returns)
    theirs = (table["roof_nap_m"] - table["ground_nap_m"]).to_numpy()
    seen = [at for at, roof in enumerate(roofs) if roof is not None]
    assert len(seen) == len(roofs) == 132
    high = np.array([roofs[at].high for at in seen]) - theirs[seen]
    ridge = np.array([roofs[at].height for at in seen]) - theirs[seen]
    for off in (high, ridge):  # the same percentile, and what is proposed
        assert abs(np.median(off)) <= 0.3
        assert (np.abs(off) <= 1.0).mean() >= 0.9
    assert np.median(np.abs(high)) <= 0.3
    far = {at for at, off in zip(seen, ridge, strict=True) if abs(off) > 1.0}
    assert far == set(OUTLIERS)
    own = found.returns.kind == 6
    for at in far:  # theirs is higher than the building points within the outline are
        inside = own & shapely.contains_xy(shapes[at], found.returns.x, found.returns.y)
        assert theirs[at] > np.quantile(found.canopy.height[inside], 0.95)


def test_the_ground_is_found_without_the_classes(tile):
    points, _ = tile
    returns = points.returns.subset(~lone(points.returns))
    own = returns.kind == 2
    got = ground_by_filter(returns.as_unclassified())
    agree = float((own == got).mean())
    by_chance = own.mean() * got.mean() + (1 - own.mean()) * (1 - got.mean())
    kappa = (agree - by_chance) / (1 - by_chance)
    assert agree > 0.96
    assert kappa > 0.90  # the paper: 0.854 with one set of settings, 0.900 with the best for each sample
    assert got[own].mean() > 0.999
    assert got[returns.kind == 6].mean() < 0.03


@pytest.mark.slow
def test_roofs_are_told_from_trees_without_the_classes(tile, found):
    points, square = tile
    blind = find_features(points.returns.as_unclassified(), boundary=square, built=[], lowest=5.4, by_filter=True)
    one, other = (each.canopy.roof > 2.2 for each in (found, blind))
    assert (one & other).sum() > 0.9 * (one | other).sum()
    tall, all_of = ([tree for tree in each.trees if tree.crown.top > 8] for each in (blind, found))
    assert abs(len(tall) - len(all_of)) < 0.2 * len(all_of)  # corners of roofs come beside them
