"""How do rows of tall plants shade the soil between them in their own bed?

Each row is a vertical screen of leaves from the soil to the height of the crop, like plants on strings or canes.
Growth is not modelled: a row has its full height from the last to the first frost.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from siteplan.land.features import Bed
from siteplan.land.outline import rectangle, smallest_rectangle, solid_parts
from siteplan.land.site import Site
from siteplan.sun.obstacles.prisms import Prism, plant_prisms

#: m; thickness of a row's screen of leaves (common practice, no source)
ROW_THICKNESS = 0.10


def row_outlines(bed: Bed) -> tuple[Polygon, ...]:
    """Return the footprint of each row. As many rows as fit at their spacing, centred in the bed.

    Examples
    --------
    >>> bed = Bed(id="a", outline=rectangle(0, 0, length=4, width=2, heading=90), height=0.4, wall_thickness=0,
    ...     crop_height=1.5, rows="along", row_spacing=0.8)
    >>> [[round(value, 3) for value in row.bounds] for row in row_outlines(bed)]
    [[-2.0, 0.35, 2.0, 0.45], [-2.0, -0.45, 2.0, -0.35]]
    >>> row_outlines(Bed(id="a", outline=bed.outline, height=0.4))
    ()
    """
    if bed.rows is None:
        return ()
    soil = bed.frames[0].inside
    if soil.is_empty:
        return ()
    length, width, heading = smallest_rectangle(soil)
    row_length, breadth = (length, width) if bed.rows == "along" else (width, length)
    heading = heading if bed.rows == "along" else heading + 90
    count = max(1, int(breadth / bed.row_spacing + 1e-9))
    offsets = (np.arange(count) - (count - 1) / 2) * min(bed.row_spacing, breadth)
    middle = shapely.get_coordinates(shapely.minimum_rotated_rectangle(soil))[:4].mean(axis=0)
    angle = np.radians(heading)
    outlines: list[Polygon] = []
    for offset in offsets.tolist():
        x, y = middle + offset * np.array([np.cos(angle), -np.sin(angle)])
        strip = rectangle(float(x), float(y), length=row_length, width=ROW_THICKNESS, heading=heading)
        parts = shapely.get_parts(shapely.intersection(strip, soil))
        outlines += [part for part in parts if isinstance(part, Polygon) and part.area > 1e-6]
    return tuple(outlines)


def row_prisms(site: Site, bed: Bed) -> tuple[Prism, ...]:
    """Return the rows of a bed as prisms that shade its own soil; empty where it has no rows.

    Each row is a screen of its own: a ray that meets several is attenuated by each of them.
    """
    return tuple(
        prism
        for number, row in enumerate(row_outlines(bed), 1)
        for prism in plant_prisms(site, bed, _on_ledges(bed, row), part=f"row {number}")
    )


def _on_ledges(bed: Bed, row: Polygon) -> Iterator[tuple[Polygon, float]]:
    """Yield the footprint of a row with the height of the soil under it; cut where it crosses to another tier."""
    if len(bed.frames) == 1:
        yield row, bed.height
        return
    for frame in bed.frames:
        for part in solid_parts(shapely.intersection(row, frame.ledge)):
            yield part, frame.top


def between_rows(bed: Bed, x: NDArray[np.float64], y: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Return which points of a bed lie between its rows, shape (n,); all of them if none would be left."""
    rows = row_outlines(bed)
    if not rows:
        return np.ones(len(x), dtype=bool)
    free = ~shapely.intersects_xy(shapely.union_all(rows), x, y)
    return free if free.any() else np.ones(len(x), dtype=bool)
