"""Where on earth is the drawing, and how does it lie in the local frame?

A measured plan is placed at its origin, another coordinate system is converted, and the local frame is centred on the
boundary with true north up.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import partial

import numpy as np
import shapely
from pyproj import CRS, Transformer
from shapely import Point
from shapely.geometry.base import BaseGeometry

from siteplan.files.drawing.kinds import KINDS
from siteplan.files.drawing.naming import NamedFeature
from siteplan.files.drawing.sound_shape import sound_shape
from siteplan.files.drawing.vector import Drawing
from siteplan.files.remarks import Remarks
from siteplan.files.site_toml.settings import FILE as SETTINGS_FILE
from siteplan.files.site_toml.settings import Origin, Settings, countries_of
from siteplan.files.timezone import at_sea, country_name, country_of, same_clock, zone_at
from siteplan.land.frame import DrawnFrame, LocalFrame, plan_to_local, projected

FAR = 5000.0  # m from the boundary; a feature farther off is a mistake
PLAN_REACH = 10_000.0  # m from a plan's zero point; a plan that reaches farther is in another coordinate system
LEAST = 1.0  # m across, of all that is drawn
WIDEST = 50.0  # km across, of one shape
KM_PER_DEGREE = 111.2  # of latitude
POLAR = 89.0  # degrees; nearer to a pole east and west lose their meaning
_WGS84 = ("EPSG:4326", "OGC:CRS84")

Shapes = Mapping[int, BaseGeometry]


@dataclass(frozen=True)
class Located:
    """The local frame, the shapes in it by their feature's index [m], and the drawing's coordinates."""

    frame: LocalFrame
    shapes: dict[int, BaseGeometry]
    drawn: DrawnFrame


def located(
    shapes: Shapes, named: tuple[NamedFeature, ...], drawing: Drawing, settings: Settings, remarks: Remarks
) -> Located | None:
    """Return the shapes in the local frame, or None if their place on earth is unknown or impossible.

    Parameters
    ----------
    shapes : mapping of int to shapely geometry
        The sound shapes in the file's coordinates, by index in `named`.
    """
    degrees = _in_degrees(shapes, drawing, settings, remarks)
    if not degrees or not _on_earth(degrees, named, drawing, settings, remarks):
        return None
    degrees = _of_a_size(_across_the_date_line(degrees), named, drawing.file, remarks)
    if not degrees:
        return None
    boundaries = [index for index in degrees if named[index].kind == "boundary"]
    frame = _centred(degrees[boundaries[0]] if boundaries else shapely.union_all([_middle(degrees)]))
    if abs(frame.latitude) > POLAR:
        remarks.fault(
            drawing.file, "", f"lies at latitude {frame.latitude:.2f}, must be within {POLAR:g} of the equator"
        )
        return None
    local = _in_frame(degrees, frame, named, drawing.file, remarks)
    if boundaries and boundaries[0] in local:
        _near(local, degrees, named, local[boundaries[0]], frame, drawing.file, remarks)
    _on_land(frame, settings, remarks, drawing.file)
    return Located(frame, local, drawn_frame(drawing, settings))


def drawn_frame(drawing: Drawing, settings: Settings) -> DrawnFrame:
    """Return the coordinates of a drawing whose shapes could be located.

    Parameters
    ----------
    drawing : Drawing
    settings : Settings
        With [origin] the drawing is a measured plan, even if it names a coordinate system.
    """
    origin, crs = settings.origin, drawing.crs
    if origin is not None:
        place = (origin.longitude, origin.latitude)
        return DrawnFrame(place, bearing=origin.bearing, metres_per_unit=origin.metres_per_unit, unit=origin.unit)
    if crs is None or _is_wgs84(crs):
        return DrawnFrame()
    return DrawnFrame(crs=crs, unit="degrees" if crs.is_geographic else crs.axis_info[0].unit_name)


def _is_wgs84(crs: CRS) -> bool:
    return any(crs.equals(CRS(name), ignore_axis_order=True) for name in _WGS84)


def _middle(degrees: Shapes) -> BaseGeometry:
    """Return the middle of all shapes, for a drawing without a boundary."""
    return shapely.centroid(shapely.GeometryCollection([Point(shape.centroid) for shape in degrees.values()]))


def _centred(shape: BaseGeometry) -> LocalFrame:
    """Return the frame centred on a shape given in degrees, by its centroid in metres."""
    rough = shape.centroid
    frame = LocalFrame(longitude=rough.x, latitude=rough.y)
    centre = frame.to_lonlat(frame.to_local(shape).centroid)
    return LocalFrame(longitude=(float(centre.x) + 180) % 360 - 180, latitude=float(centre.y))


def _across_the_date_line(degrees: Shapes) -> dict[int, BaseGeometry]:
    """Return shapes whose longitudes continue past 180 degrees if the property crosses the date line."""
    bounds = np.array([shape.bounds for shape in degrees.values()])
    if bounds[:, 2].max() - bounds[:, 0].min() <= 180:
        return dict(degrees)

    def onward(points: np.ndarray) -> np.ndarray:
        return np.column_stack([np.where(points[:, 0] < 0, points[:, 0] + 360, points[:, 0]), points[:, 1]])

    return {index: shapely.transform(shape, onward) for index, shape in degrees.items()}


def _of_a_size(
    degrees: Shapes, named: tuple[NamedFeature, ...], file: str, remarks: Remarks
) -> dict[int, BaseGeometry]:
    """Return the shapes of a possible size; a shape that is too wide has a wrong corner and is a fault."""
    across = {index: _km_across(shape) for index, shape in degrees.items()}
    wide = [index for index, width in across.items() if width > WIDEST]
    areas = [index for index, width in across.items() if width > 0]
    if len(wide) > 1 and 2 * len(wide) > len(areas):
        text = (
            f"reaches over {remarks.far(1000 * max(across.values()))} when read as longitude and latitude; "
            "if this is a measured plan, give [origin] in site.toml"
        )
        remarks.fault(file, "", text)
        return {}
    for index in wide:
        wide_as, most = remarks.far(1000 * across[index]), remarks.far(1000 * WIDEST)
        text = f"is {wide_as} across, must be at most {most}; one of its coordinates is wrong"
        remarks.fault(file, named[index].where, text)
    return {index: shape for index, shape in degrees.items() if index not in wide}


def _km_across(shape: BaseGeometry) -> float:
    west, south, east, north = shape.bounds
    return max((east - west) * math.cos(math.radians((south + north) / 2)), north - south) * KM_PER_DEGREE


def _in_frame(
    degrees: Shapes, frame: LocalFrame, named: tuple[NamedFeature, ...], file: str, remarks: Remarks
) -> dict[int, BaseGeometry]:
    """Return the shapes in metres; a shape that is no longer valid in metres is repaired or refused."""
    local = {}
    for index, shape in degrees.items():
        local_shape = frame.to_local(shape)
        if not all(map(math.isfinite, local_shape.bounds)) or local_shape.is_valid:
            local[index] = local_shape
            continue
        checked = sound_shape(local_shape, KINDS[named[index].kind])
        if checked.shape is not None:
            local[index] = checked.shape
        else:
            remarks.fault(file, named[index].where, checked.trouble)
    return local


def _in_degrees(
    shapes: Shapes, drawing: Drawing, settings: Settings, remarks: Remarks
) -> dict[int, BaseGeometry] | None:
    """Return the shapes in longitude and latitude."""
    undefined = drawing.crs is None or not (
        drawing.crs.is_geographic or drawing.crs.is_projected or drawing.crs.is_bound
    )
    if settings.has_origin:
        if drawing.crs is not None and not undefined:
            text = f"{drawing.file} says that it is in {drawing.crs.name}; with [origin] it is taken as a plan."
            remarks.caution("origin-over-crs", "", text)
        if settings.origin is None:
            return None
        return _plan_in_degrees(shapes, settings.origin, drawing.file, remarks)
    if drawing.crs is None and drawing.geographic_by_default:
        return dict(shapes)
    if drawing.crs is None or undefined:
        text = (
            "does not say in which coordinate system it is; save it in one, or give [origin] if it is a measured plan"
        )
        remarks.fault(drawing.file, "", text)
        return None
    if _is_wgs84(drawing.crs):
        return dict(shapes)
    remarks.caution(
        "converted", "", f"{drawing.file} is in {drawing.crs.name}; it was converted to longitude and latitude."
    )
    change = Transformer.from_crs(drawing.crs, _WGS84[0], always_xy=True)
    return {index: shapely.transform(shape, partial(projected, change)) for index, shape in shapes.items()}


def _plan_in_degrees(shapes: Shapes, origin: Origin, file: str, remarks: Remarks) -> dict[int, BaseGeometry] | None:
    """Return a measured plan's shapes in longitude and latitude."""
    metres = {
        index: plan_to_local(shape, bearing=origin.bearing, metres_per_unit=origin.metres_per_unit)
        for index, shape in shapes.items()
    }
    reach = max((float(np.abs(shape.bounds).max()) for shape in metres.values()), default=0.0)
    if reach > PLAN_REACH:
        text = (
            f"reaches {remarks.far(reach)} from the plan's zero point; is it a plan in the unit that [origin] says?"
        )
        remarks.fault(file, "", text)
        return None
    west, south, east, north = shapely.total_bounds(list(metres.values()))
    if max(east - west, north - south) < LEAST:
        text = (
            "is a plan of less than a metre; if its coordinates are longitude and latitude, "
            "leave [origin] out of site.toml, else give its unit there"
        )
        remarks.fault(file, "", text)
        return None
    frame = LocalFrame(longitude=origin.longitude, latitude=origin.latitude)
    return {index: frame.to_lonlat(shape) for index, shape in metres.items()}


