"""Do a raster of the surface and one of the ground belong together, and which obstacles are not drawn?

The lowest cells of the surface should lie on the ground; if not, units, datums or files are mixed up. Obstacles on
the property that are not drawn are reported. `surface_file.py` reads the raster.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from shapely import Point, Polygon

from siteplan.files.ground.raster import Elevations
from siteplan.files.remarks import Remarks
from siteplan.land.features import Feature
from siteplan.land.outline import nearest_compass_point
from siteplan.land.surface_model import SurfaceModel, footprints
from siteplan.land.terrain import Terrain
from siteplan.land.unit_sizes import FOOT
from siteplan.land.values import shown

Singles = NDArray[np.float32]

LEAST_KNOWN = 0.02  # share of the land around that must be known
FEW_HOLES = 0.05  # share of it that may be unknown without a caution
BELOW = 1.0  # m; a surface that lies farther below the ground is not the surface of this ground
FEW_BELOW = 0.05  # share of cells that may lie below: water and survey noise
FEW_ABOVE = 0.01  # share of cells; if fewer rise above the ground, nothing is built or planted there
FLOATING, HIGH = 10.0, 2.0  # m; if the lowest twentieth of cells is higher, no cell is ground, or hardly any
ABOUT = 2.0  # m; how closely a guess must bring the two together to be suggested
TREE = 2.0  # m; lower obstacles on the property are not reported
SPOT = 2.0  # m2; nor are smaller ones


def check_reach(
    elevations: Elevations,
    boundary: Polygon,
    known_share: float,
    reach: float,
    odd_value: float | None,
    remarks: Remarks,
) -> bool:
    """Return whether a raster has elevations for enough of the land around a property; note a fault if not.

    Parameters
    ----------
    known_share : float
        Share of the cells within a distance that have an elevation. [0 to 1]
    reach : float
        That distance. [m]
    odd_value : float or None
        A value in the raster that cannot be an elevation.
    """
    file = elevations.file
    if known_share >= LEAST_KNOWN:
        if known_share < 1 - FEW_HOLES:
            text = (
                f"{file} has no data for {1 - known_share:.0%} of the land within {remarks.far(reach)}, its holes "
                "and what lies past its edge; nothing there hides the sun but the ground."
            )
            remarks.caution("surface-holes", "", text)
        return True
    alternative = "or leave surface_model out of site.toml"
    corners = elevations.corners()
    outline = Polygon(corners.T) if np.isfinite(corners).all() else None
    if odd_value is not None:
        text = (
            f"has {odd_value:g} and the like around the property, and hardly an elevation; "
            f"take another raster, {alternative}"
        )
    elif outline is not None and not outline.intersects(boundary):
        text = f"{_how_far(outline, remarks)} of the property; take the tile that covers it, {alternative}"
        if outline.distance(boundary) > 50e3:
            text = f"{text}. Is its coordinate system {shown(elevations.system.name)} right?"
    else:
        text = f"has no data around the property; take another raster, {alternative}"
    remarks.fault(file, "", text)
    return False


def _how_far(outline: Polygon, remarks: Remarks) -> str:
    """Return how far a raster lies from the frame's centre, and in which direction."""
    middle = Point(0, 0)
    nearest = outline.exterior.interpolate(outline.exterior.project(middle))
    point = nearest_compass_point(math.degrees(math.atan2(nearest.x, nearest.y)))
    return f"lies {remarks.far(middle.distance(nearest))} to the {point}"


def check_pair(file: str, surface: Singles, ground: Singles, remarks: Remarks) -> bool:
    """Return whether a surface lies on the ground; note a fault if it does not, a caution if it hardly does.

    Parameters
    ----------
    file : str
        Of the surface.
    surface, ground : ndarray, shape (rows, columns)
        Elevations of the same cells; NaN if unknown. [m]
    """
    known = np.isfinite(surface) & np.isfinite(ground)
    if not known.any():
        return True
    surface, ground = surface[known], ground[known]
    above = surface - ground
    low, middle, high = np.quantile(above, (0.05, 0.5, 0.95)).tolist()
    below = float((above < -BELOW).mean())
    swapped = below > FEW_BELOW and float((above > BELOW).mean()) < FEW_ABOVE and high > -BELOW
    if middle < -BELOW or swapped:
        depth = f", by {remarks.high(-middle)} in the middle" if middle < -BELOW else ""
        wrong = f"lies below terrain for {below:.0%} of the land around{depth}"
        remarks.fault(file, "", f"{wrong}; {_mend(surface, ground, swapped=swapped)}")
        return False
    if low > FLOATING:
        wrong = f"lies {remarks.high(low)} or more above terrain nearly everywhere"
        remarks.fault(file, "", f"{wrong}; {_mend(surface, ground)}")
        return False
    _note_gap(file, low, below, remarks)
    return True


