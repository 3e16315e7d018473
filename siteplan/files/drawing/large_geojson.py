"""How is a large GeoJSON text read, of which only a few features matter?

Feature by feature: each is decoded, its role, height and bounds are noted, and it is dropped; the features that
matter are decoded again at the end. A text with any fault is given up here, and the ordinary reader reports it.
"""

from __future__ import annotations

import json
import re
from array import array
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from siteplan.files.drawing.nearness import ALWAYS, Outlook, Roles

_SPACE = re.compile(r"[ \t\n\r]*")
_DECODE = json.JSONDecoder().raw_decode
_NOWHERE = (float("nan"),) * 4
OFTEN = 1000  # features between two reports of progress


class _NotPlainError(Exception):
    """The text is not a plain FeatureCollection."""


@dataclass
class Scan:
    """The first pass over a GeoJSON text.

    Attributes
    ----------
    members : dict
        Of the collection, except its features.
    start : array of int
        Index in the text at which each feature begins.
    """

    members: dict[str, Any] = field(default_factory=dict)
    start: array[int] = field(default_factory=lambda: array("q"))
    _role: bytearray = field(default_factory=bytearray)
    _height: array[float] = field(default_factory=lambda: array("d"))
    _bounds: array[float] = field(default_factory=lambda: array("d"))

    def note(self, start: int, feature: object, roles: Roles) -> None:
        """Note what is needed to decide whether a feature matters."""
        role, height, bounds = _look(feature, roles)
        self.start.append(start)
        self._role.append(role)
        self._height.append(height)
        self._bounds.extend(bounds)

    @property
    def outlook(self) -> Outlook:
        """All features."""
        bounds = np.array(self._bounds).reshape(-1, 4)
        return Outlook(np.frombuffer(bytes(self._role), dtype=np.uint8), np.array(self._height), bounds)


def scan_features(text: str, roles: Roles, tell: Callable[[float], None]) -> Scan | None:
    """Scan the features of a GeoJSON text; None if it is no plain FeatureCollection.

    Parameters
    ----------
    text : str
    roles : Roles
    tell : callable
        Gets the share of the text that is done, 0 to 1, now and then.
    """
    scan = Scan()
    try:
        at = _expect(text, 0, "{")
        while True:
            name, at = _DECODE(text, _after_space(text, at))
            at = _expect(text, at, ":")
            if name == "features":
                at = _features(text, at, scan, roles, tell)
            else:
                scan.members[name], at = _DECODE(text, at)
            at = _after_space(text, at)
            if text[at : at + 1] == "}":
                break
            at = _expect(text, at, ",")
        sound = _after_space(text, at + 1) == len(text) and scan.members.get("type") == "FeatureCollection"
    except (_NotPlainError, ValueError, RecursionError, TypeError):
        return None
    return scan if sound and len(scan.start) else None


def decode_features(text: str, start: array[int], numbers: Iterator[int]) -> Iterator[tuple[int, object]]:
    """Yield the features of some numbers, counted from 0, each with its number counted from 1."""
    for number in numbers:
        yield number + 1, _DECODE(text, start[number])[0]


def _features(text: str, at: int, scan: Scan, roles: Roles, tell: Callable[[float], None]) -> int:
    """Scan each feature of a list; return the index after the list."""
    at = _expect(text, at, "[")
    if text[at : at + 1] == "]":
        return at + 1
    while True:
        feature, end = _DECODE(text, at)
        scan.note(at, feature, roles)
        if len(scan.start) % OFTEN == 0:
            tell(end / len(text))
        end = _after_space(text, end)
        if text[end : end + 1] == "]":
            return end + 1
        at = _expect(text, end, ",")


def _expect(text: str, at: int, sign: str) -> int:
    """Return the index after a sign and the white space behind it; raise if the sign is not next."""
    at = _after_space(text, at)
    if text[at : at + 1] != sign:
        raise _NotPlainError
    return _after_space(text, at + 1)


def _after_space(text: str, at: int) -> int:
    spaces = _SPACE.match(text, at)
    return at if spaces is None else spaces.end()


def _look(feature: object, roles: Roles) -> tuple[int, float, tuple[float, float, float, float]]:
    """Return role, height and bounds of a feature; a malformed one is always read, so that its fault is reported."""
    try:
        geometry = feature["geometry"]  # type: ignore[index]
        role, height = roles.of(feature["properties"])  # type: ignore[index]
        return role, height, _bounds(geometry["type"], geometry["coordinates"])
    except (TypeError, KeyError, ValueError, AttributeError, IndexError):
        return ALWAYS, 0.0, _NOWHERE


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
