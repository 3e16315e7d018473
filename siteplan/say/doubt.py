"""Which sentences say how sure the hours of sun are, and what to measure?

They are the same on the terminal, the map and the work sheet.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from siteplan.say.figures import hours_text, share_text
from siteplan.say.safe_text import plain_text
from siteplan.sun.bed_sun import need_for

if TYPE_CHECKING:
    from siteplan.place.search.search_results import PlaceResult
    from siteplan.records import Answers, BedReport
    from siteplan.sun.doubt.doubt import Cause, SunDoubt
    from siteplan.sun.doubt.sure_map import SureMap

#: what a range means; said once on each page, before the first of them
RANGES_SHORT = (
    "heights, crowns, leaves and places are not known exactly. The sun was computed for many sets of figures that "
    "may be true; 8 of 10 gave hours within the range."
)
RANGES = f"Hours in brackets are a range: {RANGES_SHORT}"
#: said where beds are too many for it
TOO_MANY = "With so many beds, siteplan does not say how sure their sun is: ask for one with --bed."

_WHAT = {
    "height": "measure the height of {}",
    "eaves": "measure the eaves of {}",
    "base": "measure the lower edge of {}",
    "crown_base": "measure where the crown of {} begins",
    "crown_diameter": "measure the crown of {} from side to side",
    "transmittance": "find out what share of the sun {} lets through",
    "transmittance_leafy": "find out how dense the leaves of {} are (crown_density)",
    "transmittance_bare": "find out how much sun {} lets through when it is bare",
    "leaf_out": "note when the leaves of {} come",
    "leaf_fall": "note when the leaves of {} fall",
    "position_east": "measure how far east {} lies",
    "position_north": "measure how far north {} lies",
}


def range_text(doubt: SunDoubt | None) -> str:
    """Return the range of the season's hours, empty where it is not known."""
    return "" if doubt is None else f"{doubt.season_low_h:.1f} to {doubt.season_high_h:.1f}"


def hours_range(hours: float, doubt: SunDoubt | None) -> str:
    """Return hours with their range, as in ``6.4 h (5.5 to 7.0)``."""
    text = hours_text(hours)
    return text if doubt is None else f"{text} ({range_text(doubt)})"


def sure_sentence(need: float, doubt: SunDoubt) -> str:
    """Return how sure it is that a bed gets what its crops want.

    Examples
    --------
    >>> import numpy as np
    >>> from siteplan.sun.doubt.doubt import SunDoubt
    >>> def of(enough):
    ...     nothing = np.zeros(12)
    ...     return SunDoubt(season_low_h=5.5, season_high_h=7.0, month_low_h=nothing, month_high_h=nothing,
    ...                     enough=enough, causes=(), season_h=np.zeros(32))
    >>> sure_sentence(6.0, of(1.0))
    'it has the 6.0 h that its crops want in all 32 trials'
    >>> sure_sentence(6.0, of(0.75))
    'it has the 6.0 h that its crops want in 24 of 32 trials'
    """
    draws = len(doubt.season_h)
    enough = round(doubt.enough * draws)
    share = {draws: "all", 0: "none of"}.get(enough, f"{enough} of")
    return f"it has the {hours_text(need)} that its crops want in {share} {draws} trials"


def measure_sentences(whose: str, doubt: SunDoubt | None) -> tuple[str, ...]:
    """Return what to measure, the largest cause of doubt first; `whose` names the sun, as in "its sun"."""
    return tuple(_measure(whose, cause) for cause in doubt.causes) if doubt else ()


def _measure(whose: str, cause: Cause) -> str:
    task = _WHAT[cause.figure].format(plain_text(cause.feature, longest=40))
    return f"{task}: this alone puts {whose} between {cause.low_h:.1f} and {cause.high_h:.1f} h"


def bed_doubts(plan: Answers, report: BedReport) -> tuple[str, ...]:
    """Return sentences on how sure a bed's sun is, and what to measure; none where it is not known."""
    if report.doubt is None:
        return ()
    need = need_for(plan.site, report.bed)
    return (sure_sentence(need, report.doubt), *measure_sentences("its sun", report.doubt))


def place_doubts(places: PlaceResult) -> tuple[str, ...]:
    """Return sentences on how sure the ranking is, and what to measure for the first place; none where not known."""
    if not places.places or places.places[0].doubt is None:
        return ()
    first_place = places.places[0]
    sentences = [f"the sun of place 1 is {hours_range(first_place.season_sun_h, first_place.doubt)}"]
    if places.first_stays is not None:
        share = "all" if places.first_stays == places.draws else f"{places.first_stays} of"
        sentences.append(f"in {share} {places.draws} trials the first place stays the best of those named")
    return (*sentences, *measure_sentences("the sun of place 1", first_place.doubt))


def ground_sentence(sure: SureMap | None) -> str:
    """Return on how much of the ground the season's sun is surely enough; empty if that was not asked for.

    Examples
    --------
    >>> import numpy as np
    >>> from siteplan.land.grid import Grid
    >>> from siteplan.sun.doubt.sure_map import SureMap
    >>> grid = Grid(west=0.0, north=1.0, cell=1.0, rows=1, columns=4)
    >>> ground_sentence(SureMap(grid, 6.0, 16, np.array([[1.0, 0.5, 0.0, 0.0]])))  # doctest: +NORMALIZE_WHITESPACE
    'of the ground, 25 % is sure to get 6.0 h of sun a day in the season, 50 % is sure not to, and of 25 % it is not
    sure (sure: in at least 9 of 10 trials)'
    """
    shares = sure.parts() if sure is not None else None
    if sure is None or shares is None:
        return ""
    enough, too_little, unsure = (share_text(share) for share in shares)
    return (
        f"of the ground, {enough} is sure to get {hours_text(sure.need)} of sun a day in the season, {too_little} is "
        f"sure not to, and of {unsure} it is not sure (sure: in at least 9 of 10 trials)"
    )
