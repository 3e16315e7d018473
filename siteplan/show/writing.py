"""Which files does each command write?

A whole plan writes all files, a single question only its own; either all of them or none.
It leaves out what the files hold: see document, tables, map and work sheet.
"""

from __future__ import annotations

import warnings
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from siteplan import __version__
from siteplan.files.outputs.output import write_csv, write_geopackage, write_geoparquet, write_geotiff, write_json
from siteplan.files.outputs.output_folder import Kept, Written, write_folder
from siteplan.land.cores import Tell, in_second_process
from siteplan.say.figures import MONTH_NAMES
from siteplan.say.lighting import SUN_HOURS
from siteplan.show.tables import tables
from siteplan.show.tables.document import plan_document
from siteplan.show.tables.layer_styles import LAYERS, layer_styles

if TYPE_CHECKING:
    from siteplan.records import Answers

Writer = Callable[[Path], None]
MAP = "map.html"

#: the files that each command writes
FILES = {
    "sun": ("sun_hours.tif", "light.tif", "sun.csv"),
    "place": ("places.csv",),
    "turn": ("headings.csv",),
    "fill": ("shopping.csv",),
    "haul": ("loads.csv",),
    "map": (MAP,),
    "plan": (
        MAP, "report.html", "plan.json", "sun_hours.tif", "light.tif", "plan.gpkg", "shopping.csv",
        "loads.csv", "sun.csv", "places.csv", "headings.csv",
    ),
}  # fmt: skip


#: commands that write tiers.csv if a bed is built in tiers
TIERED = ("sun", "fill", "plan")

#: commands that write sure.tif if it was asked where the sun is sure
SURE = ("sun", "plan")

#: the layers of plan.gpkg that are also written as GeoParquet if asked for
PARQUET = tuple(f"{name}.parquet" for name in LAYERS)


def write_plan(plan: Answers, out: Path, *, tiles: bool = False, pdf: bool = False, parquet: bool = False) -> Path:
    """Write all files of a plan to a folder and return the folder; a warning names changed files that were kept.

    Parameters
    ----------
    plan : Answers
    out : Path
    tiles : bool
        Whether the map loads a basemap.
    pdf : bool
        Whether the work sheet is also written as report.pdf; needs the ``pdf`` extra.
    parquet : bool
        Whether each layer of plan.gpkg is also written as GeoParquet; needs the ``parquet`` extra.
    """
    written = write_answers(plan, out, command="plan", tiles=tiles, pdf=pdf, parquet=parquet)
    if written.kept:
        warnings.warn(kept_words(written.kept), stacklevel=3)
    return out


def write_answers(
    plan: Answers,
    out: Path,
    *,
    command: str,
    tiles: bool = False,
    pdf: bool = False,
    parquet: bool = False,
    progress: Callable[[str, float], None] | None = None,
) -> Written:
    """Write the files of one command, all or none.

    Parameters
    ----------
    plan : Answers
    out : Path
        The output folder. A whole plan removes earlier output files that it no longer writes; a single question
        leaves the files of other questions there.
    command : str
        One of those in `FILES`.
    tiles : bool
        Whether the map loads a basemap.
    pdf : bool
        Whether report.pdf is also written, if the command writes a work sheet.
    parquet : bool
        Whether each layer is also written as GeoParquet, if the command writes plan.gpkg.
    progress : callable, optional
        Called with ``write`` and the share of the files that are written.
    """
    writers = _writers(plan, tiles=tiles)
    not_computed = {"sun_hours.tif"} if plan.maps is None else set()
    not_computed |= {"light.tif"} if plan.light_maps is None else set()
    names = [name for name in FILES[command] if name not in not_computed]
    if command in SURE and plan.sure_map is not None:
        names.append("sure.tif")
    if command in TIERED and any(len(bed.frames) > 1 for bed in plan.site.beds):
        names.append("tiers.csv")
    if pdf and "report.html" in names:
        names.append("report.pdf")
    if parquet and "plan.gpkg" in names:
        names += PARQUET

    def write(folder: Path) -> None:
        _write_files(folder, {name: writers[name] for name in names}, progress or (lambda *what: None))  # noqa: ARG005

    return replace(write_folder(out, write, remove_earlier=command == "plan"), names=tuple(names))


