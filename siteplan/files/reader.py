"""Is a site's folder sound, and which site does it describe?

site.toml is read first, then the drawing, then both are checked against each other. All faults are reported at once,
and nothing is written.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from pathlib import Path
from typing import Any

from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.files import crosscheck
from siteplan.files.backdrop.under_map import ground_picture
from siteplan.files.checked import Checked, SiteFiles
from siteplan.files.constant_tables import read_albedos, read_crops, read_rolling_surfaces
from siteplan.files.drawing.feature_records import Values, feature_values, made_feature
from siteplan.files.drawing.gates import laid_gate, note_off_fence
from siteplan.files.drawing.kinds import KINDS
from siteplan.files.drawing.locating import Located, located
from siteplan.files.drawing.naming import NamedFeature, named_features
from siteplan.files.drawing.sound_shape import sound_shape
from siteplan.files.drawing.tier_outlines import drawn_tiers, with_outlines
from siteplan.files.drawing.vector import Drawing, read_drawing
from siteplan.files.ground.levels import measured_terrain
from siteplan.files.ground.skyline import read_skyline
from siteplan.files.remarks import Remarks
from siteplan.files.site_toml.settings import FILE as SETTINGS_FILE
from siteplan.files.site_toml.settings import Settings, drawing_unit, read_values, settings_of
from siteplan.files.text import no_file
from siteplan.files.timezone import country_of, sound_zone, zone_at
from siteplan.files.variants import read_variant, varied_drawing, varied_values
from siteplan.land.errors import InputError
from siteplan.land.features import (
    Bed,
    Building,
    Door,
    Feature,
    Fence,
    Gate,
    Hedge,
    Keepout,
    Level,
    Pile,
    Surface,
    Tap,
    Tree,
)
from siteplan.land.frame import DrawnFrame, LocalFrame
from siteplan.land.site import Site
from siteplan.land.surface_model import SurfaceModel
from siteplan.land.terrain import Skyline, Terrain
from siteplan.land.values import LONGEST_TEXT
from siteplan.land.weather import Weather

Progress = Callable[[str, float], None]

_FIELDS: dict[str, type] = {
    "buildings": Building, "trees": Tree, "hedges": Hedge, "fences": Fence, "surfaces": Surface, "gates": Gate,
    "taps": Tap, "piles": Pile, "doors": Door, "beds": Bed, "keepouts": Keepout,
}  # fmt: skip


@dataclass
class _Drawn:
    """The drawing in the local frame, as far as it is sound."""

    frame: LocalFrame | None = None
    coordinates: DrawnFrame = field(default_factory=DrawnFrame)
    boundary: Polygon | None = None
    features: list[Feature] = field(default_factory=list)
    levels: list[Level] = field(default_factory=list)
    piles: list[str] = field(default_factory=list)


def read_site(folder: str | Path, *, progress: Progress | None = None, variant: str | None = None) -> Site:
    """Return the site that a folder describes.

    Parameters
    ----------
    folder : str or Path
        With site.toml and the features file in it.
    progress : callable, optional
        Called with ``read`` and the share that is read, 0 to 1.
    variant : str, optional
        Name of a variant, whose changes are applied.

    Returns
    -------
    Site
        In metres, in a frame centred on the boundary; cautions in `site.cautions`.

    Raises
    ------
    InputError
        With all faults of all files at once.

    Examples
    --------
    >>> read_site("nowhere")
    Traceback (most recent call last):
    ...
    siteplan.land.errors.InputError: nowhere: there is no such folder; start a site with: siteplan new nowhere
    """
    checked = check_site(folder, progress=progress, variant=variant)
    if checked.site is None:
        raise InputError(checked.faults)
    return checked.site


def check_site(
    folder: str | Path,
    *,
    progress: Progress | None = None,
    features: Path | None = None,
    variant: str | None = None,
) -> Checked:
    """Return the site with every fault and caution, without raising.

    Parameters
    ----------
    folder : str or Path
    progress, variant : optional
        As for `read_site`.
    features : Path, optional
        A features file to read in place of the site's own.
    """
    remarks, read = Remarks(), SiteFiles()
    tell = progress or (lambda question, share: None)  # noqa: ARG005
    site = _read(Path(folder), remarks, tell, read, features=features, variant=variant)
    faults = tuple(remarks.faults)
    return Checked(None if faults else site, faults, remarks.all_cautions(), read)


def _read(
    folder: Path, remarks: Remarks, tell: Progress, read: SiteFiles, *, features: Path | None, variant: str | None
) -> Site | None:
    """Return the site as far as it can be read; remarks say whether it may be used."""
    if not folder.is_dir():
        name = folder.name or str(folder)
        trouble = "is a file, must be a site's folder" if folder.is_file() else "there is no such folder"
        remarks.fault(name, "", f"{trouble}; start a site with: siteplan new {name}")
        return None
    values = read_values(folder, remarks)
    changes = None if variant is None else read_variant(folder, variant, remarks)
    if values is None or (variant is not None and changes is None):
        return None
    values = read.values = values if changes is None else varied_values(values, changes)
    tell("read", 0.0)
    drawing_remarks = Remarks()
    settings = settings_of(values, folder, Remarks(unit=drawing_unit(values, None)))
    drawing = read_drawing(features or folder / settings.features, settings, drawing_remarks, partial(tell, "read"))
    if drawing is not None and changes is not None:
        drawing = varied_drawing(drawing, changes, settings.renaming, drawing_remarks)
    remarks.unit = drawing_unit(values, None if drawing is None else drawing.crs)
    settings = settings_of(values, folder, remarks)  # again, now that the unit of a length is known
    if changes is not None:
        settings = replace(settings, name=f"{settings.name} ({changes.name})"[:LONGEST_TEXT])
    read.settings, read.drawing, read.unit = settings, drawing, remarks.unit
    remarks.faults |= drawing_remarks.faults
    remarks.cautions |= drawing_remarks.cautions
    site = site_of(settings, drawing, folder, remarks)
    return site if site is None or changes is None else replace(site, variant=changes.name)


def site_of(settings: Settings, drawing: Drawing | None, folder: Path, remarks: Remarks) -> Site | None:
    """Return the site that settings and a drawing describe; remarks say whether it may be used.

    Parameters
    ----------
    settings : Settings
    drawing : Drawing or None
        None if it could not be read.
    folder : Path
        Folder of the files that the settings name.
    remarks : Remarks
    """
    drawn = _Drawn() if drawing is None else _read_drawing(drawing, settings, remarks)
    skyline = _skyline(folder, settings, remarks)
    timezone = _timezone(settings, drawn.frame, remarks)
    if drawing is not None:
        crosscheck.check_settings(settings, drawn.features, drawn.piles, remarks)
    if drawn.frame is None:
        return None
    season = crosscheck.sound_season(settings, drawn.frame.latitude, remarks)
    terrain = _terrain(folder, settings, drawn, remarks, "" if drawing is None else drawing.file)
    surface_model = _surface_model(folder, settings, drawn, terrain, remarks)
    weather = _weather(folder, settings, drawn.frame, remarks)
    if drawn.boundary is None or remarks.faults:
        return None
    return _site(
        settings,
        drawn.features,
        frame=drawn.frame,
        drawn=drawn.coordinates,
        boundary=drawn.boundary,
        timezone=timezone,
        season=season,
        levels=tuple(drawn.levels),
        terrain=terrain,
        surface_model=surface_model,
        skyline=skyline,
        weather=weather,
        backdrop=ground_picture(folder, drawn.frame, drawn.coordinates, remarks),
        drawing_unit=remarks.unit,
        country=country_of(zone_at(drawn.frame.longitude, drawn.frame.latitude)),
        cautions=remarks.all_cautions(),
    )


def _site(settings: Settings, features: list[Feature], **settled: Any) -> Site:
    """Return the site of sound settings and features; `settled` has the fields that need both."""
    lists: dict[str, Any] = {
        name: tuple(feature for feature in features if isinstance(feature, kind)) for name, kind in _FIELDS.items()
    }
    trade = settings.trade
    return Site(
        name=settings.name,
        sun=settings.sun,
        recipe=trade.recipe,
        units=settings.units,
        currency=settings.currency,
        barrow=settings.barrow,
        labour=settings.labour,
        haul=settings.haul,
        place=settings.place,
        fill=trade.fill,
        water=settings.water,
        soil=settings.soil,
        walls=settings.walls,
        piece_offers=trade.piece_offers,
        stock=trade.stock,
        offers=trade.offers,
        materials=dict(trade.materials),  # plain, so that a site can be pickled
        rolling_surfaces=dict(read_rolling_surfaces()),
        crops=dict(read_crops()),
        albedos=dict(read_albedos()),
        **lists,
        **settled,
    )


def _timezone(settings: Settings, frame: LocalFrame | None, remarks: Remarks) -> str:
    """Return the time zone in the settings, else the one at the property."""
    if settings.timezone is not None:
        try:
            return sound_zone(settings.timezone)
        except ValueError as error:
            remarks.fault(SETTINGS_FILE, "", str(error))
            return "UTC"
    return zone_at(frame.longitude, frame.latitude) if frame is not None else "UTC"


def _terrain(folder: Path, settings: Settings, drawn: _Drawn, remarks: Remarks, file: str) -> Terrain | None:
    """Return the ground: by a raster, else by levels, else by a single fall."""
    shapes = [_ground_of(feature) for feature in drawn.features]
    if settings.terrain is None and drawn.boundary is not None:
        return measured_terrain(drawn.levels, settings.ground, drawn.boundary, shapes, remarks, file=file)
    if settings.terrain is None or drawn.frame is None:
        return None
    if drawn.levels or settings.ground.fall is not None:
        text = "The ground comes from terrain in site.toml, so levels and the fall in [ground] are not used."
        remarks.caution("fall-unused", "", text)
    if no_file(folder / settings.terrain):
        return None
    from siteplan.files.ground.terrain_file import read_terrain  # imported here: it loads rasterio

    return read_terrain(
        folder / settings.terrain, drawn.frame, drawn.boundary, shapes, remarks, unit=settings.terrain_unit
    )


def _surface_model(
    folder: Path, settings: Settings, drawn: _Drawn, terrain: Terrain | None, remarks: Remarks
) -> SurfaceModel | None:
    """Return the surface model; None if there is none, or a fault is noted."""
    name = settings.surface_model
    if name is None or no_file(folder / name) or terrain is None or drawn.frame is None or drawn.boundary is None:
        return None
    from siteplan.files.ground.surface_file import read_surface

    return read_surface(
        folder / name, drawn.frame, drawn.boundary, terrain, drawn.features, remarks, settings.surface_settings
    )


def _skyline(folder: Path, settings: Settings, remarks: Remarks) -> Skyline | None:
    if settings.skyline is None or no_file(folder / settings.skyline):
        return None
    return read_skyline(folder / settings.skyline, remarks)


def _weather(folder: Path, settings: Settings, frame: LocalFrame, remarks: Remarks) -> Weather | None:
    if settings.weather is None or no_file(folder / settings.weather):
        return None
    from siteplan.files.weather.weather_file import read_weather  # imported here: it loads pvlib

    return read_weather(folder / settings.weather, frame, remarks)


def _ground_of(feature: Feature) -> BaseGeometry:
    """Return the shape of a feature on the ground."""
    for name in ("outline", "line", "shape", "place"):
        shape = getattr(feature, name, None)
        if isinstance(shape, BaseGeometry):
            return shape
    raise TypeError(type(feature).__name__)


def _read_drawing(drawing: Drawing, settings: Settings, remarks: Remarks) -> _Drawn:
    """Return the features of a drawing in the local frame."""
    named = named_features(drawing, settings.renaming, remarks)
    sound: dict[int, BaseGeometry] = {}
    values: dict[int, Values] = {}
    for index, feature in enumerate(named):
        shape = _sound(feature, drawing.file, remarks)
        shape_type = "" if shape is None else shape.geom_type
        own_values = feature_values(feature, shape_type, drawing.file, remarks, trade=settings.trade)
        if shape is not None:
            sound[index] = shape
        if own_values is not None:
            values[index] = own_values
    crosscheck.check_one_boundary(named, drawing.file, remarks)
    crosscheck.note_heights(named, remarks)
    drawn = _Drawn(piles=[feature.id for feature in named if feature.kind == "pile"])
    tiers = drawn_tiers(named, values, drawing.file, remarks)
    # the tiers' outlines are located together with the features, under indices after theirs
    sound |= {len(named) + number: tier.shape for number, tier in enumerate(tiers) if tier.shape is not None}
    location = (
        located(sound, (*named, *(tier.named for tier in tiers)), drawing, settings, remarks) if sound else None
    )
    if location is None:
        return drawn
    drawn.frame, drawn.coordinates = location.frame, location.drawn
    values = with_outlines(values, tiers, [location.shapes.get(len(named) + number) for number in range(len(tiers))])
    _make(drawn, named, location, values, drawing.file, remarks)
    if drawn.boundary is not None:
        crosscheck.check_boundary(drawn.boundary, settings, drawing.file, remarks)
    crosscheck.check_features(drawn.boundary, drawn.features, drawing.file, remarks)
    return drawn


def _sound(feature: NamedFeature, file: str, remarks: Remarks) -> BaseGeometry | None:
    """Return a feature's shape if it is sound or could be repaired."""
    if feature.shape is None:
        remarks.fault(file, feature.where, feature.trouble)
        return None
    checked = sound_shape(feature.shape, KINDS[feature.kind])
    if checked.trouble:
        remarks.fault(file, feature.where, checked.trouble)
    if checked.mended:
        remarks.caution("mended", feature.id, checked.mended[0].upper() + checked.mended[1:] + ".")
    return checked.shape


