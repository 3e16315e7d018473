"""What is told of each variant beside the others, of made-up plans."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from siteplan.draw import comparing
from siteplan.draw.comparing import variants_compared


def bed(name, season, worst):
    sun = SimpleNamespace(season_sun_h=season, worst_cell_sun_h=worst, month_sun_h=np.arange(12) + 0.126)
    return SimpleNamespace(bed=SimpleNamespace(id=name), sun=sun)


def planned(*, fill=10.126, walls=5.0, haul=True):
    """Return a plan with prices (None: unknown; "none": the question has no answer)."""

    def priced(value):
        return None if value == "none" else SimpleNamespace(price=value)

    return SimpleNamespace(
        fill=priced(fill), walls=priced(walls), site=SimpleNamespace(currency="EUR"),
        haul=SimpleNamespace(total_minutes=90.4, minutes_with_rests=121.0, trips=7) if haul else None,
        beds=[bed("a", 6.126, 5.004), bed("b", 3.0, 2.5)],
        cautions=[SimpleNamespace(code="c", feature="f", text="t")],
    )  # fmt: skip


@pytest.fixture
def rows(monkeypatch):
    """Return a reader of the comparison's rows and of its progress, of a property with one variant."""

    def look(*plans, names=("shed",), steps=()):
        left = iter(plans)
        asked, told = [], []

        def check(folder, *, variant):
            plan = next(left)
            asked.append(variant)
            site = None if isinstance(plan, str) else plan
            return SimpleNamespace(site=site, faults=(plan,) if site is None else ())

        def plan(site, *, ask, progress):
            assert ask == ("sun", "fill", "haul")
            for step in steps:
                progress(*step)
            return site

        monkeypatch.setattr(comparing, "variant_names", lambda _: list(names))
        monkeypatch.setattr(comparing, "check_site", check)
        monkeypatch.setattr(comparing, "plan_site", plan)
        found = variants_compared(None)(lambda question, share: told.append((question, share)))["rows"]
        assert asked == [None, *names]
        return found, told

    return look


def test_a_row_of_the_comparison(rows):
    (row, other), _ = rows(planned(), planned(fill=None, walls="none", haul=False))
    assert row == {
        "name": None, "faults": [], "cost": 15.13, "currency": "EUR", "hours": 1.51, "hours_with_rests": 2.02, "trips": 7,
        "beds": [
            {"id": "a", "season_h": 6.13, "worst_h": 5.0, "month_h": [month + 0.13 for month in range(12)]},
            {"id": "b", "season_h": 3.0, "worst_h": 2.5, "month_h": [month + 0.13 for month in range(12)]},
        ],
        "cautions": [{"code": "c", "feature": "f", "text": "t"}],
    }  # fmt: skip
    assert other["name"] == "shed"
    assert [other[key] for key in ("cost", "hours", "hours_with_rests", "trips")] == [None] * 4


@pytest.mark.parametrize(("fill", "walls", "cost"), [
    (None, 5.0, 5.0), (7.0, None, 7.0), ("none", 2.5, 2.5), (0.0, "none", 0.0), ("none", "none", None),
])  # fmt: skip
def test_the_cost_is_that_of_what_is_known(rows, fill, walls, cost):
    (row,), _ = rows(planned(fill=fill, walls=walls), names=())
    assert row["cost"] == cost


def test_a_variant_that_cannot_be_planned_tells_its_faults(rows):
    (_, row), _ = rows(planned(), "no boundary")
    assert row == {"name": "shed", "faults": ["no boundary"]}


def test_progress_goes_on_from_variant_to_variant(rows):
    """Five questions for each of two: half of the third is 2.5 / 10, and for the second as much after 1/2."""
    steps = (("sun", 0.0), ("range", 0.5), ("haul", 1.0), ("read", 0.5))
    _, told = rows(planned(), planned(), steps=steps)
    assert told == [
        ("sun", 0.0), ("range", pytest.approx(0.25)), ("haul", pytest.approx(0.5)), ("read", pytest.approx(0.05)),
        ("sun", 0.5), ("range", pytest.approx(0.75)), ("haul", pytest.approx(1.0)), ("read", pytest.approx(0.55)),
    ]  # fmt: skip
