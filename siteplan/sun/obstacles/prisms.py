"""Which obstacles on a property can cast shade?

Every feature becomes one or more vertical prisms: an outline, a bottom, a top, and a transmittance (the share of
direct sun that it lets through). Terrain and far hills are no prisms: they are a horizon (`lookup.terrain_horizon`).
"""

from __future__ import annotations

import itertools
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import LineString, MultiPolygon, Polygon, box
from shapely.affinity import rotate
from shapely.geometry.base import BaseGeometry

from siteplan.land.features import Bed, Building, Fence, Hedge, MonthDay, Tree
from siteplan.land.grid import Floats
from siteplan.land.openings import open_ground, open_line
from siteplan.land.outline import mean_width, smallest_rectangle, solid_parts, thickness
from siteplan.land.site import Site
from siteplan.land.tiers import Frame
from siteplan.sun.obstacles.crowns import crown_slices
from siteplan.sun.obstacles.trellis import trellis_outline

Obstacle = Building | Tree | Hedge | Fence | Bed
TRELLIS_LEAFY, TRELLIS_BARE = 0.30, 0.90  # climbing crop on a net, and the net alone; common practice, no source
CROP_LEAFY = 0.20  # crop across a bed of usual width, or one row, between the frosts; common practice, no source
CROP_PATH = 1.2  # m; that usual width
FENCE_PIECE = 2.0  # m; longest panel in which fences, walls and hedges follow sloping ground
TRUNK_SIDES = 12
FOUNDATION = 50.0  # m; obstacles on a terrain reach this far below it, so that no light leaks in underneath


@dataclass(frozen=True, kw_only=True)
class Prism:
    """A vertical prism with a level or a sloping top.

    A prism with a `transmittance_path` is filled with leaves: they attenuate a ray by the length of its path through
    them. Any other prism is a screen: all screens of one owner and part count once, however many a ray meets.

    Attributes
    ----------
    outline : Polygon
        Seen from above, in the local frame; it may have holes.
    bottom, top : float
        Elevations of its lowest and its highest point, in the datum of the terrain. [m]
    owner : str
        Id of the feature that it belongs to.
    part : str
        Part of the feature: body, crown, trunk, soil, trellis, crop, or a numbered row.
    transmittance_leafy, transmittance_bare : float
        Share of direct sun let through in leaf and leafless, 0 to 1; without leaf dates the first holds all year.
    transmittance_path : float or None
        Length of the path through leaves that lets that share through; None for a screen, which takes the same share
        from every ray. Leaves have a level top. [m]
    leaf_out, leaf_fall : int or None
        First and last day of the year in leaf, both included; if the first is the later one, across the new year.
    top_plane : tuple of three floats, or None
        Plane of a sloping top, as a, b, c of height = a x + b y + c. None where the top is level.
    """

    outline: Polygon
    bottom: float
    top: float
    owner: str
    part: str = "body"
    transmittance_leafy: float = 0.0
    transmittance_bare: float = 0.0
    leaf_out: int | None = None
    leaf_fall: int | None = None
    transmittance_path: float | None = None
    top_plane: tuple[float, float, float] | None = None


def obstacle_prisms(site: Site, *, without: Collection[str] = ()) -> tuple[Prism, ...]:
    """Return the prisms of all features of a site that cast shade.

    Parameters
    ----------
    site : Site
        Its buildings, trees, hedges, fences and beds stand on its terrain, or on a level plane at 0.
    without : collection of str
        Ids of features to leave out.

    Returns
    -------
    tuple of Prism
        By feature, from bottom to top. Gates are gaps in their fences and hedges.

    Notes
    -----
    The heights of a feature are above the ground at its middle. On a terrain, fences, walls and hedges are cut into
    panels of at most 2 m, each with its own ground. An obstacle on the ground reaches down to the lowest ground
    under it.
    """
    left_out = frozenset(without)
    features: tuple[Obstacle, ...] = (*site.buildings, *site.trees, *site.hedges, *site.fences, *site.beds)
    prisms = (prism for feature in features for prism in feature_prisms(site, feature))
    return tuple(prism for prism in prisms if prism.owner not in left_out)


