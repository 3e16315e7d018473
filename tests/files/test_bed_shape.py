"""The outline of a new bed, read from a file: by hand, and all that may be wrong with it."""

from __future__ import annotations

import json

import pytest

from siteplan.files.drawing.bed_shape import read_shape
from siteplan.land.errors import InputError
from siteplan.land.outline import rectangle

ELL = [[10, 20], [18, 20], [18, 23], [13, 23], [13, 28], [10, 28], [10, 20]]


def written(folder, document):
    path = folder / "ell.geojson"
    path.write_text(document if isinstance(document, str) else json.dumps(document), encoding="utf-8")
    return path


def polygon(ring=ELL, *holes):
    return {"type": "Polygon", "coordinates": [ring, *holes]}


def feature(geometry, **properties):
    return {"type": "Feature", "properties": properties, "geometry": geometry}


def test_a_bare_polygon_is_in_metres_and_starts_at_zero(tmp_path):
    found = read_shape(written(tmp_path, polygon()))
    assert found.bounds == (0, 0, 8, 8)
    assert found.area == pytest.approx(8 * 3 + 3 * 5)


@pytest.mark.parametrize("wrap", [lambda one: one, lambda one: {"type": "FeatureCollection", "features": [one]}])
def test_a_feature_names_its_unit(tmp_path, wrap):
    found = read_shape(written(tmp_path, wrap(feature(polygon(), unit="ft"))))
    assert found.area == pytest.approx(39 * 0.3048**2)


@pytest.mark.parametrize(
    ("document", "said"),
    [
        ("{", "is not GeoJSON"),
        ([1], "must be a GeoJSON polygon"),
        ({"type": "FeatureCollection", "features": []}, "must hold one"),
        (feature({"type": "Point", "coordinates": [0, 0]}), "must be a Polygon"),
        (feature(None), "not a GeoJSON polygon"),
        (feature({"type": "Polygon", "coordinates": [[[0, 0], ["x", 1]]]}), 'the coordinate "x" is no number'),
        (polygon([[0, 0], [2, 2], [2, 0], [0, 2], [0, 0]]), "crosses itself"),
        (polygon([[0, 0], [9, 0], [9, 9], [0, 9], [0, 0]], [[2, 2], [4, 2], [4, 4], [2, 4], [2, 2]]), "has a hole"),
        (polygon([[5.1, 52], [5.1001, 52], [5.1001, 52.0001], [5.1, 52]]), "not in degrees"),
        (feature(polygon(), unit="kg"), "unit"),
        (feature(polygon(), unit=3), "unit"),
        (feature(polygon(), unit="km"), "must be from 0.1 m to 100 m"),
    ],
)
def test_what_is_wrong_is_said_with_the_file(tmp_path, document, said):
    with pytest.raises(InputError) as error:
        read_shape(written(tmp_path, document))
    (fault,) = error.value.faults
    assert fault.file == "ell.geojson"
    assert said in fault.text


def test_a_file_that_is_not_there(tmp_path):
    with pytest.raises(InputError):
        read_shape(tmp_path / "none.geojson")


@pytest.mark.parametrize("heading", [0, 30, 45])
def test_the_size_of_an_outline_is_the_same_however_it_is_drawn(tmp_path, heading):
    """110 m by 0.5 m at 45 degrees spans 78 m from west to east."""
    outlines = [rectangle(0, 0, length=length, width=0.5, heading=heading) for length in (110, 100)]
    long, sound = (polygon([list(corner) for corner in outline.exterior.coords]) for outline in outlines)
    with pytest.raises(InputError, match="is 110 m across"):
        read_shape(written(tmp_path, long))
    assert read_shape(written(tmp_path, sound)).area == pytest.approx(50)
