"""Many lots in one run: nothing is lost, nothing is done twice, and equal rows are equal bytes. The rows are made up."""

from __future__ import annotations

import itertools
import json
import shutil
import sqlite3
from importlib.util import find_spec
from types import SimpleNamespace

import geopandas as gpd
import pandas as pd
import pytest
import shapely

from siteplan.files.drawing.town import TownFiles
from siteplan.files.outputs.marker import MARKER
from siteplan.land.errors import InputError
from siteplan.screen import run
from siteplan.screen.planner import Limits, Outcome
from siteplan.screen.request import lots_of_folders, lots_of_town
from siteplan.screen.rows import ended_row
from siteplan.screen.run import screen
from siteplan.screen.store import NAME
from tests.screen.engines import MadeUp, Writes

PARQUET = find_spec("pyarrow") is not None
FILES = ("screen.csv", "screen.gpkg", "screen.html", *["screen.parquet"] * PARQUET)


@pytest.fixture
def first(small_town, screened, tmp_path):
    out = tmp_path / "first"
    return out, *screened(small_town, out)


def contents(out):
    return {name: (out / name).read_bytes() for name in FILES}


def test_a_second_run_plans_nothing_and_writes_the_same(first, small_town, screened):
    out, _, _ = first
    before = contents(out)
    engine, found = screened(small_town, out)
    assert engine.looked_at == []
    assert found.planned == 0
    assert contents(out) == before


def test_how_far_it_is_is_told_from_nothing_to_all(small_town, lots_of, tmp_path):
    told: list[tuple[str, float]] = []
    lots = lots_of(small_town, ("sun",))
    screen(lots, tmp_path / "out", engine=MadeUp(None), limits=Limits(), tell=lambda *what: told.append(what))
    shares = [share for _, share in told]
    assert shares[0] == 0
    assert shares[-1] == 1
    assert shares == sorted(shares)


def test_an_interrupted_run_goes_on_where_it_stopped(first, small_town, screened, tmp_path):
    with pytest.raises(KeyboardInterrupt):
        screened(small_town, tmp_path / "out", stop_after=6)
    with (tmp_path / "out" / NAME).open("ab") as store:
        store.write(b'{"lot": "L000')  # a crash in the middle of a line
    engine, _ = screened(small_town, tmp_path / "out")
    assert engine.planned == [6, 7, 8, 9]
    assert contents(tmp_path / "out") == contents(first[0])


def test_only_lots_whose_surroundings_changed_are_planned_again(first, small_town, screened, tmp_path):
    folder, out = tmp_path / "town", tmp_path / "out"
    shutil.copytree(small_town, folder)
    shutil.copytree(first[0], out)
    houses = gpd.read_file(folder / "town.gpkg", layer="buildings")
    far = shapely.affinity.translate(houses.geometry[0], 0, 40_000)
    more = pd.concat([houses, gpd.GeoDataFrame({"no": [99_999], "roof": [5.0]}, geometry=[far], crs=houses.crs)])
    more.to_file(folder / "town.gpkg", layer="buildings", driver="GPKG")
    engine, found = screened(folder, out)
    assert engine.looked_at == list(range(10))  # the file is another: each lot is cut out again
    assert engine.planned == []
    assert found.planned == 0
    houses["roof"] = houses["roof"] + 1
    houses.to_file(folder / "town.gpkg", layer="buildings", driver="GPKG")
    engine, _ = screened(folder, out)
    assert len(engine.planned) >= 6


def test_other_settings_plan_all_anew(first, small_town, screened, tmp_path):
    folder, out = tmp_path / "town", tmp_path / "out"
    shutil.copytree(small_town, folder)
    shutil.copytree(first[0], out)
    settings = folder / "site.toml"
    settings.write_text(settings.read_text().replace('length = "2.4 m"', 'length = "3 m"'))
    engine, _ = screened(folder, out)
    assert engine.planned == list(range(10))


