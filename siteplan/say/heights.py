"""Which sentences describe what a survey found?

One for each proposal, with the number of points behind it and how far off it may be; the day of the flight; what was
accepted, and where the gardener's own figures differ.
"""

from __future__ import annotations

import datetime as dt
import shlex
from collections import Counter
from collections.abc import Sequence
from typing import TYPE_CHECKING

from siteplan.land.proposals import Accepted, Figure, Proposal
from siteplan.land.returns import Flight
from siteplan.land.units import System, length_text
from siteplan.say.figures import heading_text, plural
from siteplan.say.safe_text import plain_text

if TYPE_CHECKING:
    from siteplan.land.site import Site

_SOURCES = {"laser": "laser survey", "rasters": "rasters of surface and ground"}


def source_text(flight: Flight) -> str:
    """Return what heights were taken from, with the month of the flight as far as it is known.

    Examples
    --------
    >>> source_text(Flight(dt.date(2014, 3, 4), dt.date(2014, 3, 4)))
    'laser survey, file of 2014-03'
    >>> source_text(Flight(dt.date(2020, 12, 30), dt.date(2021, 1, 4), by_pulses=True)), source_text(Flight())
    ('laser survey of 2020-12 to 2021-01', 'laser survey, day unknown')
    """
    name = _SOURCES[flight.source]
    if flight.first is None or flight.last is None:
        return f"{name}, day unknown"
    first, last = f"{flight.first:%Y-%m}", f"{flight.last:%Y-%m}"
    months = first if first == last else f"{first} to {last}"
    return f"{name} of {months}" if flight.by_pulses else f"{name}, file of {months}"


def season_text(leafy: bool | None) -> str:  # noqa: FBT001  # of three states
    """Return in which season the flight was."""
    if leafy is None:
        return "in a season that is not known"
    return "in leaf" if leafy else "in the leafless season"


def proposal_sentence(proposal: Proposal, units: System, leafy: bool | None) -> str:  # noqa: FBT001
    """Return the figures that a survey gives for one feature.

    Examples
    --------
    >>> from shapely import Point
    >>> height, base = Figure("height", 8.0, 0.5), Figure("crown_base", 2.0, 0.5)
    >>> print(proposal_sentence(Proposal("a", "tree", False, Point(0, 0), (height, base), 812), "metric", None))
    8.00 m high (7.50 to 8.50 m), crown from 2.00 m (1.50 to 2.50 m); 812 points.
    """
    parts = []
    for figure in proposal.figures:
        text = length_text(figure.value, units)
        if figure.key == "height":
            parts.append(f"{text} high{_ends(figure, units)}")
        elif figure.key == "crown_base":
            parts.append(f"crown from {text}{_ends(figure, units)}")
        elif figure.key == "eaves":
            parts.append(f"eaves at {text}{_ends(figure, units)}")
        elif figure.key == "ridge_heading":
            parts.append(f"ridge {heading_text(figure.value)}")
    if proposal.trees > 1:
        parts.insert(0, f"a group of {proposal.trees} or so, not told apart")
    if proposal.ground_share is not None and proposal.trees:
        share = f"{proposal.ground_share:.0%} of {proposal.pulses} pulses reach the ground {season_text(leafy)}"
        parts.append(share)
    return f"{', '.join(parts)}; {plural(proposal.points, 'point')}."


def _ends(figure: Figure, units: System) -> str:
    if not figure.spread:
        return ""
    low, high = (length_text(max(figure.value + way * figure.spread, 0.0), units) for way in (-1, 1))
    if units == "metric" and low.endswith(" m") and high.endswith(" m"):
        low = low.removesuffix(" m")
    return f" ({low} to {high})"


def found_sentences(
    proposals: Sequence[Proposal],
    unseen: Sequence[str],
    source: str,
    flight: Flight,
    leafy: bool | None,  # noqa: FBT001
    today: dt.date,
) -> list[str]:
    """Return what a survey shows in all: the counts, its day, and which drawn features it does not show."""
    lines = []
    for drawn, word in ((True, "drawn"), (False, "new")):
        count = Counter(proposal.kind for proposal in proposals if proposal.drawn is drawn)
        if count:
            kinds = ", ".join(plural(number, kind) for kind, number in count.items())
            lines.append(f"Heights for what is {word}: {kinds}.")
    groups = sum(proposal.trees > 1 for proposal in proposals)
    if groups:
        lines.append(
            f"{plural(groups, 'group')} of trees could not be told apart: look at them before they are accepted."
        )
    if unseen:
        listed = ", ".join(plain_text(name, longest=40) for name in unseen[:8])
        others = f" and {len(unseen) - 8} more" if len(unseen) > 8 else ""
        lines.append(f"Nothing was seen of {listed}{others}: not there yet on that day, or hidden.")
    age = "" if flight.last is None else f", {max((today - flight.last).days // 365, 0)} years ago"
    old = age if flight.last is not None and (today - flight.last).days >= 730 else ""
    lines.append(f"From a {source}{old}, {season_text(leafy)}. Trees have grown or gone since.")
    return lines


def accepted_sentences(accepted: Accepted, folder: str) -> list[str]:
    """Return what came into the features file, and where the gardener's own figures differ."""
    file, lines = plain_text(accepted.file), []
    for names, origin in ((accepted.added, "new"), (accepted.changed, "with figures of the survey")):
        if names:
            listed = ", ".join(plain_text(name, longest=40) for name in names[:10])
            others = f" and {len(names) - 10} more" if len(names) > 10 else ""
            lines.append(f"Written to {file}, {origin}: {listed}{others}.")
    if not lines:
        lines.append(f"Nothing new for {file}; it is as it was.")
    lines += conflict_sentences(accepted)
    if any(not conflict.taken for conflict in accepted.conflicts):
        again = plain_text(shlex.quote(folder))
        lines.append(f"To take the survey's figures all the same: siteplan heights {again} --accept ID --replace.")
    return lines


def conflict_sentences(accepted: Accepted) -> list[str]:
    """Return where the gardener's own figures differ from those of a survey, and which are kept."""
    lines, file = [], plain_text(accepted.file)
    for conflict in accepted.conflicts:
        name, own_value, survey_value = (
            plain_text(str(part), longest=40) for part in (conflict.id, conflict.own, conflict.found)
        )
        if conflict.taken:
            lines.append(f"{name}: {conflict.key} was {own_value}, is now {survey_value}.")
        else:
            lines.append(
                f"{name}: {conflict.key} is {own_value} in {file}, the survey has {survey_value}. Yours stays."
            )
    return lines


def next_steps(out: str, folder: str, site: Site) -> list[str]:
    """Return where the proposals were written, and how to accept them."""
    name, output = plain_text(shlex.quote(folder)), plain_text(out)
    lines = [
        f"Written to {output}: proposals.geojson and terrain.tif; nothing that is drawn has changed.",
        f"Look at them in a GIS, then take them: siteplan heights {name} --accept all, or --accept with some ids.",
    ]
    if site.terrain is None:
        lines.append(f'For the ground, write in site.toml: terrain = "{output}/terrain.tif"')
    return lines
