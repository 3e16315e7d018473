"""How are the files of a property read and changed, so that nothing is lost?

All files of a change are written as one step, under a lock: the history first records the change, then each file is
replaced as a whole. A change that was interrupted is finished when the property is next opened. A change made by
another program becomes a step of its own.
"""

from __future__ import annotations

import contextlib
import json
import tomllib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from siteplan.draw.history import FOLDER, LARGEST, History, hash_of, is_within
from siteplan.files.drawing.vector import DRAWN_HERE
from siteplan.files.outputs.moving import held, sync
from siteplan.files.outputs.replacing import waiting_version, write_over
from siteplan.files.site_toml.settings import FILE as SETTINGS_FILE
from siteplan.files.site_toml.settings import Settings
from siteplan.files.text import no_file
from siteplan.files.variants import FOLDER as VARIANTS
from siteplan.land.errors import Fault, InputError

EMPTY = b'{"type": "FeatureCollection", "features": []}\n'
OUTSIDE = "changed outside"
_FEATURES = str(Settings.features)


@dataclass(frozen=True)
class State:
    """The files of a property at one moment.

    Attributes
    ----------
    version : str
        A hash that differs for any difference in the files.
    files : mapping of str to bytes
        By name within the site's folder: site.toml, the features file, and those of variants.
    features : str
        Name of the features file.
    undo, redo : str or None
        Words of the step that can be undone, or redone.
    """

    version: str
    files: Mapping[str, bytes]
    features: str
    undo: str | None
    redo: str | None


class StaleError(InputError):
    """The property is no longer as it was when the change was begun.

    Attributes
    ----------
    state : State
        The present state.
    """

    def __init__(self, state: State) -> None:
        self.state = state
        last = f' (the last step: "{state.undo}")' if state.undo else ""
        text = f"the property has been changed in the meantime{last}; look at it as it is now, and do this once more"
        super().__init__([Fault("", "", text)])


