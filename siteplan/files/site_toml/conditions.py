"""How are the beds watered, and what is in the soil?

[water] and [soil] of site.toml.
It leaves out what follows from them: the plan of the fill says that.
"""

from __future__ import annotations

import re

from siteplan.files.remarks import shown
from siteplan.files.site_toml.keys import Keys, Quantity
from siteplan.land.site import SoilSettings, WaterSettings

MOST_LEAD = 100_000.0  # mg/kg; a tenth of the soil
_WATER = {
    "flow": Quantity("rate", 0, 6, above=True),
    "weekly": Quantity("length", 0, 0.2, above=True),
    "efficiency": Quantity("fraction", 0, 1, above=True),
}
_LEAD = re.compile(r"\s*(\d+(?:\.\d*)?|\.\d+)\s*(?:ppm|mg\s*/\s*kg)\s*")


def read_water(keys: Keys) -> WaterSettings:
    """Return how the beds are watered.

    Parameters
    ----------
    keys : Keys
        Of the table [water].
    """
    given = keys.quantities(_WATER)
    keys.no_others()
    return WaterSettings(**given)


def read_soil(keys: Keys) -> SoilSettings:
    """Return what is known of the ground.

    Parameters
    ----------
    keys : Keys
        Of the table [soil].

    Examples
    --------
    >>> from siteplan.files.remarks import Remarks
    >>> def soil(**values):
    ...     return read_soil(Keys(values, Remarks(), file="site.toml", where="[soil]"))
    >>> soil(lead=150).lead, soil(lead="250 mg/kg").lead, soil(manure_on="2026-03-01").manure_on
    (150.0, 250.0, datetime.date(2026, 3, 1))
    """
    lead = _lead(keys)
    manure_on = keys.date("manure_on")
    keys.no_others()
    return SoilSettings(lead=lead, manure_on=manure_on)


def _lead(keys: Keys) -> float | None:
    if not keys.has("lead"):
        return None
    value = keys.values["lead"]
    match = _LEAD.fullmatch(value) if isinstance(value, str) else None
    number = float(match[1]) if match else value
    if isinstance(number, (int, float)) and not isinstance(number, bool) and 0 <= number <= MOST_LEAD:
        return float(number)
    keys.fault(
        f"lead is {shown(value)}, must be the total lead of a soil test in ppm (mg/kg), such as 150, "
        f"from 0 to {MOST_LEAD:g}",
    )
    return None
