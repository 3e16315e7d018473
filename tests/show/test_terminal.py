"""Are the tables of the terminal those of the plan, cell by cell, and no wider than 80 columns?"""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from siteplan.land.findings import Caution
from siteplan.land.grid import grid_over
from siteplan.land.terrain import Terrain
from siteplan.land.units import length_text, mass_text, pressure_text, water_text
from siteplan.say.directions import distance_text
from siteplan.say.fill_prices import offer_text
from siteplan.say.lighting import light_title
from siteplan.show import terminal
from siteplan.show.charts.clock import mark_of
from siteplan.show.terminal import print_plan, print_site
from siteplan.show.terminal_layout import print_table, say


@pytest.fixture
def printed(drawn_plan, capsys):
    """Return what a command prints of the plan."""

    def run(plan=drawn_plan, command="plan", written=(), further=()):
        print_plan(plan, command=command, written=written, further=further)
        return capsys.readouterr().out

    return run


def table(text, title):
    """Return the rows of a table, cell by cell; a cell that goes on in the next line is left off there."""
    lines = text[text.index(title) :].splitlines()
    rule = next(k for k, line in enumerate(lines) if "───" in line)
    rows = []
    for line in lines[rule + 1 :]:
        if not line.strip():
            return rows
        rows.append(re.split(r"\s{2,}", line.strip()))
    return rows


def test_the_sun_of_each_bed(printed, drawn_plan):
    rows = table(printed(), "Direct sun, hours a day (season 05-10 to 09-28)")
    assert len(rows) == len(drawn_plan.beds)
    for row, report in zip(rows, drawn_plan.beds, strict=True):
        sun = report.sun
        assert row == [
            report.bed.id, f"{sun.season_sun_h:.1f}", f"{sun.worst_cell_sun_h:.1f}", f"{sun.month_sun_h[4]:.1f}",
            f"{sun.month_sun_h[11]:.1f}", sun.light_class, f"{sun.sun_score:.0f}",
            f"{report.headings.orientation_score:.0f}",
        ]  # fmt: skip
    without = tuple(replace(report, headings=None) for report in drawn_plan.beds)
    assert [len(row) for row in table(printed(replace(drawn_plan, beds=without)), "Direct sun")] == [7, 7, 7]


def test_where_a_new_bed_should_go(printed, drawn_plan):
    places, text = drawn_plan.places.places, printed()
    assert table(text, "Where a new bed should go") == [
        [
            str(place.rank),
            "8 ft x 4 ft",
            f"{place.heading:.0f}°",
            f"{place.season_sun_h:.1f}",
            f"{place.worst_cell_sun_h:.1f}",
        ]
        for place in places
    ]
    assert "\nOnly 3 of the 4 beds asked for fit without overlapping.\n" in text
    assert "\n10,000 spots were compared" in text
    assert "Sun against work and water" not in text


def test_a_trade_off_is_a_table_from_two_spots_on(printed, drawn_plan):
    from tests.show.test_placing import SQUARE, Choice

    choices = tuple(
        Choice(rank=n, outline=SQUARE, x=0, y=0, heading=0, sun_h=hours, season_sun_h=hours, worst_cell_sun_h=hours,
               minutes=9.0, water_m=5.0, first=n == 1)
        for n, hours in ((1, 8.0), (0, 7.0))
    )  # fmt: skip
    for count in (1, 2):
        text = printed(replace(drawn_plan, places=replace(drawn_plan.places, trade_off=choices[:count])))
        assert ("Sun against work and water: spots that no other beats" in text) == (count == 2)
    rows = table(text, "Sun against work and water")
    assert [row[:5] for row in rows] == [["1", "8.0", "8.0", "9 min", "16 ft"], ["A", "7.0", "7.0", "9 min", "16 ft"]]
    assert "\nSpots are compared by their useful sun" in text


def test_what_to_buy(printed, drawn_plan):
    units = drawn_plan.site.units
    rows = table(printed(), "What to buy")
    assert [row[0] for row in rows] == [line.material for line in drawn_plan.fill.purchase]
    for row, line in zip(rows, drawn_plan.fill.purchase, strict=True):
        assert row[1] == f"{line.count} x {offer_text(line, units)}"
        assert row[3] == f"{line.cost:,.2f}"
    none = tuple(replace(line, kind="none", cost=None) for line in drawn_plan.fill.purchase)
    text = printed(replace(drawn_plan, fill=replace(drawn_plan.fill, purchase=none)))
    assert not any(" x " in row[1] for row in table(text, "What to buy") if len(row) > 1)


