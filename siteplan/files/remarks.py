"""Which faults and cautions were found in a site's files?

Every part of the reader adds to one collector, so that all faults are reported at once.
"""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass, field

from siteplan.land.errors import Fault
from siteplan.land.findings import Caution
from siteplan.land.unit_sizes import FOOT
from siteplan.land.units import METRE, LengthUnit, System, length_text
from siteplan.land.values import LONGEST_SHOWN
from siteplan.land.written import in_units


@dataclass
class Remarks:
    """Collects faults and cautions in the order in which they are found, each once.

    Attributes
    ----------
    faults, cautions : dict
        Used as ordered sets: the keys are the faults and cautions, the values None.
    unit : LengthUnit
        Of the drawing, and so of every length without a unit.
    system : str
        Units of the quantities in messages.
    misplaced : bool
        Whether the place of the property is wrong, so that nothing else should be judged by its latitude.
    """

    faults: dict[Fault, None] = field(default_factory=dict)
    cautions: dict[Caution, None] = field(default_factory=dict)
    unit: LengthUnit = METRE
    system: System = "metric"
    misplaced: bool = False
    _groups: dict[tuple[str, str], list[Caution]] = field(default_factory=dict)

    def fault(self, file: str, where: str, text: str) -> None:
        """Note a fault."""
        self.faults[Fault(file, where, text)] = None

    def caution(self, code: str, feature: str, text: str) -> None:
        """Note a caution."""
        self.cautions[Caution(code, feature, text)] = None

    def in_site_units(self, text: str) -> str:
        """Return a record's message, which has metres, with its lengths in the site's units."""
        return in_units(text, self.system)

    def length(self, metres: float) -> str:
        """Return a length in the site's units, to the accuracy of a tape."""
        return length_text(metres, self.system)

    def far(self, metres: float) -> str:
        """Return a distance in whole metres or feet, from 1,000 m on in kilometres or miles."""
        return far_text(metres, self.system)

    def high(self, metres: float) -> str:
        """Return an elevation in whole metres or feet."""
        return f"{metres:,.0f} m" if self.system == "metric" else f"{metres / FOOT:,.0f} ft"

    def caution_once(self, code: str, group: str, feature: str, text: str) -> None:
        """Note a caution of a group of which only the first is shown, with the number of the others."""
        self._groups.setdefault((code, group), []).append(Caution(code, feature, text))

    def plain_length(self, feature: str, key: str, value: object) -> None:
        """Note a length without a unit, if the drawing is not in metres; one caution stands for all."""
        if self.unit.metres == 1:
            return
        text = (
            f"{key} = {value} is read in {self.unit.plural}, the unit of the drawing, like all lengths without a "
            f'unit. If metres are meant, write "{value} m".'
        )
        self.caution_once("plain-lengths", "", feature, text)

    def all_cautions(self) -> tuple[Caution, ...]:
        """Return all cautions; of each group the first, with the number of the others."""
        return (*self.cautions, *(_as_one(group) for group in self._groups.values()))


def far_text(metres: float, system: System) -> str:
    """Return a long distance: in kilometres or miles, below one of them in metres or feet.

    Examples
    --------
    >>> far_text(85_000, "metric"), far_text(1234, "imperial"), far_text(5000, "imperial"), far_text(640, "metric")
    ('85 km', '4,049 ft', '3.1 mi', '640 m')
    """
    unit_metres, large_unit, units_per_large = (1.0, "km", 1000) if system == "metric" else (FOOT, "mi", 5280)
    units = metres / unit_metres
    if units < units_per_large:
        return f"{units:,.0f} {'m' if system == 'metric' else 'ft'}"
    large_units = units / units_per_large
    figure = f"{large_units:,.0f}" if units >= 20 * units_per_large else f"{large_units:.1f}".removesuffix(".0")
    return f"{figure} {large_unit}"


def _as_one(group: list[Caution]) -> Caution:
    """Return the first caution of a group, with the number of the others."""
    first, count = group[0], len(group) - 1
    if not count:
        return first
    others = "So is 1 more." if count == 1 else f"So are {count} more."
    return Caution(first.code, first.feature, f"{first.text} {others}")


def clean(text: str) -> str:
    r"""Return a name without control characters and lone surrogates, and without white space at its ends.

    Everything else stays as it is written; the pages escape it.

    Examples
    --------
    >>> clean("bed\x1b[2J\tnorth "), clean("<b>{{7*7}}</b>")
    ('bed[2J north', '<b>{{7*7}}</b>')
    """
    if text.isascii() and text.isprintable():
        return text.strip()
    spaced = "".join(" " if letter in "\t\n\r\v\f" else letter for letter in text)
    return "".join(letter for letter in spaced if unicodedata.category(letter) not in {"Cc", "Cs"}).strip()


def label(kind: str, feature_id: str) -> str:
    """Return a feature's name for messages.

    Examples
    --------
    >>> label("bed", "north")
    'bed "north"'
    """
    short = feature_id if len(feature_id) <= LONGEST_SHOWN else feature_id[: LONGEST_SHOWN - 3] + "..."
    return f'{kind} "{short}"'
