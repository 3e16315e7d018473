"""Which points of a tile are kept, and what its header says; on made-up tiles and headers, by hand."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from pyproj import CRS
from shapely import box

from siteplan.files.remarks import Remarks
from siteplan.files.survey import tile_header, tiles
from siteplan.files.survey.tile_header import TileHeader, _checked_header, _tells_days, _vertical_unit, chunks
from siteplan.files.survey.tiles import _cell_numbers, _cells_that_matter, _Coarse, _part, read_tiles
from siteplan.land.frame import LocalFrame
from siteplan.land.grid import Grid
from siteplan.land.returns import Returns

FRAME = LocalFrame(longitude=8.0, latitude=45.0)
nan = np.nan


def points(*rows):
    """Return points of x, y, z and class."""
    x, y, z, kind = np.array(rows, dtype=float).reshape(-1, 4).T
    no = np.zeros(len(x), dtype=bool)
    return Returns(x, y, z, kind.astype(np.uint8), ~no, no)


def test_cells_are_counted_row_by_row_from_the_northwest():
    grid = Grid(0, 20, 5.0, 4, 3)  # 15 m to the east, 20 m to the north
    part = points((0, 20, 0, 1), (4.9, 19.9, 0, 1), (5, 19, 0, 1), (14.9, 15.1, 0, 1), (1, 14.9, 0, 1), (14, 0.1, 0, 1),
                  (-9, 99, 0, 1), (99, -99, 0, 1))  # fmt: skip
    assert _cell_numbers(grid, part).tolist() == [0, 0, 1, 2, 3, 11, 0, 11]


def test_highest_and_lowest_of_a_cell_without_noise():
    coarse = _Coarse(Grid(0, 10, 5.0, 2, 2))
    coarse.add(points((1, 9, 100, 2), (2, 8, 107, 1), (2, 8, 900, 18), (2, 8, -50, 7), (6, 1, 103, 5)))
    coarse.add(points((1, 9, 99, 2)))
    assert coarse.highest.tolist() == [107, -np.inf, -np.inf, 103]
    assert coarse.lowest.tolist() == [99, np.inf, np.inf, 103]
    assert coarse.count.tolist() == [5, 0, 0, 1]  # noise takes room too


GRID = Grid(-100, 100, 5.0, 40, 40)
YARD = box(-10, -10, 10, 10)


def wanted(stands=(), *, ground=100.0, reach=lambda height: 10 * height):
    """Return the cells that are kept on level ground on which a few things stand, as (x, y, height)."""
    coarse = _Coarse(GRID)
    x, y = GRID.centres().T
    coarse.add(
        points(
            *[(east, up, ground, 2) for east, up in zip(x, y, strict=True)],
            *[(east, up, ground + tall, 1) for east, up, tall in stands],
        )
    )
    kept, close = _cells_that_matter(coarse, YARD, reach)
    return {(float(GRID.x[column]), float(GRID.y[row])) for row, column in np.argwhere(kept & ~close)}, close


def test_what_lies_beside_the_property():
    """Thirty metres from its edge, counted from cell to cell: the yard has the cells up to 12.5 m from its middle."""
    kept, close = wanted()
    assert kept == set()
    columns = np.flatnonzero(close[20])
    assert GRID.x[columns].min() == -42.5
    assert GRID.x[columns].max() == 42.5


def test_a_thing_is_kept_with_three_cells_around_it():
    kept, _ = wanted([(72.5, 2.5, 8)])
    assert kept == {
        (x, y) for x in (57.5, 62.5, 67.5, 72.5, 77.5, 82.5, 87.5) for y in (-12.5, -7.5, -2.5, 2.5, 7.5, 12.5, 17.5)
    }
    assert wanted([(72.5, 2.5, 1.5)])[0] == set()  # as low as grass
    assert wanted([(72.5, 2.5, 1.6)], reach=lambda height: 1e3 * height)[0] != set()


def test_how_far_a_shadow_must_reach():
    """From 72.5 m to the yard's last cell at 12.5 m are 60 m, less a cell: a shadow of 55 m reaches it."""
    assert wanted([(72.5, 2.5, 5.5)])[0] != set()
    assert wanted([(72.5, 2.5, 5.49)])[0] == set()