def _write_files(folder: Path, writers: dict[str, Writer], tell: Tell) -> None:
    """Write a file with each writer; the map in a second process, since it takes as long as all others together."""
    others = [name for name in writers if name != MAP]
    alone = len(others) in (0, len(writers))
    with in_second_process(lambda _: writers[MAP](folder / MAP), alone=alone) as map_written:
        for number, name in enumerate(others):
            tell("write", number / len(writers))
            writers[name](folder / name)
        if MAP in writers:
            tell("write", len(others) / len(writers))
            map_written()


def kept_words(kept: Sequence[Kept]) -> str:
    """Return a sentence on files that were kept beside the new ones.

    Examples
    --------
    >>> print(kept_words([Kept("sun.csv", "sun (yours, 2026-11-26).csv")]))
    Not as siteplan wrote it, so it is kept beside the new one: sun.csv as "sun (yours, 2026-11-26).csv".
    """
    names = ", ".join(f'{file.name} as "{file.kept_as}"' for file in kept)
    if len(kept) == 1:
        return f"Not as siteplan wrote it, so it is kept beside the new one: {names}."
    return f"Not as siteplan wrote them, so they are kept beside the new ones: {names}."


def _writers(plan: Answers, *, tiles: bool) -> dict[str, Writer]:
    """Return the function that writes each file."""
    return {
        **dict.fromkeys(PARQUET, lambda path: write_geoparquet(path, tables.geographic_layers(plan)[path.stem])),
        "report.pdf": lambda path: _write_pdf(plan, path),
        MAP: lambda path: _write_map(plan, path, tiles=tiles),
        "report.html": lambda path: _write_sheet(plan, path),
        "plan.json": lambda path: write_json(path, plan_document(plan)),
        "plan.gpkg": lambda path: _write_package(plan, path),
        "sun_hours.tif": lambda path: _write_sun(plan, path),
        "light.tif": lambda path: _write_light(plan, path),
        "sure.tif": lambda path: _write_sure(plan, path),
        "sun.csv": lambda path: write_csv(path, tables.sun_table(plan)),
        "tiers.csv": lambda path: write_csv(path, tables.tiers_table(plan)),
        "headings.csv": lambda path: write_csv(path, tables.headings_table(plan)),
        "places.csv": lambda path: write_csv(path, tables.places_table(plan)),
        "shopping.csv": lambda path: write_csv(path, tables.shopping_table(plan)),
        "loads.csv": lambda path: write_csv(path, tables.loads_table(plan)),
    }


def _write_map(plan: Answers, path: Path, *, tiles: bool) -> None:
    from siteplan.show.map.site_map import site_map  # imported here: folium takes long to load

    path.write_text(site_map(plan, tiles=tiles).get_root().render(), encoding="utf-8")


def _write_sheet(plan: Answers, path: Path) -> None:
    from siteplan.show.sheet.work_sheet import report_html

    path.write_text(report_html(plan), encoding="utf-8")


def _write_pdf(plan: Answers, path: Path) -> None:
    from siteplan.show.sheet.work_sheet import report_pdf

    report_pdf(plan, path)


def _write_package(plan: Answers, path: Path) -> None:
    layers = tables.geographic_layers(plan)
    write_geopackage(path, layers, descriptions=LAYERS, styles=layer_styles())


