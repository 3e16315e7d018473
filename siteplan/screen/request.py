"""Which lots are screened, and with which questions?

All files are checked before the work, and all faults are reported together. A request is plain text, so that it can
be sent to another process.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from siteplan import __version__
from siteplan.files.drawing.town import Town, TownFiles, open_town, with_plurals
from siteplan.files.remarks import Remarks
from siteplan.files.site_toml.settings import named_files, settings_of, values_of
from siteplan.land.errors import InputError
from siteplan.screen.options import QUESTIONS

_SITE = "site.toml"


@dataclass(frozen=True, kw_only=True)
class ScreenRequest:
    """A request to screen many lots.

    Attributes
    ----------
    folders : tuple of str
        Folders of sites, each a lot; empty if the lots are those of a town.
    lots, lots_layer, layers, settings : str
        For a town: the file of its lots, their layer (empty: found by its name), the files of buildings and trees,
        and the settings that all lots share.
    ask : tuple of str
        Some of `QUESTIONS`.
    common : str
        Hash of the version, the questions, the settings and the files that they name.
    """

    folders: tuple[str, ...] = ()
    lots: str = ""
    lots_layer: str = ""
    layers: tuple[str, ...] = ()
    settings: str = ""
    ask: tuple[str, ...] = QUESTIONS
    common: str = ""

    def text(self) -> str:
        """Return the request as one line of JSON."""
        return json.dumps(asdict(self))

    @classmethod
    def of_text(cls, text: str) -> ScreenRequest:
        """Return the request in a line of JSON."""
        fields: dict[str, Any] = json.loads(text)
        values: dict[str, Any] = {
            key: tuple(value) if isinstance(value, list) else value for key, value in fields.items()
        }
        return cls(**values)

    @property
    def town_files(self) -> TownFiles:
        """The files of a town's lots and of what stands around them."""
        return TownFiles(Path(self.lots), tuple(map(Path, self.layers)), self.lots_layer or None)


@dataclass(frozen=True, eq=False)
class Lots:
    """The lots of a screen.

    Attributes
    ----------
    request : ScreenRequest
    ids : tuple of str
    stamps : tuple of str
        For each lot, a hash of all files that may change its answer; quick to compute.
    town : Town or None
        None if the lots are folders.
    """

    request: ScreenRequest
    ids: tuple[str, ...]
    stamps: tuple[str, ...]
    town: Town | None = None


def lots_of_folders(folders: Sequence[Path], ask: Iterable[str]) -> Lots:
    """Return lots that are sites, each in a folder; their ids are the folders' names, or paths if names repeat.

    Parameters
    ----------
    folders : sequence of Path
    ask : iterable of str
    """
    resolved = [folder.resolve() for folder in folders]
    names = [folder.name for folder in resolved]
    if len(set(names)) < len(names):
        names = [folder.as_posix() for folder in folders]
    common = _digest([__version__, *ask])
    request = ScreenRequest(folders=tuple(map(str, resolved)), ask=tuple(ask), common=common)
    stamps = tuple(folder_hash(folder, common) for folder in resolved)
    return Lots(request, tuple(names), stamps)


def lots_of_town(files: TownFiles, settings: Path, ask: Iterable[str]) -> Lots:
    """Return the lots of a town.

    Parameters
    ----------
    files : TownFiles
    settings : Path
        The file of the settings that all lots share, written as site.toml is.
    ask : iterable of str

    Raises
    ------
    InputError
        With all faults of the files.
    """
    remarks = Remarks()
    town = read_town(files, settings, remarks)
    if town is None or remarks.faults:
        raise InputError(remarks.faults)
    further_files = [settings.parent / name for name in named_files(town.settings).values()]
    common = _digest([__version__, *ask, *map(file_hash, (settings, *further_files))])
    request = ScreenRequest(
        lots=str(files.lots.resolve()),
        lots_layer=files.lots_layer or "",
        layers=tuple(str(path.resolve()) for path in files.layers),
        settings=str(settings.resolve()),
        ask=tuple(ask),
        common=common,
    )
    stamp = _digest([common, *map(file_hash, (files.lots, *files.layers))])
    return Lots(request, tuple(town.ids), (stamp,) * len(town.ids), town)


def read_town(files: TownFiles, settings: Path, remarks: Remarks) -> Town | None:
    """Return a town's lots and layers, or None; all faults are noted, also those of the settings."""
    values = town_values(settings, remarks)
    if values is None:
        return None
    return open_town(files, settings_of(values, settings.parent, remarks), remarks)


def town_values(settings: Path, remarks: Remarks) -> dict[str, object] | None:
    """Return the settings of a town, key by key, or None if they cannot be read."""
    values = values_of(settings, remarks)
    return None if values is None else {"name": "Lot", **with_plurals(values)}


def folder_hash(folder: Path, common: str) -> str:
    """Return a hash of all files of a site that may change its answer."""
    values = values_of(folder / _SITE, Remarks()) or {}
    settings = settings_of(values, folder, Remarks())
    names = [_SITE, settings.features, *named_files(settings).values()]
    return _digest([common, *(part for name in names for part in (name, file_hash(folder / name)))])


def file_hash(path: Path) -> str:
    """Return a hash of a file's content; empty if it cannot be read."""
    try:
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except OSError:
        return ""


def _digest(parts: Iterable[str]) -> str:
    """Return a hash of texts in their order.

    Examples
    --------
    >>> _digest(["a", "bc"]) == _digest(["ab", "c"])
    False
    """
    return hashlib.sha256(json.dumps([*parts]).encode()).hexdigest()
