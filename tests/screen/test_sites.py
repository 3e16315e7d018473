"""By what a lot's hash tells that it is another one. By hand."""

from __future__ import annotations

from types import SimpleNamespace

from pyproj import CRS
from shapely import Point

from siteplan.screen.sites import _content, _hash


def drawing(*features, crs=None):
    return SimpleNamespace(crs=crs, features=features)


def feature(shape=Point(1, 2), **properties):  # noqa: B008  # a point never changes
    return SimpleNamespace(shape=shape, properties=properties)


def test_whatever_may_change_the_answer_changes_the_hash():
    first = drawing(feature(kind="bed"), feature(Point(3, 4)))
    others = [
        drawing(feature(kind="bed"), feature(Point(3, 5))), drawing(feature(kind="tree"), feature(Point(3, 4))),
        drawing(feature(kind="bed")), drawing(feature(Point(3, 4)), feature(kind="bed")), drawing(feature(None, kind="bed")),
        drawing(feature(kind="bed"), feature(Point(3, 4)), crs=CRS("EPSG:25832")),
        drawing(feature(kind="bed"), feature(Point(3, 4)), crs=CRS("EPSG:25833")),
    ]  # fmt: skip
    hashes = [_hash(one, "common") for one in (first, *others)] + [_hash(first, "other")]
    assert len(set(hashes)) == len(hashes)
    assert _hash(drawing(feature(kind="bed"), feature(Point(3, 4))), "common") == hashes[0]


def test_a_feature_without_a_shape_has_no_content():
    assert _content(feature(None)) == b""
    assert _content(feature()) == Point(1, 2).wkb