def feature_prisms(site: Site, feature: Obstacle) -> Iterable[Prism]:
    """Return the prisms of one feature, at the elevation of a site's ground and without its gates."""
    if isinstance(feature, Building):
        return _building_prisms(site, feature)
    if isinstance(feature, Tree):
        return _tree_prisms(site, feature)
    if isinstance(feature, Hedge):
        return _hedge_prisms(site, feature)
    return _fence_prisms(site, feature) if isinstance(feature, Fence) else bed_prisms(site, feature)


def ground_under(site: Site, shape: BaseGeometry) -> float:
    """Return the elevation of the ground at the middle of a shape; outside the raster, of the nearest edge. [m]"""
    ground = site.ground_at(shape)
    if site.terrain is None or np.isfinite(ground):
        return ground
    middle, grid = shapely.centroid(shape), site.terrain.grid
    nearest = site.terrain.height_at(
        [np.clip(middle.x, grid.west, grid.east)], [np.clip(middle.y, grid.south, grid.north)]
    )[0]
    return float(nearest if np.isfinite(nearest) else np.nanmedian(site.terrain.elevation))


def bed_prisms(site: Site, bed: Bed) -> tuple[Prism, ...]:
    """Return the prisms by which a bed shades its surroundings: its frames with their soil, its trellis, its crop.

    Trellis and crop have leaves in the growing season. Outside it the crop is gone and the trellis is a bare net. The
    trellis stands in the lowest frame, the crop on the ledge of every tier.
    """
    frames = _frame_prisms(site, bed, bed.frames)
    trellis = _trellis_prisms(site, bed) if frames else []
    return (*frames, *trellis, *_crop_prisms(site, bed))


def _trellis_prisms(site: Site, bed: Bed) -> list[Prism]:
    """Return the prism of a bed's trellis; none if it has no trellis."""
    if bed.trellis_height is None:
        return []
    ground = ground_under(site, bed.outline)
    leaf_out, leaf_fall = frost_free_days(site)
    trellis = Prism(
        outline=trellis_outline(bed, site.frame.latitude),
        bottom=ground + bed.frames[0].top,
        top=ground + bed.trellis_height,
        owner=bed.id,
        part="trellis",
        transmittance_leafy=TRELLIS_LEAFY,
        transmittance_bare=TRELLIS_BARE,
        leaf_out=leaf_out,
        leaf_fall=leaf_fall,
    )
    return [trellis]


def _crop_prisms(site: Site, bed: Bed) -> list[Prism]:
    """Return the prisms of a bed's crop, tier by tier; none if its height is not given."""
    tiers = ((outline, frame.top) for frame in bed.frames for outline in solid_parts(frame.around))
    return plant_prisms(site, bed, tiers, part="crop", path=CROP_PATH)


def plant_prisms(
    site: Site, bed: Bed, footprints: Iterable[tuple[Polygon, float]], *, part: str, path: float | None = None
) -> list[Prism]:
    """Return prisms of plants as tall as a bed's crop, in leaf between the frosts; none if no height is given.

    Each footprint has the height of its soil above the ground [m]. `path` is the `transmittance_path` of the prisms.
    """
    if bed.crop_height is None:
        return []
    ground = ground_under(site, bed.outline)
    leaf_out, leaf_fall = frost_free_days(site)
    return [
        Prism(
            outline=outline,
            bottom=ground + soil,
            top=ground + bed.crop_height,
            owner=bed.id,
            part=part,
            transmittance_leafy=CROP_LEAFY,
            transmittance_bare=1.0,
            leaf_out=leaf_out,
            leaf_fall=leaf_fall,
            transmittance_path=path,
        )
        for outline, soil in footprints
    ]


def frost_free_days(site: Site) -> tuple[int, int]:
    """Return the days of the year of the last and of the first frost, between which crops are in leaf."""
    season, year = site.season, site.sun.year
    return season.last_frost.day_of_year(year), season.first_frost.day_of_year(year)


