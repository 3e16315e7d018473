"""How is a property opened, read and changed by the page?

Each change of the page is one step: its features and settings are written into the texts of the files, which are then
read and checked again. `desk` answers the questions about sun and work.
"""

from __future__ import annotations

import tempfile
import threading
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from siteplan.draw.page_features import feature_fault, to_file
from siteplan.draw.plane import Plane, plane_of
from siteplan.draw.property_files import PropertyFiles, StaleError, undrawable
from siteplan.draw.property_view import Reading, names_of, property_view
from siteplan.draw.variant_work import adopted, edited_variant, features_with_ids, property_read, sound_variant
from siteplan.files.drawing.editing import edited_features
from siteplan.files.reader import check_site
from siteplan.files.site_toml.editing import edited_settings
from siteplan.files.site_toml.settings import FILE as SETTINGS_FILE
from siteplan.files.survey.accepting import Merging, require_no_new_fault
from siteplan.files.survey.proposals_file import StoredProposal
from siteplan.files.text import no_file
from siteplan.files.variants import Variant, name_fault, variant_names
from siteplan.land.errors import Fault, InputError
from siteplan.land.proposals import Accepted
from siteplan.land.values import shown

Json = dict[str, Any]
_TRIES = 5  # at reading and checking the files without another program changing them meanwhile


