"""How are proposals merged into the features file without losing what the gardener drew or measured?

A drawn feature keeps its id, its shape and the gardener's figures. The survey fills in missing figures and replaces
guesses and figures of an earlier survey. If a gardener's figure differs by more than both spreads, it stays, and the
conflict is reported. The new file is checked before it replaces the old one: it must not add a fault.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any, cast

from siteplan.files.checked import Checked
from siteplan.files.constant_tables import read_spreads
from siteplan.files.drawing.editing import edited_features
from siteplan.files.drawing.kinds import KINDS
from siteplan.files.drawing.naming import NamedFeature, feature_numbers, named_features
from siteplan.files.drawing.vector import DRAWN_HERE, RawFeature
from siteplan.files.outputs.replacing import new_version
from siteplan.files.reader import check_site
from siteplan.files.remarks import Remarks
from siteplan.files.survey.proposals_file import FILE, StoredProposal, written
from siteplan.land.errors import Fault, InputError
from siteplan.land.proposals import Accepted, Conflict, Figure
from siteplan.land.spread import split_spread, spread_size
from siteplan.land.units import LengthUnit, si_value
from siteplan.land.values import LONGEST_TEXT, Quantity, nearest, shown

_BY = " by "  # separates figures and survey in `height_from`, if the height itself is the gardener's
_LEAST = 0.05  # m; figures that differ by less agree


def accept(
    folder: Path, proposals: Sequence[StoredProposal], ids: Sequence[str] | None, *, replace: bool
) -> Accepted:
    """Merge proposals into the features file of a site; if one does not fit, none is merged.

    Parameters
    ----------
    folder : Path
        Of the site.
    proposals : sequence of StoredProposal
    ids : sequence of str or None
        Of the proposals to merge; None for all.
    replace : bool
        Whether the survey's figures replace the gardener's.

    Raises
    ------
    InputError
        If an id is not known, or the file would get a fault; nothing is written then.
    """
    checked = check_site(folder)
    merging = Merging(checked)
    accepted, changed_features = merging.merge(wanted_proposals(proposals, ids), replace=replace)
    if changed_features:
        path = folder / merging.file
        with new_version(path) as copy:
            text = copy.read_bytes().decode("utf-8")
            copy.write_bytes(edited_features(text, changed_features, (), merging.numbers).encode("utf-8"))
            require_no_new_fault(folder, copy, checked.faults)
    return accepted


class Merging:
    """Works out how proposals change the drawn features; writes nothing.

    Parameters
    ----------
    checked : Checked
        The contents of the site's files.

    Attributes
    ----------
    file : str
        The features file.
    numbers : dict
        The position in it, from 1, of each feature by its id.

    Raises
    ------
    InputError
        If the features file cannot be read, or cannot be edited.
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
        self._named = {feature.id: feature for feature in named}
        self._raw = {feature.number: feature for feature in drawing.features}
        self._file_names = {key: name for name, key in settings.renaming.keys.items()}
        self._unit = checked.read.unit

    def merge(self, proposals: Sequence[StoredProposal], *, replace: bool) -> tuple[Accepted, list[dict[str, Any]]]:
        """Return which features change, and these features in the coordinates of the file.

        Parameters
        ----------
        proposals : sequence of StoredProposal
        replace : bool
            As for `accept`.

        Raises
        ------
        InputError
            If drawn features no longer fit their proposals; with all of them.
        """
        accepted, changed_features, faults = Accepted(Path(self.file).name), [], []
        for proposal in proposals:
            feature = self._named.get(proposal.id)
            if feature is None and proposal.drawn:
                text = f"is not drawn any more in {accepted.file}; ask the survey again: siteplan heights SITE TILE"
                faults.append(Fault(FILE, proposal.id, text))
            elif feature is None:
                changed_features.append(_new_feature(proposal))
                accepted.added.append(proposal.id)
            elif feature.kind != proposal.kind:
                text = f"is a {feature.kind} in {accepted.file} and a {proposal.kind} here; ask the survey again"
                faults.append(Fault(FILE, proposal.id, text))
            else:
                raw = self._raw[feature.number]
                merged = _merged(proposal, feature, raw, self._file_names, self._unit, accepted, replace=replace)
                if merged is None:
                    accepted.same.append(proposal.id)
                else:
                    accepted.changed.append(proposal.id)
                    changed_features.append(merged)
        if faults:
            raise InputError(faults)
        return accepted, changed_features


def require_no_new_fault(folder: Path, features: Path, before: Sequence[Fault]) -> None:
    """Raise InputError if a site with another features file has a fault that it did not have before.

    Parameters
    ----------
    folder : Path
        Of the site.
    features : Path
        The new file.
    before : sequence of Fault
        The site's faults until now.

    Raises
    ------
    InputError
        With the new ones.
    """
    new = [fault for fault in check_site(folder, features=features).faults if fault not in before]
    if new:
        raise InputError(new)


def wanted_proposals(proposals: Sequence[StoredProposal], ids: Sequence[str] | None) -> list[StoredProposal]:
    """Return the proposals of some ids, all for None; InputError for an id that is not known."""
    if ids is None:
        return list(proposals)
    by_id = {proposal.id: proposal for proposal in proposals}
    faults = []
    for name in ids:
        if name not in by_id:
            hint = nearest(name, list(by_id))
            meant = f"did you mean {hint!r}? " if hint else ""
            text = f"{shown(name[:LONGEST_TEXT])} is no proposal; {meant}{FILE} lists them, and all takes them all"
            faults.append(Fault("", "--accept", text))
    if faults:
        raise InputError(faults)
    return [by_id[name] for name in dict.fromkeys(ids)]


