"""Which sentences give the bearing of the plan, a measured height, and how far off they may be?

The figure comes first, then its doubt, then what such a measurement suffers from.
"""

from __future__ import annotations

from siteplan.land.declination import MODEL, Declination
from siteplan.land.heights import MeasuredHeight
from siteplan.land.north import North
from siteplan.land.outline import nearest_compass_point
from siteplan.land.units import System, length_text
from siteplan.sun.shadows import Shadow


def bearing_sentence(north: North) -> str:
    """Return the bearing of the plan as a sentence.

    Examples
    --------
    >>> bearing_sentence(North(bearing=90.0, doubt=1.5))
    'Up the plan is 90.0° from true north (east), give or take 1.5°.'
    >>> bearing_sentence(North(bearing=359.98, doubt=0.0))
    'Up the plan is 0.0° from true north (north).'
    """
    point = nearest_compass_point(north.bearing)
    doubt = f", give or take {north.doubt:.1f}°" if north.doubt >= 0.05 else ""
    return f"Up the plan is {round(north.bearing, 1) % 360:.1f}° from true north ({point}){doubt}."


def declination_sentences(magnetic: Declination, *, day: str) -> list[str]:
    """Return what a compass shows at a place, by which model, and how sure that is.

    Examples
    --------
    >>> declination_sentences(Declination(east=-1.04, error=0.38, zone="sound", year=2026.9), day="2026-11-26")[0]
    'There a compass points 1.0° west of true north on 2026-11-26, give or take 0.4° (World Magnetic Model 2025).'
    """
    side = "east" if magnetic.east >= 0 else "west"
    declination = (
        f"{abs(magnetic.east):.1f}° {side} of true north on {day}, give or take {magnetic.error:.1f}° ({MODEL})"
    )
    sentences = [
        f"There a compass points {declination}.",
        "Keep it a few steps from cars, fences, pipes, phones and reinforced concrete: they turn it by far more.",
    ]
    if magnetic.zone == "blackout":
        sentences.insert(0, "So near to a magnetic pole a compass tells nothing: take a shadow or a street instead.")
    elif magnetic.zone == "caution":
        sentences.insert(0, "So near to a magnetic pole a compass is sluggish: a shadow or a street is surer.")
    return sentences


def shadow_sentences(shadow: Shadow) -> list[str]:
    """Return where a stick's shadow points, how fast it turns, and what makes it a poor pointer.

    Examples
    --------
    >>> shadow = Shadow(azimuth=2.0, elevation=62.0, turn_rate=0.5, rise_rate=0.0, doubt=2.0, state="sound")
    >>> shadow_sentences(shadow)
    ['At that moment the sun stood 62° high and the shadow pointed to 2.0°; it turns by 0.5° a minute.']
    """
    sun = f"At that moment the sun stood {shadow.elevation:.0f}° high"
    sentences = [
        f"{sun} and the shadow pointed to {shadow.azimuth:.1f}°; it turns by {abs(shadow.turn_rate):.1f}° a minute."
    ]
    if shadow.state == "high":
        sentences.append(
            "With the sun so high a leaning stick turns its shadow by several degrees: better some hours off noon."
        )
    if shadow.state == "low":
        sentences.append(
            "With the sun so low the shadow is long and blurred, and uneven ground bends it: better later or earlier."
        )
    return sentences


def no_shadow_text(shadow: Shadow) -> str:
    """Return why a moment gives no shadow."""
    down = f"then the sun stood {abs(shadow.elevation):.0f}° below the horizon"
    return f"{down}; check the day, the time (am or pm) and the place"


def height_sentences(measured: MeasuredHeight, *, off: str, units: System) -> list[str]:
    """Return a measured height and how far off it may be.

    Parameters
    ----------
    off : str
        What may be off, and by how much, as in ``the angle is off by 1°``.

    Examples
    --------
    >>> height_sentences(MeasuredHeight(11.6, 11.26, 11.96), off="the angle is off by 1°", units="metric")
    ['It is 11.6 m high.', 'If the angle is off by 1°, it is 11.3 m to 12.0 m.']
    """
    low, high = length_text(measured.low, units), length_text(measured.high, units)
    sentences = [f"It is {length_text(measured.height, units)} high.", f"If {off}, it is {low} to {high}."]
    if measured.high - measured.low > 0.3 * measured.height:
        sentences.append(
            "That is a rough figure: measure once more, from farther off or with a sun that stands higher."
        )
    return sentences
