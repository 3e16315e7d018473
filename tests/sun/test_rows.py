"""Rows of tall plants in a bed: where they stand and what they take, by hand and by law."""

from __future__ import annotations

import dataclasses

import pytest

from siteplan.land.features import Bed
from siteplan.land.outline import rectangle
from siteplan.place.headings.headings import compare_headings
from siteplan.say.placing import heading_sentence
from siteplan.sun.bed_sun import bed_sun, tier_cells
from siteplan.sun.engine import sun_engine
from siteplan.sun.obstacles.plant_rows import row_outlines, row_prisms


@pytest.fixture(scope="module")
def open_yard(tiny_yard):
    """Return the yard with nothing standing in it: 45 N."""
    return dataclasses.replace(
        tiny_yard, buildings=(), trees=(), hedges=(), fences=(), gates=(), beds=(), terrain=None, skyline=None
    )


def rowed(heading=90.0, rows="along", crop_height=1.6, spacing=0.8):
    outline = rectangle(0, 0, length=4.8, width=1.2, heading=heading)
    return Bed(id="b", outline=outline, height=0.4, wall_thickness=0.0, crop_height=crop_height, rows=rows,
               row_spacing=spacing)  # fmt: skip


def test_rows_are_as_many_as_fit(tiny_yard):
    assert len(row_outlines(rowed())) == 1  # 1.2 m across, 0.8 m apart
    assert len(row_outlines(rowed(rows="across"))) == 6  # 4.8 m along
    assert len(row_prisms(tiny_yard, dataclasses.replace(rowed(), rows=None))) == 0


def test_points_stand_between_the_rows(tiny_yard):
    bed = rowed(rows="across")
    ((_, cells),) = tier_cells(tiny_yard, bed)
    assert len(cells) > 20
    for outline in row_outlines(bed):
        west, _, east, _ = outline.bounds
        assert not ((cells[:, 0] > west) & (cells[:, 0] < east)).any()


def test_rows_take_sun_and_taller_ones_more(open_yard):
    engine = sun_engine(open_yard)
    hours = [
        bed_sun(open_yard, bed, engine).season_sun_h
        for bed in (dataclasses.replace(rowed(), rows=None), rowed(crop_height=0.8), rowed(crop_height=1.6))
    ]
    assert hours[0] > hours[1] + 0.1
    assert hours[1] > hours[2] + 0.1
    winter = bed_sun(open_yard, rowed(), engine).month_sun_h[11]
    bare = bed_sun(open_yard, dataclasses.replace(rowed(), rows=None), engine).month_sun_h[11]
    assert winter == pytest.approx(bare, abs=0.02)  # no leaves stand in December; a quarter degree of azimuth


def test_headings_count_the_rows_and_say_what_the_other_way_brings(open_yard):
    engine = sun_engine(open_yard)

    def sun_at(bed):
        return bed_sun(open_yard, bed, engine)

    bed = rowed(heading=90.0, rows="across", spacing=0.6)
    found = compare_headings(open_yard, bed, sun_at, fits=lambda _outline: None, step=45)
    bare = compare_headings(
        open_yard, dataclasses.replace(bed, rows=None), sun_at, fits=lambda _outline: None, step=45
    )
    assert (found.season_h < bare.season_h - 0.5).all()
    assert found.season_h.max() - found.season_h.min() > bare.season_h.max() - bare.season_h.min() + 0.05
    assert "rows along would bring" in heading_sentence(found)


def test_rows_want_a_height():
    with pytest.raises(ValueError, match="give crop_height"):
        Bed(id="b", outline=rowed().outline, height=0.4, rows="along")
