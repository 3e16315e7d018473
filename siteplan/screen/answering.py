"""Which answers does one lot get?

The sun and the best place, as `siteplan place` gives them; then the fill and the work of its beds, as `siteplan plan`
gives them, or of a bed at the best place if the lot has none. That place is looked for even if nobody asked for it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from siteplan.answers import answers
from siteplan.land.site import Site
from siteplan.question import checked_question
from siteplan.records import Answers


@dataclass(frozen=True, eq=False)
class LotAnswers:
    """The answers for one lot.

    Attributes
    ----------
    search : Answers
        Sun and places of the lot as it is drawn; places also if a lot without beds needs one for its fill or work.
    work : Answers or None
        Fill and barrow of its beds, or of a bed at the best place if it has none. None if neither was asked, or
        nothing fits.
    """

    search: Answers
    work: Answers | None


def lot_answers(site: Site, ask: tuple[str, ...]) -> LotAnswers:
    """Return the answers for one lot: only hours of sun, without light and ranges, enough to choose among many lots.

    Parameters
    ----------
    site : Site
    ask : tuple of str
        Of sun, place, fill and haul.
    """
    of_beds = {"fill", "haul"} & {*ask}
    of_ground = {"sun", "place"} & {*ask} | ({"place"} if of_beds and not site.beds else set())
    search, work = _hours(site, of_ground), None
    if of_beds:
        with_bed = site_with_bed(site, search)
        work = _hours(with_bed, of_beds) if with_bed.beds else None
    return LotAnswers(search, work)


def site_with_bed(site: Site, search: Answers) -> Site:
    """Return a site as it is if it has beds, else with a proposed bed at the best place."""
    if site.beds or search.places is None or not search.places.places:
        return site
    bed = replace(search.places.bed_at(search.places.places[0]), id="bed-1", proposed=True)
    return replace(site, beds=(bed,))


def _hours(site: Site, ask: set[str]) -> Answers:
    question = checked_question(site, ask=ask)
    return answers(site, replace(question, hours_alone=True))