def _on_earth(
    degrees: Shapes, named: tuple[NamedFeature, ...], drawing: Drawing, settings: Settings, remarks: Remarks
) -> bool:
    """Return whether all coordinates are longitudes and latitudes; if not, one fault says what they look like."""
    beyond = [index for index, shape in degrees.items() if not _is_lonlat(shape)]
    if not beyond:
        return True
    first = degrees[beyond[0]]
    x, y = (float(value) for value in shapely.get_coordinates(first)[0])
    others = f" (so has {len(beyond) - 1} more)" if len(beyond) > 1 else ""
    if drawing.crs is not None and not settings.has_origin:
        text = f"does not lie in the area of {drawing.crs.name}{others}; is that its coordinate system?"
    elif abs(x) <= 90 < abs(y) <= 180:
        text = f"has latitude {y:g}{others}; longitude and latitude are swapped: longitude comes first"
    else:
        text = (
            f"has longitude {x:g} and latitude {y:g}{others}, must be within 180 and 90 degrees; "
            "if this is a measured plan, give [origin] in site.toml"
        )
    remarks.fault(drawing.file, named[beyond[0]].where, text)
    return False


def _is_lonlat(shape: BaseGeometry) -> bool:
    west, south, east, north = shape.bounds
    finite = all(map(math.isfinite, shape.bounds))
    return finite and west >= -180 and east <= 180 and south >= -90 and north <= 90


