"""How are requests about the picture under the drawing answered?

The picture is read, stored, placed, shown and removed. Points are in the page's plane, pixels in the picture as it is
shown. These are plain functions without HTTP. The picture is not part of the history: undo does not touch it.
"""

from __future__ import annotations

import zlib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import shapely
from numpy.typing import NDArray

from siteplan.draw.plane import Plane
from siteplan.draw.request_values import RequestValues
from siteplan.files.backdrop.backdrop_file import (
    MOST_PINS,
    Backdrop,
    Pin,
    keep_picture,
    picture_of,
    read_backdrop,
    remove_backdrop,
    save_backdrop,
)
from siteplan.files.backdrop.georeferenced import LONGEST_WORLD, is_tiff, is_world_file, read_geotiff, world_corners
from siteplan.files.backdrop.picture import read_picture
from siteplan.files.backdrop.straightened import FlatView, flat_view, straightened
from siteplan.land.errors import Fault, InputError
from siteplan.land.frame import LocalFrame, local_to_plan
from siteplan.land.picture_map import PictureMap, map_by_pins
from siteplan.land.units import System
from siteplan.land.values import Quantity, printable
from siteplan.say.backdrop import lying_sentence, picture_sentences

Floats = NDArray[np.float64]

FARTHEST = 10_000.0  # m from the zero point; a picture that lies farther off is of another place
MOST_PIXEL = 1e6
STRENGTH = Quantity("fraction", least=0, most=1)
DISTANCE = Quantity("length", above=0, most=5000)
URL = "/api/backdrop/picture"


@dataclass(frozen=True, eq=False)
class PlacedBackdrop:
    """Where a backdrop lies in the page's plane.

    Attributes
    ----------
    picture_map : PictureMap
        From the pixels of the stored picture to the plane.
    pins : ndarray, shape (n, 2)
        Its pins. [m]
    flat : FlatView or None
        The straightened view that is shown instead if the picture was taken at a slant.
    """

    picture_map: PictureMap
    pins: Floats
    flat: FlatView | None


class Shown(NamedTuple):
    """A picture as a browser gets it: its bytes and their media type."""

    content: bytes
    media_type: str


def backdrop_view(folder: Path, plane: Plane, *, units: System) -> dict[str, Any] | None:
    """Return the property's backdrop; None if it has none that can be used.

    Returns
    -------
    dict
        ``url``, ``width`` and ``height`` of the shown picture [pixels], ``corners`` (top left, top right,
        bottom right, bottom left, in the page's plane, or null), ``strength``, ``under_map`` and ``said``.
    """
    try:
        backdrop = read_backdrop(folder)
        return None if backdrop is None else _view(backdrop, plane, units)
    except InputError:
        return None


def _view(backdrop: Backdrop, plane: Plane, units: System) -> dict[str, Any]:
    placed = _placed(backdrop, plane)
    width, height = backdrop.width, backdrop.height
    corners, pixel = None, 0.0
    address = f"{URL}?of={backdrop.sha256[:12]}"
    if placed is not None:
        shown = placed.picture_map
        if placed.flat is not None:
            width, height, shown = placed.flat.width, placed.flat.height, placed.flat.picture_map
            address += f"-{zlib.crc32(shown.matrix.tobytes() + placed.picture_map.matrix.tobytes()):08x}"
        corners = shown.to_plane(_corners(width, height)).round(4).tolist()
        pixel = float(np.sqrt(abs(np.linalg.det(shown.matrix[:2, :2]))))
    return {
        "url": address,
        "width": width,
        "height": height,
        "corners": corners,
        "strength": backdrop.strength,
        "under_map": backdrop.under_map,
        "said": lying_sentence(len(backdrop.pins), places=backdrop.places, pixel=pixel, units=units),
    }


def backdrop_picture(folder: Path, plane: Plane) -> Shown:
    """Return the picture to show: as stored, or straightened. `GET /api/backdrop/picture`."""
    backdrop = _required(folder)
    placed = _placed(backdrop, plane)
    if placed is None or placed.flat is None:
        return Shown(picture_of(folder, backdrop), "image/png" if backdrop.picture.endswith(".png") else "image/jpeg")
    numbers = tuple(placed.picture_map.matrix.ravel().tolist())
    return Shown(_flat_picture(folder / backdrop.picture, backdrop, numbers, placed.flat), "image/webp")