class PropertyFiles:
    """The files of one property, with their history.

    Parameters
    ----------
    folder : str or Path
        With site.toml in it.

    Raises
    ------
    InputError
        If there is no site, or its folder cannot be written to.
    """

    def __init__(self, folder: str | Path) -> None:
        self.folder = Path(folder)
        if trouble := no_file(self.folder / SETTINGS_FILE):
            name = self.folder.name or str(self.folder)
            raise InputError([Fault(SETTINGS_FILE, "", f"{trouble}; start a site with: siteplan new {name}")])
        self._features, self._settings = _FEATURES, b""
        self.now()

    def now(self) -> State:
        """Return the present state; an interrupted change is finished, another program's change becomes a step."""
        with self._alone() as history:
            return self._state(history)

    def write(self, base: str, changes: Mapping[str, bytes | None], says: str) -> State:
        """Change files as one step of the history, all of them or none.

        Parameters
        ----------
        base : str
            The version that the change was made from.
        changes : mapping of str to bytes or None
            New content by name; None removes the file.
        says : str
            What was done, as ``moved maple``.

        Returns
        -------
        State

        Raises
        ------
        StaleError
            If the property has another version by now.
        InputError
            If a new file could not be read again, or a file cannot be written; all is then as before.
        """
        with self._alone() as history:
            before = self._state(history)
            if before.version != base:
                raise StaleError(before)
            require_readable({name: content for name, content in changes.items() if content is not None})
            stored = {name: history.keep(content) for name, content in changes.items() if content is not None}
            after = {name: sha for name, sha in history.now.items() if name not in changes} | stored
            if after == dict(history.now):
                return before

            def add() -> None:
                history.add(says, after)

            return self._step(history, after, add)

    def undo(self, base: str) -> State:
        """Undo one step; the parameter and the errors are those of `write`."""
        return self._go(base, -1)

    def redo(self, base: str) -> State:
        """Redo one step; the parameter and the errors are those of `write`."""
        return self._go(base, 1)

    def _go(self, base: str, direction: int) -> State:
        """Go to the next readable state, back (`way` -1) or forward (1)."""
        with self._alone() as history:
            before = self._state(history)
            if before.version != base:
                raise StaleError(before)
            index = history.position + direction
            while 0 <= index < len(history.steps):
                files = history.steps[index].files
                contents = {name: history.content(sha) for name, sha in files.items()}
                if all(
                    content is not None and _unreadable(name, content) == "" for name, content in contents.items()
                ):

                    def move(position: int = index) -> None:
                        history.position = position

                    return self._step(history, files, move)
                index += direction
            text = "there is no step to undo" if direction < 0 else "there is no step to do again"
            raise InputError([Fault("", "", text)])

    def _step(self, history: History, after: Mapping[str, str], move: Callable[[], None]) -> State:
        """Replace the files by those of another state, to which `move` sets the history; if it fails, undo all."""
        steps, position, before = list(history.steps), history.position, history.now
        move()
        history.writing = (dict(before), dict(after))
        history.save()
        try:
            self._replace(history, before, after)
        except _ChangedError:
            self._back(history, before, after)
            history.steps, history.position, history.writing = steps, position, None
            history.save()
            raise StaleError(self._state(history)) from None
        except OSError:
            self._back(history, before, after)
            history.steps, history.position, history.writing = steps, position, None
            history.save()
            raise
        history.writing = None
        history.save(lasting=False)
        return self._state(history)

    def _replace(self, history: History, before: Mapping[str, str], after: Mapping[str, str]) -> None:
        """Replace the files of one state by another's; raise if a file is of neither."""
        for name in sorted(before.keys() | after.keys()):
            old, new = before.get(name), after.get(name)
            if old == new:
                continue
            now = self._hash(name)
            if now not in {old, new}:
                raise _ChangedError
            if now != new:
                self._put(name, None if new is None else history.content(new))

    def _back(self, history: History, before: Mapping[str, str], after: Mapping[str, str]) -> None:
        """Put back the files that were already replaced."""
        for name in sorted(before.keys() | after.keys()):
            old, new = before.get(name), after.get(name)
            if old != new and self._hash(name) == new:
                self._put(name, None if old is None else history.content(old))

    def _put(self, name: str, content: bytes | None) -> None:
        """Write a file, or remove it if it is a variant's; other files are never removed."""
        path = self.folder / name
        if content is not None:
            path.parent.mkdir(parents=True, exist_ok=True)
            write_over(path, content)
        elif name.startswith(f"{VARIANTS}/"):
            path.unlink(missing_ok=True)
            sync(path.parent)

    def _hash(self, name: str) -> str | None:
        """Return the hash of a file; a features file that is missing counts as one without features."""
        path = self.folder / name
        if no_file(path):
            return hash_of(EMPTY) if name == self._features else None
        return hash_of(path.read_bytes())

    @contextlib.contextmanager
    def _alone(self) -> Iterator[History]:
        """Give the history to one process and thread at a time, after finishing any interrupted change."""
        history_folder = self.folder / FOLDER
        try:
            history_folder.mkdir(exist_ok=True)
            if history_folder.is_symlink():
                raise InputError([Fault(FOLDER, "", "is a link, must be a folder that siteplan made; remove it")])
            with held(history_folder, wait=True):
                history = History.of(self.folder)
                if history.writing is not None:
                    self._finish(history)
                yield history
        except OSError as error:
            where = Path(error.filename).name if error.filename else self.folder.name
            text = f"cannot be written ({error.strerror or error}); the property is as it was"
            raise InputError([Fault(where, "", text)]) from error

    def _finish(self, history: History) -> None:
        """Finish an interrupted change: files that are still as before are replaced."""
        before, after = history.writing or ({}, {})
        for name in sorted(before.keys() | after.keys()):
            waiting_version(self.folder / name).unlink(missing_ok=True)
            if before.get(name) != after.get(name) and self._hash(name) == before.get(name):
                new = after.get(name)
                content = None if new is None else history.content(new)
                if new is None or content is not None:
                    self._put(name, content)
        history.writing = None
        history.save()

    def _state(self, history: History) -> State:
        """Return the files as they are; if they differ from the last step, the difference becomes a step."""
        files, others = self._read()
        hashes = {name: hash_of(content) for name, content in files.items()}
        if not history.steps or hashes != dict(history.now):
            for content in files.values():
                history.keep(content)
            history.add(OUTSIDE if history.steps else "opened", hashes)
            history.save()
        version = hash_of(json.dumps([sorted(hashes.items()), others]).encode())[:32]
        return State(version, files, self._features, history.undo, history.redo)

    def _read(self) -> tuple[dict[str, bytes], list[object]]:
        """Return the files to keep, and the size and time of a features file that cannot be kept."""
        path = self.folder / SETTINGS_FILE
        if trouble := no_file(path):
            raise InputError([Fault(SETTINGS_FILE, "", f"{trouble} any more; put it back")])
        if not is_within(SETTINGS_FILE, self.folder) or path.stat().st_size > LARGEST:
            text = f"must lie in the site's own folder, and be at most {LARGEST / 1e6:g} MB"
            raise InputError([Fault(SETTINGS_FILE, "", text)])
        files = {SETTINGS_FILE: path.read_bytes()}
        if files[SETTINGS_FILE] != self._settings:
            self._settings = files[SETTINGS_FILE]
            with contextlib.suppress(ValueError, RecursionError):  # unreadable: the last name stays
                named = tomllib.loads(self._settings.decode("utf-8-sig")).get("features", _FEATURES)
                self._features = named if isinstance(named, str) and named else _FEATURES
        others: list[object] = []
        path = self.folder / self._features
        if undrawable(self.folder, self._features):
            with contextlib.suppress(OSError, ValueError):
                status = path.stat()
                others = [self._features, status.st_size, status.st_mtime_ns]
        else:
            files[self._features] = EMPTY if no_file(path) else path.read_bytes()
        for variant_path in sorted((self.folder / VARIANTS).glob("*.json")):
            name = f"{VARIANTS}/{variant_path.name}"
            if not no_file(variant_path) and is_within(name, self.folder) and variant_path.stat().st_size <= LARGEST:
                files[name] = variant_path.read_bytes()
        return files, others