def _write_sun(plan: Answers, path: Path) -> None:
    """Write the maps of sun for the twelve months and the growing season."""
    maps, season = plan.maps, plan.site.season
    if maps is None:
        return
    bands = np.concatenate([maps.month_h, maps.season_h[np.newaxis]])
    words = [f"{month}: mean direct sun, hours per day" for month in MONTH_NAMES]
    words.append(f"Growing season {season.last_frost} to {season.first_frost}: mean direct sun, hours per day")
    method = (
        "Mean hours of direct sun a day on each cell, of all days of a month or of the season. "
        f"{SUN_HOURS} Clouds are left out."
    )
    write_geotiff(
        path,
        bands,
        maps.grid,
        plan.site.frame.crs,
        descriptions=words,
        units=["hours per day"] * len(words),
        tags=_tags(plan, maps.grid.cell, method),
    )


def _write_light(plan: Answers, path: Path) -> None:
    """Write the maps of the sky seen and of the light in the growing season."""
    maps = plan.light_maps
    if maps is None:
        return
    light = maps.light
    clear = plan.site.weather is None
    year = "if every day were clear" if clear else "in a typical year"
    bands = [
        ("Share of the sky seen, 0 to 1", "1", maps.sky_share),
        (f"Growing season {year}: direct light, kWh/m2 per day", "kWh/m2 per day", light.direct_kwh_m2),
        (f"Growing season {year}: diffuse light, kWh/m2 per day", "kWh/m2 per day", light.diffuse_kwh_m2),
        (f"Growing season {year}: reflected light, kWh/m2 per day", "kWh/m2 per day", light.reflected_kwh_m2),
        (f"Growing season {year}: bright sunshine, hours per day", "hours per day", light.bright_h),
        (f"Growing season {year}: daily light integral, mol/m2 per day", "mol/m2 per day", light.dli_mol_m2),
    ]
    method = (
        "Mean light a day on each cell in the growing season: direct light where the sun is not hidden, diffuse "
        "light by the share of the sky seen, as bright everywhere, and light reflected once by what hides the rest. "
        + ("Every day is taken to be clear." if clear else "Clouds are those of a typical year.")
    )
    descriptions, units, layers = zip(*bands, strict=True)
    write_geotiff(
        path,
        np.stack(layers),
        maps.grid,
        plan.site.frame.crs,
        descriptions=descriptions,
        units=units,
        tags=_tags(plan, maps.grid.cell, method),
    )


def _write_sure(plan: Answers, path: Path) -> None:
    """Write in which share of the draws the ground gets the hours that crops want."""
    sure = plan.sure_map
    if sure is None:
        return
    method = (
        f"Share of {sure.draws} trials in which a cell gets {sure.need:g} h of direct sun a day in the season. "
        "Each trial has other heights, crowns, leaves and places of what stands, within how far off they may be. "
        "Differences are computed on coarse cells on the ground and laid over the fine map. "
        "From 0.9 up the hours are sure, up to 0.1 it is sure that the cell has less."
    )
    write_geotiff(
        path,
        sure.share[np.newaxis],
        sure.grid,
        plan.site.frame.crs,
        descriptions=[f"Growing season: share of trials with at least {sure.need:g} hours of direct sun per day"],
        units=["1"],
        tags=_tags(plan, sure.grid.cell, method) | {"NEED_H": f"{sure.need:g}", "DRAWS": str(sure.draws)},
    )


def _tags(plan: Answers, cell: float, method: str) -> dict[str, str]:
    """Return the metadata of a map's file: how it was made, by which program, with which settings."""
    sun, season = plan.site.sun, plan.site.season
    return {
        "TIFFTAG_SOFTWARE": f"siteplan {__version__}",
        "TIFFTAG_IMAGEDESCRIPTION": method,
        "SITEPLAN_VERSION": __version__,
        "SWEPT_YEAR": str(sun.year),
        "CELL_M": f"{cell:g}",
        "LONGEST_STEP_MINUTES": f"{60 * sun.step:g}",
        "LAST_FROST": str(season.last_frost),
        "FIRST_FROST": str(season.first_frost),
    }
