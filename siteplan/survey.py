"""What does a survey from the air propose for a property?

The parts of the tiles that matter are read, and buildings, trees and hedges are found in them. Each becomes a
proposal in a file beside the site's own; the drawing stays as it is until the gardener accepts one.
"""

from __future__ import annotations

import datetime as dt
import math
import os
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from siteplan import __version__
from siteplan.files.drawing.feature_records import LEAVES_NORTH, LEAVES_SOUTH
from siteplan.files.outputs.output import write_json
from siteplan.files.outputs.output_folder import Written, write_folder
from siteplan.files.remarks import Remarks
from siteplan.files.survey.place import check_cover, check_ground, tiles_in_reach
from siteplan.files.survey.proposals_file import FILE, TERRAIN, proposals_document, write_terrain
from siteplan.files.survey.tile_header import TileHeader, read_header, require_laspy
from siteplan.files.survey.unfinished import read_unfinished
from siteplan.land.errors import Fault, InputError
from siteplan.land.features import MonthDay
from siteplan.land.findings import Caution
from siteplan.land.grid import Floats
from siteplan.land.proposals import Proposal
from siteplan.land.returns import Flight
from siteplan.land.site import Site
from siteplan.say.figures import plural
from siteplan.say.heights import found_sentences, next_steps, proposal_sentence, source_text
from siteplan.say.safe_text import plain_text

if TYPE_CHECKING:
    from siteplan.files.survey.tiles import Points
    from siteplan.heights.survey_features import SurveyFeatures

MOST_LISTED = 12  # proposals that the terminal lists
RASTERS = (".tif", ".tiff")
TILES = (".las", ".laz")
Progress = Callable[[str, float], None]
UNITS = {"m": "m", "metre": "m", "ft": "ft", "foot": "ft", "feet": "ft", "us-ft": "us-ft"}
TALLEST, LOWEST = 20.0, 1.6  # m; half of the houses higher or lower than this points to a wrong unit
OTHER_UNIT = 2.6  # so many times as high as drawn, or as low, points to a wrong unit
MOST_LONE = 0.05  # largest share of the points that may hang alone in the air


@dataclass(frozen=True, eq=False)
class HeightsFound:
    """What a survey proposes for a site.

    Attributes
    ----------
    site : Site
        The site as drawn, with placeholders for missing heights.
    features : SurveyFeatures
    proposals : tuple of Proposal
    unseen : tuple of str
        Ids of drawn features that the survey does not show.
    flight : Flight
    leafy : bool or None
        Whether trees were in leaf on that day.
    cautions : tuple of Caution
    """

    site: Site
    features: SurveyFeatures
    proposals: tuple[Proposal, ...]
    unseen: tuple[str, ...]
    flight: Flight
    leafy: bool | None
    cautions: tuple[Caution, ...]

    @property
    def source(self) -> str:
        """The source of the heights, with the day of the flight."""
        return source_text(self.flight)

    def sentences(self) -> list[str]:
        """Return sentences on what was found."""
        today = dt.datetime.now(tz=dt.UTC).date()
        return found_sentences(self.proposals, self.unseen, self.source, self.flight, self.leafy, today)

    def lines(self, written: Written, folder: str) -> list[str]:
        """Return the lines for the terminal: a summary, the first proposals, cautions, and the next steps."""
        listed = [
            f"{plain_text(proposal.id, longest=40)}{'' if proposal.drawn else ' (new)'}: "
            + proposal_sentence(proposal, self.site.units, self.leafy)
            for proposal in self.proposals[:MOST_LISTED]
        ]
        unlisted = len(self.proposals) - len(listed)
        listed += [f"{plural(unlisted, 'more proposal')} in {FILE}."] if unlisted > 0 else []
        cautions = [f"Note: {plain_text(caution.text, longest=400)}" for caution in self.cautions]
        return [
            *self.sentences(),
            *listed,
            *cautions,
            *next_steps(_seen_from(folder, written.folder), folder, self.site),
        ]

    def document(self) -> dict[str, Any]:
        """Return the proposals as GeoJSON, in the coordinates of the drawing."""
        says = {proposal.id: proposal_sentence(proposal, self.site.units, self.leafy) for proposal in self.proposals}
        return proposals_document(self.proposals, self.site, self.source, says)

    def write(self, out: str | Path) -> Written:
        """Write the ground and the proposals to a folder, both or neither.

        Parameters
        ----------
        out : str or Path
            A new, empty, or earlier output folder.
        """
        method = f"Ground of a {self.source}, mean of its points in each cell; a film spans what was not seen."
        tags = {
            "TIFFTAG_SOFTWARE": f"siteplan {__version__}",
            "TIFFTAG_IMAGEDESCRIPTION": method,
            "CELL_M": f"{self.features.grid.cell:g}",
            "SEEN": f"{self.features.has_ground_points.mean():.0%} of the cells hold points of the ground",
        }

        def write(folder: Path) -> None:
            write_json(folder / FILE, self.document())
            write_terrain(folder / TERRAIN, self.features.ground, self.features.grid, self.site, tags)

        return write_folder(out, write)