def _frame_prisms(site: Site, bed: Bed, frames: Iterable[Frame]) -> list[Prism]:
    """Return the prisms of a bed's frames, walls and soil; the lowest reaches down to the lowest ground under it."""
    ground = ground_under(site, bed.outline)
    return [
        Prism(
            outline=outline,
            bottom=ground + frame.bottom if frame.number > 1 else _lowest_ground(site, bed.outline, ground),
            top=ground + frame.top,
            owner=bed.id,
            part="soil",
        )
        for frame in frames
        for outline in solid_parts(frame.outline)
    ]


def own_shade(site: Site, bed: Bed, *, tier: int = 0) -> tuple[Prism, ...]:
    """Return the prisms by which a bed shades the soil of one of its own tiers: its trellis and the frames above.

    A frame's walls do not shade its own soil, since they end at the soil's surface. Nor does the crop: the hours of
    sun are those that the crop gets.

    Parameters
    ----------
    site : Site
    bed : Bed
    tier : int
        Number of the tier; 0 for the highest, which only the trellis shades.
    """
    trellis = [prism for prism in bed_prisms(site, bed) if prism.part == "trellis"]
    return (*(_frame_prisms(site, bed, bed.frames[tier:]) if tier else ()), *trellis)


def _building_prisms(site: Site, building: Building) -> Iterator[Prism]:
    ground = ground_under(site, building.outline)
    on_ground = building.base == 0
    bottom = _lowest_ground(site, building.outline, ground) if on_ground else ground + building.base
    eaves = building.height if building.eaves is None else building.eaves
    if eaves >= building.height:
        for outline in solid_parts(building.outline):
            yield Prism(
                outline=outline,
                bottom=bottom,
                top=ground + building.height,
                owner=building.id,
                transmittance_leafy=building.transmittance,
            )
        return
    for half, plane in _gable_halves(building, ground + eaves, ground + building.height):
        corners = shapely.get_coordinates(half)
        yield Prism(
            outline=half,
            bottom=bottom,
            top=float((corners @ plane[:2] + plane[2]).max()),
            owner=building.id,
            transmittance_leafy=building.transmittance,
            top_plane=plane,
        )


def _gable_halves(
    building: Building, eaves: float, ridge: float
) -> Iterator[tuple[Polygon, tuple[float, float, float]]]:
    """Yield each half of a gabled building with the plane of its roof.

    The ridge runs along its heading, halfway between the outermost points of the outline on either side. The roof
    falls evenly from the ridge to the eaves at those points. This is exact for any outline.
    """
    outline = MultiPolygon(solid_parts(building.outline))
    if outline.is_empty:
        return
    heading = building.ridge_heading
    if heading is None:
        heading = smallest_rectangle(outline)[2]
    along = np.array([np.sin(np.radians(heading)), np.cos(np.radians(heading))])
    across = np.array([along[1], -along[0]])
    offsets = shapely.get_coordinates(outline) @ across  # from the origin, at right angles to the ridge
    middle, half_span = (offsets.max() + offsets.min()) / 2, (offsets.max() - offsets.min()) / 2
    extent = shapely.get_coordinates(outline) @ along
    strip_ends = np.array([extent.min() - 1, extent.max() + 1])  # the strips end 1 m beyond the outline
    fall = (ridge - eaves) / half_span
    for side in (1.0, -1.0):
        strip = [
            along * strip_ends[0] + across * middle,
            along * strip_ends[1] + across * middle,
            along * strip_ends[1] + across * (middle + side * (half_span + 1)),
            along * strip_ends[0] + across * (middle + side * (half_span + 1)),
        ]
        slope = -side * fall * across
        plane = (float(slope[0]), float(slope[1]), float(ridge + side * fall * middle))
        for half in solid_parts(shapely.intersection(outline, Polygon(strip))):
            yield half, plane


