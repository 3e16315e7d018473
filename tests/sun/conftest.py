"""Small skies and solids."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from dataclasses import replace

import numpy as np
import pytest
from shapely import Point, box

from siteplan.land.outline import rectangle
from siteplan.sun.engine import SunEngine
from siteplan.sun.obstacles.prisms import Prism
from siteplan.sun.path.solar_path import SunPath, sun_path


@pytest.fixture(scope="session")
def middle_path() -> SunPath:
    """Return a year at 45 N in half hours: coarse, and quick for the exact test."""
    return sun_path(45.0, 8.0, year=2026, timezone="Europe/Rome", step=0.5)


@pytest.fixture(scope="session")
def engine_of(middle_path: SunPath) -> Callable[..., SunEngine]:
    """Return a maker of engines out of prisms; those of the usual path share its tables, as a plan's engines do."""

    def new(path: SunPath, prisms: tuple[Prism, ...] = (), **more: object) -> SunEngine:
        season = np.isin(path.day_month[np.arange(len(path.day_month))], [5, 6, 7, 8, 9])
        return SunEngine(path=path, prisms=prisms, season=season, **more)

    usual = new(middle_path)

    def make(*prisms: Prism, path: SunPath = middle_path, **more: object) -> SunEngine:
        return replace(usual, prisms=prisms, **more) if path is middle_path else new(path, prisms, **more)

    return make


@pytest.fixture(scope="session")
def clutter() -> tuple[Prism, ...]:
    """Return everything that can stand: flat, gabled, floating, holed, bent, in leaf or bare, sliced."""
    leaf = {"transmittance_leafy": 0.2, "transmittance_bare": 0.6, "leaf_out": 105, "leaf_fall": 300}
    ell = box(-9, 4, -5, 9).difference(box(-7, 6, -5, 9))
    ring = box(4, 4, 10, 10).difference(box(5, 5, 9, 9))
    gable = [(box(-3, -9, 3, -6), (0.0, 0.5, 7.5)), (box(-3, -6, 3, -3), (0.0, -0.5, 1.5))]
    return (
        *(
            Prism(outline=half, bottom=0, top=4.5, top_plane=plane, owner="house", part="body")
            for half, plane in gable
        ),
        Prism(outline=ell, bottom=0, top=3.0, owner="ell"),
        Prism(outline=ring, bottom=0, top=2.0, owner="court", transmittance_leafy=0.1),
        Prism(outline=box(6, -8, 10, -3), bottom=2.4, top=2.7, owner="deck", transmittance_leafy=0.4),
        Prism(outline=rectangle(-7, -4, length=6, width=0.05, heading=30), bottom=0.3, top=1.8, owner="fence"),
        *(
            Prism(
                outline=Point(1, 6).buffer(2.5 - 0.4 * n, quad_segs=4), bottom=2 + n, top=3 + n, owner="cone",
                part="crown", **leaf,
            )
            for n in range(5)
        ),
        Prism(outline=Point(1, 6).buffer(0.15), bottom=0, top=2, owner="cone", part="trunk"),
        Prism(outline=Point(8, 0).buffer(2, quad_segs=4), bottom=1.5, top=6, owner="ash", part="crown", **leaf),
        Prism(
            outline=Point(6.5, 1).buffer(1.5, quad_segs=4), bottom=1, top=4, owner="pine", part="crown",
            transmittance_leafy=0.1,
        ),
    )  # fmt: skip


@pytest.fixture
def plain_loops(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Run the sun's loops by the interpreter, one by one: nothing is compiled for a test of a few numbers."""
    for name, module in list(sys.modules.items()):
        if name.startswith("siteplan.sun."):
            for key, value in list(vars(module).items()):
                if hasattr(value, "py_func"):
                    monkeypatch.setattr(module, key, value.py_func)
    with np.errstate(all="ignore"):  # as compiled: division by zero gives infinity
        yield