def test_two_runs_do_not_work_in_one_folder(first, small_town, screened, lots_of, tmp_path):
    def engine(asked, limits, tasks):
        with pytest.raises(InputError, match="another run"):
            screened(small_town, tmp_path / "out")
        raise KeyboardInterrupt
        yield

    with pytest.raises(KeyboardInterrupt):
        screen(lots_of(small_town), tmp_path / "out", engine=engine, limits=Limits())


def test_a_full_disk_is_told_and_keeps_what_is_done(small_town, screened, tmp_path, monkeypatch):
    from siteplan.screen import store

    def full(handle):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(store, "os", SimpleNamespace(fsync=full))  # the disk is full when a lot is stored
    with pytest.raises(InputError, match="No space left on device; make room, and run the same again"):
        screened(small_town, tmp_path / "out")


def test_the_geopackage_says_what_its_layers_hold(first):
    with sqlite3.connect(first[0] / "screen.gpkg") as file:
        said = dict(file.execute("select table_name, description from gpkg_contents").fetchall())
    file.close()
    assert said["lots"].startswith("Lots with the sun")


def test_every_lot_has_a_row_in_every_file(first):
    out, _, found = first
    table = pd.read_csv(out / "screen.csv", keep_default_na=False)
    assert table["lot"].tolist() == list(found.ids)
    layers = [gpd.read_file(out / "screen.gpkg", layer="lots")]
    if PARQUET:
        layers.append(gpd.read_parquet(out / "screen.parquet"))
    for layer in layers:
        assert layer["lot"].tolist() == list(found.ids)
        assert layer.crs == "EPSG:4326"
    places = gpd.read_file(out / "screen.gpkg", layer="places")
    assert set(places["lot"]) == set(table["lot"][table["status"] == "planned"])
    lots = layers[0].set_index("lot").geometry
    assert all(lots[row.lot].contains(row.geometry) for row in places.iloc[3:].itertuples())  # of sound lots


def test_the_time_left_is_by_the_lots_so_far(monkeypatch):
    """Four lots of 60 s each: after the first three minutes are left, after the third one."""
    clock = itertools.chain([0.0, 60.0, 120.0, 180.0, 240.0], itertools.repeat(300.0))
    monkeypatch.setattr(run.time, "monotonic", lambda: next(clock))
    told, closed = [], []

    def engine(request, limits, tasks):
        assert (request, limits) == ("request", "limits")
        try:
            yield from tasks
        finally:
            closed.append(True)

    def tell(words, share):
        told.append((words, share))

    assert list(run._outcomes(engine, "request", "limits", ["a", "b", "c", "d"], tell, "lot")) == ["a", "b", "c", "d"]
    assert told == [
        ("lot 1 of 4", 0.0), ("lot 1 of 4, 3 min left", 0.25), ("lot 2 of 4, 2 min left", 0.5), ("lot 3 of 4, 1 min left", 0.75),
        ("lot 4 of 4, under a minute left", 1.0),
    ]  # fmt: skip
    assert closed == [True]
    assert list(run._outcomes(engine, "request", "limits", [], tell, "lot")) == []
    assert list(run._outcomes(engine, "request", "limits", ["a"], None, "lot")) == ["a"]
    assert len(told) == 5


def test_lots_are_ranked_by_merit_then_by_ground_then_by_number(monkeypatch):
    rows = [
        {"status": "planned", "place_merit": 0.5, "ground_6h_m2": 10.0}, {"status": "fault"},
        {"status": "planned", "place_merit": 0.5, "ground_6h_m2": 20.0}, {"status": "planned"},
        {"status": "planned", "place_merit": 0.5, "ground_6h_m2": 20.0}, {"status": "planned", "place_merit": 0.1},
    ]  # fmt: skip
    ids = [str(number) for number in range(len(rows))]
    lots = SimpleNamespace(ids=ids)
    store = SimpleNamespace(known={lot: SimpleNamespace(row=row) for lot, row in zip(ids, rows, strict=True)})
    assert run._chosen("none", lots, store) == []
    assert run._chosen("all", lots, store) == [0, 2, 3, 4, 5]
    assert run._chosen("best 2", lots, store) == [2, 4]
    assert run._chosen("best 99", lots, store) == [2, 4, 0, 5, 3]