def _seen_from(site: str, out: Path) -> str:
    """Return the path from a site's folder to another, as it is written in site.toml."""
    try:
        return Path(os.path.relpath(out, os.path.realpath(site))).as_posix()
    except ValueError:  # on another drive
        return out.as_posix()


def find_heights(
    folder: str | Path,
    tiles: Sequence[str | Path],
    *,
    crs: str | None = None,
    z_unit: str | None = None,
    unclassified: bool = False,
    progress: Progress | None = None,
) -> HeightsFound:
    """Return what a survey from the air proposes for a site.

    Parameters
    ----------
    folder : str or Path
        The site's; heights may be missing in it.
    tiles : sequence of str or Path
        LAS or LAZ files; or two GeoTIFFs, of the surface and of the ground.
    crs : str, optional
        The tiles' coordinate system if they do not give it, as ``EPSG:28992``.
    z_unit : str, optional
        The unit of their heights: m, ft or us-ft.
    unclassified : bool
        Whether the tiles' own classes are ignored.
    progress : callable, optional
        Called with ``survey`` and the share that is done.

    Returns
    -------
    HeightsFound

    Raises
    ------
    InputError
        With all faults of the tiles and the site.
    MissingExtraError
        If laspy is not installed.

    Examples
    --------
    >>> find_heights("nowhere", ["tile.laz"])
    Traceback (most recent call last):
    ...
    siteplan.land.errors.InputError: nowhere: there is no such folder; start a site with: siteplan new nowhere
    """
    unfinished = read_unfinished(Path(folder))
    remarks = Remarks(system=unfinished.site.units)
    tell = progress or (lambda question, share: None)  # noqa: ARG005
    request = _Request([Path(tile) for tile in tiles], crs, z_unit, remarks)
    lowest = _lowest_sun(unfinished.site)
    points = _relevant_points(request, unfinished.site, lowest, remarks, lambda share: tell("survey", 0.7 * share))
    _stop_at_faults(remarks)
    assert points is not None  # noqa: S101  # a fault was noted otherwise
    check_cover(points.covered, request.names, remarks)
    _stop_at_faults(remarks)
    features = _find_features(points, unfinished.site, lowest, request, remarks, unclassified=unclassified)
    _stop_at_faults(remarks)
    tell("survey", 0.9)
    measured = [building for building in unfinished.site.buildings if building.id not in unfinished.lacking]
    drawn = {building.id: building.height for building in measured}
    result = _match(features, unfinished.site, points.flight, remarks)
    _check_heights(result, drawn, request, remarks)
    _stop_at_faults(remarks)
    tell("survey", 1.0)
    return result


