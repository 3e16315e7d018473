"""How is the backdrop stored in the site's folder, beside the gardener's own files?

As `backdrop.png` or `backdrop.jpg`, and `backdrop.json`, which says how the picture lies. A new picture gets a free
name; then the JSON is replaced atomically; then the old picture is deleted, but only if nobody has changed it.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import math
import re
from collections.abc import Mapping
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from tempfile import NamedTemporaryFile
from typing import Any, Literal

from siteplan.files.backdrop.picture import LONGEST_SIDE, MOST_BYTES, Picture
from siteplan.files.outputs.moving import sync
from siteplan.files.remarks import Remarks
from siteplan.files.text import no_file, read_bytes
from siteplan.land.errors import Fault, InputError
from siteplan.land.values import shown

FILE = "backdrop.json"
MOST_JSON = 100_000  # bytes
MOST_PINS = 12
STRENGTH = 0.6  # default opacity
_ABOUT = "The picture under the drawing, and how it lies there: written by siteplan draw; see the README."
_PICTURE = re.compile(r"backdrop(?:-\d{1,3})?\.(?:png|jpg)")
_MEND = "delete it, and choose the picture anew"


@dataclass(frozen=True)
class Pin:
    """A control point: a pixel of the picture, and its place in the drawing's coordinates or in degrees."""

    pixel: tuple[float, float]
    place: tuple[float, float]


@dataclass(frozen=True)
class Backdrop:
    """The picture under a drawing.

    Attributes
    ----------
    picture : str
        Name of its file in the site's folder.
    sha256 : str
        Of that file as it was written.
    width, height : int
        [pixels]
    shrunk : float
        Its width over that of the picture that was given, to which a world file refers.
    places : str
        What the pins' places are: ``drawing`` for its coordinates, ``degrees`` for longitude and latitude.
    pins : tuple of Pin
        Empty until somebody has placed it; two scale and turn it, four or more straighten it.
    strength : float
        Opacity, 0 to 1.
    under_map : bool
        Whether it lies under map.html too.
    """

    picture: str
    sha256: str
    width: int
    height: int
    shrunk: float
    places: Literal["drawing", "degrees"] = "drawing"
    pins: tuple[Pin, ...] = ()
    strength: float = STRENGTH
    under_map: bool = False


def read_backdrop(folder: Path) -> Backdrop | None:
    """Return the backdrop of a site, None if it has none.

    Raises
    ------
    InputError
        If `backdrop.json` exists and cannot be used.
    """
    path = folder / FILE
    if no_file(path) == "is not there":
        return None
    remarks = Remarks()
    content = read_bytes(path, remarks, most=MOST_JSON)
    if content is None:
        raise InputError(remarks.faults)
    try:
        return _record(json.loads(content.decode("utf-8-sig")))
    except (ValueError, KeyError, TypeError, RecursionError) as error:
        reason = f"{error.args[0]} is missing" if isinstance(error, KeyError) else str(error)[:120]
        raise InputError([Fault(FILE, "", f"is not as siteplan writes it ({reason}); {_MEND}")]) from error


def _record(document: Any) -> Backdrop:
    """Return the record in a JSON document; ValueError, KeyError or TypeError if it holds none."""
    if not isinstance(document, Mapping):
        raise TypeError("it must be an object")
    if not isinstance(document["picture"], str) or not _PICTURE.fullmatch(document["picture"]):
        raise ValueError(f"picture is {shown(document['picture'])}, must be backdrop.png or backdrop.jpg")
    pins = document.get("pins", [])
    if not isinstance(pins, list) or len(pins) > MOST_PINS or len(pins) in {1, 3}:
        raise ValueError(f"pins must be 2, or 4 to {MOST_PINS}, or none")
    places = document.get("places", "drawing")
    if places not in ("drawing", "degrees"):
        raise ValueError(f"places is {shown(places)}, must be drawing or degrees")
    return Backdrop(
        picture=document["picture"],
        sha256=str(document["sha256"])[:64],
        width=int(_number(document["width"], "width", 1, LONGEST_SIDE)),
        height=int(_number(document["height"], "height", 1, LONGEST_SIDE)),
        shrunk=_number(document.get("shrunk", 1.0), "shrunk", 1e-6, 1.0),
        places=places,
        pins=tuple(Pin(_pair(pin["pixel"], "pixel"), _pair(pin["place"], "place")) for pin in pins),
        strength=_number(document.get("strength", STRENGTH), "strength", 0.0, 1.0),
        under_map=document.get("under_map", False) is True,
    )


