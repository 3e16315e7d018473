"""How are thirteen maps of hours, or of light, packed into a page, and the insides of many cards?

As 16-bit steps, such as hundredths of an hour; each cell as its difference from what its neighbours foretell;
deflated, in base64. It leaves out colours: the page paints them from these numbers.
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
STEP_H = 0.01  # hours in one unit
MANY_CARDS = 60  # of beds and runs; the insides of more are packed


def packed_hours(hours: ArrayLike) -> PackedText:
    """Return maps of hours as text that `assets/maps.js` unpacks.

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
    """Return maps of any figure from 0 to 65,534 steps as text, in whole steps.

    Parameters
    ----------
    values : array_like, shape (maps, rows, columns)
        NaN where there is no ground.
    step : float
        In the figure's own unit.
    """
    known = np.asarray(values, dtype=float)
    units = np.where(np.isfinite(known), np.round(np.nan_to_num(known) / step), MISSING).astype(np.uint16)
    return packed_units(units)


def packed_units(units: NDArray[np.uint16]) -> PackedText:
    """Return 16-bit maps, shape (maps, rows, columns), as text."""
    across = units.copy()
    across[..., 1:] = units[..., 1:] - units[..., :-1]  # all steps wrap at 2 ** 16, and so does the way back
    miss = across.copy()
    miss[..., 1:, :] = across[..., 1:, :] - across[..., :-1, :]
    signed = miss.astype(np.int16)
    folded = ((signed << 1) ^ (signed >> 15)).astype(np.uint16)  # 0, -1, 1, -2, ... as 0, 1, 2, 3, ...
    planes = np.stack([folded >> 8, folded & 0xFF], axis=1).astype(np.uint8)
    return PackedText(base64.b64encode(zlib.compress(planes.tobytes(), 9)).decode("ascii"))


class HeldInsides:
    """The insides of cards; of many cards they are packed, since those are alike and take little room so.

    A template calls it around each. Opened cards are filled by `assets/page.js`.

    Parameters
    ----------
    cards : int
        How many cards there are.
    """

    def __init__(self, cards: int) -> None:
        self._packs = cards > MANY_CARDS
        self._insides: list[str] = []

    def __call__(self, *, caller: Callable[[], Markup]) -> Markup:
        """Return the inside of a card, or the place that it is put into."""
        inside = caller()
        if not self._packs:
            return Markup('<div class="inside">\n{}</div>\n').format(inside)
        self._insides.append(str(inside))
        return Markup('<div class="inside" data-held="{}"></div>\n').format(len(self._insides) - 1)

    @property
    def packed(self) -> PackedText | None:
        """All of them as text; None where they stand in the page."""
        if not self._insides:
            return None
        written = json.dumps(self._insides, ensure_ascii=False).encode("utf-8")
        return PackedText(base64.b64encode(zlib.compress(written, 9)).decode("ascii"))


def unpacked_hours(packed: str, shape: tuple[int, ...], *, step: float = STEP_H) -> NDArray[np.float64]:
    """Return the maps that `packed_hours` or `packed_steps` wrote, shape (maps, rows, columns)."""
    maps, rows, columns = shape
    content = np.frombuffer(zlib.decompress(base64.b64decode(packed)), dtype=np.uint8)
    planes = content.reshape(maps, 2, rows, columns).astype(np.uint16)
    folded = (planes[:, 0] << 8) | planes[:, 1]
    miss = (folded >> 1) ^ (0 - (folded & 1)).astype(np.uint16)
    units = np.cumsum(np.cumsum(miss, axis=-1, dtype=np.uint16), axis=-2, dtype=np.uint16)
    return np.where(units == MISSING, np.nan, np.round(units * step, 4))
