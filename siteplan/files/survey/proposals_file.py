"""How are proposals written and read again?

As GeoJSON in the coordinates of the drawing, with the properties of a features file, and with the number of points
behind each. `accepting.py` merges them.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import shapely
from shapely.geometry import mapping
from shapely.geometry.base import BaseGeometry

from siteplan.files.outputs.output import write_geotiff
from siteplan.files.remarks import Remarks
from siteplan.files.text import read_text
from siteplan.land.errors import Fault, InputError
from siteplan.land.grid import Floats, Grid
from siteplan.land.proposals import Figure, Proposal
from siteplan.land.site import Site
from siteplan.land.unit_sizes import FOOT
from siteplan.land.units import System

FILE, TERRAIN = "proposals.geojson", "terrain.tif"
LARGEST = 100_000_000  # bytes
#: properties of a proposal that are no properties of a feature
BESIDE = ("drawn", "points", "pulses", "pulses_to_ground", "trees", "says")


@dataclass(frozen=True)
class StoredProposal:
    """A proposal as it is in its file.

    Attributes
    ----------
    id, kind : str
    drawn : bool
    properties : dict
        Of the feature, without its kind.
    geometry : dict
        GeoJSON, in the coordinates of the drawing.
    points, trees : int or None
        How many points of the survey its height is taken from; how many trees a group has. None if unknown.
    """

    id: str
    kind: str
    drawn: bool
    properties: dict[str, Any]
    geometry: dict[str, Any]
    points: int | None = None
    trees: int | None = None


def proposals_document(
    proposals: Sequence[Proposal], site: Site, source: str, says: Mapping[str, str]
) -> dict[str, Any]:
    """Return proposals as GeoJSON.

    Parameters
    ----------
    proposals : sequence of Proposal
    site : Site
    source : str
        Their `height_from`, with the day of the flight.
    says : mapping of str to str
        A sentence about each, by id.
    """
    features = [_feature(proposal, site, source, says[proposal.id]) for proposal in proposals]
    system = site.drawn.crs
    code = None if system is None or site.drawn.origin is not None else system.to_authority()
    if code is None:
        return {"type": "FeatureCollection", "features": features}
    crs = {"type": "name", "properties": {"name": "urn:ogc:def:crs:{}::{}".format(*code)}}
    return {"type": "FeatureCollection", "crs": crs, "features": features}


def _feature(proposal: Proposal, site: Site, source: str, says: str) -> dict[str, Any]:
    figures = {figure.key: written(figure, site.units) for figure in proposal.figures}
    pulses: dict[str, object] = {}
    if proposal.ground_share is not None:
        pulses = {"pulses": proposal.pulses, "pulses_to_ground": round(proposal.ground_share, 3)}
    trees = {"trees": proposal.trees} if proposal.trees > 1 else {}
    beside = {"points": proposal.points, **pulses, **trees, "says": says}
    properties = {"kind": proposal.kind, **figures, "height_from": source, "drawn": proposal.drawn, **beside}
    geometry = _rounded(site.drawn.from_lonlat(site.frame.to_lonlat(proposal.shape)), site.drawn.decimals)
    return {"type": "Feature", "id": proposal.id, "properties": properties, "geometry": geometry}


def written(figure: Figure, units: System) -> str | float:
    """Return a figure as a features file holds it, with its spread.

    Examples
    --------
    >>> written(Figure("height", 7.32, 0.5), "metric"), written(Figure("height", 7.3152, 0.3048), "imperial")
    ('7.32 m +- 0.5 m', '24 ft +- 1 ft')
    >>> written(Figure("transmittance_bare", 0.42, 0.1, "fraction"), "metric")
    '0.42 +- 0.1'
    """
    if figure.dimension == "angle":
        return round(figure.value, 1) % 180
    size, unit = (FOOT, " ft") if units == "imperial" else (1.0, " m")
    if figure.dimension == "fraction":
        size, unit = 1.0, ""
    value = float(f"{figure.value / size:.3g}") if figure.dimension == "fraction" else round(figure.value / size, 2)
    spread = min(float(f"{figure.spread / size:.2g}"), value)
    spread_text = f" +- {spread:g}{unit}" if spread > 0 else ""
    return f"{value:g}{unit}{spread_text}"


def _rounded(shape: BaseGeometry, decimals: int) -> dict[str, Any]:
    """Return a shape as GeoJSON, its rings oriented as RFC 7946 requires."""
    if shape.geom_type in {"Polygon", "MultiPolygon"}:
        shape = shapely.orient_polygons(shape)
    rounded = shapely.transform(shape, lambda points: points.round(decimals) + 0.0)
    document: dict[str, Any] = json.loads(json.dumps(mapping(rounded)))
    return document


def write_terrain(path: Path, ground: Floats, grid: Grid, site: Site, tags: Mapping[str, str]) -> None:
    """Write the ground as a GeoTIFF in metres, north up, in the site's own frame."""
    write_geotiff(
        path,
        ground[np.newaxis],
        grid,
        site.frame.crs,
        descriptions=["Elevation of the ground, m"],
        units=["m"],
        tags=tags,
    )


def read_proposals(folder: Path) -> list[StoredProposal]:
    """Return the proposals that a run has written to a folder.

    Raises
    ------
    InputError
        If there are none, or the file does not hold proposals any more.
    """
    remarks = Remarks()
    advice = "ask a survey first: siteplan heights SITE TILE"
    text = read_text(folder / FILE, remarks, missing=advice, most=LARGEST)
    if text is None:
        raise InputError(remarks.faults)
    try:
        return [_stored(feature) for feature in json.loads(text)["features"]]
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError) as error:
        raise InputError([Fault(FILE, "", f"holds no proposals any more; {advice}")]) from error


def _stored(feature: Any) -> StoredProposal:
    """Return a proposal from its GeoJSON Feature; KeyError, TypeError or ValueError if it is none."""
    properties = dict(feature["properties"])
    kind, drawn = properties.pop("kind"), properties.pop("drawn")
    name = feature["id"]
    if not (isinstance(name, str) and isinstance(kind, str) and isinstance(drawn, bool)):
        raise TypeError(name)
    figures = {key: value for key, value in properties.items() if key not in BESIDE}
    if not all(isinstance(value, str | int | float) and _finite(value) for value in figures.values()):
        raise TypeError(name)
    return StoredProposal(
        name,
        kind,
        drawn,
        figures,
        dict(feature["geometry"]),
        points=_count(properties.get("points")),
        trees=_count(properties.get("trees")),
    )


def _count(value: object) -> int | None:
    return value if isinstance(value, int) and not isinstance(value, bool) else None


def _finite(value: str | float) -> bool:
    return isinstance(value, str) or abs(value) < 1e300  # a whole number may be larger than any float
