"""How do proposals come into the features file, without losing what the gardener drew or measured?

A thing that is drawn keeps its id, its shape and all that somebody said of it: it gets what is missing, what was a
guess, and what an earlier survey gave. Where a figure that somebody gave differs by more than both may be off, it
stays, and that is told. The file as it would be is read first, and takes the old one's place if that adds no fault.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from siteplan.files.checked import Checked
from siteplan.files.constant_tables import read_spreads
from siteplan.files.drawing.editing import edited_features
from siteplan.files.drawing.kinds import KINDS
from siteplan.files.drawing.naming import Named, feature_numbers, named_features
from siteplan.files.drawing.vector import DRAWN_HERE, RawFeature
from siteplan.files.outputs.replacing import new_version
from siteplan.files.reader import check_site
from siteplan.files.remarks import Remarks
from siteplan.files.survey.proposals_file import FILE, Kept
from siteplan.land.errors import Fault, InputError
from siteplan.land.proposals import Accepted, Conflict
from siteplan.land.spread import parted, spread_size
from siteplan.land.units import LengthUnit, si_value
from siteplan.land.values import LONGEST_TEXT, Quantity, nearest, shown

_BY = " by "  # between the figures that came from a survey and its name, where the height itself is the gardener's
_LEAST = 0.05  # m; figures that differ by less are the same


def accept(folder: Path, proposals: Sequence[Kept], wanted: Sequence[str] | None, *, replace: bool) -> Accepted:
    """Merge proposals into the features file of a site, all that are wanted or none.

    Parameters
    ----------
    folder : Path
        Of the site.
    proposals : sequence of Kept
    wanted : sequence of str or None
        Ids; None for all.
    replace : bool
        Whether figures that somebody gave make room for those of the survey.

    Raises
    ------
    InputError
        Where an id is not known, or the file could not be read any more; nothing is written then.
    """
    checked = check_site(folder)
    merging = Merging(checked)
    done, put = merging.all(chosen_of(proposals, wanted), replace=replace)
    if put:
        path = folder / merging.file
        with new_version(path) as copy:
            text = copy.read_bytes().decode("utf-8")
            copy.write_bytes(edited_features(text, put, (), merging.numbers).encode("utf-8"))
            require_no_new_fault(folder, copy, checked.faults)
    return done


class Merging:
    """What proposals make of what is drawn; nothing is written.

    Parameters
    ----------
    checked : Checked
        What the files of the site say.

    Attributes
    ----------
    file : str
        The features file.
    numbers : dict
        The place in it, from 1, of each feature by its id.

    Raises
    ------
    InputError
        Where that cannot be read, or cannot be edited here.
    """

    def __init__(self, checked: Checked) -> None:
        settings, drawing = checked.read.settings, checked.read.drawing
        if settings is None or drawing is None:
            raise InputError(checked.faults)
        self.file = settings.features
        if Path(self.file).suffix.lower() not in DRAWN_HERE or not drawing.whole:
            text = "is no GeoJSON that can be edited here; save it as features.geojson, and name that in site.toml"
            raise InputError([Fault(Path(self.file).name, "", text)])
        named = named_features(drawing, settings.renaming, Remarks())
        self.numbers = feature_numbers(drawing, named)
        self._named = {one.id: one for one in named}
        self._raw = {one.number: one for one in drawing.features}
        self._theirs = {ours: one for one, ours in settings.renaming.keys.items()}
        self._unit = checked.read.unit

    def all(self, proposals: Sequence[Kept], *, replace: bool) -> tuple[Accepted, list[dict[str, Any]]]:
        """Return what comes of proposals, and the features to put for it in the coordinates of the file.

        Parameters
        ----------
        proposals : sequence of Kept
        replace : bool
            As for `accept`.

        Raises
        ------
        InputError
            Where what is drawn no longer fits, with all of them.
        """
        done, put, faults = Accepted(Path(self.file).name), [], []
        for one in proposals:
            there = self._named.get(one.id)
            if there is None and one.drawn:
                text = f"is not drawn any more in {done.file}; ask the survey again: siteplan heights SITE TILE"
                faults.append(Fault(FILE, one.id, text))
            elif there is None:
                put.append(_new(one))
                done.added.append(one.id)
            elif there.kind != one.kind:
                text = f"is a {there.kind} in {done.file} and a {one.kind} here; ask the survey again"
                faults.append(Fault(FILE, one.id, text))
            else:
                merged = _merged(one, there, self._raw[there.number], self._theirs, self._unit, done, replace=replace)
                (done.same if merged is None else done.changed).append(one.id)
                put += [] if merged is None else [merged]
        if faults:
            raise InputError(faults)
        return done, put


def require_no_new_fault(folder: Path, features: Path, before: Sequence[Fault]) -> None:
    """Raise where a site with another features file has a fault that it had not.

    Parameters
    ----------
    folder : Path
        Of the site.
    features : Path
        The file as it would be.
    before : sequence of Fault

    Raises
    ------
    InputError
        With the new ones.
    """
    new = [fault for fault in check_site(folder, features=features).faults if fault not in before]
    if new:
        raise InputError(new)


def chosen_of(proposals: Sequence[Kept], wanted: Sequence[str] | None) -> list[Kept]:
    """Return the proposals that are wanted, all for None, or raise what is not known."""
    if wanted is None:
        return list(proposals)
    known = {one.id: one for one in proposals}
    faults = []
    for name in wanted:
        if name not in known:
            hint = nearest(name, list(known))
            meant = f"did you mean {hint!r}? " if hint else ""
            text = f"{shown(name[:LONGEST_TEXT])} is no proposal; {meant}{FILE} lists them, and all takes them all"
            faults.append(Fault("", "--accept", text))
    if faults:
        raise InputError(faults)
    return [known[name] for name in dict.fromkeys(wanted)]


def _new(one: Kept) -> dict[str, Any]:
    properties = {"kind": one.kind, **one.properties}
    return {"type": "Feature", "id": one.id, "properties": properties, "geometry": one.geometry}


def _merged(
    one: Kept,
    there: Named,
    raw: RawFeature,
    theirs: Mapping[str, str],
    unit: LengthUnit,
    done: Accepted,
    *,
    replace: bool,
) -> dict[str, Any] | None:
    """Return a drawn feature with what it takes of a proposal, None where that is nothing."""
    properties, taken = dict(raw.properties), []
    earlier = _of_a_survey(there)
    for key, value in _wanted(one, there):
        own = there.properties.get(key)
        free = own is None or key in earlier or there.properties.get("measured") == "guess"
        if own is not None and _agree(own, value, there, key, unit) and not (free and own != value):
            continue
        if not free:
            done.conflicts.append(Conflict(one.id, key, own, value, taken=replace))
            if not replace and key == "height":
                break  # nothing else fits a height that is another
            if not replace:
                continue
        properties[theirs[key] if theirs.get(key) in raw.properties else key] = value
        taken.append(key)
    if not taken:
        return None
    source = one.properties["height_from"]
    parts = ", ".join(key.replace("_", " ") for key in taken if key != "transmittance_path")
    properties["height_from"] = source if "height" in {*taken, *earlier} else f"{parts}{_BY}{source}"
    return {"type": "Feature", "id": one.id, "properties": properties}


def _of_a_survey(there: Named) -> frozenset[str]:
    """Return the figures of a feature that an earlier survey gave."""
    source = there.properties.get("height_from")
    if not isinstance(source, str):
        return frozenset()
    parts, by, _ = source.partition(_BY)
    own = frozenset(KINDS[there.kind].fields)
    return frozenset(part.replace(" ", "_") for part in parts.split(", ")) & own if by else own


def _wanted(one: Kept, there: Named) -> Iterator[tuple[str, Any]]:
    """Yield the figures of a proposal that a feature takes, the height first."""
    fields = KINDS[there.kind].fields
    line = there.shape is not None and there.shape.geom_type in {"LineString", "MultiLineString"}
    for key in sorted(one.properties, key=lambda key: key != "height"):
        point = there.shape is not None and there.shape.geom_type == "Point"
        if key not in fields or key == "height_from" or (key == "crown_diameter" and not point):
            continue
        if key in {"width", "thickness"} and not line:
            continue
        if key.startswith("transmittance") and ("crown_density" in there.properties):
            continue
        yield key, one.properties[key]


def _agree(own: object, found: object, there: Named, key: str, unit: LengthUnit) -> bool:
    """Return whether two figures differ by no more than both may be off; also where one cannot be read."""
    rule = KINDS[there.kind].fields[key].rule
    if not isinstance(rule, Quantity):
        return own == found
    try:
        one, first = _figure(own, rule, unit)
        other, second = _figure(found, rule, unit)
    except ValueError:
        return False
    how = read_spreads().get(str(there.properties.get("measured", "typed")))
    if first is None and how is not None and rule.dimension == "length":
        first = max((how.tree if there.kind == "tree" else how.built) * one, how.least)
    if rule.dimension == "angle":
        apart = abs(one - other) % 180
        return min(apart, 180 - apart) < 10
    return abs(one - other) <= (first or 0.0) + (second or 0.0) + _LEAST


def _figure(value: object, rule: Quantity, unit: LengthUnit) -> tuple[float, float | None]:
    plain, behind = parted(value)
    number = si_value(plain, rule.dimension, plain=unit)
    return number, spread_size(behind, plain, number, rule.dimension, plain=unit)
