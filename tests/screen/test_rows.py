"""What a lot's row says of its answers, in what order lots come, and what the terminal and the page make of rows.

By hand: the answers are made up, as far as a row reads them.
"""

from __future__ import annotations

import argparse
import json
import math
import re
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
import shapely
from shapely import box

from siteplan.land.errors import Fault, InputError
from siteplan.land.features import Bed
from siteplan.land.grid import Grid
from siteplan.place.limits.limits import aisle_of
from siteplan.screen import answering, command, planner
from siteplan.screen.answering import LotAnswers, site_with_bed
from siteplan.screen.child import _Work
from siteplan.screen.planner import Limits
from siteplan.screen.request import ScreenRequest, lots_of_folders
from siteplan.screen.rows import faulty_row, planned_row
from siteplan.screen.run import _chosen, folder_name, merit
from siteplan.screen.sites import LotSites
from siteplan.show.lots_page import lots_page
from siteplan.show.terminal_lots import print_lots
from tests.place.conftest import bare_yard

HOURS = np.array([[5.9, 6.0, 7.9], [8.0, 9.2, np.nan]])


def search(**parts):
    maps = SimpleNamespace(season_h=HOURS, grid=Grid(0, 1, 0.5, 2, 3))
    return SimpleNamespace(**{"maps": maps, "places": None, "cautions": ()} | parts)


def place(**parts):
    own = {
        "outline": box(2, 2, 4, 3), "length": 2.0, "width": 1.0, "heading": 90.0, "season_sun_h": 7.25,
        "worst_cell_sun_h": 6.5, "month_sun_h": np.arange(12.0), "merit": 0.81,
    }  # fmt: skip
    return SimpleNamespace(**own | parts)


def places(*found, limits=()):
    return SimpleNamespace(places=found, limits=limits)


def row(site=None, work=None, **parts):
    return planned_row(site or bare_yard(), LotAnswers(search(**parts), work))


def test_how_much_ground_has_how_much_sun():
    """Of five cells of 0.25 m2 four have six hours, exactly six counted, and two have eight."""
    got = row()
    assert got["lot_m2"] == 80.0
    assert got["mean_season_sun_h"] == pytest.approx((5.9 + 6 + 7.9 + 8 + 9.2) / 5)
    assert (got["ground_6h_m2"], got["ground_8h_m2"]) == (1.0, 0.5)
    assert (got["status"], got["why"], got["beds_drawn"], got["cautions"]) == ("planned", "", 0, 0)
    assert "place_merit" not in got
    assert "cost" not in got
    assert "mean_season_sun_h" not in row(maps=None)
    dark = SimpleNamespace(season_h=np.full((2, 2), np.nan), grid=Grid(0, 1, 0.5, 2, 2))
    assert row(maps=dark)["mean_season_sun_h"] is None


def test_the_outline_is_that_of_the_lot_on_earth():
    site = bare_yard()
    outline = shapely.from_wkb(row(site)["outline"])
    # 10 m at 45 N are 10 / (111.32 km * cos 45) degrees
    assert outline.bounds[2] - outline.bounds[0] == pytest.approx(
        10 / (111_320 * math.cos(math.radians(45))), rel=0.01
    )
    assert outline.bounds[:2] == pytest.approx((8.0, 45.0))


def test_the_best_place():
    site = bare_yard()
    got = row(site, places=places(place(), place(merit=0.5)))
    assert (got["place_season_sun_h"], got["place_worst_cell_sun_h"], got["place_merit"]) == (7.25, 6.5, 0.81)
    assert (got["place_jan_sun_h"], got["place_dec_sun_h"]) == (0.0, 11.0)
    assert got["place_heading_deg"] == 90.0
    middle = site.frame.to_local(shapely.Point(got["place_lon_deg"], got["place_lat_deg"]))
    assert (middle.x, middle.y) == pytest.approx((3.0, 2.5), abs=1e-6)
    assert site.frame.to_local(shapely.from_wkb(got["place"])).symmetric_difference(box(2, 2, 4, 3)).area < 1e-6
    assert "place_jan_sun_h" not in row(site, places=places(place(month_sun_h=None)))