def _near(
    local: dict[int, BaseGeometry], degrees: Shapes, named: tuple[NamedFeature, ...], boundary: BaseGeometry,
    frame: LocalFrame, file: str, remarks: Remarks,
) -> None:  # fmt: skip
    """Note shapes that lie too far from the boundary, and drop them."""
    for index in [index for index, shape in local.items() if _distance(shape, boundary) > FAR]:
        distance = _distance(local.pop(index), boundary)
        far = remarks.far(distance) if math.isfinite(distance) else "half the world"
        swapped = frame.to_local(shapely.transform(degrees[index], lambda points: points[:, ::-1]))
        question = "is it drawn in the right place?"
        if _distance(swapped, boundary) <= FAR:
            question = "longitude and latitude are swapped: longitude comes first"
        where = named[index].where
        remarks.fault(file, where, f"lies {far} from the boundary, must be within {remarks.far(FAR)}; {question}")


def _distance(shape: BaseGeometry, boundary: BaseGeometry) -> float:
    if not all(map(math.isfinite, shape.bounds)):
        return math.inf
    return float(shapely.distance(shape, boundary))


def _on_land(frame: LocalFrame, settings: Settings, remarks: Remarks, file: str) -> None:
    """Note a property at sea, in Antarctica or outside its time zone, if a usual slip would explain it."""
    longitude, latitude, given_zone = frame.longitude, frame.latitude, settings.timezone
    zone = zone_at(longitude, latitude)
    barren = _barren(zone)
    if given_zone is None and not barren:
        _in_its_country(frame, zone, settings, remarks)
    if zone == given_zone or (given_zone is None and not barren):
        return
    where = SETTINGS_FILE if settings.has_origin else file
    table = "[origin]" if settings.has_origin else ""
    position = f"lies at longitude {longitude:.2f}, latitude {latitude:.2f}, which is"
    for x, y, question in _readings(frame):
        corrected_zone = zone_at(x, y)
        if given_zone is not None and corrected_zone == given_zone:
            remarks.misplaced = True
            remarks.fault(where, table, f"{position} outside {given_zone}; {question}")
            return
        if given_zone is None and not _barren(corrected_zone):
            remarks.misplaced = True
            remarks.fault(
                where, table, f"{position} {barren}; {question}. If it is right, give timezone in site.toml"
            )
            return
    if given_zone is not None and not same_clock(given_zone, zone):
        sea = " (at sea)" if at_sea(zone) else ""
        text = f"The property lies in {zone}{sea}, and site.toml gives {given_zone}, whose clocks differ."
        remarks.caution("timezone-elsewhere", "", text)


