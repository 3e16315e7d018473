"""How are the maps and the contents of many cards compressed into a page?

A map becomes 16-bit whole numbers, such as hundredths of an hour. Each cell is stored as its difference from a
prediction (left + above - above left), then compressed with deflate and written as base64. Contents of cards are
compressed as JSON. It leaves out colours: the page paints the maps from these numbers.
"""

from __future__ import annotations

import base64
import json
import zlib
from collections.abc import Callable

import numpy as np
from markupsafe import Markup
from numpy.typing import ArrayLike, NDArray

from siteplan.say.safe_text import PackedText

MISSING = 0xFFFF
STEP_H = 0.01  # hours in one step
MANY_CARDS = 60  # beds and runs; the contents of more cards than this are compressed


def packed_hours(hours: ArrayLike) -> PackedText:
    """Return maps of hours as compressed text, which `assets/maps.js` unpacks.

    Parameters
    ----------
    hours : array_like, shape (maps, rows, columns)
        Hours a day, 0 to 24; NaN where there is no ground.

    Examples
    --------
    >>> import numpy as np
    >>> hours = np.array([[[0.0, 6.128, np.nan]]])
    >>> unpacked_hours(packed_hours(hours), hours.shape).tolist()
    [[[0.0, 6.13, nan]]]
    """
    return packed_steps(hours, STEP_H)


def packed_steps(values: ArrayLike, step: float) -> PackedText:
    """Return maps of any quantity, rounded to 0 to 65,534 whole steps, as compressed text.

    Parameters
    ----------
    values : array_like, shape (maps, rows, columns)
        NaN where there is no ground.
    step : float
        Size of one step, in the unit of the values.
    """
    quantities = np.asarray(values, dtype=float)
    units = np.where(np.isfinite(quantities), np.round(np.nan_to_num(quantities) / step), MISSING).astype(np.uint16)
    return packed_units(units)


def packed_units(units: NDArray[np.uint16]) -> PackedText:
    """Return maps of 16-bit whole numbers, shape (maps, rows, columns), as compressed text."""
    across = units.copy()
    across[..., 1:] = units[..., 1:] - units[..., :-1]  # differences and later sums wrap at 2 ** 16
    miss = across.copy()
    miss[..., 1:, :] = across[..., 1:, :] - across[..., :-1, :]
    signed = miss.astype(np.int16)
    folded = ((signed << 1) ^ (signed >> 15)).astype(np.uint16)  # 0, -1, 1, -2, ... become 0, 1, 2, 3, ...
    planes = np.stack([folded >> 8, folded & 0xFF], axis=1).astype(np.uint8)
    return PackedText(base64.b64encode(zlib.compress(planes.tobytes(), 9)).decode("ascii"))


class HeldInsides:
    """The contents of cards; where there are many, they are compressed together, since they resemble each other.

    A template calls it around the content of each card. `assets/page.js` fills a card when it is opened.

    Parameters
    ----------
    cards : int
        How many cards there are.
    """

    def __init__(self, cards: int) -> None:
        self._packs = cards > MANY_CARDS
        self._insides: list[str] = []

    def __call__(self, *, caller: Callable[[], Markup]) -> Markup:
        """Return the content of a card, or an empty element that the script fills later."""
        inside = caller()
        if not self._packs:
            return Markup('<div class="inside">\n{}</div>\n').format(inside)
        self._insides.append(str(inside))
        return Markup('<div class="inside" data-held="{}"></div>\n').format(len(self._insides) - 1)

    @property
    def packed(self) -> PackedText | None:
        """All contents as compressed text; None if they are written in the page."""
        if not self._insides:
            return None
        text = json.dumps(self._insides, ensure_ascii=False).encode("utf-8")
        return PackedText(base64.b64encode(zlib.compress(text, 9)).decode("ascii"))


def unpacked_hours(packed: str, shape: tuple[int, ...], *, step: float = STEP_H) -> NDArray[np.float64]:
    """Return the maps that `packed_hours` or `packed_steps` compressed, shape (maps, rows, columns)."""
    maps, rows, columns = shape
    content = np.frombuffer(zlib.decompress(base64.b64decode(packed)), dtype=np.uint8)
    planes = content.reshape(maps, 2, rows, columns).astype(np.uint16)
    folded = (planes[:, 0] << 8) | planes[:, 1]
    miss = (folded >> 1) ^ (0 - (folded & 1)).astype(np.uint16)
    units = np.cumsum(np.cumsum(miss, axis=-1, dtype=np.uint16), axis=-2, dtype=np.uint16)
    return np.where(units == MISSING, np.nan, np.round(units * step, 4))
