"""Pixels to ground: by two points, by four corners, and what no camera sees."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from siteplan.land.picture_map import PictureMap, _area, _normalising, map_by_corners, map_by_pins, map_by_two

SQUARE = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]])


def square_to(corners: np.ndarray) -> np.ndarray:
    """Return the map from the unit square to a quadrilateral in closed form.

    P. Heckbert (1989), Fundamentals of Texture Mapping and Image Warping, section 2.2.3 (memory).
    """
    (x0, y0), (x1, y1), (x2, y2), (x3, y3) = corners
    dx1, dx2, sx = x1 - x2, x3 - x2, x0 - x1 + x2 - x3
    dy1, dy2, sy = y1 - y2, y3 - y2, y0 - y1 + y2 - y3
    whole = dx1 * dy2 - dx2 * dy1
    g, h = (sx * dy2 - dx2 * sy) / whole, (dx1 * sy - sx * dy1) / whole
    return np.array([[x1 - x0 + g * x1, x3 - x0 + h * x3, x0], [y1 - y0 + g * y1, y3 - y0 + h * y3, y0], [g, h, 1.0]])


def camera(tilt: float, height: float, turn: float, focal: float) -> np.ndarray:
    """Return the map from the ground to the pixels of a camera `height` above (0, 0), tilted down by `tilt` from the
    level.

    By hand: axes right, down, forward of the camera in ground axes; pixel = focal * (right, down) / forward + (2000,
    1500).
    """
    a, t = math.radians(tilt), math.radians(turn)
    forward = np.array([math.sin(t) * math.cos(a), math.cos(t) * math.cos(a), -math.sin(a)])
    right = np.array([math.cos(t), -math.sin(t), 0.0])
    down = np.cross(forward, right)
    axes = np.array([right, down, forward])
    ground = np.column_stack([axes[:, 0], axes[:, 1], axes @ np.array([0, 0, -height])])  # of (x, y, 1) on z = 0
    return np.array([[focal, 0, 2000], [0, focal, 1500], [0, 0, 1.0]]) @ ground


def moved(matrix: np.ndarray, points: np.ndarray) -> np.ndarray:
    x, y, w = matrix @ np.column_stack([points, np.ones(len(points))]).T
    return np.column_stack([x / w, y / w])


@settings(max_examples=60, deadline=None, database=None)
@given(st.floats(20, 80), st.floats(1.5, 30), st.floats(-180, 180), st.floats(1500, 6000))
def test_a_known_camera_is_found_again(tilt, height, turn, focal):
    seen = camera(tilt, height, turn, focal)
    far = height / math.tan(math.radians(tilt))  # where the middle of the picture meets the ground
    middle = far * np.array([math.sin(math.radians(turn)), math.cos(math.radians(turn))])
    corners = middle + 0.4 * min(far, height) * np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]])
    found = map_by_corners(moved(seen, corners), corners)
    points = middle + np.random.default_rng(1).uniform(-0.4, 0.4, (20, 2)) * min(far, height)
    assert found.to_plane(moved(seen, points)) == pytest.approx(points, abs=1e-6 * height)
    assert found.to_pixels(points) == pytest.approx(moved(seen, points), abs=1e-4)


@settings(max_examples=60, deadline=None, database=None)
@given(st.lists(st.floats(-12, 12), min_size=8, max_size=8))
def test_four_corners_agree_with_the_closed_form(shifts):
    corners = 50 * SQUARE + np.reshape(shifts, (4, 2))  # each at most a quarter of the side away: never dented
    found = map_by_corners(SQUARE * 100 * [1, -1] + [0, 100], corners)
    inside = np.array([[0.5, 0.5], [0.2, 0.7], [0.9, 0.1]])
    assert found.to_plane(inside * 100 * [1, -1] + [0, 100]) == pytest.approx(
        moved(square_to(corners), inside), abs=1e-6
    )


def test_more_than_four_corners_share_their_errors():
    seen = camera(40, 8, 0, 3000)
    grid = np.array([[x, y] for x in (-4, 0, 4) for y in (6, 9, 12)], dtype=float)
    pixels = moved(seen, grid) + np.random.default_rng(3).normal(0, 1.0, grid.shape)
    found = map_by_corners(pixels, grid)
    assert np.abs(found.to_plane(pixels) - grid).max() < 0.02  # a pixel is 3 to 7 mm there
    assert np.abs(found.to_plane(moved(seen, grid)) - grid).max() < 0.02


def test_what_lies_beyond_the_horizon_is_nowhere():
    seen = camera(20, 2, 0, 3000)
    corners = np.array([[-2.0, 4], [2, 4], [2, 8], [-2, 8]])
    found = map_by_corners(moved(seen, corners), corners)
    horizon = 1500 - 3000 * math.tan(math.radians(20))  # the camera is tilted down by 20 degrees
    assert np.isnan(found.to_plane([[2000, horizon - 5]])).all()
    assert found.to_plane([[2000, horizon + 5]])[0, 1] > 500
    assert np.isnan(found.to_pixels([[0, -3]])).all()  # behind whoever took the picture


def test_two_points_scale_and_turn():
    # by hand: 100 pixels to the right are 5 m to the north-east of (1, 2)
    step = 5 / math.sqrt(2)
    found = map_by_two([[10, 20], [110, 20]], [[1, 2], [1 + step, 2 + step]])
    assert found.to_plane([[10, 20], [60, 20], [10, 120]]) == pytest.approx(
        np.array([[1, 2], [1 + step / 2, 2 + step / 2], [1 + step, 2 - step]]), abs=1e-12
    )
    assert found.to_pixels(found.to_plane([[7, 9]])) == pytest.approx(np.array([[7, 9]]))
    assert not found.is_perspective(4000, 3000)


def test_a_shrunk_picture_lies_where_it_lay():
    found = map_by_corners([[0, 0], [400, 10], [380, 300], [20, 290]], [[0, 9], [6, 9], [6, 0], [0, 0]])
    assert found.is_perspective(400, 300)
    assert found.shrunk(0.25).to_plane([[50, 50]]) == pytest.approx(found.to_plane([[200, 200]]))


@pytest.mark.parametrize(("pixels", "points", "told"), [
    ([[0, 0], [1, 1], [2, 2], [0, 2]], SQUARE, "three of the four corners lie on a line in the picture"),
    (SQUARE * [1, -1], [[0, 0], [1, 0], [1, 0], [0, 1]], "or two in one place"),
    ([[0, 0]] * 4, SQUARE, "on a line in the picture"),
    (SQUARE * [1, -1], [[0, 0], [1, 1], [1, 0], [0, 1]], "do not go around on the ground"),
    (SQUARE * [1, -1], [[0, 0], [1, 0], [0.3, 0.3], [0, 1]], "do not go around on the ground"),
    (SQUARE * [1, -1], SQUARE[::-1], "one way around in the picture and the other way"),
])  # fmt: skip
def test_corners_that_no_camera_sees(pixels, points, told):
    with pytest.raises(ValueError, match=told):
        map_by_corners(pixels, points)


def test_more_corners_that_no_camera_sees():
    line = np.array([[one, 2.0 * one] for one in range(6)])
    with pytest.raises(ValueError, match="no photo shows these corners so"):
        map_by_corners(line, np.random.default_rng(2).uniform(0, 9, (6, 2)))


@pytest.mark.parametrize(
    ("pixels", "points"), [([[1, 1], [1, 1]], [[0, 0], [1, 0]]), ([[1, 1], [2, 1]], [[0, 0], [0, 0]])]
)
def test_two_points_in_one(pixels, points):
    with pytest.raises(ValueError, match="must lie apart"):
        map_by_two(pixels, points)


def test_a_map_alone():
    assert PictureMap(np.eye(3)).to_plane([[3, 4]]).tolist() == [[3.0, 4.0]]


@pytest.mark.parametrize(("bottom", "width", "height", "perspective"), [
    ([0, 0, 1.0], 4000, 3000, False),
    ([0.9e-9, 0, 1.0], 1000, 10, False),  # a change of scale by 0.9 and by 1.1 millionths
    ([1.1e-9, 0, 1.0], 1000, 10, True),
    ([0, 0.9e-9, 1.0], 10, 1000, False),
    ([0, 1.1e-9, 1.0], 10, 1000, True),
    ([0, -1.1e-9, 1.0], 10, 1000, True),
    ([1.1e-9, 0, 1.0], 10, 1000, False),
    ([1.1e-7, 0, 100.0], 1000, 10, True),  # the same matrix, a hundred times as large
    ([0.9e-7, 0, -100.0], 1000, 10, False),
])  # fmt: skip
def test_a_scale_that_changes_is_perspective(bottom, width, height, perspective):
    assert PictureMap(np.array([[1.0, 0, 0], [0, -1.0, 0], bottom])).is_perspective(width, height) is perspective


def test_pins_are_two_or_more():
    two = map_by_pins([[0, 0], [10, 0]], [[0, 0], [20, 0]])
    assert two.to_plane([[5, 5]]).tolist() == [[10, -10]]
    four = map_by_pins(SQUARE * [100, -100], SQUARE * [6, 4])
    assert four.to_plane([[50, -25]]) == pytest.approx(np.array([[3.0, 1.0]]))


@pytest.mark.parametrize(("aside", "told"), [(0.085, "on a line"), (0.095, "")])
@pytest.mark.parametrize("first", range(4))
def test_how_near_a_line_three_corners_are(aside, told, first):
    """A triangle 9 m long and as much aside: 0.38 and 0.43 m2; a hundredth of half of 9 x 9 m2 is 0.405."""
    thin = np.roll(np.array([[0.0, 0.0], [4.5, -aside], [9.0, 0.0], [4.5, 4.0]]), first, axis=0)
    for pixels, points, where in (
        (thin * [1, -1], SQUARE, "in the picture"),
        (SQUARE * [1, -1], thin, "on the ground"),
    ):
        if told:
            with pytest.raises(ValueError, match=f"three of the four corners lie on a line {where}"):
                map_by_corners(pixels, points)
        else:
            assert map_by_corners(pixels, points).to_plane(pixels) == pytest.approx(points, abs=1e-9)


def test_mirrored_corners_are_refused_both_ways():
    for pixels, points in ((SQUARE, SQUARE), (SQUARE[::-1] * [1, -1], SQUARE)):
        with pytest.raises(ValueError, match="one way around in the picture and the other way on the ground"):
            map_by_corners(pixels, points)
    assert map_by_corners(SQUARE[::-1] * [1, -1], SQUARE[::-1]).to_plane([[0.5, -0.5]]) == pytest.approx(
        np.array([[0.5, 0.5]])
    )


def test_five_corners_of_which_one_lies_beyond_the_horizon():
    seen = camera(20, 2, 0, 3000)
    corners = np.array([[-2.0, 4], [2, 4], [2, 8], [-2, 8], [0.5, -30.0]])  # the last is behind whoever took it
    with pytest.raises(ValueError, match="no photo shows these corners so"):
        map_by_corners(moved(seen, corners), corners)


def test_what_lies_on_the_horizon_is_nowhere():
    on_the_horizon, below = PictureMap(np.array([[1.0, 0, 0], [0, 1, 0], [0, 1, 0]])).to_plane([[3, 0], [3, 2]])
    assert np.isnan(on_the_horizon).all()
    assert below.tolist() == [1.5, 1.0]


def test_points_are_centred_and_scaled_before_they_are_fitted():
    """Around (3, 4), each the root of five away: scaled by the root of 2/5."""
    scale = math.sqrt(0.4)
    corners = np.array([[1.0, 3.0], [5.0, 3.0], [5.0, 5.0], [1.0, 5.0]])
    assert _normalising(corners) == pytest.approx(
        np.array([[scale, 0, -3 * scale], [0, scale, -4 * scale], [0, 0, 1]])
    )
    assert _area(corners) == 8.0
    assert _area(corners[::-1]) == -8.0
