"""What deserves a word, in words?

A kernel notes a finding: a code with its figures. Here it becomes a caution: the same, in a person's words and units.
Each room's phrases stand by code in a module of their own beside this one; a test says each of them aloud.
"""

from __future__ import annotations

from collections.abc import Iterable

from siteplan.land.findings import Caution, Finding
from siteplan.land.units import System
from siteplan.say import fill_cautions, haul_cautions, place_cautions
from siteplan.say.phrases import Phrase, said

PHRASES: dict[str, Phrase] = {**fill_cautions.PHRASES, **haul_cautions.PHRASES, **place_cautions.PHRASES}

#: codes of findings about a bed: where several beds have the same, one caution names them all
OF_BEDS = frozenset(fill_cautions.OF_BEDS)


def in_words(findings: Iterable[Finding], units: System) -> tuple[Caution, ...]:
    """Return findings as cautions: each once, in their order.

    Examples
    --------
    >>> from siteplan.land.findings import finding
    >>> found = [finding("no-soil", "north"), finding("no-soil", "south")]
    >>> [(one.feature, one.text) for one in in_words(found, "metric")]
    [('', 'Beds north, south: Nothing but coarse material: there is no soil for roots.')]
    """
    features: dict[tuple[str, str, str], list[str]] = {}
    for one in findings:
        text = said(PHRASES[one.code], dict(one.figures), units)
        apart = "" if one.code in OF_BEDS else one.feature
        named = features.setdefault((one.code, text, apart), [])
        if one.feature not in named:
            named.append(one.feature)
    return tuple(
        Caution(code, named[0], text) if len(named) == 1 else Caution(code, "", f"Beds {', '.join(named)}: {text}")
        for (code, text, _), named in features.items()
    )