def test_how_many_beds_fit_on_what_nothing_bars():
    """Of 10 m by 8 m, in rows 1 m wide with aisles between; a limit over the eastern half leaves half of each row."""
    site = bare_yard()
    aisle = aisle_of(site.place)
    in_a_row, in_half, rows = (math.floor((room + aisle) / (2 + aisle)) for room in (10, 5, 0))
    rows = math.floor((8 + aisle) / (1 + aisle))
    assert row(site, places=places(place()))["beds_fit"] == in_a_row * rows
    barred = SimpleNamespace(ground=box(5, 0, 10, 8))
    assert row(site, places=places(place(), limits=(barred,)))["beds_fit"] == in_half * rows
    whole = SimpleNamespace(ground=box(-1, -1, 11, 9))
    assert row(site, places=places(place(), place(), limits=(whole,)))["beds_fit"] == 2  # as many as were found


def test_what_the_beds_cost_and_how_long_they_take():
    def work(fill=None, walls=None, minutes=90.0):
        price = lambda value: None if value is None else SimpleNamespace(price=value)  # noqa: E731
        return SimpleNamespace(
            fill=price(fill), walls=price(walls), cautions=(SimpleNamespace(text="Mind."), SimpleNamespace(text="Look.")),
            haul=None if minutes is None else SimpleNamespace(total_minutes=minutes, trips=7),
        )  # fmt: skip

    got = row(work=work(100.5, 20.25))
    assert (got["cost"], got["currency"], got["work_h"], got["trips"]) == (120.75, "USD", 1.5, 7)
    assert (got["cautions"], got["caution_words"]) == (2, "Mind. Look.")
    assert row(work=work(100.5))["cost"] == 100.5
    assert row(work=work())["cost"] is None
    assert "trips" not in row(work=work(minutes=None))
    assert row(work=work(minutes=math.nan))["work_h"] is None  # JSON has no such number


def test_faults_are_said_one_after_the_other():
    got = faulty_row((Fault("a.toml", "x", "is wrong"), Fault("", "", "is bad")))
    assert got["status"] == "fault"
    assert got["why"].startswith("a.toml: x: is wrong; ")


def test_a_lot_without_beds_gets_one_at_its_best_place():
    own = Bed(id="own", outline=box(0, 0, 2, 1), height=0.3)
    found = SimpleNamespace(places=(place(),), bed_at=lambda one: own.on(one.outline))
    bare = bare_yard()
    (bed,) = site_with_bed(bare, SimpleNamespace(places=found)).beds
    assert (bed.id, bed.proposed) == ("bed-1", True)
    assert bed.outline.equals(box(2, 2, 4, 3))
    drawn = bare_yard(beds=(own,))
    assert site_with_bed(drawn, SimpleNamespace(places=found)) is drawn
    for places_found in (None, SimpleNamespace(places=())):
        assert site_with_bed(bare, SimpleNamespace(places=places_found)) is bare


LOTS = (
    {"status": "planned", "place_merit": 0.5, "ground_6h_m2": 10.0},
    {"status": "fault", "why": "x"},
    {"status": "planned", "place_merit": 0.9, "ground_6h_m2": 1.0},
    {"status": "planned", "place_merit": 0.5, "ground_6h_m2": 30.0},
    {"status": "planned", "ground_6h_m2": 99.0},
    {"status": "no place", "why": "y"},
    {"status": "planned", "place_merit": 0.5, "ground_6h_m2": 30.0},
)


def test_the_best_lots_by_merit_then_by_ground_then_in_order():
    ids = tuple("abcdefg")
    lots = SimpleNamespace(ids=ids)
    store = SimpleNamespace(known={name: SimpleNamespace(row=one) for name, one in zip(ids, LOTS, strict=True)})
    assert _chosen("none", lots, store) == []
    assert _chosen("all", lots, store) == [0, 2, 3, 4, 6]
    assert _chosen("best 4", lots, store) == [2, 3, 6, 0]
    assert merit(LOTS[0]) == (-0.5, -10.0)
    assert merit(LOTS[4]) == (0.0, -99.0)


def test_the_folder_of_a_lot_has_its_number():
    assert folder_name(0, "") == "00001"
    assert folder_name(99, "x" * 50) == "00100-" + "x" * 40


def said(rows, capsys, **more):
    print_lots(rows, planned=3, out=Path("out"), names=("screen.csv", "screen.html"), **more)
    return capsys.readouterr().out