@lru_cache(maxsize=2)
def _flat_picture(path: Path, backdrop: Backdrop, numbers: tuple[float, ...], flat: FlatView) -> bytes:
    return straightened(picture_of(path.parent, backdrop), PictureMap(np.reshape(numbers, (3, 3))), flat)


def backdrop_answer(content: bytes, name: str, folder: Path, plane: Plane, *, units: System) -> dict[str, Any]:
    """Take a picture, a GeoTIFF, or the world file of the present picture: `POST /api/backdrop`.

    Parameters
    ----------
    content : bytes
        Of the file.
    name : str
        Of the file, for messages; it is never used as a path.

    Returns
    -------
    dict
        As `backdrop_view`, with ``said`` as a list.
    """
    name = printable(name.replace("\\", "/").rpartition("/")[2]) or "picture"
    before = read_backdrop(folder)
    if is_world_file(name):
        return _answer(_with_world(content, name, folder, plane, before), plane, units, [])
    if is_tiff(content):
        placed = read_geotiff(content, name)
        picture, corners, places = placed.picture, placed.corners, placed.places
    else:
        picture, corners, places = read_picture(content, name), None, "drawing"
    pins: tuple[Pin, ...] = ()
    if corners is not None:
        pins = _pins(_corners(picture.width, picture.height), corners)
        trial = Backdrop("", "", picture.width, picture.height, picture.shrunk, places=places, pins=pins)
        _check_near(trial, plane, name)
    new = replace(keep_picture(folder, picture), places=places, pins=pins)
    if before is not None:
        new = replace(new, strength=before.strength, under_map=before.under_map)
    saved = save_backdrop(folder, new, before)
    return _answer(saved, plane, units, picture_sentences(picture.notes))


def _with_world(content: bytes, name: str, folder: Path, plane: Plane, backdrop: Backdrop | None) -> Backdrop:
    """Place the present picture by its world file."""
    if backdrop is None:
        raise InputError([Fault(name, "", "is a world file; choose its picture first, then this")])
    try:
        text = content.decode("utf-8-sig") if len(content) <= LONGEST_WORLD else ""
        corners = world_corners(
            text, width=backdrop.width / backdrop.shrunk, height=backdrop.height / backdrop.shrunk
        )
    except ValueError as error:
        raise InputError([Fault(name, "", str(error) if "world" in str(error) else "is no text")]) from error
    new = replace(backdrop, places="drawing", pins=_pins(_corners(backdrop.width, backdrop.height), corners))
    _check_near(new, plane, name)
    return save_backdrop(folder, new, backdrop)


def _check_near(backdrop: Backdrop, plane: Plane, name: str) -> None:
    """Raise InputError if a picture with a place of its own lies far from the property."""
    try:
        placed = _placed(backdrop, plane)
    except InputError as error:
        raise InputError([Fault(name, "", error.faults[0].text)]) from error
    distance = 0.0 if placed is None else float(np.abs(placed.pins).max())
    if not distance <= FARTHEST:
        trouble = f"lies {distance / 1000:,.0f} km from the property"
        raise InputError([Fault(name, "", f"{trouble}; is it of another place or in another coordinate system?")])


def place_answer(values: Mapping[str, Any], folder: Path, plane: Plane, *, units: System) -> dict[str, Any]:
    """Place the picture, set how it is shown, or remove it: `POST /api/backdrop/place`.

    Parameters
    ----------
    values : mapping
        ``pixels`` of the picture as it is shown, and ``points`` of the page's plane [m], in the same order: two of
        each, or four to twelve. Two points may come with the measured ``distance`` between them [m]; the second is
        then moved along their line to that distance. Or ``strength``, 0 to 1; ``under_map``, true or false;
        ``remove``, true.
    """
    request = RequestValues(values)
    backdrop = _required(folder)
    if request.flag("remove"):
        request.check()
        remove_backdrop(folder, backdrop)
        return {"said": ["The picture is gone."]}
    new = replace(
        backdrop,
        strength=request.quantity("strength", STRENGTH, default=backdrop.strength),
        under_map=request.flag("under_map", default=backdrop.under_map),
    )
    if request.has("pixels") or request.has("points"):
        new = _placed_anew(request, new, plane)
    request.check()
    return _answer(save_backdrop(folder, new, backdrop), plane, units, [])