def _barren(zone: str) -> str:
    """Return "at sea" or "in Antarctica" for such a time zone; empty for any other."""
    if at_sea(zone):
        return "at sea"
    return "in Antarctica" if zone.startswith("Antarctica/") else ""


def _readings(frame: LocalFrame) -> Iterator[tuple[float, float, str]]:
    """Yield the places that usual slips (swapped, wrong sign) would explain, each with the slip as a question."""
    longitude, latitude = frame.longitude, frame.latitude
    if abs(longitude) <= 90:
        yield latitude, longitude, "are longitude and latitude swapped? Longitude comes first in a drawing"
    if longitude < 0:
        yield -longitude, latitude, "has longitude a minus too many? East is positive"
    else:
        yield -longitude, latitude, "has longitude lost its sign? West is negative"
    if latitude < 0:
        yield longitude, -latitude, "has latitude a minus too many? North is positive"
    else:
        yield longitude, -latitude, "has latitude lost its sign? South is negative"


def _in_its_country(frame: LocalFrame, zone: str, settings: Settings, remarks: Remarks) -> None:
    """Note a property in a country with another currency, if a usual slip would explain it."""
    country = country_of(zone)
    currency_countries = countries_of(settings.currency)
    by_default = settings.currency == Settings.currency and settings.units == "metric"
    if not country or country in currency_countries or by_default:
        return
    for x, y, question in _readings(frame):
        corrected_country = country_of(zone_at(x, y))
        if corrected_country in currency_countries:
            text = (
                f"The property lies in {country_name(country)} ({zone}), and its prices are in {settings.currency}. "
                f"{question[0].upper()}{question[1:]}. It would then lie in {country_name(corrected_country)}."
            )
            remarks.caution("another-country", "", text)
            return