def test_the_terminal_tells_the_best_ten_and_the_first_faults(capsys):
    many = [
        {"lot": f"lot-{n:02d}", "status": "planned", "place_merit": n / 100, "ground_6h_m2": 1234.4, "beds_fit": n,
         "place_season_sun_h": 6.26, "cost": 50.0, "currency": "EUR", "work_h": 2.25}
        for n in range(12)
    ]  # fmt: skip
    faults = [{"lot": f"bad-{n}", "status": "fault", "why": f"boundary: crosses itself at {n} m"} for n in range(5)]
    text = said([*many, *faults, {"lot": "none", "status": "no place", "why": "all taken"}], capsys)
    names = re.findall(r"lot-\d\d", text)
    assert names == [f"lot-{n:02d}" for n in range(11, 1, -1)]
    assert "1,234" in text
    assert "6.3" in text
    assert "18 lots: 12 planned, 5 fault, 1 no place. 3 were worked out in this run." in text
    assert text.count("crosses itself") < 5
    assert "bad-0: boundary: crosses itself at 0 m" in text
    assert "all taken" not in text
    assert "Written to out: screen.csv, screen.html" in text


def test_the_page_says_how_many_and_lists_the_first_faults():
    rows = [{"lot": "a", "status": "planned", "why": "", "plan": "plans/1", "place_season_sun_h": 1.23456789}]
    rows += [{"lot": f"b{n}", "status": "fault", "why": f"w{n}", "plan": ""} for n in range(203)]
    page = lots_page(rows, ask=("sun",))
    assert "204 lots" in page
    assert "w199" in page
    assert "fault: w200" not in page.split("siteplan-data")[0]
    assert "3 more stand in screen.csv" in page
    assert "Cost and work are those" not in page
    assert "Cost and work are those" in lots_page(rows, ask=("sun", "fill"))
    assert "more stand in screen.csv" not in lots_page(rows[:201], ask=("sun",))
    data = json.loads(re.search(r'id="siteplan-data">(.*?)</script>', page, re.DOTALL)[1])
    keys = {one["key"]: (one["digits"], one["low"]) for one in data["measures"]}
    assert keys == {
        "ground_6h_m2": (0, False), "ground_8h_m2": (0, False), "mean_season_sun_h": (1, False),
        "lot_m2": (0, False), "cautions": (0, True),
    }  # fmt: skip
    assert data["words"][:2] == ["", "fault: w0"]
    assert data["plans"][:2] == ["plans/1", ""]
    assert data["shapes"] == [None] * 204
    whole = lots_page(rows, ask=("sun", "place", "fill", "haul"))
    data = json.loads(re.search(r'id="siteplan-data">(.*?)</script>', whole, re.DOTALL)[1])
    assert data["values"]["place_season_sun_h"][:2] == [1.2346, None]
    assert {one["key"]: (one["digits"], one["low"]) for one in data["measures"]} == keys | {
        "place_season_sun_h": (1, False), "place_worst_cell_sun_h": (1, False), "beds_fit": (0, False),
        "cost": (0, True), "work_h": (1, True),
    }  # fmt: skip


def test_lots_lie_around_the_middle_of_all_with_their_holes():
    step = 1e-3
    yard = box(8, 47, 8 + step, 47 + step).difference(box(8 + 0.4 * step, 47.0004, 8 + 0.6 * step, 47.0006))
    rows = [
        {"lot": name, "status": "planned", "why": "", "outline": shape.wkb_hex}
        for name, shape in (("a", yard), ("b", box(8 + 3 * step, 47, 8 + 4 * step, 47 + step)))
    ]
    page = lots_page(rows, ask=("sun",))
    data = json.loads(re.search(r'id="siteplan-data">(.*?)</script>', page, re.DOTALL)[1])
    (first,), (second,) = data["shapes"]
    assert [len(first), len(second)] == [2, 1]
    corners = np.array([*first[0], *second[0]])
    assert corners.min(axis=0) == pytest.approx(-corners.max(axis=0), abs=0.2)
    east, north = 111_320 * math.cos(math.radians(47.0005)), 111_180  # metres in a degree there
    assert np.ptp(corners, axis=0) == pytest.approx([4 * step * east, step * north], rel=0.005)
    assert np.array_equal(corners, corners.round(1))


def limits(**words):
    given = {"lot_time": "10 min", "lot_memory": "4 GB", "processes": 2, "scheduler": None} | words
    faults: list[Fault] = []
    return command._limits(argparse.Namespace(**given), faults), [one.where for one in faults]


