"""What is asked of many properties?

Where the lots are, which questions, and within which limits: checked at once, all that is wrong together, and plain
enough to be handed to another process as text. It leaves out the answers.
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
class Asked:
    """What is asked of many properties.

    Attributes
    ----------
    folders : tuple of str
        Of sites, each a lot; empty where the lots are those of a town.
    lots, lots_layer, layers, settings : str
        Of a town: its lots, their layer (empty: found by its name), files of what stands, and what all lots share.
    ask : tuple of str
        Of `QUESTIONS`.
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
        """Return it as one line of JSON."""
        return json.dumps(asdict(self))

    @classmethod
    def of_text(cls, text: str) -> Asked:
        """Return what a line of JSON says."""
        read: dict[str, Any] = json.loads(text)
        values: dict[str, Any] = {key: tuple(one) if isinstance(one, list) else one for key, one in read.items()}
        return cls(**values)

    @property
    def town_files(self) -> TownFiles:
        """Where a town's lots are, and what they share."""
        return TownFiles(Path(self.lots), tuple(map(Path, self.layers)), self.lots_layer or None)


@dataclass(frozen=True, eq=False)
class Lots:
    """The lots of a screen.

    Attributes
    ----------
    asked : Asked
    ids : tuple of str
    stamps : tuple of str
        For each lot, a hash of all files that may change its answer; quick to find out.
    town : Town or None
        None where the lots are folders.
    """

    asked: Asked
    ids: tuple[str, ...]
    stamps: tuple[str, ...]
    town: Town | None = None


def lots_of_folders(folders: Sequence[Path], ask: Iterable[str]) -> Lots:
    """Return lots that are sites, each a folder of its own; their ids are the folders' names, longer where they must.

    Parameters
    ----------
    folders : sequence of Path
    ask : iterable of str
    """
    whole = [folder.resolve() for folder in folders]
    names = [folder.name for folder in whole]
    if len(set(names)) < len(names):
        names = [folder.as_posix() for folder in folders]
    common = _digest([__version__, *ask])
    asked = Asked(folders=tuple(map(str, whole)), ask=tuple(ask), common=common)
    stamps = tuple(folder_hash(folder, common) for folder in whole)
    return Lots(asked, tuple(names), stamps)


def lots_of_town(files: TownFiles, settings: Path, ask: Iterable[str]) -> Lots:
    """Return the lots of a town.

    Parameters
    ----------
    files : TownFiles
    settings : Path
        What all lots share, as site.toml has it.
    ask : iterable of str

    Raises
    ------
    InputError
        With all that is wrong with the files.
    """
    remarks = Remarks()
    town = read_town(files, settings, remarks)
    if town is None or remarks.faults:
        raise InputError(remarks.faults)
    named = [settings.parent / name for name in named_files(town.settings).values()]
    common = _digest([__version__, *ask, *map(file_hash, (settings, *named))])
    asked = Asked(
        lots=str(files.lots.resolve()),
        lots_layer=files.lots_layer or "",
        layers=tuple(str(path.resolve()) for path in files.layers),
        settings=str(settings.resolve()),
        ask=tuple(ask),
        common=common,
    )
    stamp = _digest([common, *map(file_hash, (files.lots, *files.layers))])
    return Lots(asked, tuple(town.ids), (stamp,) * len(town.ids), town)


def read_town(files: TownFiles, settings: Path, remarks: Remarks) -> Town | None:
    """Return a town's lots and layers, or None; all faults are noted, those of the settings as well."""
    values = town_values(settings, remarks)
    if values is None:
        return None
    return open_town(files, settings_of(values, settings.parent, remarks), remarks)


def town_values(settings: Path, remarks: Remarks) -> dict[str, object] | None:
    """Return what the settings of a town say, key by key, or None where they cannot be read."""
    values = values_of(settings, remarks)
    return None if values is None else {"name": "Lot", **with_plurals(values)}


def folder_hash(folder: Path, common: str) -> str:
    """Return a hash of what a site's files say that may change its answer."""
    values = values_of(folder / _SITE, Remarks()) or {}
    settings = settings_of(values, folder, Remarks())
    names = [_SITE, settings.features, *named_files(settings).values()]
    return _digest([common, *(part for name in names for part in (name, file_hash(folder / name)))])


def file_hash(path: Path) -> str:
    """Return a hash of a file's content; empty where it cannot be read."""
    try:
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except OSError:
        return ""


def _digest(parts: Iterable[str]) -> str:
    """Return a hash of some texts in order.

    Examples
    --------
    >>> _digest(["a", "bc"]) == _digest(["ab", "c"])
    False
    """
    return hashlib.sha256(json.dumps([*parts]).encode()).hexdigest()