@pytest.mark.parametrize(("lot", "name"), [
    ("L/12 <b>", "00001-L-12-b"), ("--", "00001"), ("x" * 50, "00001-" + "x" * 40), ("ä1", "00001-1"),
])  # fmt: skip
def test_a_folder_s_name_has_letters_of_any_file_system(lot, name):
    assert run.folder_name(0, lot) == name


def test_a_file_that_the_settings_name_changes_what_all_lots_have_in_common(small_town, tmp_path):
    folder = tmp_path / "town"
    shutil.copytree(small_town, folder)
    settings = folder / "site.toml"
    settings.write_text('skyline = "sky.csv"\n' + settings.read_text(encoding="utf-8"), encoding="utf-8")
    found = []
    for line in ("0,1", "0,1", "0,2"):
        (folder / "sky.csv").write_text(line)
        found.append(lots_of_town(TownFiles(folder / "town.gpkg"), settings, ("sun",)))
    assert found[0].request.common == found[1].request.common != found[2].request.common
    assert found[0].stamps == found[1].stamps != found[2].stamps
    assert len({*found[0].stamps}) == 1
    other = lots_of_town(TownFiles(folder / "town.gpkg"), settings, ("place",))
    assert other.request.common != found[2].request.common


@pytest.mark.parametrize(("plans", "written"), [("all", 8), ("best 2", 2)])
def test_the_whole_plans_are_written_into_a_new_folder(plans, written, small_town, screened, tmp_path):
    """Eight of the ten lots are planned; the best two are the last ones, by their made up merit."""
    out = tmp_path / "new" / "out"
    engine, found = screened(small_town, out, plans=plans, kind=Writes)
    folders = sorted(path.name for path in (out / "plans").iterdir())
    assert len(folders) == written
    assert [row["plan"] for row in found.rows if row["plan"]] == [f"plans/{name}" for name in folders]
    assert folders[-2:] == [run.folder_name(number, found.ids[number]) for number in (8, 9)]
    before = contents(out)
    for again in (plans, "none"):
        engine, found = screened(small_town, out, plans=again, kind=Writes)
        assert engine.looked_at == []
        assert contents(out) == before


def test_what_somebody_puts_into_the_folder_meanwhile_is_kept(small_town, lots_of, tmp_path):
    """Notes in the folder, in the folder of the plans, and under the name of a result."""
    out = tmp_path / "out"

    class Notes(Writes):
        def __call__(self, asked, limits, tasks):
            (out / "notes.txt").write_text("see the third")
            (out / "screen.csv").write_text("mine")
            (out / "plans").mkdir(exist_ok=True)
            (out / "plans" / "notes.txt").write_text("dry")
            yield from super().__call__(asked, limits, tasks)

    found = screen(lots_of(small_town), out, engine=Notes(), limits=Limits(), plans="best 1")
    assert (out / "notes.txt").read_text() == "see the third"
    assert (out / "plans" / "notes.txt").read_text() == "dry"
    ((name, kept_as),) = [(kept.name, kept.kept_as) for kept in found.written.kept]
    assert name == "screen.csv"
    assert (out / kept_as).read_text() == "mine"


def test_a_folder_left_with_plans_and_no_marker_says_how_to_go_on(small_town, screened, tmp_path):
    """An earlier version put plans into a new folder before the marker, and then refused the folder."""
    out = tmp_path / "out"
    screened(small_town, out, plans="best 1", kind=Writes)
    for path in [out / MARKER, *(out / name for name in FILES)]:
        path.unlink()
    with pytest.raises(InputError) as refused:
        screened(small_town, out, plans="best 1", kind=Writes)
    assert str(refused.value) == (
        "out: has plans of a run that could not end; move plans to another folder, and run the same again: "
        "lots that are done are kept"
    )
    (out / "plans").rename(tmp_path / "elsewhere")
    engine, found = screened(small_town, out, plans="best 1", kind=Writes)
    assert (found.planned, engine.looked_at) == (0, [9])
    assert (out / found.rows[9]["plan"] / "plan.json").is_file()