def test_limits_in_peoples_units(monkeypatch):
    monkeypatch.setattr(command, "core_count", lambda: 8)
    assert limits() == (Limits(600.0, 4e9, 4), [])
    assert limits(lot_time="1.5 h", lot_memory="512 MiB", processes=16) == (Limits(5400.0, 512 * 2**20, 1), [])
    assert limits(lot_time="90s", lot_memory="2 gib", scheduler="tcp://x:1") == (Limits(90.0, 2 * 2**30, 1), [])
    assert limits(lot_memory="300 mb")[0].memory == 3e8
    assert limits(processes=256)[1] == limits(processes=1)[1] == []
    for words, wrong in (
        ({"processes": 0}, "--processes"), ({"processes": 257}, "--processes"), ({"lot_time": "0 s"}, "--lot-time"),
        ({"lot_time": "10"}, "--lot-time"), ({"lot_memory": "1e16 GB"}, "--lot-memory"), ({"lot_memory": "x"}, "--lot-memory"),
    ):  # fmt: skip
        assert limits(**words)[1] == [wrong]


@pytest.mark.parametrize(("words", "sound"), [
    ("none", True), ("all", True), ("best 1", True), ("best  20", True), ("best 0", False), ("best", False),
    ("best -1", False), ("best 1 2", False), ("worst 3", False), ("best ٣", False),
])  # fmt: skip
def test_which_plans_can_be_asked_for(words, sound):
    faults: list[Fault] = []
    command._plans(words, faults)
    assert (faults == []) == sound


def test_questions_come_in_their_own_order():
    faults: list[Fault] = []
    assert command._ask("haul, sun,,", faults) == ("sun", "haul")
    assert not faults
    command._ask(" , ", faults)
    assert [one.where for one in faults] == ["--ask"]


def test_a_list_may_have_comments_and_all_of_its_faults_come_at_once(tmp_path):
    (tmp_path / "site").mkdir()
    (tmp_path / "good.txt").write_text("# ours\n\n  site  \n")
    assert command._listed(tmp_path / "good.txt") == [tmp_path / "site"]
    (tmp_path / "bad.txt").write_text("gone\nsite\nsite\nsite\n")
    with pytest.raises(InputError) as caught:
        command._listed(tmp_path / "bad.txt")
    assert [(one.where, one.text.split(";")[0]) for one in caught.value.faults] == [
        ("gone", "there is no such folder"), ("site", "is listed more than once"),
    ]  # fmt: skip


def answered(task, *, row=None):
    """Return what a process says of a task, with a made-up lot and its row."""
    work = object.__new__(_Work)
    work.sites = SimpleNamespace(lot=lambda number: SimpleNamespace(number=number, key="k"))
    work._row = row or (lambda one: {"status": "planned", "lot": one.number})
    work._folder = lambda _, folder: {"written": folder}
    return work.answer(task)


def test_a_process_answers_each_lot_and_dies_of_none():
    assert answered({"lot": 3}) == {"lot": 3, "key": "k", "row": {"status": "planned", "lot": 3}}
    assert answered({"lot": 3, "known": "k"}) == {"lot": 3, "key": "k", "same": True}
    assert answered({"lot": 3, "known": "other", "folder": ""})["row"]["status"] == "planned"
    assert answered({"lot": 3, "folder": "there"}) == {"lot": 3, "key": "k", "row": {"written": "there"}}

    def fails(_):
        raise ValueError("odd")

    got = answered({"lot": 3}, row=fails)
    assert got["row"]["status"] == "ended"
    assert re.search(r"an error of siteplan itself: ValueError: odd \(test_rows\.py, line \d+\)", got["row"]["why"])


def test_a_process_is_ended_beyond_its_time_or_its_memory(monkeypatch):
    one = planner.Planner(None, Limits(seconds=2.0, memory=1e9))
    process = SimpleNamespace(pid=1)
    monkeypatch.setattr(planner, "memory_of", lambda _: 1e9)
    assert one._beyond(process, 2.0) == ""
    assert one._beyond(process, 2.1) == "took more than 2 s and was ended; say --lot-time to allow more"
    monkeypatch.setattr(planner, "memory_of", lambda _: 1.1e9)
    assert one._beyond(process, 1.0) == "took more than 1 GB of memory and was ended; say --lot-memory to allow more"


def test_how_much_memory_a_process_holds():
    """As the system says it in kilobytes of VmRSS."""
    import os

    status = Path("/proc/self/status")
    if not status.exists():
        pytest.skip("the system does not say")
    held = int(re.search(r"VmRSS:\s+(\d+) kB", status.read_text())[1]) * 1024
    assert planner.memory_of(os.getpid()) == pytest.approx(held, rel=0.05)
    assert planner.memory_of(2**31) == 0.0


def planned_by(*answers):
    """Return what a process says of a lot whose process answers so, one after the other, and how often it was started."""
    one, left, started = planner.Planner(None, Limits()), list(answers), []
    one._start = lambda: started.append(1)
    one._ask = lambda _: left.pop(0)
    return one.plan(planner.Task(7)), len(started)