class Property:
    """A property that is open in a page.

    Parameters
    ----------
    folder : str or Path
        Of the site.

    Raises
    ------
    InputError
        If there is no site, or its folder cannot be written to.
    """

    def __init__(self, folder: str | Path) -> None:
        self.folder = Path(folder)
        self.files = PropertyFiles(folder)
        self.variant: str | None = None  # the open variant; None if the property itself is open
        self._plane: Plane | None = None
        self._last: Reading | None = None
        self._reads = threading.Lock()

    def reading(self) -> Reading:
        """Return what the files say now; they are read and checked again only if they have changed."""
        with self._reads:
            for _ in range(_TRIES):
                state = self.files.now()
                if self.variant is not None and Variant(self.variant).file not in state.files:
                    self.variant = None  # its file is gone, perhaps by an undo
                last, variant = self._last, self.variant
                if last is not None and (last.state, last.variant) == (state, variant):
                    return last
                if last is not None and (last.state.version, last.variant) == (state.version, variant):
                    checked = last.checked
                else:
                    checked = check_site(self.folder, variant=variant)
                if self.files.now().version == state.version:
                    break
            self._plane = plane_of(checked.read, self._plane)
            numbers, named = names_of(checked.read)
            self._last = Reading(state, checked, self._plane, numbers, named, variant)
            return self._last

    def view(self) -> Json:
        """Return the property, or its open variant, for the page."""
        reading = self.reading()
        names = list(variant_names(self.folder))
        view = property_view(reading, self.folder.resolve().name)
        return view | {"variants": names, "variant": reading.variant}

    def edit(
        self,
        version: str,
        says: str,
        *,
        put: Sequence[Any] = (),
        remove: Sequence[str] = (),
        settings: Mapping[str, Any] | None = None,
    ) -> Json:
        """Change features and settings as one step, and return the new property.

        Parameters
        ----------
        version : str
            The version that the page shows.
        says : str
            What is done, as ``moved maple``.
        put : sequence of dict
            Features of the page: new ones, or replacements of those with the same id.
        remove : sequence of str
            Ids.
        settings : mapping of str to value, optional
            By their path, as ``origin.latitude``; None removes a setting.

        Raises
        ------
        StaleError
            If the property has another version by now.
        InputError
            If something could not be written, with all faults.
        """
        reading = self.reading()
        if reading.state.version != version:
            raise StaleError(reading.state)
        faults = _unreadable(reading, self.folder, drawing=bool(put or remove))
        faults += _feature_faults(put, remove, reading) + _setting_faults(settings or {}, reading)
        if faults:
            raise InputError(faults)
        if reading.variant is None:
            changes = _changes(reading, put, remove, settings or {})
        else:
            changes = self._varied(reading.variant, reading, put, remove, settings or {})
        self.files.write(version, changes, says)
        return self.view()

    def _varied(
        self, name: str, reading: Reading, put: Sequence[Json], remove: Sequence[str], settings: Mapping[str, Any]
    ) -> dict[str, bytes | None]:
        """Return the variant's file with a change of the page in it."""
        base = property_read(self.folder)
        base_features, raw = features_with_ids(base), reading.raw()
        features = [
            to_file(feature, raw.get(feature["id"]), reading.plane, base_features.get(feature["id"]))
            for feature in put
        ]
        variant = edited_variant(sound_variant(self.folder, name), base, features, remove, settings)
        return {variant.file: variant.text().encode("utf-8")}

    def accept(self, version: str, proposals: Sequence[StoredProposal], *, replace: bool) -> Accepted:
        """Merge proposals of a survey into the property, or its open variant, as one step.

        Parameters
        ----------
        version : str
            The version that the page shows.
        proposals : sequence of StoredProposal
        replace : bool
            Whether the survey's figures replace those that the gardener gave.

        Raises
        ------
        StaleError
            If the property has another version by now.
        InputError
            If the drawing no longer fits the proposals, or the property would have a new fault.
        """
        reading = self.reading()
        if reading.state.version != version:
            raise StaleError(reading.state)
        if faults := _unreadable(reading, self.folder, drawing=True):
            raise InputError(faults)
        done, put = Merging(reading.checked).merge(proposals, replace=replace)
        if not put:
            return done
        if reading.variant is None:
            changes = _changes_of_file(reading, put, self.folder)
        else:
            variant = sound_variant(self.folder, reading.variant)
            variant = edited_variant(variant, property_read(self.folder), put, (), {})
            changes = {variant.file: variant.text().encode("utf-8")}
        subject = put[0]["id"] if len(put) == 1 else f"{len(put)} proposals"
        self.files.write(version, changes, f"took {subject} from the survey")
        return done

    def undo(self, version: str) -> Json:
        """Undo the last step, and return the new property."""
        self.files.undo(version)
        return self.view()

    def redo(self, version: str) -> Json:
        """Redo the step that was undone last, and return the new property."""
        self.files.redo(version)
        return self.view()

    def variants(self, do: str, name: str | None, version: str, *, to: str = "") -> Json:
        """Make, open, rename or remove a variant, or adopt it as the property; return what is open afterwards.

        Parameters
        ----------
        do : str
            ``make``, ``open``, ``rename``, ``remove`` or ``adopt``.
        name : str or None
            Of the variant; None to open the property itself.
        version : str
            The version that the page shows.
        to : str
            The new name.

        Raises
        ------
        StaleError
            If the property has another version by now.
        InputError
            If that cannot be done, with all faults.
        """
        reading = self.reading()
        if reading.state.version != version:
            raise StaleError(reading.state)
        if name is None and do != "open":
            raise InputError([Fault("", "name", "is missing; say which variant is meant")])
        opened, changes, says = self._variant_change(do, name, to, reading)
        if changes:
            self.files.write(version, changes, says)
        self.variant = opened
        return self.view()

    def _variant_change(
        self, do: str, name: str | None, to: str, reading: Reading
    ) -> tuple[str | None, dict[str, bytes | None], str]:
        """Return the variant that is open afterwards, the new content of the files, and the words of the step."""
        if name is None:
            return None, {}, ""
        if do == "make":
            _require_name(name, variant_names(self.folder))
            new_variant = Variant(name)
            return name, {new_variant.file: new_variant.text().encode("utf-8")}, f"made variant {name}"
        if do == "remove" and (file := Variant(name).file) in reading.state.files:  # also one that cannot be read
            return None if self.variant == name else self.variant, {file: None}, f"removed variant {name}"
        variant = sound_variant(self.folder, name)
        if do == "open":
            return name, {}, ""
        if do == "rename":
            _require_name(to, [other for other in variant_names(self.folder) if other != name])
            renamed = replace(variant, name=to)
            changes = {variant.file: None, renamed.file: reading.state.files[variant.file]}
            return to if self.variant == name else self.variant, changes, f"renamed variant {name} to {to}"
        if do == "adopt":
            return None, self._adopted(variant, reading), f"made variant {name} the property"
        raise InputError([Fault("", "do", "must be make, open, rename, remove or adopt")])

    def _adopted(self, variant: Variant, reading: Reading) -> dict[str, bytes | None]:
        state = reading.state
        if trouble := undrawable(self.folder, state.features):
            raise InputError([Fault(state.features, "", trouble)])
        texts = {name: state.files[name].decode("utf-8") for name in (SETTINGS_FILE, state.features)}
        return adopted(variant, property_read(self.folder), texts, state.features)


