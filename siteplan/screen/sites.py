"""How is the site of one lot made?

A folder is read as any site; a lot of a town together with the buildings and trees near it. Those that have a fault
are left out with a caution, so that one house without a height does not spoil a thousand lots.
"""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass, replace
from pathlib import Path

from siteplan.files.drawing.naming import named_features
from siteplan.files.drawing.vector import Drawing, RawFeature
from siteplan.files.reader import check_site, site_of
from siteplan.files.remarks import Remarks
from siteplan.files.site_toml.settings import FILE as SETTINGS_FILE
from siteplan.files.site_toml.settings import drawing_unit, settings_of
from siteplan.land.errors import Fault
from siteplan.land.site import Site
from siteplan.screen.request import ScreenRequest, folder_hash, read_town, town_values

_ROUNDS = 4  # of leaving out features that have faults


@dataclass(frozen=True, eq=False)
class Lot:
    """One lot, and the hash by which a change is noticed.

    Attributes
    ----------
    key : str
        Hash of all that may change its answer.
    drawing : Drawing or None
        The features of a town's lot; None if the lot is a folder.
    """

    number: int
    key: str
    drawing: Drawing | None = None


class LotSites:
    """The sites of all lots; the files are opened once in a process, which then only needs a lot's number."""

    def __init__(self, request: ScreenRequest) -> None:
        self.request = request
        self._faulty: dict[bytes, str] = {}  # the fault of each faulty feature, by its shape
        self.town = None
        if not request.folders:
            self.values = town_values(Path(request.settings), Remarks())
            self.town = read_town(request.town_files, Path(request.settings), Remarks())

    def lot(self, number: int) -> Lot:
        """Return a lot by its number, from 0."""
        if self.request.folders:
            return Lot(number, folder_hash(Path(self.request.folders[number]), self.request.common))
        assert self.town is not None  # noqa: S101  # it was opened before any task came
        drawing = self.town.drawing(number)
        return Lot(number, _hash(drawing, self.request.common), drawing)

    def site(self, lot: Lot) -> tuple[Site | None, tuple[Fault, ...]]:
        """Return the site of a lot, or its faults."""
        if lot.drawing is None:
            checked = check_site(self.request.folders[lot.number])
            return checked.site, checked.faults
        assert self.town is not None and self.values is not None  # noqa: S101, PT018
        name, left_out = self.town.ids[lot.number], dict[str, None]()
        drawing = self._without_faulty(lot.drawing, left_out)
        folder = Path(self.request.settings).parent
        for _ in range(_ROUNDS):
            remarks = Remarks(unit=drawing_unit(self.values, drawing.crs))
            settings = replace(settings_of(self.values, folder, remarks), name=name)
            for text in left_out:
                remarks.caution_once("faulty", "", "", f"Left out, with its shade: {text}.")
            site = site_of(settings, drawing, folder, remarks)
            if site is not None and not remarks.faults:
                return site, ()
            if not self._learn(drawing, remarks):
                break
            drawing = self._without_faulty(drawing, left_out)
        return None, tuple(
            Fault(fault.file.replace(SETTINGS_FILE, "settings"), fault.where, fault.text) for fault in remarks.faults
        )

    def _without_faulty(self, drawing: Drawing, left_out: dict[str, None]) -> Drawing:
        """Return a drawing without the features known to be faulty, whose faults are added to `left_out`."""
        sound = []
        for feature in drawing.features:
            text = self._faulty.get(_content(feature)) if self._faulty and feature.number > 1 else None
            if text is None:
                sound.append(feature)
            else:
                left_out[text] = None
        return replace(drawing, features=tuple(sound))

    def _learn(self, drawing: Drawing, remarks: Remarks) -> bool:
        """Note which features beside the lot have faults; return whether new ones were found."""
        assert self.town is not None  # noqa: S101
        numbers = {
            feature.where: feature.number
            for feature in named_features(drawing, self.town.settings.renaming, Remarks())
        }
        shared = {feature.number: feature for feature in drawing.features if feature.number > 1}
        faults = {
            _content(shared[number]): f"{fault.where}: {fault.text}"
            for fault in remarks.faults
            if (number := numbers.get(fault.where, 0)) in shared
        }
        new = faults.keys() - self._faulty.keys()
        self._faulty |= faults
        return bool(new)


def _content(feature: RawFeature) -> bytes:
    return b"" if feature.shape is None else bytes(feature.shape.wkb)


def _hash(drawing: Drawing, common: str) -> str:
    """Return a hash of all features of a lot."""
    digest = hashlib.sha256(common.encode())
    digest.update(b"" if drawing.crs is None else drawing.crs.to_wkt().encode())
    for feature in drawing.features:
        digest.update(json.dumps({key: str(value) for key, value in feature.properties.items()}).encode())
        digest.update(_content(feature))
    return digest.hexdigest()
