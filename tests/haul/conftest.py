"""One bare yard of 12 m by 10 m, level, nothing on it but what a test puts there."""

from __future__ import annotations

import dataclasses

import pytest
from shapely import box

from siteplan.land.site import Barrow, Labour, Site


@pytest.fixture(scope="session")
def bare_yard(tiny_yard) -> Site:
    return dataclasses.replace(
        tiny_yard, boundary=box(-6, -5, 6, 5), buildings=(), trees=(), fences=(), gates=(), surfaces=(), taps=(),
        piles=(), beds=(), stock=(), barrow=Barrow(), labour=Labour(people=1, hours_per_day=4), rolling_surfaces={},
    )  # fmt: skip
