"""What do plan.json, the tables, the map and the terminal say about a bed's light?

The same figures everywhere, each with its unit. They say whether clouds are counted, and what counts as an hour of
sun.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from siteplan.place.crops.crop_light import LIGHT_NEEDS, LightNeed, Verdict, light_verdict
from siteplan.say.figures import MONTHS, hours_text, share_text
from siteplan.sun.light.irradiance import MOL_PER_KWH

if TYPE_CHECKING:
    from siteplan.records import Answers
    from siteplan.sun.light.daily_light import BedLight

#: the definition of an hour of direct sun, in the same words on every page and in every file
SUN_HOURS = (
    "Hours of sun count the time from the rise to the set of the sun's upper rim, as almanacs do, while the straight "
    "line from the soil to the middle of the sun meets nothing."
)
#: how the figures are computed; written beside them in plan.json
METHOD = (
    "Direct light: the energy of the beam along the sun's path, less what stands in its way. Diffuse light: taken as "
    "the same from all directions of the sky, so that a bed gets it by the share of the sky that it sees. Reflected "
    "light: once from what hides the sky, by its albedo, equally to all sides. Clear days: Ineichen and Perez (2002) "
    "with Linke's turbidity."
)
CLOUDS_LEFT_OUT = (
    "Clouds are left out: this is the light of clear days. A weather file of a typical year "
    '(weather = "weather.epw" in site.toml) says what to expect.'
)


def light_columns() -> tuple[str, ...]:
    """Return the names of the columns of sun.csv on light; without a weather file some stay empty."""
    names = [month.lower() for month in MONTHS]
    return (
        "season_sky_share",
        *(f"{month}_clear_dli_mol_m2_per_day" for month in names),
        "season_clear_direct_kwh_m2_per_day", "season_clear_diffuse_kwh_m2_per_day",
        "season_clear_reflected_kwh_m2_per_day",
        "season_clear_dli_mol_m2_per_day",
        *(f"{month}_typical_dli_mol_m2_per_day" for month in names),
        *(f"{month}_typical_bright_sun_h" for month in names),
        "season_typical_direct_kwh_m2_per_day", "season_typical_diffuse_kwh_m2_per_day",
        "season_typical_reflected_kwh_m2_per_day",
        "season_typical_dli_mol_m2_per_day", "season_typical_bright_sun_h",
    )  # fmt: skip


def light_values(light: BedLight | None) -> tuple[float | None, ...]:
    """Return a bed's values for `light_columns`."""
    if light is None:
        return (None,) * len(light_columns())
    clear, typical = light.clear, light.typical
    values: list[float | None] = [light.sky_share[12], *clear.dli_mol_m2[:12]]
    values += [clear.direct_kwh_m2[12], clear.diffuse_kwh_m2[12], clear.reflected_kwh_m2[12], clear.dli_mol_m2[12]]
    if typical is not None:
        values += [*typical.dli_mol_m2[:12], *typical.bright_h[:12]]
        values += [
            typical.direct_kwh_m2[12],
            typical.diffuse_kwh_m2[12],
            typical.reflected_kwh_m2[12],
            typical.dli_mol_m2[12],
            typical.bright_h[12],
        ]
    values += [None] * (len(light_columns()) - len(values))
    return tuple(None if value is None else float(value) for value in values)


def light_facts(light: BedLight | None) -> list[tuple[str, str]]:
    """Return names and values of a bed's light in the growing season, for its card.

    If no typical year is known, the values are for clear days, and the names say so.
    """
    if light is None:
        return []
    kind = light_days(clouds=light.typical is not None)
    season = light.best
    facts = [("Share of the sky seen", share_text(float(light.sky_share[12])))]
    if np.isfinite(light.share_of_open[12]):
        facts.append(("Share of open ground's light", share_text(float(light.share_of_open[12]))))
    facts += [
        (f"Light {kind}", f"{season.total_kwh_m2[12]:.1f} kWh/m² a day"),
        (f"Direct light alone {kind}", f"{season.direct_kwh_m2[12]:.1f} kWh/m² a day"),
        (f"Light for plants {kind}", f"{season.dli_mol_m2[12]:.0f} mol/m² a day"),
    ]
    if light.typical is not None:
        facts.append(("Bright sunshine in a typical year", hours_text(float(season.bright_h[12])) + " a day"))
    return facts


def light_days(*, clouds: bool) -> str:
    """Return which days the light is for: those of a typical year, or clear days."""
    return "in a typical year" if clouds else "on clear days"


def _wants() -> str:
    """Return how much light each group of crops needs. [mol/m2 a day]"""
    return ", ".join(f"{want.group} {want.least:g} to {want.good:g}" for want in LIGHT_NEEDS)


