"""For which groups of crops is the light enough?

The daily light integral is compared with what greenhouse growers aim at, for each group of crops. Temperature, season
and variety are not considered: it is a rough guide.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal

from siteplan.land.document import Named, Unit

Verdict = Literal["plenty", "enough", "too little"]


@dataclass(frozen=True, kw_only=True)
class LightNeed:
    """How much light a group of crops needs.

    Attributes
    ----------
    group : str
    least, good : float
        Daily light integral below which they are not worth growing, and beyond which more helps little.
        [mol/m2 a day]
    source : str
        Where the figures come from, with their flag.
    """

    group: str
    least: Annotated[float, Named("least_dli"), Unit("mol_m2_per_day")]
    good: Annotated[float, Named("good_dli"), Unit("mol_m2_per_day")]
    source: str


#: from the least demanding to the most; all figures are from crops in greenhouses or under lamps
LIGHT_NEEDS = (
    LightNeed(
        group="leafy greens and herbs",
        least=12.0,
        good=17.0,
        source=(
            "12 at least: Plants 13(5):652 (2024), introduction, seen; 17 best for lettuce: Both and others, in "
            "Horticulturae 6(1):7 (2020), seen second-hand; indoors red lettuce was of use down to 6.5 to 9.7: Paz, "
            "Fisher and Gomez (2019), seen"
        ),
    ),
    LightNeed(
        group="fruiting crops",
        least=20.0,
        good=30.0,
        source="20 to 30 for tomato and other fruiting crops: pages on greenhouse lighting, seen second-hand",
    ),
)


def light_verdict(light: float, want: LightNeed) -> Verdict:
    """Return whether light is enough for a group of crops; it is rounded to whole moles, as it is shown.

    Parameters
    ----------
    light : float
        Daily light integral. [mol/m2 a day]
    want : LightNeed

    Examples
    --------
    >>> [light_verdict(light, LIGHT_NEEDS[1]) for light in (19.4, 19.6, 30.0)]
    ['too little', 'enough', 'plenty']
    """
    shown = round(light)
    return "plenty" if shown >= want.good else "enough" if shown >= want.least else "too little"