def test_weight_and_water(printed, drawn_plan):
    units = drawn_plan.site.units
    assert table(printed(), "Settled, weight and water") == [
        [bed.bed, length_text(bed.settled_depth, units), mass_text(bed.mass_wet, units),
         pressure_text(bed.ground_pressure, units), water_text(bed.moistening_water, units),
         water_text(bed.weekly_water, units)]
        for bed in drawn_plan.fill.beds
    ]  # fmt: skip
    assert [row[0] for row in table(printed(), "Top up to the brim") if row[0].isdigit()] == ["1", "2", "3"]


def test_runs_with_the_barrow(printed, drawn_plan):
    units, haul = drawn_plan.site.units, drawn_plan.haul
    far = {(route.from_id, route.to_id): distance_text(route.length_m, units) for route in haul.routes}
    assert table(printed(), "Barrow runs") == [
        [load.bed, load.material, load.from_id, far[load.from_id, load.bed], str(load.trips), f"{load.minutes:.0f}"]
        for load in haul.loads
    ]
    assert "have\ndeliveries tipped at drive-apron." in printed()
    assert "tipped at" not in printed(replace(drawn_plan, haul=replace(haul, drop=None)))[-700:]


@pytest.mark.parametrize(("command", "parts"), [
    ("plan", {"Direct sun", "Where a new bed", "What goes in", "Barrow runs"}),
    ("fill", {"Direct sun", "Where a new bed", "What goes in"}),
    ("haul", {"Direct sun", "Where a new bed", "Barrow runs"}),
    ("demo", {"Direct sun", "Where a new bed", "What goes in", "Barrow runs"}),
    ("place", {"Direct sun", "Where a new bed"}),
])  # fmt: skip
def test_each_command_prints_what_it_asks(printed, command, parts):
    every = {"Direct sun", "Where a new bed", "What goes in", "Barrow runs"}
    text = printed(command=command)
    assert {part for part in every if part in text} == parts


def test_cautions_come_last_and_those_of_every_site_by_their_topic(printed, drawn_plan):
    text = printed(written=[Path("out/map.html"), Path("out/plan.json")], further=["", "Take a look."])
    assert text.index("Mind:") > text.index("Order of work")
    assert "\n- west bed: The bed stands near the maple: dig by hand and cut no root.\n" in text
    assert "Have buried services marked" not in text
    assert "\n- As on every site, mind " in text
    assert text.endswith("\n\nTake a look.\n\nOpen the map: out/map.html\nWritten to out: map.html, plan.json\n")
    assert printed().endswith("says how.\n")
    quiet = printed(replace(drawn_plan, cautions=()))
    assert "Mind:" not in quiet


def test_the_day_of_a_bed_is_printed_for_the_sun_alone(printed, drawn_plan):
    lit = np.zeros((12, 48))
    lit[5, 16:30] = 1.0
    one = replace(drawn_plan, beds=(replace(drawn_plan.beds[0], lit=lit),))
    text = printed(one, command="sun")
    assert "north bed through the day, by the clock (America/Denver):\n" in text
    assert "\n  Jun  @@@@" in text
    assert "through the day" not in printed(one)


def test_what_was_read_of_a_site(drawn_plan, capsys):
    site = drawn_plan.site
    print_site(site)
    text = " ".join(capsys.readouterr().out.split())
    assert text.startswith(
        "Larkspur Rise is sound: 3 buildings, 2 trees, 1 hedge, 2 fences, 1 gate, 3 surfaces, 1 keepout, 2 piles, 1 tap, "
        "1 door, 3 beds. Time zone America/Denver; season 05-10 to 09-28."
    )
    grid = grid_over(site.boundary.buffer(5), 1.0)
    slope = np.broadcast_to(100 + 0.1 * grid.x, grid.shape)  # from x = -16 to 16 by 3.2 m
    bare = replace(site, buildings=(), trees=(), hedges=(), fences=(), gates=(), surfaces=(), keepouts=(), piles=(), stock=(),
                   taps=(), doors=(), beds=(), terrain=Terrain(grid=grid, elevation=np.array(slope)),
                   cautions=(Caution("odd", "maple", "It leans."), Caution("call-before-digging", "", "Ask first.")))  # fmt: skip
    print_site(replace(bare, units="metric"))
    text = capsys.readouterr().out
    assert "Larkspur Rise is sound: nothing but the boundary." in text
    assert "The ground rises 3.20 m from the lowest to the highest point of the" in text
    assert "\nMind:\n" in text
    assert "\n- maple: It leans.\n" in text
    assert "\n- Ask first.\n" in text  # a check says all of them