def _number(value: object, name: str, least: float, most: float) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not least <= value <= most:
        raise ValueError(f"{name} is {shown(value)}, must be a number from {least:g} to {most:,g}")
    return float(value)


def _pair(value: object, name: str) -> tuple[float, float]:
    if not isinstance(value, list) or len(value) != 2:
        raise ValueError(f"{name} is {shown(value)}, must be two numbers")
    first, second = (_number(number, name, -1e9, 1e9) for number in value)
    return first, second


def picture_of(folder: Path, backdrop: Backdrop) -> bytes:
    """Return the bytes of the picture's file; InputError if it cannot be read."""
    remarks = Remarks()
    content = read_bytes(folder / backdrop.picture, remarks, most=MOST_BYTES, missing=_MEND)
    if content is None:
        raise InputError(remarks.faults)
    return content


def keep_picture(folder: Path, picture: Picture) -> Backdrop:
    """Write a new picture under a free name and return its record; `save_backdrop` puts it to use.

    Nothing is overwritten: if `backdrop.png` exists, the file is called `backdrop-2.png`, and so on.
    """
    for number in range(1, 1000):
        name = f"backdrop{'' if number == 1 else f'-{number}'}.{picture.ending}"
        try:
            with (folder / name).open("xb") as file:
                file.write(picture.content)
            sync(folder / name)
        except FileExistsError:
            continue
        except OSError as error:
            raise _not_written(name, error) from error
        digest = hashlib.sha256(picture.content).hexdigest()
        return Backdrop(name, digest, picture.width, picture.height, picture.shrunk)
    raise InputError([Fault("backdrop", "", "has a thousand files beside it; take some of them away")])


def save_backdrop(folder: Path, backdrop: Backdrop, before: Backdrop | None) -> Backdrop:
    """Write `backdrop.json` atomically; then delete the former picture, unless somebody has changed it.

    Parameters
    ----------
    folder : Path
        The site's.
    backdrop : Backdrop
        Its picture is written already.
    before : Backdrop or None
        The backdrop until now.
    """
    rounded = tuple(Pin(_rounded(pin.pixel, 3), _rounded(pin.place, 10)) for pin in backdrop.pins)
    backdrop = replace(backdrop, pins=rounded)
    text = json.dumps({"about": _ABOUT, **asdict(backdrop)}, indent=1) + "\n"
    try:
        with NamedTemporaryFile(
            "w", encoding="utf-8", newline="\n", dir=folder, prefix=".siteplan-", delete=False
        ) as file:
            file.write(text)
        new = Path(file.name)
        try:
            new.chmod(0o644)
            sync(new)
            new.replace(folder / FILE)
        except BaseException:
            new.unlink(missing_ok=True)
            raise
        sync(folder)
    except OSError as error:
        raise _not_written(FILE, error) from error
    if before is not None and before.picture != backdrop.picture:
        forget_picture(folder, before)
    return backdrop


def _rounded(pair: tuple[float, float], places: int) -> tuple[float, float]:
    if not all(map(math.isfinite, pair)):
        raise ValueError("a pin lies nowhere")
    return round(pair[0], places), round(pair[1], places)


def remove_backdrop(folder: Path, backdrop: Backdrop) -> None:
    """Delete the backdrop's JSON, then its picture unless somebody has changed it."""
    try:
        (folder / FILE).unlink(missing_ok=True)
        sync(folder)
    except OSError as error:
        raise _not_written(FILE, error) from error
    forget_picture(folder, backdrop)


def forget_picture(folder: Path, backdrop: Backdrop) -> None:
    """Delete a picture that siteplan wrote; a picture that has been changed since stays."""
    path = folder / backdrop.picture
    with contextlib.suppress(OSError):
        if not path.is_symlink() and hashlib.sha256(path.read_bytes()).hexdigest() == backdrop.sha256:
            path.unlink()


def _not_written(name: str, error: OSError) -> InputError:
    return InputError([Fault(name, "", f"cannot be written ({error.strerror}); all is as it was")])
