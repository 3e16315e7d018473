"""Headings and shifts: by hand, with obstacles, at both ends of the earth."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, affinity, box

from siteplan.land.features import Bed, Building, Fence, Hedge
from siteplan.land.grid import grid_over
from siteplan.land.outline import rectangle, smallest_rectangle
from siteplan.place.headings import headings
from siteplan.place.headings.alignment import Edges, edges, headings_to_try, square_to, turn_between
from siteplan.place.headings.headings import Headings, _best, compare_headings, headings_of, turned
from siteplan.place.headings.shifts import compare_shifts
from siteplan.place.limits.limits import Limit, fit_check, limits
from siteplan.say.placing import heading_sentence, score_text, shift_sentence


def anywhere(_outline):
    return None


SHED = Limit(
    kind="building", feature="shed", ground=box(0, 0, 1, 1), bare=box(0, 0, 1, 1), grid=grid_over(box(0, 0, 1, 1), 1)
)


def nowhere(_outline):
    return SHED


def a_bed(heading=0.0, x=5.0, y=4.0):
    return Bed(id="b", outline=rectangle(x, y, length=3, width=1, heading=heading), height=0.4)


def test_a_band_of_sun_turns_the_bed_along_it(yard, sun_of):
    # 4 h less 1 h for each metre from the line y = 4: along it the bed has 3.9 h or so, across it 3.25 h. Its points
    # stand in the middles of fifths: |y| = 0, 0.6, 0.6, 1.2, 1.2 across (mean 0.72), 0, 0.2, 0.2, 0.4, 0.4 along (0.24)
    site = yard()
    found = compare_headings(site, a_bed(), sun_of(site, lambda x, y: 4 - np.abs(y - 4) + 0 * x), fits=anywhere)
    assert found.heading.tolist() == list(range(0, 180, 5))
    assert found.best_heading == 90.0
    assert found.season_h[found.current] == pytest.approx(4 - 0.72)
    assert found.season_h[18] == pytest.approx(4 - 0.24)
    assert found.worst_h[18] == pytest.approx(4 - 0.4)
    assert found.orientation_score == pytest.approx(100 * (4 - 0.72) / (4 - 0.24))
    assert found.evenness[18] == pytest.approx(3.6 / 3.76)
    assert found.month_h.shape == (36, 12)
    assert heading_sentence(found) == (
        "turned to 90° (east to west) it gets 0.5 h more sun a day over the season, and 0.8 h more at its darkest spot"
    )


@pytest.mark.parametrize(("need", "tie"), [(None, 0.625), (3.0, 1.25), (12.0, 0.3125)])
def test_a_tie_is_as_many_hours_for_every_bed(yard, sun_of, monkeypatch, need, tie):
    """0.05 h of the site's plenty of 8 h are 0.625 of 100 points; a bed that needs half of the site's 6 h has 4 h."""
    ties = []
    monkeypatch.setattr(headings, "_best", lambda *_, tie: ties.append(tie) or 0)
    bed = dataclasses.replace(a_bed(), need=need)
    compare_headings(yard(), bed, sun_of(yard(), lambda x, _: 4 + 0 * x), fits=anywhere)
    assert ties == [pytest.approx(tie)]


def test_on_open_ground_turning_makes_no_difference(yard, sun_of):
    site = yard()
    found = compare_headings(site, a_bed(37.0), sun_of(site, lambda x, y: 7 + 0 * x + 0 * y), fits=anywhere)
    assert heading_sentence(found) == "turning it makes no difference here (0.0 h at most)"
    assert found.best_heading == pytest.approx(37.0)
    assert found.orientation_score == 100.0
    assert len(found.heading) == 37  # its own beside the steps
    assert found.heading[found.current] == pytest.approx(37.0)


def test_a_bed_that_lies_best_already_is_told_what_the_worst_would_cost(yard, sun_of):
    site = yard()
    found = compare_headings(site, a_bed(90.0), sun_of(site, lambda x, y: 4 - np.abs(y - 4) + 0 * x), fits=anywhere)
    assert found.orientation_score == 100.0
    assert heading_sentence(found) == "no heading that fits is better; the worst would cost it 0.5 h a day"


def test_a_bed_without_any_sun_is_not_divided_by_it(yard, sun_of):
    site = yard()
    found = compare_headings(site, a_bed(), sun_of(site, lambda x, y: 0 * x + 0 * y), fits=anywhere)
    assert found.orientation_score is None  # 100 would read as praise
    assert score_text(found) == "—"
    assert heading_sentence(found).startswith("no sun to speak of reaches it at any heading that fits")
    assert found.evenness.tolist() == [1.0] * 36


def test_sun_at_headings_that_do_not_fit_gives_no_score(yard, sun_of):
    # light in a band that the bed reaches only when it lies east to west, and only its own heading fits
    site = yard()
    sun = sun_of(site, lambda x, y: np.where(np.abs(x - 5) > 0.9, 5.0, 0.0) + 0 * y)
    own = a_bed().outline
    found = compare_headings(site, a_bed(), sun, fits=lambda outline: None if outline.equals(own) else SHED)
    assert found.season_h.max() > 1
    assert found.orientation_score is None


def test_only_headings_that_fit_are_advised(yard, sun_of):
    # walls 1.5 m to the east and west of the bed's long sides: it can lean a little, but not lie across
    walls = (
        Building(id="west wall", outline=box(2, 0, 3, 8), height=2),
        Building(id="east wall", outline=box(7, 0, 8, 8), height=2),
    )
    site = yard(buildings=walls)
    fits = fit_check(limits(site, grid_over(site.boundary, 0.5), width=1.0))
    found = compare_headings(site, a_bed(), sun_of(site, lambda x, y: 4 - np.abs(y - 4) + 0 * x), fits=fits)
    assert not found.fits[18]
    assert "wall" in found.obstacle[18].feature
    assert found.fits[0]
    allowed = found.heading[found.fits]
    assert found.best_heading in allowed
    assert found.best_heading not in {0.0, 90.0}
    # 3 m by 1 m leaned by t is 3 sin t + cos t wide: 4 m less twice 0.61 m hold it up to t = 43 degrees
    assert allowed.max() == 175.0
    assert max(heading for heading in allowed if heading < 90) == 40.0


def test_where_no_heading_fits_the_sentence_says_so(yard, sun_of):
    site = yard()
    found = compare_headings(site, a_bed(), sun_of(site, lambda x, y: x + 0 * y), fits=nowhere)
    assert not found.fits.any()
    assert found.best_heading == 0.0
    assert heading_sentence(found).endswith("the spot itself is at fault")
    dark = compare_headings(site, a_bed(), sun_of(site, lambda x, y: 0 * x + 0 * y), fits=nowhere)
    assert heading_sentence(dark).endswith("no sun to speak of reaches it either, so that there is no score")


@settings(deadline=None, max_examples=25)
@given(heading=st.floats(0, 179.9), to=st.floats(0, 179.9))
def test_turning_keeps_size_and_middle(heading, to):
    bed = a_bed(heading)
    found = turned(bed, to)
    length, width, lies = smallest_rectangle(found.outline)
    assert (length, width) == pytest.approx((3, 1), abs=1e-6)  # corners are kept to a nanometre
    assert min(abs(lies - to), 180 - abs(lies - to)) < 1e-4
    assert found.outline.centroid.distance(bed.outline.centroid) < 1e-6


@settings(deadline=None, max_examples=25)
@given(heading=st.floats(0, 179.99))
def test_its_own_heading_is_always_compared(heading):
    headings, current = headings_of(a_bed(heading))
    turn = abs(headings[current] - heading)
    assert min(turn, 180 - turn) < 1e-4
    assert len(headings) in {36, 37}
    assert (np.diff(headings) > 0.49).all()


def test_a_free_shape_is_turned_as_it_is(yard, sun_of):
    corner = box(4, 3, 6, 4).union(box(4, 3, 5, 5))
    bed = dataclasses.replace(a_bed(), outline=corner)
    assert turned(bed, 45).outline.area == pytest.approx(corner.area)
    site = yard()
    assert compare_headings(site, bed, sun_of(site, lambda x, y: x + 0 * y), fits=anywhere).fits.all()


def test_moving_up_the_ramp(yard, sun_of):
    site = yard()
    found = compare_shifts(a_bed(), sun_of(site, lambda x, y: 4 + 0.45 * x + 0 * y), fits=anywhere)
    gains = {step.direction: step.gain_h for step in found.steps}
    assert gains["east"] == pytest.approx(0.45)
    assert gains["west"] == pytest.approx(-0.45)
    assert gains["north"] == pytest.approx(0.0)
    assert gains["northeast"] == pytest.approx(0.45 * np.sqrt(0.5))
    assert found.best is not None
    assert (found.best.direction, found.best.distance) == ("east", 2.0)
    assert shift_sentence(found, "metric") == "moving it 2 m east gives 0.9 h more sun a day"


def test_steps_that_do_not_fit_are_not_advised(yard, sun_of):
    site = yard()
    bed = a_bed()
    east = affinity.translate(bed.outline, 0.7, 0)

    def fits(outline):
        return SHED if outline.centroid.x > east.centroid.x + 0.05 else None

    found = compare_shifts(bed, sun_of(site, lambda x, y: 4 + 0.45 * x + 0 * y), fits=fits)
    assert found.best is not None
    assert found.best.direction in {"northeast", "southeast"}
    assert found.best.distance == 1.0
    assert next(step for step in found.steps if step.direction == "east").obstacle is SHED


def test_moving_on_even_ground_brings_nothing(yard, sun_of):
    site = yard()
    even = sun_of(site, lambda x, y: 6 + 0 * x + 0 * y)
    found = compare_shifts(a_bed(), even, fits=anywhere)
    assert found.best is None
    assert shift_sentence(found, "metric") == "moving it 1 m brings no more sun in any direction"
    nowhere_to = compare_shifts(a_bed(), even, fits=nowhere)
    assert shift_sentence(nowhere_to, "metric") == "it cannot be moved 1 m in any direction"


def test_a_bed_that_only_lies_as_it_does_is_said_to(yard, sun_of):
    site, bed = yard(), a_bed(37.0)
    sun_at = sun_of(site, lambda x, y: 4 - np.abs(y - 4) + 0 * x)

    def as_it_lies(outline):
        return None if outline.equals(bed.outline) else nowhere(outline)

    def otherwise(outline):
        return nowhere(outline) if outline.equals(bed.outline) else None

    found = compare_headings(site, bed, sun_at, fits=as_it_lies)
    assert heading_sentence(found) == "it cannot be turned here: no other heading fits"
    # the other way about: it does not fit as it lies, and what fits is compared with where it is
    found = compare_headings(site, bed, sun_at, fits=otherwise)
    assert found.best_heading == 90.0
    assert heading_sentence(found).startswith("turned to 90° (east to west) it gets 0.")


@pytest.mark.parametrize(("slope", "direction", "distance"), [
    (0.04, None, None),  # less than 0.05 h a metre is not worth it
    (0.06, "east", 2.0),
])  # fmt: skip
def test_a_step_that_gains_next_to_nothing_is_none(yard, sun_of, slope, direction, distance):
    site = yard()
    found = compare_shifts(a_bed(), sun_of(site, lambda x, y: 4 + slope * x + 0 * y), fits=anywhere)
    assert (found.best and (found.best.direction, found.best.distance)) == (direction and (direction, distance))
    assert (found.further is None) is (direction is None)


@pytest.mark.parametrize(("more", "distance"), [(0.04, 1.0), (0.06, 2.0)])
def test_a_second_step_has_to_gain_as_much(yard, sun_of, more, distance):
    """A step to the east gains 0.2 h; of the second, half of the bed is beyond a kink."""
    site, slope = yard(), 2 * (more - 0.1)
    field = sun_of(site, lambda x, y: 4 + 0.2 * np.minimum(x, 6.5) + slope * np.maximum(x - 6.5, 0) + 0 * y)
    found = compare_shifts(a_bed(), field, fits=anywhere)  # it reaches from x = 4.5 to 5.5
    assert found.further.distance == 2.0
    assert found.further.gain_h == pytest.approx(0.2 + more)
    assert found.best.distance == distance
    assert found.best.gain_h == pytest.approx(0.2 if distance == 1 else 0.2 + more)
    assert found.steps[2].worst_gain_h == pytest.approx(0.2)
    assert found.bed == "b"


def test_a_second_step_that_does_not_fit_is_not_taken(yard, sun_of):
    site, bed = yard(), a_bed()
    found = compare_shifts(
        bed, sun_of(site, lambda x, y: 4 + 0.45 * x + 0 * y),
        fits=lambda outline: SHED if outline.centroid.x > 6.5 else None,
    )  # fmt: skip
    assert (found.best.direction, found.best.distance, found.further.obstacle) == ("east", 1.0, SHED)


def test_a_step_of_another_length(yard, sun_of):
    site = yard()
    found = compare_shifts(a_bed(), sun_of(site, lambda x, y: 0.5 * y + 0 * x), fits=anywhere, distance=0.3)
    assert [step.distance for step in found.steps] == [0.3] * 8
    assert (found.best.direction, found.best.distance) == ("north", 0.6)
    where = {step.direction: step.outline.centroid.coords[0] for step in found.steps}
    half = 0.3 * 0.5**0.5
    assert where["north"] == pytest.approx((5, 4.3))
    assert where["southwest"] == pytest.approx((5 - half, 4 - half))
    assert where["southeast"] == pytest.approx((5 + half, 4 - half))


def line_edges(*lines):
    """Return edges of lines, each two ends: their headings and lengths by hand."""
    ends = np.array(lines, dtype=float)
    run = ends[:, 1] - ends[:, 0]
    heading = np.degrees(np.arctan2(run[:, 0], run[:, 1])) % 180
    owners = tuple(("fence", f"f{k}") for k in range(len(lines)))
    return Edges(owners, shapely.linestrings(ends), heading, np.hypot(run[:, 0], run[:, 1]))


def test_the_edges_of_a_property(yard):
    features = {
        "buildings": (
            Building(id="b", outline=box(2, 2, 4, 3.4), height=2),
        ),  # 2 m and 1.4 m: two sides are too short
        "fences": (Fence(id="f", line=LineString([(6, 1), (7.5, 1), (7.5, 2.4), (9, 3.9)]), height=1),),
        "hedges": (
            Hedge(id="h", outline=box(14.5, 0, 14.9, 5), height=1),
            Hedge(id="far", outline=box(15.5, 0, 16, 5), height=1),
        ),
    }
    found = edges(yard(**features))
    told = sorted((owner, round(length, 6), heading) for owner, length, heading
                  in zip(found.owner, found.length.tolist(), found.heading.tolist(), strict=True))  # fmt: skip
    assert told == [
        (("boundary", ""), 8, 0), (("boundary", ""), 8, 0), (("boundary", ""), 10, 90), (("boundary", ""), 10, 90),
        (("building", "b"), 2, 90), (("building", "b"), 2, 90), (("fence", "f"), 1.5, 90),
        (("fence", "f"), round(4.5**0.5, 6), 45), (("hedge", "h"), 5, 0), (("hedge", "h"), 5, 0),
    ]  # fmt: skip


def test_the_nearest_edge(yard):
    walls = line_edges([(0, 0), (0, 9)], [(4, 0), (4, 9)], [(2, 20), (9, 20)])
    assert walls.nearest(1, 4, within=8.0) == 0
    assert walls.nearest(3, 4, within=8.0) == 1
    assert walls.nearest(2, 4, within=8.0) == 0  # as near: the first
    assert walls.nearest(11.9, 4, within=8.0) == 1
    assert walls.nearest(12.1, 4, within=8.0) is None
    nothing = Edges((), np.array([], dtype=object), np.array([]), np.array([]))
    assert nothing.nearest(0, 0, within=8.0) is None
    assert square_to(nothing, 0, 0, 90) is None


@pytest.mark.parametrize(("x", "heading", "square"), [
    (2, 0, True), (2, 90, True), (2, 0.59, True), (2, 0.61, False), (2, 179.5, True), (2, 89.41, True), (2, 45, False),
    (7.9, 90, True), (8.1, 90, False),
])  # fmt: skip
def test_square_to_an_edge(x, heading, square):
    assert (square_to(line_edges([(0, 0), (0, 9)]), x, 4, heading) == ("fence", "f0")) is square


@pytest.mark.parametrize(("lines", "options", "added"), [
    ([[(0, 0), (3, 4)]], {}, [36.87, 126.87]),
    ([[(0, 0), (4, -3)]], {}, [36.87, 126.87]),  # square to it: heading 126.87
    ([[(0, 0), (0, 4)]], {}, []),  # is tried already
    ([[(0, 0), (3, 4)], [(9, 9), (12, 13.02)]], {}, [36.87, 126.87]),  # 36.73 degrees is no other heading
    ([[(0, 0), (3, 4)], [(9, 9), (12, 13.1)]], {}, [36.19, 36.87, 126.19, 126.87]),
    ([[(0, 0), (1.2, 1.6)], [(9, 9), (9.8, 10.8)], [(0, 0), (0.9, 1.2)]], {"most": 1}, [36.87, 126.87]),  # 3.5 m of 1.97 m
    ([[(0, 0), (0.9, 1.2)], [(9, 9), (9.8, 10.8)]], {"most": 1}, [23.96, 113.96]),
    ([[(0, 0), (3, 4)]], {"step": 45.0}, [36.87, 126.87]),
])  # fmt: skip
def test_headings_along_and_across_the_longest_edges(lines, options, added):
    found = headings_to_try(line_edges(*lines), **options)
    steps = np.arange(0, 180, options.get("step", 5.0))
    assert found == pytest.approx(np.sort([*steps, *added]), abs=0.01)


@pytest.mark.parametrize(("one", "other", "period", "turn"), [
    (175, 5, 180, 10), (5, 175, 180, 10), (40, 60, 180, 20), (0, 90, 180, 90), (0, 100, 180, 80), (0, 360, 180, 0), (10, 80, 90, 20),
    (10, 190, 360, 180),
])  # fmt: skip
def test_the_turn_between_two_directions(one, other, period, turn):
    assert turn_between(one, other, period=period) == pytest.approx(turn)


@pytest.mark.parametrize(("score", "season", "free", "current", "best"), [
    ([50, 60, 70], [5, 6, 7], [1, 1, 1], 0, 2),
    ([50, 60, 70], [5, 6, 7], [1, 1, 0], 0, 1),  # the best does not fit
    ([50, 60, 70], [5, 6, 7], [0, 0, 0], 1, 1),
    ([69.4, 60, 70], [5, 6, 7], [1, 1, 1], 0, 0),  # within a tie its own stays
    ([69.3, 60, 70], [5, 6, 7], [1, 1, 1], 0, 2),
    ([69.4, 60, 70], [5, 6, 7], [0, 1, 1], 0, 0),  # where it is, also if it does not fit there
    ([50, 69.5, 70, 69.2], [5, 7.1, 7, 9], [1, 1, 1, 1], 0, 1),  # of those in a tie the sunniest
    ([50, 69.5, 70], [5, 7.0, 7.0], [1, 1, 1], 0, 1),  # and of equals the first
])  # fmt: skip
def test_the_best_heading(score, season, free, current, best):
    free = np.array(free, dtype=bool)
    assert _best(np.array(score, dtype=float), np.array(season, dtype=float), free, current, tie=0.625) == best


def headings_with(season, *, current=0, fits=(1, 1, 1), score=None):
    season = np.array(season, dtype=float)
    return Headings(
        bed="b", heading=np.array([0.0, 60.0, 120.0]), season_h=season, worst_h=season / 2, month_h=np.zeros((3, 12)),
        score=season * 10 if score is None else np.array(score, dtype=float),
        obstacle=tuple(None if one else SHED for one in fits), current=current, best=2,
    )  # fmt: skip


@pytest.mark.parametrize(("season", "fits", "current", "score"), [
    ([4, 5, 8], (1, 1, 1), 0, 50.0), ([4, 5, 8], (1, 1, 0), 0, 80.0), ([8, 5, 4], (1, 1, 1), 0, 100.0),
    ([8, 5, 4], (0, 1, 1), 0, 100.0), ([0.04, 0.04, 0.04], (1, 1, 1), 0, None), ([0.04, 0.04, 0.06], (1, 1, 1), 0, 200 / 3),
    ([0.04, 0.04, 0.06], (1, 1, 0), 0, None), ([0.06, 0.04, 0.04], (0, 0, 0), 0, 100.0), ([4, 5, 8], (0, 0, 0), 1, 100.0),
])  # fmt: skip
def test_the_score_of_a_heading_against_the_best_that_fits(season, fits, current, score):
    found = headings_with(season, fits=fits, current=current)
    assert found.orientation_score == (None if score is None else pytest.approx(score))
    assert found.sunless is (score is None)
    assert found.best_heading == 120.0
    assert found.fits.tolist() == [bool(one) for one in fits]


def test_how_even_the_sun_is_at_each_heading():
    assert headings_with([4, 0, 0.2]).evenness.tolist() == [0.5, 1.0, 0.5]


@pytest.mark.parametrize(("own", "step", "headings", "current"), [
    (92.0, 45.0, [0, 45, 90, 92, 135], 3), (90.0, 45.0, [0, 45, 90, 135], 2), (0.0, 60.0, [0, 60, 120], 0),
    (90.4, 45.0, [0, 45, 90.4, 135], 2), (90.6, 45.0, [0, 45, 90, 90.6, 135], 3), (179.6, 60.0, [60, 120, 179.6], 2),
])  # fmt: skip
def test_the_headings_compared_hold_its_own(own, step, headings, current):
    """Steps within half a degree of its own give way to it."""
    found, at = headings_of(a_bed(own), step=step)
    assert found == pytest.approx(headings, abs=1e-6)
    assert at == current


def test_rows_the_other_way_are_compared(yard, sun_of):
    site, gains = yard(), {"along": 4.0, "across": 4.5, None: 3.0}
    even = sun_of(site, lambda x, y: 4 + 0 * x + 0 * y)

    def sun_at(bed):
        return dataclasses.replace(even(bed), season_sun_h=gains[bed.rows])

    for rows, gain in (("along", 0.5), ("across", -0.5), (None, None)):
        bed = dataclasses.replace(a_bed(), rows=rows, crop_height=None if rows is None else 1.5)
        found = compare_headings(site, bed, sun_at, fits=anywhere)
        assert (found.rows, found.rows_gain_h) == (rows, gain)