def test_a_share_that_rounding_takes_past_one_is_all_of_the_soil():
    assert [mark_of(share) for share in (0.05, 0.051, 0.95, 0.951, 1.0, 1.0 + 1e-9)] == [".", "-", "#", "@", "@", "@"]


def lines(capsys, *args, **options):
    print_table(*args, **options)
    return capsys.readouterr().out.splitlines()


def test_a_table_is_at_most_80_columns_wide(capsys):
    rows = [["a name of a bed that goes on and on " * 2, "1.5", "many words of what is meant by this " * 3]] * 3
    shown = lines(capsys, "Title", ["bed", "season h", "why"], rows, words={"why"})
    assert max(map(len, shown)) <= 80
    assert lines(capsys, "Title", ["bed"], []) == []


def test_numbers_stand_right_and_words_left(capsys):
    shown = lines(
        capsys, "Title", ["bed", "hours", "how"], [["a", "1.5", "2 x bag"], ["bb", "12.5", ""]], words={"how"}
    )
    assert [line.rstrip() for line in shown[-3:-1]] == [" a       1.5   2 x bag", " bb     12.5"]
    mixed = lines(capsys, "Title", ["bed", "hours"], [["a", "1.5"], ["bb", "none"]])
    assert mixed[-3].startswith(" a     1.5")  # not all are numbers


def test_no_figure_of_a_table_that_is_too_wide_is_cut(capsys):
    """Six columns of 13 letters are 78 and 3 between each two of them: more than 80; each goes on in the next line."""
    heads = ["bed", "in a year", "wet weight", "on ground", "to moisten", "a week"]
    cells = ["11 ft 2 1/2 in", "22 ft 2 1/2 in", "33 ft 2 1/2 in", "44 ft 2 1/2 in", "55 ft 2 1/2 in", "1,234,567"]
    shown = lines(capsys, "Title", heads, [cells])
    assert max(map(len, shown)) <= 80
    words = " ".join(shown[-3:]).split()
    assert sorted(words) == sorted(" ".join(cells).split())
    assert [word for head in heads for word in head.split() if word not in " ".join(shown)] == []


def test_heads_are_broken_only_where_a_table_would_be_too_wide(capsys):
    """Columns of 38 and 39 letters with 3 to each are 83; of 38 and 36 letters 80."""

    def heads(*cells):
        shown = lines(capsys, "Title", ["a bed", "in a year"], [cells])
        rule = next(k for k, line in enumerate(shown) if "───" in line)
        return [line.split() for line in shown[1:rule] if line.strip()]

    assert heads("1.5", "2.5") == heads("1" * 38, "2" * 36) == [["a", "bed", "in", "a", "year"]]
    assert heads("1" * 38, "2" * 39) == [["in"], ["a", "a"], ["bed", "year"]]


def test_cells_hold_60_letters_and_those_of_words_120(capsys):
    shown = "".join(lines(capsys, "Title", ["a", "b"], [["x" * 60, "y" * 120]], words={"b"}))
    assert (shown.count("x"), shown.count("y")) == (60, 120)
    shown = "".join(lines(capsys, "Title", ["a", "b"], [["x" * 61, "y" * 121]], words={"b"}))
    assert shown.count("x") < 61
    assert shown.count("y") < 121


def test_short_columns_are_not_broken_for_long_ones(capsys):
    shown = lines(capsys, "Title", ["light", "why"], [["full shade", "many words " * 12]], words={"why"})
    assert any("full shade" in line for line in shown)


def test_of_a_long_table_the_first_forty_rows_are_printed(capsys):
    shown = lines(capsys, "Title", ["bed"], [[f"b{n}"] for n in range(42)])
    assert shown[-1] == "2 more rows stand in the files that are written."
    assert sum(line.startswith(" b") and line.strip() != "bed" for line in shown) == 40
    assert "more rows" not in "\n".join(lines(capsys, "Title", ["bed"], [["b"]] * 40))


def test_a_paragraph_is_wrapped_at_80_columns(capsys):
    say("word " * 20, indent="  ")
    first, second = capsys.readouterr().out.splitlines()
    assert first == ("word " * 16).strip()
    assert second == "  " + ("word " * 4).strip()
    say("x" * 100, whole=True)
    assert capsys.readouterr().out == "x" * 100 + "\n"
    say("x" * 100)
    assert max(map(len, capsys.readouterr().out.splitlines())) == 80