def _tree_prisms(site: Site, tree: Tree) -> Iterator[Prism]:
    ground = ground_under(site, tree.trunk)
    year = site.sun.year
    leaf_out, leaf_fall = _leaf_days(tree, year)
    path = mean_width(tree.outline) if tree.transmittance_path is None else tree.transmittance_path
    for outline in solid_parts(tree.outline):
        for ring, low, high in crown_slices(outline, tree.crown_base, tree.height, tree.crown_form):
            yield Prism(
                outline=ring,
                bottom=ground + low,
                top=ground + high,
                owner=tree.id,
                part="crown",
                transmittance_leafy=tree.transmittance_leafy,
                transmittance_bare=tree.transmittance_bare,
                leaf_out=leaf_out,
                leaf_fall=leaf_fall,
                transmittance_path=path,
            )
    if tree.trunk_diameter is not None and tree.crown_base > 0:
        yield Prism(
            outline=tree.trunk.buffer(tree.trunk_diameter / 2, quad_segs=TRUNK_SIDES // 4),
            bottom=ground,
            top=ground + tree.crown_base,
            owner=tree.id,
            part="trunk",
        )


def _leaf_days(tree: Tree, year: int) -> tuple[int | None, int | None]:
    def day(month_day: MonthDay | None) -> int | None:
        return None if month_day is None or tree.foliage == "evergreen" else month_day.day_of_year(year)

    return day(tree.leaf_out), day(tree.leaf_fall)


def _hedge_prisms(site: Site, hedge: Hedge) -> Iterator[Prism]:
    path = thickness(hedge.outline) if hedge.transmittance_path is None else hedge.transmittance_path
    for outline in _stretches(site, hedge):
        ground = ground_under(site, outline)
        yield Prism(
            outline=outline,
            bottom=_lowest_ground(site, outline, ground),
            top=ground + hedge.height,
            owner=hedge.id,
            transmittance_leafy=hedge.transmittance,
            transmittance_path=path,
        )


def _fence_prisms(site: Site, fence: Fence) -> Iterator[Prism]:
    panels = _panels(site, fence) if fence.outline is None else ((piece, piece) for piece in _stretches(site, fence))
    for middle, strip in panels:
        ground = ground_under(site, middle)
        bottom = _lowest_ground(site, strip, ground) if fence.base == 0 else ground + fence.base
        for outline in solid_parts(strip):
            yield Prism(
                outline=outline,
                bottom=bottom,
                top=ground + fence.height,
                owner=fence.id,
                transmittance_leafy=fence.transmittance,
            )


def _panels(site: Site, fence: Fence) -> Iterator[tuple[LineString, BaseGeometry]]:
    """Yield a fence's line without its gates, and its footprint; on a terrain, panel by panel."""
    for part in shapely.get_parts(open_line(fence, site.gates)):
        if part.length < 1e-6:
            continue
        lines = [part]
        if site.terrain is not None:
            points = shapely.get_coordinates(shapely.segmentize(part, FENCE_PIECE))
            lines = [LineString(ends) for ends in itertools.pairwise(points)]
        for line in lines:
            yield line, line.buffer(fence.thickness / 2, cap_style="flat", join_style="mitre", mitre_limit=2.0)


def _stretches(site: Site, barrier: Fence | Hedge) -> Iterator[Polygon]:
    """Yield the footprint of a hedge, or of a wall drawn as an area; on a terrain, in panels along its sides."""
    for part in solid_parts(open_ground(barrier, site.gates)):
        if site.terrain is None:
            yield part
            continue
        _, _, heading = smallest_rectangle(part)
        aligned = rotate(part, heading, origin=(0, 0))
        west, south, east, north = aligned.bounds
        cuts_x, cuts_y = _cuts(west, east), _cuts(south, north)
        for (left, right), (bottom, top) in itertools.product(itertools.pairwise(cuts_x), itertools.pairwise(cuts_y)):
            for piece in solid_parts(shapely.intersection(aligned, box(left, bottom, right, top))):
                yield rotate(piece, -heading, origin=(0, 0))


def _cuts(low: float, high: float) -> Floats:
    """Return where an extent is cut into equal panels of at most FENCE_PIECE, both ends included. [m]"""
    return np.linspace(low, high, max(int(np.ceil((high - low) / FENCE_PIECE - 1e-6)), 1) + 1)


def _lowest_ground(site: Site, shape: BaseGeometry, ground: float) -> float:
    """Return the bottom of an obstacle on the ground: well below the lowest ground under it. [m]

    So that no light passes underneath where the ground slopes.
    """
    if site.terrain is None:
        return ground
    corners = shapely.get_coordinates(shape)
    heights = site.terrain.height_at(corners[:, 0], corners[:, 1])
    return float(np.nanmin(np.append(heights, ground))) - FOUNDATION
