"""Which colour stands for a value of sun, of light or of sky?

One colour scale for each. Lightness rises in even steps (OKLab), so that more is lighter for every eye and in grey
print. A scale is the same for all months. The colours of the drawing are in the style sheets.
"""

from __future__ import annotations

import base64
import math
import struct
import zlib
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

Bytes = NDArray[np.uint8]
Scale = Literal["sun", "light", "sky"]

#: OKLab lightness at both ends of each scale; it rises evenly between them
_LIGHTNESS: dict[Scale, tuple[float, float]] = {"sun": (0.36, 0.96), "light": (0.31, 0.96), "sky": (0.30, 0.96)}
#: the fixed points of each scale: position from 0 to 1, OKLab chroma, hue [degrees]
_CORNERS: dict[Scale, tuple[tuple[float, float, float], ...]] = {
    "sun": (
        (0.00, 0.048, 255.0),
        (0.25, 0.045, 310.0),
        (0.50, 0.080, 45.0),
        (0.75, 0.105, 75.0),
        (1.00, 0.080, 99.0),
    ),
    "light": ((0.00, 0.050, 170.0), (0.40, 0.095, 150.0), (0.75, 0.120, 125.0), (1.00, 0.075, 110.0)),
    "sky": ((0.00, 0.060, 280.0), (0.45, 0.095, 250.0), (1.00, 0.022, 215.0)),
}


def scale_colours(count: int = 256, *, of: Scale = "sun") -> Bytes:
    """Return the colours of a scale, from the least to the most.

    Parameters
    ----------
    count : int
        How many colours.
    of : str
        ``sun``, ``light`` or ``sky``.

    Returns
    -------
    ndarray of uint8, shape (count, 3)
        sRGB.

    Examples
    --------
    >>> scale_colours(3).tolist()
    [[44, 62, 86], [188, 131, 105], [255, 244, 181]]

    References
    ----------
    Ottosson, B., A perceptual color space for image processing, 2020: OKLab and its matrices (memory).
    """
    corner_positions, chroma, degrees = np.array(_CORNERS[of]).T
    hue = np.radians(degrees)
    positions = np.linspace(0, 1, count)
    lightness = np.interp(positions, [0, 1], _LIGHTNESS[of])
    a = np.interp(positions, corner_positions, chroma * np.cos(hue))
    b = np.interp(positions, corner_positions, chroma * np.sin(hue))
    return _srgb(np.column_stack([lightness, a, b]))


def _srgb(oklab: NDArray[np.float64]) -> Bytes:
    """Return OKLab colours, shape (n, 3), as sRGB bytes."""
    to_cones = np.array(
        [[1, 0.3963377774, 0.2158037573], [1, -0.1055613458, -0.0638541728], [1, -0.0894841775, -1.2914855480]],
    )
    to_linear = np.array(
        [
            [4.0767416621, -3.3077115913, 0.2309699292],
            [-1.2684380046, 2.6097574011, -0.3413193965],
            [-0.0041960863, -0.7034186147, 1.7076147010],
        ],
    )
    linear = np.clip((oklab @ to_cones.T) ** 3 @ to_linear.T, 0, 1)
    gamma = np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1 / 2.4) - 0.055)
    return np.asarray(np.round(gamma * 255), dtype=np.uint8)


def scale_top(month_h: ArrayLike) -> float:
    """Return the upper end of the scale: the largest value of all months, rounded up to a whole hour.

    Examples
    --------
    >>> scale_top([[0.2, 11.3], [float("nan"), 4.0]])
    12.0
    """
    hours = np.asarray(month_h, dtype=float)
    known_hours = hours[np.isfinite(hours)]
    return float(max(1, math.ceil(round(float(known_hours.max()), 6)))) if known_hours.size else 1.0


def sun_picture(hours: ArrayLike, *, top: float, of: Scale = "sun") -> Bytes:
    """Return a map of sun, light or sky as pixels; a cell that is NaN is transparent.

    Parameters
    ----------
    hours : array_like, shape (rows, columns)
        Hours of direct sun a day, or values of light or sky.
    top : float
        Value at the upper end of the scale.
    of : str
        ``sun``, ``light`` or ``sky``.

    Returns
    -------
    ndarray of uint8, shape (rows, columns, 4)
        sRGB and alpha.

    Examples
    --------
    >>> sun_picture([[0.0, float("nan")]], top=12).tolist()
    [[[44, 62, 86, 255], [0, 0, 0, 0]]]
    """
    values = np.asarray(hours, dtype=float)
    is_known = np.isfinite(values)
    step = np.clip(np.round(np.where(is_known, values, 0) / top * 255), 0, 255).astype(int)
    picture = np.zeros((*values.shape, 4), dtype=np.uint8)
    picture[..., :3] = scale_colours(of=of)[step]
    picture[..., 3] = 255
    picture[~is_known] = 0
    return picture


def png_bytes(picture: Bytes) -> bytes:
    """Return pixels, shape (rows, columns, 4), as a PNG file.

    References
    ----------
    ISO/IEC 15948 (Portable Network Graphics), clauses 5 and 11: signature, IHDR, IDAT, IEND (memory).
    """
    rows, columns, _ = picture.shape
    lines = np.zeros((rows, 1 + columns * 4), dtype=np.uint8)
    lines[:, 1:] = picture.reshape(rows, -1)
    header = struct.pack(">IIBBBBB", columns, rows, 8, 6, 0, 0, 0)
    chunks = ((b"IHDR", header), (b"IDAT", zlib.compress(lines.tobytes(), 9)), (b"IEND", b""))
    parts = [b"\x89PNG\r\n\x1a\n"]
    for name, content in chunks:
        checksum = struct.pack(">I", zlib.crc32(name + content))
        parts += [struct.pack(">I", len(content)), name, content, checksum]
    return b"".join(parts)


def png_address(picture: Bytes) -> str:
    """Return pixels as a PNG in a ``data:`` URL, for an image element."""
    return "data:image/png;base64," + base64.b64encode(png_bytes(picture)).decode("ascii")


def scale_steps(top: float) -> list[tuple[float, str]]:
    """Return the position (0 to 1) and the label of each whole-hour mark; above 8 h every second hour has one.

    Examples
    --------
    >>> scale_steps(4)
    [(0.0, '0'), (0.25, '1'), (0.5, '2'), (0.75, '3'), (1.0, '4')]
    """
    step = 1 if top <= 8 else 2
    return [(hour / top, str(hour)) for hour in range(0, int(top) + 1, step)]


def scale_gradient(stops: int = 16, *, of: Scale = "sun") -> str:
    """Return a scale as the colour stops of a CSS gradient."""
    colours = scale_colours(stops, of=of)
    return ",".join(f"rgb({red},{green},{blue})" for red, green, blue in colours.tolist())
