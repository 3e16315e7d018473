"""How is a GeoJSON text read of which little matters?

Feature by feature: each is decoded, looked at and let go of; those that matter are decoded again in the end.
It leaves out what is wrong with a text: where it is not as it should be, it is read whole and told by that.
"""

from __future__ import annotations

import json
import re
from array import array
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from siteplan.files.drawing.nearness import OWN, Roles, Seen

_SPACE = re.compile(r"[ \t\n\r]*")
_DECODE = json.JSONDecoder().raw_decode
_NOWHERE = (float("nan"),) * 4
OFTEN = 1000  # features from one word about how far it is to the next


class _OtherwiseError(Exception):
    """The text is not what is read here."""


@dataclass
class Walked:
    """What was seen of a GeoJSON text.

    Attributes
    ----------
    members : dict
        Of the collection, but for its features.
    start : array of int
        Where each feature begins in the text.
    """

    members: dict[str, Any] = field(default_factory=dict)
    start: array[int] = field(default_factory=lambda: array("q"))
    _role: bytearray = field(default_factory=bytearray)
    _height: array[float] = field(default_factory=lambda: array("d"))
    _bounds: array[float] = field(default_factory=lambda: array("d"))

    def see(self, start: int, feature: object, roles: Roles) -> None:
        """Keep what it takes to say whether a feature matters."""
        role, height, bounds = _look(feature, roles)
        self.start.append(start)
        self._role.append(role)
        self._height.append(height)
        self._bounds.extend(bounds)

    @property
    def seen(self) -> Seen:
        """All features."""
        bounds = np.array(self._bounds).reshape(-1, 4)
        return Seen(np.frombuffer(bytes(self._role), dtype=np.uint8), np.array(self._height), bounds)


def walked(text: str, roles: Roles, tell: Callable[[float], None]) -> Walked | None:
    """Return what is seen of the features of a GeoJSON text, or None where it is no plain FeatureCollection."""
    found = Walked()
    try:
        at = _expect(text, 0, "{")
        while True:
            name, at = _DECODE(text, _after_space(text, at))
            at = _expect(text, at, ":")
            if name == "features":
                at = _features(text, at, found, roles, tell)
            else:
                found.members[name], at = _DECODE(text, at)
            at = _after_space(text, at)
            if text[at : at + 1] == "}":
                break
            at = _expect(text, at, ",")
        sound = _after_space(text, at + 1) == len(text) and found.members.get("type") == "FeatureCollection"
    except (_OtherwiseError, ValueError, RecursionError, TypeError):
        return None
    return found if sound and len(found.start) else None


def chosen(text: str, start: array[int], numbers: Iterator[int]) -> Iterator[tuple[int, object]]:
    """Yield features by their number, from 0, with that number counted from 1."""
    for number in numbers:
        yield number + 1, _DECODE(text, start[number])[0]


def _features(text: str, at: int, found: Walked, roles: Roles, tell: Callable[[float], None]) -> int:
    """See each feature of a list; return where the text goes on."""
    at = _expect(text, at, "[")
    if text[at : at + 1] == "]":
        return at + 1
    while True:
        feature, end = _DECODE(text, at)
        found.see(at, feature, roles)
        if len(found.start) % OFTEN == 0:
            tell(end / len(text))
        end = _after_space(text, end)
        if text[end : end + 1] == "]":
            return end + 1
        at = _expect(text, end, ",")


def _expect(text: str, at: int, sign: str) -> int:
    """Return where what follows a sign begins."""
    at = _after_space(text, at)
    if text[at : at + 1] != sign:
        raise _OtherwiseError
    return _after_space(text, at + 1)


def _after_space(text: str, at: int) -> int:
    found = _SPACE.match(text, at)
    return at if found is None else found.end()


def _look(feature: object, roles: Roles) -> tuple[int, float, tuple[float, float, float, float]]:
    """Return role, height and bounds of a feature; what is odd is read, so that its fault is told."""
    try:
        geometry = feature["geometry"]  # type: ignore[index]
        role, height = roles.of(feature["properties"])  # type: ignore[index]
        return role, height, _bounds(geometry["type"], geometry["coordinates"])
    except (TypeError, KeyError, ValueError, AttributeError, IndexError):
        return OWN, 0.0, _NOWHERE


def _bounds(shape: str, coordinates: Any) -> tuple[float, float, float, float]:
    """Return west, south, east, north of GeoJSON coordinates; an outline's holes lie within it.

    Examples
    --------
    >>> square = [[0, 0], [2, 0], [2, 1], [0, 0]]
    >>> _bounds("Polygon", [square]), _bounds("MultiPolygon", [[square], [[[5, 5], [6, 5], [6, 7], [5, 5]]]])
    ((0.0, 0.0, 2.0, 1.0), (0.0, 0.0, 6.0, 7.0))
    """
    if shape == "Point":
        points = [coordinates]
    elif shape in {"LineString", "MultiPoint"}:
        points = coordinates
    elif shape == "Polygon":
        points = coordinates[0]
    elif shape == "MultiLineString":
        points = [point for line in coordinates for point in line]
    elif shape == "MultiPolygon":
        points = [point for rings in coordinates for point in rings[0]]
    else:
        raise ValueError(shape)
    x, y, *_ = zip(*points, strict=False)
    return min(x) + 0.0, min(y) + 0.0, max(x) + 0.0, max(y) + 0.0