def _placed_anew(request: RequestValues, backdrop: Backdrop, plane: Plane) -> Backdrop:
    """Return the backdrop placed by the request's points; faults are noted in the request."""
    pixel_list = request.values.get("pixels")
    count = (
        len(pixel_list) if isinstance(pixel_list, list) and len(pixel_list) in {2, *range(4, MOST_PINS + 1)} else 4
    )
    pixels = np.array(request.points("pixels", count, most=MOST_PIXEL))
    points = np.array(request.points("points", count, most=FARTHEST))
    if count == 2 and request.has("distance"):
        distance = request.quantity("distance", DISTANCE)
        step = points[1] - points[0]
        points[1] = points[0] + step * (distance / max(float(np.hypot(*step)), 1e-9))
    if request.faults:
        return backdrop
    try:
        placed = _placed(backdrop, plane)
    except InputError:  # the stored place is unusable; it is placed anew
        placed = None
    if placed is not None and placed.flat is not None:
        pixels = placed.picture_map.to_pixels(placed.flat.picture_map.to_plane(pixels))
    if not np.isfinite(pixels).all():
        request.fault("pixels", "show a spot where there is no picture; choose spots on it")
        return backdrop
    new = replace(backdrop, places="drawing", pins=_pins(pixels, plane.to_file(points)))
    try:
        picture_map = map_by_pins(pixels, points)
        if picture_map.is_perspective(backdrop.width, backdrop.height):
            flat_view(backdrop.width, backdrop.height, picture_map, points)
    except ValueError as error:
        request.fault("points", str(error))
        return backdrop
    return new


def _answer(backdrop: Backdrop, plane: Plane, units: System, sentences: list[str]) -> dict[str, Any]:
    view = _view(backdrop, plane, units)
    return view | {"said": [*sentences, view["said"]]}


def _required(folder: Path) -> Backdrop:
    backdrop = read_backdrop(folder)
    if backdrop is None:
        raise InputError([Fault("", "backdrop", "there is no picture under the drawing; choose one first")])
    return backdrop


def _corners(width: float, height: float) -> Floats:
    """Return the corners of a picture: top left, top right, bottom right, bottom left. [pixels]"""
    return np.array([[0, 0], [width, 0], [width, height], [0, height]], dtype=np.float64)


def _pins(pixels: Floats, places: Floats) -> tuple[Pin, ...]:
    pairs = zip(pixels, places, strict=True)
    return tuple(Pin((float(u), float(v)), (float(x), float(y))) for (u, v), (x, y) in pairs)


def _placed(backdrop: Backdrop, plane: Plane) -> PlacedBackdrop | None:
    """Return where a backdrop lies; None while it is not placed, or the property's own place is unknown."""
    if not backdrop.pins or (backdrop.places == "degrees" and plane.frame is None and plane.place is None):
        return None
    pixels = np.array([pin.pixel for pin in backdrop.pins])
    shape = shapely.MultiPoint([pin.place for pin in backdrop.pins])
    in_plane = _from_degrees(shape, plane) if backdrop.places == "degrees" else plane.from_file(shape)
    points = shapely.get_coordinates(in_plane)
    try:
        picture_map = map_by_pins(pixels, points)
        at_a_slant = picture_map.is_perspective(backdrop.width, backdrop.height)
        flat = flat_view(backdrop.width, backdrop.height, picture_map, points) if at_a_slant else None
    except ValueError as error:
        raise InputError([Fault("backdrop.json", "pins", f"{error}; lay the picture anew")]) from error
    return PlacedBackdrop(picture_map, points, flat)


def _from_degrees(shape: shapely.MultiPoint, plane: Plane) -> shapely.MultiPoint:
    """Return points, given as longitude and latitude, in the page's plane. [m]"""
    if plane.frame is not None:
        return plane.frame.to_local(shape)
    latitude, longitude = plane.place or (0.0, 0.0)
    local = LocalFrame(longitude=longitude, latitude=latitude).to_local(shape)
    return local_to_plan(local, bearing=plane.bearing, metres_per_unit=1.0)