def _note_gap(file: str, low: float, below: float, remarks: Remarks) -> None:
    """Note a surface that lies below the ground in many places, or hardly touches it.

    Parameters
    ----------
    low : float
        Height above the ground that a twentieth of its cells do not reach. [m]
    below : float
        Share of its cells below the ground. [0 to 1]
    """
    if below > FEW_BELOW:
        text = (
            f"{file} lies more than {remarks.length(BELOW)} below the ground of terrain for {below:.0%} of the land "
            "around: holes that are written as numbers, or another datum. What lies below the ground hides nothing."
        )
        remarks.caution("surface-below", "", text)
    elif low > HIGH:
        text = (
            f"Hardly any of {file} lies on the ground of terrain: all but a twentieth is {remarks.length(low)} or "
            "more above it. Unless that is a wood, the two have another unit or datum."
        )
        remarks.caution("surface-floats", "", text)


def _mend(surface: Singles, ground: Singles, *, swapped: bool = False) -> str:
    """Return advice on how to make surface and ground agree."""
    guesses = (
        ("its elevations fit as feet", 'surface_unit = "ft"', surface * FOOT - ground),
        ("its elevations fit as metres", 'surface_unit = "m"', surface / FOOT - ground),
        ("those of terrain fit as feet", 'terrain_unit = "ft"', surface - ground * FOOT),
        ("those of terrain fit as metres", 'terrain_unit = "m"', surface - ground / FOOT),
    )
    fits = [
        f"{finding} ({setting} in site.toml)" for finding, setting, above in guesses if _lies_on_the_ground(above)
    ]
    if swapped:
        return "are surface_model and terrain swapped in site.toml?"
    if fits:
        return f"{' or '.join(fits)}: say so if they are"
    return (
        "both must have their heights above the same datum, not one above the sea and the other above the ellipsoid"
    )


def _lies_on_the_ground(above: Singles) -> bool:
    """Return whether heights above the ground are plausible for a surface."""
    low, middle = np.quantile(above, (0.05, 0.5))
    return bool(abs(low) < ABOUT and middle > -BELOW)


def note_surface(
    model: SurfaceModel,
    boundary: Polygon,
    terrain: Terrain,
    features: Sequence[Feature],
    lone: int,
    remarks: Remarks,
) -> None:
    """Note the limits of a surface, and the obstacles on the property that are not drawn."""
    file = model.file
    surveyed = f", surveyed on {model.date.isoformat()}," if model.date else ""
    if not any(np.isfinite(layer.tops).any() for layer in model.layers):
        text = f"Nothing in {file} stands above the ground of terrain; is it the ground itself?"
        remarks.caution("surface-bare", "", text)
        return
    text = (
        f"{file}{surveyed} stands for what is not drawn. What it shows lets no light through, trees neither, in leaf "
        "or bare, and it shows the day of its survey: draw the trees that matter. Ranges of hours take it as exact."
    )
    if model.date is None:
        text += " surface_date in site.toml says which day that was."
    remarks.caution("surface-opaque", "", text)
    if lone:
        cells, are = ("1 lone cell", "is") if lone == 1 else (f"{lone} lone cells", "are")
        text = f"{cells} of {file}, far above all around as birds and wires are, {are} left out."
        remarks.caution("surface-lone", "", text)
    _note_undrawn(model, boundary, terrain, features, remarks)


def _note_undrawn(
    model: SurfaceModel, boundary: Polygon, terrain: Terrain, features: Sequence[Feature], remarks: Remarks
) -> None:
    """Note obstacles on the property that a surface shows and the drawing does not."""
    from scipy.ndimage import label, maximum

    layer = model.layers[0].without(shape.buffer(model.layers[0].cell) for shape in footprints(features))
    (rows, columns), inside = layer.part(boundary)
    if not inside.any():
        return
    above = layer.tops[rows, columns] - terrain.height_at(*layer.middles(rows, columns))
    patches, count = label(inside & (above > TREE), structure=np.ones((3, 3)))
    sizes = np.bincount(patches.ravel(), minlength=count + 1)[1:] * layer.cell**2
    large = np.flatnonzero(sizes >= SPOT) + 1
    if not len(large):
        return
    tallest = float(np.max(maximum(above, patches, large)))
    subject = "1 thing" if len(large) == 1 else f"{len(large)} things"
    are = "is" if len(large) == 1 else "are"
    if model.within:
        text = (
            f"{subject} on the property, the tallest {remarks.length(tallest)} high, {are} not drawn: {model.file} "
            "hides the sun there. Nothing else knows of them: beds and barrow may go where they stand."
        )
    else:
        text = (
            f"By {model.file} {subject} on the property, the tallest {remarks.length(tallest)} high, {are} not drawn "
            "and cast no shade. Draw them, or say surface_within = true in site.toml."
        )
    remarks.caution("surface-undrawn", "", text)