def test_a_lot_whose_process_dies_is_tried_once_more():
    sound = planner.Outcome(7, "k", {"status": "planned"})
    assert planned_by(sound) == (sound, 1)
    assert planned_by("", sound) == (sound, 2)
    outcome, started = planned_by("", "")
    assert (outcome.number, outcome.key, started) == (7, "", 2)
    assert outcome.row == {"status": "ended", "why": "its process died 2 times, as one does that gets no memory"}
    outcome, started = planned_by("took too long")
    assert (outcome.row, started) == ({"status": "ended", "why": "took too long"}, 1)


def folders(tmp_path, *names):
    for name in names:
        (tmp_path / name).mkdir(parents=True)
        (tmp_path / name / "site.toml").write_text(f'name = "{name}"\n')
        (tmp_path / name / "features.geojson").write_text("{}")
    return [tmp_path / name for name in names]


def test_lots_that_are_folders(tmp_path):
    some = folders(tmp_path, "north", "south")
    lots = lots_of_folders(some, ("sun", "place"))
    assert lots.ids == ("north", "south")
    assert lots.request.folders == tuple(str(one.resolve()) for one in some)
    assert lots.request.ask == ("sun", "place")
    assert ScreenRequest.of_text(lots.request.text()) == lots.request
    assert len(set(lots.stamps)) == 2
    alike = folders(tmp_path, "a/yard", "b/yard")
    assert lots_of_folders(alike, ("sun",)).ids == tuple(one.as_posix() for one in alike)


def test_a_lot_is_another_once_a_file_or_a_question_of_it_changes(tmp_path):
    (yard,) = folders(tmp_path, "yard")
    before = lots_of_folders([yard], ("sun",)).stamps
    assert lots_of_folders([yard], ("sun",)).stamps == before
    assert lots_of_folders([yard], ("sun", "place")).stamps != before
    (yard / "notes.txt").write_text("nothing that is read")
    assert lots_of_folders([yard], ("sun",)).stamps == before
    for name in ("features.geojson", "site.toml"):
        (yard / name).write_text((yard / name).read_text() + "\n")
        assert lots_of_folders([yard], ("sun",)).stamps != before
        before = lots_of_folders([yard], ("sun",)).stamps


@pytest.mark.parametrize(("ask", "asked"), [
    (("sun", "place", "fill", "haul"), [("place", "sun"), ("fill", "haul")]), (("sun",), [("sun",)]),
    (("place", "haul"), [("place",), ("haul",)]),
])  # fmt: skip
def test_a_lot_is_asked_for_its_place_and_then_for_its_bed(monkeypatch, ask, asked):
    seen = []

    def hours(site, questions):
        seen.append((tuple(sorted(questions)), len(site.beds)))
        return SimpleNamespace(places=SimpleNamespace(places=(place(),), bed_at=lambda one: own.on(one.outline)))

    own = Bed(id="own", outline=box(0, 0, 2, 1), height=0.3)
    monkeypatch.setattr(answering, "_hours", hours)
    found = answering.lot_answers(bare_yard(), ask)
    assert [questions for questions, _ in seen] == asked
    assert [beds for _, beds in seen] == [0, 1][: len(asked)]
    assert (found.work is None) == (len(asked) == 1)


def test_nothing_that_fits_has_no_work(monkeypatch):
    monkeypatch.setattr(answering, "_hours", lambda *_: SimpleNamespace(places=None))
    assert answering.lot_answers(bare_yard(), ("place", "fill")).work is None


def test_a_lot_of_a_town_is_read_without_what_has_a_fault(small_town, lots_of):
    """One house of the town has no height: each lot near it is sound without it, and says so."""
    lots = lots_of(small_town)
    sites = LotSites(lots.request)
    read = [sites.site(sites.lot(number)) for number in (0, 5, 1)]
    for site, faults in read[:2]:
        assert faults == ()
        assert any(
            "height is missing" in one.text and one.text.startswith("Left out, with its shade:")
            for one in site.cautions
        )
    assert [site.name for site, _ in read[:2]] == [lots.ids[0], lots.ids[5]]
    site, faults = read[2]
    assert site is None
    assert "crosses itself" in faults[0].text
    again, _ = sites.site(sites.lot(0))  # what is known to be faulty is left out from the first
    assert [one.text for one in again.cautions] == [one.text for one in read[0][0].cautions]
    assert len(again.buildings) == len(read[0][0].buildings)
