"""Where on the ground does each pixel of a picture lie?

A projective map from pixels to metres: two points scale and turn the picture, four straighten a photo taken at a
slant. The ground is taken to be flat.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

THINNEST = 0.01  # least area of a triangle of the corners, over that of a square of the longest side
AFFINE = 1e-6  # change of scale across the picture below which the map counts as affine


@dataclass(frozen=True, eq=False)
class PictureMap:
    """A map from pixels to the plane.

    Attributes
    ----------
    matrix : ndarray, shape (3, 3)
        Of homogeneous coordinates: (x w, y w, w) = matrix (u, v, 1). Pixels: u to the right and v down from the
        picture's corner; the middle of the first pixel is (0.5, 0.5). Plane: x to the right and y up.
    """

    matrix: Floats

    def to_plane(self, pixels: ArrayLike) -> Floats:
        """Return points of the plane, shape (n, 2), at pixels, shape (n, 2); NaN beyond the horizon of a photo."""
        return _transformed(self.matrix, pixels)

    def to_pixels(self, points: ArrayLike) -> Floats:
        """Return pixels, shape (n, 2), at points of the plane, shape (n, 2); NaN for points behind the camera."""
        back = np.asarray(np.linalg.inv(self.matrix), dtype=np.float64)
        return _transformed(back, points)  # its third coordinate is 1/w: above 0 in front of the camera

    def is_perspective(self, width: float, height: float) -> bool:
        """Return whether the scale changes across a picture of that size, as in a photo taken at a slant."""
        return bool(np.abs(self.matrix[2, :2] * [width, height]).max() > AFFINE * abs(self.matrix[2, 2]))

    def shrunk(self, scale: float) -> PictureMap:
        """Return the map of the same picture shrunk to `scale` of its width: one new pixel is 1/`scale` old ones."""
        return PictureMap(self.matrix @ np.diag([1 / scale, 1 / scale, 1.0]))


def _transformed(matrix: Floats, points: ArrayLike) -> Floats:
    """Return points, shape (n, 2), by a matrix of homogeneous coordinates; NaN for points behind the camera."""
    flat = np.asarray(points, dtype=np.float64).reshape(-1, 2)
    x, y, w = matrix @ np.column_stack([flat, np.ones(len(flat))]).T
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(w[:, np.newaxis] > 0, np.column_stack([x, y]) / w[:, np.newaxis], np.nan) + 0.0


def map_by_pins(pixels: ArrayLike, points: ArrayLike) -> PictureMap:
    """Return the map of a picture, from pixels whose places are known: `map_by_two`, or `map_by_corners`."""
    return map_by_two(pixels, points) if len(np.asarray(pixels)) == 2 else map_by_corners(pixels, points)


def map_by_two(pixels: ArrayLike, points: ArrayLike) -> PictureMap:
    """Return the map that scales and turns a picture so that two of its pixels lie at two points.

    Parameters
    ----------
    pixels, points : array-like, shape (2, 2)
        Pixels, and metres of the plane.

    Examples
    --------
    Ten pixels to the right are five metres up the plane; so ten pixels down are five metres to the right:

    >>> scan = map_by_two([[0, 0], [10, 0]], [[1, 1], [1, 6]])
    >>> scan.to_plane([[0, 10]])
    array([[6., 1.]])
    """
    (u, v), (right, down) = np.asarray(pixels, dtype=np.float64)
    (x, y), (far_x, far_y) = np.asarray(points, dtype=np.float64)
    if (u, v) == (right, down) or (x, y) == (far_x, far_y):
        raise ValueError("the two points are one and the same, must lie apart")
    turn = complex(far_x - x, far_y - y) / complex(right - u, v - down)
    a, b = turn.real, turn.imag
    return PictureMap(np.array([[a, b, x - a * u - b * v], [b, -a, y - b * u + a * v], [0.0, 0.0, 1.0]]))


def map_by_corners(pixels: ArrayLike, points: ArrayLike) -> PictureMap:
    """Return the map that straightens a photo of flat ground or of a sheet of paper.

    Parameters
    ----------
    pixels, points : array-like, shape (n, 2), n >= 4
        Corners in the photo, and where they lie in the plane [m], in the same order; four must go around.

    Raises
    ------
    ValueError
        If three of four corners lie on a line, if the corners do not go around, or if they are mirrored.

    Notes
    -----
    The direct linear transformation. Pixels and plane points are first normalised: centred on 0 and scaled to a mean
    distance of sqrt(2). More than four corners are fitted by least squares.

    References
    ----------
    R. Hartley and A. Zisserman (2004), Multiple View Geometry in Computer Vision, 2nd edition, sections 4.1 and 4.4
    (memory).

    Examples
    --------
    >>> photo = map_by_corners([[0, 0], [4, 0], [3, 2], [1, 2]], [[1, 9], [7, 9], [7, 1], [1, 1]])
    >>> photo.to_plane([[2, 0], [3, 2]]).round(9)
    array([[4., 9.],
           [7., 1.]])
    """
    picture_corners, ground_corners = np.asarray(pixels, dtype=np.float64), np.asarray(points, dtype=np.float64)
    if len(picture_corners) == 4:
        _check_corners(picture_corners, "in the picture")
        _check_corners(ground_corners, "on the ground")
        # pixels count down, the plane's y goes up: corners in the same order have areas of opposite sign
        if np.sign(_area(picture_corners)) == np.sign(_area(ground_corners)):
            raise ValueError(
                "the corners go one way around in the picture and the other way on the ground; mend their order"
            )
    inner, outer = _normalising(picture_corners), _normalising(ground_corners)
    u, v = _transformed(inner, picture_corners).T
    x, y = _transformed(outer, ground_corners).T
    ones, zeros = np.ones(len(u)), np.zeros(len(u))
    across = np.column_stack([u, v, ones, zeros, zeros, zeros, -x * u, -x * v])
    along = np.column_stack([zeros, zeros, zeros, u, v, ones, -y * u, -y * v])
    solution, _, rank, _ = np.linalg.lstsq(np.vstack([across, along]), np.concatenate([x, y]), rcond=None)
    matrix = np.linalg.inv(outer) @ np.append(solution, 1.0).reshape(3, 3) @ inner
    depth = (matrix @ np.column_stack([picture_corners, ones]).T)[2]
    if rank < 8 or not np.isfinite(matrix).all() or (np.sign(depth) != np.sign(depth[0])).any() or not depth.all():
        raise ValueError("no photo shows these corners so; look at their order and at the places given")
    return PictureMap(matrix / depth.mean())


def _normalising(points: Floats) -> Floats:
    """Return the matrix that centres points on 0 and scales them to a mean distance of sqrt(2)."""
    middle = points.mean(axis=0)
    scale = np.sqrt(2) / max(float(np.hypot(*(points - middle).T).mean()), 1e-12)
    return np.array([[scale, 0, -scale * middle[0]], [0, scale, -scale * middle[1]], [0, 0, 1.0]])


def _area(corners: Floats) -> float:
    """Return the signed area of a polygon, by the shoelace formula."""
    x, y = corners.T
    return float(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)) / 2)


def _check_corners(corners: Floats, where: str) -> None:
    """Raise ValueError if four corners are no convex quadrilateral."""
    longest = max(float(np.hypot(*(first - second))) for first, second in itertools.combinations(corners, 2))
    areas = [_area(corners[[start % 4, (start + 1) % 4, (start + 2) % 4]]) for start in range(4)]
    if longest == 0 or min(map(abs, areas)) < THINNEST * longest**2 / 2:
        raise ValueError(
            f"three of the four corners lie on a line {where}, or two in one place; take corners farther apart"
        )
    if len({float(np.sign(area)) for area in areas}) > 1:
        raise ValueError(
            f"the four corners do not go around {where}; give them one after the other, as one walks round"
        )
