"""What does the page get to know of the property?

One document: the features in the page's plane, the settings with their defaults, and the faults and cautions of the
check.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from siteplan.draw.kinds_view import settings_view
from siteplan.draw.page_features import plain, to_page
from siteplan.draw.plane import Plane
from siteplan.draw.property_files import State
from siteplan.files.checked import Checked, SiteFiles
from siteplan.files.drawing.naming import NamedFeature, feature_numbers, named_features
from siteplan.files.drawing.vector import RawFeature
from siteplan.files.remarks import Remarks
from siteplan.land.errors import Fault

Json = dict[str, Any]
#: what a property needs before it can be planned, in the order in which a person can say it
_WHERE = "Say where the property lies: its latitude and longitude, or a town near it."
_OUTLINE = "Draw the outline of the property: a boundary."


@dataclass(frozen=True)
class Reading:
    """What the files of a property say at one moment.

    Attributes
    ----------
    state : State
    checked : Checked
        With the site, if it is sound.
    plane : Plane
    numbers : dict
        The place in the file, from 1, of each feature by its id on the page.
    named : dict
        The features that have a kind, by their id on the page.
    variant : str or None
        The open variant.
    """

    state: State
    checked: Checked
    plane: Plane
    numbers: dict[str, int]
    named: dict[str, NamedFeature]
    variant: str | None = None

    @property
    def read(self) -> SiteFiles:
        """What the files say."""
        return self.checked.read

    def raw(self) -> dict[str, RawFeature]:
        """Return the features of the file by their id on the page."""
        drawing = self.read.drawing
        by_number = {} if drawing is None else {raw.number: raw for raw in drawing.features}
        return {name: by_number[number] for name, number in self.numbers.items()}


def names_of(read: SiteFiles) -> tuple[dict[str, int], dict[str, NamedFeature]]:
    """Return the numbers in the file, and the features with a kind, both by their id on the page."""
    if read.drawing is None or read.settings is None:
        return {}, {}
    named = named_features(read.drawing, read.settings.renaming, Remarks())
    numbers, with_kind = feature_numbers(read.drawing, named), {feature.number: feature for feature in named}
    return numbers, {name: with_kind[number] for name, number in numbers.items() if number in with_kind}


def property_view(reading: Reading, folder: str) -> Json:
    """Return the property for the page.

    Parameters
    ----------
    reading : Reading
    folder : str
        What the page calls the site's folder.
    """
    state, read, plane = reading.state, reading.read, reading.plane
    settings = read.settings
    place = None
    if plane.place is not None:
        place = {"latitude": plane.place[0], "longitude": plane.place[1], "bearing": plane.bearing}
    return {
        "version": state.version,
        "name": folder if settings is None else settings.name,
        "folder": folder,
        "units": "metric" if settings is None else settings.units,
        "unit": read.unit.sign,
        "unit_metres": read.unit.metres,
        "place": place,
        "settings": _settings(read.values or {}),
        "features": list(_features(reading)),
        "renaming": {} if settings is None else dict(settings.renaming.keys),
        "sound": reading.checked.site is not None,
        "missing": list(_missing(reading)),
        "faults": [_fault(fault, reading) for fault in reading.checked.faults],
        "cautions": [
            {"code": caution.code, "feature": caution.feature, "text": plain(caution.text)}
            for caution in reading.checked.cautions
        ],
        "undo": state.undo,
        "redo": state.redo,
    }


def _features(reading: Reading) -> Iterator[Json]:
    for name, raw in reading.raw().items():
        named = reading.named.get(name)
        yield to_page(raw, name, reading.plane) | {"kind": None if named is None else named.kind}


def _settings(values: Mapping[str, object]) -> Json:
    """Return every setting: the given value, the default, and the rule."""
    views = {}
    for path, view in settings_view().items():
        table, _, key = path.rpartition(".")
        container = values.get(table) if table else values
        value = container.get(key) if isinstance(container, Mapping) else None
        views[path] = {"given": plain(value), **view}
    return views


def _missing(reading: Reading) -> Iterator[Json]:
    """Yield what the property still needs before it can be planned, in plain words."""
    if reading.read.settings is None:
        return
    if reading.plane.place is None:
        yield {"what": "place", "says": _WHERE}
    if not any(feature.kind == "boundary" for feature in reading.named.values()):
        yield {"what": "boundary", "says": _OUTLINE}


def _fault(fault: Fault, reading: Reading) -> Json:
    """Return a fault with the id of the feature that it is about, if any."""
    names = {name: named.where for name, named in reading.named.items()}
    names |= {name: f"feature {number}" for name, number in reading.numbers.items() if name not in names}
    feature = next((name for name, where in names.items() if _is_about(fault.where, where)), "")
    return {
        "file": plain(fault.file),
        "where": feature or plain(fault.where),
        "text": plain(fault.text),
        "feature": feature,
        "said": plain(str(fault)),
    }


def _is_about(where: str, name: str) -> bool:
    """Return whether a fault's `where` names a feature or a part of it."""
    return where == name or where.startswith((f"{name},", f"{name} ("))
