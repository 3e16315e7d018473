"""What does the terminal say about many lots?

The best ones, how many have no place or a fault, and where the files are. It leaves out all others: they are in the
files.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from siteplan.land.alike import first_of_each_kind, gist
from siteplan.say.figures import money_text, plural
from siteplan.show.terminal_layout import print_table, say

BEST = 10  # lots that are printed

Row = Mapping[str, Any]


def print_lots(rows: Sequence[Row], *, planned: int, out: Path, names: Sequence[str]) -> None:
    """Print the best lots, those without figures, and where the files are."""
    ranked = sorted(
        (row for row in rows if row["status"] == "planned"),
        key=lambda row: (-(row.get("place_merit") or 0.0), -(row.get("ground_6h_m2") or 0.0)),
    )
    heads = ["lot", "sun h", "darkest h", "6 h m2", "8 h m2", "beds", "cost", "work h"]
    print_table("The best lots", heads, [_line(row) for row in ranked[:BEST]])
    counts = Counter(row["status"] for row in rows)
    by_status = [f"{count:,} {status}" for status, count in counts.items()]
    say(f"{plural(len(rows), 'lot')}: {', '.join(by_status)}. {planned:,} were worked out in this run.")
    lots_without = [row for row in rows if row["status"] not in {"planned", "no place"}]
    for line in first_of_each_kind(lots_without, lambda row: gist(str(row["why"])), _others, most=3):
        say(f"{line['lot']}: {line['why']}", indent="  ")
    say(f"Open the map: {out / 'screen.html'}", whole=True)
    say(f"Written to {out}: {', '.join(names)}", whole=True)


def _others(row: Row, count: int) -> Row:
    return {"lot": f"{count} more", "why": row["why"]}


def _line(row: Row) -> list[str]:
    def figure(name: str, digits: int) -> str:
        value = row.get(name)
        return "" if value is None else f"{value:,.{digits}f}"

    cost = row.get("cost")
    return [
        str(row["lot"]), figure("place_season_sun_h", 1), figure("place_worst_cell_sun_h", 1),
        figure("ground_6h_m2", 0), figure("ground_8h_m2", 0), figure("beds_fit", 0),
        "" if cost is None else money_text(cost, str(row.get("currency") or "")), figure("work_h", 1),
    ]  # fmt: skip