class _ChangedError(Exception):
    """Another program changed a file while it was being replaced."""


def undrawable(folder: Path, features: str) -> str:
    """Return why a features file cannot be drawn on, and what helps; empty if it can."""
    if not is_within(features, folder):
        return 'lies outside the site\'s folder; put it beside site.toml, and name it there as "features.geojson"'
    path = folder / features
    if path.suffix.lower() not in DRAWN_HERE:
        return (
            "is no GeoJSON, and only that can be drawn on here; save it as features.geojson in the program that "
            'made it, beside site.toml, and say there: features = "features.geojson"'
        )
    trouble = no_file(path)
    if trouble and trouble != "is not there":
        return trouble
    if not trouble and path.stat().st_size > LARGEST:
        return f"is larger than {LARGEST / 1e6:g} MB; take out what lies far from the property to draw on it here"
    return ""


def require_readable(files: Mapping[str, bytes]) -> None:
    """Raise InputError if a file could not be read again once it is written."""
    troubles = {name: text for name, content in files.items() if (text := _unreadable(name, content))}
    if troubles:
        raise InputError([Fault(name, "", text) for name, text in troubles.items()])


def _unreadable(name: str, content: bytes) -> str:
    """Return why a file could not be read; empty if it can."""
    try:
        text = content.decode("utf-8-sig")
        if name == SETTINGS_FILE:
            tomllib.loads(text)
            return ""
        document = json.loads(text)
    except (ValueError, RecursionError) as error:
        return f"would not be readable any more: {error}; nothing was written"
    is_variant = name.startswith(f"{VARIANTS}/")
    if not isinstance(document, dict) or not (is_variant or isinstance(document.get("features"), list)):
        return "would be no list of features any more; nothing was written"
    if len(content) > LARGEST:
        return f"would be larger than {LARGEST / 1e6:g} MB; nothing was written"
    return ""
