"""A photo of a sketch, taken at a slant, of which every pixel's place is known."""

from __future__ import annotations

import io
import math
from dataclasses import dataclass

import numpy as np
from PIL import Image, ImageDraw

SIDE = 20.0  # m that the sketch stands for
SHEET = 2000  # pixels of the sketch before it is photographed: a centimetre each
PHOTO = (3000, 2000)
MARKS = {"corner": (0.0, 0.0), "right": (20.0, 0.0), "far": (20.0, 20.0), "left": (0.0, 20.0)}
DOTS = {"tree": (14.0, 15.5), "shed": (3.5, 16.0), "tap": (16.5, 4.0), "bed": (6.0, 5.0)}


@dataclass(frozen=True)
class Slanted:
    """The photo's bytes, and where points of the ground stand in it."""

    content: bytes
    seen: np.ndarray

    def pixels(self, points: list[tuple[float, float]]) -> np.ndarray:
        x, y, w = self.seen @ np.column_stack([points, np.ones(len(points))]).T
        return np.column_stack([x / w, y / w])


def slanted_photo(
    *, tilt: float = 38.0, turn: float = 8.0, form: str = "JPEG", exif: Image.Exif | None = None
) -> Slanted:
    """Return a photo of the sketch: white paper, blue dots at DOTS, taken from the lower edge, down by `tilt` degrees."""
    sheet = Image.new("RGB", (SHEET, SHEET), "white")
    pen = ImageDraw.Draw(sheet)
    pen.rectangle([0, 0, SHEET - 1, SHEET - 1], outline="black", width=12)
    for x, y in DOTS.values():
        u, v = x / SIDE * SHEET, (1 - y / SIDE) * SHEET
        pen.ellipse([u - 40, v - 40, u + 40, v + 40], fill=(0, 0, 255))
    seen = _camera(tilt, turn)
    to_sheet = np.array(
        [[SHEET / SIDE, 0, 0], [0, -SHEET / SIDE, SHEET], [0, 0, 1.0]]
    )  # ground to the sheet's pixels
    back = to_sheet @ np.linalg.inv(seen)
    photo = sheet.transform(
        PHOTO,
        Image.Transform.PERSPECTIVE,
        tuple((back / back[2, 2]).ravel()[:8]),
        Image.Resampling.BICUBIC,
        fillcolor=(120, 110, 100),
    )
    into = io.BytesIO()
    photo.save(into, form, quality=90, **({} if exif is None else {"exif": exif}))
    return Slanted(into.getvalue(), seen)


def _camera(tilt: float, turn: float) -> np.ndarray:
    """Return the map from metres on the ground to pixels, of a camera over a point before the sketch's lower edge."""
    a, t = math.radians(tilt), math.radians(turn)
    forward = np.array([math.sin(t) * math.cos(a), math.cos(t) * math.cos(a), -math.sin(a)])
    right = np.array([math.cos(t), -math.sin(t), 0.0])
    axes = np.array([right, np.cross(forward, right), forward])
    stands = np.array([8.0, -11.0, 18.0])
    ground = np.column_stack([axes[:, 0], axes[:, 1], -axes @ stands])
    return np.array([[2200.0, 0, PHOTO[0] / 2], [0, 2200.0, PHOTO[1] / 2], [0, 0, 1.0]]) @ ground


def dots_in(picture: Image.Image, around: np.ndarray, *, reach: int) -> np.ndarray:
    """Return the middle of the blue dot around each of some pixels, shape (n, 2)."""
    colours = np.asarray(picture.convert("RGB"), dtype=np.float64)
    blue = (colours[..., 2] - colours[..., :2].max(axis=-1)).clip(0)
    blue[blue < 60] = 0
    found = []
    for u, v in around:
        left, top = max(int(u) - reach, 0), max(int(v) - reach, 0)
        part = blue[top : int(v) + reach, left : int(u) + reach]
        rows, columns = np.mgrid[: part.shape[0], : part.shape[1]] + 0.5
        found.append([left + (part * columns).sum() / part.sum(), top + (part * rows).sum() / part.sum()])
    return np.array(found)
