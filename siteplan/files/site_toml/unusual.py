"""Is a value possible but unusual?

The field's marker has the usual range. If the value would be usual in another unit, the caution asks whether that is
meant. An impossible value is a fault (`keys.py`).
"""

from __future__ import annotations

from siteplan.files.remarks import Remarks
from siteplan.land.units import MEASURES, is_plain, si_value
from siteplan.land.values import Quantity


def unusual_text(value: object, number: float, rule: Quantity, remarks: Remarks) -> str:
    """Return the value and the usual range, to follow "height is" in a sentence; empty if the value is usual.

    Parameters
    ----------
    value, number : object, float
        As in the file, and in the kernels' unit.
    rule : Quantity
    remarks : Remarks
        With the unit of the drawing, and the units of messages.
    """
    usual = rule.unusual(number, remarks.system)
    if not usual:
        return ""
    if not is_plain(value):
        return f"{value}. Usual is {usual}."
    if rule.dimension != "length":
        return f"{value}; {MEASURES[rule.dimension].plain_means}. Usual is {usual}."
    others = ("ft", "in", "cm", "mm", "m") if remarks.system == "imperial" else ("cm", "mm", "m", "ft", "in")
    fits = [f'"{value} {other}"' for other in others if rule.is_usual(si_value(f"{value} {other}", "length"))]
    meant = f" Is {' or '.join(fits[:2])} meant?" if fits else ""
    return f"{value} {remarks.unit.sign}. Usual is {usual}.{meant}"
