"""What deserves a word, in words?

Each code of a finding has its phrase here or in the module of its question; a test says each aloud.
"""

from __future__ import annotations

from collections.abc import Iterable

from siteplan.land.cautions import Caution, Finding
from siteplan.land.units import System
from siteplan.say import place_cautions
from siteplan.say.phrases import Phrase, said

PHRASES: dict[str, Phrase] = {**place_cautions.PHRASES}


def cautions(findings: Iterable[Finding], units: System) -> tuple[Caution, ...]:
    """Return findings in words, each once, in their order."""
    spoken = (Caution(one.code, one.feature, said(PHRASES[one.code], dict(one.figures), units)) for one in findings)
    return tuple(dict.fromkeys(spoken))