def test_the_ground_is_the_lowest_around_within_25_m():
    """A terrace that is two metres higher all over is ground; at its edge it stands over the ground five cells off."""
    coarse = _Coarse(GRID)
    x, y = GRID.centres().T
    coarse.add(points(*[(east, up, 102.0 if east > 60 else 100.0, 2) for east, up in zip(x, y, strict=True)]))
    kept, close = _cells_that_matter(coarse, YARD, lambda height: 1e3 * height)
    there = GRID.x[np.flatnonzero((kept & ~close)[20])]
    assert there.max() == 97.5  # 82.5, the last that has 57.5 within five cells, and three more
    assert there.min() == 47.5


def test_an_empty_survey_has_nothing_but_what_is_beside():
    kept, close = _cells_that_matter(_Coarse(GRID), YARD, lambda height: height)
    assert (kept == close).all()


class Chunk:
    """Points as laspy has them: in the frame's own coordinates."""

    def __init__(self, rows, *, withheld=None, times=None):
        self.x, self.y, self.z, self.classification, self.return_number, self.number_of_returns = np.array(
            rows, dtype=float
        ).T
        names = ["x"]
        if withheld is not None:
            names, self.withheld = [*names, "withheld"], np.array(withheld)
        self.gps_time = np.array(times if times is not None else [0.0] * len(rows))
        self.point_format = SimpleNamespace(dimension_names=names)

    def __len__(self):
        return len(self.x)


class AsItIs:
    """Stands in for a conversion between equal systems."""

    def __init__(self, *_):
        pass

    def to_frame(self, x, y):
        return x, y

    def box(self, area):
        return area.bounds


def header(metres=1.0, *, days=False, name="a.las", count=9):
    return TileHeader(Path(name), FRAME.crs, metres, True, (0, 0, 1, 1), count, None, days)


ROWS = [
    (0, 0, 10, 2, 1, 1),
    (10, 10, 11, 5, 1, 3),
    (5, 5, 12, 5, 3, 3),
    (10.1, 5, 13, 2, 1, 1),
    (5, -0.1, 14, 2, 1, 1),
]


def test_the_points_of_an_area():
    area, days = box(0, 0, 10, 10), []
    part = _part(Chunk(ROWS), header(0.5), AsItIs(), area.bounds, area, days)
    assert (part.x.tolist(), part.y.tolist(), part.z.tolist()) == ([0, 10, 5], [0, 10, 5], [5, 5.5, 6])
    assert part.kind.tolist() == [2, 5, 5]
    assert part.last.tolist() == [True, False, True]
    assert part.several.tolist() == [False, True, True]
    assert days == []
    assert _part(Chunk(ROWS), header(None), AsItIs(), area.bounds, area, days).z.tolist() == [10, 11, 12]
    held = _part(Chunk(ROWS, withheld=[1, 0, 0, 0, 0]), header(), AsItIs(), area.bounds, area, days)
    assert held.x.tolist() == [10, 5]
    assert _part(Chunk(ROWS, withheld=[1] * 5), header(), AsItIs(), area.bounds, area, days) is None
    assert _part(Chunk(ROWS[3:]), header(), AsItIs(), area.bounds, area, days) is None
    _part(Chunk(ROWS, times=[7, 5, 6, 1, 99]), header(days=True), AsItIs(), area.bounds, area, days)
    assert days == [5, 7]


def read(rows, monkeypatch, *, farthest=100.0, chunk=4, reach=lambda height: 10 * height, **more):
    """Return the points of one tile, and what was told while it was read."""
    monkeypatch.setattr(tiles, "FittedTransform", AsItIs)
    parts = [Chunk(rows[at : at + chunk]) for at in range(0, len(rows), chunk)]
    monkeypatch.setattr(tiles, "chunks", lambda *_: iter(parts))
    for name, value in more.items():
        monkeypatch.setattr(tiles, name, value)
    told = []
    found = read_tiles([header(count=len(rows))], FRAME, YARD, farthest=farthest, reach=reach, tell=told.append)
    return found, told


