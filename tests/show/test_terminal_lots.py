"""Many lots on the terminal: the best ones in order, and what is wrong with the others."""

from __future__ import annotations

from pathlib import Path

from siteplan.show.terminal_lots import print_lots
from tests.screen.engines import planned_row


def said(capsys, rows, **more):
    print_lots(rows, **({"planned": 2, "out": Path("out"), "names": ("screen.csv", "screen.html")} | more))
    return capsys.readouterr().out.splitlines()


def table(lines):
    """Return the cells of the rows: what stands under the line across, up to the paragraphs."""
    at = next(n for n, line in enumerate(lines) if "──" in line)
    end = next(n for n, line in enumerate(lines) if " lots: " in line)
    return [line.split() for line in lines[at + 1 : end - 1]]


def test_the_best_lots_come_first_ten_of_them(capsys):
    rows = [planned_row(f"lot-{n:02d}", place_merit=n / 100, ground_6h_m2=1.0) for n in range(1, 13)]
    rows += [planned_row("even", place_merit=0.12, ground_6h_m2=2.0), planned_row("unknown")]
    lines = said(capsys, rows)
    assert [cells[0] for cells in table(lines)] == ["even", *(f"lot-{n:02d}" for n in range(12, 3, -1))]
    assert "14 lots: 14 planned. 2 were worked out in this run." in lines
    assert table(said(capsys, [planned_row("unknown"), planned_row("known", place_merit=0.1)])) == [
        ["known"],
        ["unknown"],
    ]


def test_a_row_has_its_figures_or_nothing(capsys):
    row = planned_row(
        "a", place_season_sun_h=7.24, place_worst_cell_sun_h=5.26, ground_6h_m2=1234.4, ground_8h_m2=0.6, beds_fit=3,
        cost=1234.5, currency="EUR", work_h=2.25,
    )  # fmt: skip
    assert table(said(capsys, [row, planned_row("b", cost=0.0)])) == [
        ["a", "7.2", "5.3", "1,234", "1", "3", "€1,234.50", "2.2"], ["b", "0.00"],
    ]  # fmt: skip


def test_each_status_is_counted_and_of_a_kind_of_fault_three_are_told(capsys):
    rows = [planned_row("good"), {"lot": "full", "status": "no place", "why": "nothing fits"}]
    rows += [
        {"lot": f"f{n}", "status": "fault", "why": f'features: tree "{n}": height is -{n} m'} for n in range(1, 7)
    ]
    rows += [{"lot": "slow", "status": "ended", "why": "took more than 600 s"}]
    lines = said(capsys, rows, planned=1234)
    at = next(n for n, line in enumerate(lines) if line.startswith("9 lots"))
    assert " ".join(lines[at:]).startswith(
        "9 lots: 1 planned, 1 no place, 6 fault, 1 ended. 1,234 were worked out in this run. f1: "
    )
    told = [line for line in lines[at + 1 :] if ": " in line]
    assert [line.split(":")[0] for line in told[:4]] == ["f1", "f2", "f3", "3 more"]
    assert told[4:] == [
        "slow: took more than 600 s", f"Open the map: {Path('out') / 'screen.html'}", "Written to out: screen.csv, screen.html",
    ]  # fmt: skip


def test_without_a_best_lot_there_is_no_table(capsys):
    assert said(capsys, [{"lot": "full", "status": "no place", "why": "nothing fits"}])[0] == (
        "1 lot: 1 no place. 2 were worked out in this run."
    )


def test_of_lots_as_good_one_with_little_ground_comes_before_one_of_which_it_is_not_known(capsys):
    rows = [planned_row("unknown", place_merit=0.5), planned_row("little", place_merit=0.5, ground_6h_m2=0.5)]
    assert table(said(capsys, rows))[0][0] == "little"


def test_paths_are_not_broken(capsys):
    """So that they can be copied, also beyond 80 columns."""
    out = Path("a-folder-with-a-rather-long-name") / "another-one-that-is-as-long" / "and-the-last-one-of-them"
    text = "\n".join(said(capsys, [planned_row("a")] * 2, out=out))
    assert str(out / "screen.html") in text
    assert f"{out}:" in text
