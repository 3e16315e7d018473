"""What is a plan?

The answers to the questions, with the document, tables, map and files that people make of them.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, fields
from pathlib import Path
from typing import TYPE_CHECKING, Any

from siteplan.answers import Answers, answers
from siteplan.land.site import Site
from siteplan.question import QUESTIONS, NewBed, Progress, checked_question

if TYPE_CHECKING:
    import geopandas as gpd
    import pandas as pd
    from shapely import Polygon

    from siteplan.show.map.figure import QuietMap


@dataclass(frozen=True, eq=False)
class Plan(Answers):
    """The answers, with what people look at; what was not asked is None."""

    def document(self) -> dict[str, Any]:
        """Return what plan.json holds."""
        from siteplan.show.tables.document import plan_document

        return plan_document(self)

    def sun_table(self) -> pd.DataFrame:
        """Return the sun at each bed, in hours a day by month and in the season."""
        from siteplan.show.tables.tables import sun_table

        return sun_table(self)

    def tables(self) -> dict[str, pd.DataFrame]:
        """Return all answers as tables: sun, headings, places, layers, shopping, loads; units stand in the names."""
        from siteplan.show.tables import tables

        return {
            "sun": tables.sun_table(self),
            "headings": tables.headings_table(self),
            "places": tables.places_table(self),
            "layers": tables.layers_table(self),
            "shopping": tables.shopping_table(self),
            "loads": tables.loads_table(self),
        }

    def layers(self) -> dict[str, gpd.GeoDataFrame]:
        """Return beds, places, routes, piles and features in longitude and latitude."""
        from siteplan.show.tables.tables import geographic_layers

        return geographic_layers(self)

    def map(self, *, tiles: bool = False) -> QuietMap:
        """Return the interactive map; it shows itself in a notebook."""
        from siteplan.show.map.site_map import site_map

        return site_map(self, tiles=tiles)

    def write(self, out: str | Path, *, tiles: bool = False, pdf: bool = False) -> Path:
        """Write all that a plan writes to a folder, whole or not at all, and return the folder."""
        from siteplan.show.writing import write_plan

        return write_plan(self, Path(out), tiles=tiles, pdf=pdf)


def plan_site(
    site: Site,
    *,
    ask: Collection[str] = QUESTIONS,
    bed_ids: Collection[str] | None = None,
    length: float | None = None,
    width: float | None = None,
    count: int | None = None,
    sizes: Sequence[tuple[float, float]] | None = None,
    shape: Polygon | None = None,
    months: Collection[int] | None = None,
    progress: Progress | None = None,
) -> Plan:
    """Return the answers to the questions asked.

    Parameters
    ----------
    site : Site
    ask : collection of str
        Of ``sun``, ``place``, ``turn``, ``fill``, ``haul``.
    bed_ids : collection of str, optional
        The beds to look at; all where None.
    length, width : float, optional
        Of a new bed; those of the first proposed bed where None, else the site's. [m]
    count : int, optional
        How many places to name.
    sizes : sequence of (float, float), optional
        Length and width of several new beds, one place for each, instead of `length`, `width` and `count`. [m]
    shape : Polygon, optional
        Of a new bed that is no rectangle, wherever it is drawn and whichever way it lies. [m]
    months : collection of int, optional
        Whose sun counts for a new bed, 1 to 12; the growing season where None.
    progress : callable, optional
        Told the question and its share done.

    Returns
    -------
    Plan
    """
    new_bed = NewBed(length=length, width=width, count=count, sizes=sizes, shape=shape, months=months)
    question = checked_question(site, ask=ask, bed_ids=bed_ids, new_bed=new_bed)
    found = answers(site, question, progress=progress)
    return Plan(**{field.name: getattr(found, field.name) for field in fields(found)})
