"""Which crops are known, and what do they want?

The table data/crops.csv, each row with its source; the columns are the fields of the record.
It leaves out which of them suit a bed.
"""

from __future__ import annotations

import csv
from functools import cache
from typing import Any

from siteplan.files.tables import data_folder
from siteplan.land.crops import Crop

_TEXTS = ("name", "season", "source")


@cache
def read_crops() -> tuple[Crop, ...]:
    """Return the crops in the table's order.

    Examples
    --------
    >>> [crop.name for crop in read_crops()][:3]
    ['tomato', 'pepper', 'cucumber']
    """
    found = []
    with (data_folder() / "crops.csv").open(encoding="utf-8", newline="") as table:
        for row in csv.DictReader(table):
            fields: dict[str, Any] = {key: value if key in _TEXTS else float(value) for key, value in row.items()}
            found.append(Crop(**fields))
    return tuple(found)