LAWN = [(x, y, 100, 2, 1, 1) for x in np.arange(-97.5, 100, 5) for y in np.arange(-97.5, 100, 5)]


def test_a_tile_is_read_twice(monkeypatch):
    found, told = read([*LAWN, (72.5, 2.5, 108, 1, 1, 1)], monkeypatch, chunk=800)
    assert told == pytest.approx(
        [0, 800 / 1601 / 2, 1600 / 1601 / 2, 0.5, 0.5 + 800 / 1601 / 2, 0.5 + 1600 / 1601 / 2, 1.0]
    )
    x = set(found.returns.x.tolist())
    assert max(x) == 87.5  # three cells around the tree
    assert (found.covered, found.thinned) == (1.0, 1)
    assert (found.returns.z == 108).sum() == 1


def test_half_a_property_is_half_covered(monkeypatch):
    found, _ = read([row for row in LAWN if row[0] > 0], monkeypatch)
    assert found.covered == 0.5


def test_too_many_points_are_thinned(monkeypatch):
    """Beside the property every other, where more than may be kept lie there; farther off as many as are left."""
    rows = [(0.0, 0.0, 100, 2, 1, 1)] * 100
    found, _ = read(rows, monkeypatch, chunk=100, NEAR_MOST=50, MOST=80)
    assert len(found.returns) == 50
    assert found.thinned == 2
    found, _ = read(rows[:50], monkeypatch, chunk=100, NEAR_MOST=50, MOST=80)
    assert (len(found.returns), found.thinned) == (50, 1)
    found, _ = read(rows[:75], monkeypatch, chunk=100, NEAR_MOST=50, MOST=80)
    assert (len(found.returns), found.thinned) == (38, 2)  # one in one would be more than 50
    tower = [(72.5, 2.5, 100, 2, 1, 1), *[(72.5, 2.5, 120, 1, 1, 1)] * 89]
    found, _ = read([*rows[:50], *tower], monkeypatch, chunk=1000, NEAR_MOST=50, MOST=80)
    assert found.thinned == 3  # of 90 no more than 30
    assert (found.returns.z == 120).sum() == 30 - (50 % 3 == 0)
    assert (found.returns.x == 0).sum() == 50


def test_a_damaged_tile_is_named(monkeypatch):
    def broken(*_):
        raise ValueError("is cut off")

    monkeypatch.setattr(tiles, "FittedTransform", AsItIs)
    monkeypatch.setattr(tiles, "chunks", broken)
    with pytest.raises(ValueError, match=r"a\.las: is cut off"):
        read_tiles([header()], FRAME, YARD, farthest=9, reach=lambda height: height, tell=lambda _: None)


# ---- headers


class Reader:
    """Stands in for laspy's reader of a tile."""

    def __init__(self, count, sizes):
        self.header = SimpleNamespace(point_count=count)
        self.sizes = sizes

    def __enter__(self):
        return self

    def __exit__(self, *_):
        pass

    def chunk_iterator(self, size):
        assert size == 7
        return iter([range(size) for size in self.sizes])


@pytest.mark.parametrize(("count", "sizes", "read", "sound"), [
    (10, [7, 3], [7, 3], True), (10, [7, 3, 5], [7, 3], True), (0, [], [], True), (10, [7], [7], False), (10, [7, 0, 3], [7], False), (1, [], [], False),
])  # fmt: skip
def test_a_tile_is_read_to_the_count_of_its_header(monkeypatch, count, sizes, read, sound):
    monkeypatch.setattr(tile_header, "_open", lambda _: Reader(count, sizes))
    found = []
    try:
        found += [len(part) for part in chunks(Path("a.las"), 7)]
    except ValueError as error:
        assert str(error) == "cannot be read: it is cut off, or damaged; fetch it once more"  # noqa: PT017
        assert not sound
        return
    assert (found, sound) == (read, True)


