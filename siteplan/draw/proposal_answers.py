"""Which proposals of a survey does the page show, and how are they taken into the property?

Those in the site's folder that are not in the property yet: each in the page's plane, with its figures, and with
those of the gardener's own figures that differ. `files.survey` merges them, for the command too.
"""

from __future__ import annotations

import threading
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from shapely.errors import ShapelyError
from shapely.geometry import mapping, shape

from siteplan.draw.history import is_within
from siteplan.draw.page_features import feature_fault, plain, rounded
from siteplan.draw.plane import Plane
from siteplan.draw.property import Property
from siteplan.draw.property_view import Reading
from siteplan.files.survey.accepting import Merging, wanted_proposals
from siteplan.files.survey.proposals_file import FILE, StoredProposal, read_proposals
from siteplan.files.text import no_file
from siteplan.land.errors import Fault, InputError
from siteplan.say.heights import conflict_sentences

Json = dict[str, Any]
FOLDER = "heights"  # beside site.toml, where the command writes them if nothing else is said
MOST = 2000  # proposals that are shown
_AGAIN = "ask the survey again: siteplan heights SITE TILE"


class Proposals:
    """The proposals in one property's folder.

    Parameters
    ----------
    folder : Path
        The site's.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._last: tuple[str, list[StoredProposal]] | None = None
        self._lock = threading.Lock()

    def stamp(self) -> str | None:
        """Return a text that changes whenever the file does; None if there is no file."""
        path = self.folder / FOLDER / FILE
        trouble = no_file(path)
        if trouble == "is not there":
            return None
        try:
            status = path.stat()
        except (OSError, ValueError):
            return trouble
        return f"{status.st_size} {status.st_mtime_ns} {trouble}"

    def stored(self) -> list[StoredProposal]:
        """Return the proposals, or raise the faults of their file."""
        if not is_within(f"{FOLDER}/{FILE}", self.folder):
            text = f"lies outside the site's folder; put it into its folder {FOLDER}, or {_AGAIN}"
            raise InputError([Fault(FILE, "", text)])
        with self._lock:
            stamp = self.stamp() or ""
            if self._last is None or self._last[0] != stamp:
                proposals = read_proposals(self.folder / FOLDER)
                _require_shapes(proposals)
                self._last = stamp, proposals
            return self._last[1]

    def view(self, reading: Reading) -> Json:
        """Return the proposals that are not in the property yet, or the faults of their file.

        Parameters
        ----------
        reading : Reading
            What the files of the property, or of its open variant, say.
        """
        view: Json = {"proposals": [], "more": 0, "faults": []}
        if self.stamp() is None:
            return view
        try:
            merging = Merging(reading.checked)
            views = [_proposal(stored, merging, reading.plane) for stored in self.stored()]
        except InputError as error:
            faults = [
                {"file": plain(fault.file), "where": plain(fault.where), "text": plain(fault.text)}
                for fault in error.faults
            ]
            return view | {"faults": faults[:3]}
        proposals = [proposal for proposal in views if proposal is not None]
        return view | {"proposals": proposals[:MOST], "more": max(len(proposals) - MOST, 0)}

    def take(self, open_property: Property, request: Json) -> list[str]:
        """Merge proposals into a property as one step, and return sentences on what was done."""
        ids, version, replace = request.get("ids"), request.get("version"), request.get("replace", False)
        if not isinstance(ids, list) or not ids or not all(isinstance(name, str) for name in ids):
            raise InputError([Fault("request", "ids", "must be a list of names of proposals, one at least")])
        if not isinstance(version, str) or not isinstance(replace, bool):
            text = "version must be a text, and replace true or false"
            raise InputError([Fault("request", "", text)])
        done = open_property.accept(version, wanted_proposals(self.stored(), ids), replace=replace)
        count = len(done.added) + len(done.changed)
        sentence = "Nothing was new; the drawing is as it was."
        if count:
            sentence = f"{count} {'proposal is' if count == 1 else 'proposals are'} taken."
        return [sentence, *conflict_sentences(done)]


def _require_shapes(proposals: Sequence[StoredProposal]) -> None:
    """Raise InputError if a proposal has no name or shape that can be shown."""
    faults = []
    for proposal in proposals:
        feature = {
            "type": "Feature",
            "id": proposal.id,
            "properties": proposal.properties,
            "geometry": proposal.geometry,
        }
        if (fault := feature_fault(feature)) is not None:
            faults.append(Fault(FILE, fault.where, f"{fault.text}; {_AGAIN}"))
            continue
        try:
            shape(proposal.geometry)
        except (ShapelyError, ValueError) as error:
            faults.append(Fault(FILE, proposal.id, f"has a shape that cannot be drawn ({error}); {_AGAIN}"))
    if faults:
        raise InputError(faults)


def _proposal(stored: StoredProposal, merging: Merging, plane: Plane) -> Json | None:
    """Return one proposal for the page; None if the property already has all of it."""
    trouble, conflicts, waits = "", [], False
    try:
        done, put = merging.merge([stored], replace=False)
    except InputError as error:
        trouble = error.faults[0].text
    else:
        conflicts, waits = conflict_sentences(done), bool(put)
        if not waits and not conflicts:
            return None
    return {
        "type": "Feature",
        "id": plain(stored.id),
        "drawn": stored.drawn,
        "properties": {"kind": stored.kind, **{key: plain(value) for key, value in stored.properties.items()}},
        "geometry": rounded(mapping(plane.from_file(shape(stored.geometry)))),
        "points": stored.points,
        "trees": stored.trees,
        "waits": waits,
        "wrong": plain(trouble),
        "said": [plain(conflict) for conflict in conflicts],
    }
