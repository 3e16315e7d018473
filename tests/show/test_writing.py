"""Which files a command writes; what is in them is made up."""

from __future__ import annotations

from contextlib import contextmanager
from dataclasses import replace
from types import SimpleNamespace

import pytest

from siteplan.land.errors import InputError
from siteplan.land.features import Bed
from siteplan.show import writing
from siteplan.show.sheet.sun_rows import _hours
from siteplan.show.tables.document import _surface


@pytest.fixture
def named(drawn_plan, tmp_path, monkeypatch):
    """Return a function that writes the files of a command, each with its own name in it."""
    every = {*sum(writing.FILES.values(), ()), *writing.PARQUET, "report.pdf", "sure.tif", "tiers.csv"}
    writers = {name: lambda path, name=name: path.write_text(name) for name in every}
    monkeypatch.setattr(writing, "_writers", lambda plan, *, tiles: writers)  # noqa: ARG005

    def write(command, plan=drawn_plan, **more):
        return writing.write_answers(plan, tmp_path / "out", command=command, **more).names

    return write


TIERED = (Bed.Tier(height=0.3), Bed.Tier(height=0.2, inset=0.3))


@pytest.mark.parametrize(("command", "names"), [
    ("sun", ("sun_hours.tif", "light.tif", "sun.csv")), ("place", ("places.csv",)), ("turn", ("headings.csv",)),
    ("fill", ("shopping.csv",)), ("haul", ("loads.csv",)), ("map", ("map.html",)),
    ("plan", ("map.html", "report.html", "plan.json", "sun_hours.tif", "light.tif", "plan.gpkg", "shopping.csv", "loads.csv",
              "sun.csv", "places.csv", "headings.csv")),
])  # fmt: skip
def test_each_command_has_its_files_and_more_where_it_has_more_to_write(named, drawn_plan, command, names):
    assert named(command) == names
    # the sheet is printed and layers are written again only where the command has them
    more = ("report.pdf",) * (command == "plan") + writing.PARQUET * (command == "plan")
    assert named(command, pdf=True, parquet=True) == names + more
    bare = replace(drawn_plan, maps=None, light_maps=None)
    assert named(command, bare) == tuple(name for name in names if not name.endswith(".tif"))
    sure = replace(drawn_plan, sure_map="sure")
    assert named(command, sure) == names + ("sure.tif",) * (command in {"sun", "plan"})
    bed = drawn_plan.site.beds[0]
    shelf = Bed(id=bed.id, outline=bed.outline, tiers=TIERED)
    tiers = replace(drawn_plan, site=replace(drawn_plan.site, beds=(shelf,)))
    assert named(command, tiers) == names + ("tiers.csv",) * (command in {"sun", "fill", "plan"})


@pytest.mark.parametrize(("command", "shares"), [
    ("sun", [0, 1 / 3, 2 / 3]), ("map", [0]), ("plan", [number / 11 for number in range(11)]),
])  # fmt: skip
def test_how_far_the_writing_is(named, command, shares):
    told = []
    named(command, progress=lambda question, share: told.append((question, share)))
    assert told == [("write", share) for share in shares]


@pytest.mark.parametrize(("command", "beside"), [("plan", True), ("map", False)])
def test_the_map_is_written_beside_other_files(named, monkeypatch, tmp_path, command, beside):
    def in_this_process(act, *, alone):
        done.append(alone)
        yield lambda: act(None)

    done = []
    monkeypatch.setattr(writing, "in_second_process", contextmanager(in_this_process))
    named(command)
    assert done == [not beside]
    assert (tmp_path / "out" / "map.html").read_text() == "map.html"


def test_nothing_is_written_if_the_map_cannot_be(drawn_plan, monkeypatch, tmp_path):
    def fail(plan, path, *, tiles):
        raise OSError(f"no room for {path.name}")

    monkeypatch.setattr(writing, "_write_map", fail)
    with pytest.raises(InputError, match=r"no room for map\.html"):
        writing.write_answers(drawn_plan, tmp_path / "out", command="plan")
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(
    ("hours", "said"),
    [(6.0, "6.0"), (5.94, "(5.9)"), (5.96, "6.0"), (7.25, "7.2"), (0.0, "(0.0)"), (float("nan"), "—")],
)
def test_less_sun_than_is_needed_stands_in_brackets(hours, said):
    assert _hours(hours, 6.0) == said


def test_a_surface_is_told_by_its_finest_cells():
    assert _surface(None) is None
    layers = (SimpleNamespace(cell=0.5), SimpleNamespace(cell=2.0))
    surface = SimpleNamespace(file="dsm.tif", date=None, begins=0.5, within=0.0, layers=layers, reach=300.0)
    assert _surface(surface) == {
        "file": "dsm.tif", "date": None, "from_m": 0.5, "within": 0.0, "cell_m": 0.5, "reach_m": 300.0,
    }  # fmt: skip
