"""Does an independent ray caster find the same shadows?

trimesh with embreex (Intel Embree) on a seeded random property of opaque prisms.
"""

from __future__ import annotations

import numpy as np
import pytest
import trimesh
from shapely import Point, Polygon

from siteplan.land.outline import rectangle
from siteplan.sun.engine import SunEngine
from siteplan.sun.obstacles.prisms import Prism
from siteplan.sun.path.solar_path import sun_path


def random_property(seed, count=24):
    """Houses, sheds that float, an L and a courtyard, all opaque, on a 40 m square."""
    rng = np.random.default_rng(seed)
    prisms = []
    for n in range(count):
        x, y = rng.uniform(-20, 20, 2)
        outline = rectangle(
            x, y, length=rng.uniform(2, 9), width=rng.uniform(0.1, 5), heading=float(rng.uniform(0, 180))
        )
        if n % 6 == 0:
            outline = outline.difference(outline.buffer(-0.8))  # a courtyard, or the same where it is too narrow
        if n % 6 == 1:
            outline = outline.difference(Point(outline.exterior.coords[0]).buffer(1.0, quad_segs=3))
        bottom = float(rng.uniform(1.5, 3)) if n % 4 == 0 else 0.0
        if isinstance(outline, Polygon):
            prisms.append(Prism(outline=outline, bottom=bottom, top=bottom + rng.uniform(0.5, 7), owner=str(n)))
    return tuple(prisms)


def test_disagreements_lie_within_half_a_step():
    prisms = random_property(31)
    mesh = trimesh.util.concatenate(
        [
            trimesh.creation.extrude_polygon(prism.outline, prism.top - prism.bottom).apply_translation(
                (0, 0, prism.bottom)
            )
            for prism in prisms
        ]
    )
    path = sun_path(45.0, 8.0, year=2026, timezone="Europe/Rome", step=0.5)
    some_days = np.isin(path.day, [1, 60, 110, 172, 240, 300])
    rng = np.random.default_rng(5)
    points = np.column_stack([rng.uniform(-20, 20, (60, 2)), np.full(60, 0.013)])
    engine = SunEngine(path=path, prisms=prisms, season=np.ones(365, dtype=bool))
    ours = engine.exact_light(points)[:, some_days] > 0.5
    up, bearing = np.radians(path.elevation[some_days]), np.radians(path.azimuth[some_days])
    suns = np.column_stack([np.cos(up) * np.sin(bearing), np.cos(up) * np.cos(bearing), np.sin(up)])
    origins = np.repeat(points, len(suns), axis=0)
    theirs = ~mesh.ray.intersects_any(origins, np.tile(suns, (len(points), 1))).reshape(len(points), -1)
    differ = np.argwhere(ours != theirs)
    # single precision in the ray caster: few, and each at an edge, so that the sun half a step before or after differs
    assert len(differ) <= 0.002 * ours.size
    for i, step in differ:
        around = ours[i, max(step - 1, 0) : step + 2]
        assert around.any(), "a shadow that only one of the two sees"
        assert not around.all(), "a light that only one of the two sees"
    assert 0.2 < ours.mean() < 0.9  # the property shades, and not everything


@pytest.mark.slow
def test_courtyard_and_deck_agree_with_the_ray_caster_at_every_step():
    for seed in (3, 4):
        prisms = random_property(seed, count=12)
        mesh = trimesh.util.concatenate(
            [
                trimesh.creation.extrude_polygon(p.outline, p.top - p.bottom).apply_translation((0, 0, p.bottom))
                for p in prisms
            ]
        )
        path = sun_path(-35.0, 149.0, year=2026, timezone="Australia/Sydney", step=1 / 6)
        rng = np.random.default_rng(seed)
        points = np.column_stack([rng.uniform(-20, 20, (12, 2)), np.full(12, 0.4)])
        engine = SunEngine(path=path, prisms=prisms, season=np.ones(365, dtype=bool))
        up, bearing = np.radians(path.elevation), np.radians(path.azimuth)
        suns = np.column_stack([np.cos(up) * np.sin(bearing), np.cos(up) * np.cos(bearing), np.sin(up)])
        ours = engine.exact_light(points) > 0.5
        theirs = ~mesh.ray.intersects_any(np.repeat(points, len(suns), axis=0), np.tile(suns, (12, 1)))
        assert (ours != theirs.reshape(12, -1)).mean() < 2e-4  # single precision at edges