def light_suits(light: float, wants: Sequence[LightNeed] = LIGHT_NEEDS) -> str:
    """Return for which groups of crops the light is enough, in words.

    Parameters
    ----------
    light : float
        Daily light integral. [mol/m2 a day]
    wants : sequence of LightNeed
        From the least demanding to the most.

    Examples
    --------
    >>> light_suits(35)
    'plenty for leafy greens and herbs and for fruiting crops'
    >>> light_suits(18)
    'plenty for leafy greens and herbs, too little for fruiting crops'
    >>> light_suits(3)
    'too little for leafy greens and herbs and for fruiting crops'
    """
    groups: dict[Verdict, list[str]] = {}
    for want in wants:
        groups.setdefault(light_verdict(light, want), []).append(f"for {want.group}")
    return ", ".join(f"{verdict} {' and '.join(names)}" for verdict, names in groups.items())


def guide_sentence(light: BedLight) -> str:
    """Return for which groups of crops a bed's light is enough in the season, and how certain that is."""
    days = light_days(clouds=light.typical is not None)
    suits = light_suits(float(light.best.dli_mol_m2[12]))
    return f"{days.capitalize()} {suits}. A rough guide, from crops under glass: {_wants()} mol/m² a day."


def sheet_line(light: BedLight) -> str:
    """Return the line on a bed's light in the season, which is below its sun on the work sheet."""
    mol, of_open = float(light.best.dli_mol_m2[12]), float(light.share_of_open[12])
    share = f"{share_text(of_open)} of open ground, " if np.isfinite(of_open) else ""
    return (
        f"{mol:.0f} mol/m² of light a day ({light.best.total_kwh_m2[12]:.1f} kWh/m²), {share}"
        f"{share_text(float(light.sky_share[12]))} of the sky seen; {light_suits(mol)}"
    )


def sheet_words(plan: Answers) -> str:
    """Return the text before those lines; empty if no bed's light is known."""
    if all(report.light is None for report in plan.beds):
        return ""
    if plan.site.weather is None:
        days = "on clear days (clouds are left out; they take their share)"
    else:
        days = "in a typical year, clouds counted"
    return (
        f"Below each bed its light for plants in the season {days}. A rough guide, from crops under glass: "
        f"{_wants()} mol/m² a day."
    )


def light_sources(plan: Answers) -> list[str]:
    """Return the sources of the figures of light; empty if no bed's light is known."""
    if all(report.light is None for report in plan.beds):
        return []
    weather = plan.site.weather
    sky = "clear days by Ineichen and Perez (2002)" if weather is None else f"the typical year of {weather.file}"
    light = (
        f"Light: {sky}, the sky equally bright everywhere, light reflected once by walls; {MOL_PER_KWH:g} mol for "
        "each kWh: Faust and Logan (2018), seen."
    )
    return [light, *(f"Light for {want.group}: {want.source}." for want in LIGHT_NEEDS)]


def light_rows(plan: Answers) -> list[list[str]]:
    """Return the rows of the terminal's table, one for each bed, in the columns of `LIGHT_HEADS`."""
    return [
        [
            report.bed.id,
            share_text(float(light.sky_share[12])),
            f"{light.best.total_kwh_m2[12]:.1f}",
            f"{light.best.direct_kwh_m2[12]:.1f}",
            f"{light.best.bright_h[12]:.1f}",
            f"{light.best.dli_mol_m2[12]:.0f}",
            share_text(float(light.share_of_open[12])) if np.isfinite(light.share_of_open[12]) else "—",
        ]
        for report in plan.beds
        if (light := report.light) is not None
    ]


#: column heads of `light_rows`
LIGHT_HEADS = ("bed", "sky seen", "kWh/m²", "direct", "bright h", "mol/m²", "of open ground")


def light_title(plan: Answers) -> str:
    """Return the title of the terminal's table."""
    kind = "if every day were clear" if plan.site.weather is None else "in a typical year"
    return f"Light a day in the season, {kind}"


def light_sentences(plan: Answers) -> list[str]:
    """Return the sentences below the terminal's table; one for each bed if a typical year is known."""
    sentences = []
    for report in plan.beds:
        if report.light is not None and report.light.typical is not None:
            hours = hours_text(float(report.light.typical.bright_h[12]))
            sentences.append(f"{report.bed.id}: bright sunshine in a typical year {hours} a day")
    return sentences


def cloud_sentence(plan: Answers) -> str:
    """Return a sentence on whether clouds are counted, and from which data."""
    weather = plan.site.weather
    if weather is None:
        return CLOUDS_LEFT_OUT
    return (
        f"Clouds are those of a typical year by {weather.file}; bright is direct light of at least 120 W/m² (WMO). "
        "Single years differ."
    )
