"""One damaged site by seed and number: its files, what was done to it, and what is asked of it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from random import Random

from .damage import Files, damage
from .oracle import Verdict, judged, write
from .sound import sound_sites

#: what is asked, the quick ones more often
COMMANDS = ("fill",) * 6 + ("sun", "haul", "place", "turn") * 2 + ("plan",)


@dataclass(frozen=True)
class Case:
    """One damaged site."""

    number: int
    site: str
    files: Files
    done: list[str]
    command: str


def case(seed: int, number: int) -> Case:
    """Return the same damaged site for the same seed and number, on any machine."""
    random = Random(f"{seed} {number}")
    site = random.choice(("plain", "measured", "layers", "whole", "around"))
    files, done = damage(random, dict(sound_sites()[site]))
    return Case(number, site, files, done, random.choice(COMMANDS))


def tried(one: Case, folder: Path, *, ask: bool) -> list[tuple[str, Verdict]]:
    """Return what `check` made of a case, and where it was sound and `ask` says so what its command did."""
    write(folder / "yard", one.files)
    found = [("check", judged(folder / "yard", "check", folder / "out"))]
    if ask and found[0][1].kind == "answered":
        found.append((one.command, judged(folder / "yard", one.command, folder / "out")))
    return found