def las(
    *,
    crs="EPSG:32632",
    mins=(1.0, 2.0, 0.0),
    maxs=(3.0, 4.0, 9.0),
    vlrs=(),
    gps=0,
    names=("x", "gps_time"),
    made=dt.date(2020, 5, 6),
    count=7,
):
    return SimpleNamespace(
        parse_crs=lambda: None if crs is None else CRS(crs), mins=np.array(mins), maxs=np.array(maxs), vlrs=vlrs, point_count=count,
        creation_date=made, global_encoding=SimpleNamespace(gps_time_type=gps), point_format=SimpleNamespace(dimension_names=names),
    )  # fmt: skip


def checked(*, own=None, metres=None, **more):
    found = _checked_header(Path("a.las"), las(**more), remarks := Remarks(), crs=own, metres=metres)
    return found, [one.text for one in remarks.faults]


def test_what_a_header_says():
    found, faults = checked()
    assert faults == []
    assert found == TileHeader(
        Path("a.las"), CRS("EPSG:32632"), None, False, (1.0, 2.0, 3.0, 4.0), 7, dt.date(2020, 5, 6), False
    )
    assert checked(gps=1)[0].gps_days is True
    compound, _ = checked(crs="EPSG:32632+5703")
    assert (compound.system, compound.metres, compound.unit_given) == (CRS("EPSG:32632"), 1.0, True)
    feet, _ = checked(crs="EPSG:2263+6360")
    assert feet.metres == pytest.approx(1200 / 3937)
    assert checked(metres=0.3048)[0].metres == 0.3048
    assert checked(crs=None, own=CRS("EPSG:28992"))[0].system == CRS("EPSG:28992")
    assert checked(mins=(3.0, 4.0, 0.0))[0].bounds == (3, 4, 3, 4)


@pytest.mark.parametrize(("more", "words"), [
    ({"crs": None}, "does not say in which coordinate system it is; its source names one: say it as --crs EPSG:28992"),
    ({"crs": 'LOCAL_CS["a garden", UNIT["metre", 1]]'}, "has the coordinate system 'a garden', which is of no place on earth; say it with --crs"),
    ({"mins": (3.1, 2, 0)}, "cannot be read: it is cut off"), ({"mins": (1, 4.1, 0)}, "cannot be read: it is cut off"),
    ({"maxs": (nan, 4, 0)}, "cannot be read: it is cut off"), ({"maxs": (3, np.inf, 0)}, "cannot be read: it is cut off"),
    ({"crs": "EPSG:2263"}, "measures in feet across and does not say what its heights are in; say it: --z-unit"),
])  # fmt: skip
def test_a_header_that_will_not_do(more, words):
    found, (told,) = checked(**more)
    assert found is None
    assert told.startswith(words)
    if more.get("crs") == "EPSG:2263":
        assert checked(**more, metres=0.3048)[0].metres == 0.3048


def keyed(*pairs):
    return [
        SimpleNamespace(),
        SimpleNamespace(geo_keys=[SimpleNamespace(id=name, value_offset=value) for name, value in pairs]),
    ]


@pytest.mark.parametrize(("vlrs", "metres"), [
    (keyed((1024, 1), (4099, 9001)), 1.0), (keyed((4099, 9002)), 0.3048), (keyed((4099, 9003)), 1200 / 3937), (keyed((4099, 9999)), None),
    (keyed((4098, 9002)), None), ([], None), ([SimpleNamespace(geo_keys=None)], None),
])  # fmt: skip
def test_the_unit_of_heights_by_the_keys_of_geotiff(vlrs, metres):
    assert _vertical_unit(CRS("EPSG:32632"), las(vlrs=vlrs)) == metres
    assert _vertical_unit(CRS("EPSG:32632+5703"), las(vlrs=keyed((4099, 9002)))) == 1.0


def test_the_unit_of_heights_by_a_projection_of_three_axes():
    three = CRS("EPSG:32632").to_3d()
    assert len(three.axis_info) == 3
    assert _vertical_unit(three, las()) == 1.0


@pytest.mark.parametrize(
    ("gps", "names", "tells"), [(1, ("gps_time",), True), (0, ("gps_time",), False), (1, ("x",), False)]
)
def test_whether_pulses_tell_their_day(gps, names, tells):
    assert _tells_days(las(gps=gps, names=names)) is tells
