"""Which picture lies under map.html, and where in the site's frame?

The backdrop of the drawing page, if the gardener has asked for it. Whatever is wrong with it is only a caution, since
a plan does not need it. `show/map` draws it.
"""

from __future__ import annotations

from pathlib import Path

import shapely

from siteplan.files.backdrop.backdrop_file import FILE, Backdrop, picture_of, read_backdrop
from siteplan.files.backdrop.straightened import flat_view, straightened
from siteplan.files.remarks import Remarks
from siteplan.files.text import no_file
from siteplan.land.errors import InputError
from siteplan.land.frame import DrawnFrame, LocalFrame
from siteplan.land.ground_picture import GroundPicture
from siteplan.land.picture_map import map_by_pins

MOST_SIDE = 1600  # pixels of the picture in map.html; less than on the drawing page, where details matter
AROUND = 0.25  # how far beyond the property it is shown, over the property's longer side


def ground_picture(folder: Path, frame: LocalFrame, drawn: DrawnFrame, remarks: Remarks) -> GroundPicture | None:
    """Return the picture that lies under the map; None if there is none, or it is not meant for the map.

    Parameters
    ----------
    folder : Path
        The site's.
    frame : LocalFrame
        Of the site.
    drawn : DrawnFrame
        The coordinates in which it is drawn.
    remarks : Remarks
        Gets a caution if the picture cannot be used.
    """
    try:
        backdrop = read_backdrop(folder)
        if backdrop is None or not backdrop.under_map or not backdrop.pins:
            return None
        if trouble := no_file(folder / backdrop.picture):
            remarks.caution("backdrop", "", f"{backdrop.picture} {trouble}; the map goes without it")
            return None
        return _in_frame(backdrop, folder, frame, drawn)
    except InputError as error:
        remarks.caution("backdrop", "", f"{error.faults[0]}; the map goes without it")
    except ValueError as error:
        remarks.caution("backdrop", "", f"{FILE}: {error}; the map goes without it")
    return None


def _in_frame(backdrop: Backdrop, folder: Path, frame: LocalFrame, drawn: DrawnFrame) -> GroundPicture:
    places = shapely.MultiPoint([pin.place for pin in backdrop.pins])
    points = shapely.get_coordinates(
        frame.to_local(places if backdrop.places == "degrees" else drawn.to_lonlat(places))
    )
    picture_map = map_by_pins([pin.pixel for pin in backdrop.pins], points)
    return GroundPicture(folder, picture_map, points, backdrop.width, backdrop.height, backdrop.strength)


def flat_picture(
    picture: GroundPicture, bounds: tuple[float, float, float, float]
) -> tuple[bytes, tuple[float, float, float, float]] | None:
    """Return a picture from straight above, north up, as WebP, and its west, south, east and north. [m]

    Parameters
    ----------
    picture : GroundPicture
    bounds : tuple of float
        Of the property: west, south, east, north. The picture is shown a little beyond them. [m]

    Returns
    -------
    tuple or None
        None if the picture does not reach there, cannot be placed, or its file has gone in the meantime.
    """
    west, south, east, north = bounds
    margin = AROUND * max(east - west, north - south)
    within = (west - margin, south - margin, east + margin, north + margin)
    try:
        flat = flat_view(
            picture.width, picture.height, picture.picture_map, picture.pins, within=within, most=MOST_SIDE
        )
        backdrop = read_backdrop(picture.folder)
        if flat is None or backdrop is None:
            return None
        return straightened(picture_of(picture.folder, backdrop), picture.picture_map, flat), flat.bounds
    except (InputError, OSError, ValueError):
        return None
