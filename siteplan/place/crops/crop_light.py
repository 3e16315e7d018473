"""For which groups of crops is the light enough?

A day's photons against what growers under glass aim at, group by group.
It leaves out heat, season and variety: a rough guide, no promise.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal

from siteplan.land.document import Named, Unit

Verdict = Literal["plenty", "enough", "too little"]


@dataclass(frozen=True, kw_only=True)
class LightWant:
    """What a group of crops wants of light.

    Attributes
    ----------
    group : str
    least, good : float
        Daily light integral below which it is not worth growing, and beyond which more brings little.
        [mol/m2 a day]
    source : str
        Where the figures come from, with their flag.
    """

    group: str
    least: Annotated[float, Named("least_dli"), Unit("mol_m2_per_day")]
    good: Annotated[float, Named("good_dli"), Unit("mol_m2_per_day")]
    source: str


#: from the least demanding to the most; all of them from crops under glass or lamps
LIGHT_WANTS = (
    LightWant(
        group="leafy greens and herbs",
        least=12.0,
        good=17.0,
        source=(
            "12 at least: Plants 13(5):652 (2024), introduction, seen; 17 best for lettuce: Both and others, in "
            "Horticulturae 6(1):7 (2020), seen second-hand; indoors red lettuce was of use down to 6.5 to 9.7: Paz, "
            "Fisher and Gomez (2019), seen"
        ),
    ),
    LightWant(
        group="fruiting crops",
        least=20.0,
        good=30.0,
        source="20 to 30 for tomato and other fruiting crops: pages on greenhouse lighting, seen second-hand",
    ),
)


def light_verdict(light: float, want: LightWant) -> Verdict:
    """Return whether light is enough for a group of crops, judged in whole moles as it is shown.

    Parameters
    ----------
    light : float
        Daily light integral. [mol/m2 a day]
    want : LightWant

    Examples
    --------
    >>> [light_verdict(light, LIGHT_WANTS[1]) for light in (19.4, 19.6, 30.0)]
    ['too little', 'enough', 'plenty']
    """
    shown = round(light)
    return "plenty" if shown >= want.good else "enough" if shown >= want.least else "too little"
