"""How does a place that a search found become a bed of the site?

It is added to the features file as a proposed bed with a free id. The new file is read as a site before it replaces
the old one: it must be sound and hold the bed as it was meant. The gardener chooses the place.
"""

from __future__ import annotations

import itertools
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from siteplan.files.drawing.appending import NewFeature, append_features
from siteplan.files.drawing.naming import named_features
from siteplan.files.drawing.vector import read_drawing
from siteplan.files.look_alike import look
from siteplan.files.outputs.replacing import new_version
from siteplan.files.reader import check_site
from siteplan.files.remarks import Remarks
from siteplan.files.site_toml.settings import read_values, settings_of
from siteplan.land.errors import Fault, InputError
from siteplan.land.features import Bed
from siteplan.land.layers import LayerSpec
from siteplan.land.record import fields_of
from siteplan.land.site import Site
from siteplan.land.unit_sizes import INCH
from siteplan.land.units import System
from siteplan.land.values import Quantity

SAME = 0.002  # m; more than rounding moves a corner, less than a tape can measure
TOUCH = 0.01  # m2; overlap allowed for two outlines that lie side by side
_WRITTEN_APART = ("id", "outline", "proposed")  # fields that are not written as plain properties


@dataclass(frozen=True)
class Adopted:
    """The beds that were added to a features file."""

    file: str
    beds: tuple[Bed, ...]


def adopt_beds(folder: str | Path, site: Site, beds: Sequence[Bed]) -> Adopted:
    """Add beds to a site's features file as proposed beds, all or none; the rest of the file is not changed.

    Parameters
    ----------
    folder : str or Path
        Of the site.
    site : Site
        As it was read from that folder.
    beds : sequence of Bed
        Messages use their ids; in the file each gets a free id.

    Returns
    -------
    Adopted
        With the ids that the beds have in the file.

    Raises
    ------
    InputError
        If a bed would overlap an existing one, or the file cannot hold it; the file is then unchanged.
    """
    values = read_values(Path(folder), Remarks())
    assert values is not None  # noqa: S101  # the site was read by them
    settings = settings_of(values, Path(folder), Remarks())
    path = Path(folder) / settings.features
    _refuse_overlaps(site, beds, path.name)
    if path.with_name(f"{path.name}-wal").exists():
        raise InputError([Fault(path.name, "", "is open in another program; close it there and run this again")])
    drawing = read_drawing(path, settings, Remarks(), lambda share: None)  # noqa: ARG005
    named = () if drawing is None else named_features(drawing, settings.renaming, Remarks())
    new_ids = _free_ids(len(site.beds), {look(feature.id) for feature in named}, len(beds))
    new_beds = [replace(bed, id=new_id, proposed=True) for bed, new_id in zip(beds, new_ids, strict=True)]
    with new_version(path) as copy:
        append_features(copy, [bed_feature(bed, site) for bed in new_beds], settings.renaming)
        _require_sound(Path(folder), copy, new_beds)
    return Adopted(path.name, tuple(new_beds))


def _refuse_overlaps(site: Site, beds: Sequence[Bed], file: str) -> None:
    """Raise InputError if a bed overlaps a proposed bed: the search ignores proposed beds, as not placed yet."""
    proposed_beds = [bed for bed in site.beds if bed.proposed]
    faults = []
    for bed, proposed in itertools.product(beds, proposed_beds):
        if shapely.intersection(bed.outline, proposed.outline).area > TOUCH:
            text = (
                f'lies on the proposed bed "{proposed.id[:60]}", which the search takes as not placed yet; '
                f'take "proposed" off it to keep it, or take it out, and search again'
            )
            faults.append(Fault(file, bed.id, text))
    if faults:
        raise InputError(faults)


def _free_ids(beds: int, taken: Collection[str], count: int) -> list[str]:
    """Return ids for new beds after those that are drawn; the boundary and levels take ids as well."""
    names = (f"bed-{number}" for number in itertools.count(beds + 1))
    return list(itertools.islice((name for name in names if name not in taken), count))