@pytest.fixture
def listed(tmp_path):
    """Screen folders with made up rows, and return the plan that each row names, and which lots were looked at."""

    def run(*names, plans="none"):
        folders = [tmp_path / name for name in names]
        for folder in folders:
            folder.mkdir(parents=True, exist_ok=True)
            (folder / "site.toml").write_text(f'name = "{folder.name}"\n')
        engine = Writes()
        out = tmp_path / "out"
        found = screen(lots_of_folders(folders, ("sun",)), out, engine=engine, limits=Limits(), plans=plans)
        return [row["plan"] for row in found.rows], [found.ids[number] for number in engine.looked_at]

    return run


def test_a_plan_keeps_its_folder_when_a_lot_comes_before_it(listed, tmp_path):
    b, c = "plans/00001-B", "plans/00002-C"
    assert listed("B", "C", plans="all") == ([b, c], ["B", "C", "B", "C"])
    assert listed("A", "B", "C") == (["", b, c], ["A"])
    assert listed("A", "B", "C", plans="all") == (["plans/00001-A", b, c], ["A"])
    shutil.rmtree(tmp_path / "out" / c)
    assert listed("A", "B", "C")[0] == ["plans/00001-A", b, ""]
    assert listed("A", "B", "C", plans="all") == (["plans/00001-A", b, c], ["C"])


def test_a_link_to_a_plan_out_of_date_goes_until_it_is_written_anew(small_town, screened, tmp_path):
    folder, out = tmp_path / "town", tmp_path / "out"
    shutil.copytree(small_town, folder)
    _, found = screened(folder, out, plans="best 1", kind=Writes)
    plan = found.rows[9]["plan"]
    settings = folder / "site.toml"
    settings.write_text(settings.read_text().replace('length = "2.4 m"', 'length = "3 m"'))
    assert screened(folder, out, kind=Writes)[1].rows[9]["plan"] == ""
    engine, found = screened(folder, out, plans="best 1", kind=Writes)
    assert (engine.looked_at, found.rows[9]["plan"]) == ([9], plan)


def test_two_lots_never_share_a_folder_of_plans(listed):
    """The letters of "L+1" and "L-1" that a folder's name keeps are the same; so is the number, one after the other."""
    assert listed("L+1", plans="all")[0] == ["plans/00001-L-1"]
    assert listed("L-1", "L+1", plans="all") == (["plans/00001-L-1-2", "plans/00001-L-1"], ["L-1", "L-1"])


def test_a_store_of_an_earlier_version_names_no_folders(listed, tmp_path):
    listed("B", "C", plans="all")
    store = tmp_path / "out" / NAME
    lines = [json.loads(line) for line in store.read_text().splitlines()]
    for line in lines:
        del line["plan"]
    store.write_text("".join(f"{json.dumps(line)}\n" for line in lines))
    assert listed("B", "C")[0] == ["plans/00001-B", "plans/00002-C"]
    assert listed("A", "B", "C")[0] == ["", "", ""]
    assert listed("A", "B", "C", plans="all") == (
        ["plans/00001-A", "plans/00002-B", "plans/00003-C"],
        ["A", "B", "C"],
    )


def test_a_whole_plan_that_took_too_long_has_no_link_and_is_tried_again(small_town, lots_of, tmp_path):
    class Slow(Writes):
        def __call__(self, asked, limits, tasks):
            for task in tasks:
                ended = Outcome(task.number, "", ended_row("took more than 600 s"))
                yield ended if task.folder else next(super().__call__(asked, limits, iter([task])))

    lots, out = lots_of(small_town), tmp_path / "out"
    found = screen(lots, out, engine=Slow(), limits=Limits(), plans="best 1")
    assert found.unwritten == {lots.ids[9]: "took more than 600 s"}
    assert [row["plan"] for row in found.rows] == [""] * 10
    assert found.rows[9]["status"] == "planned"
    found = screen(lots, out, engine=Writes(), limits=Limits(), plans="best 1")
    assert (found.planned, found.unwritten) == (0, {})
    assert found.rows[9]["plan"] == f"plans/00010-{lots.ids[9]}"