class _Request:
    """The files of a survey, and the unit and coordinate system to read them with; faults are noted."""

    def __init__(self, paths: Sequence[Path], crs: str | None, z_unit: str | None, remarks: Remarks) -> None:
        from siteplan.files.ground.raster import UNITS as METRES

        self.paths = tuple(dict.fromkeys(paths))
        self.names = ", ".join(path.name for path in self.paths[:3]) + (" ..." if len(self.paths) > 3 else "")
        self.unit = None if z_unit is None else UNITS.get(z_unit.strip().lower())
        if z_unit is not None and self.unit is None:
            remarks.fault("", "--z-unit", f"is {z_unit[:40]!r}, must be m, ft or us-ft")
        self.metres = None if self.unit is None else METRES[self.unit]
        self.system = None if crs is None else _system(crs, remarks)
        endings = {path.suffix.lower() for path in self.paths}
        has_tiles, has_rasters = bool(endings & {*TILES}), bool(endings & {*RASTERS})
        self.pair = has_rasters and endings <= {*RASTERS}
        for path in self.paths:
            if path.suffix.lower() not in TILES + RASTERS:
                remarks.fault(path.name, "", "must be a .las or .laz tile, or one of a pair of .tif rasters")
        if self.pair and len(self.paths) != 2:
            text = f"{len(self.paths)} came; give two, of the surface with trees and roofs, and of the ground"
            remarks.fault(self.names, "", f"a pair of rasters is wanted, {text}")
        if has_tiles and has_rasters:
            remarks.fault(self.names, "", "are tiles and rasters; give tiles alone, or a pair of rasters")
        if not self.paths:
            remarks.fault("", "TILE", "is missing; give a .las or .laz tile, or a pair of .tif rasters")
        _stop_at_faults(remarks)
        if not self.pair:
            require_laspy()
        self.unit_given = self.metres is not None


def _system(name: str, remarks: Remarks) -> Any:
    from pyproj import CRS
    from pyproj.exceptions import CRSError

    try:
        return CRS.from_user_input(name)
    except CRSError:
        remarks.fault("", "--crs", f"is {name[:60]!r}, which is no coordinate system; write it as EPSG:28992")
        return None


def _stop_at_faults(remarks: Remarks) -> None:
    if remarks.faults:
        raise InputError(remarks.faults)


def _lowest_sun(site: Site) -> float:
    from siteplan.heights.reach import lowest_sun

    return lowest_sun(site.frame.latitude, site.frame.longitude, year=site.sun.year, season=site.season)


def _relevant_points(
    request: _Request, site: Site, lowest: float, remarks: Remarks, tell: Callable[[float], None]
) -> Points | None:
    """Return the points that matter, or None if a fault is noted."""
    from siteplan.heights.reach import FARTHEST, reach_of

    def reach(height: Floats) -> Floats:
        return np.asarray(reach_of(height, lowest))

    if request.pair:
        from siteplan.files.survey.pair import read_pair

        pair = (request.paths[0], request.paths[1])
        return read_pair(pair, site.frame, site.boundary, remarks, unit=request.unit, farthest=FARTHEST, reach=reach)
    from siteplan.files.survey.tiles import read_tiles

    headers: list[TileHeader] = []
    for path in request.paths:
        header = read_header(path, remarks, crs=request.system, metres=request.metres)
        if header is not None:
            headers.append(header)
    _stop_at_faults(remarks)
    request.unit_given = all(header.unit_given for header in headers)
    request.metres = headers[0].metres or 1.0
    tiles = tiles_in_reach(headers, site.frame, site.boundary, FARTHEST, remarks)
    _stop_at_faults(remarks)
    try:
        return read_tiles(tiles, site.frame, site.boundary, farthest=FARTHEST, reach=reach, tell=tell)
    except ValueError as error:
        name, _, text = str(error).partition(": ")
        remarks.fault(name, "", text)
        return None


def _find_features(
    points: Points, site: Site, lowest: float, request: _Request, remarks: Remarks, *, unclassified: bool
) -> SurveyFeatures:
    """Return the ground and the features in the points, or raise faults."""
    from siteplan.heights.survey_features import find_features, has_ground, is_classified

    returns = points.returns.as_unclassified() if unclassified else points.returns
    by_filter = not is_classified(returns)
    if not by_filter and not has_ground(returns):
        text = (
            "tells what its points are, and none of them is ground (class 2) about the property; with --unclassified "
            "the ground is found by its shape"
        )
        raise InputError([Fault(request.names, "", text)])
    built = [building.outline for building in site.buildings]
    grown = [*(tree.outline for tree in site.trees), *(hedge.outline for hedge in site.hedges)]
    try:
        features = find_features(
            returns, boundary=site.boundary, built=built, grown=grown, lowest=lowest, by_filter=by_filter
        )
    except ValueError as error:
        text = f"shows no ground about the property ({error}); take another survey"
        raise InputError([Fault(request.names, "", text)]) from error
    _check_features(features, len(returns), site, request, remarks)
    if features.lone:
        text = f"{features.lone:,} points that hang alone in the air (birds, noise) are left out."
        remarks.caution("survey-lone", "", text)
    if points.thinned > 1:
        text = f"Of the points far from the property one in {points.thinned} is taken: there are very many."
        remarks.caution("survey-thinned", "", text)
    return features