def _make(
    drawn: _Drawn,
    named: Sequence[NamedFeature],
    location: Located,
    values: dict[int, Values],
    file: str,
    remarks: Remarks,
) -> None:
    """Make the record of each feature whose shape and values are sound; gates last, since they need the fences."""
    sound = sorted(location.shapes.keys() & values.keys(), key=lambda index: (named[index].kind == "gate", index))
    faulty_barrier = any(named[index].kind in {"fence", "hedge"} for index in range(len(named)) if index not in sound)
    for index in sound:
        feature, shape = named[index], location.shapes[index]
        try:
            if feature.kind == "boundary":
                drawn.boundary = drawn.boundary or (shape if isinstance(shape, Polygon) else None)
            elif feature.kind == "gate":
                barriers = [barrier for barrier in drawn.features if isinstance(barrier, Fence | Hedge)]
                gate = laid_gate(feature.id, shape, values[index].get("width"), barriers)
                if gate is not None:
                    drawn.features.append(gate)
                elif not faulty_barrier:
                    note_off_fence(feature.id, shape, barriers, remarks)
            else:
                southern = location.frame.latitude < 0
                record = made_feature(feature, shape, values[index], southern=southern, remarks=remarks)
                if isinstance(record, Level):
                    drawn.levels.append(record)
                else:
                    drawn.features.append(record)
        except ValueError as error:
            if feature.kind != "gate" or not faulty_barrier:  # a gate's own fence may be the faulty one
                for line in remarks.in_site_units(str(error)).splitlines():
                    remarks.fault(file, feature.where, line)
