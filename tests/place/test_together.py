"""What several new beds take from each other: with a made-up sun, and the exact one."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from shapely import LineString, box

from siteplan.land.features import Bed
from siteplan.land.grid import grid_over
from siteplan.land.site import PlaceSettings
from siteplan.place.limits.barrow_way import _connected, barrow_way
from siteplan.place.search.mutual_shade import shaded_together
from siteplan.place.search.search import find_places
from siteplan.place.search.several_sizes import find_several, places_of_sizes
from siteplan.say.place_reasons import result_sentences, why


def bed_on(place):
    return Bed(id=f"place {place.rank}", outline=place.outline, height=0.4)


def test_what_is_lost_is_told_and_the_hours_are_with_all_beds(yard, maps_from, sun_of):
    # each bed beside it takes 0.3 h
    site = yard(place=PlaceSettings(length=2.0, width=1.0, height=0.4, count=2))
    field = lambda x, y: 6 + 0 * x + 0 * y  # noqa: E731
    sun = sun_of(site, field)
    found = find_places(site, maps_from(site, field), exact=sun)

    def beside(bed, others):
        alone = sun(bed)
        cells = alone.cell_season_h - 0.3 * len(others)
        months = np.full((12, len(cells)), 5.0)  # in spring less
        return dataclasses.replace(alone, cell_season_h=cells, season_sun_h=float(cells.mean()), cell_month_h=months)

    told = shaded_together(found, [bed_on(place) for place in found.places], beside)
    assert [place.season_sun_h for place in told.places] == pytest.approx([5.7, 5.7])
    assert why(told.places[0], told, "metric")[0].startswith(
        "5.7 h of sun a day over the season, 5.7 h at its darkest spot; less than"
    )
    assert result_sentences(told, "metric")[-1].endswith("bed 1 loses most by it: 0.3 h a day")
    months = np.zeros(12)
    months[3] = 1.0
    spring = shaded_together(found, [bed_on(one) for one in found.places], beside, month_share=months)
    assert spring.places[0].season_sun_h == pytest.approx(5.0)


def test_one_bed_alone_and_beds_by_the_map_stay_as_they_are(yard, maps_from, sun_of):
    site = yard(place=PlaceSettings(length=2.0, width=1.0, height=0.4, count=2))
    maps = maps_from(site, lambda x, y: 6 + 0 * x + 0 * y)
    by_map = find_places(site, maps)
    assert shaded_together(by_map, [], lambda _bed, _others: None) is by_map


def test_beds_of_several_sizes_are_one_answer_with_a_proven_bound(yard, maps_from, sun_of):
    # sun rises eastward by 0.2 h a metre: the larger bed takes the best spot, which the smaller would have had alone
    site = yard(cell=0.25)
    field = lambda x, y: 4 + 0.2 * x + 0 * y  # noqa: E731
    maps, sun = maps_from(site, field), sun_of(site, field)
    sizes = [(1.0, 1.0), (6.0, 1.0)]
    found = places_of_sizes(site, maps, sizes, exact=sun)
    singly = find_several(site, maps, sizes, exact=sun)
    assert [place.rank for place in found.places] == [1, 2]
    assert [round(place.length, 3) for place in found.places] == [1.0, 6.0]
    assert [place.merit for place in found.places] == [one.places[0].merit for one in singly]
    alone = [find_places(site, maps, length=a, width=b, count=1, exact=sun).places[0].merit for a, b in sizes]
    short = np.mean([best - place.merit for best, place in zip(alone, found.places, strict=True)])
    assert found.gap == pytest.approx(max(short, 0.0))


def test_a_size_that_does_not_fit_says_so(yard, maps_from):
    site = yard()
    found = places_of_sizes(site, maps_from(site, lambda x, y: 6 + 0 * x + 0 * y), [(2.0, 1.0), (30.0, 9.0)])
    assert [place.length for place in found.places] == [2.0]
    assert 0 < found.free < found.scanned  # of both sizes together: none is free for the second
    assert "bed 2: no bed of 30.0 m by 9.00 m fits" in " ".join(result_sentences(found, "metric"))


def test_two_beds_that_would_shut_a_passage_together_are_not_both_put_there(yard, maps_from):
    # a lot 4.6 m wide with a sunny strip across at y = 8: end to end two beds of 2 m fit on it, and shut the way north
    boundary = box(0, 0, 4.6, 20)
    site = yard(boundary, cell=0.25, place=PlaceSettings(length=2.0, width=1.0, height=0.4, count=2, aisle=0.3,
                wall_setback=0.0, boundary_setback=0.0))  # fmt: skip
    grid = grid_over(boundary, 0.25)
    y = np.meshgrid(grid.x, grid.y)[1]
    minutes = 1 + 0.1 * y
    field = lambda x, y: np.where(np.abs(y - 8) < 0.8, 8.0, np.where(np.abs(y - 8) < 4, 2.0, 7.0)) + 0 * x  # noqa: E731
    found = find_places(site, maps_from(site, field), minutes=minutes, exact=None)
    way = barrow_way(site, grid, minutes)
    assert len(found.places) == 2
    union = found.places[0].outline.union(found.places[1].outline)
    assert not way.blocks_way(union)
    heedless = find_places(site, maps_from(site, field)).places
    assert way.blocks_way(heedless[0].outline.union(heedless[1].outline))
    assert found.places[0].outline.intersects(LineString([(0, 8), (4.6, 8)]))  # one of them has the sunny strip


def test_ground_that_is_joined_to_a_source_is_free_as_the_source_is():
    free = np.array([[1, 1, 0, 1], [0, 0, 0, 1], [0, 0, 0, 1]], dtype=bool)
    assert _connected(free, 0).tolist() == [[True, True, False, False], [False] * 4, [False] * 4]
    assert _connected(free, 3).sum() == 3
    assert not _connected(free, 2).any()  # barred itself
    assert not _connected(free, -1).any()  # there is no source, and not the last cell
