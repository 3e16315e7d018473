"""How do findings become cautions?

A kernel returns a finding: a code with figures. Here it becomes a caution: a sentence in the gardener's units.
The phrases for the codes are in the modules beside this one; a test fills in every phrase.
The kernels decide what is worth a caution.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from siteplan.land.alike import MOST, first_of_each_kind, gist
from siteplan.land.findings import Caution, Finding
from siteplan.land.units import System
from siteplan.say import fill_cautions, haul_cautions, place_cautions
from siteplan.say.phrases import Phrase, fill_phrase, listed

PHRASES: dict[str, Phrase] = {**fill_cautions.PHRASES, **haul_cautions.PHRASES, **place_cautions.PHRASES}

#: codes of findings about a bed; if several beds have the same finding, one caution names them all
OF_BEDS = frozenset(fill_cautions.OF_BEDS)


#: codes of cautions that hold on any site, and their topics; the work sheet has the full text
ANYWHERE: dict[str, str] = {
    "call-before-digging": "buried pipes and cables before you dig",
    "heavy-lifting": "lifting",
    "compost-dust": "dust and moulds of compost",
    "lead-test": "lead in the soil",
    "treated-timber": "old treated timber",
    "fresh-manure": "fresh manure",
    "composted-manure": "when manure counts as composted",
    "handling": "handling of materials",
}
#: codes from the most serious: first dangers, then what the plan depends on, then possible mistakes in the input
_WEIGHT = (
    "lead", "lead-barrier", "manure-dates", "ground-load", "wall-bracing", "wall-span", "barrow-load", "heavy-push",
    "steep-descent", "steep-way", "aslant-way", "heavy-bag", "heavy-work",
    "no-way-in", "gate-too-narrow", "no-offer", "nothing-on-offer", "no-drop", "lorry", "heap-too-big",
    "heap-in-the-way", "bucket", "no-soil", "no-inside", "shallow-soil", "crop-depth", "nitrogen",
    "plain-lengths", "unusual-size", "another-country", "timezone-elsewhere", "season-assumed", "levels-steep",
    "levels-few",
)  # fmt: skip


def by_weight(cautions: Iterable[Caution]) -> list[Caution]:
    """Return cautions with the most serious first, and those that hold on any site last.

    Examples
    --------
    >>> cautions = [Caution("lead-test", "", "a"), Caution("mended", "b", "b"), Caution("heavy-push", "c", "c")]
    >>> [caution.code for caution in by_weight(cautions)]
    ['heavy-push', 'mended', 'lead-test']
    """
    weight = {code: position for position, code in enumerate(_WEIGHT)}
    anywhere = {code: position for position, code in enumerate(ANYWHERE)}
    return sorted(
        cautions,
        key=lambda caution: (
            caution.code in anywhere,
            anywhere.get(caution.code, weight.get(caution.code, len(_WEIGHT))),
        ),
    )


def everywhere_sentence(cautions: Iterable[Caution]) -> str:
    """Return one sentence with the topics of the cautions that hold on any site; empty if there are none."""
    topics = list(dict.fromkeys(ANYWHERE[caution.code] for caution in cautions if caution.code in ANYWHERE))
    if not topics:
        return ""
    return f"As on every site, mind {listed(topics)}. The work sheet (siteplan plan) says how."


def in_words(findings: Iterable[Finding], units: System) -> tuple[Caution, ...]:
    """Return findings as cautions, without repeats, in the same order.

    Examples
    --------
    >>> from siteplan.land.findings import finding
    >>> findings = [finding("no-soil", "north"), finding("no-soil", "south")]
    >>> [(caution.feature, caution.text) for caution in in_words(findings, "metric")]
    [('', 'Beds north, south: Nothing but coarse material: there is no soil for roots.')]
    """
    features: dict[tuple[str, str, str], list[str]] = {}
    for finding in findings:
        figures = dict(finding.figures)
        text = fill_phrase(PHRASES[finding.code], figures, units)
        text = f"On tier {figures['tier']}: {text}" if "tier" in figures else text
        feature = "" if finding.code in OF_BEDS else finding.feature
        beds = features.setdefault((finding.code, text, feature), [])
        if finding.feature not in beds:
            beds.append(finding.feature)
    return tuple(
        Caution(code, beds[0], text) if len(beds) == 1 else Caution(code, "", f"Beds {_listed(beds)}: {text}")
        for (code, text, _), beds in features.items()
    )


def _listed(names: Sequence[str]) -> str:
    """Return names separated by commas; of many, only the first ten and the number of the others."""
    if len(names) <= MOST + 1:
        return ", ".join(names)
    return f"{', '.join(names[:MOST])} and {len(names) - MOST} more"


def listed_cautions(cautions: Iterable[Caution], *, most: int = MOST) -> list[Caution]:
    """Return the cautions to show: if many differ only in the feature, the first few and the number of the others.

    Examples
    --------
    >>> many = [Caution("bed-too-wide", f"bed {number}", "It is wider than 1.6 m.") for number in range(500)]
    >>> [caution.feature or caution.text for caution in listed_cautions(many, most=2)]
    ['bed 0', 'bed 1', '498 more of this kind: It is wider than 1.6 m.']
    """
    return first_of_each_kind(
        cautions, lambda caution: (caution.code, bool(caution.feature), gist(caution.text)), _others, most=most
    )


def _others(caution: Caution, count: int) -> Caution:
    return Caution(caution.code, "", f"{count} more of this kind: {caution.text}")