def _check_features(features: SurveyFeatures, points: int, site: Site, request: _Request, remarks: Remarks) -> None:
    """Raise a fault if the survey is damaged or has no ground; note one if its heights are in another unit."""
    if features.lone > MOST_LONE * points:
        text = f"has {features.lone:,} of {points:,} points alone in the air; it is damaged, or no survey of land"
        raise InputError([Fault(request.names, "", text)])
    inside = features.grid.inside(site.boundary)
    if not (features.has_ground_points & inside).any() and not features.has_ground_points.any():
        raise InputError([Fault(request.names, "", "shows no ground on the property; take another survey")])
    level = float(np.median(features.ground[inside])) if inside.any() else float(np.median(features.ground))
    check_ground(level, request.names, site.frame, request.metres or 1.0, remarks, unit_given=request.unit_given)


def _match(features: SurveyFeatures, site: Site, flight: Flight, remarks: Remarks) -> HeightsFound:
    from siteplan.heights.matching import match_features

    leafy = in_leaf(flight, southern=site.southern)
    matching = match_features(features, site, leafy=leafy)
    return HeightsFound(site, features, matching.proposals, matching.unseen, flight, leafy, remarks.all_cautions())


def in_leaf(flight: Flight, *, southern: bool) -> bool | None:
    """Return whether trees are in leaf from the first to the last day of a flight; None if they change in between.

    Examples
    --------
    >>> in_leaf(Flight(dt.date(2014, 3, 4), dt.date(2014, 3, 4)), southern=False)
    False
    """
    if flight.first is None or flight.last is None:
        return None
    out, fall = LEAVES_SOUTH if southern else LEAVES_NORTH
    days = (flight.first + dt.timedelta(days=number) for number in range((flight.last - flight.first).days + 1))
    states = {_is_leafy(MonthDay(day.month, day.day), out, fall) for day in days}
    return states.pop() if len(states) == 1 else None


def _is_leafy(day: MonthDay, out: MonthDay, fall: MonthDay) -> bool:
    """Return whether a day lies in leaf: as for the sun, both the first and the last day do."""
    return out <= day <= fall if out <= fall else day >= out or day <= fall


def _check_heights(result: HeightsFound, drawn: Mapping[str, float], request: _Request, remarks: Remarks) -> None:
    """Note a fault if the buildings' heights only make sense in another unit.

    Feet that are read as metres make them too high, metres that are read as feet too low.
    """
    heights = {proposal.id: proposal.figures[0].value for proposal in result.proposals if proposal.kind == "building"}
    ratios = [heights[name] / drawn[name] for name in heights.keys() & drawn.keys()]
    other_unit = "m" if request.metres and not math.isclose(request.metres, 1.0) else "ft"
    hint = f"are its heights in {'metres' if other_unit == 'm' else 'feet'}? Say --z-unit {other_unit}"
    if ratios and not 1 / OTHER_UNIT < (ratio := float(np.median(ratios))) < OTHER_UNIT:
        name = min(heights.keys() & drawn.keys())
        unit_helps = (ratio > OTHER_UNIT) == (other_unit == "ft")
        mend = f"{hint}, or mend the drawing" if unit_helps else "mend the drawing"
        text = (
            f'makes the building "{name[:60]}" {remarks.length(heights[name])} high, which is drawn '
            f"{remarks.length(drawn[name])} high; {mend}"
        )
        if ratio > OTHER_UNIT or len(ratios) > 1 or other_unit == "m":
            remarks.fault(request.names, "", text)
    elif heights and not ratios:
        middle = float(np.median([*heights.values()]))
        if middle > TALLEST and not request.unit_given and other_unit == "ft":
            text = f"makes half of {len(heights)} buildings more than {remarks.length(middle)} high; {hint}, if not"
            remarks.fault(request.names, "", f"{text} --z-unit m")
        elif middle < LOWEST and other_unit == "m":
            text = f"makes half of {len(heights)} buildings less than {remarks.length(middle)} high; {hint}"
            remarks.fault(request.names, "", text)
