"""A small invented town, planned in this process: quick, and what it does can be watched."""

from __future__ import annotations

from pathlib import Path

import pytest

from siteplan.files.drawing.town import TownFiles
from siteplan.screen.planner import Limits
from siteplan.screen.request import lots_of_town
from siteplan.screen.run import screen
from tests.screen.engines import Here, MadeUp
from tests.towns import town


@pytest.fixture(scope="session")
def small_town(tmp_path_factory) -> Path:
    """Ten lots, four of them at fault, thirty houses, one of them without a height."""
    return town(tmp_path_factory.mktemp("town"), lots=10, buildings=30, trees=12, cell=100)


@pytest.fixture(scope="session")
def planned_town(small_town, tmp_path_factory):
    """The small town planned once in this process: its lots, the folder written, the engine and what it found.

    The plans of its lots, the processes and the cluster are compared with it.
    """
    lots = lots_of_town(TownFiles(small_town / "town.gpkg"), small_town / "site.toml", ("sun", "place"))
    out, engine = tmp_path_factory.mktemp("planned") / "out", Here()
    return lots, out, engine, screen(lots, out, engine=engine, limits=Limits())


@pytest.fixture
def lots_of():
    """Return the lots of a town's folder."""
    return lambda folder, ask=("sun", "place"): lots_of_town(
        TownFiles(folder / "town.gpkg"), folder / "site.toml", ask
    )


@pytest.fixture
def screened(lots_of):
    """Screen a town with made up rows, or real ones, and return what was planned and what came of it."""

    def run(folder, out, *, ask=("sun", "place", "fill"), plans="none", stop_after=None, kind=MadeUp):
        engine = kind(stop_after)
        return engine, screen(lots_of(folder, ask), Path(out), engine=engine, limits=Limits(), plans=plans)

    return run