def bed_feature(bed: Bed, site: Site) -> NewFeature:
    """Return a bed as a feature in the drawing's coordinates, with all properties that differ from their defaults."""
    corners = _corners(bed.outline, site)
    properties: dict[str, Any] = {"kind": "bed", "height": _length(bed.height, site.units), "proposed": True}
    lengths = {"height": bed.height / site.drawing_unit.metres}
    for name, field in fields_of(Bed).items():
        value = getattr(bed, name)
        if name in properties or name in _WRITTEN_APART or value == field.default:
            continue
        if isinstance(field.rule, Quantity) and field.rule.dimension == "length":
            lengths[name], value = value / site.drawing_unit.metres, _length(value, site.units)
        properties[name] = _tiers(bed, site) if name == "tiers" else _as_written(value, site.units)
    return NewFeature(bed.id, Polygon(corners), properties, lengths)


def _corners(outline: Polygon, site: Site) -> NDArray[np.float64]:
    """Return an outline's corners in the drawing's coordinates, shape (n, 2)."""
    degrees = site.frame.to_lonlat(outline)
    return np.asarray(shapely.get_coordinates(site.drawn.from_lonlat(degrees)).round(site.drawn.decimals) + 0.0)


def _tiers(bed: Bed, site: Site) -> list[dict[str, Any]]:
    """Return a bed's tiers as a features file holds them."""
    tiers = []
    for tier in bed.tiers:
        properties: dict[str, Any] = {"height": _length(tier.height, site.units)}
        if tier.inset:
            properties["inset"] = _length(tier.inset, site.units)
        if tier.outline is not None:
            properties["outline"] = _corners(tier.outline, site).tolist()
        tiers.append(properties)
    return tiers


def _as_written(value: Any, units: System) -> Any:
    """Return a value as a features file holds it: names separated by commas, own layers as a list of tables."""
    if not isinstance(value, tuple):
        return value
    if isinstance(value[0], LayerSpec):
        return [_layer(layer, units) for layer in value]
    return ", ".join(value)


def _layer(layer: LayerSpec, units: System) -> dict[str, Any]:
    properties: dict[str, Any] = {"material": layer.material}
    if layer.fraction is not None:
        properties["fraction"] = layer.fraction
    if layer.thickness is not None:
        properties["thickness"] = _length(layer.thickness, units)
    if layer.mix:
        properties["mix"] = dict(layer.mix)
    return properties


def _length(metres: float, units: System) -> str:
    """Return a length with its unit, as exactly as it is known.

    Examples
    --------
    >>> _length(0.4572, "imperial"), _length(0.4572, "metric")
    ('18 in', '45.72 cm')
    """
    return f"{metres / INCH:.6g} in" if units == "imperial" else f"{metres * 100:.6g} cm"


def _require_sound(folder: Path, features: Path, beds: Sequence[Bed]) -> None:
    """Raise InputError if the site with this features file is not sound, or does not hold the beds as meant."""
    checked = check_site(folder, features=features)
    if checked.site is None:
        raise InputError(checked.faults)
    beds_by_id = {bed.id: bed for bed in checked.site.beds}
    for bed in beds:
        if difference := _difference(bed, beds_by_id.get(bed.id)):
            text = f"cannot hold a bed as it is meant ({difference}); save it as GeoJSON and run this again"
            raise InputError([Fault(features.name, bed.id, text)])


def _difference(bed: Bed, read_bed: Bed | None) -> str:
    """Return how a bed as it is read differs from the bed as it was meant; empty if it does not."""
    if read_bed is None:
        return "it is not read as a bed"
    if shapely.hausdorff_distance(bed.outline, read_bed.outline) > SAME:
        return "its outline is read otherwise"
    if len(bed.frames) != len(read_bed.frames):
        return f"it is read as {len(read_bed.frames)} frames on each other, not {len(bed.frames)}"
    for frame, read_frame in zip(bed.frames, read_bed.frames, strict=True):
        distance = shapely.hausdorff_distance(frame.outline, read_frame.outline)
        if max(distance, abs(frame.top - read_frame.top)) > SAME:
            return f"its frame {frame.number} is read otherwise"
    for name in [name for name in fields_of(Bed) if name not in {"outline", "tiers"}]:
        value, read_value = getattr(bed, name), getattr(read_bed, name)
        are_numbers = isinstance(value, float) and isinstance(read_value, float)
        if not (abs(value - read_value) < SAME if are_numbers else value == read_value):
            return f"its {name} is read as {read_value}"
    return ""