SO_MANY, RANGE = "With so many beds, siteplan does not say how sure", "Hours in brackets are a range"


def test_of_one_bed_it_is_told_how_sure_its_sun_is_and_of_many_how_to_ask(printed, drawn_plan, monkeypatch):
    assert SO_MANY in printed()
    assert SO_MANY in printed(replace(drawn_plan, beds=drawn_plan.beds[:2]))
    assert SO_MANY not in printed(replace(drawn_plan, beds=drawn_plan.beds[:1]))
    assert SO_MANY not in printed(replace(drawn_plan, maps=None))
    monkeypatch.setattr(terminal, "hours_range", lambda *_: "5 to 7 h")
    monkeypatch.setattr(terminal, "bed_doubts", lambda *_: ["measure the maple", "and the house"])
    known = replace(drawn_plan.beds[0], doubt=object())
    text = printed(replace(drawn_plan, beds=(known, *drawn_plan.beds[1:])))
    assert text.count(RANGE) == 1
    assert "\nnorth bed: 5 to 7 h; measure the maple; and the house.\n" in text
    assert "west bed: 5 to 7 h" not in text
    assert SO_MANY not in text


def test_ranges_are_explained_once(printed, drawn_plan, monkeypatch):
    assert RANGE not in printed()
    monkeypatch.setattr(terminal, "hours_range", lambda *_: "5 to 7 h")
    monkeypatch.setattr(terminal, "bed_doubts", lambda *_: ["measure the maple"])
    monkeypatch.setattr(terminal, "place_doubts", lambda _: ("the first place is the best for sure",))
    known = (replace(drawn_plan.beds[0], doubt=object()), *drawn_plan.beds[1:])
    for beds in ((), drawn_plan.beds, known):
        text = printed(replace(drawn_plan, beds=beds))
        assert text.count(RANGE) == 1
        assert "\nThe first place is the best for sure.\n" in text


def test_crops_are_told_where_they_differ_from_the_place_before(printed, drawn_plan, monkeypatch):
    monkeypatch.setattr(terminal, "crop_sentences", lambda crops, _: [f"grow {' and '.join(crops)} here"])
    monkeypatch.setattr(terminal, "tier_crops", lambda *_: ())
    one, two, three = drawn_plan.places.places
    for crops, said in (
        ((("kale",), ("kale",), ("rue",)), ["kale", "rue"]),
        (((), ("kale",), ("kale",)), ["kale"]),
        ((("kale",), ("rue",), ("kale",)), ["kale", "rue", "kale"]),
    ):
        places = tuple(replace(place, crops=own) for place, own in zip((one, two, three), crops, strict=True))
        text = printed(replace(drawn_plan, places=replace(drawn_plan.places, places=places)))
        assert re.findall(r"\n  grow (\w+) here\.", text) == said


def test_light_is_printed_where_it_was_computed(printed, drawn_plan):
    title = light_title(drawn_plan)
    assert title in printed()
    dark = tuple(replace(report, light=None) for report in drawn_plan.beds)
    assert title not in printed(replace(drawn_plan, beds=dark))


def test_the_hose_has_its_column_where_its_flow_is_known(printed, drawn_plan):
    site = drawn_plan.site
    flowing = replace(site, water=replace(site.water, flow=1.0))
    fill = replace(drawn_plan.fill, beds=tuple(replace(bed, weekly_hose=0.5) for bed in drawn_plan.fill.beds))
    text = printed(replace(drawn_plan, site=flowing, fill=fill))
    settled = text[text.index("Settled, weight") : text.index("Top up to the brim")]
    assert settled.count("30 min") == len(fill.beds)
    assert " hose" in text
    assert " hose" not in printed()


def test_a_command_to_copy_is_not_broken(printed):
    command = "siteplan-with-a-long-name/" * 5
    assert f"\n  {command}\n" in printed(further=("", f"Run {command} now."))


def test_a_choice_is_told_in_full(printed, drawn_plan, monkeypatch):
    long = "a sentence of more than sixty letters is printed up to its very end, here"
    monkeypatch.setattr(terminal, "trade_rows", lambda *_: [["1", "8.0", "8.0", "9 min", "16 ft", long]])
    places = replace(drawn_plan.places, trade_off=drawn_plan.places.places[:2])
    monkeypatch.setattr(terminal, "counting_sentence", lambda _: "so it is counted")
    text = printed(replace(drawn_plan, places=places))
    assert "here" in text[text.index("Sun against work") :]
