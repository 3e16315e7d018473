"""Is a value possible, but not usual?

What is usual stands in the field's marker; where another unit would make it usual, that is asked.
It leaves out what is not possible: that is a fault.
"""

from __future__ import annotations

from siteplan.files.remarks import Remarks
from siteplan.land.units import MEASURES, is_plain, si_value
from siteplan.land.values import Quantity


def unusual_text(value: object, number: float, rule: Quantity, remarks: Remarks) -> str:
    """Return what a value is and what is usual, as a sentence goes on behind "height is"; empty where it is usual.

    Parameters
    ----------
    value, number : object, float
        As the file has it, and in the kernels' unit.
    rule : Quantity
    remarks : Remarks
        For the unit of the drawing, and the units in which people are told.
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