def _require_name(name: str, others: Sequence[str]) -> None:
    if trouble := name_fault(name, others):
        raise InputError([Fault("", "name", f"the name {shown(name)} {trouble}")])


def _changes(
    reading: Reading, put: Sequence[Json], remove: Sequence[str], settings: Mapping[str, Any]
) -> dict[str, bytes | None]:
    """Return the new content of the files that a change of the page touches."""
    state, plane, raw = reading.state, reading.plane, reading.raw()
    changes: dict[str, bytes | None] = {}
    if put or remove:
        features = [to_file(feature, raw.get(feature["id"]), plane) for feature in put]
        text = state.files[state.features].decode("utf-8")
        changes[state.features] = edited_features(text, features, remove, reading.numbers).encode("utf-8")
        if plane.frame is None and not _has_origin(reading):
            settings = {"origin.unit": reading.read.unit.sign, **settings}  # without it these would be degrees
    if settings:
        text = state.files[SETTINGS_FILE].decode("utf-8")
        changes[SETTINGS_FILE] = edited_settings(text, settings).encode("utf-8")
    return changes


def _changes_of_file(reading: Reading, put: Sequence[Json], folder: Path) -> dict[str, bytes | None]:
    """Return the features file with proposals in it, or raise if the property would have a new fault."""
    name = reading.state.features
    text = edited_features(reading.state.files[name].decode("utf-8"), put, (), reading.numbers)
    with tempfile.TemporaryDirectory(prefix="siteplan-") as trial_folder:
        trial = Path(trial_folder) / Path(name).name
        trial.write_bytes(text.encode("utf-8"))
        require_no_new_fault(folder, trial, reading.checked.faults)
    return {name: text.encode("utf-8")}


def _has_origin(reading: Reading) -> bool:
    return reading.read.settings is not None and reading.read.settings.has_origin


def _unreadable(reading: Reading, folder: Path, *, drawing: bool) -> list[Fault]:
    """Return why the files cannot be changed as they are."""
    state, read = reading.state, reading.read
    if read.settings is None:
        return list(reading.checked.faults)
    if not drawing:
        return []
    if reading.variant is None and (trouble := undrawable(folder, state.features)):
        return [Fault(state.features, "", trouble)]
    if read.drawing is None and no_file(folder / state.features) != "is not there":  # then it becomes one
        return [fault for fault in reading.checked.faults if fault.file == Path(state.features).name]
    return []


def _feature_faults(put: Sequence[Any], remove: Sequence[Any], reading: Reading) -> list[Fault]:
    """Return why features of a change could not be written."""
    faults = [fault for feature in put if (fault := feature_fault(feature)) is not None]
    names = [feature["id"] for feature in put if isinstance(feature, dict) and isinstance(feature.get("id"), str)]
    names += [name for name in remove if isinstance(name, str)]
    faults += [Fault("", name, "stands twice in one change") for name in {*names} if names.count(name) > 1]
    not_drawn = [name for name in remove if not isinstance(name, str) or name not in reading.numbers]
    return faults + [Fault("", shown(name), "is not drawn, so that it cannot be removed") for name in not_drawn]


def _setting_faults(settings: Mapping[str, Any], reading: Reading) -> list[Fault]:
    """Return the faults in a change of the settings, except unknown keys, which are found when it is written."""
    faults = []
    if "features" in settings:
        text = "names the file that is open here; change it in a text editor"
        faults.append(Fault(SETTINGS_FILE, "features", text))
    unit = settings.get("origin.unit")
    if "origin.unit" in settings and reading.variant is not None:
        faults.append(Fault(SETTINGS_FILE, "origin.unit", "is that of the property; a variant cannot change it"))
    elif "origin.unit" in settings and reading.numbers and unit != reading.read.unit.sign:
        text = "cannot change once something is drawn, for all lengths without a unit would change with it"
        faults.append(Fault(SETTINGS_FILE, "origin.unit", text))
    for key, value in settings.items():
        if not isinstance(value, str | int | float | bool | list | None):
            faults.append(Fault(SETTINGS_FILE, key, f"is {shown(value)}, must be a text, a number, true or false"))
        elif isinstance(value, str) and any("\ud800" <= letter <= "\udfff" for letter in value):
            faults.append(Fault(SETTINGS_FILE, key, "holds half of a letter; write it anew"))
    return faults
