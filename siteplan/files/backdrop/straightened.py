"""How does a picture look from straight above?

Each pixel of the new picture is looked up where its ground lies in the old one. `land/picture_map.py` finds the map
between the two.
"""

from __future__ import annotations

import io
import warnings
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from siteplan.files.backdrop.picture import QUALITY
from siteplan.land.picture_map import PictureMap

Floats = NDArray[np.float64]
Bounds = tuple[float, float, float, float]  # left, low, right, top [m]

MOST_SIDE = 2400  # pixels
AROUND = 0.5  # how far beyond the pins is shown, over the pins' extent; farther off a slanted photo is a smear
_SAMPLES = 60  # points along each side of the picture from which its extent on the ground is found


@dataclass(frozen=True)
class FlatView:
    """The size and extent of a straightened picture.

    Attributes
    ----------
    width, height : int
        [pixels]
    bounds : tuple of float
        Left, low, right, top in the plane. [m]
    """

    width: int
    height: int
    bounds: Bounds

    @property
    def picture_map(self) -> PictureMap:
        """The map from its pixels to the plane."""
        left, low, right, top = self.bounds
        across, up = (right - left) / self.width, (top - low) / self.height
        return PictureMap(np.array([[across, 0, left], [0, -up, top], [0, 0, 1.0]]))


def flat_view(
    width: int,
    height: int,
    picture_map: PictureMap,
    pins: Floats,
    *,
    within: Bounds | None = None,
    most: int = MOST_SIDE,
) -> FlatView | None:
    """Return size and extent of a picture seen from straight above; None if none of it lies in the given bounds.

    Parameters
    ----------
    width, height : int
        Of the picture. [pixels]
    picture_map : PictureMap
        From its pixels to the plane.
    pins : ndarray, shape (n, 2)
        Points of the plane that are known in it. [m]
    within : tuple of float, optional
        Left, low, right, top: the view is cut to these bounds. [m]
    most : int
        Pixels of the longer side at most.

    Raises
    ------
    ValueError
        If the middle of the pins would lie behind the camera.

    Notes
    -----
    The view reaches as far as the picture; for a photo taken at a slant, no farther from the pins than half their
    extent. Its pixels are as large as those of the old picture in the middle of the pins, or larger to stay within
    `most`.
    """
    left, low, right, top = _extent((width, height), picture_map, pins)
    if within is not None:
        left, low, right, top = max(left, within[0]), max(low, within[1]), min(right, within[2]), min(top, within[3])
    if right <= left or top <= low:
        return None
    pixel = _pixel_size(picture_map, pins)
    if not np.isfinite([pixel, right - left, top - low]).all():
        raise ValueError("its spots cannot lie so: go round them in the same order on the picture and on the ground")
    metre = max(pixel, (right - left) / most, (top - low) / most)
    columns, rows = max(1, round((right - left) / metre)), max(1, round((top - low) / metre))
    return FlatView(columns, rows, (left, low, right, top))


def straightened(content: bytes, picture_map: PictureMap, flat: FlatView) -> bytes:
    """Return a picture from straight above, as WebP, transparent where the old one shows nothing.

    Parameters
    ----------
    content : bytes
        Of the picture's file.
    picture_map : PictureMap
        From its pixels to the plane.
    flat : FlatView
        Size and extent of the new one. Colours are interpolated bicubically.
    """
    from PIL import Image

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # its size was checked when it was stored
        old = Image.open(io.BytesIO(content), formats=("PNG", "JPEG")).convert("RGBA")
    back = np.linalg.inv(picture_map.matrix) @ flat.picture_map.matrix
    # Pillow wants the matrix's last number to be 1. It is 0 if the corner lies on the horizon: a tiny number then
    least = 1e-12 * np.abs(back).max()
    last = back[2, 2] if abs(back[2, 2]) > least else least
    numbers = tuple((back / last).ravel()[:8])
    size = flat.width, flat.height
    new = old.transform(size, Image.Transform.PERSPECTIVE, numbers, Image.Resampling.BICUBIC)
    visible = _in_front(back, *size)
    if not visible.all():
        clear = np.asarray(new).copy()
        clear[~visible] = 0
        new = Image.fromarray(clear)
    buffer = io.BytesIO()
    new.save(buffer, "WEBP", quality=QUALITY, method=2)
    return buffer.getvalue()


def _extent(size: tuple[int, int], picture_map: PictureMap, pins: Floats) -> Bounds:
    """Return the bounds of the view: where the picture reaches, and not too far from the pins. [m]"""
    step = np.linspace(0, 1, _SAMPLES)
    points = picture_map.to_plane(np.stack(np.meshgrid(step, step), axis=-1).reshape(-1, 2) * size)
    if picture_map.is_perspective(*size):
        low, high = pins.min(axis=0), pins.max(axis=0)
        margin = AROUND * (high - low).max()
        points = np.vstack([points[np.isfinite(points).all(axis=1)], pins])
        points = np.clip(points, low - margin, high + margin)
    (left, bottom), (right, top) = points.min(axis=0), points.max(axis=0)
    return float(left), float(bottom), float(right), float(top)


def _pixel_size(picture_map: PictureMap, pins: Floats) -> float:
    """Return how large a pixel is in the middle of the pins. [m]"""
    middle = picture_map.to_pixels(pins.mean(axis=0))[0]
    x, y = (picture_map.to_plane(middle + np.array([[0, 0], [1, 0], [0, 1]])) - picture_map.to_plane(middle)).T
    return float(np.sqrt(abs(x[1] * y[2] - x[2] * y[1])))


def _in_front(back: Floats, width: int, height: int) -> NDArray[np.bool_]:
    """Return which pixels of the new picture lie in front of the camera, shape (height, width)."""
    u, v = np.arange(width) + 0.5, np.arange(height) + 0.5
    return np.asarray(back[2, 0] * u + back[2, 1] * v[:, np.newaxis] + back[2, 2] > 0)
