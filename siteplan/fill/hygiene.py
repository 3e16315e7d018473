"""May this go where food grows: manure, compost, soil with lead in it?

The published rules as they stand, with the bounds in one place.
It leaves out the soil test itself, and what the local health office says: that comes first.

References
----------
Raw manure and compost: 7 CFR 205.203(c), US national organic standard, seen second-hand.
Lead: US EPA residential screening level of 200 ppm, directive of 16 October 2025, seen second-hand;
no vegetables above 400 ppm: University of Maryland Extension, seen; caution above 100 ppm: common practice,
no source.
"""

from __future__ import annotations

from typing import Literal

import numpy as np

Day = np.datetime64  # to the day
LeadClass = Literal["background", "caution", "above screening", "no food"]

MANURE_DAYS_TOUCHING, MANURE_DAYS_CLEAR = 120, 90
LEAD_CAUTION, LEAD_SCREENING, LEAD_NO_FOOD = 100.0, 200.0, 400.0  # ppm
HOT_FROM, HOT_TO = 55.0, 77.0  # degrees Celsius; 131 to 170 F


def earliest_harvest(tilled_in: Day, *, touches_soil: bool) -> Day:
    """Return the first day on which a crop may be picked after raw manure was worked in.

    Parameters
    ----------
    tilled_in : numpy.datetime64
        A day.
    touches_soil : bool
        Whether what is eaten touches the soil or is splashed by it: lettuce, carrots; not staked tomatoes.

    Returns
    -------
    numpy.datetime64
        A day.

    Examples
    --------
    >>> str(earliest_harvest(np.datetime64("2026-03-01"), touches_soil=True))
    '2026-06-29'
    """
    days = MANURE_DAYS_TOUCHING if touches_soil else MANURE_DAYS_CLEAR
    return tilled_in + np.timedelta64(days, "D")


def hot_composted(*, days: float, turns: int = 0, enclosed: bool = False, temperature: float = 60.0) -> bool:
    """Return whether composted manure was hot for long enough to count as compost.

    Parameters
    ----------
    days : float
        Held hot.
    turns : int
        Of a windrow in that time; at least 5 are asked for.
    enclosed : bool
        In a vessel or an aerated static pile: 3 days do; in a windrow 15.
    temperature : float
        Held, 55 to 77. [degrees Celsius]

    Examples
    --------
    >>> hot_composted(days=3, enclosed=True), hot_composted(days=15, turns=4), hot_composted(days=15, turns=5)
    (True, False, True)
    """
    if not HOT_FROM <= temperature <= HOT_TO:
        return False
    return days >= 3 if enclosed else days >= 15 and turns >= 5


def lead_class(ppm: float) -> LeadClass:
    """Return what a soil test's total lead means for a food garden.

    Parameters
    ----------
    ppm : float
        Total lead. [mg/kg]

    Returns
    -------
    str
        ``background``; ``caution`` above 100; ``above screening`` above 200: a bed over a barrier, filled with clean
        soil; ``no food`` above 400: none in that soil.

    Examples
    --------
    >>> [lead_class(ppm) for ppm in (90, 150, 250, 450)]
    ['background', 'caution', 'above screening', 'no food']
    """
    if not ppm >= 0:
        raise ValueError(f"lead is {ppm:g} ppm, must be at least 0")
    if ppm > LEAD_NO_FOOD:
        return "no food"
    if ppm > LEAD_SCREENING:
        return "above screening"
    return "caution" if ppm > LEAD_CAUTION else "background"