def _new_feature(proposal: StoredProposal) -> dict[str, Any]:
    properties = {"kind": proposal.kind, **proposal.properties}
    return {"type": "Feature", "id": proposal.id, "properties": properties, "geometry": proposal.geometry}


def _merged(
    proposal: StoredProposal,
    feature: NamedFeature,
    raw: RawFeature,
    file_names: Mapping[str, str],
    unit: LengthUnit,
    accepted: Accepted,
    *,
    replace: bool,
) -> dict[str, Any] | None:
    """Return a drawn feature with the figures that it takes from a proposal, None if it takes none."""
    properties, changed_keys = dict(raw.properties), []
    earlier = _figures_of_a_survey(feature)
    for key, value in _usable_figures(proposal, feature, unit):
        drawn_figure = feature.properties.get(key)
        may_replace = drawn_figure is None or key in earlier or feature.properties.get("measured") == "guess"
        unchanged = drawn_figure == value or not may_replace
        if drawn_figure is not None and unchanged and _agree(drawn_figure, value, feature, key, unit):
            continue
        if not may_replace:
            accepted.conflicts.append(Conflict(proposal.id, key, drawn_figure, value, taken=replace))
            if not replace and key == "height":
                break  # the other figures do not fit a different height
            if not replace:
                continue
        name = file_names.get(key)
        properties[name if name is not None and name in raw.properties else key] = value
        changed_keys.append(key)
    if not changed_keys:
        return None
    source = proposal.properties["height_from"]
    parts = ", ".join(key.replace("_", " ") for key in changed_keys if key != "transmittance_path")
    properties["height_from"] = source if "height" in {*changed_keys, *earlier} else f"{parts}{_BY}{source}"
    return {"type": "Feature", "id": proposal.id, "properties": properties}


def _figures_of_a_survey(feature: NamedFeature) -> frozenset[str]:
    """Return the keys of a feature's figures that came from an earlier survey, by its `height_from`."""
    source = feature.properties.get("height_from")
    if not isinstance(source, str):
        return frozenset()
    parts, has_separator, _ = source.partition(_BY)
    fields = frozenset(KINDS[feature.kind].fields)
    if not has_separator:
        return fields
    return frozenset(part.replace(" ", "_") for part in parts.split(", ")) & fields


def _usable_figures(proposal: StoredProposal, feature: NamedFeature, unit: LengthUnit) -> Iterator[tuple[str, Any]]:
    """Yield the figures of a proposal that apply to a drawn feature, the height first."""
    fields = KINDS[feature.kind].fields
    geometry_type = "" if feature.shape is None else feature.shape.geom_type
    is_line, is_point = geometry_type in {"LineString", "MultiLineString"}, geometry_type == "Point"
    for key in sorted(proposal.properties, key=lambda key: key != "height"):
        if key not in fields or key == "height_from" or (key == "crown_diameter" and not is_point):
            continue
        if key in {"width", "thickness"} and not is_line:
            continue
        if key.startswith("transmittance") and "crown_density" in feature.properties:
            continue
        if key == "crown_diameter" and "crown_radius" in feature.properties:
            yield "crown_radius", _radius(proposal.properties[key], unit)
        else:
            yield key, proposal.properties[key]


def _radius(diameter: Any, unit: LengthUnit) -> Any:
    """Return half a diameter, with half its spread, as a features file holds it; as it is if it cannot be read."""
    rule = KINDS["tree"].fields["crown_diameter"].rule
    try:
        value, spread = _figure(diameter, cast("Quantity", rule), unit)
    except ValueError:
        return diameter
    return written(
        Figure("crown_radius", value / 2, (spread or 0.0) / 2), "imperial" if "ft" in str(diameter) else "metric"
    )


def _agree(drawn: object, proposed: object, feature: NamedFeature, key: str, unit: LengthUnit) -> bool:
    """Return whether two figures differ by no more than both spreads; False if one cannot be read."""
    rule = KINDS[feature.kind].fields[key].rule
    if not isinstance(rule, Quantity):
        return drawn == proposed
    try:
        drawn_value, drawn_spread = _figure(drawn, rule, unit)
        proposed_value, proposed_spread = _figure(proposed, rule, unit)
    except ValueError:
        return False
    usual = read_spreads().get(str(feature.properties.get("measured", "typed")))
    if drawn_spread is None and usual is not None and rule.dimension == "length":
        drawn_spread = max((usual.tree if feature.kind == "tree" else usual.built) * drawn_value, usual.least)
    if rule.dimension == "angle":
        turn = abs(drawn_value - proposed_value) % 180
        return min(turn, 180 - turn) < 10
    return abs(drawn_value - proposed_value) <= (drawn_spread or 0.0) + (proposed_spread or 0.0) + _LEAST


def _figure(value: object, rule: Quantity, unit: LengthUnit) -> tuple[float, float | None]:
    """Return a figure and its spread in the kernels' unit; None for a spread that is not given."""
    plain, spread = split_spread(value)
    number = si_value(plain, rule.dimension, plain=unit)
    return number, spread_size(spread, plain, number, rule.dimension, plain=unit)
